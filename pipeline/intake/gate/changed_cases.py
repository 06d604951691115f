"""What an export changes: its cases beside those of its source's load before it.

Comes in: a working connection with the accepted rows and the store attached, and the load before. Goes out: numbers of
cases. Refuses nothing.

A case is told by a number made of all its rows in all tables, in whatever order they stand. Here the columns of the
layout are joined into SQL.
"""

from __future__ import annotations

from dataclasses import dataclass

import duckdb

from pipeline.contracts import layout


@dataclass(frozen=True)
class Compared:
    """Cases of an export beside those of the load before it."""

    before: int  # the load
    new: int
    changed: int  # in any of their rows
    same: int
    gone: int

    @property
    def words(self) -> str:
        """The numbers in words."""
        gone = f"; {self.gone:,} no longer there" if self.gone else ""
        cases = "case" if self.new == 1 else "cases"
        return f"{self.new:,} new {cases}, {self.changed:,} changed, {self.same:,} as before{gone}"


def compare(con: duckdb.DuckDBPyConnection, before: int | None) -> Compared | None:
    """Compare the accepted rows with those of a load; None where there is none."""
    if before is None:
        return None
    now, then = _told("accepted_", ""), _told("store.", "WHERE load = $before")
    ((new, changed, same, gone),) = con.execute(
        "SELECT count(*) FILTER (WHERE t.case_ref IS NULL), count(*) FILTER (WHERE n.told <> t.told), "
        "count(*) FILTER (WHERE n.told = t.told), count(*) FILTER (WHERE n.case_ref IS NULL) "
        f"FROM ({now}) AS n FULL JOIN ({then}) AS t USING (case_ref)",
        {"before": before},
    ).fetchall()
    return Compared(before, int(new), int(changed), int(same), int(gone))


def _told(prefix: str, which: str) -> str:
    """One row a case that the cases table holds: case_ref, and a number that another row or value would change."""
    rows = [
        f"SELECT case_ref, hash('{table.name}', {', '.join(column.name for column in table.columns)}) AS told "
        f"FROM {prefix}{table.name} {which}"
        for table in layout.tables()
    ]
    return f"SELECT case_ref, sum(CAST(told AS HUGEINT)) AS told FROM ({' UNION ALL '.join(rows)}) GROUP BY case_ref"
