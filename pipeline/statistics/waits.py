"""Waits: how many had the event by each day, when some have not had it yet and some never will.

Comes in: counts per day (events, competing events, censored), never one row a case. Goes out: a Curve, and what is
read off it: the incidence on a day. Days and every count are whole numbers; incidences are fractions.
Refuses: repeated, unsorted, missing or negative days and broken counts (see counts.py); to read a curve where nobody
was left to say what happened; to give limits of no width. It knows of no horizon: the caller cuts off at one.

The rules throughout: at risk on day t are those whose time is t or more; events come before censoring on the same day;
day 0 counts. Those with the competing event are never censored, which would make the incidence too large.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from pipeline.statistics.counts import Days, Floats, Integers, a_count_a_day, distinct_days, normal_point

READING_DAYS = (0, 7, 14, 28, 56, 84)


# eq=False: comparing two curves with == would be an error inside numpy, not an answer.
@dataclass(frozen=True, eq=False)
class Curve:
    """One row a day, every array of the same length.

    incidence: the share who have had the event by the end of the day; se: its standard error; lower, upper: limits.
    NaN: undefined. From the day on when nobody is at risk any more the incidence is undefined too, unless the curve
    ended by events: everyone then at risk had one, so it keeps its last value.
    """

    day: Days
    at_risk: Integers
    events: Integers
    competing: Integers
    censored: Integers
    incidence: Floats
    se: Floats
    lower: Floats
    upper: Floats


def cumulative_incidence(
    day: ArrayLike, events: ArrayLike, competing: ArrayLike, censored: ArrayLike, confidence: float = 0.95
) -> Curve:
    """Cumulative incidence of the event where a competing event can end the wait.

    Source: Aalen and Johansen 1978, with the multinomial (Greenwood) variance written out in _variance; limits on
    log(-log(1 - F)). All arguments: shape (k,), days rising, k = 0 allowed.
    Nobody: an empty curve. No event yet (0 of n): incidence and se 0. All had the event (n of n): incidence exactly 1,
    se 0. Both are found from the counts, and have the exact binomial limits of none, or all, of those watched through
    the day or known to have ended before it; log(-log(1 - F)) has none there.
    """
    z = normal_point(confidence)
    days = distinct_days(day)
    d = a_count_a_day(days, "events", events)
    c = a_count_a_day(days, "competing", competing)
    w = a_count_a_day(days, "censored", censored)
    at_risk = np.cumsum((d + c + w)[::-1])[::-1]
    ended = np.logical_or.accumulate(_ended_by_events(at_risk, d, c))
    none_yet = np.cumsum(d) == 0
    all_had_it = ended & (np.cumsum(c) == 0)
    unread = (at_risk == 0) & ~ended

    n = np.maximum(at_risk, 1).astype(np.float64)  # 1 only where every count is 0 too: no step, no division by 0
    waiting_before = np.concatenate(([1.0], np.cumprod(1 - (d + c) / n)))[: days.size]
    incidence = np.cumsum(waiting_before * d / n)
    incidence[all_had_it] = 1.0
    # Rounding can leave -1e-18 where the sum is 0.
    se = np.sqrt(np.maximum(_variance(incidence, waiting_before, n, d, d + c), 0))
    se[none_yet | all_had_it] = 0.0
    incidence[unread] = np.nan
    se[unread] = np.nan
    lower, upper = _limits(incidence, se, z, ~(none_yet | all_had_it | unread))
    told = at_risk + np.cumsum(d + c) - (d + c)
    for end, here in ((0, none_yet & ~unread), (1, all_had_it)):
        lower[here], upper[here] = _exact_limits(told[here], end, confidence)
    return Curve(days, at_risk, d, c, w, incidence, se, lower, upper)


def incidence_at(curve: Curve, day: float, confidence: float = 0.95) -> tuple[float, float, float]:
    """Read off the incidence by the end of that day, and its limits.

    All NaN where nobody was at risk on the day and the curve had not ended by events before it: what happened then is
    not known. At 0 and 1 the limits are of those watched through that very day. An empty curve: all NaN.
    """
    if not day >= 0:
        raise ValueError(f"day: {day}; a day is a number from 0 up")
    past, ahead = curve.day <= day, curve.day >= day
    ended = bool(_ended_by_events(curve.at_risk, curve.events, curve.competing)[past].any())
    if not ended and not curve.at_risk[ahead].any():
        return math.nan, math.nan, math.nan
    value = float(curve.incidence[past][-1]) if past.any() else 0.0
    if value in (0, 1):
        before = curve.day < day
        told = int(curve.at_risk[ahead].max(initial=0) + (curve.events + curve.competing)[before].sum())
        lower, upper = _exact_limits(np.array([told]), int(value), confidence)
        return value, float(lower[0]), float(upper[0])
    return value, float(curve.lower[past][-1]), float(curve.upper[past][-1])


@dataclass(frozen=True)
class Reading:
    """A curve read by the end of a day: the incidence with its limits, NaN where not known, and how many are at risk.

    at_risk: those whose wait lasted to the day or beyond, those who had the event on the very day among them.
    """

    day: float
    incidence: float
    lower: float
    upper: float
    at_risk: int


def readings(curve: Curve, days: Sequence[float] = READING_DAYS, confidence: float = 0.95) -> list[Reading]:
    """Read a curve by the end of each of these days. An empty curve: NaN, and nobody at risk."""
    return [
        Reading(day, *incidence_at(curve, day, confidence), int(curve.at_risk[curve.day >= day].max(initial=0)))
        for day in days
    ]


def _ended_by_events(at_risk: Integers, events: Integers, competing: Integers) -> NDArray[np.bool_]:
    """Mark a day on which everyone still at risk had an event. By counts: survival may come out as 1e-17, not 0."""
    return np.asarray((at_risk > 0) & (events + competing == at_risk), dtype=np.bool_)


def _variance(incidence: Floats, waiting_before: Floats, n: Floats, d: Integers, every: Integers) -> Floats:
    """Variance of F(t), one sum over the days i up to t for each t; D = every event of a day, d = those of the cause.

    (F(t) - F(i))^2 D / (n (n - D)) + S(i-)^2 (n - d) d / n^3 - 2 (F(t) - F(i)) S(i-) d / n^2, the first term 0 where
    n = D: from there on F(t) = F(i). The table of t by i is small: a wait has at most as many days as its horizon.
    """
    left = n - every
    first = np.divide(every, n * left, out=np.zeros_like(n), where=left > 0)
    second = waiting_before**2 * (n - d) * d / n**3
    third = waiting_before * d / n**2
    since = incidence[:, np.newaxis] - incidence[np.newaxis, :]
    return np.asarray(np.tril(since**2 * first + second - 2 * since * third).sum(axis=1), dtype=np.float64)


def _exact_limits(told: Integers, end: int, confidence: float) -> tuple[Floats, Floats]:
    """Clopper and Pearson's limits of none (end 0) or all (end 1) of so many."""
    tail = ((1 - confidence) / 2) ** (1 / np.maximum(told, 1).astype(np.float64))
    ends = np.full(tail.shape, float(end))
    return (ends, 1 - tail) if end == 0 else (tail, ends)


def _limits(incidence: Floats, se: Floats, z: float, defined: NDArray[np.bool_]) -> tuple[Floats, Floats]:
    """Limits on log(-log(1 - F)), brought back to F; NaN where not defined."""
    lower, upper = np.full(incidence.shape, np.nan), np.full(incidence.shape, np.nan)
    f = incidence[defined]
    log_waiting = np.log1p(-f)
    spread = np.exp(z * se[defined] / ((1 - f) * -log_waiting))
    lower[defined], upper[defined] = -np.expm1(log_waiting / spread), -np.expm1(log_waiting * spread)
    return lower, upper
