"""The fifteen measures whose practitioner and tie type are those of the case.

In: a case. Out: an answer, or None where the case is not eligible. Refuses: to know of quarters or breakdowns.
"""

from __future__ import annotations

from datetime import date

from .answers import Answer
from .cases import Case, FeedingCheck
from .derived import (
    MOST_BREAST_MILK_FIRST,
    attachment_help_date,
    birth,
    end_of_follow_up,
    not_going_ahead_date,
    plus,
    procedure_date,
    referral_date,
    resolved_date,
    six_week_check,
    six_week_date,
    status_on,
)

LONGEST_WAIT = 84


def resolved_by_attachment_help(case: Case) -> Answer | None:
    helped, judged = attachment_help_date(case), plus(case.first_contact, 42)
    if helped is None or helped > judged or judged > case.cut_off:
        return None
    other_road = (
        any(referral.day <= judged for referral in case.referrals)
        or any(procedure.day <= judged for procedure in case.procedures)
        or any(check.feeding == "none" and check.day <= judged for check in case.checks)
    )
    status = status_on(case, judged)
    met = status == "resolved" and not other_road
    unknown = not other_road and status is None
    return Answer(case, case.first_contact, None if unknown else met)


def seen_promptly(case: Case, days: int) -> Answer | None:
    if case.help_requested is None:
        return None
    return Answer(case, case.first_contact, case.first_contact <= plus(case.help_requested, days))


def attachment_help_before_referral(case: Case) -> Answer | None:
    referred = referral_date(case)
    if referred is None:
        return None
    earlier = [contact.attachment_help for contact in case.contacts if contact.day < referred]
    return Answer(case, referred, True if "yes" in earlier else None if None in earlier else False)


def function_assessed_before_referral(case: Case) -> Answer | None:
    referred = referral_date(case)
    if referred is None:
        return None
    met = any(
        found.day <= referred and found.tie_type is not None and (found.function_score is not None or found.three_parts)
        for found in case.assessments
    )
    return Answer(case, referred, met)


def wait(case: Case, start: date, first: date | None, competing: date | None) -> Answer:
    """Time from start to the earlier event, if by the end of follow-up and day 84; a negative time is at risk never."""
    last = min(end_of_follow_up(case), plus(start, LONGEST_WAIT))
    events = [(on, event) for on, event in ((first, 1), (competing, 2)) if on is not None and on <= last]
    on, event = min(events, default=(last, 0))
    return Answer(case, start, days=(on - start).days, event=event)


def days_to_referral(case: Case) -> Answer:
    return wait(case, case.first_contact, referral_date(case), resolved_date(case))


def days_from_referral_to_procedure(case: Case) -> Answer | None:
    referred = referral_date(case)
    if referred is None:
        return None
    divided = min((done.day for done in case.procedures if done.day >= referred), default=None)
    stopped, first_divided = not_going_ahead_date(case), procedure_date(case)
    if stopped is not None and first_divided is not None and first_divided <= stopped:
        stopped = None
    return wait(case, referred, divided, stopped)


def stopped_breastfeeding_while_waiting(case: Case) -> Answer | None:
    referred = referral_date(case)
    if referred is None or case.feeding_at_first not in ("exclusive", "partial"):
        return None
    ends = [done.day for done in case.procedures if done.day >= referred] + [plus(referred, LONGEST_WAIT)]
    stopped = not_going_ahead_date(case)
    if stopped is not None:
        ends.append(stopped)
    end = min(ends)
    if end > case.cut_off:
        return None
    told = [check for check in case.checks if check.feeding is not None and referred <= check.day <= end]
    if not told:
        return Answer(case, referred)
    latest = [str(check.feeding) for check in told if check.day == max(one.day for one in told)]
    return Answer(case, referred, min(latest, key=MOST_BREAST_MILK_FIRST.index) == "none")


def followed_to_six_weeks(case: Case) -> bool:
    return (
        case.feeding_at_first in ("exclusive", "partial")
        and case.age_days < 28
        and plus(birth(case), 56) <= case.cut_off
        and case.closed_reason != "died"
    )


def at_six_weeks(case: Case, exclusively: bool) -> Answer | None:
    if not followed_to_six_weeks(case):
        return None
    check = six_week_check(case)
    counts = ("exclusive",) if exclusively else ("exclusive", "partial")
    return Answer(case, six_week_date(case), None if check is None else check.feeding in counts)


def breastfed_at_6_weeks(case: Case) -> Answer | None:
    return at_six_weeks(case, exclusively=False)


def exclusively_breastfed_at_6_weeks(case: Case) -> Answer | None:
    return at_six_weeks(case, exclusively=True)


def fed_at_the_breast_at_6_weeks(case: Case) -> Answer | None:
    if not followed_to_six_weeks(case):
        return None
    return Answer(case, six_week_date(case), directly_fed(six_week_check(case)))


def directly_fed(check: FeedingCheck | None) -> bool | None:
    if check is None:
        return None
    if check.feeding == "none":
        return False
    return None if check.at_breast is None else check.at_breast == "yes"


def asked_at_6_weeks(case: Case) -> Answer | None:
    if not followed_to_six_weeks(case):
        return None
    return Answer(case, six_week_date(case), six_week_check(case) is not None)


def feeding_pain_eased(case: Case) -> Answer | None:
    scores = [(contact.day, contact.pain) for contact in case.contacts if contact.pain is not None]
    judged = plus(case.first_contact, 28)
    if not scores or judged > case.cut_off:
        return None
    start = min(on for on, _ in scores)
    first = max(pain for on, pain in scores if on == start)
    if first < 4 or start > plus(case.first_contact, 7):
        return None
    later = [(on, pain) for on, pain in scores if start < on <= judged]
    if not later:
        return Answer(case, case.first_contact)
    return Answer(case, case.first_contact, max(later)[1] <= first - 2)  # the latest day, its higher score


def birth_weight_regained_by_21_days(case: Case) -> Answer | None:
    born = birth(case)
    judged = plus(born, 21)
    if case.birth_weight is None or case.first_contact > judged or judged > case.cut_off:
        return None
    weights = [(contact.day, contact.weight) for contact in case.contacts if contact.weight is not None]
    if any(plus(born, 5) <= on <= judged and weight >= case.birth_weight for on, weight in weights):
        return Answer(case, judged, True)
    return Answer(case, judged, False if any(plus(born, 14) <= on <= judged for on, _ in weights) else None)
