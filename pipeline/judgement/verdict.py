"""Every rule by which a figure is judged: against a standard, another quarter, all others.

Comes in: results and the shares a service set itself. Goes out: verdicts, each with its reason. Refuses: to judge a
standard that the unknown answers could turn either way; to judge a median, which has no interval here, or a group
beside itself; to rank anything.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from pipeline.contracts.measure_files import DAYS, SHARES, TIME_TO_EVENT, Measure
from pipeline.outcomes.lookup import ALL, Lookup, Result, wait_bounds
from pipeline.outcomes.periods import year_before
from pipeline.statistics.comparison import UNDEFINED, Difference, newcombe, recovered

# The marks. Of a standard:
MET, MISSED, OPEN = "met", "missed", "open"
# Of a difference:
CHANCE, LOOK = "chance", "look"
# Of either, where nothing is judged:
NONE = "none"
TO_LOOK_AT_FIRST = (MISSED, OPEN)

# The reasons. Of a standard:
NO_DIRECTION, NOBODY, TOO_MANY_UNKNOWN = "no direction", "nobody eligible", "too many unknown"
NOTHING_OPEN, AT_BOTH_BOUNDS = "nothing open", "at both bounds"
# Of a difference:
NOT_THERE, NO_FIGURE, MEDIAN, NO_INTERVAL, INTERVAL = "not there", "no figure", "median", "no interval", "interval"

SITE = "site"  # the breakdown whose levels are compared with themselves a year before
_BY_CHANCE = 0.05  # of what a 95% interval is asked, so much is called apart where nothing is
_ROUNDING = 1e-9  # 0.95 and 19/20 are the same share


@dataclass(frozen=True)
class Verdict:
    """What is judged, and why so."""

    mark: str
    reason: str
    difference: Difference = UNDEFINED  # first less second, where two were compared


@dataclass(frozen=True)
class SiteChange:
    """A site whose change is more than chance alone would usually give."""

    measure: Measure
    site: str
    now: Result
    then: Result
    verdict: Verdict


@dataclass(frozen=True)
class SiteChanges:
    """The sites worth a look, out of how many comparisons on how many measures."""

    changes: tuple[SiteChange, ...]
    comparisons: int
    measures: int


def standards(
    measures: Sequence[Measure], lookup: Lookup, period: str, shares: Mapping[str, float]
) -> Iterator[tuple[Measure, float, Verdict]]:
    """Judge every standard of a service, in its own order."""
    named = {measure.name: measure for measure in measures}
    for name, share in shares.items():
        yield named[name], share, standard(named[name], lookup, period, share)


def standard(measure: Measure, lookup: Lookup, period: str, share: float) -> Verdict:
    """Met only if it holds at the worst bound, missed only if it fails at the best one, else open."""
    result = lookup.everyone(measure.name, period)
    if measure.kind == DAYS or measure.better == "none":
        return Verdict(NONE, NO_DIRECTION)
    if result is None or result.eligible == 0:
        return Verdict(NONE, NOBODY)
    low, high = result.bound_low, result.bound_high
    if measure.kind == TIME_TO_EVENT:
        curve = lookup.curves.get((measure.name, period, ALL, ALL), ())
        low, high = wait_bounds(curve, result.eligible) or (None, None)
    if low is None or high is None:
        return Verdict(OPEN, TOO_MANY_UNKNOWN)
    certain = NOTHING_OPEN if low == high else AT_BOTH_BOUNDS
    if measure.better == "lower":  # the standard is a ceiling: turn all over, and one rule serves
        low, high, share = -high, -low, -share
    if low >= share - _ROUNDING:
        return Verdict(MET, certain)
    return Verdict(MISSED, certain) if high < share - _ROUNDING else Verdict(OPEN, TOO_MANY_UNKNOWN)


def compared(measure: Measure, first: Result | None, second: Result | None) -> Verdict:
    """Whether nothing at all lies inside the interval of first less second: two quarters, or own and rest."""
    if second is None:
        return Verdict(NONE, NOT_THERE)
    if first is None or first.value is None or second.value is None:
        return Verdict(NONE, NO_FIGURE)
    if measure.kind == DAYS:
        return Verdict(NONE, MEDIAN)
    if measure.kind == TIME_TO_EVENT:
        return _apart(recovered(*_estimate(first), *_estimate(second)))
    if first.met is None or second.met is None:
        return Verdict(NONE, NO_INTERVAL)
    return _apart(newcombe(first.met, first.of, second.met, second.of))


def beside_all_others(measure: Measure, group: Result | None, everyone: Result | None) -> Verdict:
    """A group less all others of the quarter: shares only, since a wait's others would have to be counted again."""
    if measure.kind not in SHARES or group is None or everyone is None or group.met is None or everyone.met is None:
        return Verdict(NONE, NO_FIGURE)
    return _apart(newcombe(group.met, group.of, everyone.met - group.met, everyone.of - group.of))


def site_changes(measures: Sequence[Measure], lookup: Lookup, period: str, primary: Sequence[str]) -> SiteChanges:
    """Each site beside itself a year before, on the primary measures and every measure of a wait."""
    asked = [measure for measure in measures if measure.name in primary or measure.kind == TIME_TO_EVENT]
    changes, comparisons = [], 0
    for measure in asked:
        for site in sorted(lookup.levels.get((measure.name, period, SITE), ())):
            now, then = (lookup.results.get((measure.name, name, SITE, site)) for name in (period, year_before(period)))
            verdict = compared(measure, now, then)
            comparisons += verdict.mark != NONE
            if verdict.mark == LOOK and now and then:
                changes.append(SiteChange(measure, site, now, then, verdict))
    return SiteChanges(tuple(changes), comparisons, len(asked))


def by_chance(comparisons: int) -> float:
    """How many comparisons would be called apart if nothing but chance were at work."""
    return comparisons * _BY_CHANCE


def _apart(difference: Difference) -> Verdict:
    if math.isnan(difference.lower) or math.isnan(difference.upper):
        return Verdict(NONE, NO_INTERVAL, difference)
    return Verdict(CHANCE if difference.lower <= 0 <= difference.upper else LOOK, INTERVAL, difference)


def _estimate(result: Result) -> tuple[float, float, float]:
    value, lower, upper = (
        math.nan if number is None else number for number in (result.value, result.lower, result.upper)
    )
    return value, lower, upper
