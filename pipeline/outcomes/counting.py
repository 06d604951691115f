"""Rows in, counts out: every measure by quarter, breakdown and level, in one pass.

Comes in: the table `counted`. Goes out: frames of counts, and of counts by day for the measures about days. Refuses,
naming file and line: a sql/breakdowns.sql that DuckDB cannot run or that reads what is no case table, a breakdown whose
levels are not text in every row, one that loses or repeats rows.

Here sql/breakdowns.sql is joined whole with the grouping sets made from its columns.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import duckdb
import pandas as pd

from pipeline.contracts.breakdown_file import BREAKDOWNS, Breakdown
from pipeline.contracts.count_relations import DAYS_COUNTED
from pipeline.contracts.measure_files import Measure
from pipeline.contracts.numbered_files import case_tables
from pipeline.contracts.sql_contract import foreign_tables
from pipeline.contracts.sql_file import SqlFile, read_sql_file, sql_fault
from pipeline.errors import Fault, Refused

_ANSWERS = "count(*) AS eligible, count(met) AS known, count(*) FILTER (WHERE met) AS met"


def break_down(con: duckdb.DuckDBPyConnection, breakdowns: Sequence[Breakdown], path: Path = BREAKDOWNS) -> None:
    """The table `broken_down`: each counted row with its periods and its level of every breakdown. Raises Refused."""
    file = read_sql_file(path)
    faults = foreign_tables(file, case_tables() | {"counted"})
    if faults:
        raise Refused(faults)
    try:
        con.execute(f"CREATE OR REPLACE TEMP TABLE broken_down AS WITH levels AS ({file.sql}) "
                    "SELECT period_of(index_date) AS period, quarter_of(index_date) AS quarter, "
                    "month_of(index_date) AS month, * "
                    "FROM levels")  # fmt: skip
    except duckdb.Error as error:
        raise Refused(sql_fault(file, error)) from error
    faults = _level_faults(con, file, breakdowns)
    if faults:
        raise Refused(faults)


def _level_faults(con: duckdb.DuckDBPyConnection, file: SqlFile, breakdowns: Sequence[Breakdown]) -> list[Fault]:
    types = {name: kind for name, kind, *_ in con.execute("DESCRIBE broken_down").fetchall()}
    empty = ", ".join(f'count(*) - count("{breakdown.name}")' for breakdown in breakdowns)
    (rows, counted, *numbers) = con.execute(
        f"SELECT count(*), (SELECT count(*) FROM counted), {empty} FROM broken_down"
    ).fetchall()[0]
    faults = []
    if rows != counted:
        words = f"{rows} rows made of {counted}"
        faults.append(Fault(file.at_columns, words, "each counted row once", "look at the joins of the file"))
    for breakdown, number in zip(breakdowns, numbers, strict=True):
        where, name = file.at(breakdown.line), breakdown.name
        if types[name] != "VARCHAR":
            mend = "say it in words, such as CASE WHEN ... THEN 'yes' ELSE 'no' END"
            faults.append(Fault(where, f"{name} is {types[name]}", "VARCHAR: levels are text", mend))
        elif number:
            mend = f"write level_of(...) AS {name}, which says not_recorded"
            faults.append(Fault(where, f"{name} is NULL in {number} rows", "a level in every row", mend))
    return faults


def count(
    con: duckdb.DuckDBPyConnection,
    measures: Sequence[Measure],
    breakdowns: Sequence[Breakdown],
    by: str = "period",
) -> pd.DataFrame:
    """One row for split measure, period, breakdown and level: eligible, known and met, by what `met` says.

    `by` is period, quarter for the quarters of a year, or month.
    """
    return _grouped(con, measures, breakdowns, _ANSWERS, (), by)


def count_days(
    con: duckdb.DuckDBPyConnection,
    measures: Sequence[Measure],
    breakdowns: Sequence[Breakdown],
    by: str = "period",
) -> pd.DataFrame:
    """The same for the measures about days, one row for split day: everyone, events, competing, censored.

    A row without a day was watched on none: it is in no row here, but it is eligible.
    """
    answers = (
        "count(*) AS everyone, count(*) FILTER (WHERE event = 1) AS events, "
        "count(*) FILTER (WHERE event = 2) AS competing, count(*) FILTER (WHERE event = 0) AS censored"
    )
    return _grouped(con, measures, breakdowns, answers, ("days",), by)


def count_parts(
    con: duckdb.DuckDBPyConnection, measures: Sequence[Measure], breakdowns: Sequence[Breakdown]
) -> pd.DataFrame:
    """What a release may count, by quarter, breakdown and level: beside the answers, a wait's events in so many days.

    by_N: the event by day N; ended: the competing event by the last of these days.
    """
    within = ", ".join(f"count(*) FILTER (WHERE event = 1 AND days <= {day}) AS by_{day}" for day in DAYS_COUNTED)
    answers = f"{_ANSWERS}, {within}, count(*) FILTER (WHERE event = 2 AND days <= {DAYS_COUNTED[-1]}) AS ended"
    return _grouped(con, measures, breakdowns, answers, (), "quarter")


def _grouped(
    con: duckdb.DuckDBPyConnection,
    measures: Sequence[Measure],
    breakdowns: Sequence[Breakdown],
    answers: str,
    also: tuple[str, ...],
    by: str,
) -> pd.DataFrame:
    keys = ", ".join(["measure", by, *also])
    named = ", ".join(["measure", f"{by} AS period", *also])
    sets = ", ".join(f'({keys}, "{breakdown.name}")' for breakdown in breakdowns)
    which = " ".join(f"WHEN grouping(\"{split.name}\") = 0 THEN '{split.name}'" for split in breakdowns)
    level = " ".join(f'WHEN grouping("{split.name}") = 0 THEN "{split.name}"' for split in breakdowns)
    asked = [f"{measure.name}/{name}" for measure in measures for name in measure.also_by]
    only_where_asked = [breakdown.name for breakdown in breakdowns if not breakdown.for_every_measure]
    return con.execute(
        f"SELECT {named}, CASE {which} END AS breakdown, CASE {level} END AS level, {answers} FROM broken_down "
        + ("WHERE days IS NOT NULL " if also else "")
        + f"GROUP BY GROUPING SETS ({sets}) "
        "HAVING NOT list_contains($only, breakdown) OR list_contains($asked, measure || '/' || breakdown) "
        f"ORDER BY measure, {by}, breakdown, level {', days' if also else ''}",
        {"only": only_where_asked, "asked": asked},
    ).df()
