"""What happened to everyone: what the stages worked out of the store, up to one quarter."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import duckdb
import pandas as pd

from pipeline.contracts.apart_files import APART_COLUMNS
from pipeline.contracts.breakdown_file import Breakdown
from pipeline.contracts.measure_files import Measure
from pipeline.outcomes import accounts, lookup
from pipeline.outcomes.activity import activity
from pipeline.outcomes.lookup import Lookup


@dataclass(frozen=True)
class Outcome:
    """The results up to one quarter."""

    period: str
    cut_off: date  # the newest one
    measures: tuple[Measure, ...]  # with the service's own numbers in their texts
    breakdowns: tuple[Breakdown, ...]
    results: pd.DataFrame
    waits: pd.DataFrame
    lookup: Lookup  # both frames, read
    apart: pd.DataFrame  # measure, title, quarter, count
    flow: pd.DataFrame  # route, six_weeks, cases: of the quarter
    within: Lookup | None  # everyone by the quarters of a year; None where the report is of a quarter
    months: pd.DataFrame  # everyone by month: what charts over time are drawn from
    noted: pd.DataFrame  # what is only noted, case by case in order of time
    activity: pd.DataFrame  # quarter, section, row, count: who came and what was done


def put_together(
    con: duckdb.DuckDBPyConnection,
    period: str,
    cut_off: date,
    measures: Sequence[Measure],
    split_by: tuple[Breakdown, ...],
    by_level: pd.DataFrame,
    waits: pd.DataFrame,
    apart: Sequence[tuple[object, ...]],
    within: tuple[pd.DataFrame, pd.DataFrame] | None,
    months: pd.DataFrame,
    noted: pd.DataFrame,
) -> Outcome:
    """The results with what stands beside them: the groups apart, the flow and the activity of the quarter."""
    return Outcome(
        period=period,
        cut_off=cut_off,
        measures=tuple(measures),
        breakdowns=split_by,
        results=by_level,
        waits=waits,
        lookup=lookup.read(by_level, waits),
        apart=pd.DataFrame(apart, columns=list(APART_COLUMNS)),
        flow=accounts.flow(con, period),
        within=None if within is None else lookup.read(*within),
        months=months,
        noted=noted,
        activity=activity(con, period),
    )
