"""The outreach team's workbook: made again byte for byte, untidy as planned, and meaning what the generator says.

The reading here is a plain one of its own: openpyxl, the mapping file and the contract's rules, written out below. It
shares nothing with the intake, and of the generator it takes only the truth that it is compared with.
"""

from __future__ import annotations

import contextlib
import csv
import os
import re
import shutil
import statistics
import subprocess
import sys
import tomllib
from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from decimal import Decimal, InvalidOperation
from pathlib import Path
from typing import Any

import pytest
from openpyxl import load_workbook

from pipeline import run, store
from pipeline.contracts import layout
from pipeline.contracts.places import DEMO_EXPORT
from pipeline.errors import Refused
from tests.demo_maker.outreach_lines import Line, sheet_lines
from tests.demo_maker.outreach_list import list_lines

ROOT = Path(__file__).resolve().parents[1]
CASELOAD, NOT_SEEN_YET = "Caseload", "Not seen yet"
WORKBOOK = DEMO_EXPORT / "outreach" / "caseload.xlsx"
MAPPING = tomllib.loads((DEMO_EXPORT / "mappings" / "outreach.toml").read_text(encoding="utf-8"))
FAULTS = (DEMO_EXPORT / "FAULTS.md").read_text(encoding="utf-8")
CUT_OFF = date(2026, 10, 9)
FIRST_LINE = 5  # a title, an empty line and two lines of names stand above
FIRST_OF_THE_LIST = 2  # one line of names stands above
MARKS = (
    "1st baby",
    "Interpreter",
    "Twin or more",
    "Helped before us",
    "TT in family",
    "Sore",
    "Slow gain",
    "Windy",
    "Help given",
    "Consent",
    "Bleeding asked",
)

# ---- what the contract says, as far as this sheet needs it

MUST = {
    "cases": ("case_ref", "site", "first_contact_date", "age_days"),
    "contacts": ("case_ref", "contact_date", "practitioner"),
    "assessments": ("case_ref", "assessment_date", "practitioner"),
    "referrals": ("case_ref", "referral_date"),
    "procedures": ("case_ref", "procedure_date", "operator"),
    "complications": ("case_ref", "noted_date", "kind"),
    "feeding_checks": ("case_ref", "check_date"),
    "family_views": ("case_ref", "answered_date"),
    "requests": ("case_ref", "site", "request_date"),
}
WHOLE_NUMBERS = {
    "age_days": (0, 364),
    "gestation_weeks": (22, 44),
    "deprivation_decile": (1, 10),
    "birth_weight_g": (300, 6500),
    "pain_score": (0, 10),
    "weight_g": (300, 15000),
    "function_score": (0, 14),
    "minutes_to_first_feed": (0, 1440),
}
STANDARD_LISTS = {
    "phenotypic_sex": {"1": "male", "2": "female", "X": "not_known"},
    "ethnic_category": {
        **dict.fromkeys("ABC", "white"),
        **dict.fromkeys("DEFG", "mixed"),
        **dict.fromkeys("HJKL", "asian"),
        **dict.fromkeys("MNP", "black"),
        "S": "other",
        "Z": "not_stated",
        "99": "not_known",
    },
}

# ---- a plain reading


@dataclass
class Read:
    """A row as read; `becomes` is settled step by step."""

    line: int
    table: str
    values: dict[str, str]
    refused: set[str] = field(default_factory=set)
    becomes: str = "accepted"

    @property
    def told(self) -> frozenset[tuple[str, str]]:
        return told(self.values)


def told(values: Mapping[str, str]) -> frozenset[tuple[str, str]]:
    """What is recorded; not_known says as much as nothing."""
    return frozenset((column, value) for column, value in values.items() if value not in ("", "not_known"))


def single_spaced(text: object) -> str:
    return " ".join(str(text).split()) if text is not None else ""


def as_text(cell: Any) -> str:
    if isinstance(cell, datetime):
        return cell.isoformat(" ") if (cell.hour or cell.minute) else cell.date().isoformat()
    return "" if cell is None else str(cell).strip()


def blocks(sheet: str) -> list[dict[str, Any]]:
    """What the mapping makes of a sheet."""
    return [block for block in MAPPING["rows"] if block["sheet"] == sheet]


def list_texts() -> dict[int, dict[str, str]]:
    """The lines of those not seen yet, below the one line of names: column and text."""
    sheet = load_workbook(WORKBOOK, data_only=True)[NOT_SEEN_YET]
    names = [str(cell.value) for cell in sheet[MAPPING["sheets"][NOT_SEEN_YET]["header"]]]
    return {
        number: {name: as_text(cell.value) for name, cell in zip(names, sheet[number], strict=True)}
        for number in range(FIRST_OF_THE_LIST, sheet.max_row + 1)
    }


def sheet_texts() -> dict[int, dict[str, str]]:
    """The lines below the names: column, as "Group / Name", and text."""
    sheet = load_workbook(WORKBOOK, data_only=True)[CASELOAD]
    upper, lower = MAPPING["sheets"][CASELOAD]["header"]
    names, group = [], ""
    for above, below in zip(sheet[upper], sheet[lower], strict=True):
        group = single_spaced(above.value) or group
        names.append(f"{group} / {single_spaced(below.value)}")
    assert len(set(names)) == len(names)
    return {
        number: {name: as_text(cell.value) for name, cell in zip(names, sheet[number], strict=True)}
        for number in range(lower + 1, sheet.max_row + 1)
    }


def origin_of(written: str | dict[str, Any]) -> dict[str, Any]:
    return {"column": written} if isinstance(written, str) else written


def translated(origin: Mapping[str, Any], text: str) -> str | None:
    """The layout's own writing, or None where it cannot be told."""
    if not text:
        return ""
    if "codes" in origin:
        codes = origin["codes"]
        if isinstance(codes, str):
            codes = MAPPING["codes"].get(codes) or STANDARD_LISTS[codes]
        return str(codes[text]) if text in codes else None
    if "date" in origin:
        if re.fullmatch(r"\d{4}-\d{2}-\d{2}( \d{2}:\d{2}:\d{2})?", text):
            return text[:10]
        found = set()
        for form in origin["date"]:
            try:
                found.add(datetime.strptime(text, form).date().isoformat())
            except ValueError:
                continue
        return found.pop() if len(found) == 1 else None
    if "times" in origin:
        try:
            product = Decimal(text) * origin["times"]
        except InvalidOperation:
            return None
        return str(int(product)) if product == int(product) else None
    return f"{origin.get('prefix', '')}{text}"


def in_range(column: str, text: str) -> bool:
    if column not in WHOLE_NUMBERS or not text:
        return True
    lowest, highest = WHOLE_NUMBERS[column]
    return re.fullmatch(r"-?\d+", text) is not None and lowest <= int(text) <= highest


def row_of(block: Mapping[str, Any], line: int, cells: Mapping[str, str]) -> Read:
    row = Read(line, block["table"], {})
    for column, written in block["columns"].items():
        origin = origin_of(written)
        if "constant" in origin:
            value: str | None = origin["constant"]
        elif "days_old" in origin:
            case = row_of(MAPPING["rows"][0], line, cells).values
            born = date.fromisoformat(case["first_contact_date"]) - timedelta(days=int(case["age_days"]))
            value = (born + timedelta(days=origin["days_old"])).isoformat()
        else:
            value = translated(origin, cells[origin["column"]])
        if value is None or not in_range(column, value):
            row.refused.add(column)
            value = ""
        row.values[column] = value
    return row


def is_made(block: Mapping[str, Any], cells: Mapping[str, str], row_in_short: Read) -> bool:
    when = block.get("when")
    if isinstance(when, str):
        return cells[when] != ""
    if when is not None:
        return cells[when["column"]] in when["is"]
    if block["table"] == "cases":
        return True
    elsewhere = {
        origin_of(written).get("column")
        for other in blocks(block["sheet"])
        if other is not block
        for written in other["columns"].values()
    }
    telling = [
        column
        for column, written in block["columns"].items()
        if column != "case_ref" and (source := origin_of(written).get("column")) and source not in elsewhere
    ]
    return any(row_in_short.values[column] or column in row_in_short.refused for column in telling)


def read_plainly() -> tuple[list[int], list[Read]]:
    """The empty lines, and every row with what becomes of it."""
    empty, rows = [], []
    for line, cells in sheet_texts().items():
        if not any(cells.values()):
            empty.append(line)
            continue
        for block in blocks(CASELOAD):
            if block.get("when") and not is_made(block, cells, Read(line, block["table"], {})):
                continue  # before it is read: a day_old needs a case with an age
            row = row_of(block, line, cells)
            if is_made(block, cells, row):
                rows.append(row)
    settle(rows)
    return empty, rows


def settle(rows: Sequence[Read]) -> None:
    """Set aside, then repeats: by the contract, as far as this sheet comes to it."""
    versions = defaultdict(set)
    for row in rows:
        if row.table == "cases":
            versions[row.values["case_ref"]].add(row.told)
        if any(not row.values[column] for column in MUST[row.table]):
            row.becomes = "row set aside"
    for row in rows:
        if len(versions[row.values["case_ref"]]) > 1:
            row.becomes = "row set aside"
    lost = {row.values["case_ref"] for row in rows if row.table == "cases" and row.becomes != "accepted"}
    seen = set()
    for row in rows:
        if row.values["case_ref"] in lost:
            row.becomes = "row set aside"
        if row.becomes == "accepted":
            if (row.table, row.told) in seen:
                row.becomes = "repeat"
            seen.add((row.table, row.told))


def list_read_plainly(seen: set[str]) -> list[Read]:
    """Every row of those not seen yet: set aside if the baby has been seen, a repeat if it says nothing new."""
    (block,) = blocks(NOT_SEEN_YET)
    rows = [row_of(block, line, cells) for line, cells in list_texts().items()]
    told_before = set()
    for row in rows:
        if row.values["case_ref"] in seen:
            row.becomes = "row set aside"
        elif row.told in told_before:
            row.becomes = "repeat"
        told_before.add(row.told)
    return rows


@pytest.fixture(scope="module")
def plain() -> tuple[list[int], list[Read]]:
    return read_plainly()


@pytest.fixture(scope="module")
def truth() -> dict[int, Line]:
    return dict(enumerate(sheet_lines(), FIRST_LINE))


@pytest.fixture(scope="module")
def listed_truth() -> dict[int, Line]:
    return dict(enumerate(list_lines(sheet_lines()), FIRST_OF_THE_LIST))


def line_fates(rows: Sequence[Read]) -> dict[int, str]:
    """A line is accepted if any row of it is, else a repeat if any is, else set aside."""
    by_line = defaultdict(set)
    for row in rows:
        by_line[row.line].add(row.becomes)
    order = ("accepted", "repeat", "row set aside")
    return {line: next(fate for fate in order if fate in found) for line, found in by_line.items()}


# ---- made again


def test_the_workbook_is_made_again_byte_for_byte(tmp_path: Path) -> None:
    made = []
    for seed, zone in (("1", "Pacific/Auckland"), ("2", "America/Lima")):
        elsewhere = {**os.environ, "PYTHONHASHSEED": seed, "TZ": zone, "LC_ALL": "C"}
        folder = tmp_path / seed
        subprocess.run([sys.executable, "-m", "tests.demo_maker", str(folder)], cwd=ROOT, env=elsewhere, check=True)
        made.append((folder / "outreach" / "caseload.xlsx").read_bytes())
    assert made[0] == made[1]
    assert made[0] == WORKBOOK.read_bytes()


# ---- untidy as planned


def cells_below(name: str) -> list[Any]:
    """The cells of every column of that name, in all groups and on every line but the empty and the last one."""
    sheet = load_workbook(WORKBOOK, data_only=True)["Caseload"]
    columns = [cell.column for cell in sheet[4] if single_spaced(cell.value) == name]
    assert columns
    lines = [line for line in range(5, sheet.max_row) if sheet.cell(line, 1).value is not None]
    return [sheet.cell(line, column) for column in columns for line in lines]


def test_above_the_rows_stand_a_title_an_empty_line_and_two_lines_of_names() -> None:
    sheet = load_workbook(WORKBOOK)["Caseload"]
    assert str(sheet["A1"].value).startswith("Outreach team")
    assert {cell.value for cell in sheet[1][1:]} == {None}
    assert {cell.value for cell in sheet[2]} == {None}
    groups = [(cell.column, cell.value) for cell in sheet[3] if cell.value is not None]
    assert [name for _, name in groups if str(name).startswith("Help session")] == [
        "Help session 1",
        "Help session 2",
        "Help session 3",
    ]
    assert len(groups) < sheet.max_column / 3, "the groups stand over several names each"
    names = [cell.value for cell in sheet[4]]
    assert names.count("Date") == 7
    assert "Birth wt\n(kg)" in names and "TT type " in names


def test_days_are_written_in_three_ways() -> None:
    ways: Counter[str] = Counter()
    for name in ("1st seen", "Date", "Looked at", "Sent on", "On"):
        for cell in cells_below(name):
            if isinstance(cell.value, datetime):
                ways["true date"] += 1
            elif cell.value is not None:
                text = str(cell.value)
                strokes = re.fullmatch(r"\d\d/\d\d/\d{4}", text)
                letters = re.fullmatch(r"\d\d? [A-Z][a-z]{2} \d{4}", text)
                ways["strokes" if strokes else "letters" if letters else text] += 1
    (without_style,) = set(ways) - {"true date", "strokes", "letters"}
    assert ways[without_style] == 1
    assert date(2025, 7, 1) <= date(1899, 12, 30) + timedelta(days=int(without_style)) <= CUT_OFF
    assert min(ways["true date"], ways["strokes"], ways["letters"]) >= 20


def test_marks_are_written_in_four_ways_or_not_at_all() -> None:
    marks = {cell.value for name in MARKS for cell in cells_below(name)}
    assert marks == {"Y", "y", "N", "?", None, "a bit", "twin 2"}


def test_there_are_eleven_spellings_of_a_tie_of_which_two_mean_nothing_plain() -> None:
    spellings = Counter(cell.value for cell in cells_below("TT type") if cell.value is not None)
    assert len(spellings) == 11
    assert set(spellings) - set(MAPPING["codes"]["tt_type"]) == {"mild", "TT"}
    assert set(MAPPING["codes"]["tt_type"].values()) == {"none", "anterior", "posterior", "submucosal"}


def test_complications_and_feeding_are_in_the_teams_own_words() -> None:
    noted = {cell.value for cell in cells_below("Complications")}
    assert noted == {"none", "-", "bleed – settled", "infection", "oozed", None}
    for name in ("Fed", "Fed at 1st visit"):
        assert {cell.value for cell in cells_below(name)} - {None} <= {"EBF", "mix", "FF", "?"}
    asked = Counter(cell.value for cell in cells_below("Asked"))
    assert set(asked) == {"visit", "phone", "text", None}
    assert min(asked.values()) >= 5


def test_some_cells_are_errors_and_the_last_line_is_a_total() -> None:
    sheet = load_workbook(WORKBOOK, data_only=True)["Caseload"]
    errors = [cell.coordinate for line in sheet.iter_rows() for cell in line if cell.data_type == "e"]
    assert len(errors) == 3
    last = [cell.value for cell in sheet[sheet.max_row] if cell.value is not None]
    assert last == ["Total", sum(cell.data_type == "n" and cell.value is not None for cell in sheet["A"])]
    empty = [line for line in range(5, sheet.max_row) if all(cell.value is None for cell in sheet[line])]
    assert len(empty) == 1 and 20 < empty[0] < 60


def test_unit_no_looks_like_a_record_number_and_the_mapping_says_why_it_is_none() -> None:
    units = [str(cell.value) for cell in cells_below("Unit no") if cell.value is not None]
    assert len(units) > 40
    assert [unit for unit in units if not re.fullmatch(r"[A-Z]{0,3}[0-9]{6,10}", unit)] == []
    assert len(set(units)) >= 0.95 * len(units)
    assert list(MAPPING["not_identifiers"]) == ["Kit / Unit no"]
    assert len(MAPPING["not_identifiers"]["Kit / Unit no"]) > 20


def test_the_last_sheet_is_there_for_nothing() -> None:
    assert load_workbook(WORKBOOK).sheetnames == [CASELOAD, NOT_SEEN_YET, "Lists"]
    assert {block["sheet"] for block in MAPPING["rows"]} == {CASELOAD, NOT_SEEN_YET} == set(MAPPING["sheets"])


def test_families_answer_in_the_teams_own_words() -> None:
    """About half of them, and Y is no more than one way to say yes."""
    answers = Counter(cell.value for cell in cells_below("Answer"))
    assert set(answers) - {None} <= {"Y", "yes", "a bit", "partly", "N", "?", "lovely"}
    assert answers["Y"] and answers["yes"] and answers["lovely"] == 1
    assert 0.3 <= 1 - answers[None] / answers.total() <= 0.7


# ---- the mapping


def columns_named(sheet: str) -> set[str]:
    named = set()
    for block in blocks(sheet):
        named |= {
            origin_of(written)["column"] for written in block["columns"].values() if "column" in origin_of(written)
        }
        when = block.get("when")
        named |= {when if isinstance(when, str) else when["column"]} if when else set()
    return named


def test_every_column_the_mapping_names_is_in_the_sheet_and_every_other_way_round() -> None:
    assert columns_named(CASELOAD) | set(MAPPING["not_identifiers"]) == set(next(iter(sheet_texts().values())))
    assert columns_named(NOT_SEEN_YET) == set(next(iter(list_texts().values())))


def test_the_mapping_names_its_source_and_the_day_the_sheet_was_drawn() -> None:
    assert (MAPPING["source"], MAPPING["cut_off"]) == ("Outreach team", CUT_OFF)


def test_the_prefix_keeps_the_cases_apart_from_those_of_the_export(plain: tuple[list[int], list[Read]]) -> None:
    with (DEMO_EXPORT / "cases.csv").open(encoding="utf-8-sig", newline="") as file:
        others = {row["case_ref"] for row in csv.DictReader(file)}
    ours = {row.values["case_ref"] for row in plain[1]}
    assert len(others) > 600 and ours & others == set()
    assert [ref for ref in ours if not ref.startswith("OUT-")] == []


# ---- the truth against the plain reading


def test_every_line_becomes_what_the_truth_says(plain: tuple[list[int], list[Read]], truth: dict[int, Line]) -> None:
    empty, rows = plain
    fates = line_fates(rows) | dict.fromkeys(empty, "blank")
    assert fates == {number: line.becomes for number, line in truth.items()}
    assert Counter(fates.values()) == {"accepted": 60, "repeat": 12, "row set aside": 3, "blank": 1}


def test_every_row_that_is_kept_means_what_the_truth_says(
    plain: tuple[list[int], list[Read]], truth: dict[int, Line]
) -> None:
    read = Counter(
        (row.line, row.table, row.becomes, row.told, frozenset(row.refused))
        for row in plain[1]
        if row.becomes != "row set aside"
    )
    meant = Counter(
        (number, row.table, row.becomes, told(row.values), frozenset(row.set_aside))
        for number, line in truth.items()
        for row in line.rows
        if row.becomes != "row set aside"
    )
    assert read == meant
    assert {table for _, table, *_ in read} == set(MUST) - {"requests"}


def test_every_row_that_is_set_aside_is_one_of_the_truth(
    plain: tuple[list[int], list[Read]], truth: dict[int, Line]
) -> None:
    read = Counter((row.line, row.table) for row in plain[1] if row.becomes == "row set aside")
    meant = Counter(
        (number, row.table) for number, line in truth.items() for row in line.rows if row.becomes == "row set aside"
    )
    assert read == meant
    assert {table for _, table in read} >= {"cases", "contacts", "complications", "feeding_checks", "family_views"}


def test_those_not_seen_yet_mean_what_the_truth_says(
    plain: tuple[list[int], list[Read]], listed_truth: dict[int, Line]
) -> None:
    rows = list_read_plainly({row.values["case_ref"] for row in plain[1]})
    read = [(row.line, row.becomes, row.told, frozenset(row.refused)) for row in rows]
    assert read == [
        (number, row.becomes, told(row.values), frozenset(row.set_aside))
        for number, line in listed_truth.items()
        for row in line.rows
    ]
    kept = [row.values for row in rows if row.becomes == "accepted"]
    assert 4 <= len(kept) <= 7, "about one family for every twelve of the caseload"
    for row in kept:
        ended = row["outcome_date"] or CUT_OFF.isoformat()
        assert row["request_date"] <= ended <= CUT_OFF.isoformat()
    fates = {kind: {row.line for row in rows if row.becomes == kind} for kind in ("row set aside", "repeat")}
    assert {kind: {line for line, _ in listed(kind, NOT_SEEN_YET)} for kind in fates} == fates
    values = {(row.line, column) for row in rows if row.becomes != "row set aside" for column in row.refused}
    assert listed("value set aside", NOT_SEEN_YET) == values


def test_no_date_contradicts_another(plain: tuple[list[int], list[Read]]) -> None:
    """So that nothing but what FAULTS.md names is set aside."""
    kept = [row for row in plain[1] if row.becomes != "row set aside"]
    cases = {row.values["case_ref"]: row.values for row in kept if row.table == "cases"}
    divided = {row.values["case_ref"]: row.values["procedure_date"] for row in kept if row.table == "procedures"}
    for row in kept:
        first = cases[row.values["case_ref"]]["first_contact_date"]
        for column, value in row.values.items():
            if column.endswith("_date") and value:
                assert value <= CUT_OFF.isoformat(), (row.line, column)
                assert value >= first or column == "help_requested_date", (row.line, column)
        assert row.values.get("help_requested_date", "") <= first
        if row.table == "referrals" and row.values["outcome_date"]:
            assert row.values["outcome_date"] >= row.values["referral_date"]
        if row.table == "complications":
            assert row.values["noted_date"] >= divided[row.values["case_ref"]]


# ---- FAULTS.md against the plain reading


def listed(becomes: str, sheet: str = CASELOAD) -> set[tuple[int, str]]:
    """Line and what stands behind the colon, of each entry of the second table that becomes this."""
    found = set()
    for text in FAULTS.split("# What is wrong in the outreach team's workbook")[1].splitlines():
        cells = [cell.strip() for cell in text.strip("|").split("|")]
        if not text.startswith(f"| {sheet} |") or cells[1] == "all":
            continue
        kind, _, which = cells[3].partition(": ")
        for run_of_lines in cells[1].split(", "):
            first, _, last = run_of_lines.partition("-")
            if kind == becomes:
                found |= {(line, which) for line in range(int(first), int(last or first) + 1)}
    return found


def test_the_list_of_faults_names_every_line_and_value_set_aside_and_no_other(
    plain: tuple[list[int], list[Read]],
) -> None:
    empty, rows = plain
    fates = line_fates(rows)
    whole = {(line, "") for line, becomes in fates.items() if becomes == "row set aside"}
    single = {(row.line, row.table) for row in rows if row.becomes == "row set aside" and fates[row.line] == "accepted"}
    assert listed("row set aside") == whole | single
    values = {(row.line, column) for row in rows if row.becomes != "row set aside" for column in row.refused}
    assert listed("value set aside") == values
    assert listed("repeat") == {(line, "") for line, becomes in fates.items() if becomes == "repeat"}
    assert listed("blank") == {(line, "") for line in (2, *empty)}
    assert listed("header") == {(line, "") for line in (1, 3, 4)}


def test_an_operator_without_a_date_is_no_division(plain: tuple[list[int], list[Read]]) -> None:
    divided = {row.line for row in plain[1] if row.table == "procedures"}
    booked = {line for line, cells in sheet_texts().items() if cells["Division / Op"] and not cells["Division / Date"]}
    assert booked and booked & divided == set()
    assert listed("no row is made of it") == {(line, "") for line in booked}


def test_the_pasted_lines_say_the_same_in_other_writing(plain: tuple[list[int], list[Read]]) -> None:
    cells = sheet_texts()
    first: dict[str, int] = {}
    pairs = []
    for line, texts in cells.items():
        if any(texts.values()) and texts["Baby / Ref"] in first:
            pairs.append((first[texts["Baby / Ref"]], line))
        first.setdefault(texts["Baby / Ref"], line)
    assert len(pairs) == 13
    assert [pair for pair in pairs if cells[pair[0]]["Baby / 1st seen"] != cells[pair[1]]["Baby / 1st seen"]]
    weights = [tuple(cells[line]["Baby / Birth wt (kg)"] for line in pair) for pair in pairs]
    differing = [pair for pair, (one, other) in zip(pairs, weights, strict=True) if one != other]
    assert {line for pair in differing for line in pair} == {
        line
        for line, becomes in line_fates(plain[1]).items()
        if becomes == "row set aside" and cells[line]["Baby / Age (days)"]
    }


# ---- unremarkable: nothing here should draw the eye away from the one story


def test_the_team_is_an_ordinary_site(plain: tuple[list[int], list[Read]]) -> None:
    tables: dict[str, dict[str, dict[str, str]]] = defaultdict(dict)
    for row in plain[1]:
        if row.becomes == "accepted":
            tables[row.table].setdefault(row.values["case_ref"], row.values)
    cases, referrals = tables["cases"], tables["referrals"]
    procedures = {ref: row for ref, row in tables["procedures"].items() if row["provider"] in ("own", "")}
    assert len(tables["procedures"]) - len(procedures) <= 3
    months = Counter(case["first_contact_date"][:7] for case in cases.values())
    assert 55 <= len(cases) <= 65 and min(months) == "2025-07" and max(months) == "2026-09"
    waits = [
        (date.fromisoformat(row["procedure_date"]) - date.fromisoformat(referrals[ref]["referral_date"])).days
        for ref, row in procedures.items()
    ]
    # The other sites' clinics give a date 7 to 26 days after referral, and then the next open day.
    assert len(waits) >= 8 and min(waits) >= 7 and max(waits) <= 30
    assert 12 <= statistics.median(waits) <= 21
    assert 0.2 <= len(referrals) / len(cases) <= 0.36
    due = [
        ref
        for ref, case in cases.items()
        if int(case["age_days"]) < 28
        and date.fromisoformat(case["first_contact_date"]) + timedelta(days=56 - int(case["age_days"])) <= CUT_OFF
    ]
    asked = sum(ref in tables["feeding_checks"] for ref in due)
    assert 0.7 <= asked / len(due) <= 0.95


# ---- the whole load


@pytest.fixture(scope="module")
def loaded(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, run.Loaded]:
    folder = tmp_path_factory.mktemp("audit")
    shutil.copyfile(DEMO_EXPORT / "audit.toml", folder / "audit.toml")
    (folder / "mappings").mkdir()
    shutil.copyfile(DEMO_EXPORT / "mappings" / "outreach.toml", folder / "mappings" / "outreach.toml")
    return folder, run.load(folder, WORKBOOK)


def test_loading_accounts_for_every_line(
    loaded: tuple[Path, run.Loaded], truth: dict[int, Line], listed_truth: dict[int, Line]
) -> None:
    examined = loaded[1].examined
    assert examined is not None and loaded[1].cut_off == CUT_OFF
    for sheet, lines, header, blank in ((CASELOAD, truth, 3, 1), (NOT_SEEN_YET, listed_truth, 1, 0)):
        (counts,) = [counted for counted in examined.counts if sheet in counted.file]
        fates = Counter(line.becomes for line in lines.values())
        assert (counts.lines, counts.header, counts.blank) == (max(lines), header, blank + fates["blank"])
        assert (counts.accepted, counts.set_aside, counts.repeats) == (
            fates["accepted"],
            fates["row set aside"],
            fates["repeat"],
        )


def test_loading_sets_aside_what_the_truth_says(
    loaded: tuple[Path, run.Loaded], truth: dict[int, Line], listed_truth: dict[int, Line]
) -> None:
    with (loaded[0] / "loads" / "0001" / "set_aside.csv").open(encoding="utf-8", newline="") as file:
        found = list(csv.DictReader(file))
    for sheet, lines in ((CASELOAD, truth), (NOT_SEEN_YET, listed_truth)):
        here = [row for row in found if sheet in row["file"]]
        rows = {int(row["line"]) for row in here if row["kind"] == "row"}
        assert rows == {
            number for number, line in lines.items() if any(row.becomes == "row set aside" for row in line.rows)
        }
        values = {int(row["line"]) for row in here if row["kind"] == "value"} - rows
        assert values == {number for number, line in lines.items() if any(row.set_aside for row in line.rows)} - rows


def as_written(value: object) -> str:
    return "" if value is None else {True: "yes", False: "no"}[value] if isinstance(value, bool) else str(value)


def test_the_store_holds_what_the_sheets_mean(
    loaded: tuple[Path, run.Loaded], truth: dict[int, Line], listed_truth: dict[int, Line]
) -> None:
    meant: defaultdict[str, Counter[frozenset[tuple[str, str]]]] = defaultdict(Counter)
    for line in (*truth.values(), *listed_truth.values()):
        for row in line.rows:
            if row.becomes == "accepted":
                meant[row.table][told(row.values)] += 1
    with contextlib.closing(store.work(loaded[0])) as con:
        store.attach(con, loaded[0], to_load=False)
        for table in layout.tables():
            names = [column.name for column in table.columns]
            held = con.execute(f"SELECT {', '.join(names)} FROM store.{table.name}").fetchall()
            rows = [told(dict(zip(names, map(as_written, row), strict=True))) for row in held]
            assert Counter(rows) == meant[table.name], table.name


def test_without_its_reason_the_column_unit_no_keeps_the_sheet_out(tmp_path: Path) -> None:
    text = (DEMO_EXPORT / "mappings" / "outreach.toml").read_text(encoding="utf-8")
    without = re.sub(r'\[not_identifiers\]\n"Kit / Unit no" = .*\n', "", text)
    assert without != text
    folder = run.new(tmp_path / "audit").parent
    (folder / "mappings").mkdir(exist_ok=True)
    (folder / "mappings" / "outreach.toml").write_text(without, encoding="utf-8")
    with pytest.raises(Refused, match="Unit no") as refused:
        run.load(folder, WORKBOOK)
    assert len(refused.value.faults) == 1
    assert "FC" not in str(refused.value)
