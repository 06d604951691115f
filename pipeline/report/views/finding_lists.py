"""What the comparisons of a report found, as lists: what is worse, what is better, and what chance alone would list.

Comes in: the edition's content and the wording. Goes out: frozen views the templates and the terminal print. It judges
nothing: the verdicts are those of the judgement. Refuses: to rank; to list what is better as trouble.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from pipeline.contracts.measure_files import Measure
from pipeline.judgement.comparing import HEARD_FROM
from pipeline.judgement.judged import EQUITY, MISSING, SERVICE, Comparison
from pipeline.judgement.verdict import BETTER, CANNOT, DIFFERS, STOPPED, WORSE
from pipeline.report.content.edition import EditionContent
from pipeline.report.words import verdicts
from pipeline.report.words.labels import Wording


@dataclass(frozen=True)
class Listed:
    """One finding: of whom, of what, in words, and whether a measure's figure or how many were heard from."""

    family: str
    whom: str
    measure: Measure
    what: str
    text: str


@dataclass(frozen=True)
class Findings:
    """The findings of a family, out of how many comparisons."""

    worse: tuple[Listed, ...]
    better: tuple[Listed, ...]
    differs: tuple[Listed, ...]
    made: int
    cannot: int  # comparisons of which nothing can be said
    expected: str  # how many chance alone would list


def findings(content: EditionContent, wording: Wording, family: str) -> Findings:
    """The findings of one family."""
    judgement = content.judgement
    lists = {
        mark: tuple(_listed(one, content, wording) for one in _once(judgement.marked(family, mark)))
        for mark in (WORSE, BETTER, DIFFERS)
    }
    return Findings(
        worse=lists[WORSE],
        better=lists[BETTER],
        differs=lists[DIFFERS],
        made=judgement.made(family),
        cannot=len(judgement.marked(family, CANNOT)),
        expected=verdicts.number(judgement.expected(family)),
    )


def _once(marked: Sequence[Comparison]) -> list[Comparison]:
    """One of a group's comparisons of a measure: over a quarter and over half a year it is the same news."""
    first: dict[tuple[str, str, str, str], Comparison] = {}
    for one in marked:
        key = (one.measure.name, one.about, one.breakdown, one.level)
        kept = first.setdefault(key, one)
        if one.weighed.p < kept.weighed.p and kept.verdict.reason != STOPPED:
            first[key] = one
    return list(first.values())


def _listed(one: Comparison, content: EditionContent, wording: Wording) -> Listed:
    titles = {breakdown.name: breakdown.title for breakdown in content.breakdowns}
    whom = "" if one.family == SERVICE else wording.level(one.breakdown, one.level)
    if one.family in (EQUITY, MISSING):
        whom = f"{titles[one.breakdown]}, {whom}"
    what = f"{one.measure.title}, heard from" if one.about == HEARD_FROM else one.measure.title
    stopped = "none at all within the days that count; " if one.verdict.reason == STOPPED else ""
    return Listed(one.family, whom, one.measure, what, f"{stopped}{verdicts.finding(one)}")
