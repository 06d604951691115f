"""One measure by group, four quarters together: each group beside all others, and the trend where groups are in order.

Comes in: the edition's content and the wording. Goes out: a frozen table. Refuses: to drop a small group (it is said to
be small), or to rank any.
"""

from __future__ import annotations

import math
from collections.abc import Mapping

from pipeline.contracts.breakdown_file import Breakdown
from pipeline.contracts.measure_files import NOTED, TIME_TO_EVENT, Measure
from pipeline.judgement.comparing import FIGURE, weigh
from pipeline.judgement.families import by_group, others
from pipeline.judgement.judged import EQUITY, Comparison
from pipeline.judgement.periods_fit import NOT_RECORDED
from pipeline.judgement.sides import Side, span, within_reported_days
from pipeline.report.content.edition import EditionContent
from pipeline.report.words import verdicts
from pipeline.report.words.labels import Wording
from pipeline.report.words.sentences import SMALL, percent, points
from pipeline.report.words.table import Group, Row, Table
from pipeline.statistics.comparison import Difference, trend


def by_groups(measure: Measure, content: EditionContent, wording: Wording) -> Table | None:
    """Every breakdown that asks about equity; None where nobody has a row."""
    judged = {
        (one.breakdown, one.level): one
        for one in content.judgement.of(EQUITY)
        if (one.measure.name, one.about) == (measure.name, FIGURE)
    }
    groups = [
        _group(measure, breakdown, content, wording, judged) for breakdown in content.breakdowns if breakdown.for_equity
    ]
    there = tuple(group for group in groups if group.rows)
    missing = "Not heard from" if measure.kind == NOTED else "Not known"
    heads = ("", "Share", missing, "Less all others, points (95% interval)", "Verdict")
    caption = f"{measure.title}: each group beside all others, {verdicts.span(span(content.period))}"
    return Table(f"{measure.name}-groups", caption, heads, there) if there else None


def _group(
    measure: Measure,
    breakdown: Breakdown,
    content: EditionContent,
    wording: Wording,
    judged: Mapping[tuple[str, str], Comparison],
) -> Group:
    sides = by_group(content.basis, measure, breakdown.name)
    recorded = {name: one for name, one in sides.items() if name != NOT_RECORDED}
    here = [one for key, one in judged.items() if key[0] == breakdown.name]
    across = next((one for one in here if one.weighed.across), None)
    rows = []
    for level in wording.in_order(breakdown.name, sides):
        one = sides[level]
        head = wording.level(breakdown.name, level) + (" (small)" if 0 < one.known < SMALL else "")
        apart = said = ""
        if level in recorded:
            apart = in_points(weigh(measure, one, others(recorded, level)).difference())
            own = judged.get((breakdown.name, level))  # of a pair the other mirrors it, and has no verdict of its own
            said = "" if own is None or across else verdicts.in_short(own.verdict)
        rows.append(Row(head, (_share(measure, one), f"{one.unknown}", apart, said)))
    if across is not None:
        steps = list(recorded.values())
        slope = trend([one.met for one in steps], [one.of for one in steps]).slope
        step = "" if math.isnan(slope) else _signed(slope)
        rows.append(Row("trend, from first to last", ("", "", step, verdicts.in_short(across.verdict))))
    return Group(breakdown.title, tuple(rows))


def _share(measure: Measure, one: Side) -> str:
    if measure.kind == TIME_TO_EVENT:
        share = within_reported_days(one)[0]
        return f"{'too early' if math.isnan(share) else percent(share)} of {one.eligible}"
    return f"{one.met} of {one.of}" + (f" ({percent(one.met / one.of, one.of)})" if one.of else "")


def in_points(apart: Difference) -> str:
    """A difference with its interval, in percentage points, for one cell; empty where there is none."""
    if math.isnan(apart.difference):
        return ""
    by = _signed(apart.difference)
    return by if math.isnan(apart.lower) else f"{by} ({_signed(apart.lower)} to {_signed(apart.upper)})"


def _signed(share: float) -> str:
    return points(share).replace("-", "\u2212")
