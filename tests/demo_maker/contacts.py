"""The rows of `contacts` and `assessments` for one case.

Comes in: a Baby, its Course and its stream of draws. Goes out: rows as text, in order of day. Refuses: two contacts of
a case on one day, which would leave it to chance which of them counts.
"""

from __future__ import annotations

from datetime import date, timedelta
from random import Random

from tests.demo_maker.baby import Baby
from tests.demo_maker.chance import between, likely, pick, yes_no
from tests.demo_maker.course import Course
from tests.demo_maker.service import after, open_day


def contact_days(draw: Random, course: Course) -> tuple[date, ...]:
    """The course's own contacts, then those while waiting, after division and after a second one."""
    days = list(course.contacts)
    if course.referral is None:
        return tuple(days)
    if course.divided is None:
        if likely(draw, 0.8):
            days.append(after(course.outcome_day or course.referral, between(draw, 2, 9)))
    else:
        if (course.divided - course.referral).days >= 14 and likely(draw, 0.45):
            days.append(open_day(course.referral + (course.divided - course.referral) / 2))
        days += after_division(draw, course.divided)
        if course.reattached is not None:
            days.append(course.reattached)
        if course.divided_again is not None:
            days += after_division(draw, course.divided_again)
    return tuple(sorted(set(days)))


def after_division(draw: Random, divided: date) -> list[date]:
    """Most are seen within the week, some in the week after, some only rung the day after, some not at all."""
    seen = pick(draw, {"week": 0.66, "later": 0.11, "day after": 0.09, "not": 0.14})
    if seen == "not":
        return []
    if seen == "day after":
        return [divided + timedelta(days=1)]
    first = after(divided, between(draw, 2, 5) if seen == "week" else between(draw, 9, 12))
    return [first, after(first, between(draw, 7, 13))] if likely(draw, 0.3) else [first]


def status_at(draw: Random, course: Course, place: int, number: int, day: date) -> str:
    """The problem as found: at the end of a settled case resolved, after division mostly better, before it not."""
    ending = course.settled and place == number - 1
    if likely(draw, 0.02 if ending else 0.06):
        return pick(draw, {"not_recorded": 0.5, "": 0.5})
    if course.referral is not None:
        if course.divided is not None and day > course.divided:
            return pick(draw, {"resolved": 0.46, "improved": 0.38, "unchanged": 0.13, "worse": 0.03})
        if course.outcome_day is not None and course.divided is None and day > course.outcome_day:
            return pick(draw, {"resolved": 0.4, "improved": 0.4, "unchanged": 0.2})
        return pick(draw, {"improved": 0.28, "unchanged": 0.59, "worse": 0.13})
    if ending:
        return "resolved"
    if place == 0:
        return pick(draw, {"unchanged": 0.62, "improved": 0.28, "worse": 0.10})
    return pick(draw, {"improved": 0.75, "unchanged": 0.2, "worse": 0.05})


def pain_at(draw: Random, course: Course, first_score: int, place: int, number: int, day: date) -> int:
    """Pain falls from contact to contact: furthest where feeding settled, and after division."""
    if course.referral is None:
        left = 1 - (0.8 if course.settled else 0.35) * (place / max(1, number - 1) if number > 1 else 0)
    elif course.divided is not None and day > course.divided:
        left = 0.35
    else:
        left = 1 - 0.12 * place
    return max(0, min(10, round(first_score * left) + (between(draw, -1, 1) if place else 0)))


def contact_rows(draw: Random, baby: Baby, course: Course) -> list[dict[str, str]]:
    """The rows of `contacts`, with the extra column that is in no layout."""
    days = contact_days(draw, course)
    first_score = between(draw, 4, 9) if baby.sore else between(draw, 0, 3)
    rows = []
    for place, day in enumerate(days):
        mode = pick(
            draw,
            {"in_person": 0.82, "video": 0.05, "phone": 0.08, "group": 0.05}
            if place == 0
            else {"in_person": 0.6, "phone": 0.24, "video": 0.1, "group": 0.06},
        )
        after_first_division = course.divided is not None and day > course.divided
        rows.append(
            {
                "case_ref": baby.case_ref,
                "contact_date": day.isoformat(),
                "practitioner": baby.lead if place == 0 or likely(draw, 0.72) else colleague(draw, baby),
                "mode": mode,
                "attachment_help": yes_no(draw, 0.88 if place == 0 else 0.82 if after_first_division else 0.62, 0.06),
                "problem_status": status_at(draw, course, place, len(days), day),
                "pain_score": (
                    str(pain_at(draw, course, first_score, place, len(days), day)) if likely(draw, 0.84) else ""
                ),
                "weight_g": (
                    str(baby.weight_on(draw, day)) if mode in ("in_person", "group") and likely(draw, 0.84) else ""
                ),
                "notes_flag": pick(draw, {"n": 0.8, "y": 0.2}),
            }
        )
    return rows


def colleague(draw: Random, baby: Baby) -> str:
    """Another practitioner of the site."""
    others = [code for code in baby.site.practitioners if code != baby.lead]
    return others[between(draw, 0, len(others) - 1)]


def assessment_rows(draw: Random, tongue: Random, baby: Baby, course: Course) -> list[dict[str, str]]:
    """Nearly every referred baby is assessed by the day of referral, and most others in whom a tie would be found."""
    if course.referral is not None:
        if likely(draw, 0.05):
            return []
        day = course.referral if likely(draw, 0.45) else baby.first_contact
        if likely(draw, 0.05):  # written up too late: after the referral
            day = after(course.referral, 3)
        days = [day]
        if day > baby.first_contact and day == course.referral and likely(draw, 0.15):
            days.insert(0, baby.first_contact)
    elif likely(draw, 0.62 if baby.tie == "none" else 0.92):
        days = [course.contacts[-1] if likely(draw, 0.2) else baby.first_contact]
    else:
        return []
    return [assessment(draw, tongue, baby, day) for day in days]


def assessment(draw: Random, tongue: Random, baby: Baby, day: date) -> dict[str, str]:
    """One row of `assessments`: what was found of the tongue, not all of it written down."""
    limits = (
        {"full": 0.9, "limited": 0.09, "absent": 0.01}
        if baby.tie == "none"
        else {"full": 0.3, "limited": 0.62, "absent": 0.08}
    )
    items = likely(draw, 0.66)
    most = baby.site.most_function  # about three quarters of it is a tongue that works well
    score = between(draw, 3 * most // 4, most) if baby.tie == "none" else between(draw, most // 4, 3 * most // 4)
    return {
        "case_ref": baby.case_ref,
        "assessment_date": day.isoformat(),
        "practitioner": baby.lead if likely(draw, 0.8) else colleague(draw, baby),
        "tie_type": baby.tie if likely(draw, 0.96) else "not_recorded",
        "extension": pick(draw, limits) if items else "",
        "elevation": pick(tongue, limits) if items else "",
        "lateralisation": pick(tongue, limits) if items and likely(tongue, 0.9) else "",
        "cupping": pick(draw, limits) if items else "",
        "peristalsis": pick(draw, limits) if items and likely(draw, 0.93) else "",
        "function_score": str(score) if likely(draw, 0.82) else "",
    }


def closing_day(draw: Random, last: date) -> date:
    """One to three weeks after the last that happened."""
    return open_day(last + timedelta(days=between(draw, 7, 21)))
