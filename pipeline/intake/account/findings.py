"""What was set aside, summed up for the person who reads the terminal.

Comes in: the working connection after accounting, or a load in the store. Goes out: a frozen Findings, or all
as rows. Refuses nothing.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import duckdb

from pipeline.contracts import check_files, layout
from pipeline.intake.account.line_counts import SET_ASIDE
from pipeline.intake.account.mending_workbook import Row


@dataclass(frozen=True)
class Reason:
    """Findings of one rule in one column of one sheet: how many, the commonest, and where it stands first."""

    file: str
    column: str  # as the sheet calls it; empty where the whole line is meant
    kind: str  # row or value
    found: str
    kinds_found: int  # different things found
    count: int
    line: int
    allowed: str
    mend: str


@dataclass(frozen=True)
class Findings:
    """Numbers of findings, and the findings by reason, the most frequent first."""

    values: int  # single values of rows that were kept
    rows: int  # rows set aside of lines that gave other rows, which were kept
    reasons: tuple[Reason, ...]


def sum_up(con: duckdb.DuckDBPyConnection) -> Findings:
    """Everything in set_aside."""
    ((values,),) = con.execute(
        "SELECT count(*) FROM set_aside AS v WHERE v.kind = 'value' AND NOT EXISTS (SELECT 1 FROM set_aside AS r "
        "WHERE r.kind = 'row' AND r.table_name = v.table_name AND r.row_id = v.row_id)"
    ).fetchall()
    ((rows,),) = con.execute(
        "SELECT count(DISTINCT (s.table_name, s.row_id)) FROM set_aside AS s JOIN fates AS f USING (sheet, line) "
        "WHERE s.kind = 'row' AND s.row_id IS NOT NULL AND f.fate <> $1",
        [SET_ASIDE],
    ).fetchall()
    reasons = con.execute(
        # A cell that two columns of the layout are read from is one thing to mend.
        "WITH found AS (SELECT sheet, said_as, min(kind) AS kind, allowed, min(mend) AS mend, found, "
        "count(DISTINCT line) AS times, min(line) AS line FROM set_aside GROUP BY sheet, said_as, allowed, found) "
        "SELECT file, said_as, min(kind) AS kind, arg_max(found, (times, -f.line)), count(DISTINCT found), "
        "CAST(sum(times) AS BIGINT) AS count, min(f.line) AS line, allowed, min(mend) FROM found AS f "
        "JOIN sheets USING (sheet) GROUP BY sheet, file, said_as, allowed "
        # What only follows from another finding comes last.
        "ORDER BY allowed = $1, count DESC, sheet, line, said_as, allowed",
        [check_files.follows()],
    ).fetchall()
    return Findings(int(values), int(rows), tuple(Reason(*each) for each in reasons))


def listed(con: duckdb.DuckDBPyConnection, load: int | None = None) -> list[tuple[str, list[Row]]]:
    """Each table with its findings, in the order of the layout, lines of no table last.

    Of a load in the store, else of the working connection.
    """
    source = "set_aside JOIN sheets USING (sheet)" if load is None else "store.set_aside WHERE load = $1"
    found = con.execute(
        "SELECT table_name, file, line, case_ref, said_as, kind, found, allowed, mend "
        f"FROM {source} ORDER BY file, line, kind, said_as, allowed, found",
        [] if load is None else [load],
    ).fetchall()
    rows = _once(found)
    names = [table.name for table in layout.tables()]
    return [
        (name or "lines", [Row(*each[1:]) for each in rows if each[0] == name])
        for name in [*names, ""]
        if any(each[0] == name for each in rows)
    ]


def _once(found: list[tuple[Any, ...]]) -> list[tuple[Any, ...]]:
    """Each cell once, and not what goes with a case whose own row stands in the same line: one thing to mend.

    A finding about a row comes before one about a value of it.
    """
    follows = check_files.follows()
    with_case = {(file, line) for table, file, line, _, _, kind, *_ in found if table == "cases" and kind == "row"}
    seen = set()
    kept = []
    for each in found:
        table, file, line, _, said_as, _, what, allowed, _ = each
        cell = (file, line, said_as, what)
        if (table != "cases" and allowed == follows and (file, line) in with_case) or cell in seen:
            continue
        seen.add(cell)
        kept.append(each)
    return kept
