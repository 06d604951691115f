"""One truth, two exports: tables in the layout, and one sheet read through a mapping, come to the same figures.

The cases are made to be full of ties: several rows a day that disagree, and now and then two that are equal.
"""

from __future__ import annotations

import contextlib
from collections import Counter
from dataclasses import dataclass
from datetime import date
from pathlib import Path

import duckdb
import pytest

from pipeline import run
from pipeline.outcomes.results import write_csv
from tests.conftest import work_out_folder
from tests.second_opinion.layout import TABLES, Column
from tests.second_opinion.nasty_cases import Tables
from tests.spreading_out import GROUPS, SEMICOLONS, WORKBOOK, Form, clean_cases, write_layout, write_sheet

SEED = 20260817
Row = tuple[str, ...]


@dataclass(frozen=True)
class Told:
    """What an audit folder holds and reports of a load."""

    rows: dict[str, Counter[Row]]
    repeats: int  # rows of a file in the layout, groups of columns of a sheet
    results: bytes
    waits: bytes


def as_rows(table: str, rows: list[dict[str, str]]) -> Counter[Row]:
    """As the store holds them: truths for yes and no, and nothing for not_known."""
    truths = {"yes": "true", "no": "false"}

    def told(column: Column, value: str) -> str:
        if value == "not_known":
            return ""
        return truths.get(value, value) if column.values == ("yes", "no") else value

    return Counter(tuple(told(column, row[column.name]) for column in TABLES[table]) for row in rows)


def stored(folder: Path) -> dict[str, Counter[Row]]:
    """The rows of the store, as text, with nothing for NULL."""
    found = {}
    with contextlib.closing(duckdb.connect(str(folder / "store.duckdb"), read_only=True)) as con:
        for table in GROUPS:
            names = ", ".join(f"coalesce(CAST({column.name} AS VARCHAR), '')" for column in TABLES[table])
            found[table] = Counter(con.execute(f"SELECT {names} FROM {table}").fetchall())
    return found


def loaded(folder: Path, export: Path, cut_off: date) -> Told:
    """Load and work out; a doubt about the export as a whole, or a value not used, fails."""
    load = run.load(folder, export, cut_off)
    assert load.examined is not None
    assert sum(counts.set_aside for counts in load.examined.counts) == 0
    outcome = work_out_folder(folder)  # what a report is made of; its pages would add nothing
    return Told(
        stored(folder),
        sum(counts.repeats for counts in load.examined.counts),
        write_csv(outcome.results, folder / "results.csv").read_bytes(),
        write_csv(outcome.waits, folder / "waits.csv").read_bytes(),
    )


@pytest.fixture(scope="module")
def truth() -> tuple[list[Tables], date]:
    return clean_cases(SEED, 200)


@pytest.fixture(scope="module")
def in_the_layout(truth: tuple[list[Tables], date], tmp_path_factory: pytest.TempPathFactory) -> Told:
    where = tmp_path_factory.mktemp("layout")
    cases, cut_off = truth
    return loaded(run.new(where / "audit").parent, write_layout(where / "export", cases), cut_off)


def test_the_cases_are_hard_enough(truth: tuple[list[Tables], date]):
    """Several contacts a day that disagree, equal rows, checks on day 42, every table and every code in use."""
    cases, _ = truth
    per_day = Counter((row["case_ref"], row["contact_date"]) for case in cases for row in case["contacts"])
    assert len(cases) >= 150
    assert sum(count > 1 for count in per_day.values()) > 100
    for table in GROUPS:
        rows = [row for case in cases for row in case[table]]
        for column in TABLES[table]:
            assert set(column.values) <= {row[column.name] for row in rows}, (table, column.name)


def test_what_is_stored_from_the_layout_is_what_was_written(truth: tuple[list[Tables], date], in_the_layout: Told):
    """Equal rows are told once: the contract calls the others repeats, and counts them.

    Rows are equal by what they tell: not_known and nothing tell the same.
    """
    repeats = 0
    for table in GROUPS:
        written = as_rows(table, [row for case in truth[0] for row in case[table]])
        repeats += written.total() - len(written)
        assert in_the_layout.rows[table] == Counter(set(written)), table
    assert in_the_layout.repeats == repeats > 0


@pytest.mark.parametrize("form", [SEMICOLONS, WORKBOOK], ids=["csv", "xlsx"])
def test_one_sheet_through_a_mapping_gives_the_same(
    form: Form, truth: tuple[list[Tables], date], in_the_layout: Told, audit: Path, tmp_path: Path
):
    """The same rows, and the same bytes of figures.

    A line of the sheet is one case, and accepted as soon as one of its rows is; so a repeat among the groups of columns
    of one line makes no line a repeat, and only the rows are compared.
    """
    sheet, mapping = write_sheet(tmp_path, truth[0], form, SEED)
    (audit / "mappings").mkdir(exist_ok=True)
    (audit / "mappings" / "one_sheet.toml").write_text(mapping, encoding="utf-8")
    told = loaded(audit, sheet, truth[1])
    assert told.rows == in_the_layout.rows
    assert told.repeats == 0
    assert told.results == in_the_layout.results
    assert told.waits == in_the_layout.waits
    assert told.results.count(b"\n") > 1000
    assert told.waits.count(b"\n") > 1000
