"""Rows in, counts out: every measure by quarter, breakdown and level, in one pass.

Comes in: the table `counted`. Goes out: frames of counts, and of counts by day for the measures about days.
Refuses nothing: what a row may hold was enforced before.

Here sql/breakdowns.sql is joined whole with the grouping sets made from its columns.
"""

from __future__ import annotations

from collections.abc import Sequence

import duckdb
import pandas as pd

from pipeline.contracts.measure_files import BREAKDOWNS, Breakdown, Measure
from pipeline.contracts.sql_file import read_sql_file, sql_fault
from pipeline.errors import Refused


def break_down(con: duckdb.DuckDBPyConnection, breakdowns: Sequence[Breakdown]) -> None:
    """The table `broken_down`: each counted row with its quarter and its level of every breakdown."""
    file = read_sql_file(BREAKDOWNS, ())
    try:
        con.execute(f"CREATE OR REPLACE TEMP TABLE broken_down AS WITH levels AS ({file.sql}) "
                    "SELECT quarter_of(index_date) AS quarter, * FROM levels")  # fmt: skip
    except duckdb.Error as error:
        raise Refused(sql_fault(file, error)) from error


def count(con: duckdb.DuckDBPyConnection, measures: Sequence[Measure], breakdowns: Sequence[Breakdown]) -> pd.DataFrame:
    """One row for each measure, quarter, breakdown and level: eligible, known and met, by what `met` says."""
    answers = "count(*) AS eligible, count(met) AS known, count(*) FILTER (WHERE met) AS met"
    return _grouped(con, measures, breakdowns, answers, ())


def count_days(
    con: duckdb.DuckDBPyConnection, measures: Sequence[Measure], breakdowns: Sequence[Breakdown]
) -> pd.DataFrame:
    """The same for the measures about days, one row for each day: everyone, events, competing, censored.

    A row without a day was watched on none: it is in no row here, but it is eligible.
    """
    answers = (
        "count(*) AS everyone, count(*) FILTER (WHERE event = 1) AS events, "
        "count(*) FILTER (WHERE event = 2) AS competing, count(*) FILTER (WHERE event = 0) AS censored"
    )
    return _grouped(con, measures, breakdowns, answers, ("days",))


def _grouped(
    con: duckdb.DuckDBPyConnection,
    measures: Sequence[Measure],
    breakdowns: Sequence[Breakdown],
    answers: str,
    also: tuple[str, ...],
) -> pd.DataFrame:
    keys = ", ".join(["measure", "quarter", *also])
    sets = ", ".join(f'({keys}, "{breakdown.name}")' for breakdown in breakdowns)
    which = " ".join(f"WHEN grouping(\"{each.name}\") = 0 THEN '{each.name}'" for each in breakdowns)
    level = " ".join(f'WHEN grouping("{each.name}") = 0 THEN "{each.name}"' for each in breakdowns)
    asked = [f"{measure.name}/{name}" for measure in measures for name in measure.also_by]
    only_where_asked = [breakdown.name for breakdown in breakdowns if not breakdown.for_every_measure]
    return con.execute(
        f"SELECT {keys}, CASE {which} END AS breakdown, CASE {level} END AS level, {answers} FROM broken_down "
        + ("WHERE days IS NOT NULL " if also else "")
        + f"GROUP BY GROUPING SETS ({sets}) "
        "HAVING NOT list_contains($only, breakdown) OR list_contains($asked, measure || '/' || breakdown) "
        f"ORDER BY measure, quarter, breakdown, level {', days' if also else ''}",
        {"only": only_where_asked, "asked": asked},
    ).df()
