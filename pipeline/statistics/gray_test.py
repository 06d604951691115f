"""Whether two groups wait alike, where a competing event can end the wait: Gray's test.

Comes in: counts by day of each group, as in waits.py. Goes out: the chi-square on one degree of freedom and its p.
Refuses: broken counts and days (see counts.py).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import chdtrc

from pipeline.statistics.counts import Floats, a_count_a_day, distinct_days


@dataclass(frozen=True)
class Gray:
    """The first group's events less those expected if both waited alike: below 0, it waits longer."""

    score: float
    chi_square: float
    p: float


def gray(day: ArrayLike, events: ArrayLike, competing: ArrayLike, censored: ArrayLike) -> Gray:
    """Gray's test that the cumulative incidence of the event is the same in both groups (weight rho = 0).

    Source: Gray 1988, Annals of Statistics 16:1141-1154; the variance as his program has it, with its correction for
    ties. day: shape (k,), rising; the counts: shape (2, k), a row a group.
    A group without anybody, or no event at all: score 0, chi-square and p NaN.
    """
    days = distinct_days(day)
    first, second, lost = (
        np.array([a_count_a_day(days, name, row) for row in np.asarray(counts)], dtype=np.float64).reshape(2, -1)
        for name, counts in (("events", events), ("competing", competing), ("censored", censored))
    )
    leaving = first + second + lost
    at_risk = np.cumsum(leaving[:, ::-1], axis=1)[:, ::-1]
    if not days.size or not at_risk[:, 0].all() or not first.any():
        return Gray(0.0, math.nan, math.nan)
    there = at_risk > 0
    n: Floats = np.where(there, at_risk, 1.0)
    # S, the share still waiting, and F, the share with the event: of each group, after the day and before it.
    waiting: Floats = np.asarray(np.cumprod(np.where(there, (n - first - second) / n, 1.0), axis=1), dtype=np.float64)
    waiting_before = _before(waiting, 1.0)
    had = np.cumsum(np.where(there, waiting_before * first / n, 0.0), axis=1)
    weight = np.where(there, n / np.where(there, waiting_before, 1.0), 0.0)
    both = weight.sum(axis=0)
    event, all_weight = first.sum(axis=0), np.maximum(both, 1e-300)
    pooled = np.cumsum(event / all_weight)  # F of both groups together, where they wait alike
    left_before = 1 - _before(pooled, 0.0)

    subgroup = np.where(there, weight * (1 - _before(had, 0.0)), 0.0)
    share = np.divide(subgroup[0], subgroup.sum(axis=0), out=np.zeros_like(both), where=subgroup.sum(axis=0) > 0)
    score = float((first[0] - event * share).sum())

    # The variance is a sum over days and groups of squared martingale steps; c carries what is still to come.
    a = np.zeros_like(weight)
    a[0] = weight[0] * (1 - weight[0] / all_weight)
    a[1] = -weight[0] * weight[1] / all_weight
    c = np.cumsum(a * event / np.where(both * left_before > 0, both * left_before, np.inf), axis=1)
    ratio = np.divide(1 - pooled, waiting, out=np.zeros_like(waiting), where=waiting > 0)
    total = 0.0
    for k in (0, 1):
        here = there[k] & (event > 0)
        ties = 1 - np.divide(event - 1, both * waiting_before[k] - 1, out=np.zeros_like(both), where=event > 1)
        own = np.where(here, ties * waiting_before[k] * event / (all_weight * n[k]), 0.0)
        step = np.where(waiting[k] > 0, 1 - ratio[k], 1.0)
        v3, v2 = (step**2 * own).sum(), ((a[k] - step * c[k]) * step * own).sum()
        v = ((a[k] - step * c[k]) ** 2 * own).sum()
        here = (waiting[k] > 0) & (second[k] > 0)
        ties = 1 - np.divide(second[k] - 1, n[k] - 1, out=np.zeros_like(both), where=second[k] > 1)
        other = np.where(here, ties * waiting_before[k] ** 2 * second[k] / n[k] ** 2, 0.0)
        v3 += (ratio[k] ** 2 * other).sum()
        v2 -= (ratio[k] ** 2 * c[k] * other).sum()
        v += (ratio[k] ** 2 * c[k] ** 2 * other).sum()
        last = c[k, -1]
        total += v + last**2 * v3 + 2 * last * v2
    if not total > 0:
        return Gray(score, math.nan, math.nan)
    chi_square = float(score**2 / total)
    return Gray(score, chi_square, float(chdtrc(1, chi_square)))


def _before(after: Floats, start: float) -> Floats:
    """The values as they were before each day."""
    return np.concatenate([np.full((*after.shape[:-1], 1), start), after[..., :-1]], axis=-1)
