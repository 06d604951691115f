"""An export, or a load in the store, in totals: one row a column of the layout.

Comes in: a working connection with the accepted rows, or the store attached. Goes out: a frame for the batch gate to
compare.
"""

from __future__ import annotations

from collections.abc import Sequence

import duckdb
import pandas as pd

from pipeline.contracts import layout
from pipeline.intake.check import column_sql

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
    findings_of = con.execute(column_sql.findings_by_column(findings, which), values).fetchall()
    bad = {(table, column): count for table, column, count in findings_of}
    rows = []
    for table in layout.tables():
        count, totals = 0, [0] * len(table.columns)
        answers: dict[str, dict[str, int]] = {
            column.name: {} for column in table.columns if column_sql.has_few_answers(column)
        }
        if con.execute(column_sql.any_row(f"{prefix}{table.name}", which), values).fetchall():
            ((count, totals),) = con.execute(column_sql.column_totals(table, prefix, which), values).fetchall()
            few = con.execute(column_sql.few_answers(table, prefix, which), values).fetchall() if answers else ()
            for name, answer, number in few:
                answers[name][answer] = number
        for column, recorded in zip(table.columns, totals, strict=True):
            of_column = bad.get((table.name, column.name), 0)
            rows.append((table.name, column.name, count, recorded, of_column, answers.get(column.name)))
    return pd.DataFrame(rows, columns=COLUMNS)
