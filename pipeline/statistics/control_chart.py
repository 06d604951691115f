"""Control chart of a share: is a point further from the centre than chance takes it.

Comes in: counts for each point (met, known), in order of time. Goes out: the centre, limits for each point, and which
points lie outside. Refuses: counts that contradict each other (counts.py); to know of months, words or causes.

Source: p-chart, Shewhart 1931; p'-chart, Laney 2002, Quality Engineering 14:531-537. The limits of a point with few
cases are exact: three standard errors signal far too often there on one side and never on the other.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import bdtr, bdtrc

from pipeline.statistics.counts import Floats, Integers, part_of, whole

TAIL = 0.00135  # beyond three standard errors of a normal distribution, one side
FEW = 5  # cases expected with it, or without it, under which the limits are exact
LARGE_POINTS, LARGE_CASES = 24, 100  # from so many points of so many cases each the spread between them is measured
_MEAN_RANGE = 1.128  # of two draws from a normal distribution, in standard deviations
_ROUNDING = 1e-12


@dataclass(frozen=True, eq=False)
class ControlChart:
    """One entry a point, every array of the same length, shares as fractions of 1; NaN where a point has no cases.

    lower, upper: where they are exact, half a case inside the first count that is outside, so that the line as drawn
    decides as the counts do; 0 or 1 where no count can be outside. sigma_z: how much wider than chance alone.
    """

    centre: float
    share: Floats
    lower: Floats
    upper: Floats
    exact: NDArray[np.bool_]
    below: NDArray[np.bool_]
    above: NDArray[np.bool_]
    sigma_z: float


def outside_counts(n: int, share: float, tail: float) -> tuple[int, int]:
    """Give the largest count of n too low for a true share, and the least too high, by the exact binomial.

    P(R <= low) <= tail and P(R >= high) <= tail. None can be too low: -1; none too high: n + 1; n = 0: -1 and 1.
    """
    r = np.arange(n + 1)
    low = int((_at_most(r, n, share) <= tail).sum()) - 1
    high = n + 1 - int((_at_least(r, n, share) <= tail).sum())
    return low, high


def chance_outside(n: int, share: float, low: int, high: int) -> float:
    """Give the chance that a count of n is at most `low` or at least `high`, at this true share. n = 0: 0."""
    below = float(_at_most(np.array([low]), n, share)[0]) if low >= 0 else 0.0
    return below + (float(_at_least(np.array([high]), n, share)[0]) if high <= n else 0.0)


def p_chart(met: ArrayLike, known: ArrayLike, centre: float | None = None, sigma_z: float = 1.0) -> ControlChart:
    """Chart of met / known with n varying from point to point, about their own mean or a centre given.

    met, known: shape (k,), k = 0 allowed. A point without cases has no limits and is not outside. A centre of exactly
    0 or 1, and none at all, gives no limits (NaN): a process that always or never had it says nothing of the next case.
    Three standard errors, times sigma_z for the p'-chart; exact where fewer than FEW are expected on either side.
    """
    x, n = np.broadcast_arrays(whole("met", met), whole("known", known))
    part_of("met", x, "known", n)
    p = _mean(x, n) if centre is None else centre
    seen = n > 0
    cases = np.where(seen, n, np.nan)
    share = x / cases
    if not 0 < p < 1:
        nothing, nowhere = np.full(n.shape, np.nan), np.zeros(n.shape, dtype=np.bool_)
        return ControlChart(p, share, nothing, nothing.copy(), nowhere, nowhere.copy(), nowhere.copy(), sigma_z)
    reach = 3 * sigma_z * np.sqrt(p * (1 - p) / cases)
    lower, upper = np.maximum(p - reach, 0), np.minimum(p + reach, 1)
    below, above = share < lower - _ROUNDING, share > upper + _ROUNDING
    exact = seen & ((n * p < FEW) | (n * (1 - p) < FEW))
    for at in np.flatnonzero(exact):
        low, high = outside_counts(int(n[at]), p, TAIL)
        lower[at], upper[at] = max((low + 0.5) / n[at], 0), min((high - 0.5) / n[at], 1)
        lower[at], upper[at] = (0.0 if low < 0 else lower[at]), (1.0 if high > n[at] else upper[at])
        below[at], above[at] = x[at] <= low, x[at] >= high
    return ControlChart(p, share, lower, upper, exact, below, above, sigma_z)


def spread(met: ArrayLike, known: ArrayLike, centre: float | None = None) -> float:
    """Laney's sigma_z: how far neighbouring points lie apart, in what chance alone gives (1 = chance alone).

    The mean moving range of the standardised points over 1.128; moving ranges are not screened. Points without cases
    are passed over. Fewer than two points, or a centre of 0 or 1: 1.
    """
    x, n = (counts[whole("known", known) > 0] for counts in (whole("met", met), whole("known", known)))
    p = _mean(x, n) if centre is None else centre
    if n.size < 2 or not 0 < p < 1:
        return 1.0
    z = (x / n - p) / np.sqrt(p * (1 - p) / n)
    return float(np.abs(np.diff(z)).mean() / _MEAN_RANGE)


def widened(met: ArrayLike, known: ArrayLike, centre: float | None = None) -> float:
    """Give sigma_z where the chart may use it: 24 points and more, each of 100 cases and more; else 1. Never under 1.

    With fewer points sigma_z strays far by chance (above 1.2 on 22% of charts of 12 points), and a value under 1 would
    draw limits closer than chance alone.
    """
    n = whole("known", known)
    n = n[n > 0]
    large = n.size >= LARGE_POINTS and bool((n >= LARGE_CASES).all())
    return max(spread(met, known, centre), 1.0) if large else 1.0


def _mean(x: Integers, n: Integers) -> float:
    return float(x.sum() / n.sum()) if n.sum() else math.nan


def _at_most(r: Integers, n: int, share: float) -> Floats:
    return np.asarray(bdtr(r.astype(np.float64), n, share), dtype=np.float64)


def _at_least(r: Integers, n: int, share: float) -> Floats:
    """Give P(R >= r). bdtrc is P(R > r) and knows no r under 0: there it is certain."""
    above = np.asarray(bdtrc(np.maximum(r - 1, 0).astype(np.float64), n, share), dtype=np.float64)
    return np.where(r <= 0, 1.0, above)
