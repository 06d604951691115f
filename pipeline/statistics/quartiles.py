"""Quartiles of days, from the distinct days and how often each occurs.

Comes in: distinct days, rising, and a count for each. Goes out: the three quartiles in days.
Refuses: a day twice, days out of order, broken counts (see counts.py). It never spreads the counts out into one row a
case, so its cost follows the number of distinct days.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike

from pipeline.statistics.counts import a_count_a_day, distinct_days


def quartiles(day: ArrayLike, count: ArrayLike) -> tuple[float, float, float]:
    """Lower quartile, median and upper quartile, by linear interpolation between neighbours.

    Source: type 7 of Hyndman and Fan 1996, The American Statistician 50:361-365 (numpy.quantile's default).
    day: shape (k,), in days; count: shape (k,), how many have that day, k = 0 allowed.
    Nobody: all NaN. One case, or all on one day: that day, three times.
    """
    days = distinct_days(day)
    up_to = np.cumsum(a_count_a_day(days, "count", count))
    cases = int(up_to[-1]) if up_to.size else 0
    if not cases:
        return math.nan, math.nan, math.nan
    place = (cases - 1) * np.array([0.25, 0.5, 0.75])  # counted from 0 along the cases in order
    before = np.floor(place)
    after = np.ceil(place)
    # The day of the case at a place is the first one whose running count is above it.
    low = days[np.searchsorted(up_to, before, side="right")]
    high = days[np.searchsorted(up_to, after, side="right")]
    lower, median, upper = (low + (place - before) * (high - low)).tolist()
    return lower, median, upper
