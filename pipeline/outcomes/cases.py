"""One row a case, and the tables beside it: the files of sql/cases, in the order of their numbers.

Comes in: a working connection with the store attached, standing at an event.
Goes out: one temporary table a file, named like it.
Refuses: a file that is not one SELECT, or that DuckDB cannot run, naming file and line.
"""

from __future__ import annotations

from pathlib import Path

import duckdb

from pipeline.contracts.places import SQL
from pipeline.contracts.sql_file import read_sql_file, sql_fault
from pipeline.errors import Refused


def build(con: duckdb.DuckDBPyConnection, *, through: str | None = None) -> tuple[str, ...]:
    """Build the case tables, or those up to the one named `through`; their names, in order."""
    names = []
    for path in files():
        file, name = read_sql_file(path, ()), name_of(path)
        try:
            con.execute(f"CREATE OR REPLACE TEMP TABLE {name} AS {file.sql}")
        except duckdb.Error as error:
            raise Refused(sql_fault(file, error)) from error
        names.append(name)
        if name == through:
            break
    return tuple(names)


def files() -> tuple[Path, ...]:
    """The files of sql/cases, in their order."""
    return tuple(sorted((SQL / "cases").glob("*.sql")))


def name_of(path: Path) -> str:
    """The table that a file of sql/cases defines."""
    return path.stem.split("_", 1)[1]


def first_quarter(con: duckdb.DuckDBPyConnection) -> str | None:
    """The quarter of the earliest first contact, None where there is no case."""
    (quarter,) = con.execute("SELECT quarter_of(min(first_contact_date)) FROM cases").fetchall()[0]
    return None if quarter is None else str(quarter)


def counted(con: duckdb.DuckDBPyConnection) -> int:
    """How many cases count."""
    ((cases,),) = con.execute("SELECT count(*) FROM counting_cases").fetchall()
    return int(cases)


def from_load(con: duckdb.DuckDBPyConnection, load: int) -> int:
    """How many of the cases that count come from a load."""
    ((cases,),) = con.execute("SELECT count(*) FROM counting_cases WHERE load = $1", [load]).fetchall()
    return int(cases)
