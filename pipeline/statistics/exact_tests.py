"""Exact tests of counts: two shares that should be one, and a share beside one that was set.

Comes in: counts. Goes out: p-values, as fractions; NaN where there is nobody to compare. Refuses: counts that
contradict each other; to say what is few enough to be called a finding.

All are mid-p values: what is exactly as likely as the counts seen weighs half, since a plain exact p-value of small
counts finds less than it promises to.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import bdtr, gammaln

from pipeline.statistics.counts import Floats, Integers

_AS_LIKELY = 1e-7  # what differs by less than this share is equally likely, as in R's fisher.test


# eq=False: comparing two of them with == would be an error inside numpy, not an answer.
@dataclass(frozen=True, eq=False)
class Tables:
    """Every way the met can lie in two groups of these sizes, one row a way, rising with met_1."""

    met_1: Integers
    met_2: Integers
    likely: Floats  # how likely, if both groups have one share
    mid_p: Floats


def tables(known_1: int, known_2: int, met: int) -> Tables:
    """Every table with these margins, its probability and its two-sided mid-p.

    Source: Fisher 1934, two-sided by probability as in R's fisher.test; mid-p: Lancaster 1961, half of what is as
    likely as the table itself. Either group empty, or none or all met: one table, of mid-p 0.5, which finds nothing.
    """
    _hold(met, known_1 + known_2)
    met_1 = np.arange(max(0, met - known_2), min(known_1, met) + 1)
    met_2 = met - met_1
    ways = -(gammaln(met_1 + 1) + gammaln(known_1 - met_1 + 1) + gammaln(met_2 + 1) + gammaln(known_2 - met_2 + 1))
    likely = np.exp(ways - ways.max())
    likely /= likely.sum()
    rising = np.sort(likely)
    up_to = np.concatenate(([0.0], np.cumsum(rising)))
    below = up_to[np.searchsorted(rising, likely * (1 - _AS_LIKELY), "left")]
    with_as_likely = up_to[np.searchsorted(rising, likely * (1 + _AS_LIKELY), "right")]
    return Tables(met_1, met_2, likely, (below + with_as_likely) / 2)


def fisher_mid_p(met_1: int, known_1: int, met_2: int, known_2: int) -> float:
    """The two-sided mid-p that two groups have one share. Either group empty: NaN. None or all met: 0.5."""
    _hold(met_1, known_1)
    _hold(met_2, known_2)
    if not (known_1 and known_2):
        return math.nan
    every = tables(known_1, known_2, met_1 + met_2)
    return float(every.mid_p[met_1 - every.met_1[0]])


def type_one(every: Tables, called: NDArray[np.bool_]) -> float:
    """How often a rule that calls these tables a finding does so where both groups have one share, given the margins.

    Source: arithmetic. No table called: 0.
    """
    return float(every.likely[called].sum())


def binomial_mid_p_below(met: int, known: int, share: float) -> float:
    """The mid-p of so few met or fewer, where the true share is the one given. Known 0: NaN.

    Source: Lancaster 1961. Of more or more: the mid-p of those not met, beside 1 - share.
    """
    _hold(met, known)
    if not 0 <= share <= 1:
        raise ValueError(f"share: {share}; from 0 to 1")
    if not known:
        return math.nan
    fewer = bdtr(met - 1, known, share) if met else 0.0
    return float(fewer + bdtr(met, known, share)) / 2


def _hold(met: int, known: int) -> None:
    """Refuse met above known, or below 0. Not by counts.py, which asks whole arrays: here thousands of pairs are."""
    if not 0 <= met <= known:
        raise ValueError(f"met above known, or below 0: {met} of {known}")
