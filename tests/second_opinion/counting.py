"""Answers to the rows of the results file.

In: the answers of one measure, by quarter. Out: a `Result` for each breakdown and level. Refuses: to round.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from fractions import Fraction

from .answers import Answer
from .derived import lead_practitioner, route, tie_type
from .intervals import incidence, incidence_limits, quantile, wilson
from .measures import Measure

READ_ON_DAY = 28


@dataclass(frozen=True)
class Result:
    """One row of the results file without its key; what is undefined is None. complete is yes or no."""

    eligible: int
    known: int
    met: int | None
    unknown: int | None
    value: float | None
    lower: float | None
    upper: float | None
    bound_low: float | None
    bound_high: float | None
    complete: str


def period_of(on: date) -> str:
    return f"{on.year}Q{(on.month + 2) // 3}"


def next_period(period: str) -> str:
    year, part = int(period[:4]), int(period[5])
    return f"{year + 1}Q1" if part == 4 else f"{year}Q{part + 1}"


def last_day(period: str) -> date:
    year, part = int(next_period(period)[:4]), int(next_period(period)[5])
    return date(year, 3 * part - 2, 1) - timedelta(days=1)


def periods(first: str, last: str) -> list[str]:
    found = []
    while first <= last:
        found.append(first)
        first = next_period(first)
    return found


def age_band(age: int) -> str:
    return "0-6" if age < 7 else "7-13" if age < 14 else "14-27" if age < 28 else "28+"


def levels(measure: Measure, answer: Answer) -> dict[str, str]:
    """The level of one answer in every breakdown of its measure."""
    case, done = answer.case, answer.procedure
    fifth = None if case.decile is None else str((case.decile + 1) // 2)
    found = {
        "all": "all",
        "site": case.site,
        "practitioner": lead_practitioner(case) if done is None else done.operator,
        "tie_type": (done.tie_type if done is not None else None) or tie_type(case),
        "deprivation_fifth": fifth,
        "ethnic_group": case.ethnic_group,
        "sex": case.sex,
        "first_baby": case.first_baby,
        "age_band": age_band(case.age_days),
        "divided_before": "yes" if case.divided_before else "no",
    }
    if measure.by_route:
        found["route"] = route(case)
    return {breakdown: level if level is not None else "not_recorded" for breakdown, level in found.items()}


def result(measure: Measure, period: str, cut_off: date, answers: Sequence[Answer]) -> Result:
    complete = "yes" if last_day(period) + timedelta(days=measure.horizon) <= cut_off else "no"
    if measure.kind == "proportion":
        return proportion(answers, complete)
    if measure.kind == "days":
        return days(answers, complete)
    return waits(answers, complete)


def proportion(answers: Sequence[Answer], complete: str) -> Result:
    eligible = len(answers)
    met = sum(1 for answer in answers if answer.result is True)
    unknown = sum(1 for answer in answers if answer.result is None)
    known = eligible - unknown
    lower, upper = wilson(met, known)
    return Result(
        eligible=eligible,
        known=known,
        met=met,
        unknown=unknown,
        value=met / known if known else None,
        lower=lower,
        upper=upper,
        bound_low=met / eligible if eligible else None,
        bound_high=(met + unknown) / eligible if eligible else None,
        complete=complete,
    )


def days(answers: Sequence[Answer], complete: str) -> Result:
    ages = [answer.days for answer in answers]
    value, lower, upper = (quantile(ages, Fraction(part, 4)) for part in (2, 1, 3))
    return Result(len(ages), len(ages), None, None, value, lower, upper, None, None, complete)


def waits(answers: Sequence[Answer], complete: str) -> Result:
    times = [(answer.days, answer.event) for answer in answers]
    met = sum(1 for _, event in times if event == 1)
    unknown = sum(1 for _, event in times if event == 0)
    found = incidence(times, 1, READ_ON_DAY)
    value = lower = upper = None
    if found is not None:
        value = float(found[0])
        lower, upper = incidence_limits(*found)
    return Result(len(times), len(times) - unknown, met, unknown, value, lower, upper, None, None, complete)
