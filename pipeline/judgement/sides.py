"""The two sides of a comparison: counts of some periods of a group, added up from the results.

Comes in: the results as they are looked up. Goes out: a Side. Refuses: to add up shares or medians.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

import numpy as np

from pipeline.contracts.measure_files import REPORTED_DAY
from pipeline.outcomes.lookup import ALL, CurveDay, Lookup, Result
from pipeline.outcomes.periods import QUARTER, kind, shifted
from pipeline.statistics.counts import Integers
from pipeline.statistics.gray_test import gray
from pipeline.statistics.waits import Curve, cumulative_incidence, incidence_at
from pipeline.statistics.waits_dealt import dealt

POOLED = 4  # quarters, where a quarter alone holds too little
LARGE = 200  # waits on each side, from which on the chi-square of Gray's test holds

Days = Mapping[int, tuple[int, int, int]]  # day of a wait -> events, competing, censored


@dataclass(frozen=True)
class Side:
    """One side: counts as in results.csv, and of a wait its days."""

    eligible: int = 0
    known: int = 0
    met: int = 0
    of: int = 0  # met is so many of these: of those known or, of what is only noted, of all
    days: Days = field(default_factory=dict)

    @property
    def unknown(self) -> int:
        """Those whose answer is not known."""
        return self.eligible - self.known

    def heard_from(self) -> Side:
        """Of what is only noted: of how many a no would be known too."""
        return Side(self.eligible, self.eligible, self.known, self.eligible)

    def less(self, part: Side) -> Side:
        """All others: this side without a part of it."""
        days = {
            day: (counts[0] - out[0], counts[1] - out[1], counts[2] - out[2])
            for day, counts in self.days.items()
            for out in (part.days.get(day, (0, 0, 0)),)
        }
        return Side(
            self.eligible - part.eligible, self.known - part.known, self.met - part.met, self.of - part.of, days
        )


def side(result: Result | None, curve: Iterable[CurveDay] = ()) -> Side:
    """One result as a side; nobody where there is none."""
    if result is None:
        return Side()
    days = {step.day: (step.events, step.competing, step.censored) for step in curve}
    return Side(result.eligible, result.known, result.met or 0, result.of, days)


def together(sides: Iterable[Side]) -> Side:
    """Several sides as one."""
    eligible = known = met = of = 0
    days: dict[int, tuple[int, int, int]] = {}
    for one in sides:
        eligible, known, met, of = eligible + one.eligible, known + one.known, met + one.met, of + one.of
        for day, more in one.days.items():
            there = days.get(day, (0, 0, 0))
            days[day] = (there[0] + more[0], there[1] + more[1], there[2] + more[2])
    return Side(eligible, known, met, of, days)


def pooled(lookup: Lookup, measure: str, periods: Iterable[str], breakdown: str = ALL, level: str = ALL) -> Side:
    """The counts of a group in all of these periods."""
    keys = [(measure, period, breakdown, level) for period in periods]
    return together(side(lookup.results.get(key), lookup.curves.get(key, ())) for key in keys)


def span(last: str, count: int = POOLED) -> tuple[str, ...]:
    """So many quarters in order, the last one being this; of years, one."""
    return tuple(shifted(last, -back) for back in reversed(range(count if kind(last) == QUARTER else 1)))


def waits_apart(first: Side, second: Side) -> tuple[float, float]:
    """How far the first side is ahead of what it would be if both waited alike up to the reported day, and the p.

    Later days are left out: a wait twice as long shows by then, and is made up for in the weeks that follow.
    """
    (days, one), (_, other) = (_up_to_reported_day(here, {*first.days, *second.days}) for here in (first, second))
    counts = [[one[kind], other[kind]] for kind in range(3)]
    if min(one.sum(), other.sum()) >= LARGE:
        tested = gray(days, *counts)
        return tested.score, tested.p
    return dealt(days, *counts)


def _up_to_reported_day(one: Side, every: Iterable[int]) -> tuple[list[int], Integers]:
    """Days, and a row each of events, competing and censored; who waits on the reported day leaves it as censored."""
    days = sorted({*(day for day in every if day <= REPORTED_DAY), REPORTED_DAY})
    counts = np.array([one.days.get(day, (0, 0, 0)) for day in days], dtype=np.int64).T
    counts[2, -1] += sum(sum(there) for day, there in one.days.items() if day > REPORTED_DAY)
    return days, counts


def within_reported_days(one: Side) -> tuple[float, float, float]:
    """The share of a wait that had ended with the event by the reported day, and its limits."""
    days = sorted(one.days)
    counts = np.array([one.days[day] for day in days], dtype=np.int64).reshape(len(days), 3)
    curve: Curve = cumulative_incidence(days, counts[:, 0], counts[:, 1], counts[:, 2])
    return incidence_at(curve, REPORTED_DAY)
