"""Case mix: what would be expected of a unit's cases, and whether what is observed differs by more than chance.

Comes in: counts by stratum, or a risk for each case. Goes out: observed, expected, their ratio with limits; a common
odds ratio of two groups within strata. Refuses: to compare two units' ratios with one another (each is held against
its own mix); a ratio where nothing is expected (NaN).

Sources: Mantel and Haenszel 1959, limits of Robins, Breslow and Greenland 1986; Byar's limits in Breslow and Day 1987.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import chdtrc

from pipeline.statistics.counts import Floats, confidence_level, normal_point, part_of, whole

CELL_WEIGHT = 20.0  # cases of the whole that a cell's own rate is shrunk towards
LEAST_CASES, LEAST_EVENTS = 700, 50  # for a cell for each kind of case; below, two strata
RARE = 0.1  # up to this risk of every case a Poisson count will do


@dataclass(frozen=True)
class Expected:
    """Observed beside expected, in cases. low, high: P(R <= observed) and P(R >= observed); mid_p: two-sided.

    least, most: the counts that 95% of such groups would have.
    """

    observed: int
    expected: float
    variance: float
    ratio: float
    low: float
    high: float
    mid_p: float
    least: int
    most: int


@dataclass(frozen=True)
class Ratio:
    """Observed over expected with its limits; NaN where nothing is expected."""

    expected: float
    ratio: float
    lower: float
    upper: float


@dataclass(frozen=True)
class OddsRatio:
    """A common odds ratio with its limits, and the test that it is 1; NaN where undefined."""

    odds_ratio: float
    lower: float
    upper: float
    chi_square: float
    p: float


def cell_rates(met: ArrayLike, known: ArrayLike) -> Floats:
    """Give each cell's rate shrunk to that of all cells together: (n r + 20 R) / (n + 20). No cases at all: NaN."""
    x, n = whole("met", met), whole("known", known)
    part_of("met", x, "known", n)
    of_all = x.sum() / n.sum() if n.sum() else math.nan
    return np.asarray((x + CELL_WEIGHT * of_all) / (n + CELL_WEIGHT), dtype=np.float64)


def observed_expected(observed: int, risk: ArrayLike, confidence: float = 0.95) -> Expected:
    """Hold a count against the risk of each case, shape (n,), by the exact Poisson-binomial distribution.

    Variance sum p (1 - p), not that of a Poisson count, which is far too wide where the outcome is common.
    n = 0: expected 0, ratio NaN, every p 1. None or all of n need no special case.
    """
    risks: Floats = np.asarray(risk, dtype=np.float64)
    if not ((risks >= 0) & (risks <= 1)).all() or not 0 <= observed <= risks.size:
        raise ValueError(f"observed {observed} of {risks.size} cases; each risk is from 0 to 1")
    chance = np.ones(1)
    for p in risks.tolist():
        chance = np.convolve(chance, [1 - p, p])
    up_to, here = np.cumsum(chance), chance[observed]
    low, high = min(float(up_to[observed]), 1.0), min(float(chance[observed:].sum()), 1.0)
    tail = (1 - confidence_level(confidence)) / 2
    expected = float(risks.sum())
    return Expected(
        observed,
        expected,
        float((risks * (1 - risks)).sum()),
        observed / expected if expected else math.nan,
        low,
        high,
        min(2 * (min(low, high) - float(here) / 2), 1.0),
        int(np.searchsorted(up_to, tail)),
        int(np.searchsorted(up_to, 1 - tail)),
    )


def byar(count: int, confidence: float = 0.95) -> tuple[float, float]:
    """Limits of a Poisson count (divide by the expected for a ratio), for rare events only; none: lower 0.

    At 99.8% and one event the formula falls below 0: clamped.
    """
    z = normal_point(confidence)
    lower = count * (1 - 1 / (9 * count) - z / (3 * math.sqrt(count))) ** 3 if count else 0.0
    more = count + 1
    return max(lower, 0.0), more * (1 - 1 / (9 * more) + z / (3 * math.sqrt(more))) ** 3


def ratio_by_cells(
    observed: int, unit_known: ArrayLike, others_met: ArrayLike, others_known: ArrayLike, confidence: float = 0.95
) -> Ratio:
    """Give observed over what the others' cells, shrunk, would expect of this unit; shape (k,), k = 0 allowed.

    Limits on the log scale: Byar's where every rate is RARE or less, else 1/O by as much as a Poisson-binomial count
    varies less than a Poisson count; with either the error of the expected (of a cell's cases and CELL_WEIGHT more).
    Nothing observed: lower 0, upper Byar's times the error of the expected. No cases, no others: all NaN.
    """
    u = whole("unit_known", unit_known)
    n = whole("others_known", others_known) + CELL_WEIGHT
    rate = cell_rates(others_met, others_known)
    expected = float((u * rate).sum())
    if not expected > 0:
        return Ratio(expected, math.nan, math.nan, math.nan)
    binomial = u * rate * (1 - rate)
    z, carried = normal_point(confidence), float((u * binomial / n).sum()) / expected**2
    ratio, (low, high) = observed / expected, byar(observed, confidence)
    if not observed:
        return Ratio(expected, 0.0, 0.0, high / expected * math.exp(z * math.sqrt(carried)))
    down, up = math.log(observed / low) if low else math.inf, math.log(high / observed)
    if rate[u > 0].max() > RARE:
        down = up = z * math.sqrt(float(binomial.sum()) / expected / observed)
    lower, upper = (math.hypot(own, z * math.sqrt(carried)) for own in (down, up))
    return Ratio(expected, ratio, ratio * math.exp(-lower), ratio * math.exp(upper))


def mantel_haenszel(
    met_1: ArrayLike, known_1: ArrayLike, met_2: ArrayLike, known_2: ArrayLike, confidence: float = 0.95
) -> OddsRatio:
    """Give the odds of the first group over those of the second within strata, each shape (k,), uncorrected.

    A stratum in which one group has nobody adds nothing. Nothing to compare, or none (all) of both: all NaN.
    """
    a, n1, c, n2 = (whole("counts", counts).astype(np.float64) for counts in (met_1, known_1, met_2, known_2))
    b, d, n = n1 - a, n2 - c, n1 + n2
    both = (n1 > 0) & (n2 > 0)
    a, b, c, d, n, n1, n2 = (counts[both] for counts in (a, b, c, d, n, n1, n2))
    r, s = a * d / n, b * c / n
    met, variance = a + c, float((n1 * n2 * (a + c) * (b + d) / (n**2 * np.maximum(n - 1, 1))).sum())
    if not variance:
        return OddsRatio(*[math.nan] * 5)
    chi_square = float((a - n1 * met / n).sum() ** 2 / variance)
    p = float(chdtrc(1, chi_square))
    sum_r, sum_s = float(r.sum()), float(s.sum())
    if not sum_r or not sum_s:  # the ratio is 0 or without end, and has no limits of this kind
        return OddsRatio(sum_r / sum_s if sum_s else math.inf, math.nan, math.nan, chi_square, p)
    plus, minus = (a + d) / n, (b + c) / n
    log_variance = float(
        (plus * r).sum() / (2 * sum_r**2)
        + (plus * s + minus * r).sum() / (2 * sum_r * sum_s)
        + (minus * s).sum() / (2 * sum_s**2)
    )
    reach = math.exp(normal_point(confidence) * math.sqrt(log_variance))
    ratio = sum_r / sum_s
    return OddsRatio(ratio, ratio / reach, ratio * reach, chi_square, p)
