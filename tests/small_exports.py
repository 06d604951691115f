"""Small invented exports, drawn by chance, for every shape an export may have.

Comes in: a source of chance. Goes out: an export of 5 to 30 cases with rows in every table, as tables of texts.
As it is drawn nothing is wrong with it. tests/writing_exports.py makes files of it; tests/damaging_tables.py and
tests/damaging_files.py change it on the way.
"""

from __future__ import annotations

import random
from dataclasses import dataclass, field
from datetime import date, timedelta

CUT_OFF = date(2026, 6, 30)
FOLDER, ZIP, WORKBOOK, PARQUET = "a folder of CSV", "a zip of CSV", "a workbook, a sheet a table", "a Parquet folder"
ONE_CSV, ONE_WORKBOOK = "CSV, one row a case", "a workbook, one row a case"
IN_LAYOUT = (FOLDER, ZIP, WORKBOOK, PARQUET)
SHAPES = (*IN_LAYOUT, ONE_CSV, ONE_WORKBOOK)
OF_CSV = (FOLDER, ZIP, ONE_CSV)
OF_WORKBOOKS = (WORKBOOK, ONE_WORKBOOK)
MAPPING = "caseload"
_SIGNS = "bcdfghjkmnpqrtvwxz23456789"
_SITES = ("North", "Süd", "Hub, east", "Île 3", "Hub\nwest")


@dataclass
class Drawn:
    """An export in the making. Lines are lists of texts; the names stand in the last `heads` of the lines `above`."""

    shape: str
    planted: tuple[str, ...]  # three case references that occur nowhere else
    tables: dict[str, list[list[str]]]  # name -> lines below the names
    above: dict[str, list[list[str]]]  # name -> the lines of the names, and what stands above them
    rows: dict[str, int]  # table of the layout -> rows the undamaged export gives
    mapping: str | None = None
    encoding: str = "utf-8"
    delimiter: str = ","
    ends: str = "\n"
    typed: bool = False  # workbook cells and Parquet fields are numbers and days, not texts
    files: dict[str, bytes] = field(default_factory=dict)
    packed: bytes = b""  # of the zip
    mappings: dict[str, bytes] = field(default_factory=dict)
    identifiers: list[str] = field(default_factory=list)  # values planted that name someone
    named: bool = False  # --mapping is given
    said_encoding: str | None = None  # --encoding


def draw(chance: random.Random) -> Drawn:
    """An export without a fault, as tables."""
    shape = chance.choice(SHAPES)
    number = chance.randint(5, 12) if chance.random() < 0.8 else chance.randint(13, 30)
    refs = list({_signs(chance, 9): None for _ in range(number)})
    planted = tuple(f"qzx7{_signs(chance, 9)}" for _ in range(3))
    for at, ref in zip(chance.sample(range(len(refs)), 3), planted, strict=True):
        refs[at] = ref
    drawn = _one_row_a_case(chance, shape, refs, planted) if shape in (ONE_CSV, ONE_WORKBOOK) else None
    drawn = drawn or _in_layout(chance, shape, refs, planted)
    drawn.encoding = chance.choice(("utf-8", "utf-8", "utf-8-sig", "cp1252", "utf-16"))
    drawn.delimiter = chance.choice((",", ",", ",", ";", "\t", "|"))
    drawn.ends = chance.choice(("\n", "\n", "\r\n", "\r\n", "\r"))
    drawn.typed = chance.random() < 0.5
    drawn.named = drawn.mapping is not None and chance.random() < 0.3
    return drawn


def _signs(chance: random.Random, length: int) -> str:
    return "".join(chance.choices(_SIGNS, k=length))


def _days(chance: random.Random) -> tuple[date, int]:
    """A first contact, and the baby's age on it: the day the baby is 42 days old lies between it and the cut-off."""
    return date(2026, 1, 5) + timedelta(chance.randrange(125)), chance.randint(1, 40)


def _in_layout(chance: random.Random, shape: str, refs: list[str], planted: tuple[str, ...]) -> Drawn:
    columns = {
        "cases": ["case_ref", "site", "first_contact_date", "age_days"],
        "contacts": ["case_ref", "contact_date", "practitioner"],
        "assessments": ["case_ref", "assessment_date", "practitioner"],
        "referrals": ["case_ref", "referral_date"],
        "procedures": ["case_ref", "procedure_date", "operator"],
        "complications": ["case_ref", "noted_date", "kind"],
        "feeding_checks": ["case_ref", "check_date"],
        "requests": ["case_ref", "site", "request_date"],
        "family_views": ["case_ref", "answered_date"],
    }
    tables: dict[str, list[list[str]]] = {name: [] for name in columns}
    for place, ref in enumerate(refs):
        seen, age = _days(chance)
        code = chance.choice(("P1", "P2", "M3"))
        rows = {
            "cases": [ref, chance.choice(_SITES), str(seen), str(age)],
            "contacts": [ref, str(seen), code],
            "assessments": [ref, str(seen + timedelta(1)), code],
            "referrals": [ref, str(seen + timedelta(2))],
            "procedures": [ref, str(seen + timedelta(9)), code],
            "complications": [ref, str(seen + timedelta(10)), chance.choice(("bleeding", "infection", "other"))],
            "feeding_checks": [ref, str(seen + timedelta(42 - age))],
            "requests": [_signs(chance, 10), chance.choice(_SITES), str(seen)],  # of a family that is no case
            "family_views": [ref, str(seen + timedelta(20))],
        }
        for name, row in rows.items():
            # The first case has a row in every table; a complication follows a procedure.
            follows = name != "complications" or any(procedure[0] == ref for procedure in tables["procedures"])
            if place == 0 or name == "cases" or (follows and chance.random() < 0.4):
                tables[name].append(row)
        if chance.random() < 0.3:
            tables["contacts"].append([ref, str(seen + timedelta(7)), code])
    optional = (
        ("cases", "sex", ("female", "male", "")),
        ("cases", "multiple_birth", ("yes", "no", "")),
        ("assessments", "elevation", ("full", "limited", "absent", "")),
        ("procedures", "provider", ("own", "private", "not_known", "")),
        ("feeding_checks", "feeding", ("exclusive", "partial", "")),
        ("requests", "outcome", ("waiting", "no_reply", "not_suitable", "")),
        ("family_views", "helped", ("yes", "partly", "no", "")),
    )
    for name, column, values in optional:
        if chance.random() < 0.15:
            columns[name].append(column)
            for row in tables[name]:
                row.append(chance.choice(values))
    above = {name: [header] for name, header in columns.items()}
    return Drawn(shape, planted, tables, above, {name: len(rows) for name, rows in tables.items()})


_GROUPS = {
    "Baby": ("Ref", "Clinic", "1st seen", "Age (days)"),
    "Visit": ("On", "By"),
    "Tongue": ("Looked on",),
    "Referral": ("Sent on",),
    "Division": ("On", "Op", "Noted on", "What"),
    "Feeding": ("Asked", "Fed"),
    "Family": ("Answered on", "Helped"),
}


def _one_row_a_case(chance: random.Random, shape: str, refs: list[str], planted: tuple[str, ...]) -> Drawn:
    grouped = chance.random() < 0.3
    between = " / " if grouped else " "
    names = [f"{group}{between}{name}" for group, those in _GROUPS.items() for name in those]
    titles = [["Caseload of the team"], [], ["Drawn in June"]][: chance.choice((0, 0, 1, 3))]
    heads = [names]
    if grouped:
        # The group stands over its first column; the blanks beside it carry it on.
        over = [group if place == 0 else "" for group, those in _GROUPS.items() for place in range(len(those))]
        heads = [over, [name for those in _GROUPS.values() for name in those]]
    lines = []
    for place, ref in enumerate(refs):
        seen, age = _days(chance)
        on = [f"{seen + timedelta(after):%d/%m/%Y}" for after in range(12)]
        code = chance.choice(("P1", "P2", "M3"))
        some = [place == 0 or chance.random() < 0.4 for _ in range(6)]
        line = [ref, chance.choice(_SITES), on[0], str(age), on[1], code]
        line += [on[1] if some[0] else "", on[2] if some[1] else ""]
        line += [on[9], code] if some[2] else ["", ""]
        line += [on[10], chance.choice(("bleed", "inf"))] if some[2] and some[3] else ["", ""]
        line += ["Y", chance.choice(("BF", "MIX"))] if some[4] else ["N", ""]
        line += [on[11], chance.choice(("yes", "no"))] if some[5] else ["", ""]
        lines.append(line)
    sheet = "Caseload" if shape == ONE_WORKBOOK else "caseload"
    filled = {"assessments": 6, "referrals": 7, "procedures": 8, "complications": 10, "feeding_checks": 13}
    filled |= {"family_views": 14}
    rows = {"cases": len(lines), "contacts": len(lines), "requests": 0}
    rows |= {table: sum(line[at] != "" for line in lines) for table, at in filled.items()}
    drawn = Drawn(shape, planted, {sheet: lines}, {sheet: [*titles, *heads]}, rows)
    drawn.mapping = _mapping(sheet, between, range(len(titles) + 1, len(titles) + 1 + len(heads)))
    return drawn


def _mapping(sheet: str, between: str, heads: range) -> str:
    """The mapping file; its two marks in angle brackets are filled in when the files are written."""
    text = f"""
        source = "Outreach"
        [sheets."{sheet}"]
        header = {heads[0] if len(heads) == 1 else list(heads)}
        <encoding>
        <delimiter>
        [codes.fed]
        BF = "exclusive"
        MIX = "partial"
        [[rows]]
        table = "cases"
        [rows.columns]
        case_ref = {{ column = "Baby/Ref", prefix = "OUT-" }}
        site = "Baby/Clinic"
        first_contact_date = {{ column = "Baby/1st seen", date = "%d/%m/%Y" }}
        age_days = "Baby/Age (days)"
        [[rows]]
        table = "contacts"
        [rows.columns]
        case_ref = {{ column = "Baby/Ref", prefix = "OUT-" }}
        contact_date = {{ column = "Visit/On", date = "%d/%m/%Y" }}
        practitioner = "Visit/By"
        [[rows]]
        table = "assessments"
        [rows.columns]
        case_ref = {{ column = "Baby/Ref", prefix = "OUT-" }}
        assessment_date = {{ column = "Tongue/Looked on", date = "%d/%m/%Y" }}
        practitioner = "Visit/By"
        [[rows]]
        table = "referrals"
        [rows.columns]
        case_ref = {{ column = "Baby/Ref", prefix = "OUT-" }}
        referral_date = {{ column = "Referral/Sent on", date = "%d/%m/%Y" }}
        [[rows]]
        table = "procedures"
        when = "Division/On"
        [rows.columns]
        case_ref = {{ column = "Baby/Ref", prefix = "OUT-" }}
        procedure_date = {{ column = "Division/On", date = "%d/%m/%Y" }}
        operator = "Division/Op"
        [[rows]]
        table = "complications"
        [rows.columns]
        case_ref = {{ column = "Baby/Ref", prefix = "OUT-" }}
        noted_date = {{ column = "Division/Noted on", date = ["%d/%m/%Y", "%d %b %Y"] }}
        kind = {{ column = "Division/What", codes = {{ bleed = "bleeding", inf = "infection" }} }}
        [[rows]]
        table = "feeding_checks"
        when = {{ column = "Feeding/Asked", is = ["Y"] }}
        [rows.columns]
        case_ref = {{ column = "Baby/Ref", prefix = "OUT-" }}
        check_date = {{ days_old = 42 }}
        feeding = {{ column = "Feeding/Fed", codes = "fed" }}
        [[rows]]
        table = "family_views"
        [rows.columns]
        case_ref = {{ column = "Baby/Ref", prefix = "OUT-" }}
        answered_date = {{ column = "Family/Answered on", date = "%d/%m/%Y" }}
        helped = "Family/Helped"
    """
    lines = [line.strip() for line in text.strip().splitlines()]
    return "\n".join(_spelt(line, between) for line in lines) + "\n"


def _spelt(line: str, between: str) -> str:
    """The line with names as the sheet spells them; the slashes of a date format stay."""
    for group in _GROUPS:
        line = line.replace(f'"{group}/', f'"{group}{between}')
    return line
