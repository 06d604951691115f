"""The rows of `feeding_checks` for one case.

Comes in: a Baby, its Course, its contacts, the day it was closed and its stream of draws. Goes out: rows as text, in
order of day. Refuses: two checks of a case on one day.
"""

from __future__ import annotations

from datetime import date, timedelta
from random import Random

from tests.demo_maker.baby import Baby
from tests.demo_maker.chance import between, likely, pick, yes_no
from tests.demo_maker.course import Course
from tests.demo_maker.service import after, open_day

REASONS = {"low_supply": 0.34, "choice": 0.26, "pain": 0.18, "advised": 0.08, "other": 0.08, "return_to_work": 0.06}
LOST_SIGHT_OF = ("moved", "care_elsewhere")


def check_days(draw: Random, baby: Baby, course: Course, contacts: list[date], closed: date | None) -> list[date]:
    """At first contact often, while waiting mostly, after division and six weeks later; and at six weeks of age.

    The six-week calls are made as often as the site manages.
    """
    days = {baby.first_contact} if likely(draw, 0.55) else set()
    if course.referral is not None and likely(draw, 0.74):
        waited = [day for day in contacts if course.referral < day < (course.divided or course.outcome_day or day)]
        days.add(waited[0] if waited else after(course.referral, between(draw, 3, 7)))
    if course.divided is not None:
        seen = [day for day in contacts if 0 < (day - course.divided).days <= 14]
        if seen and likely(draw, 0.6):
            days.add(seen[0])
        elif not seen and likely(draw, 0.4):
            days.add(after(course.divided, between(draw, 4, 10)))
    if likely(draw, baby.site.asked_at_six_weeks):
        call = open_day(baby.born + timedelta(days=between(draw, 38, 51)))
    else:
        # Reached too late for the six-week answer, or not at all.
        call = open_day(baby.born + timedelta(days=between(draw, 60, 75))) if likely(draw, 0.2) else date.min
    calls = [call]
    if course.divided is not None and likely(draw, 0.9 * baby.site.asked_at_six_weeks):
        calls.append(open_day(course.divided + timedelta(days=between(draw, 36, 50))))
    days |= {day for day in calls if closed is None or course.closed_reason not in LOST_SIGHT_OF or day <= closed}
    return sorted(day for day in days if day >= baby.first_contact)


def check_rows(
    draw: Random, baby: Baby, course: Course, contacts: list[date], closed: date | None
) -> list[dict[str, str]]:
    """The rows of `feeding_checks`; the reason for stopping is asked once."""
    rows = []
    reason_given = False
    for day in check_days(draw, baby, course, contacts, closed):
        feeding = baby.feeding_on(day) if likely(draw, 0.985) else "not_known"
        reason = ""
        if feeding == "none" and baby.feeding_at_first != "none" and not reason_given:
            reason_given = True
            reason = pick(draw, REASONS) if likely(draw, 0.85) else ""
        rows.append(
            {
                "case_ref": baby.case_ref,
                "check_date": day.isoformat(),
                "feeding": feeding,
                "at_breast": at_breast(draw, feeding),
                "reason_stopped": reason,
            }
        )
    return rows


def at_breast(draw: Random, feeding: str) -> str:
    """Whether fed at the breast, as far as it was asked."""
    if feeding == "none":
        return yes_no(draw, 0, 0.4)
    return "" if feeding == "not_known" else yes_no(draw, 0.93 if feeding == "exclusive" else 0.83, 0.04)
