"""What may be said of a figure: the marks, the reasons, and the rule for a standard.

Comes in: results and the shares a service set itself. Goes out: verdicts, each with its reason. Refuses: to judge a
standard that the unknown answers could turn either way, or a median, which has no interval here; to rank anything.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from pipeline.contracts.measure_files import DAYS, TIME_TO_EVENT, Measure
from pipeline.outcomes.lookup import ALL, Lookup, wait_bounds
from pipeline.statistics.exact_tests import binomial_mid_p_below

# The marks. Of a standard:
MET, MISSED, BELOW = "met", "missed", "below"
# Of a comparison:
WORSE, BETTER, DIFFERS, CHANCE = "worse", "better", "differs", "chance"
LOOK = "look"  # of one practitioner's or site's figure beside the rest: apart, and nobody is called anything
# Of either: judged, but it cannot be said; and not judged at all.
CANNOT, NONE = "cannot", "none"

# The reasons. Of a standard:
NO_DIRECTION, NOBODY, NOTHING_OPEN, AT_BOTH_BOUNDS = "no direction", "nobody eligible", "nothing open", "at both bounds"
WITHIN_CHANCE = "within what chance gives"
# Of a comparison:
TESTED, STOPPED = "tested", "stopped altogether"
TOO_FEW, BEGUN, DEFINITION = "too few", "records had only begun", "definition changed"
FOLLOW_UP, NOT_THERE, NO_FIGURE, MEDIAN = "follow-up changed", "not there", "no figure", "median"
NOT_PRIMARY, RARE = "not primary", "rare"
NOWHERE, HIGHER, LOWER = "no count could be outside", "above the others", "below the others"  # of sites
# Of either:
TOO_MANY_UNKNOWN = "too many unknown"

MISSED_BY_CHANCE = 0.025  # the exact binomial mid-p from which on a figure below its standard has not missed it
_ROUNDING = 1e-9  # 0.95 and 19/20 are the same share


@dataclass(frozen=True)
class Verdict:
    """What is judged, and why so."""

    mark: str
    reason: str


def standards(
    measures: Sequence[Measure], lookup: Lookup, period: str, shares: Mapping[str, float]
) -> Iterator[tuple[Measure, float, Verdict]]:
    """Judge every standard of a service, in its own order."""
    named = {measure.name: measure for measure in measures}
    for name, share in shares.items():
        yield named[name], share, standard(named[name], lookup, period, share)


def standard(measure: Measure, lookup: Lookup, period: str, share: float) -> Verdict:
    """Met if it holds at the worst bound; missed if it fails at the best one by more than chance gives."""
    result = lookup.everyone(measure.name, period)
    if measure.kind == DAYS or measure.better == "none":
        return Verdict(NONE, NO_DIRECTION)
    if result is None or result.eligible == 0:
        return Verdict(NONE, NOBODY)
    low, high = result.bound_low, result.bound_high
    if measure.kind == TIME_TO_EVENT:
        curve = lookup.curves.get((measure.name, period, ALL, ALL), ())
        low, high = wait_bounds(curve, result.eligible) or (None, None)
    if low is None or high is None or result.met is None or not result.of:
        return Verdict(CANNOT, TOO_MANY_UNKNOWN)
    certain = NOTHING_OPEN if low == high else AT_BOTH_BOUNDS
    met = result.met
    if measure.better == "lower":  # the standard is a ceiling: turn all over, and one rule serves
        low, high, share, met = 1 - high, 1 - low, 1 - share, result.of - met
    if low >= share - _ROUNDING:
        return Verdict(MET, certain)
    if high >= share - _ROUNDING:
        return Verdict(CANNOT, TOO_MANY_UNKNOWN)
    by_chance = binomial_mid_p_below(met, result.of, min(max(share, 0.0), 1.0)) >= MISSED_BY_CHANCE
    return Verdict(BELOW, WITHIN_CHANCE) if by_chance else Verdict(MISSED, certain)
