"""What happened to everyone: from the store to the frames of results, each step called once.

Comes in: a working connection with the store attached, the settings, the measures. Goes out: an Outcome.
Refuses: a quarter of which nothing is known; what the steps refuse, it lets through.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import duckdb
import pandas as pd

from pipeline.contracts.apart_files import APART_COLUMNS, aparts
from pipeline.contracts.breakdown_file import Breakdown, breakdowns
from pipeline.contracts.measure_files import Measure, worded
from pipeline.errors import Fault, Refused
from pipeline.outcomes import accounts, cases, counting, lookup, measure_rows, quarters, results
from pipeline.outcomes.activity import activity
from pipeline.outcomes.lookup import Lookup
from pipeline.progress import Progress
from pipeline.settings import Settings


@dataclass(frozen=True)
class Outcome:
    """The results up to one quarter."""

    quarter: str
    cut_off: date  # the newest one
    measures: tuple[Measure, ...]  # with the service's own numbers in their texts
    breakdowns: tuple[Breakdown, ...]
    results: pd.DataFrame
    waits: pd.DataFrame
    lookup: Lookup  # both frames, read
    apart: pd.DataFrame  # measure, title, quarter, count
    flow: pd.DataFrame  # route, six_weeks, cases: of the quarter
    activity: pd.DataFrame  # quarter, section, row, count: who came and what was done


def work_out(
    con: duckdb.DuckDBPyConnection,
    measures: Sequence[Measure],
    settings: Settings,
    cut_off: date,
    quarter: str | None,
    watch: Progress,
) -> Outcome:
    """Every measure, for every quarter from the first to the one asked for (else the latest that had ended)."""
    split_by = breakdowns()
    groups_apart = aparts(measures)
    watch.stage("one row a case")
    cases.build(con)
    first = cases.first_quarter(con)
    chosen = _chosen(quarter, first, cut_off)
    measure_rows.count_rows(con, measures, settings, watch)
    apart = measure_rows.count_apart(con, groups_apart)
    watch.stage("counting by quarter, breakdown and level")
    counting.break_down(con, split_by)
    counts = counting.count(con, measures, split_by)
    day_counts = counting.count_days(con, measures, split_by)
    by_level, waits = results.work_out(counts, day_counts, measures, first or chosen, chosen, cut_off)
    return Outcome(
        quarter=chosen,
        cut_off=cut_off,
        measures=tuple(worded(measure, settings) for measure in measures),
        breakdowns=split_by,
        results=by_level,
        waits=waits,
        lookup=lookup.read(by_level, waits),
        apart=pd.DataFrame(apart, columns=list(APART_COLUMNS)),
        flow=accounts.flow(con, chosen),
        activity=activity(con, chosen),
    )


def _chosen(quarter: str | None, first: str | None, cut_off: date) -> str:
    """The quarter asked for, else the latest that had ended by the cut-off."""
    if quarter is None:
        return quarters.latest_ended(cut_off)
    chosen = quarters.parse(quarter)
    latest = quarters.of(cut_off)
    if chosen > latest or (first is not None and chosen < first):
        allowed = f"a quarter from {first or latest} to {latest}"
        mend = f"ask for one of those, or load an export drawn later; the newest cut-off is {cut_off}"
        raise Refused(Fault("QUARTER", f"{chosen}: nothing is known of it", allowed, mend))
    return chosen
