"""Who came and what was done: every table of sql/activity, counted by quarter.

Comes in: the case tables, the last quarter to count. Goes out: the frame of activity.csv, one row for each quarter,
table and row with a count, the tables in the order of their numbers. Refuses, all files at once: what breaks the
contract of such a table, and a row without a day or a word. Here the kind of period is joined into SQL.
"""

from __future__ import annotations

from pathlib import Path

import duckdb
import pandas as pd

from pipeline.contracts.numbered_files import ACTIVITY, ACTIVITY_COLUMNS, activity_contract, activity_files
from pipeline.contracts.sql_contract import build_held
from pipeline.errors import Fault, Refused


def activity(con: duckdb.DuckDBPyConnection, last: str, folder: Path = ACTIVITY, by: str = "period") -> pd.DataFrame:
    """The counts of every table up to the period `last`, by period or by quarter. Raises Refused with all faults."""
    counts: list[tuple[str, str, str, int]] = []
    faults: list[Fault] = []
    contract = activity_contract()
    rules = (
        ("rows without an index_date", "count(*) - count(index_date)", "a day in every row"),
        ("rows without a word in counted_as", "count(*) - count(nullif(counted_as, ''))", "a word in every row"),
    )
    for file in activity_files(folder):
        broken = build_held(con, "counted_activity", file, contract, rules)
        if broken:
            faults += broken
            continue
        rows = con.execute(
            f"SELECT {by}_of(index_date) AS period, counted_as, count(*) FROM counted_activity "
            f"WHERE {by}_of(index_date) <= $1 GROUP BY ALL ORDER BY ALL",
            [last],
        ).fetchall()
        counts += [(period, file.own_name, counted_as, count) for period, counted_as, count in rows]
    if faults:
        raise Refused(faults)
    # A stable sort: within a quarter the tables keep the order of their numbers.
    return pd.DataFrame(sorted(counts, key=lambda row: row[0]), columns=list(ACTIVITY_COLUMNS))
