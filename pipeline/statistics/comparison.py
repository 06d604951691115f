"""Comparison: the difference between two groups or two quarters, with its limits.

Comes in: two pairs of counts, or two estimates that bring their own limits. Goes out: a Difference, first minus second.
Refuses: to say what a difference means, or to call one significant; counts that contradict each other; limits that do
not hold their own estimate.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from pipeline.statistics.proportions import wilson

ROUNDING = 1e-12  # how far rounding alone may put an estimate outside its own limits


@dataclass(frozen=True)
class Difference:
    """First minus second, as a fraction (0.06 is 6 percentage points); NaN where undefined."""

    difference: float
    lower: float
    upper: float


UNDEFINED = Difference(math.nan, math.nan, math.nan)


def newcombe(met_1: int, known_1: int, met_2: int, known_2: int, confidence: float = 0.95) -> Difference:
    """met_1 / known_1 - met_2 / known_2 with Newcombe's hybrid score limits, without continuity correction.

    Source: method 10 of Newcombe 1998, Statistics in Medicine 17:873-890.
    Either known 0: all NaN. 0 of n and n of n need no special case: limits stay within -1 and 1 and have width.
    """
    (low_1, low_2), (high_1, high_2) = (
        ends.tolist() for ends in wilson((met_1, met_2), (known_1, known_2), confidence)
    )
    if not (known_1 and known_2):
        return UNDEFINED
    exact = recovered(met_1 / known_1, low_1, high_1, met_2 / known_2, low_2, high_2)
    return Difference(exact.difference, max(exact.lower, -1.0), min(exact.upper, 1.0))


def recovered(
    value_1: float, lower_1: float, upper_1: float, value_2: float, lower_2: float, upper_2: float
) -> Difference:
    """value_1 - value_2 for two independent estimates, its limits recovered from theirs (all of one confidence level).

    Source: method of variance estimates recovery, Zou and Donner 2008; given Wilson limits it is newcombe.
    An estimate that is NaN: all NaN. A limit that is NaN (incidence 0 or 1): the difference stands, its limits are NaN.
    """
    for value, lower, upper in ((value_1, lower_1, upper_1), (value_2, lower_2, upper_2)):
        # The squares below would hide limits handed over in the wrong order.
        if lower > value + ROUNDING or upper < value - ROUNDING:
            raise ValueError(f"limits {lower} to {upper} do not hold their own estimate {value}")
    difference = value_1 - value_2
    below = math.hypot(value_1 - lower_1, upper_2 - value_2)  # NaN in, NaN out
    above = math.hypot(upper_1 - value_1, value_2 - lower_2)
    return Difference(difference, difference - below, difference + above)
