"""The measures by name, with their kind, horizon and breakdowns.

In: nothing. Out: `measures_of(days)`, given the setting for being seen promptly. Refuses: to be the list of anything
else; the pipeline's own list is its folder.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from . import case_measures as of_case
from . import procedure_measures as of_procedure
from .answers import Answer
from .cases import Case

SIX_WEEKS_HORIZON = 14


@dataclass(frozen=True)
class Measure:
    """horizon: the days its eligibility waits for after the index date; by_route: route is a breakdown of it."""

    name: str
    kind: str
    horizon: int
    answers: Callable[[Case], list[Answer]]
    by_route: bool = False


def single(ask: Callable[[Case], Answer | None]) -> Callable[[Case], list[Answer]]:
    def answers(case: Case) -> list[Answer]:
        found = ask(case)
        return [] if found is None else [found]

    return answers


def measures_of(seen_promptly_days: int) -> tuple[Measure, ...]:
    def seen_promptly(case: Case) -> Answer | None:
        return of_case.seen_promptly(case, seen_promptly_days)

    def share(ask: Callable[[Case], Answer | None], horizon: int = 0, by_route: bool = False) -> Measure:
        return Measure(ask.__name__, "proportion", horizon, single(ask), by_route)

    def wait(ask: Callable[[Case], Answer | None]) -> Measure:
        return Measure(ask.__name__, "time to event", 0, single(ask))

    def share_of_procedures(ask: Callable[[Case], list[Answer]], horizon: int = 0) -> Measure:
        return Measure(ask.__name__, "proportion", horizon, ask)

    return (
        share(of_case.resolved_by_attachment_help, 42),
        share(seen_promptly),
        share(of_case.attachment_help_before_referral),
        share(of_case.function_assessed_before_referral),
        wait(of_case.days_to_referral),
        wait(of_case.days_from_referral_to_procedure),
        Measure("age_at_procedure", "days", 0, of_procedure.age_at_procedure),
        share_of_procedures(of_procedure.checks_before_procedure),
        share_of_procedures(of_procedure.fed_within_30_minutes),
        share_of_procedures(of_procedure.aftercare_advice_given),
        share_of_procedures(of_procedure.attachment_help_after_division, 7),
        share_of_procedures(of_procedure.complication_within_14_days, 14),
        share_of_procedures(of_procedure.bleeding_needing_care, 14),
        share_of_procedures(of_procedure.infection_within_14_days, 14),
        share_of_procedures(of_procedure.divided_again_within_84_days, 84),
        share_of_procedures(of_procedure.division_without_visible_tie),
        share(of_case.stopped_breastfeeding_while_waiting, 84),
        share(of_case.breastfed_at_6_weeks, SIX_WEEKS_HORIZON, by_route=True),
        share(of_case.exclusively_breastfed_at_6_weeks, SIX_WEEKS_HORIZON, by_route=True),
        share(of_case.fed_at_the_breast_at_6_weeks, SIX_WEEKS_HORIZON, by_route=True),
        share(of_case.asked_at_6_weeks, SIX_WEEKS_HORIZON, by_route=True),
        share(of_case.feeding_pain_eased, 28, by_route=True),
        share(of_case.birth_weight_regained_by_21_days, by_route=True),
    )
