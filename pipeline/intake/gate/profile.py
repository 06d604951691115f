"""An export, or a load in the store, in totals: one row a column of the layout.

Comes in: a working connection with the accepted rows, or the store attached. Goes out: a frame for the batch gate to
compare. Refuses nothing.

Here the columns of the layout are joined into SQL, one statement a table.
"""

from __future__ import annotations

from collections.abc import Sequence

import duckdb
import pandas as pd

from pipeline.contracts import layout
from pipeline.contracts.layout import CODE, INTEGER, YES_NO, Column

_FEW_VALUES = 30  # of an integer column, so that one of them can stand out: a score, not a weight
COLUMNS = ["table", "column", "rows", "recorded", "bad", "answers"]


def profile(con: duckdb.DuckDBPyConnection) -> pd.DataFrame:
    """The export on the working connection: table, column, rows, recorded, bad, answers.

    `rows` are the accepted ones; `bad` counts how often something was set aside because of the column; `answers` says
    how many rows hold each recorded answer of a column that has few, and is None for the others.
    """
    return _profile(con, "accepted_", "set_aside", "", [])


def profile_of_load(con: duckdb.DuckDBPyConnection, load: int) -> pd.DataFrame:
    """The same of a load in the store, with its number as `load`."""
    return _profile(con, "store.", "store.set_aside", "WHERE load = $1", [load]).assign(load=load)


def _profile(
    con: duckdb.DuckDBPyConnection, prefix: str, findings: str, which: str, values: Sequence[int]
) -> pd.DataFrame:
    bad = {
        (table, column): count
        for table, column, count in con.execute(
            f"SELECT table_name, column_name, count(*) FROM {findings} {which} GROUP BY table_name, column_name", values
        ).fetchall()
    }
    rows = []
    for table in layout.tables():
        written = [_written(column) for column in table.columns]
        recorded = ", ".join(f"count({text})" for text in written)
        answers = ", ".join(
            f"histogram({text})" if _has_few_answers(column) else "CAST(NULL AS MAP(VARCHAR, UBIGINT))"
            for column, text in zip(table.columns, written, strict=True)
        )
        counted = con.execute(
            f"SELECT count(*), [{recorded}], [{answers}] FROM {prefix}{table.name} {which}", values
        ).fetchall()
        for count, *lists in counted:
            for column, *of_column in zip(table.columns, *lists, strict=True):
                of_answers = (of_column[1] or {}) if _has_few_answers(column) else None
                found = bad.get((table.name, column.name), 0)
                rows.append((table.name, column.name, count, of_column[0], found, of_answers))
    return pd.DataFrame(rows, columns=COLUMNS)


def _has_few_answers(column: Column) -> bool:
    if column.kind != INTEGER:
        return column.kind in (CODE, YES_NO)
    return column.minimum is not None and column.maximum is not None and column.maximum - column.minimum < _FEW_VALUES


def _written(column: Column) -> str:
    """The recorded answer as an export writes it, NULL for none."""
    if column.kind == YES_NO:
        return f"CASE WHEN {column.name} THEN 'yes' WHEN NOT {column.name} THEN 'no' END"
    return f"recorded(CAST({column.name} AS VARCHAR))"
