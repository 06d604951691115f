"""Verdicts in words: a standard, a change, one practitioner's figure, a group, a site.

Comes in: what was judged and the results it rests on. Goes out: frozen sentences with the mark that goes with them.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from pipeline.contracts.measure_files import Measure
from pipeline.judgement import verdict as judged
from pipeline.judgement.verdict import CHANCE, LOOK, SiteChange, Verdict
from pipeline.outcomes.lookup import Result
from pipeline.report.words.sentences import days, days_long, percent, points, share_set, short
from pipeline.statistics.comparison import Difference

_STANDARD = {
    judged.NO_DIRECTION: "not judged, since the figure is not one that is better higher or lower",
    judged.NOBODY: "nothing to judge, nobody was eligible",
    judged.TOO_MANY_UNKNOWN: "not shown: too many unknown",
    judged.NOTHING_OPEN: "{mark}",
    judged.AT_BOTH_BOUNDS: "{mark}, whatever the unknown answers are",
}
_CHANGE = {
    judged.NOT_THERE: "no figures for that time",
    judged.NO_FIGURE: "cannot be compared: one of the two has no figure",
    judged.MEDIAN: "a median has no interval here, so no judgement",
    judged.NO_INTERVAL: "no interval can be worked out, so no judgement",
    CHANCE: "about what chance alone would give",
    LOOK: "more than chance alone would usually give: worth a look",
}
_BESIDE = {  # of one practitioner's figure: a question, never a judgement of a person
    judged.NO_FIGURE: "cannot be compared: one of the two has no figure",
    judged.MEDIAN: "medians have no interval here, so they are shown and not compared",
    judged.NO_INTERVAL: "no interval can be worked out, so they are not compared",
    CHANCE: _CHANGE[CHANCE],
    LOOK: "more than chance alone would usually give: a question to look into, not an answer",
}


@dataclass(frozen=True)
class Said:
    """A verdict in words, and the mark that goes with it: the template's, never the only sign."""

    mark: str
    text: str


def standard(share: float, verdict: Verdict) -> Said:
    """The standard, and whether it is met."""
    return Said(verdict.mark, f"{share_set(share)}: {_STANDARD[verdict.reason].format(mark=verdict.mark)}")


def change(measure: Measure, now: Result | None, then: Result | None) -> Said:
    """Compare two quarters of one measure."""
    verdict = judged.compared(measure, now, then)
    text = _reason(verdict, _CHANGE)
    if now is None or then is None or verdict.reason == judged.NO_FIGURE:
        return Said(verdict.mark, text)
    if verdict.reason == judged.MEDIAN and now.value is not None and then.value is not None:
        return Said(verdict.mark, f"the middle was {days_long(then.value)} then, {days_long(now.value)} now; {text}")
    return Said(verdict.mark, f"{_now_and_then(measure, now, then, verdict)}; {text}")


def beside(measure: Measure, own: Result, rest: Result) -> Said:
    """Lay one practitioner's figure beside that of the rest of the service, in words that judge nobody."""
    verdict = judged.compared(measure, own, rest)
    text = _reason(verdict, _BESIDE)
    if verdict.mark == judged.NONE:
        return Said(verdict.mark, text)
    apart = verdict.difference
    return Said(
        verdict.mark, f"{_moved(apart.difference)} in your own caseload (95% interval {_between(apart)}); {text}"
    )


def group(measure: Measure, own: Result, everyone: Result) -> str:
    """A group's share and that of all others."""
    met, known = (everyone.met or 0) - (own.met or 0), everyone.of - own.of
    return f"{short(measure, own)}; all others {met} of {known} ({percent(met / known, known)})"


def site(changed: SiteChange) -> str:
    """What a site's figure is now and was a year before."""
    return _now_and_then(changed.measure, changed.now, changed.then, changed.verdict)


def by_chance(comparisons: int) -> str:
    """How many of these comparisons would be listed if nothing but chance were at work: `1.5`."""
    return days(judged.by_chance(comparisons))


def _reason(verdict: Verdict, words: Mapping[str, str]) -> str:
    return words[verdict.mark if verdict.reason == judged.INTERVAL else verdict.reason]


def _now_and_then(measure: Measure, now: Result, then: Result, verdict: Verdict) -> str:
    moved = f"{short(measure, now)} now, {short(measure, then)} then: {_moved(verdict.difference.difference)}"
    return moved if verdict.mark == judged.NONE else f"{moved} (95% interval {_between(verdict.difference)})"


def _moved(by: float) -> str:
    size = points(abs(by))
    unit = "percentage point" if size == "1" else "percentage points"
    if size == "0":
        return "less than 1 percentage point apart" if by else "no difference"
    return f"{size} {unit} {'higher' if by > 0 else 'lower'}"


def _between(by: Difference) -> str:
    low, high = points(abs(by.lower)), points(abs(by.upper))
    if low == "0" or high == "0" or (by.lower < 0) == (by.upper < 0):
        both_lower = by.upper <= 0 or (high == "0" and by.lower < 0)
        first, last = (high, low) if both_lower else (low, high)
        return f"{first} to {last} {'lower' if both_lower else 'higher'}"
    return f"{low} lower to {high} higher"
