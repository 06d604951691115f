"""Whether two groups wait alike, where one of them is small: Gray's score beside what dealing out the cases gives.

Comes in: counts by day of each group, as in gray_test.py. Goes out: the first group's score and its p. Refuses: broken
counts and days (see counts.py).

The chi-square of Gray's test holds for large groups. With 6 to 30 in one and 80 in the other it called what waits
shorter apart four times as often as it says, and hardly ever what waits longer, at the small p that many looks ask for.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import gammainc, gammaincc, ndtr

from pipeline.statistics.counts import Floats, a_count_a_day, distinct_days

_HARDLY_SKEWED = 1e-5


def dealt(day: ArrayLike, events: ArrayLike, competing: ArrayLike, censored: ArrayLike) -> tuple[float, float]:
    """The first group's score, below 0 where it waits longer, and its two-sided p (twice the smaller tail).

    Each case has a score: 1 if it had the event, less the hazard it had stood in by then; one that ended another way
    stands in it on, weighted by the share not yet censored (Fine and Gray 1999, JASA 94:496-509). If both groups wait
    alike, the first is a random draw of all cases: mean, variance and skewness of its sum are those of sampling without
    replacement, and the tails are Pearson's type III. Where nothing competes the sum is the log-rank score.
    day: shape (k,), rising; the counts: shape (2, k), a row a group. A group without anybody, or no event: 0 and NaN.
    """
    days = distinct_days(day)
    counts = [
        np.array([a_count_a_day(days, name, row) for row in np.asarray(rows)], dtype=np.float64).reshape(2, -1)
        for name, rows in (("events", events), ("competing", competing), ("censored", censored))
    ]
    size = [sum(float(rows[group].sum()) for rows in counts) for group in (0, 1)]
    if not all(size) or not counts[0].any():
        return 0.0, math.nan
    event, other, lost = (rows.sum(axis=0) for rows in counts)
    at_risk = np.cumsum((event + other + lost)[::-1])[::-1]
    could_be_lost = at_risk - event - other
    followed = np.cumprod(1 - np.divide(lost, could_be_lost, out=np.zeros_like(lost), where=could_be_lost > 0))
    before = np.concatenate(([1.0], followed[:-1]))  # the share not censored before each day
    share = np.divide(other, before, out=np.zeros_like(other), where=before > 0)
    ended = np.concatenate(([0.0], np.cumsum(share)[:-1])) * before
    step = event / np.maximum(at_risk + ended, 1.0)
    stood = np.cumsum(step)
    ahead = (step * before)[::-1].cumsum()[::-1]
    later = np.concatenate((ahead[1:], [0.0]))
    on: Floats = np.divide(later, before, out=np.zeros_like(later), where=before > 0)
    scores = (1 - stood, -stood - on, -stood)
    total = sum(size)
    score = sum(float((rows[0] * values).sum()) for rows, values in zip(counts, scores, strict=True))
    second, third = (
        sum(float((number * values**power).sum()) for number, values in zip((event, other, lost), scores, strict=True))
        for power in (2, 3)
    )
    variance = size[0] * size[1] * second / (total * max(total - 1, 1))
    if not variance > 0:
        return score, math.nan
    skewed = size[0] * size[1] * (size[1] - size[0]) * third / (total * (total - 1) * max(total - 2, 1))
    return score, min(1.0, 2 * min(tails(score / math.sqrt(variance), skewed / variance**1.5)))


def tails(at: float, skewness: float) -> tuple[float, float]:
    """What lies below and above a point of Pearson's type III distribution of mean 0, variance 1 and that skewness.

    Source: the gamma distribution of shape 4 / skewness^2, moved and stretched; with hardly any, the normal.
    """
    if abs(skewness) < _HARDLY_SKEWED:
        return float(ndtr(at)), float(ndtr(-at))
    shape = 4 / skewness**2
    # From its end on; past the end there is nothing.
    reached = max(shape + 2 * at / skewness, 0.0)
    ahead, behind = float(gammaincc(shape, reached)), float(gammainc(shape, reached))
    return (behind, ahead) if skewness > 0 else (ahead, behind)
