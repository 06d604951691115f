"""One comparison of two sides: whether it can be judged, how unlikely it is by chance, and what is then said.

Comes in: the two sides and what is asked of them. Goes out: a Weighed, and from it a Verdict once the family has said
what is unlikely enough. Refuses: to judge fewer than five known on a side; to let a finding stand that the unknown
answers could turn; to say better or worse of what has no direction.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from pipeline.contracts.measure_files import DAYS, NOTED, TIME_TO_EVENT, Measure
from pipeline.judgement.sides import Side, waits_apart, within_reported_days
from pipeline.judgement.verdict import (
    BETTER,
    CANNOT,
    CHANCE,
    DIFFERS,
    FOLLOW_UP,
    MEDIAN,
    NO_FIGURE,
    NONE,
    NOWHERE,
    STOPPED,
    TESTED,
    TOO_FEW,
    TOO_MANY_UNKNOWN,
    WORSE,
    Verdict,
)
from pipeline.statistics.comparison import Difference, newcombe, recovered
from pipeline.statistics.exact_tests import Tables, fisher_mid_p, tables, type_one
from pipeline.statistics.units import tail_p

FEWEST = 5  # known on a side
ALONE = 0.05  # what a finding must still reach at both bounds of the unknown, and two follow-ups to count as unlike
STOP = 0.002  # from here on a wait that ends for nobody has stopped altogether

# What is compared: the measure, how many were heard from, or who was.
FIGURE, HEARD_FROM, WHO = "figure", "heard from", "who was heard from"


@dataclass(frozen=True)
class Weighed:
    """Two sides weighed against each other; p is NaN where they cannot be judged, and why stands beside it."""

    measure: Measure
    about: str
    first: Side
    second: Side
    p: float
    cannot: str = ""  # a reason
    mark: str = NONE  # that goes with it
    stopped: bool = False
    by_funnel: bool = False  # a unit about all others: by the tails of its count, and by the test of both counts
    across: bool = False  # the two ends of an order, whose p is that of the trend across it (trends.py)
    holds: bool = True  # of a trend: at both bounds of the unknown too

    @property
    def is_wait(self) -> bool:
        """Whether days are compared, not counts."""
        return self.measure.kind == TIME_TO_EVENT and self.about == FIGURE

    def difference(self) -> Difference:
        """First less second, with its interval; of a wait, of the shares within the reported days."""
        first, second = self.first, self.second
        if self.is_wait:
            return recovered(*within_reported_days(first), *within_reported_days(second))
        return newcombe(first.met, first.of, second.met, second.of)

    def direction(self) -> str:
        """Worse or better, if there is anything at all; differs where neither is."""
        if self.across:  # the first is the end that is worse off
            return DIFFERS if self.measure.better == "none" and self.about == FIGURE else WORSE
        up = self.first.met * self.second.of > self.second.met * self.first.of
        if self.is_wait:
            up = waits_apart(self.first, self.second)[0] > 0
        if self.about == HEARD_FROM:
            return BETTER if up else WORSE
        if self.measure.better == "none" or self.about == WHO:
            return DIFFERS
        return BETTER if up == (self.measure.better in ("higher", "shorter")) else WORSE


def weigh(measure: Measure, first: Side, second: Side, about: str = FIGURE) -> Weighed:
    """The difference of two sides, and its p where there are enough to judge."""
    if about == HEARD_FROM:
        first, second = first.heard_from(), second.heard_from()
    unjudged = Weighed(measure, about, first, second, math.nan)
    if measure.kind == DAYS:
        return replace(unjudged, cannot=MEDIAN)
    if not (first.eligible and second.eligible):
        return replace(unjudged, cannot=NO_FIGURE)
    if min(first.known, second.known) < FEWEST:
        return replace(unjudged, cannot=TOO_FEW, mark=CANNOT)
    if not unjudged.is_wait:
        return replace(unjudged, p=fisher_mid_p(first.met, first.of, second.met, second.of))
    p = waits_apart(first, second)[1]
    return replace(unjudged, p=1.0 if math.isnan(p) else p)


def weigh_about_others(measure: Measure, unit: Side, others: Side, limit: float) -> Weighed:
    """A unit about all others; p is the larger of its funnel's and of the test that takes the others as counts too.

    By the funnel alone, which takes the share of the others as known, one of two alike units is outside in 3 of 100.
    Too few to say: no count of it could be outside.
    """
    weighed = replace(weigh(measure, unit, others), by_funnel=True)
    if weighed.cannot:
        return weighed
    if min(about_others(met, unit.of, others) for met in (0, unit.of)) > limit:
        return replace(weighed, p=math.nan, cannot=NOWHERE, mark=CANNOT)
    return replace(weighed, p=about_others(unit.met, unit.of, others))


def about_others(met: int, of: int, others: Side) -> float:
    """How unlikely so many of a unit's are about all others, as they stand."""
    tails = tail_p(np.array([met]), of, others.met, others.of)
    return max(float(tails[0]), fisher_mid_p(met, of, others.met, others.of))


def has_stopped(now: Side, then: Side) -> bool:
    """Whether a wait that used to end now ends for nobody within the reported days, however few they are."""
    return now.met == 0 and fisher_mid_p(now.met, now.known, then.met, then.known) <= STOP


def decide(weighed: Weighed, limit: float) -> Verdict:
    """What is said of two sides, where so small a p is a finding."""
    if weighed.stopped:
        return Verdict(WORSE, STOPPED)
    if weighed.cannot:
        return Verdict(weighed.mark, weighed.cannot)
    called = weighed.p <= limit
    if weighed.across:
        stands = called and weighed.holds
    else:
        stands = called and (weighed.is_wait or bool(_stands(weighed, limit)[_place(weighed)]))
    if not stands and weighed.measure.kind == NOTED and weighed.about == FIGURE and follow_up_differs(weighed):
        return Verdict(CANNOT, FOLLOW_UP)
    if not called:
        return Verdict(CHANCE, TESTED)
    return Verdict(weighed.direction(), TESTED) if stands else Verdict(CANNOT, TOO_MANY_UNKNOWN)


def by_chance(weighed: Weighed, limit: float) -> float:
    """How often so small a p would be called a finding, and stand, where the two sides are alike: exact for counts."""
    if weighed.cannot:
        return 0.0
    if weighed.is_wait or weighed.across:
        return limit
    every = _every(weighed)
    return type_one(every, _stands(weighed, limit, every))


def follow_up_differs(weighed: Weighed) -> bool:
    """Whether as many were heard from on one side as on the other, as far as can be told."""
    first, second = weighed.first, weighed.second
    return fisher_mid_p(first.known, first.eligible, second.known, second.eligible) <= ALONE


def _every(weighed: Weighed) -> Tables:
    first, second = weighed.first, weighed.second
    return tables(first.of, second.of, first.met + second.met)


def _place(weighed: Weighed) -> int:
    return weighed.first.met - max(0, weighed.first.met + weighed.second.met - weighed.second.of)


def _stands(weighed: Weighed, limit: float, every: Tables | None = None) -> np.ndarray:
    """Of every table with these margins: called, and at both bounds of the unknown still apart and to the same side."""
    every = every or _every(weighed)
    first, second = weighed.first, weighed.second
    up = every.met_1 * second.of > every.met_2 * first.of
    p = every.mid_p
    if weighed.by_funnel:
        p = np.maximum(p, tail_p(every.met_1, first.of, every.met_2, second.of))
    stands = np.asarray(p <= limit)
    # Of a harm the unheard are many times the noted: where as many were heard from, the side it leans to must hold.
    rare = weighed.measure.kind == NOTED and not follow_up_differs(weighed)
    if not stands.any() or not (first.unknown or second.unknown):
        return stands
    stands &= (every.met_1 <= first.known) & (every.met_2 <= second.known)  # what is met is known
    for more_1, more_2 in ((0, 0), (first.unknown, second.unknown)):
        met_1, met_2 = every.met_1[stands] + more_1, every.met_2[stands] + more_2
        if met_1.size:
            at_bound = tables(first.eligible, second.eligible, int(met_1[0] + met_2[0]))
            apart = at_bound.mid_p[met_1 - at_bound.met_1[0]] <= ALONE
            same = (met_1 * second.eligible > met_2 * first.eligible) == up[stands]
            stands[stands] = same & (apart | rare)
    return stands
