"""Waits day by day, and who is still waiting: tables, and what the chart of a wait draws beside its curve.

Comes in: the days of a wait, the counts of those waiting at the cut-off. Goes out: frozen tables, and plain numbers.
Refuses: to read a curve where nobody was watched so long.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from datetime import date

import pandas as pd

from pipeline.contracts.measure_files import FOLLOWED_DAYS, Measure
from pipeline.outcomes.lookup import CurveDay
from pipeline.report.words.dates import day_label, short_label
from pipeline.report.words.labels import Wording
from pipeline.report.words.sentences import interval, percent
from pipeline.report.words.table import Group, Row, Table
from pipeline.statistics.waits import READING_DAYS, Curve, Reading, cumulative_incidence, readings

CURVE_DAYS = READING_DAYS
TICKS = range(0, FOLLOWED_DAYS + 1, 14)  # the days under the chart


def curve(measure: Measure, curves: Sequence[tuple[str, tuple[CurveDay, ...]]]) -> Table:
    """How far the wait had come by some days, how many ended another way by then, and how many were still watched."""
    (period, now), *before = curves
    read = readings(read_curve(now))
    at_risk = [f"{one.at_risk}" for one in read]
    others = [read_curve(now, ended=True), *(read_curve(steps) for _, steps in before)]
    columns = [by_days(read), by_days(readings(others[0])), at_risk, *(by_days(readings(one)) for one in others[1:])]
    rows = [Row(f"By day {day}", tuple(cells)) for day, *cells in zip(CURVE_DAYS, *columns, strict=True)]
    _, had, ended, _ = measure.in_a_sentence
    then = [f"{had.capitalize()}, {short_label(name)}" for name, _ in before]
    heads = ("Day", had.capitalize(), ended.capitalize(), "Waiting and watched as the day began", *then)
    caption = f"{measure.title}: share by day, {short_label(period)}"
    return Table(f"{measure.name}-curve", caption, heads, (Group("", tuple(rows)),))


def read_curve(steps: Sequence[CurveDay], ended: bool = False) -> Curve:
    """The curve of these days; `ended`: of the waits that ended another way."""
    counts = [[step.events, step.competing] for step in steps]
    event, other = (1, 0) if ended else (0, 1)
    return cumulative_incidence(
        [step.day for step in steps],
        [pair[event] for pair in counts],
        [pair[other] for pair in counts],
        [step.censored for step in steps],
    )


def by_days(read: Sequence[Reading]) -> tuple[str, ...]:
    """How far one wait had come by each of the days it was read on, with its interval."""
    return tuple(
        # Past the last day anybody was watched there is nothing to read, unless every wait had ended by then.
        "nobody watched so long"
        if math.isnan(one.incidence)
        else f"{percent(one.incidence)} ({interval(one.lower, one.upper)})"
        for one in read
    )


def ended_steps(steps: Sequence[CurveDay]) -> list[tuple[int, float]]:
    """Day and share of the waits that had ended another way by then; nothing where none had."""
    curve = read_curve(steps, ended=True)
    shares = zip(curve.day.tolist(), curve.incidence.tolist(), strict=True)
    return [(day, share) for day, share in shares if not math.isnan(share)] if curve.events.any() else []


def at_risk(steps: Sequence[CurveDay]) -> Mapping[int, int]:
    """How many were still waiting and watched on each day under the chart."""
    return {int(one.day): one.at_risk for one in readings(read_curve(steps), TICKS)}


def still_waiting(measure: Measure, waiting: pd.DataFrame, cut_off: date, wording: Wording) -> Table | None:
    """Who was still waiting at the cut-off, by site and how long; None where nobody was, or it is not counted."""
    here = {str(row.site): row for row in waiting[waiting["measure"] == measure.name].itertuples(index=False)}
    if not here:
        return None
    counts = {site: (row.under_14, row.from_14, row.from_28, row.from_56) for site, row in here.items()}
    longest = {site: int(row.longest) for site, row in here.items()}
    rows = [
        Row(wording.level("site", site), (*map(str, counts[site]), f"{sum(counts[site])}", f"{longest[site]} days"))
        for site in wording.in_order("site", here)
    ]
    by_age = [sum(column) for column in zip(*counts.values(), strict=True)]
    total = Row("All", (*map(str, by_age), f"{sum(by_age)}", f"{max(longest.values())} days"))
    heads = ("Site", "Under 14 days", "14 to 27", "28 to 55", "56 or more", "All", "Longest")
    who = measure.in_a_sentence[0].capitalize()
    caption = f"{who}, still waiting on {day_label(cut_off)}, whenever the wait began, by how long they had waited"
    return Table(f"{measure.name}-still", caption, heads, (Group("", tuple(rows)),), total)
