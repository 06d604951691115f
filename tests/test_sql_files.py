"""Every kind of SQL file but measures (test_contract.py) is held to its contract, by file and line, all at once."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from datetime import date
from pathlib import Path

import duckdb
import pytest

from pipeline import run
from pipeline.contracts import measure_files, query_files
from pipeline.contracts.apart_files import aparts
from pipeline.contracts.breakdown_file import BREAKDOWNS, breakdowns, shown_to_all
from pipeline.contracts.numbered_files import case_files
from pipeline.contracts.places import SQL
from pipeline.contracts.sql_contract import build, repeats
from pipeline.errors import Refused
from pipeline.outcomes import accounts, cases, counting, measure_rows
from pipeline.outcomes.by_month import noted_in_order
from pipeline.outcomes.due import find_due
from pipeline.outcomes.look_again import look_again
from pipeline.progress import Progress
from pipeline.session import opened
from tests.conftest import INVENTED, write_export

PERIOD = "2026Q1"
LIST = """\
-- title: Seen
-- why: Seen in the quarter.
SELECT
    case_ref,
    lead_practitioner AS practitioner,
    first_contact_date AS day,
    'seen' AS detail
FROM cases
WHERE period_of(first_contact_date) = $period
ORDER BY case_ref
"""
GROUP = """\
-- title: Divided on the left
-- measure: aftercare_advice_given
SELECT
    case_ref,
    division_id,
    division_date AS index_date
FROM divisions
"""
BY = """\
SELECT
    counted.*,
    'all' AS "all", -- title: Everyone
    level_of(c.site) AS site, -- title: Site
    CASE
        WHEN c.age_days < 7 THEN '0-6'
        ELSE '7+'
    END AS age_band_2, -- title: Age, in two bands (for equity)
    c.route AS route -- title: Route (only where asked) (for equity) (in a file of its own)
FROM counted
JOIN cases AS c USING (case_ref)
"""


@pytest.fixture(scope="module")
def con(tmp_path_factory: pytest.TempPathFactory) -> Iterator[duckdb.DuckDBPyConnection]:
    """A store with two cases and a procedure, with every measure counted."""
    place = tmp_path_factory.mktemp("sql")
    audit = run.new(place / "audit").parent
    tables = {
        "cases": "case_ref,site,first_contact_date,age_days\nA,North,2026-01-05,10\nB,North,2026-01-05,10",
        "procedures": "case_ref,procedure_date,operator\nA,2026-01-20,P1",
    }
    run.load(audit, write_export(place / "export", tables), date(2026, 6, 30), accept_anyway=INVENTED)
    with opened(audit, None) as session:
        run.worked_out(session, Progress())
        yield session.con


def refused(work: Callable[[], object]) -> list[tuple[str, str]]:
    """Where each fault is, and what it says was found; every one says what is allowed and what to do."""
    with pytest.raises(Refused) as caught:
        work()
    assert all(fault.allowed and fault.mend for fault in caught.value.faults)
    return [(fault.where, fault.found) for fault in caught.value.faults]


def changed(text: str, *pairs: tuple[str, str]) -> str:
    for old, new in pairs:
        assert old in text
        text = text.replace(old, new)
    return text


def put(folder: Path, **texts: str) -> Path:
    folder.mkdir()
    for name, text in texts.items():
        (folder / f"{name}.sql").write_text(text, encoding="utf-8")
    return folder


def test_a_breakdown_may_rest_on_every_column_of_a_case(con: duckdb.DuckDBPyConnection):
    assert con.table("levels").columns == con.table("cases").columns


# What was changed in the list, and where and what is said of it.
WRONG_LISTS = {
    "no key": (("-- why: Seen in the quarter.\n", ""), 1, "no key why"),
    "another key": (("-- why", "-- colour: red\n-- why"), 2, "the key colour"),
    "two statements": (("ORDER BY case_ref\n", "ORDER BY case_ref;\nSELECT 1\n"), 11, "a second statement"),
    "no column": ((",\n    'seen' AS detail", ""), 3, "no column detail"),
    "a column too many": (("    'seen'", "    site,\n    'seen'"), 3, "a column site"),
    "another order": (
        (
            "    case_ref,\n    lead_practitioner AS practitioner,",
            "    lead_practitioner AS practitioner,\n    case_ref,",
        ),
        3,
        "the columns in the order practitioner, case_ref, day, detail",
    ),
    "a day that is none": (("first_contact_date AS day", "age_days AS day"), 6, "day is INTEGER"),
    "no day, which the rest of it reads": (
        (
            "    first_contact_date AS day,\n    'seen' AS detail\nFROM cases\nWHERE",
            "    'seen' AS detail\nFROM cases\nWHERE day IS NOT NULL AND",
        ),
        3,
        "no column day",
    ),
    "a table of the store": (("FROM cases", "FROM store.cases"), 8, "it reads store.cases"),
    "another list": (("FROM cases", "FROM seen"), 8, "it reads seen"),
    "a column there is not": (("'seen' AS", "moon AS"), 7, "there is no column moon"),
    "broken SQL": (("FROM cases", "FRM cases"), 8, "Parser Error"),
    "SQL that cannot run": (
        ("'seen' AS detail", "CAST(CAST('x' || case_ref AS INTEGER) AS VARCHAR) AS detail"),
        7,
        "Conversion Error at a row or value, whose words are left out",
    ),
    "a line without a day": (("first_contact_date AS day", "closed_date AS day"), 3, "2 rows without case_ref, day or"),
    "no quarter": (("WHERE period_of(first_contact_date) = $period\n", ""), 3, "it does not ask for $period"),
}


@pytest.mark.parametrize("name", WRONG_LISTS)
def test_a_wrong_list_is_refused(con: duckdb.DuckDBPyConnection, tmp_path: Path, name: str):
    change, line, words = WRONG_LISTS[name]
    folder = put(tmp_path / "look_again", **{"10_seen": LIST, "20_mine": changed(LIST, change)})
    ((where, found),) = refused(lambda: look_again(con, PERIOD, folder))
    assert where == f"look_again/20_mine.sql, line {line}"
    assert words in found and "xA" not in found  # nor any other value of a row


def test_lists_are_told_apart_and_all_faults_told_at_once(con: duckdb.DuckDBPyConnection, tmp_path: Path):
    good = put(tmp_path / "good", **{"10_seen": LIST})
    ((ref, *_), (other, *_)) = [(case.case_ref, case.day) for case in look_again(con, PERIOD, good)[0].cases]
    assert (ref, other) == ("A", "B")
    named = put(tmp_path / "named", **{"10_seen": LIST, "20_seen": LIST, "mine": LIST, "30_My list": LIST})
    assert refused(lambda: look_again(con, PERIOD, named)) == [
        ("named/30_My list.sql, line 1", "the name 30_My list"),
        ("named/mine.sql, line 1", "the name mine"),
        ("named/20_seen.sql, line 1", "seen a second time"),
    ]
    no_day, no_table = ("first_contact_date AS day", "age_days AS day"), ("FROM cases", "FROM store.cases")
    wrong = put(tmp_path / "wrong", **{"10_a": changed(LIST, no_day), "20_b": changed(LIST, no_table)})
    assert [where for where, _ in refused(lambda: look_again(con, PERIOD, wrong))] == [
        "wrong/10_a.sql, line 6",
        "wrong/20_b.sql, line 8",
    ]


WRONG_GROUPS = {
    "a measure there is not": (("aftercare_advice_given", "moon"), 2, "moon"),
    "a grain there is not": (("-- measure", "-- grain: procedure\n-- measure"), 2, "grain: procedure"),
    "no title": (("-- title: Divided on the left\n", ""), 1, "no key title"),
    "no id of its grain": (("    division_id,\n", ""), 3, "no column division_id"),
    "a column too many": (("division_date AS", "operator,\n    division_date AS"), 3, "a column operator"),
    "no date": (("division_date AS", "operator AS"), 6, "index_date is VARCHAR"),
    "the store": (("FROM divisions", "FROM store.procedures"), 7, "it reads store.procedures"),
    "another case's": (("    case_ref,\n", "    'B' AS case_ref,\n"), 3, "1 rows whose case_ref and division_id are"),
    "a row twice": (
        ("FROM divisions", "FROM divisions, range(2)"),
        3,
        "1 rows whose division_id an earlier row has",
    ),
    "SQL that cannot run": (("division_date AS", "CAST('x' || case_ref AS DATE) AS"), 6, "Conversion Error"),
}


@pytest.mark.parametrize("name", WRONG_GROUPS)
def test_a_wrong_group_apart_is_refused(con: duckdb.DuckDBPyConnection, tmp_path: Path, name: str):
    change, line, words = WRONG_GROUPS[name]
    folder = put(tmp_path / "apart", mine=changed(GROUP, change))
    measures = measure_files.measures()
    ((where, found),) = refused(lambda: measure_rows.count_apart(con, aparts(measures, folder)))
    assert where == f"apart/mine.sql, line {line}"
    assert words in found


def test_two_groups_of_a_measure_are_told_apart(con: duckdb.DuckDBPyConnection, tmp_path: Path):
    measures = measure_files.measures()
    good = put(tmp_path / "good", mine=GROUP)
    assert measure_rows.count_apart(con, aparts(measures, good)) == [
        ("aftercare_advice_given", "Divided on the left", PERIOD, 1)
    ]
    # It may count other rows than its measure does, where it says so.
    of_cases = (
        "-- title: Everyone\n-- measure: aftercare_advice_given\n-- grain: case\n"
        "SELECT case_ref, first_contact_date AS index_date FROM cases"
    )
    own = put(tmp_path / "own", mine=of_cases)
    assert measure_rows.count_apart(con, aparts(measures, own)) == [("aftercare_advice_given", "Everyone", PERIOD, 2)]
    twice = put(tmp_path / "twice", one=GROUP, two=GROUP)
    assert refused(lambda: aparts(measures, twice)) == [("twice/two.sql, line 1", "Divided on the left, a second time")]
    measure = put(tmp_path / "named", seen_promptly=GROUP)
    assert refused(lambda: aparts(measures, measure)) == [
        ("named/seen_promptly.sql, line 1", "the name seen_promptly"),
    ]


WRONG_BREAKDOWNS = {
    "no title": ((" -- title: Site", ""), 4, "no title for site"),
    "a mistyped title": (("-- title: Site", "-- titel: Site"), 4, "no title for site"),
    "an empty title": (("-- title: Site", "-- title:"), 4, "no title for site"),
    "an unknown mark": (("(for equity)\n    c", "(for equality)\n    c"), 5, "the mark (for equality)"),
    "a mark almost right": (("(for equity)\n    c", "(in a file of their own)\n    c"), 5, "(in a file of their own)"),
    "a mistyped mark": (("(only where asked)", "(only where askd)"), 9, "the mark (only where askd)"),
    "no name": (("c.route AS route", "c.route"), 9, "a column without a name"),
    "a name in capitals": (("AS site", 'AS "Site"'), 4, "the name Site"),
    "a name of a counted column": (("AS site", "AS met"), 4, "the name met"),
    "a name twice": (("AS route", "AS site"), 9, "site a second time"),
    "nobody holds everyone": (("    'all' AS \"all\", -- title: Everyone\n", ""), 1, "no column all"),
    "not the counted columns": (("counted.*", "c.*"), 1, "other columns first"),
    "a star": (("c.route AS route --", "c.* --"), 9, "a column without a name"),
    "a yes or no": (("level_of(c.site)", "c.first_baby"), 4, "site is BOOLEAN"),
    "a level that is NULL": (("level_of(c.site)", "c.sex"), 4, "site is NULL in 4 rows"),
    "a table there is not": (("JOIN cases AS c", "JOIN store.cases AS c"), 11, "it reads store.cases"),
    "a column there is not": (("c.age_days", "c.moon"), 6, "moon"),
    "rows twice": (("(case_ref)\n", "(case_ref), range(2)\n"), 1, "8 rows made of 4"),
    "rows lost": (("(case_ref)\n", "(case_ref)\nWHERE c.case_ref = 'A'\n"), 1, "3 rows made of 4"),
"two SELECTs": (("FROM counted\n", "FROM counted UNION ALL SELECT * FROM counted\n"), 1, "several SELECTs"),
}  # fmt: skip


@pytest.fixture
def four_counted(con: duckdb.DuckDBPyConnection) -> Iterator[duckdb.DuckDBPyConnection]:
    """Of everything counted four rows: three of A, one of B."""
    con.execute("BEGIN")
    con.execute(
        "CREATE OR REPLACE TEMP TABLE counted AS SELECT * FROM counted WHERE measure IN ('days_to_referral', "
        "'aftercare_advice_given', 'fed_within_30_minutes')"
    )
    yield con
    con.execute("ROLLBACK")


@pytest.mark.parametrize("name", WRONG_BREAKDOWNS)
def test_a_wrong_breakdown_is_refused(four_counted: duckdb.DuckDBPyConnection, tmp_path: Path, name: str):
    change, line, words = WRONG_BREAKDOWNS[name]
    path = tmp_path / "breakdowns.sql"
    path.write_text(changed(BY, change), encoding="utf-8")
    ((where, found),) = refused(lambda: counting.break_down(four_counted, breakdowns(path), path))
    assert where == f"{tmp_path.name}/breakdowns.sql, line {line}"
    assert words in found


def test_no_breakdown_vanishes(four_counted: duckdb.DuckDBPyConnection, tmp_path: Path):
    path = tmp_path / "breakdowns.sql"
    path.write_text(BY, encoding="utf-8")
    read = breakdowns(path)
    assert [(by.name, by.title, by.for_every_measure, by.for_equity, by.in_own_file, by.line) for by in read] == [
        ("all", "Everyone", True, False, False, 3),
        ("site", "Site", True, False, False, 4),
        ("age_band_2", "Age, in two bands", True, True, False, 5),
        ("route", "Route", False, True, True, 9),
    ]
    assert [by.name for by in shown_to_all(read)] == ["all", "site", "age_band_2"]
    assert [by.name for by in breakdowns() if by.in_own_file] == ["practitioner"]
    counting.break_down(four_counted, read, path)
    assert len(breakdowns()) == BREAKDOWNS.read_text(encoding="utf-8").count("-- title:")


def test_all_faults_of_the_breakdowns_are_told_at_once(tmp_path: Path):
    path = tmp_path / "breakdowns.sql"
    path.write_text(changed(BY, (" -- title: Site", ""), ("AS route", "AS Route2")), encoding="utf-8")
    assert [found for _, found in refused(lambda: breakdowns(path))] == ["no title for site", "the name Route2"]


def test_a_wrong_case_file_is_refused(tmp_path: Path):
    one = "SELECT 1 AS x\n"
    folder = put(tmp_path / "cases", **{"10_one": one, "20_one": one, "two": one, "30_three": "DROP TABLE cases"})
    assert refused(lambda: case_files(folder)) == [("cases/30_three.sql, line 1", "a DROP statement")]
    (folder / "30_three.sql").unlink()
    assert refused(lambda: case_files(folder)) == [
        ("cases/two.sql, line 1", "the name two"),
        ("cases/20_one.sql, line 1", "one a second time"),
    ]


def test_a_case_table_that_reads_one_made_later_is_told_so(tmp_path: Path):
    early = "WITH two AS (SELECT 1 AS x)\nSELECT x\nFROM two\nJOIN three USING (x)\n"
    texts = {"10_one": early, "20_two": "SELECT x FROM one", "30_three": "SELECT x FROM two, three"}
    folder = put(tmp_path / "cases", **texts)
    assert refused(lambda: case_files(folder)) == [
        ("cases/10_one.sql, line 4", "it reads three, which is made later, in 30_three.sql"),
        ("cases/30_three.sql, line 1", "it reads three, which is made later, in 30_three.sql"),
    ]


def test_a_case_table_of_several_rows_a_case_is_blamed_itself(con: duckdb.DuckDBPyConnection, tmp_path: Path):
    """Not the measures that read it: they would be said to repeat a case."""
    two = "-- unique: case_ref\n-- One row a case.\nSELECT case_ref\nFROM cases, range(2)\n"
    texts = {"10_two": two, "20_three": two.replace("range(2)", "range(3)").replace("unique: ", "unique: case_ref, ")}
    files = case_files(put(tmp_path / "cases", **{**texts, "30_free": "SELECT case_ref FROM cases, range(2)"}))
    for file in files:
        build(con, file.own_name, file)
    found = [(fault.where, fault.found) for fault in repeats(con, files)]
    assert found == [  # of the two cases of the store
        ("cases/10_two.sql, line 3", "2 rows more than there are different case_ref"),
        ("cases/20_three.sql, line 3", "4 rows more than there are different case_ref, case_ref"),
    ]
    (tmp_path / "cases" / "30_free.sql").write_text("-- unique: case\nSELECT case_ref FROM cases", encoding="utf-8")
    (fault,) = repeats(con, case_files(tmp_path / "cases")[2:])
    assert (fault.where, fault.found) == ("cases/30_free.sql, line 1", "unique: case")


@pytest.mark.parametrize(
    ("sql", "line", "found", "allowed"),
    [
        (
            "SELECT\n    c.case_reff\nFROM cases AS c",
            2,
            "there is no column c.case_reff",
            "of c; most like it: case_ref",
        ),
        (
            "SELECT case_ref\nFROM cases\nWHERE sitee = 'x'",
            3,
            "there is no column sitee",
            "it reads; most like it: site",
        ),
        ("WITH a AS (SELECT 1 AS x)\nSELECT a.y\nFROM a", 2, "there is no column a.y", "a column of a"),
    ],
)
def test_a_column_there_is_not_is_named_with_those_most_like_it(
    con: duckdb.DuckDBPyConnection, tmp_path: Path, sql: str, line: int, found: str, allowed: str
):
    (file,) = case_files(put(tmp_path / "cases", **{"10_one": sql}))
    with pytest.raises(Refused) as caught:
        build(con, file.own_name, file)
    (fault,) = caught.value.faults
    assert (fault.where, fault.found) == (f"cases/10_one.sql, line {line}", found)
    assert allowed in fault.allowed


ASKED: dict[str, Callable[[duckdb.DuckDBPyConnection], object]] = {
    "accounts/began": accounts.began,
    "accounts/everyone": lambda con: accounts.flow(con, PERIOD),
    "accounts/flow": lambda con: accounts.flow(con, PERIOD),
    "accounts/lines": accounts.lines,
    "accounts/reasons": accounts.reasons,
    "accounts/not_recorded": lambda con: accounts.not_recorded(con, PERIOD),
    "accounts/not_followed_on": accounts.not_followed_on,
    "accounts/no_longer_there": lambda con: query_files.answer(con, "accounts/no_longer_there"),
    "accounts/requests_held": accounts.requests_held,
    "accounts/still_waiting": accounts.still_waiting,
    "accounts/settled": lambda con: accounts.settled(con, 1, 1),
    "accounts/followed": accounts.settled_since,
    "accounts/first_day": cases.first_day,
    "accounts/noted_in_order": lambda con: noted_in_order(con, (), date(2026, 3, 31)),
    "accounts/mix": lambda con: query_files.answer(con, "accounts/mix", {"measures": [], "periods": []}),
    "accounts/loads": lambda con: query_files.answer(con, "accounts/loads"),
    "accounts/files": lambda con: query_files.answer(con, "accounts/files"),
    "due": lambda con: find_due(con, date(2026, 2, 1), 7),
    "due_sources": lambda con: find_due(con, date(2026, 2, 1), 7),
}
# What stands instead of the file, and what is said of it.
WRONG_QUERIES = {
    "SELECT 1 AS moon WHERE TRUE": "a column moon",
    "SELECT $moon AS moon": "it asks for $moon",
    "SELECT nothing FROM cases WHERE TRUE": "nothing",
    "SELECT * FROM store.loads WHERE TRUE": "it reads store.loads",
    "SELECT FROM": "Parser Error",
    "-- colour: red\nSELECT 1": "the key colour",
    "CREATE TABLE x (y INTEGER)": "a CREATE statement",
}


@pytest.mark.parametrize("wrong", WRONG_QUERIES)
@pytest.mark.parametrize("name", ASKED)
def test_a_wrong_account_is_refused(
    con: duckdb.DuckDBPyConnection, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, name: str, wrong: str
):
    for other in query_files.COLUMNS:
        (tmp_path / other).parent.mkdir(exist_ok=True)
        (tmp_path / f"{other}.sql").write_bytes((SQL / f"{other}.sql").read_bytes())
    path = tmp_path / f"{name}.sql"
    asked = re.findall(r"\$[a-z_]+", re.sub("--.*", "", path.read_text(encoding="utf-8")))
    path.write_text(
        wrong + "".join(f" AND {value} IS NOT NULL" for value in asked if "WHERE" in wrong), encoding="utf-8"
    )
    monkeypatch.setattr(query_files, "SQL", tmp_path)
    ((where, found),) = refused(lambda: ASKED[name](con))
    assert where.startswith(f"{path.parent.name}/{path.name}, line ")
    assert WRONG_QUERIES[wrong] in found


def test_every_query_file_is_one_that_is_asked():
    paths = [path for folder in ("accounts", "practitioner") for path in (SQL / folder).glob("*.sql")]
    files = {path.relative_to(SQL).with_suffix("").as_posix() for path in paths}
    assert files | {"due", "due_sources", "practitioner/whose"} == {*query_files.COLUMNS, "practitioner/whose"}
    assert {name for name in query_files.COLUMNS if not name.startswith("practitioner")} == ASKED.keys()
