"""Those heard from beside those not, by what is known of both.

Comes in: results up to a period, whose measures say which answers to look at. Goes out: comparisons of a family of
their own: the share of a group among those heard from, and among those not, four quarters together. Refuses: to call
anything worse (a difference is a reason to read the figure with care); to count a mirror twice.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from pipeline.contracts.breakdown_file import Breakdown
from pipeline.contracts.measure_files import Measure
from pipeline.judgement.comparing import WHO, weigh
from pipeline.judgement.judged import MISSING, Basis, Comparison
from pipeline.judgement.periods_fit import NOT_RECORDED
from pipeline.judgement.sides import Side, pooled, span
from pipeline.judgement.verdict import Verdict


@dataclass(frozen=True)
class Heard:
    """The levels of one breakdown: among those heard from and those not, everyone whose level is recorded."""

    levels: Mapping[str, tuple[Side, Side]]
    not_recorded: tuple[int, int]


def missing(basis: Basis) -> Iterator[Comparison]:
    """Every comparison of the family, before it is looked at as a whole."""
    now = span(basis.period)
    for measure in basis.measures:
        for breakdown in compared_by(basis, measure):
            sides = heard_by(basis, measure, breakdown.name).levels
            for level in list(sides)[: 1 if len(sides) == 2 else None] if len(sides) > 1 else ():
                weighed = weigh(measure, *sides[level], about=WHO)
                verdict = Verdict(weighed.mark, weighed.cannot)
                yield Comparison(MISSING, measure, WHO, breakdown.name, level, now, (), weighed, verdict, math.nan, 0.0)


def compared_by(basis: Basis, measure: Measure) -> tuple[Breakdown, ...]:
    """The breakdowns by which those heard from and not are compared; none where the measure does not ask for it."""
    return tuple(
        breakdown
        for breakdown in basis.breakdowns
        if measure.heard and breakdown.for_the_missing
        if breakdown.for_every_measure or breakdown.name in measure.also_by
    )


def heard_by(basis: Basis, measure: Measure, breakdown: str) -> Heard:
    """How many of each level were heard from and were not, in four quarters together."""
    now = span(basis.period)
    there = {level for period in now for level in basis.lookup.levels.get((measure.name, period, breakdown), ())}
    groups = {level: pooled(basis.lookup, measure.name, now, breakdown, level) for level in sorted(there)}
    rest = groups.pop(NOT_RECORDED, Side())
    known, unknown = (sum(getattr(one, name) for one in groups.values()) for name in ("known", "unknown"))
    sides = {level: (_part(one.known, known), _part(one.unknown, unknown)) for level, one in groups.items()}
    return Heard(sides, (rest.known, rest.unknown))


def _part(count: int, everyone: int) -> Side:
    return Side(everyone, everyone, count, everyone)
