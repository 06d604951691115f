"""What is derived once for every case, each by its own sentence of the definitions.

In: a case. Out: a date, a code or a list. Refuses: to rest on the order of lines; every choice is by value.
"""

from __future__ import annotations

from datetime import date, timedelta

from .cases import Case, Contact, FeedingCheck, Procedure

STATUS_WORST_FIRST = ("worse", "unchanged", "improved", "resolved")
OPEN_FIRST = ("accepted", "waiting", None, "not_indicated", "declined_by_parent", "not_brought", "withdrawn")
NOT_GOING_AHEAD = ("not_indicated", "declined_by_parent", "not_brought", "withdrawn")
MOST_BREAST_MILK_FIRST = ("exclusive", "partial", "none")
TIE_TYPES = ("none", "anterior", "posterior", "submucosal")
ENDS_FOLLOW_UP = ("moved", "care_elsewhere", "died")


def plus(start: date, days: int) -> date:
    return start + timedelta(days=days)


def birth(case: Case) -> date:
    return plus(case.first_contact, -case.age_days)


def attachment_help_date(case: Case) -> date | None:
    return min((contact.day for contact in case.contacts if contact.attachment_help == "yes"), default=None)


def referral_date(case: Case) -> date | None:
    return min((referral.day for referral in case.referrals), default=None)


def procedure_date(case: Case) -> date | None:
    return min((procedure.day for procedure in case.procedures), default=None)


def first_procedure(case: Case) -> Procedure | None:
    """Of the first day; of several, first by operator, then by tie type, by code point, nothing recorded first.

    None sorts as the empty text, which no recorded value is.
    """
    first_day = [procedure for procedure in case.procedures if procedure.day == procedure_date(case)]
    return min(first_day, key=lambda done: (done.operator or "", done.tie_type or ""), default=None)


def status_on(case: Case, on: date) -> str | None:
    """Of the latest contact on or before the day that records one; on one day the worse."""
    told = [contact for contact in case.contacts if contact.status is not None and contact.day <= on]
    if not told:
        return None
    latest = max(contact.day for contact in told)
    found = [contact.status for contact in told if contact.day == latest]
    return next(status for status in STATUS_WORST_FIRST if status in found)


def resolved_date(case: Case) -> date | None:
    """The first day whose status is resolved, if before the referral date or never referred."""
    first = next((on for on in sorted({c.day for c in case.contacts}) if status_on(case, on) == "resolved"), None)
    referred = referral_date(case)
    return first if first is not None and (referred is None or first < referred) else None


def latest_outcome(case: Case) -> tuple[str | None, date | None]:
    """Outcome and outcome date of the latest referral; two on one day: the most open, then the earliest date."""
    if not case.referrals:
        return None, None
    latest = max(referral.day for referral in case.referrals)
    found = [referral for referral in case.referrals if referral.day == latest]
    chosen = min(found, key=lambda one: (OPEN_FIRST.index(one.outcome), one.outcome_date or date.max))
    return chosen.outcome, chosen.outcome_date


def not_going_ahead(case: Case) -> bool:
    return latest_outcome(case)[0] in NOT_GOING_AHEAD


def not_going_ahead_date(case: Case) -> date | None:
    return latest_outcome(case)[1] if not_going_ahead(case) else None


def end_of_follow_up(case: Case) -> date:
    if case.closed_reason in ENDS_FOLLOW_UP and case.closed_date is not None:
        return min(case.cut_off, case.closed_date)
    return case.cut_off


def tie_type(case: Case) -> str | None:
    told = [found for found in case.assessments if found.tie_type is not None]
    if not told:
        return None
    latest = max(found.day for found in told)
    return max((str(found.tie_type) for found in told if found.day == latest), key=TIE_TYPES.index)


def lead_practitioner(case: Case) -> str | None:
    helped = attachment_help_date(case)
    asked: list[Contact]
    if helped is not None:
        asked = [c for c in case.contacts if c.day == helped and c.attachment_help == "yes"]
    else:
        first = min((c.day for c in case.contacts), default=None)
        asked = [c for c in case.contacts if c.day == first]
    if len({c.written_practitioner for c in asked}) != 1:
        return None
    return asked[0].practitioner


def six_week_date(case: Case) -> date:
    return plus(birth(case), 42)


def six_week_check(case: Case) -> FeedingCheck | None:
    """The nearest recorded check in the window; then the later, the most breast milk, at_breast yes before no."""
    low, middle, high = plus(birth(case), 35), six_week_date(case), plus(birth(case), 56)
    window = [check for check in case.checks if check.feeding is not None and low <= check.day <= high]
    return min(
        window,
        key=lambda check: (
            abs((check.day - middle).days),
            -check.day.toordinal(),
            MOST_BREAST_MILK_FIRST.index(str(check.feeding)),
            ("yes", "no", None).index(check.at_breast),
        ),
        default=None,
    )


def seen_after(case: Case, procedure: Procedure) -> bool:
    days = [contact.day for contact in case.contacts] + [check.day for check in case.checks]
    return any(plus(procedure.day, 1) <= on <= plus(procedure.day, 14) for on in days)


def route(case: Case) -> str:
    if case.procedures:
        return "divided"
    if not_going_ahead(case):
        return "not_going_ahead"
    if case.referrals:
        return "waiting"
    if status_on(case, case.cut_off) == "resolved" or case.closed_reason == "settled":
        return "settled"
    return "closed" if case.closed_date is not None else "in_support"
