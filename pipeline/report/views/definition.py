"""The terms of a measure and what they mean, as they stand under it.

Comes in: a measure, its result, the wording. Goes out: terms with their meaning.
"""

from __future__ import annotations

from pipeline.contracts.measure_files import DAYS, NOTED, PROPORTION, TIME_TO_EVENT, Measure
from pipeline.outcomes.lookup import Result
from pipeline.report.words import sentences
from pipeline.report.words.labels import Wording

_MEANING = {
    PROPORTION: ("Met", "Unknown"),
    NOTED: ("Noted", "Not known"),
    DAYS: ("What is counted", "Unknown"),
    TIME_TO_EVENT: ("What is waited for", "Unknown"),
}


def definition(measure: Measure, now: Result | None, wording: Wording) -> tuple[tuple[str, str], ...]:
    """The terms of a measure and what they mean."""
    met, unknown = _MEANING[measure.kind]
    several = wording.grains[measure.grain][1]
    stated = [
        ("Eligible", measure.eligible),
        (met, measure.met),
        (unknown, measure.unknown),
        ("Counted", f"{several.capitalize()}, in the period of {measure.counted_on}"),
        ("Direction", wording.better[measure.better]),
        ("Source", measure.source[:1].upper() + measure.source[1:]),
    ]
    if different := sentences.if_unknown_differ(measure, now):
        stated.append(("If the unknown differ", different))
    return tuple(stated)
