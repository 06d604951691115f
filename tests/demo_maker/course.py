"""What becomes of a case: whether it settles with help, is referred, divided, divided again, and when it is closed.

Comes in: a Baby and its stream of draws. Goes out: a frozen Course of days, with no regard to the cut-off; what lies
after it is left out when the rows are written. Refuses: to let anything but the referral's day change a wait.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from random import Random

from tests.demo_maker.baby import Baby
from tests.demo_maker.chance import between, likely, pick
from tests.demo_maker.service import after, open_day, wait_range

REFERRED = {"none": 0.04, "anterior": 0.66, "posterior": 0.6, "submucosal": 0.34}
DIVIDED = {"none": 0.06, "anterior": 0.86, "posterior": 0.81, "submucosal": 0.34}


@dataclass(frozen=True)
class Course:
    """The days on which something happens to a case."""

    contacts: tuple[date, ...]  # up to the referral, or all of them where there is none
    settled: bool  # with help alone
    referral: date | None
    outcome: str  # of the referral, once it is known
    outcome_day: date | None
    divided: date | None
    reattached: date | None
    referred_again: date | None
    divided_again: date | None
    closed_reason: str
    elsewhere: tuple[date, str] | None = None  # a division by another provider, and which


def visits(draw: Random, first: date, number: int) -> tuple[date, ...]:
    """So many contacts from the first on, some days apart; now and then one comes late."""
    days = [first]
    while len(days) < number:
        gap = between(draw, 4, 10) if likely(draw, 0.95) else between(draw, 17, 30)
        days.append(after(days[-1], gap))
    return tuple(days)


def make_course(draw: Random, baby: Baby) -> Course:
    """The course of a case: referred, or not."""
    return referred_course(draw, baby) if likely(draw, REFERRED[baby.tie]) else unreferred_course(draw, baby)


def unreferred_course(draw: Random, baby: Baby) -> Course:
    """Most settle with help alone; some are lost sight of, stop breastfeeding or are left open."""
    ending = pick(
        draw,
        {"settled": 0.94, "no_reply": 0.022, "moved": 0.01, "care_elsewhere": 0.006, "": 0.022},
    )
    if baby.feeding_later == "none" and baby.feeding_at_first != "none" and likely(draw, 0.4):
        ending = "stopped_breastfeeding"
    if ending == "settled":
        number = int(pick(draw, {"1": 0.1, "2": 0.44, "3": 0.31, "4": 0.12, "5": 0.03}))
    else:
        number = int(pick(draw, {"1": 0.3, "2": 0.42, "3": 0.22, "4": 0.06}))
    return Course(
        contacts=visits(draw, baby.first_contact, number),
        settled=ending == "settled",
        referral=None,
        outcome="",
        outcome_day=None,
        divided=None,
        reattached=None,
        referred_again=None,
        divided_again=None,
        closed_reason=ending,
    )


def referred_course(draw: Random, baby: Baby) -> Course:
    """Most families have had help on an earlier day; about one in ten is referred on the day of first contact."""
    contacts = [baby.first_contact]
    if likely(draw, 0.1):
        referral = baby.first_contact
    else:
        referral = after(baby.first_contact, between(draw, 5, 20))
        if (referral - baby.first_contact).days >= 12 and likely(draw, 0.6):
            contacts.append(open_day(baby.first_contact + (referral - baby.first_contact) / 2))
        if likely(draw, 0.75):
            contacts.append(referral)
    clinic = clinic_day(draw, baby, referral)
    if likely(draw, DIVIDED[baby.tie]):
        return divided_course(draw, tuple(contacts), referral, clinic)
    if baby.tie in ("none", "submucosal"):
        outcome = pick(draw, {"not_indicated": 0.7, "declined_by_parent": 0.12, "not_brought": 0.06, "withdrawn": 0.12})
    else:
        outcome = pick(draw, {"not_indicated": 0.2, "declined_by_parent": 0.35, "not_brought": 0.2, "withdrawn": 0.25})
    outcome_day = clinic if outcome == "not_brought" else after(referral, between(draw, 4, 17))
    return Course(
        contacts=tuple(contacts),
        settled=False,
        referral=referral,
        outcome=outcome,
        outcome_day=outcome_day,
        divided=None,
        reattached=None,
        referred_again=None,
        divided_again=None,
        closed_reason="settled"
        if outcome in ("withdrawn", "declined_by_parent")
        else pick(draw, {"settled": 0.6, "": 0.4}),
    )


def clinic_day(draw: Random, baby: Baby, referral: date) -> date:
    """The day of division, if it comes to that: within the range that holds for the site at the time of referral."""
    shortest, longest = wait_range(baby.site, referral)
    return after(referral, between(draw, shortest, longest))


def divided_course(draw: Random, contacts: tuple[date, ...], referral: date, clinic: date) -> Course:
    """Divided at the clinic; a few grow together again, and some of those are divided again."""
    reattached = referred_again = divided_again = None
    if likely(draw, 0.04):
        reattached = after(clinic, between(draw, 12, 30))
        if likely(draw, 0.5):
            referred_again = reattached
            divided_again = after(reattached, between(draw, 8, 24))
    return Course(
        contacts=contacts,
        settled=False,
        referral=referral,
        outcome="accepted",
        outcome_day=min(after(referral, between(draw, 1, 5)), clinic - timedelta(days=1)),
        divided=clinic,
        reattached=reattached,
        referred_again=referred_again,
        divided_again=divided_again,
        closed_reason=pick(draw, {"settled": 0.72, "no_reply": 0.06, "moved": 0.02, "": 0.2}),
    )
