"""Run rules: whether the points stay too long on one side of the centre, or cross it too seldom, for chance.

Comes in: points in order of time with a centre. Goes out: what was found, the limits it was held against, and how
often a chart of this very kind would say so of nothing. Refuses: to judge fewer than twelve useful points, or points
that are not about equally likely on either side; the rules then cry wolf (20% of charts at 8 cases a month and .05).

Source: Anhoej and Olesen 2014, PLoS ONE 9:e113825 (longest run above round(log2 n) + 3; crossings by the binomial).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import bdtr, bdtrc

from pipeline.statistics.counts import Floats, whole

LEAST_POINTS = 12  # useful ones: those on the centre line are dropped
SIDES = (0.4, 0.6)  # the share of the useful points each side must be expected to hold
_ON = 1e-9  # nearer to the centre than this is on it


@dataclass(frozen=True)
class Runs:
    """What a chart shows, and what it is held against. Of no useful points every number is 0."""

    useful: int
    above: int
    longest: int
    longest_allowed: int
    crossings: int
    crossings_needed: int

    @property
    def signal(self) -> bool:
        """Whether either rule signals."""
        return self.longest > self.longest_allowed or self.crossings < self.crossings_needed


@dataclass(frozen=True)
class FalseAlarm:
    """The chance that a random series signals: by the longest run, by crossings, by either."""

    run: float
    crossings: float
    either: float


def longest_allowed(useful: int) -> int:
    """round(log2 n) + 3. n = 0: 0."""
    return round(math.log2(useful)) + 3 if useful else 0


def crossings_needed(useful: int) -> int:
    """Give the 5% point of the binomial of n - 1 chances of a half; fewer crossings signal. n = 0 or 1: 0."""
    if useful < 2:
        return 0
    return int((bdtr(np.arange(useful, dtype=np.float64), useful - 1, 0.5) < 0.05).sum())


def runs(values: ArrayLike, centre: float) -> Runs:
    """Longest run and crossings of values, shape (k,), about the centre; NaN and points on the centre are dropped."""
    points: Floats = np.asarray(values, dtype=np.float64)
    points = points[np.isfinite(points) & (np.abs(points - centre) > _ON)]
    above = points > centre
    n = int(above.size)
    turns = np.flatnonzero(above[1:] != above[:-1])
    lengths = np.diff(np.concatenate(([-1], turns, [n - 1]))) if n else np.array([0])
    return Runs(n, int(above.sum()), int(lengths.max()), longest_allowed(n), int(turns.size), crossings_needed(n))


def sides(known: ArrayLike, centre: float) -> tuple[Floats, Floats]:
    """Give the chance that each point lies below, and above, the centre, if that is the true share.

    known: cases of each point, shape (k,). What is left to 1 is the chance to lie on it. No cases: 0 and 0.
    """
    n = whole("known", known)
    middle = n * centre
    on_or_under = np.floor(middle + _ON)
    under = np.ceil(middle - _ON) - 1
    below = np.where(under >= 0, bdtr(np.maximum(under, 0), n, centre), 0.0)
    above = np.where(n > on_or_under, bdtrc(np.minimum(on_or_under, n), n, centre), 0.0)
    return np.where(n > 0, below, 0.0), np.where(n > 0, above, 0.0)


def rules_hold(known: ArrayLike, centre: float) -> bool:
    """Whether each side of the centre is expected to hold .4 to .6 of the useful points, and twelve can be useful."""
    below, above = sides(known, centre)
    useful = float((below + above).sum())
    if int((whole("known", known) > 0).sum()) < LEAST_POINTS or not useful:
        return False
    return SIDES[0] <= float(above.sum()) / useful <= SIDES[1]


def false_alarm(useful: int, above: float | Floats = 0.5, of_them_above: int | None = None) -> FalseAlarm:
    """Give the exact chance that a series in which nothing changes signals by the two rules.

    above: the chance of each point to lie above, one for all or shape (useful,): about a centre fixed before. With
    of_them_above, so many are above and every order is equally likely: about a centre taken from the series itself.
    By dynamic programming over side, length of the run, crossings and how many are above. No points: all 0.
    """
    if not useful:
        return FalseAlarm(0, 0, 0)
    longest, needed = longest_allowed(useful), crossings_needed(useful)
    counted = of_them_above is not None
    chance = np.full(useful, 0.5) if counted else np.broadcast_to(np.asarray(above, dtype=np.float64), (useful,))
    # [how many above, side of the last point, length of its run, crossings]; lengths beyond the limit and crossings
    # from the limit on are kept in the last place: what signals, or does not, stays so.
    state = np.zeros((useful + 1 if counted else 1, 2, longest + 2, needed + 1))
    for side, p in ((0, 1 - chance[0]), (1, chance[0])):
        state[side if counted else 0, side, 1, 0] = p
    for p_above in chance[1:]:
        ahead = np.zeros_like(state)
        for side, p in ((0, 1 - p_above), (1, p_above)):
            stays, turns = np.zeros_like(state[:, 0]), np.zeros_like(state[:, 0])
            stays[:, 1:] = state[:, side, :-1]
            stays[:, -1] += state[:, side, -1]
            for crossed, to in zip(range(needed + 1), [*range(1, needed + 1), needed], strict=True):
                turns[:, 1, to] += state[:, 1 - side, :-1, crossed].sum(axis=1)
                turns[:, -1, to] += state[:, 1 - side, -1, crossed]
            there = p * (stays + turns)
            ahead[:, side] = np.roll(there, 1, axis=0) if counted and side else there
        state = ahead
    ends = state[of_them_above] if of_them_above is not None else state[0]
    ends = ends.sum(axis=0) / ends.sum()
    run, few = float(ends[-1].sum()), float(ends[:, :needed].sum())
    return FalseAlarm(run, few, run + few - float(ends[-1, :needed].sum()))
