"""Which figure is asked for: a measure's, a group's that is counted apart, or a part of the flow of everyone.

Comes in: what was typed, and the outcome of the quarter. Goes out: a Figure. Refuses, with what there is: a
name that is none, a breakdown or a level that this figure does not have, the one without the other.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass

from pipeline.contracts.apart_files import Apart, aparts
from pipeline.contracts.grains import GRAINS, Grain
from pipeline.contracts.measure_files import Measure
from pipeline.contracts.query_files import query_file
from pipeline.errors import Fault, Refused, nearest
from pipeline.outcomes.outcome import Outcome

EVERYONE = "everyone"
FLOW = ("route", "six_weeks")  # what the flow of everyone is broken down by
ALL = "all"


@dataclass(frozen=True)
class Figure:
    """One figure of a quarter. Of measure and apart one is given; neither of the flow of everyone."""

    name: str
    period: str
    sql: str
    measure: Measure | None = None  # the measure, or that beside which a group stands
    apart: Apart | None = None
    breakdown: str = ALL
    level: str = ALL

    @property
    def split_by(self) -> str:
        """The breakdown of sql/breakdowns.sql whose level it is of; the flow has its own."""
        return self.breakdown if self.is_measure and self.breakdown != ALL else ""

    @property
    def grain(self) -> Grain:
        """What each of its entries is."""
        one = self.apart or self.measure
        return GRAINS[one.grain if one else "case"]

    @property
    def is_measure(self) -> bool:
        """Whether its cases have answers, and not only a place."""
        return self.measure is not None and self.apart is None


def asked(outcome: Outcome, name: str, breakdown: str | None, level: str | None) -> Figure:
    """The figure of that name. Raises Refused."""
    measures = {measure.name: measure for measure in outcome.measures}
    groups = {group.name: group for group in aparts(outcome.measures)}
    if (breakdown is None) != (level is None) and breakdown != ALL:
        given, other = ("--breakdown", "--level") if level is None else ("--level", "--breakdown")
        levels = _levels(outcome, name, breakdown) if breakdown else ()
        allowed = f"both or neither; its levels: {', '.join(levels)}" if levels else "both or neither"
        raise Refused(Fault(given, f"{given} without {other}", allowed, f"add {other}, or leave {given} out"))
    if name in groups:
        _see_that_it_has(name, breakdown, (), "this group is not broken down")
        group = groups[name]
        return Figure(name, outcome.period, group.file.sql, measures[group.measure], group)
    if name == EVERYONE:
        _see_that_it_has(name, breakdown, FLOW, "the flow has no other")
        figure = everyone(outcome.period)
    elif name in measures:
        measure = measures[name]
        has = [split.name for split in outcome.breakdowns if split.for_every_measure or split.name in measure.also_by]
        asked_only = [split.name for split in outcome.breakdowns if not split.for_every_measure]
        why = "only where a measure asks for it" if breakdown in asked_only else "there is no such breakdown"
        _see_that_it_has(name, breakdown, has, why)
        figure = of_measure(measure, outcome.period)
    else:
        names = [EVERYONE, *measures, *groups]
        raise Refused(Fault("MEASURE", f"there is no figure {name}{nearest(name, names)}", ", ".join(names), _MEND))
    if breakdown is None or breakdown == ALL:
        return figure
    levels = _levels(outcome, name, breakdown)
    if level is None or level not in levels:
        not_there = f"{level}: {name} has no such level of {breakdown} in {outcome.period}"
        allowed = ", ".join(levels) or "none: nobody is counted in that quarter"
        raise Refused(Fault("--level", not_there, allowed, "ask for one of those, as it is written there"))
    return Figure(figure.name, figure.period, figure.sql, figure.measure, None, breakdown, level)


_MEND = "ask for one of those; feeding-audit measures lists the measures"


def headlines(outcome: Outcome, at_a_glance: Sequence[str]) -> tuple[Figure, ...]:
    """The flow of everyone, and the measures at a glance."""
    named = {measure.name: measure for measure in outcome.measures}
    primary = [of_measure(named[name], outcome.period) for name in at_a_glance]
    return everyone(outcome.period), *primary


def of_measure(measure: Measure, period: str) -> Figure:
    """All that a measure counts in a quarter."""
    return Figure(measure.name, period, measure.file.sql, measure)


def everyone(period: str) -> Figure:
    """Every case first seen in a quarter."""
    return Figure(EVERYONE, period, query_file("accounts/everyone").sql)


def _see_that_it_has(name: str, breakdown: str | None, has: Collection[str], why: str) -> None:
    if breakdown not in (None, ALL, *has):
        allowed = ", ".join(split for split in has if split != ALL) or "none"
        mend = "ask for one of those" if has else "leave --breakdown and --level out"
        raise Refused(Fault("--breakdown", f"{breakdown}: {name} is not broken down so; {why}", allowed, mend))


def _levels(outcome: Outcome, name: str, breakdown: str) -> Sequence[str]:
    """The levels that have a figure, in the order of the results."""
    if name == EVERYONE:
        return sorted(set(outcome.flow[breakdown])) if breakdown in FLOW else ()
    return outcome.lookup.levels.get((name, outcome.period, breakdown), ())
