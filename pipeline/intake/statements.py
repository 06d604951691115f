"""The statements of sql/intake, each by the name of its file.

Comes in: a working connection, a name, the values it asks for. Goes out: its rows; or they stand as a temporary
table or view of that name, or are added to a table. Refuses, with file and line: a file that is not one SELECT, or
that DuckDB cannot run.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import duckdb

from pipeline.contracts.query_files import query_file
from pipeline.contracts.sql_contract import build
from pipeline.contracts.sql_file import sql_fault
from pipeline.errors import Refused

Values = Mapping[str, Any]


def rows(con: duckdb.DuckDBPyConnection, name: str, values: Values | None = None) -> list[tuple[Any, ...]]:
    """All rows, in the file's order."""
    return _run(con, "", name, values).fetchall()


def add(con: duckdb.DuckDBPyConnection, table: str, name: str, values: Values | None = None) -> None:
    """Add the rows to a table; columns that the file does not give are NULL."""
    _run(con, f"INSERT INTO {table} BY NAME ", name, values)


def make_table(con: duckdb.DuckDBPyConnection, name: str) -> None:
    """Make the temporary table of that name."""
    build(con, name, query_file(f"intake/{name}"))


def make_view(con: duckdb.DuckDBPyConnection, name: str) -> None:
    """Make the temporary view of that name."""
    build(con, name, query_file(f"intake/{name}"), kind="VIEW")


def _run(con: duckdb.DuckDBPyConnection, before: str, name: str, values: Values | None) -> duckdb.DuckDBPyConnection:
    file = query_file(f"intake/{name}")
    try:
        return con.execute(before + file.sql, values)
    except duckdb.Error as error:
        raise Refused(sql_fault(file, error)) from error
