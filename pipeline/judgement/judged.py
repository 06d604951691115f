"""What a report is judged from, and what it then says: every comparison with its verdict.

These are descriptions: nothing comes in.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date

from pipeline.contracts.breakdown_file import Breakdown
from pipeline.contracts.measure_files import Measure
from pipeline.judgement.comparing import Weighed
from pipeline.judgement.mix import Adjusted, Cells
from pipeline.judgement.verdict import Verdict
from pipeline.outcomes.lookup import Lookup

SERVICE, SITES, EQUITY, MISSING, BETWEEN = "service", "sites", "equity", "missing", "between sites"  # the families


@dataclass(frozen=True)
class Group:
    """Since when there are records of a site, or of all, and how many cases were first seen in each period."""

    begun: date | None = None
    cases: Mapping[str, int] = field(default_factory=dict)


@dataclass(frozen=True)
class Comparison:
    """One comparison: which, of what periods, and what is said of it."""

    family: str
    measure: Measure
    about: str  # the figure, or how many were heard from
    breakdown: str
    level: str
    now: tuple[str, ...]
    then: tuple[str, ...]  # OTHERS where it is beside all others at the same time
    weighed: Weighed
    verdict: Verdict
    limit: float  # the p from which on it is a finding
    by_chance: float  # how often it would be one if there were nothing
    allowed: tuple[int, int] | None = None  # of a site beside the others: the least and most met that chance gives
    mix: Adjusted | None = None  # the same with the mix of families allowed for; None where too few


@dataclass(frozen=True)
class Judgement:
    """Everything a report judges but its standards."""

    comparisons: tuple[Comparison, ...]

    def of(self, family: str) -> tuple[Comparison, ...]:
        """The comparisons of a family."""
        return tuple(one for one in self.comparisons if one.family == family)

    def marked(self, family: str, *marks: str) -> tuple[Comparison, ...]:
        """Those of a family that carry one of these marks."""
        return tuple(one for one in self.of(family) if one.verdict.mark in marks)

    def made(self, family: str) -> int:
        """How many comparisons of a family could be judged."""
        return sum(not one.weighed.cannot for one in self.of(family))

    def expected(self, family: str) -> float:
        """How many of a family chance alone would list, were there nothing.

        The sum of what each would be called at the first step. What Benjamini and Hochberg's later steps add where one
        is found: a / (1 - a)^2 in all (Finner and Roters 2002, Annals of Statistics 30:220-238).
        """
        first_step = sum(one.by_chance for one in self.of(family))
        return first_step if family in (SERVICE, BETWEEN) else first_step / (1 - first_step) ** 2

    def of_measure(self, measure: str) -> tuple[Comparison, ...]:
        """The comparisons of the whole service of a measure."""
        return tuple(one for one in self.of(SERVICE) if one.measure.name == measure)


@dataclass(frozen=True)
class Basis:
    """What a report is judged from."""

    measures: Sequence[Measure]
    breakdowns: Sequence[Breakdown]
    lookup: Lookup
    period: str
    primary: Sequence[str]
    year_starts: int = 4
    everyone: Group = Group()
    sites: Mapping[str, Group] = field(default_factory=dict)
    changed: Mapping[str, date] = field(default_factory=dict)  # measure -> since when its records mean something else
    mix: Mapping[tuple[str, str, str], Cells] = field(default_factory=dict)  # measure, period, site -> its families
