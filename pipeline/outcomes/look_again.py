"""Cases whose records are worth looking at again, for each reason there is.

Comes in: a working connection with the case tables, a quarter. Goes out: a Reason for every file of sql/look_again, in
the order of their names, with its cases in the order of the file. Refuses: a file that is not one SELECT of case_ref,
practitioner, day and detail.

These lists are for reviewing records, not for contacting anyone: a reason for which somebody might ring a family leaves
out everyone of whom any load in force says that they died (the table died).
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

import duckdb

from pipeline.contracts.places import SQL
from pipeline.contracts.sql_file import SqlFile, read_sql_file, sql_fault
from pipeline.errors import Fault, Refused

MUST = ("title", "why")
_COLUMNS = ["case_ref", "practitioner", "day", "detail"]


@dataclass(frozen=True)
class CaseToLookAt:
    """One line of a list."""

    case_ref: str
    practitioner: str | None  # the operator for a division, else the lead practitioner; None: not recorded
    day: date
    detail: str


@dataclass(frozen=True)
class Reason:
    """One list: what it is called, who is on it and why, in words, and the cases."""

    name: str
    title: str
    why: str
    cases: tuple[CaseToLookAt, ...]


def look_again(con: duckdb.DuckDBPyConnection, quarter: str) -> tuple[Reason, ...]:
    """Every reason with the cases of the quarter. Raises Refused."""
    return tuple(
        _reason(con, quarter, read_sql_file(path, MUST)) for path in sorted((SQL / "look_again").glob("*.sql"))
    )


def _reason(con: duckdb.DuckDBPyConnection, quarter: str, file: SqlFile) -> Reason:
    try:
        found = con.execute(file.sql, {"quarter": quarter})
        columns = [name for name, *_ in found.description or ()]
        rows = found.fetchall()
    except duckdb.Error as error:
        raise Refused(sql_fault(file, error)) from error
    if columns != _COLUMNS:
        mend = "name the columns so, in this order"
        raise Refused(Fault(file.at(), f"the columns {', '.join(columns)}", f"{', '.join(_COLUMNS)}", mend))
    name = file.name.split("_", 1)[1]
    return Reason(name, file.keys["title"], file.keys["why"], tuple(CaseToLookAt(*row) for row in rows))
