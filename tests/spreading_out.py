"""Clean rows of every table spread out into one sheet with one row a case, and the mapping that reads it back.

In: a seed, a number of cases, the form of the sheet. Out: rows, a file, the text of a mapping, written by rules typed
in here from the documentation. Refuses: to take names, codes or rules from the intake.

What one sheet cannot carry is left out of the rows before either export is written: not_known in a date or a text
(there a sheet has only the empty cell), and numbers in odd writing (a number cell has one writing). Equal rows can be
carried, in two groups of columns. A request is no case, so it has no row in the sheet.
"""

from __future__ import annotations

import csv
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from decimal import Decimal
from pathlib import Path
from random import Random

from openpyxl import Workbook

from tests.second_opinion.layout import TABLES, Column
from tests.second_opinion.nasty_cases import Fields, Tables, calendar, one_case

PREFIX = "S-"
NOT_KNOWN = "?"
ASKED = ("text", "clinic")  # a check on the very day 42 is in columns of its own, where no date is kept
KILOGRAMS = ("birth_weight_g", "weight_g")
OF_A_STANDARD = {"ethnic_group": "ethnic_category", "sex": "phenotypic_sex"}
LIMITS = {"OK": "full", "some": "limited", "no": "absent"}
TIES = {"no tie": "none", "front": "anterior", "back": "posterior", "hidden": "submucosal", "NR": "not_recorded"}
MILK = {"EBF": "exclusive", "mix": "partial", "FF": "none"}
# The sheet's word -> the layout's. "N" is no in one column and never brought in another; "1" to "3" are number cells.
WORDS: dict[str, dict[str, str]] = {
    "yes_no": {"Y": "yes", "N": "no"},
    "sex": {"1": "male", "2": "female"},
    "ethnic_group": {
        "B": "white", "G": "mixed", "K": "asian", "N": "black", "S": "other", "Z": "not_stated", "99": "not_known"
    },
    "closed_reason": {
        "all well": "settled", "no answer": "no_reply", "left area": "moved", "elsewhere": "care_elsewhere",
        "FF now": "stopped_breastfeeding", "RIP": "died",
    },
    "referral_source": {
        "parent": "self", "MW": "midwife", "HV": "health_visitor", "doctor": "gp", "ward": "hospital", "oth": "other"
    },
    "feeding_at_first_contact": MILK,
    "feeding": MILK,
    "mode": {"F2F": "in_person", "screen": "video", "tel": "phone", "café": "group"},
    "problem_status": {
        "sorted": "resolved", "better": "improved", "same": "unchanged", "bad": "worse", "NR": "not_recorded"
    },
    "tie_type": TIES,
    "extension": LIMITS,
    "elevation": LIMITS,
    "lateralisation": LIMITS,
    "cupping": LIMITS,
    "peristalsis": LIMITS,
    "outcome": {
        "on list": "waiting", "yes": "accepted", "no need": "not_indicated", "declined": "declined_by_parent",
        "N": "not_brought", "pulled": "withdrawn", "done away": "divided_elsewhere",
    },
    "vitamin_k": {"IM": "injection", "PO": "oral", "refused": "declined", "none": "not_given"},
    "provider": {"1": "own", "2": "other_service", "3": "private"},
    "helped": {"a lot": "yes", "a bit": "partly", "not at all": "no"},
    "kind": {
        "blood": "bleeding", "infected": "infection", "regrown": "reattachment", "off feeds": "feeding_refusal",
        "hurt": "injury", "breathing": "respiratory", "overlooked": "missed_diagnosis", "oth": "other",
    },
    "severity": {"1": "minor", "2": "treated", "3": "hospital"},
    "reason_stopped": {
        "own choice": "choice", "sore": "pain", "supply": "low_supply", "job": "return_to_work", "told to": "advised",
        "oth": "other",
    },
}  # fmt: skip
GROUPS = {
    "cases": "Baby",
    "contacts": "Help",
    "assessments": "Assessed",
    "referrals": "Referral",
    "procedures": "Snip",
    "complications": "Snip",
    "feeding_checks": "Fed",
    "family_views": "Said",
}


@dataclass(frozen=True)
class Form:
    """How the sheet is written: joiner stands between group and name in the columns' names."""

    ending: str
    joiner: str
    date_format: str  # empty: date cells
    reading: str  # what the mapping says under [sheets]


SEMICOLONS = Form("csv", " ", "%d/%m/%Y", 'delimiter = ";"')
WORKBOOK = Form("xlsx", " / ", "", "header = [3, 4]")


def clean(table: str, row: Fields) -> Fields:
    """The row in the one writing that both exports can hold."""
    found = {}
    for column in TABLES[table]:
        value = row[column.name].replace("\r\n", "\n")
        if column.kind == "text" and column.must and value in ("not_known", "not_recorded"):
            value = "zz; 9"
        elif column.kind in ("text", "date") and value == "not_known":
            value = ""
        elif column.kind == "integer" and value not in ("", "not_known"):
            value = str(int(value))
        found[column.name] = PREFIX + value if column.name == "case_ref" else value
    return found


def clean_cases(seed: int, count: int) -> tuple[list[Tables], date]:
    """The rows of each case, and the cut-off."""
    rng = Random(seed)
    made = calendar(rng)
    cases = [one_case(rng, made, f"c{number}") for number in range(count)]
    return [{table: [clean(table, row) for row in case[table]] for table in GROUPS} for case in cases], made.cut_off


def write_layout(folder: Path, cases: list[Tables]) -> Path:
    """The cases as an export in the layout."""
    folder.mkdir()
    for table in GROUPS:
        with (folder / f"{table}.csv").open("w", encoding="utf-8", newline="") as file:
            writer = csv.DictWriter(file, [column.name for column in TABLES[table]])
            writer.writeheader()
            for case in cases:
                writer.writerows(case[table])
    return folder


# ---- the sheet. A place is a group of columns and the name within it, such as ("Help 2", "pain_score").

Place = tuple[str, str]


def day_42(case: Tables) -> str:
    first = case["cases"][0]
    return (date.fromisoformat(first["first_contact_date"]) + timedelta(days=42 - int(first["age_days"]))).isoformat()


def groups_of(rng: Random, case: Tables) -> list[tuple[str, str, Fields]]:
    """(table, group, row) of a case. The groups of a case are in no order; a complication stands with a procedure."""
    found = [("cases", GROUPS["cases"], case["cases"][0])]
    checks = list(case["feeding_checks"])
    at_42 = next((row for row in checks if row["check_date"] == day_42(case)), None)
    if at_42 is not None:
        checks.remove(at_42)
        found.append(("feeding_checks", "6/52", at_42))
    for table in ("contacts", "assessments", "referrals", "procedures", "feeding_checks", "family_views"):
        rows = checks if table == "feeding_checks" else list(case[table])
        rng.shuffle(rows)
        found += [(table, f"{GROUPS[table]} {number}", row) for number, row in enumerate(rows, 1)]
    divided = [(row["procedure_date"], group) for table, group, row in found if table == "procedures"]
    taken: dict[str, int] = {}
    for row in case["complications"]:
        group = max(division for division in divided if division[0] <= row["noted_date"])[1]
        taken[group] = taken.get(group, 0) + 1
        found.append(("complications", f"{group} trouble {taken[group]}", row))
    return found


def written(column: Column, value: str, form: Form) -> str | int | float | datetime | None:
    """A value as the sheet writes it."""
    if value == "":
        return None if not form.date_format else ""
    if column.kind == "date":
        day = datetime.fromisoformat(value)
        return day.strftime(form.date_format) if form.date_format else day
    if column.name == "case_ref":
        return value.removeprefix(PREFIX)
    if value == "not_known" and column.name != "ethnic_group":
        return "X" if column.name == "sex" else NOT_KNOWN
    if column.kind == "code":
        words = WORDS["yes_no" if column.values == ("yes", "no") else column.name]
        value = next(word for word, meant in words.items() if meant == value)
    elif column.name in KILOGRAMS:
        value = format(Decimal(value) / 1000, "f")
    if form.date_format or column.kind == "text" or not value.replace(".", "").isdigit():
        return value
    return float(value) if "." in value else int(value)


def write_sheet(folder: Path, cases: list[Tables], form: Form, seed: int) -> tuple[Path, str]:
    """The one sheet, and the mapping that reads it."""
    rng = Random(seed)
    lines: list[dict[Place, str | int | float | datetime | None]] = []
    tables: dict[str, str] = {}  # group -> table
    for case in rng.sample(cases, len(cases)):
        line = {}
        for table, group, row in groups_of(rng, case):
            tables[group] = table
            for column in TABLES[table]:
                if table == "cases" or column.name != "case_ref":
                    line[group, column.name] = written(column, row[column.name], form)
            if group == "6/52":
                del line[group, "check_date"]
                line[group, "asked"] = rng.choice(ASKED)
        lines.append(line)
    places = list(dict.fromkeys(place for line in lines for place in line))
    places.sort(key=lambda place: place[0])
    path = folder / f"one_row_a_case.{form.ending}"
    if form.ending == "csv":
        with path.open("w", encoding="utf-8", newline="") as file:
            writer = csv.writer(file, delimiter=";")
            writer.writerow([form.joiner.join(place) for place in places])
            writer.writerows([line.get(place, "") for place in places] for line in lines)
    else:
        book = Workbook()
        sheet = book.active
        sheet.title = "Everyone"
        above: list[str | None] = [
            group if at == 0 or places[at - 1][0] != group else None for at, (group, _) in enumerate(places)
        ]
        for names in (["Caseload"], [], above, [name for _, name in places]):
            sheet.append(names)
        for line in lines:
            sheet.append([line.get(place) for place in places])
        for group in tables:
            at = [number for number, place in enumerate(places, 1) if place[0] == group]
            sheet.merge_cells(start_row=3, end_row=3, start_column=at[0], end_column=at[-1])
        book.save(path)
    return path, mapping_text(tables, form)


def mapping_text(tables: dict[str, str], form: Form) -> str:
    """A mapping as the README explains it, with a block of rows for each group of columns."""
    parts = ['source = "The one sheet"', '[sheets."*"]', form.reading]
    for name, words in WORDS.items():
        if name in OF_A_STANDARD:
            continue  # such a list is ready by name
        meanings = words if name == "kind" else {**words, NOT_KNOWN: "not_known"}  # kind must be there
        parts += [f"[codes.{name}]", *(f'"{word}" = "{meant}"' for word, meant in meanings.items())]
    parts += ["[codes.number]", f'"{NOT_KNOWN}" = "not_known"']
    for group, table in tables.items():
        parts += ["[[rows]]", f'table = "{table}"']
        if group == "6/52":
            asked = ", ".join(f'"{word}"' for word in ASKED)
            parts.append(f'when = {{ column = "{form.joiner.join((group, "asked"))}", is = [{asked}] }}')
        parts.append("[rows.columns]")
        parts += [f"{column.name} = {{ {origin_text(group, column, form)} }}" for column in TABLES[table]]
    return "\n".join(parts) + "\n"


def origin_text(group: str, column: Column, form: Form) -> str:
    """Where one layout column comes from."""
    if column.name == "case_ref":
        return f'column = "{form.joiner.join((GROUPS["cases"], "case_ref"))}", prefix = "{PREFIX}"'
    if group == "6/52" and column.name == "check_date":
        return "days_old = 42"
    origin = f'column = "{form.joiner.join((group, column.name))}"'
    if column.kind == "date":
        return origin + (f', date = "{form.date_format}"' if form.date_format else "")
    if column.kind == "integer" and not column.must:
        return origin + ', codes = "number"' + (", times = 1000" if column.name in KILOGRAMS else "")
    if column.kind == "code":
        own = "yes_no" if column.values == ("yes", "no") else column.name
        return origin + f', codes = "{OF_A_STANDARD.get(column.name, own)}"'
    return origin
