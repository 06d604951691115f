"""A trend across groups that are steps of one order, such as fifths of deprivation: one comparison, not one a group.

Comes in: a measure and its counts by group, in their order. Goes out: which end is worse off, and both ends weighed by
the trend (Cochran and Armitage). Refuses: fewer than five known at an end; to let a trend stand that the unknown could
turn.
"""

from __future__ import annotations

import math
from collections.abc import Mapping

from pipeline.contracts.measure_files import NOTED, Measure
from pipeline.judgement.comparing import ALONE, FEWEST, HEARD_FROM, Weighed, follow_up_differs
from pipeline.judgement.sides import Side
from pipeline.judgement.verdict import CANNOT, TOO_FEW
from pipeline.statistics.comparison import Trend, trend


def weigh_across(measure: Measure, sides: Mapping[str, Side], about: str) -> tuple[str, Weighed]:
    """The level at the end that is worse off, and that end weighed against the other. sides: two or more, in order.

    Of a wait the counts are of those known by the reported day. No trend at all: p 1.
    """
    steps = [side.heard_from() if about == HEARD_FROM else side for side in sides.values()]
    observed = trend([side.met for side in steps], [side.of for side in steps])
    better_up = about == HEARD_FROM or measure.better == "higher" or measure.better == "shorter"
    last_is_worse = (observed.slope < 0) == better_up and observed.slope != 0
    names = list(sides)
    worse, other = (-1, 0) if last_is_worse else (0, -1)
    ends = steps[worse], steps[other]
    weighed = Weighed(measure, about, *ends, math.nan, across=True)
    if min(end.known for end in ends) < FEWEST:
        return names[worse], Weighed(measure, about, *ends, math.nan, TOO_FEW, CANNOT, across=True)
    rare = measure.kind == NOTED and not follow_up_differs(weighed)
    bounds = [
        trend([side.met + more * side.unknown for side in steps], [side.eligible for side in steps]) for more in (0, 1)
    ]
    holds = not any(side.unknown for side in steps) or all(_still(observed, at, rare=rare) for at in bounds)
    p = 1.0 if math.isnan(observed.p) else observed.p
    return names[worse], Weighed(measure, about, *ends, p, across=True, holds=holds)


def _still(observed: Trend, at_bound: Trend, *, rare: bool) -> bool:
    """Whether the trend goes the same way, and, but for a rare harm of which as many were heard from, is still one."""
    return observed.slope * at_bound.slope > 0 and (rare or at_bound.p <= ALONE)
