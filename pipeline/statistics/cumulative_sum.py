"""Cumulative sum: whether a share has changed for good though no month stands out; and rare harm, case by case.

Comes in: counts in order of time, a share that is accepted, how large a change is to be found, how long the sum shall
run by itself. Goes out: a Scheme of whole steps with its limit, run lengths, the sum. Refuses: a share of 0 or 1; to
take the accepted share from few cases of one's own (5 of 100 leaves anything from 64 to 19,471 procedures in control).

Source: Page 1954; whole steps, Reynolds and Stoumbos 1999, J Quality Technology 31:87-108; run lengths by the exact
Markov chain on 0 .. limit - 1 (Brook and Evans 1972), which whole steps need no rounding for.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import bdtr

from pipeline.statistics.counts import Floats, Integers, part_of, whole

_FINEST = 20  # a month's sum goes in steps no finer than the twentieth of a case: the chain stays short
_ROUNDING = 1e-9  # 0.95 and 19/20 are the same share
_LARGEST_LIMIT = 4096  # states of the chain; beyond it a run length is not worked out


@dataclass(frozen=True)
class Scheme:
    """A sum that never goes under 0, and signals at `limit` and above.

    Up by `up` for each case with the event, down by `down` for every case; so one with the event adds up - down.
    """

    up: int
    down: int
    limit: int


@dataclass(frozen=True, eq=False)
class Steps:
    """What the sum does at one look, a case or a month: steps, and the chance of each, both shape (k,)."""

    step: Integers
    chance: Floats


def shifted(share: float, odds_ratio: float) -> float:
    """Give the share whose odds are so many times those of `share`."""
    odds = odds_ratio * share / (1 - share)
    return odds / (1 + odds)


def cases_an_event_pays_for(accepted: float, to_find: float) -> float:
    """Give how many cases without the event one event outweighs, itself counted (the likelihood ratio's own measure).

    ln(R) / ln((1 - p0) / (1 - p1)), R the odds ratio. Both strictly between 0 and 1, and to_find the larger.
    """
    if not 0 < accepted < to_find < 1:
        raise ValueError(f"accepted {accepted}, to find {to_find}; 0 < accepted < to find < 1")
    odds_ratio = to_find * (1 - accepted) / ((1 - to_find) * accepted)
    return math.log(odds_ratio) / math.log((1 - accepted) / (1 - to_find))


def case_steps(share: float, up: int) -> Steps:
    """Give the steps of a sum that looks after every case: up - 1 with the event, -1 without."""
    return Steps(np.array([up - 1, -1]), np.array([share, 1 - share]))


def month_steps(share: float, known: Sequence[int], up: int, down: int) -> Steps:
    """Give the steps of a sum that looks after every month, of which each of these numbers of cases is as likely."""
    steps: Counter[int] = Counter()
    for n, months in Counter(known).items():
        r = np.arange(n + 1)
        chance = np.diff(np.concatenate(([0.0], bdtr(r.astype(np.float64), n, share))))
        for step, p in zip((up * r - down * n).tolist(), chance.tolist(), strict=True):
            steps[step] += p * months / len(known)
    return Steps(np.array(list(steps)), np.array(list(steps.values())))


def mean_run(steps: Steps, limit: int) -> float:
    """Give how many looks the sum takes on average from 0 until it signals. It can never signal: infinity."""
    if not steps.step[steps.chance > 0].max(initial=0) > 0:
        return math.inf
    chain = _chain(steps, limit)
    return float(np.linalg.solve(np.eye(limit) - chain, np.ones(limit))[0])


def least_limit(steps: Steps, looks: float) -> int:
    """Give the least limit with which the sum runs at least so many looks on average where nothing changed."""
    over = 1
    while mean_run(steps, over) < looks:
        over *= 2
        if over > _LARGEST_LIMIT:
            raise ValueError(f"looks: {looks}; no limit up to {_LARGEST_LIMIT} makes the sum run so long")
    under = over // 2  # runs too short, or is 0
    while over - under > 1:
        middle = (over + under) // 2
        under, over = (under, middle) if mean_run(steps, middle) >= looks else (middle, over)
    return over


def rare_scheme(accepted: float, odds_ratio: float, looks: float) -> Scheme:
    """Give the sum for a rare event, case by case: `looks` is how many cases it shall run where nothing changed."""
    up = round(cases_an_event_pays_for(accepted, shifted(accepted, odds_ratio)))
    return Scheme(up, 1, least_limit(case_steps(accepted, up), looks))


def month_scheme(accepted: float, to_find: float, known: Sequence[int], months: float) -> Scheme:
    """Give the sum for a common event, month by month; known: cases of the months looked at.

    It counts what the change makes more of: for a share that falls, give the share without the event.
    """
    parts = Fraction(1 / cases_an_event_pays_for(accepted, to_find)).limit_denominator(_FINEST)
    if not accepted + _ROUNDING < parts < 1:
        raise ValueError(f"accepted {accepted}, to find {to_find}: too near to one another, to 0 or to 1")
    up, down = parts.denominator, parts.numerator
    return Scheme(up, down, least_limit(month_steps(accepted, known, up, down), months))


def path(scheme: Scheme, met: ArrayLike, known: ArrayLike) -> Integers:
    """Give the sum after each look; shape (k,), k = 0 allowed. It is not set back after a signal.

    A look is a case (known 1) or a month. A month without cases leaves the sum as it was.
    """
    x, n = np.broadcast_arrays(whole("met", met), whole("known", known))
    part_of("met", x, "known", n)
    sums, now = np.zeros(x.shape, dtype=np.int64), 0
    for at, step in enumerate((scheme.up * x - scheme.down * n).tolist()):
        sums[at] = now = max(now + step, 0)
    return sums


def began(sums: Integers, at: int) -> int:
    """Give the place of the look after which the sum last left 0 before the look `at`: where the change may begin."""
    zeros = np.flatnonzero(sums[:at] == 0)
    return int(zeros[-1]) + 1 if zeros.size else 0


def passed(sums: Integers, limit: int) -> int | None:
    """Give the place of the look with which the sum reached its limit since it last stood at 0; None: it has not."""
    zeros = np.flatnonzero(sums == 0)
    first = int(zeros[-1]) if zeros.size else 0
    reached = np.flatnonzero(sums[first:] >= limit)
    return first + int(reached[0]) if reached.size else None


def plain_rule(events: NDArray[np.bool_] | Sequence[bool], of_them: int = 3, within: int = 9) -> list[int]:
    """Give the place of each case with the event that is the of_them-th within so many cases. No cases: none."""
    places = np.flatnonzero(np.asarray(events, dtype=np.bool_))
    last = places[of_them - 1 :]
    return last[last - places[: last.size] < within].tolist() if last.size else []


def _chain(steps: Steps, limit: int) -> Floats:
    """Give the chances to go from each of 0 .. limit - 1 to each, what signals left out."""
    within = np.abs(steps.step) < limit
    by_step = np.bincount(steps.step[within] + limit - 1, steps.chance[within], 2 * limit - 1)
    far_down = float(steps.chance[steps.step <= -limit].sum())
    start = np.arange(limit)
    chain: Floats = by_step[start - start[:, np.newaxis] + limit - 1]
    # From `start` every step down to 0 or under it ends at 0.
    chain[:, 0] = far_down + np.cumsum(by_step)[limit - 1 - start]
    return chain
