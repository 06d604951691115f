"""Units beside one another: how far one lies from the others, and what one with few cases is worth.

Comes in: counts a unit (met, known). Goes out: how seldom chance takes a unit so far from all the others; the spread
between units as a weight in cases, and beside each raw count the share shrunk by it. Refuses to order units, to compare
two of them, and to measure a spread from fewer than eight.

Sources: exact binomial tails about the others, so that an outlier does not draw the centre towards itself. Shrinkage:
beta-binomial by maximum likelihood; posterior of a beta prior with mean m and weight M cases, (x + m M) / (n + M).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import bdtr, bdtrc, betainccinv, betaincinv, betaln, expit, logit

from pipeline.statistics.counts import Floats, Integers, confidence_level, part_of, whole

TAIL = 0.001  # of each side: by chance alone one unit in five hundred
LEAST_UNITS = 8  # under which the likelihood knows next to nothing of the spread
STATED_WEIGHT = 40.0  # cases; then taken, and said to be taken
LARGEST_WEIGHT = 1000.0  # cases; a likelihood that still rises here has found no spread beyond chance


def tail_p(met: Integers, known: int, others_met: Integers | int, others_known: int) -> Floats:
    """Give twice the smaller exact tail of each count about the share of the others, taken as known; at most 1.

    met, others_met: shape (k,), k = 0 allowed; at or below twice TAIL is where the funnel has it outside. Known, of
    others too, at least 1. Others of whom none or all have it: half a case from the end, as in the funnel.
    """
    end = 0.5 / others_known
    share = np.clip(np.asarray(others_met) / others_known, end, 1 - end)
    r = np.asarray(met, dtype=np.float64)
    at_least = np.where(r > 0, bdtrc(np.maximum(r - 1, 0), known, share), 1.0)
    return np.asarray(np.minimum(2 * np.minimum(bdtr(r, known, share), at_least), 1.0))


@dataclass(frozen=True)
class Prior:
    """What units are like: their mean as a fraction, and how many cases of a unit's own that is worth.

    measured: from the units themselves, else the stated weight. spread: whether they differ beyond chance; None where
    it was not measured.
    """

    mean: float
    weight: float
    measured: bool
    spread: bool | None


def log_likelihood(met: ArrayLike, known: ArrayLike, mean: float, weight: float) -> float:
    """Beta-binomial log-likelihood, with the binomial coefficient; mean strictly between 0 and 1, weight in cases."""
    x, n = _counts(met, known)
    a, b = mean * weight, (1 - mean) * weight
    ways = -np.log1p(n) - betaln(n - x + 1, x + 1)
    return float((ways + betaln(x + a, n - x + b) - betaln(a, b)).sum())


def prior(met: ArrayLike, known: ArrayLike) -> Prior:
    """Give the mean and weight of units, shape (k,), k = 0 allowed: measured from eight with cases on, else stated.

    No cases: mean NaN. None of n, or n of n, everywhere: that mean and the stated weight.
    """
    x, n = _counts(met, known)
    x, n = x[n > 0], n[n > 0]
    mean = float(x.sum() / n.sum()) if n.size else math.nan
    if n.size < LEAST_UNITS or not 0 < mean < 1:
        return Prior(mean, STATED_WEIGHT, measured=False, spread=None)

    from scipy.optimize import minimize  # here, for it takes longer to import than all else of scipy

    def worse(place: Floats) -> float:
        m, weight = float(expit(place[0])), min(math.exp(place[1]), LARGEST_WEIGHT)
        return -log_likelihood(x, n, m, weight)

    start = np.array([logit(mean), math.log(STATED_WEIGHT)])
    best = minimize(worse, start, method="Nelder-Mead", options={"xatol": 1e-8, "fatol": 1e-12, "maxiter": 2000})
    weight = math.exp(best.x[1])
    if weight >= LARGEST_WEIGHT * 0.99:
        return Prior(mean, LARGEST_WEIGHT, measured=True, spread=False)
    return Prior(float(expit(best.x[0])), weight, measured=True, spread=True)


def shrunken(met: ArrayLike, known: ArrayLike, units: Prior, confidence: float = 0.95) -> tuple[Floats, Floats, Floats]:
    """Give the shrunken share of each unit and its limits, as fractions; shape (k,).

    A unit without cases is worth the mean of the units. Mean 0, 1 or NaN: the mean, and limits NaN.
    """
    tail = (1 - confidence_level(confidence)) / 2
    x, n = _counts(met, known)
    a, b = x + units.mean * units.weight, n - x + (1 - units.mean) * units.weight
    ends = [betaincinv(a, b, tail), betainccinv(a, b, tail)] if 0 < units.mean < 1 else [np.full(n.shape, np.nan)] * 2
    return a / (a + b), np.asarray(ends[0]), np.asarray(ends[1])


def _counts(met: ArrayLike, known: ArrayLike) -> tuple[Floats, Floats]:
    x, n = whole("met", met), whole("known", known)
    part_of("met", x, "known", n)
    return x.astype(np.float64), n.astype(np.float64)
