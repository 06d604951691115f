"""One row a case, and the tables beside it: the files of sql/cases, in the order of their numbers.

Comes in: a working connection with the store attached, standing at an event.
Goes out: one temporary table a file, named like it.
Refuses: a file that is not one SELECT, that DuckDB cannot run, or whose rows repeat, naming file and line.
"""

from __future__ import annotations

from datetime import date

import duckdb

from pipeline.contracts.numbered_files import case_files
from pipeline.contracts.query_files import answer
from pipeline.contracts.sql_contract import build as build_from
from pipeline.contracts.sql_contract import repeats
from pipeline.errors import Refused


def build(con: duckdb.DuckDBPyConnection, *, through: str | None = None) -> None:
    """Build the case tables, or those up to the one named `through`, in their order. Raises Refused."""
    built = []
    for file in case_files():
        build_from(con, file.own_name, file)
        built.append(file)
        if file.own_name == through:
            break
    faults = repeats(con, built)
    if faults:
        raise Refused(faults)


def first_day(con: duckdb.DuckDBPyConnection) -> date | None:
    """The day of the earliest first contact or request for help, None where there is none."""
    ((day,),) = answer(con, "accounts/first_day").fetchall()
    return day if isinstance(day, date) else None


def counted(con: duckdb.DuckDBPyConnection) -> int:
    """How many cases count."""
    ((cases,),) = con.execute("SELECT count(*) FROM counting_cases").fetchall()
    return int(cases)


def from_load(con: duckdb.DuckDBPyConnection, load: int) -> int:
    """How many of the cases that count come from a load."""
    ((cases,),) = con.execute("SELECT count(*) FROM counting_cases WHERE load = $1", [load]).fetchall()
    return int(cases)
