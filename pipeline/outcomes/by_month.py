"""Everyone by month: the counts that charts over time are drawn from.

Comes in: the table `broken_down`, the first day of the records, the day the reported period ends, the newest cut-off.
Goes out: one row a measure and month, months without rows too. Refuses, by leaving them out: medians; months that began
within 84 days of the first record (then those who came late are missing: the records had not begun when they would have
been first seen); months whose rows have not all had their time by the cut-off.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date, timedelta

import duckdb
import pandas as pd

from pipeline.contracts.breakdown_file import Breakdown
from pipeline.contracts.measure_files import DAYS, FOLLOWED_DAYS, NOTED, Measure
from pipeline.contracts.query_files import answer
from pipeline.outcomes import counting

MONTH_COLUMNS = ("measure", "month", "eligible", "known", "met", "of")


def by_month(
    con: duckdb.DuckDBPyConnection, measures: Sequence[Measure], first: date | None, last: date, cut_off: date
) -> pd.DataFrame:
    """Measure, month, eligible, known, met, and `of`: what the share is of, everyone where it is only noted."""
    counts = counting.count(con, measures, (Breakdown("all", "Everyone", for_every_measure=True),), "month")
    of = {measure.name: measure for measure in measures if measure.kind != DAYS}
    every = pd.DataFrame(
        [
            (name, month)
            for name, measure in sorted(of.items())
            for month in closed_months(first, last, cut_off - timedelta(days=measure.horizon or 0))
        ],
        columns=["measure", "month"],
        dtype=object,
    )
    rows = every.merge(counts.rename(columns={"period": "month"}), on=["measure", "month"], how="left")
    numbers = rows[["eligible", "known", "met"]].fillna(0).astype("int64")
    noted = rows["measure"].map(lambda name: of[name].kind == NOTED).astype(bool)
    rows = rows[["measure", "month"]].join(numbers)
    return rows.assign(of=rows["known"].mask(noted, rows["eligible"]))[list(MONTH_COLUMNS)]


def closed_months(first: date | None, last: date, closed_by: date) -> Iterator[str]:
    """The months from 84 days after the first record on that end by both days, in order; none without records."""
    if first is None:
        return
    month = (first + timedelta(days=FOLLOWED_DAYS - 1)).replace(day=1)
    while True:
        month = (month + timedelta(days=31)).replace(day=1)
        if (month + timedelta(days=31)).replace(day=1) - timedelta(days=1) > min(last, closed_by):
            return
        yield f"{month:%Y-%m}"


def noted_in_order(con: duckdb.DuckDBPyConnection, measures: Sequence[Measure], last: date) -> pd.DataFrame:
    """Measure, index_date, met of every case of what is only noted, up to a day, in order of time."""
    names = [measure.name for measure in measures if measure.kind == NOTED]
    rows = answer(con, "accounts/noted_in_order", {"names": names, "last": last}).df()
    return rows.assign(index_date=rows["index_date"].map(pd.Timestamp.date))
