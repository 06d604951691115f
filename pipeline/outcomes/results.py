"""Counts in, the two result files out: results.csv and waits.csv as frames, with every interval worked out.

Comes in: counts by quarter, breakdown and level. Goes out: frames with the columns of the design, NaN where undefined.
A quarter without cases is normal and has its row.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import duckdb
import numpy as np
import numpy.typing as npt
import pandas as pd

from pipeline.contracts.breakdown_file import Breakdown
from pipeline.contracts.measure_files import (
    DAYS,
    GROUP,
    NOTED,
    PROPORTION,
    REPORTED_DAY,
    RESULT_COLUMNS,
    SHARES,
    TIME_TO_EVENT,
    WAIT_COLUMNS,
    Measure,
)
from pipeline.outcomes import counting, periods
from pipeline.statistics.proportions import bounds, wilson
from pipeline.statistics.quartiles import quartiles
from pipeline.statistics.waits import cumulative_incidence, incidence_at
from pipeline.store.whole_files import write_whole

Key = tuple[str, ...]  # what GROUP names: measure, period, breakdown, level
DAY_ANSWERS = ("everyone", "events", "competing", "censored")
METHODS = {
    PROPORTION: "wilson_95",
    NOTED: "noted_of_all_wilson_95",
    DAYS: "median_quartiles_type_7",
    TIME_TO_EVENT: f"cumulative_incidence_day_{REPORTED_DAY}_loglog_95",
}


def work_out(
    counts: pd.DataFrame,
    day_counts: pd.DataFrame,
    measures: Sequence[Measure],
    wanted: Sequence[str],
    newest_cut_off: date,
    year_starts: int,
) -> tuple[pd.DataFrame, pd.DataFrame]:
    """The frames of results.csv and waits.csv for the wanted periods, in their order."""
    of = {measure.name: measure for measure in measures}
    rows = _with_every_period(counts, of, wanted)
    days = _by_group(day_counts)
    rows["kind"] = [of[name].kind for name in rows["measure"]]
    rows["method"] = rows["kind"].map(METHODS)
    ends = {period: periods.last_day(period, year_starts) for period in wanted}
    rows["complete"] = [
        "yes" if ends[period] + timedelta(days=of[name].horizon or 0) <= newest_cut_off else "no"
        for name, period in zip(rows["measure"], rows["period"], strict=True)
    ]
    for column in ("value", "lower", "upper", "bound_low", "bound_high"):
        rows[column] = np.nan
    rows["unknown"] = rows["eligible"] - rows["known"]
    _shares(rows)
    _medians(rows, days)
    waits = _waits(rows, days)
    whole = ["eligible", "known", "met", "unknown"]
    rows[whole] = rows[whole].astype("Int64")
    return rows[list(RESULT_COLUMNS)].reset_index(drop=True), waits


def _by_group(day_counts: pd.DataFrame) -> dict[Key, tuple[npt.NDArray[np.int64], ...]]:
    """The days of each group, and how many there are of each of DAY_ANSWERS: plain arrays, for there are thousands."""
    columns = [day_counts[name].to_numpy() for name in ("days", *DAY_ANSWERS)]
    places = day_counts.groupby(list(GROUP), sort=False).indices
    return {key: tuple(column[at] for column in columns) for key, at in places.items()}


def within_year(
    con: duckdb.DuckDBPyConnection, measures: Sequence[Measure], quarters: Sequence[str], newest_cut_off: date
) -> tuple[pd.DataFrame, pd.DataFrame] | None:
    """The same frames of everyone in the quarters of a year; None where there are none."""
    if not quarters:
        return None
    everyone = (Breakdown("all", "Everyone", for_every_measure=True),)
    counts, days = (count(con, measures, everyone, "quarter") for count in (counting.count, counting.count_days))
    return work_out(counts, days[days["period"].isin(quarters)], measures, quarters, newest_cut_off, 1)


def write_csv(frame: pd.DataFrame, path: Path) -> Path:
    """A tidy CSV: UTF-8, LF, numbers unrounded, undefined empty. Whole, or the old one stays."""
    return write_whole(path, frame.to_csv(index=False, lineterminator="\n").encode("utf-8"))


def _with_every_period(counts: pd.DataFrame, of: Mapping[str, Measure], wanted: Sequence[str]) -> pd.DataFrame:
    """The counts of the wanted quarters; the level all of every measure and quarter is there even where it is empty."""
    every = pd.DataFrame(
        [(name, period, "all", "all") for name in of for period in wanted], columns=list(GROUP), dtype=object
    )
    rows = counts[counts["period"].isin(wanted)].merge(every, on=list(GROUP), how="outer")
    rows[["eligible", "known", "met"]] = rows[["eligible", "known", "met"]].fillna(0).astype("float64")
    # By code point, whatever the locale.
    return rows.sort_values(list(GROUP), kind="stable", ignore_index=True)


def _shares(rows: pd.DataFrame) -> None:
    """Met of those known; of what is only noted, met of all: a yes is known by itself, and a no only by asking."""
    here = rows["kind"].isin(SHARES).to_numpy()
    part = rows.loc[here]
    met, known, eligible = (part[name].to_numpy().astype(np.int64) for name in ("met", "known", "eligible"))
    of = np.where(part["kind"] == NOTED, eligible, known)
    with np.errstate(invalid="ignore"):
        rows.loc[here, "value"] = met / np.where(of, of, np.nan)
    rows.loc[here, "lower"], rows.loc[here, "upper"] = wilson(met, of)
    rows.loc[here, "bound_low"], rows.loc[here, "bound_high"] = bounds(met, known, eligible)


def _medians(rows: pd.DataFrame, days: Mapping[Key, tuple[npt.NDArray[np.int64], ...]]) -> None:
    here = (rows["kind"] == DAYS).to_numpy()
    rows.loc[here, "known"] = rows.loc[here, "eligible"]
    rows.loc[here, ["met", "unknown"]] = np.nan
    middles = []
    for key in _keys(rows, here):
        group = days.get(key)
        middles.append((np.nan, np.nan, np.nan) if group is None else quartiles(*group[:2]))
    rows.loc[here, ["lower", "value", "upper"]] = np.array(middles).reshape(-1, 3)


def _waits(rows: pd.DataFrame, days: Mapping[Key, tuple[npt.NDArray[np.int64], ...]]) -> pd.DataFrame:
    """Fill the rows of the waits, and give the whole curve of each."""
    here = (rows["kind"] == TIME_TO_EVENT).to_numpy()
    curves: dict[str, list[Any]] = {name: [] for name in WAIT_COLUMNS}
    figures = []
    for key in _keys(rows, here):
        group = days.get(key)
        if group is None:
            figures.append((np.nan, np.nan, np.nan))
            continue
        day, _, events, competing, censored = group
        curve = cumulative_incidence(day, events, competing, censored)
        figures.append(incidence_at(curve, REPORTED_DAY))
        for name, part in zip(GROUP, key, strict=True):
            curves[name] += [part] * len(curve.day)
        for name in WAIT_COLUMNS[len(GROUP) :]:
            curves[name] += getattr(curve, name).tolist()
    # One assignment for all: pandas takes a millisecond for each, and there are hundreds of rows.
    rows.loc[here, ["value", "lower", "upper"]] = np.array(figures).reshape(-1, 3)
    waits = pd.DataFrame(curves)
    whole = ["day", "at_risk", "events", "competing", "censored"]
    waits[whole] = waits[whole].astype("int64")
    return waits


def _keys(rows: pd.DataFrame, here: npt.NDArray[np.bool_]) -> Iterator[tuple[str, ...]]:
    """Measure, quarter, breakdown and level of the rows that are here."""
    keys: Iterator[tuple[str, ...]] = rows.loc[here, list(GROUP)].itertuples(index=False, name=None)
    return keys
