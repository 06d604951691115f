"""Divisions by somebody else: another service or a private provider, before, after or instead of one of ours.

Comes in: a Baby, its Course and a stream of draws. Goes out: the Course with the days of divisions elsewhere and their
provider. Refuses: to move any day of this service's own.
"""

from __future__ import annotations

from dataclasses import replace
from random import Random

from tests.demo_maker.baby import Baby
from tests.demo_maker.chance import between, likely, pick
from tests.demo_maker.course import Course
from tests.demo_maker.service import after

PROVIDERS = {"private": 0.6, "other_service": 0.4}
OPERATORS = {"private": "elsewhere", "other_service": "E01"}  # codes, as an export has them


def divided_elsewhere(draw: Random, baby: Baby, course: Course) -> Course:
    """Few: with no referral, while the family waits, which may end the wait for ours, or beside one of ours."""
    provider = pick(draw, PROVIDERS)
    if course.referral is None or course.outcome_day is None:
        if baby.tie in ("none", "submucosal") or not likely(draw, 0.02):
            return course
        return replace(course, elsewhere=(after(course.contacts[-1], between(draw, 2, 20)), provider))
    if course.divided is None:
        if baby.tie == "none" or not likely(draw, 0.2):
            return course
        told = replace(course, outcome="divided_elsewhere")
        # Of some the family said no more than that it was done.
        day = after(course.referral, between(draw, 1, (course.outcome_day - course.referral).days))
        return replace(told, elsewhere=(day, provider)) if likely(draw, 0.7) else told
    beside = pick(draw, {"before ours": 0.015, "after ours": 0.012, "no": 0.973})
    if beside == "before ours":  # the family kept its place at our clinic
        days = (course.divided - baby.first_contact).days
        return replace(course, elsewhere=(after(baby.first_contact, between(draw, 1, days - 4)), provider))
    if beside == "after ours":
        return replace(course, elsewhere=(after(course.divided, between(draw, 20, 70)), provider))
    return course
