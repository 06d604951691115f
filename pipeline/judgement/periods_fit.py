"""Which periods of a group can be judged at all, how many of them together, and what a comparison is before its family.

Comes in: what a report is judged from. Goes out: periods, a Comparison without its verdict. Refuses, by leaving them
out: periods in which the records of the group had only begun.
"""

from __future__ import annotations

import math
from datetime import timedelta

from pipeline.contracts.measure_files import Measure
from pipeline.judgement.comparing import Weighed
from pipeline.judgement.judged import Basis, Comparison, Group
from pipeline.judgement.sides import POOLED, span
from pipeline.judgement.verdict import Verdict
from pipeline.outcomes.periods import QUARTER, first_day, kind

SITE, NOT_RECORDED = "site", "not_recorded"
SMALL_SITE = 75  # cases a quarter, from which on a site is judged on one quarter
BEGINNING = timedelta(days=84)  # before, what happened to a case may lie before its records
OTHERS = ()  # beside all others there is no other time


def fit(basis: Basis, records: Group, period: str) -> bool:
    """Whether the records of a group had begun long enough before a period."""
    return records.begun is None or first_day(period, basis.year_starts) >= records.begun + BEGINNING


def is_small(records: Group, period: str) -> bool:
    """Whether a site sees too few for one quarter to say much."""
    seen = [records.cases.get(name, 0) for name in span(period)]
    quarters = POOLED if kind(period) == QUARTER else 1
    a_quarter = 1 if kind(period) == QUARTER else POOLED
    return sum(seen) < SMALL_SITE * quarters * a_quarter


def unjudged(
    family: str,
    measure: Measure,
    about: str,
    group: tuple[str, str],
    now: tuple[str, ...],
    then: tuple[str, ...],
    weighed: Weighed,
) -> Comparison:
    """A comparison before its family is looked at as a whole."""
    verdict = Verdict(weighed.mark, weighed.cannot)
    return Comparison(family, measure, about, *group, now, then, weighed, verdict, math.nan, 0.0)
