"""Verdicts in words: a standard, a comparison, one practitioner's figure beside the rest.

Comes in: what was judged and the counts it rests on. Goes out: frozen sentences with the mark that goes with them.
Refuses: to say why a figure is what it is.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from decimal import Decimal

from pipeline.contracts.measure_files import NOTED, Measure
from pipeline.judgement import verdict as judged
from pipeline.judgement.comparing import WHO, Weighed
from pipeline.judgement.judged import Comparison
from pipeline.judgement.sides import Side, within_reported_days
from pipeline.judgement.verdict import BETTER, CANNOT, CHANCE, DIFFERS, LOOK, NONE, WORSE, Verdict
from pipeline.outcomes.lookup import Result
from pipeline.outcomes.periods import QUARTER, kind
from pipeline.report.words.dates import short_label
from pipeline.report.words.sentences import days, heard_from, percent, points, rounded, share_set
from pipeline.settings import Settings
from pipeline.statistics.comparison import Difference

_STANDARD = {
    judged.NO_DIRECTION: "not judged, since the figure is not one that is better higher or lower",
    judged.NOBODY: "nothing to judge: there was nobody to count",
    judged.TOO_MANY_UNKNOWN: "cannot be said: too many unknown",
    judged.NOTHING_OPEN: "{mark}",
    judged.AT_BOTH_BOUNDS: "{mark}, whatever the unknown answers are",
    judged.WITHIN_CHANCE: "{side} it, within what chance gives",
}
_SAID = {
    WORSE: "worse, by more than chance gives",
    BETTER: "better, by more than chance gives",
    DIFFERS: "different by more than chance gives; neither direction is better",
    CHANCE: "within chance",
    LOOK: "more than chance alone would usually give: a question to look into, not an answer",
}
_WHY = {
    judged.TOO_FEW: "cannot be said: fewer than 5 known on a side",
    judged.TOO_MANY_UNKNOWN: "cannot be said: too many unknown, which could turn it",
    judged.BEGUN: "cannot be said: the records had only begun",
    judged.DEFINITION: "cannot be said: what is recorded changed in between",
    judged.FOLLOW_UP: "cannot be said: not as many were heard from, then and now",
    judged.STOPPED: "worse: none at all within the days that count",
    judged.NOT_THERE: "no figures for that time",
    judged.NO_FIGURE: "cannot be compared: one of the two has no figure",
    judged.MEDIAN: "not judged, since a middle value has no interval here",
    judged.NOT_PRIMARY: "not judged, since it is not a measure at a glance",
    judged.RARE: "not judged on so few; see the four quarters",
    judged.NOWHERE: "too few to say: no count could be outside",
    judged.HIGHER: "further above all others than chance gives",
    judged.LOWER: "further below all others than chance gives",
}


@dataclass(frozen=True)
class Said:
    """A verdict in words, and the mark that goes with it: the template's, never the only sign."""

    mark: str
    text: str
    why: str = ""  # what is said of a comparison, without its figures


def standard(measure: Measure, share: float, verdict: Verdict) -> Said:
    """The standard, and whether it is met."""
    side = "above" if measure.better == "lower" else "below"
    return Said(verdict.mark, f"{share_set(share)}: {_STANDARD[verdict.reason].format(mark=verdict.mark, side=side)}")


def known_enough(measure: Measure, result: Result | None, settings: Settings) -> str:
    """Of how many the answer is known, and whether that is as many as the settings ask for; empty where they do not."""
    convention = settings.publish.six_weeks_known if measure.all_due else None
    enough = settings.known_enough.get(measure.name, convention)
    if enough is None or result is None or not result.eligible:
        return ""
    which = f"{share_set(enough)} that " + (
        "is the English convention for figures at six to eight weeks"
        if enough == convention
        else "the settings ask for"
    )
    is_enough = result.known >= enough * result.eligible - 1e-9  # 55 is 55% of 100, which binary halves deny
    return f"Known for {heard_from(result)}, {'at least' if is_enough else 'below'} the {which}"


def change(one: Comparison) -> Said:
    """A comparison with another time: both figures, how far apart they are, and what is said of it."""
    if one.verdict.reason in (judged.NOT_THERE, judged.NO_FIGURE, judged.MEDIAN):
        return Said(one.verdict.mark, why(one.verdict), why(one.verdict))
    # That only the measures at a glance are judged is said once a section.
    said = figures(one) if one.verdict.reason == judged.NOT_PRIMARY else f"{figures(one)}; {why(one.verdict)}"
    return Said(one.verdict.mark, said, why(one.verdict))


def figures(one: Comparison) -> str:
    """Both figures of a comparison and how far apart they are, without a verdict."""
    return _apart(one, " now", " then")


def finding(one: Comparison) -> str:
    """The same of a finding, each figure with its time: `50% (of 54) in Apr-Sep 26, 77% (of 99) in Apr 25-Mar 26`."""
    if one.then:
        return _apart(one, f" in {span(one.now)}", f" in {span(one.then)}")
    return f"{_apart(one)}, {span(one.now)}"


def _apart(one: Comparison, now: str = "", then: str = "") -> str:
    first, second = (_figure(one.weighed, side) for side in (one.weighed.first, one.weighed.second))
    apart = one.weighed.difference()
    words = f"{first}{now}, {second}{then}" if one.then else f"{first}; all others {second}"
    if one.weighed.across:
        words = f"a trend across the groups in order: {first}, at the other end {second}"
    if one.about == WHO:
        heard, silent = one.measure.heard
        words = f"{first} of those {heard}, {second} of those {silent}"
    if apart.difference != apart.difference:
        return words
    return f"{words}: {_moved(one.weighed)}{_limits(apart)}"


def beside(one: Comparison) -> Said:
    """One practitioner's figure beside that of the rest of the service, in words that judge nobody."""
    if one.verdict.mark in (NONE, CANNOT):
        return Said(NONE, why(one.verdict))
    apart = one.weighed.difference()
    return Said(one.verdict.mark, f"{_moved(one.weighed)} in your own caseload{_limits(apart)}; {why(one.verdict)}")


def span(periods: tuple[str, ...]) -> str:
    """`Jul-Sep 26`, `Apr-Sep 26`, `Oct 25-Sep 26`; `2024/25 to 2025/26`."""
    first, last = short_label(periods[0]), short_label(periods[-1])
    if first == last or kind(periods[0]) != QUARTER:
        return first if first == last else f"{first} to {last}"
    begins = first[:3] if first[-2:] == last[-2:] else f"{first[:3]} {first[-2:]}"
    return f"{begins}-{last[4:]}"


def number(expected: float) -> str:
    """How many would be listed by chance alone: `1.5`, `0.06`."""
    return days(expected) if expected >= 1 else rounded(expected, 2)


def in_short(verdict: Verdict) -> str:
    """A verdict for one cell of a table."""
    short = {WORSE: "worse", BETTER: "better", DIFFERS: "differs", CHANCE: "within chance", CANNOT: "cannot be said"}
    return "too few" if verdict.reason == judged.TOO_FEW else short.get(verdict.mark, "")


def why(verdict: Verdict) -> str:
    """A verdict alone, without the figures."""
    return _WHY.get(verdict.reason) or _SAID[verdict.mark]


def _figure(weighed: Weighed, side: Side) -> str:
    share, of = _share(weighed, side)
    unknown = (
        f"; {side.unknown} not {'heard from' if weighed.measure.kind == NOTED else 'known'}" if side.unknown else ""
    )
    if weighed.is_wait:
        return "too early" if share != share else f"{percent(share)} (of {of}{unknown})"
    return f"{side.met} of {of}" + (f" ({percent(share, of)}{unknown})" if of else "")


def _share(weighed: Weighed, side: Side) -> tuple[float, int]:
    """A side's share and of how many it is; no number where there is none."""
    if weighed.is_wait:
        return within_reported_days(side)[0], side.eligible
    return side.met / side.of if side.of else math.nan, side.of


def _limits(by: Difference) -> str:
    return "" if by.lower != by.lower or by.upper != by.upper else f" (95% interval {_between(by)})"


def _moved(weighed: Weighed) -> str:
    """How far apart two sides are: as the two printed shares are, or with a decimal, so that nobody adds up in vain."""
    by = weighed.difference().difference
    shares = [_share(weighed, side) for side in (weighed.first, weighed.second)]
    if by == 0:
        return "the same share" if any(share for share, _ in shares) else "none on either side"
    first, second = (Decimal(points(share, 0 if weighed.is_wait else of)) for share, of in shares)
    size = points(abs(by))
    if Decimal(size) != abs(first - second):
        size = rounded(abs(by) * 100, 1)
    if size == "0":
        return (
            "less than 1 percentage point apart"
            if first == second == first.to_integral()
            else "less than 0.1 percentage points apart"
        )
    unit = "percentage point" if size == "1" else "percentage points"
    return f"{size} {unit} {'higher' if by > 0 else 'lower'}"


def _between(by: Difference) -> str:
    low, high = points(abs(by.lower)), points(abs(by.upper))
    if low == "0" or high == "0" or (by.lower < 0) == (by.upper < 0):
        both_lower = by.upper <= 0 or (high == "0" and by.lower < 0)
        first, last = (high, low) if both_lower else (low, high)
        return f"{first} to {last} {'lower' if both_lower else 'higher'}"
    return f"{low} lower to {high} higher"
