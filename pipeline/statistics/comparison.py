"""Comparison: the difference between two groups or two quarters, with its limits; the trend across groups in order.

Comes in: pairs of counts, or two estimates that bring their own limits. Goes out: a Difference, first minus second; a
Trend.
Refuses: to say what a difference means, or to call one significant; counts that contradict each other; limits that do
not hold their own estimate.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import chdtrc

from pipeline.statistics.counts import Floats, part_of, whole
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


@dataclass(frozen=True, eq=False)
class Trend:
    """chi_square on one degree of freedom, its p; slope: last end less first end as a fraction; NaN where undefined.

    slope counts everybody from one end of the order to the other, so the size of the groups does not change it.
    """

    chi_square: float
    p: float
    slope: float
    ridit: Floats


def trend(met: ArrayLike, known: ArrayLike) -> Trend:
    """Test whether a share rises or falls across groups in their order, such as fifths of deprivation; shape (k,).

    Sources: Cochran 1954 and Armitage 1955, equal steps, without continuity correction; slope index of inequality by
    weighted least squares on the ridit (the middle of a group's place among all cases, 0 to 1).

    Groups without cases keep their place and add nothing. Fewer than two with cases: all NaN. None of n, or n of n, in
    every group: chi_square and p NaN, slope 0.
    """
    x, n = whole("met", met), whole("known", known)
    part_of("met", x, "known", n)
    seen = n > 0
    step = np.flatnonzero(seen).astype(np.float64)
    x, n = x[seen], n[seen]
    cases = int(n.sum())
    ridit = (np.cumsum(n) - n / 2) / max(cases, 1)
    if n.size < 2:
        return Trend(math.nan, math.nan, math.nan, ridit)
    mean = x.sum() / cases
    variance = float(mean * (1 - mean) * ((n * step**2).sum() - (n * step).sum() ** 2 / cases))
    chi_square = float((step * (x - n * mean)).sum() ** 2 / variance) if variance else math.nan
    from_middle = ridit - (n * ridit).sum() / cases
    slope = float((from_middle * (x - n * mean)).sum() / (n * from_middle**2).sum())
    return Trend(chi_square, float(chdtrc(1, chi_square)), slope, ridit)
