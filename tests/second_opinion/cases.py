"""Accepted rows to cases: one object a case, holding what every measure may ask of it.

In: the accepted rows of an export and the cut-off. Out: `Case` objects. Refuses: to decide anything about a measure.
Recorded means not empty, not not_known, not not_recorded; a value that is not recorded is None from here on.
Procedures before first_contact_date are kept apart as `divided_before` and are in no list.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from typing import TypeVar

from .accepting import Export, Values, day, number, text

Child = TypeVar("Child")


@dataclass(frozen=True)
class Contact:
    day: date
    practitioner: str | None
    written_practitioner: str  # as written: two different words for "nothing" are still two practitioners written
    attachment_help: str | None
    status: str | None
    pain: int | None
    weight: int | None


@dataclass(frozen=True)
class Assessment:
    day: date
    tie_type: str | None
    three_parts: bool  # extension, cupping and peristalsis all recorded
    function_score: int | None


@dataclass(frozen=True)
class Referral:
    day: date
    outcome: str | None
    outcome_date: date | None


@dataclass(frozen=True)
class Procedure:
    day: date
    operator: str | None
    tie_type: str | None
    consent: str | None
    bleeding_history: str | None
    vitamin_k: str | None
    minutes_to_feed: int | None
    aftercare: str | None


@dataclass(frozen=True)
class Complication:
    day: date
    kind: str
    severity: str | None


@dataclass(frozen=True)
class FeedingCheck:
    day: date
    feeding: str | None
    at_breast: str | None


@dataclass(frozen=True)
class Case:
    ref: str
    cut_off: date
    site: str | None
    help_requested: date | None
    first_contact: date
    age_days: int
    closed_date: date | None
    closed_reason: str | None
    sex: str | None
    first_baby: str | None
    decile: int | None
    ethnic_group: str | None
    feeding_at_first: str | None
    birth_weight: int | None
    divided_before: bool
    contacts: tuple[Contact, ...]
    assessments: tuple[Assessment, ...]
    referrals: tuple[Referral, ...]
    procedures: tuple[Procedure, ...]
    complications: tuple[Complication, ...]
    checks: tuple[FeedingCheck, ...]


def recorded(values: Values, name: str) -> str | None:
    value = text(values, name)
    return None if value in ("not_known", "not_recorded") else value


def the_day(values: Values, name: str) -> date:
    value = day(values, name)
    assert value is not None, name
    return value


def contact(values: Values) -> Contact:
    return Contact(
        the_day(values, "contact_date"),
        recorded(values, "practitioner"),
        str(text(values, "practitioner")),
        recorded(values, "attachment_help"),
        recorded(values, "problem_status"),
        number(values, "pain_score"),
        number(values, "weight_g"),
    )


def assessment(values: Values) -> Assessment:
    parts = [recorded(values, name) for name in ("extension", "cupping", "peristalsis")]
    return Assessment(
        the_day(values, "assessment_date"),
        recorded(values, "tie_type"),
        None not in parts,
        number(values, "function_score"),
    )


def referral(values: Values) -> Referral:
    return Referral(the_day(values, "referral_date"), recorded(values, "outcome"), day(values, "outcome_date"))


def procedure(values: Values) -> Procedure:
    return Procedure(
        the_day(values, "procedure_date"),
        recorded(values, "operator"),
        recorded(values, "tie_type"),
        recorded(values, "consent_recorded"),
        recorded(values, "bleeding_history_asked"),
        recorded(values, "vitamin_k"),
        number(values, "minutes_to_first_feed"),
        recorded(values, "aftercare_advice"),
    )


def complication(values: Values) -> Complication:
    return Complication(the_day(values, "noted_date"), str(text(values, "kind")), recorded(values, "severity"))


def feeding_check(values: Values) -> FeedingCheck:
    return FeedingCheck(the_day(values, "check_date"), recorded(values, "feeding"), recorded(values, "at_breast"))


def by_case(rows: list[Values], read: Callable[[Values], Child]) -> dict[str, list[Child]]:
    found: dict[str, list[Child]] = {}
    for values in rows:
        found.setdefault(str(text(values, "case_ref")), []).append(read(values))
    return found


def cases_of(export: Export, cut_off: date) -> list[Case]:
    """Every accepted case with its accepted rows, in the order of the file."""
    contacts = by_case(export.accepted["contacts"], contact)
    assessments = by_case(export.accepted["assessments"], assessment)
    referrals = by_case(export.accepted["referrals"], referral)
    procedures = by_case(export.accepted["procedures"], procedure)
    complications = by_case(export.accepted["complications"], complication)
    checks = by_case(export.accepted["feeding_checks"], feeding_check)
    cases = []
    for values in export.accepted["cases"]:
        ref, first_contact = str(text(values, "case_ref")), the_day(values, "first_contact_date")
        age = number(values, "age_days")
        assert age is not None
        divided = procedures.get(ref, [])
        cases.append(
            Case(
                ref=ref,
                cut_off=cut_off,
                site=recorded(values, "site"),
                help_requested=day(values, "help_requested_date"),
                first_contact=first_contact,
                age_days=age,
                closed_date=day(values, "closed_date"),
                closed_reason=recorded(values, "closed_reason"),
                sex=recorded(values, "sex"),
                first_baby=recorded(values, "first_baby"),
                decile=number(values, "deprivation_decile"),
                ethnic_group=recorded(values, "ethnic_group"),
                feeding_at_first=recorded(values, "feeding_at_first_contact"),
                birth_weight=number(values, "birth_weight_g"),
                divided_before=any(done.day < first_contact for done in divided),
                contacts=tuple(contacts.get(ref, [])),
                assessments=tuple(assessments.get(ref, [])),
                referrals=tuple(referrals.get(ref, [])),
                procedures=tuple(done for done in divided if done.day >= first_contact),
                complications=tuple(complications.get(ref, [])),
                checks=tuple(checks.get(ref, [])),
            )
        )
    return cases
