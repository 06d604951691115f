"""What an export changes: its cases beside those of its source's load before it.

Comes in: a working connection with the accepted rows and the store attached, and the load before. Goes out: numbers of
cases.

A case is told by a number made of all its rows in all tables, in whatever order they stand.
"""

from __future__ import annotations

from dataclasses import dataclass

import duckdb

from pipeline.intake import statements
from pipeline.intake.check import column_sql


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
    con.execute("CREATE TEMP TABLE cases_now AS " + column_sql.case_numbers("accepted_", ""))
    which = "WHERE load = $load"
    con.execute("CREATE TEMP TABLE cases_before AS " + column_sql.case_numbers("store.", which), {"load": before})
    (numbers,) = statements.rows(con, "changed_cases")
    return Compared(before, *numbers)
