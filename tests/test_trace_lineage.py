"""What a figure rests on, read off its SQL: nothing that could change it is missing."""

from __future__ import annotations

import contextlib
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import duckdb
import pytest

from pipeline import run, store
from pipeline.contracts import layout, measure_files, parse_tree
from pipeline.contracts.apart_files import aparts
from pipeline.contracts.breakdown_file import BREAKDOWNS, breakdowns
from pipeline.contracts.numbered_files import case_files
from pipeline.contracts.query_files import query_file
from pipeline.contracts.sql_contract import build
from pipeline.lineage import rests_on, select_lineage
from pipeline.outcomes import cases, periods
from pipeline.progress import Progress
from pipeline.report.content.inputs import Basis
from pipeline.session import Session, opened
from pipeline.settings import FILE_NAME, read_settings
from tests.conftest import INVENTED, Story
from tests.second_opinion.nasty import write_export as write_nasty_export

KNOWN = {
    "a": select_lineage.table("a", {"k": 0, "x": 0, "y": 0}),
    "b": select_lineage.table("b", {"k": 0, "z": 0}),
    "one": select_lineage.table("one", {"k": 0, "w": 0}, (frozenset({"k"}),)),
}
A, B, ONE = {"a.", "a.k"}, {"b.", "b.k"}, {"one.", "one.k"}
# SELECT -> all that it rests on, worked out by reading it. "a." is the rows of a themselves.
FORMS = {
    "SELECT x FROM a": {"a.", "a.x"},
    "SELECT x FROM a WHERE y > 1": {"a.", "a.x", "a.y"},
    "SELECT x AS r FROM a ORDER BY y": {"a.", "a.x"},
    "SELECT x AS r FROM a ORDER BY y LIMIT 1": {"a.", "a.x", "a.y"},
    "SELECT count(*) AS r FROM a GROUP BY y": {"a.", "a.y"},
    "SELECT y, count(*) AS r FROM a GROUP BY ALL": {"a.", "a.y"},
    "SELECT row_number() OVER (PARTITION BY k ORDER BY y) AS r FROM a": {*A, "a.y"},
    "SELECT x AS r, r + 1 AS s FROM a": {"a.", "a.x"},
    "SELECT x AS r FROM a WHERE r + (SELECT max(z) FROM b) > 1": {"a.", "a.x", "b.", "b.z"},
    "SELECT x FROM a JOIN b USING (k)": {*A, *B, "a.x"},
    "SELECT x FROM a LEFT JOIN b USING (k)": {*A, *B, "a.x"},  # may find several
    "SELECT x FROM a LEFT JOIN one USING (k)": {"a.", "a.x"},  # finds one at most, and nothing of it is read
    "SELECT x, w FROM a LEFT JOIN one USING (k)": {*A, *ONE, "a.x", "one.w"},
    "SELECT x FROM a LEFT JOIN one USING (k) WHERE w IS NULL": {*A, *ONE, "a.x", "one.w"},
    "SELECT x FROM a LEFT JOIN one ON one.k = a.k AND one.w > a.y": {"a.", "a.x"},
    "SELECT x FROM a LEFT JOIN one ON one.w = a.y": {"a.", "a.x", "a.y", "one.", "one.w"},
    "SELECT x FROM a LEFT JOIN one ON one.k = a.k OR a.y = 1": {*A, "a.x", "a.y", *ONE},
    "SELECT k FROM a LEFT JOIN one USING (k)": A,
    "SELECT x FROM a RIGHT JOIN one USING (k)": {*A, *ONE, "a.x"},
    "WITH g AS (SELECT k, sum(z) AS s FROM b GROUP BY k) SELECT x FROM a LEFT JOIN g USING (k)": {"a.", "a.x"},
    "WITH g AS (SELECT k, sum(z) AS s FROM b GROUP BY k) SELECT x, s FROM a LEFT JOIN g USING (k)": {
        *A,
        *B,
        "a.x",
        "b.z",
    },
    "WITH g AS (SELECT DISTINCT k FROM b) SELECT x FROM a LEFT JOIN g USING (k)": {"a.", "a.x"},
    "SELECT x FROM a WHERE EXISTS (SELECT 1 FROM b WHERE b.k = a.k)": {*A, *B, "a.x"},
    "SELECT x FROM a WHERE y IN (SELECT z FROM b)": {"a.", "a.x", "a.y", "b.", "b.z"},
    "SELECT x FROM a UNION SELECT z FROM b": {"a.", "a.x", "b.", "b.z"},
    "SELECT * FROM a": {*A, "a.x", "a.y"},
    "SELECT q.r FROM (SELECT x AS r FROM a) AS q": {"a.", "a.x"},
    "SELECT r FROM a AS q (p, r)": {"a.", "a.x"},
    "SELECT list_filter([1], e -> e > x) AS r FROM a": {*A, "a.x", "a.y"},  # a name it cannot place: everything
    "SELECT x FROM a NATURAL JOIN b": {*A, *B, "a.x", "a.y", "b.z"},
    "WITH RECURSIVE r AS (SELECT x FROM a UNION SELECT x + 1 FROM r) SELECT x FROM r": {*A, "a.x", "a.y"},
    "SELECT n FROM range(3) AS t (n), a": {*A, "a.x", "a.y"},
}


@pytest.mark.parametrize("sql", FORMS)
def test_forms_of_a_select(sql: str):
    found = select_lineage.relation(parse_tree.tree(sql), KNOWN).everything
    said = {f"{table}.{column}" for table, column in found}
    assert said >= FORMS[sql] if "range" in sql else said == FORMS[sql]


def test_a_table_nobody_knows_is_a_defect():
    with pytest.raises(ValueError, match="reads c"):
        select_lineage.relation(parse_tree.tree("SELECT x FROM c"), KNOWN)


# The same for the measures themselves: whatever is not in what a figure rests on may be changed, and it stays.


@pytest.fixture(scope="module")
def con(tmp_path_factory: pytest.TempPathFactory) -> Iterator[duckdb.DuckDBPyConnection]:
    """A store of 220 cases with something in every column, held for changing; no change is kept."""
    folder = tmp_path_factory.mktemp("lineage")
    run.new(folder / "audit")
    (folder / "export").mkdir()
    cut_off = write_nasty_export(folder / "export", 20260711, 220)
    run.load(folder / "audit", folder / "export", cut_off, accept_anyway=INVENTED)
    measures = measure_files.measures()
    settings = read_settings(folder / "audit" / FILE_NAME, {measure.name: measure.kind for measure in measures})
    with contextlib.closing(store.work(folder / "audit")) as con:
        store.attach(con, folder / "audit", to_load=True)
        basis = Basis(settings, periods.latest_ended(cut_off), "", "")
        run.worked_out(Session(con, folder, measures, basis, cut_off, 1, None), Progress())
        yield con


def figures() -> dict[str, str]:
    """Every figure, with SQL that gives case_ref and its answer, without ids."""
    found = {
        measure.name: "SELECT case_ref, index_date, "
        f"{', '.join(measure_files.answer_columns(measure.kind))} FROM ({measure.file.sql})"
        for measure in measure_files.measures()
    }
    found |= {
        group.name: f"SELECT case_ref, index_date FROM ({group.file.sql})" for group in aparts(measure_files.measures())
    }
    return found | {"everyone": "SELECT * FROM everyone"}


COUNTED = (
    "SELECT case_ref, NULL::BIGINT AS division_id FROM cases UNION ALL SELECT case_ref, division_id FROM divisions"
)


def levels() -> dict[str, str]:
    """Every breakdown, of cases and of procedures."""
    sql = BREAKDOWNS.read_text(encoding="utf-8")
    return {
        breakdown.name: f'WITH counted AS ({COUNTED}) SELECT case_ref, "{breakdown.name}" FROM ({sql})'
        for breakdown in breakdowns()
    }


def held_in(con: duckdb.DuckDBPyConnection, table: str) -> list[Any]:
    """What tells one state of a table from another, in whichever order its rows stand."""
    return con.execute(f"SELECT count(*), sum(hash(held)::HUGEINT) FROM {table} AS held").fetchall()


def answers(con: duckdb.DuckDBPyConnection, asked: dict[str, str]) -> dict[str, list[Any]]:
    return {name: held_in(con, f"({sql})") for name, sql in asked.items()}


def reads(sql: str) -> set[str]:
    return {name for name, _ in parse_tree.tables_read(sql)}


def built_again(con: duckdb.DuckDBPyConnection, changed: str, before: dict[str, list[Any]]) -> set[str]:
    """Build the case tables above a table that was changed; which of them changed. The others read nothing new."""
    names = {changed}
    for file in case_files():
        if reads(file.sql) & names:
            build(con, file.own_name, file)
            names |= {file.own_name} if held_in(con, file.own_name) != before[file.own_name] else set()
    return names


def changes() -> Iterator[tuple[str, str, str]]:
    """Table, column and a change of it, in two thirds of the rows to nothing; the column "" for rows taken away."""
    moved = {layout.DATE: "{0} + 3", layout.INTEGER: "{0} + 2", layout.YES_NO: "NOT coalesce({0}, FALSE)"}
    for table in layout.tables():
        yield table.name, "", f"DELETE FROM store.{table.name} WHERE hash(case_ref) % 2 = 0"
        for column in table.columns:
            if column.name == "case_ref":
                continue
            values = "', '".join(column.values)
            coded = f"['{values}'][(1 + hash({{0}}, row_id) % {len(column.values) or 1})::INTEGER]"
            change = coded if column.kind == layout.CODE else moved.get(column.kind, "{0} || '!'")
            some = change if column.must else f"CASE WHEN hash(row_id, 1) % 3 = 0 THEN {change} END"
            yield table.name, column.name, f"UPDATE store.{table.name} SET {column.name} = {some.format(column.name)}"


def test_nothing_outside_what_a_figure_rests_on_changes_it(con: duckdb.DuckDBPyConnection):
    asked = {f"figure {name}": sql for name, sql in figures().items()}
    asked |= {f"breakdown {name}": sql for name, sql in levels().items()}
    known = rests_on.ground(con)
    everyone = query_file("accounts/everyone").sql
    sqls = {
        figure.name: figure.file.sql for figure in (*measure_files.measures(), *aparts(measure_files.measures()))
    } | {"everyone": everyone}
    rests = {f"figure {name}": rests_on.rests_on(known, [sql]) for name, sql in sqls.items()}
    for breakdown in breakdowns():
        rests[f"breakdown {breakdown.name}"] = rests_on.rests_on(known, [COUNTED], breakdown.name)
    assert rests.keys() == asked.keys()
    # A row taken away counts if anything of the table does.
    named = {name: {(table, "") for table, _ in rest.written} | rest.written for name, rest in rests.items()}
    below = {name: reads(sqls.get(name.removeprefix("figure "), sql)) for name, sql in asked.items()}
    before, tables = answers(con, asked), {file.own_name: held_in(con, file.own_name) for file in case_files()}
    moved: set[str] = set()
    for table, column, change in changes():
        con.execute("BEGIN")
        con.execute(change)
        built = built_again(con, f"store.{table}", tables)
        # What reads nothing that changed stays; what may be changed is asked until something did.
        may_be = {name for name in moved if (table, column) in named[name]}
        after = answers(con, {name: sql for name, sql in asked.items() if below[name] & built and name not in may_be})
        con.execute("ROLLBACK")
        for name in after:
            if after[name] != before[name]:
                moved.add(name)
                assert (table, column) in named[name], f"{change} changes {name}"
    assert asked.keys() - moved == set()


@pytest.mark.parametrize("contacts", [1, 2])
def test_what_a_figure_rests_on_does_not_hang_on_what_happens_to_be_recorded(
    tell: Callable[..., Story], audit: Path, contacts: int
):
    """A join with the contacts of a case repeats its row for each of them, though each case has had one so far."""
    of_a = "\n".join(f"A,2026-01-{5 + day:02},P1" for day in range(contacts))
    cases_of_both = "case_ref,site,first_contact_date,age_days\nA,North,2026-01-05,10\nB,North,2026-01-06,10"
    contacts_of_both = f"case_ref,contact_date,practitioner\nB,2026-01-06,P1\n{of_a}"
    tell({"cases": cases_of_both, "contacts": contacts_of_both}, "2026-06-30")
    repeats = "SELECT c.case_ref FROM cases AS c LEFT JOIN contacts AS k ON k.case_ref = c.case_ref"
    alone = "SELECT c.case_ref FROM cases AS c LEFT JOIN levels AS v ON v.case_ref = c.case_ref"
    with opened(audit, "2026Q1", None) as session:
        cases.build(session.con)
        known = rests_on.ground(session.con)
        assert ("contacts", "") in rests_on.rests_on(known, [repeats]).written
        assert ("levels", "") not in rests_on.rests_on(known, [alone]).worked_out
