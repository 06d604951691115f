"""What a report says beside its measures: the flow of every case, and how good the records are.

Comes in: the case tables and the store. Goes out: frames. Refuses nothing.

Here the columns of the layout are joined into SQL, to count what is not recorded.
"""

from __future__ import annotations

import duckdb
import pandas as pd

from pipeline import layout
from pipeline.places import SQL


def flow(con: duckdb.DuckDBPyConnection, quarter: str) -> pd.DataFrame:
    """route, six_weeks, cases: the cases first seen in the quarter, each in one cell."""
    return con.execute(_sql("flow"), {"quarter": quarter}).df()


def lines(con: duckdb.DuckDBPyConnection) -> pd.DataFrame:
    """One row a file of a load, by what became of its lines."""
    return con.execute(_sql("lines")).df()


def reasons(con: duckdb.DuckDBPyConnection) -> pd.DataFrame:
    """One row a load, table, column and rule: how much it set aside."""
    return con.execute(_sql("reasons")).df()


def not_recorded(con: duckdb.DuckDBPyConnection, quarter: str) -> pd.DataFrame:
    """table, column, site, rows, not_recorded: of the cases first seen in the quarter, for every optional column."""
    frames = []
    for table in layout.tables():
        columns = [column.name for column in table.columns if not column.must and column.always_asked]
        source = "counting_cases AS t" if table.name == "cases" else f"store.{table.name} AS t"
        of_case = "" if table.name == "cases" else " JOIN counting_cases AS c USING (case_ref, load)"
        owner = "t" if table.name == "cases" else "c"
        counted = ", ".join(f"count(*) - count(recorded(CAST(t.{name} AS VARCHAR))) AS {name}" for name in columns)
        wide = con.execute(
            f"SELECT level_of(recorded({owner}.site)) AS site, count(*) AS rows, {counted} FROM {source}{of_case} "
            f"WHERE quarter_of({owner}.first_contact_date) = $1 GROUP BY 1 ORDER BY 1",
            [quarter],
        ).df()
        long = wide.melt(["site", "rows"], columns, var_name="column", value_name="not_recorded")
        frames.append(long.assign(table=table.name))
    return pd.concat(frames, ignore_index=True)[["table", "column", "site", "rows", "not_recorded"]]


def not_followed_on(con: duckdb.DuckDBPyConnection) -> tuple[str, ...]:
    """A warning where the newest export no longer carries cases that were still being watched; else nothing."""
    ((cases, earliest),) = con.execute(_sql("not_followed_on")).fetchall()
    if not cases:
        return ()
    who = "1 case is" if cases == 1 else f"{cases} cases are"
    text = (
        f"{who} without a usable row in the newest export, though first seen less than 84 days before their own "
        f"cut-off ({earliest} or later); what happened to them after that is not known"
    )
    return (text,)


def _sql(name: str) -> str:
    return (SQL / "accounts" / f"{name}.sql").read_text(encoding="utf-8")
