"""A check file is held to its contract, and every error names file and line."""

from __future__ import annotations

import contextlib
from collections.abc import Callable, Iterator
from datetime import date
from pathlib import Path

import pytest

from pipeline import store
from pipeline.contracts.check_files import checks
from pipeline.errors import Refused
from pipeline.intake.check import row_rules, staging
from pipeline.intake.open_export import open_export
from pipeline.progress import Progress
from tests.conftest import write_export

ROW = """\
-- kind: row
-- allowed: a reason
-- mend: write the reason
-- why: no reason
SELECT
    'cases' AS table_name,
    'case_ref' AS column_name,
    row_id,
    case_ref || ', who moved' AS found
FROM staged_cases
WHERE closed_reason = 'moved'
"""
VALUE = ROW.replace("kind: row", "kind: value").replace("'case_ref' AS column", "'closed_reason' AS column")
EVERY_ROW = VALUE.replace("    'cases' AS table_name", "    table_name").replace(
    "'closed_reason' AS column_name", "'case_ref' AS column_name").replace("kind: value", "kind: row").replace(
    "staged_cases\nWHERE closed_reason", "staged_rows\nWHERE case_ref")  # fmt: skip

Findings = list[tuple[str, str, int, str, str]]
Run = Callable[[str], Findings]


@contextlib.contextmanager
def three_cases(place: Path) -> Iterator[Run]:
    """Run one check file on three cases, the one in line 3 closed as moved; what it set aside."""
    cases = """
        case_ref,site,first_contact_date,age_days,closed_reason
        A,North,2026-01-05,10,settled
        B,North,2026-01-05,10,moved
        C,North,2026-01-05,10,
    """
    export = open_export(write_export(place / "export", {"cases": cases}), date(2026, 6, 30))
    with contextlib.closing(store.work(None)) as con:
        staging.stage(con, export, Progress())

        def run_file(text: str) -> Findings:
            folder = place / "checks"
            folder.mkdir(exist_ok=True)
            (folder / "10_mine.sql").write_text(text, encoding="utf-8")
            row_rules.run(con, checks(folder))
            listed = "SELECT table_name, column_name, line, kind, found FROM set_aside ORDER BY line"
            return con.execute(listed).fetchall()

        yield run_file


@pytest.fixture
def run(tmp_path: Path) -> Iterator[Run]:
    with three_cases(tmp_path) as run_file:
        yield run_file


@pytest.fixture(scope="module")
def refuse(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Run]:
    """The same for files that are refused: they leave the cases as they are, and the next meets the same."""
    with three_cases(tmp_path_factory.mktemp("refused")) as run_file:
        yield run_file


def test_a_good_file_of_each_kind_sets_aside_what_breaks_it(run: Run):
    assert run(ROW) == [("cases", "case_ref", 3, "row", "B, who moved")]


def test_a_value_is_emptied_in_its_row(run: Run):
    assert run(VALUE) == [("cases", "closed_reason", 3, "value", "B, who moved")]
    assert run(VALUE) == [("cases", "closed_reason", 3, "value", "B, who moved")], (
        "a second time it is not there any more"
    )


def test_a_file_may_be_about_every_row(run: Run):
    assert run(EVERY_ROW) == []


def changed(text: str, old: str, new: str) -> str:
    assert old in text
    return text.replace(old, new)


# What was changed, the line of checks/10_mine.sql that the error must name, what it must say.
WRONG = {
    "an unknown key": (changed(ROW, "-- mend", "-- title: x\n-- mend"), 3, "the key title"),
    "a missing key": (changed(ROW, "-- mend: write the reason\n", ""), 1, "no key mend"),
    "a key twice": (changed(ROW, "-- mend", "-- allowed: x\n-- mend"), 3, "the key allowed a second time"),
    "an empty key": (changed(ROW, " a reason\n", "\n"), 2, "the key allowed without a value"),
    "a kind there is not": (changed(ROW, "kind: row", "kind: line"), 1, "kind: line"),
    "a second statement": (ROW + ";\nSELECT 1\n", 13, "a second statement"),
    "no select": (ROW[: ROW.index("SELECT")] + "DROP TABLE staged_cases", 1, "a DROP statement"),
    "broken SQL": (changed(ROW, "FROM staged", "FRM staged"), 10, "Parser Error"),
    "a column that is not in the table": (changed(ROW, "closed_reason", "place"), 11, "place"),
    "the written rows": (changed(ROW, "staged_cases", "written_cases"), 10, "it reads written_cases"),
    "the store": (changed(ROW, "staged_cases", "store.cases"), 10, "it reads store.cases"),
    "a file": (changed(ROW, "staged_cases", "read_csv('x.csv')"), 10, "it reads read_csv"),
    "the line for the row": (changed(ROW, "row_id", "line"), 5, "no column row_id; a column line"),
    "a column too many": (changed(ROW, "AS found", "AS found,\n    site"), 5, "a column site"),
    "another order": (
        changed(ROW, "    row_id,\n    case_ref || ', who moved' AS found", "    'x' AS found,\n    row_id"),
        5,
        "the columns in the order table_name, column_name, found, row_id",
    ),
    "a wrong type": (changed(ROW, "    row_id", "    CAST(row_id AS VARCHAR) AS row_id"), 8, "row_id is VARCHAR"),
    "a table there is not": (changed(ROW, "'cases'", "'case'"), 6, "table_name is case"),
    "a column there is not": (changed(ROW, "'case_ref'", "'case_reff'"), 7, "column_name is case_reff"),
    "a column of another table": (changed(ROW, "'case_ref'", "'operator'"), 7, "column_name is operator"),
    "a value that must be there": (changed(VALUE, "'closed_reason'", "'age_days'"), 7, "column_name is age_days"),
    "a name that is worked out": (
        changed(ROW, "'case_ref' AS", "site AS"),
        5,
        "1 rows with a table_name and column_name that it may not be about",
    ),
    "a row there is not": (
        changed(ROW, "    row_id", "    row_id + 100 AS row_id"),
        5,
        "1 rows with a row_id that no row of the table has",
    ),
    "a row twice": (
        changed(ROW, "FROM staged_cases", "FROM staged_cases, range(2)"),
        5,
        "1 rows and columns that it selects more than once",
    ),
    "nothing found": (changed(ROW, "case_ref || '", "CAST(NULL AS VARCHAR) || '"), 5, "1 rows in which found is NULL"),
    "an error among its rows": (
        changed(ROW, "closed_reason = 'moved'", "CAST(site AS INT) = 1"), 11, "Conversion Error at a row"
    ),
}  # fmt: skip


@pytest.mark.parametrize(("text", "line", "found"), WRONG.values(), ids=WRONG)
def test_a_file_that_breaks_the_contract_is_refused_with_file_and_line(refuse: Run, text: str, line: int, found: str):
    with pytest.raises(Refused) as refused:
        refuse(text)
    (fault,) = refused.value.faults
    assert fault.where == f"checks/10_mine.sql, line {line}"
    assert found in fault.found
    assert fault.allowed
    assert fault.mend


def test_a_name_that_is_almost_right_is_offered(run: Run):
    with pytest.raises(Refused, match="most like it: case_ref"):
        run(changed(ROW, "'case_ref'", "'case_reff'"))


def test_the_faults_of_all_files_are_told_at_once(run: Run, tmp_path: Path):
    (tmp_path / "checks").mkdir()
    (tmp_path / "checks" / "20_other.sql").write_text(changed(ROW, "'cases'", "'case'"), encoding="utf-8")
    with pytest.raises(Refused) as refused:
        run(changed(changed(ROW, "row_id", "line"), "'cases'", "'case'"))
    assert [fault.where for fault in refused.value.faults] == [
        "checks/10_mine.sql, line 5",
        "checks/20_other.sql, line 6",
    ]
    (tmp_path / "checks" / "no_number.sql").write_text(changed(ROW, "kind: row", "kind: line"), encoding="utf-8")
    with pytest.raises(Refused) as refused:
        run(changed(ROW, "-- mend: write the reason\n", ""))
    assert [fault.where for fault in refused.value.faults] == [
        "checks/10_mine.sql, line 1",
        "checks/no_number.sql, line 1",
        "checks/no_number.sql, line 1",
    ]
