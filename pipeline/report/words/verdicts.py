"""Judgements in words: a standard, a change, and which sites are worth a look.

Comes in: results looked up. Goes out: frozen verdicts with their wording. Refuses: to judge a standard that the
unknown answers could turn either way; to judge a median, which has no interval here; to rank anything.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from pipeline.contracts.measure_files import DAYS, PROPORTION, TIME_TO_EVENT, Measure
from pipeline.outcomes.lookup import ALL, Lookup, Result, wait_bounds
from pipeline.report.words.dates import before
from pipeline.report.words.sentences import days_long, points, share_set, short
from pipeline.statistics.comparison import UNDEFINED, Difference, newcombe, recovered

CHANCE, LOOK, NONE = "chance", "look", "none"
MET, MISSED, OPEN = "met", "missed", "open"
WORDS = {
    CHANCE: "about what chance alone would give",
    LOOK: "more than chance alone would usually give: worth a look",
}
WORDS_OF_ONE = {  # of one practitioner's figure: a question, never a judgement of a person
    CHANCE: WORDS[CHANCE],
    LOOK: "more than chance alone would usually give: a question to look into, not an answer",
}
_ROUNDING = 1e-9  # 0.95 and 19/20 are the same share
SITE = "site"  # the breakdown whose levels are compared with themselves a year before


@dataclass(frozen=True)
class Verdict:
    """A judgement in words, and the mark that goes with it."""

    mark: str  # met, missed, open; chance, look, none: the template's mark, never the only sign
    text: str


@dataclass(frozen=True)
class SiteChange:
    """A site whose change is more than chance alone would usually give."""

    measure: Measure
    site: str
    text: str


@dataclass(frozen=True)
class WorthALook:
    """What was found, out of how many comparisons."""

    found: tuple[SiteChange, ...]
    comparisons: int
    expected: float  # how many of them would stand out if nothing but chance were at work


def standard(measure: Measure, lookup: Lookup, quarter: str, share: float) -> Verdict:
    """Met only if it holds at the worst bound, missed only if it fails at the best one, else not shown."""
    result = lookup.everyone(measure.name, quarter)
    stated = share_set(share)
    if measure.kind == DAYS or measure.better == "none":
        return Verdict(NONE, f"{stated}: not judged, since the figure is not one that is better higher or lower")
    if result is None or result.eligible == 0:
        return Verdict(NONE, f"{stated}: nothing to judge, nobody was eligible")
    if measure.kind == TIME_TO_EVENT:
        curve = lookup.curves.get((measure.name, quarter, ALL, ALL), ())
        between = wait_bounds(curve, result.eligible)
    else:
        between = _bounds(result)
    if between is None:
        return Verdict(OPEN, f"{stated}: not shown: too many unknown")
    # A standard for what is better lower is a ceiling: turn both over, and one rule serves.
    low, high, needed = (*between, share) if measure.better != "lower" else (-between[1], -between[0], -share)
    certain = "" if between[0] == between[1] else ", whatever the unknown answers are"
    if low >= needed - _ROUNDING:
        return Verdict(MET, f"{stated}: met{certain}")
    if high < needed - _ROUNDING:
        return Verdict(MISSED, f"{stated}: missed{certain}")
    return Verdict(OPEN, f"{stated}: not shown: too many unknown")


def _bounds(result: Result) -> tuple[float, float] | None:
    return None if result.bound_low is None or result.bound_high is None else (result.bound_low, result.bound_high)


def difference(measure: Measure, now: Result | None, then: Result | None) -> Difference:
    """Now minus then, as fractions; NaN where either has no figure, or the kind has no interval."""
    if now is None or then is None or now.value is None or then.value is None:
        return UNDEFINED
    if measure.kind == PROPORTION and now.met is not None and then.met is not None:
        return newcombe(now.met, now.known, then.met, then.known)
    if measure.kind == TIME_TO_EVENT:
        return recovered(*_estimate(now), *_estimate(then))
    return UNDEFINED


def _estimate(result: Result) -> tuple[float, float, float]:
    value, lower, upper = (math.nan if each is None else each for each in (result.value, result.lower, result.upper))
    return value, lower, upper


def mark(found: Difference) -> str:
    """Say whether nothing at all lies inside the interval."""
    if math.isnan(found.lower) or math.isnan(found.upper):
        return NONE
    return CHANCE if found.lower <= 0 <= found.upper else LOOK


def change(measure: Measure, now: Result | None, then: Result | None) -> Verdict:
    """Compare two quarters of one measure, in words."""
    if then is None:
        return Verdict(NONE, "no figures for that quarter")
    if now is None or now.value is None or then.value is None:
        return Verdict(NONE, "cannot be compared: one of the two quarters has no figure")
    if measure.kind == DAYS:
        text = f"the middle was {days_long(then.value)} then, {days_long(now.value)} now"
        return Verdict(NONE, f"{text}; a median has no interval here, so no judgement")
    found = difference(measure, now, then)
    verdict = mark(found)
    judged = WORDS.get(verdict, "no interval can be worked out, so no judgement")
    return Verdict(verdict, f"{_change(measure, now, then, found)}; {judged}")


def beside(measure: Measure, own: Result, rest: Result) -> Verdict:
    """Lay one practitioner's figure beside that of the rest of the service, in words that judge nobody."""
    if own.value is None or rest.value is None:
        return Verdict(NONE, "cannot be compared: one of the two has no figure")
    if measure.kind == DAYS:
        return Verdict(NONE, "medians have no interval here, so they are shown and not compared")
    found = difference(measure, own, rest)
    apart = mark(found)
    if apart == NONE:
        return Verdict(NONE, "no interval can be worked out, so they are not compared")
    words = f"{_moved(found.difference)} in your own caseload (95% interval {_between(found)})"
    return Verdict(apart, f"{words}; {WORDS_OF_ONE[apart]}")


def _change(measure: Measure, now: Result, then: Result, found: Difference) -> str:
    moved = f"{short(measure, now)} now, {short(measure, then)} then: {_moved(found.difference)}"
    return moved if mark(found) == NONE else f"{moved} (95% interval {_between(found)})"


def _moved(by: float) -> str:
    size = points(abs(by))
    unit = "percentage point" if size == "1" else "percentage points"
    if size == "0":
        return "less than 1 percentage point apart" if by else "no difference"
    return f"{size} {unit} {'higher' if by > 0 else 'lower'}"


def _between(found: Difference) -> str:
    low, high = points(abs(found.lower)), points(abs(found.upper))
    if low == "0" or high == "0" or (found.lower < 0) == (found.upper < 0):
        both_lower = found.upper <= 0 or (high == "0" and found.lower < 0)
        first, last = (high, low) if both_lower else (low, high)
        return f"{first} to {last} {'lower' if both_lower else 'higher'}"
    return f"{low} lower to {high} higher"


def worth_a_look(measures: tuple[Measure, ...], lookup: Lookup, quarter: str) -> WorthALook:
    """Sites whose change since the same quarter a year before has an interval without nothing in it."""
    year_before = before(quarter, 4)
    found: list[SiteChange] = []
    comparisons = 0
    for measure in measures:
        for site in sorted(lookup.levels.get((measure.name, quarter, SITE), ())):
            now = lookup.results.get((measure.name, quarter, SITE, site))
            then = lookup.results.get((measure.name, year_before, SITE, site))
            apart = difference(measure, now, then)
            comparisons += mark(apart) != NONE
            if mark(apart) == LOOK and now and then:
                found.append(SiteChange(measure, site, _change(measure, now, then, apart)))
    return WorthALook(tuple(found), comparisons, comparisons * 0.05)
