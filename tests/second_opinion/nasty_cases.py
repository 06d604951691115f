"""Cases dense in edges: few distinct days, so that ties, same-day events and boundary days happen all the time.

In: a random generator and a calendar. Out: rows of text for the tables, each by itself allowed by the layout.
Refuses: to be plausible; nothing made here says anything about any service.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise
from random import Random

from .layout import TABLES, Column

Fields = dict[str, str]
Tables = dict[str, list[Fields]]

OFFSETS = (0, 0, 0, 1, 1, 2, 5, 6, 7, 7, 8, 13, 14, 14, 15, 20, 21, 22, 27, 28, 28, 29, 35, 36, 41, 42, 42, 43, 49, 56)
LATE_OFFSETS = (56, 57, 83, 84, 84, 85, 85, 90, 120)
AFTER_DIVISION = (0, 0, 1, 1, 2, 6, 7, 7, 8, 13, 14, 14, 15, 20, 83, 84, 85)
ASKED_AFTER = (-1, 0, 1, 4, 5, 7, 8, 14, 27, 28, 29, 41, 42, 43, 55, 56, 57, 83, 84, 85)
SIX_WEEK_AGES = (34, 35, 35, 36, 40, 41, 41, 42, 42, 43, 43, 44, 48, 49, 55, 56, 56, 57)
WEIGHING_AGES = (4, 5, 5, 6, 13, 14, 14, 15, 20, 21, 21, 22)
AGES = (0, 0, 1, 3, 5, 6, 6, 7, 7, 10, 13, 13, 14, 14, 20, 21, 21, 22, 26, 27, 27, 28, 28, 29, 40, 42, 60, 200, 364)
BEFORE_CUT_OFF = (0, 1, 6, 7, 8, 13, 14, 15, 20, 21, 22, 27, 28, 29, 35, 41, 42, 43, 55, 56, 57, 83, 84, 85)
SITES = ("hub_a", "hub_a", "hub_b", "hub_b", "Hub-a", "hub_c, 2", 'hub "d"', "not_known", "not_recorded")
PRACTITIONERS = ("pr-1", "pr-1", "pr-2", "pr-3", "PR_1", "pr-é", "not_known", "not_recorded")
OPERATORS = ("op-1", "op-1", "op-2", "op_2", "op-é", "op-10", "not_known", "not_recorded")
DESTINATIONS = ("", "d1", "d2", "d1\nd2", "d1\r\nd3", 'd"1', "not_known")
MINUTES = ("", "not_known", "0", "5", "29", "30", "30", "31", "31", "1440")
BIRTH_WEIGHTS = ("", "not_known", "300", "3000", "3000", "3500", "3500", "6500")
WEIGHTS = ("", "", "not_known", "2999", "3000", "3000", "3001", "3499", "3500", "3500", "6499", "6500", "6501")
KINDS = next(column for column in TABLES["complications"] if column.name == "kind")
PROVIDERS = ("own", "own", "", "not_known", "other_service", "private")
SCORES = ("", "", "not_known", "0", "1", "2", "2", "3", "3", "4", "4", "5", "5", "6", "7", "8", "10")


@dataclass(frozen=True)
class Calendar:
    """anchors: the days on which most cases begin."""

    cut_off: date
    anchors: tuple[date, ...]


def plus(start: date, days: int) -> date:
    return start + timedelta(days=days)


def first_days(start: date, count: int) -> list[date]:
    """First days of count quarters from the quarter of start on."""
    months = start.year * 12 + 3 * ((start.month - 1) // 3)
    return [date((months + 3 * part) // 12, (months + 3 * part) % 12 + 1, 1) for part in range(count)]


def calendar(rng: Random) -> Calendar:
    """Six to nine quarters; each has its first day, its last and two more as anchors."""
    count = rng.randint(6, 9)
    firsts = first_days(date(rng.choice((2023, 2024, 2025)), rng.choice((1, 4, 7, 10)), 1), count + 1)
    last_period = (firsts[-1] - firsts[-2]).days
    cut_off = plus(firsts[-2], rng.choice((0, 13, 42, 60, last_period - 1, last_period - 1)))
    anchors = []
    for first, following in pairwise(firsts):
        inside = sorted(rng.sample(range(2, 88), 2))
        anchors += [first, plus(following, -1), *(plus(first, part) for part in inside)]
    return Calendar(cut_off, tuple(on for on in anchors if on <= cut_off))


def any_of(rng: Random, table: str, name: str) -> str:
    """A value of a coded column: every code, not recorded in every way it can be written."""
    column = next(column for column in TABLES[table] if column.name == name)
    return rng.choice(column.values * 3 + ("", "", "not_known"))


def whole(rng: Random, column: Column) -> str:
    if column.low <= 5 and rng.random() < 0.04:  # nine digits are a number, however it is written
        return rng.choice(("000000005", "05") if column.low else ("-000000000", "-0", "05"))
    return rng.choice(("", "not_known", str(column.low), str(column.high), str(rng.randint(column.low, column.high))))


def filled(rng: Random, table: str, given: Fields) -> Fields:
    """A row of the table: the values given, the rest drawn."""
    row = {}
    for column in TABLES[table]:
        if column.name in given:
            row[column.name] = given[column.name]
        elif column.kind == "code":
            row[column.name] = any_of(rng, table, column.name)
        elif column.kind == "integer":
            row[column.name] = whole(rng, column)
        else:
            row[column.name] = ""
    return row


def soon(rng: Random) -> int:
    return rng.choice(OFFSETS if rng.random() < 0.85 else LATE_OFFSETS)


def repeated_days(rng: Random, days: Sequence[date], low: date, high: date) -> list[date]:
    """The days that are allowed, some of them twice, so that rows of one day disagree."""
    allowed = [on for on in days if low <= on <= high]
    return allowed + [on for on in allowed if rng.random() < 0.3]


def referral_rows(rng: Random, ref: str, first: date, cut_off: date) -> list[Fields]:
    days = [plus(first, soon(rng)) for _ in range(rng.choice((0, 0, 1, 1, 1, 1, 2, 2, 3)))]
    rows = []
    for on in repeated_days(rng, days, first, cut_off):
        outcome = plus(on, soon(rng))
        when = outcome.isoformat() if outcome <= cut_off and rng.random() < 0.7 else ""
        given = {"case_ref": ref, "referral_date": on.isoformat(), "destination": rng.choice(DESTINATIONS)}
        rows.append(filled(rng, "referrals", given | {"outcome_date": when}))
    return rows


def procedure_rows(rng: Random, ref: str, first: date, cut_off: date, referred: list[date]) -> list[Fields]:
    days = []
    for _ in range(rng.choice((0, 0, 0, 1, 1, 1, 1, 2, 2, 3))):
        start = rng.choice(referred) if referred and rng.random() < 0.7 else first
        days.append(plus(first, -rng.choice((1, 2, 7, 14))) if rng.random() < 0.12 else plus(start, soon(rng)))
    if rng.random() < 0.15:
        days.append(plus(cut_off, -rng.choice((6, 7, 13, 14, 83, 84, 85))))
    rows = []
    for on in repeated_days(rng, days, date.min, cut_off):
        given = {"case_ref": ref, "procedure_date": on.isoformat(), "operator": rng.choice(OPERATORS)}
        rows.append(
            filled(
                rng,
                "procedures",
                given | {"minutes_to_first_feed": rng.choice(MINUTES), "provider": rng.choice(PROVIDERS)},
            )
        )
    return rows


def complication_rows(rng: Random, ref: str, cut_off: date, divided: list[date]) -> list[Fields]:
    days = [plus(on, rng.choice(AFTER_DIVISION)) for on in divided for _ in range(rng.choice((0, 0, 1, 1, 2)))]
    rows = []
    for on in repeated_days(rng, days, date.min, cut_off):
        kinds = ("bleeding", "infection", "reattachment", *KINDS.values)
        given = {"case_ref": ref, "noted_date": on.isoformat(), "kind": rng.choice(kinds)}
        rows.append(filled(rng, "complications", given))
    return rows


def contact_rows(rng: Random, ref: str, first: date, cut_off: date, born: date, turns: list[date]) -> list[Fields]:
    days = [first] if rng.random() < 0.8 else []
    days += [plus(first, soon(rng)) for _ in range(rng.choice((0, 1, 2, 4)))]
    days += [plus(born, age) for age in rng.sample(WEIGHING_AGES, rng.choice((0, 0, 1, 3)))]
    days += [plus(on, rng.choice(ASKED_AFTER)) for on in turns if rng.random() < 0.6]
    mood = rng.choice((None, None, "resolved", "not_known"))  # else few cases would be resolved, or hold no status
    light = rng.random() < 0.3  # one weight alone, on a day at the edge, decides
    rows = []
    for on in repeated_days(rng, days, first, cut_off):
        given = {"case_ref": ref, "contact_date": on.isoformat(), "practitioner": rng.choice(PRACTITIONERS)}
        given |= {"pain_score": rng.choice(SCORES), "weight_g": rng.choice(WEIGHTS)}
        if mood is not None and rng.random() < 0.8:
            given["problem_status"] = mood
        if light:
            given["weight_g"] = "300"
        rows.append(filled(rng, "contacts", given))
    edge = plus(born, rng.choice((4, 5, 13, 14, 21, 22)))
    if light and first <= edge <= cut_off:
        given = {"case_ref": ref, "contact_date": edge.isoformat(), "practitioner": "pr-2"}
        rows.append(filled(rng, "contacts", given | {"weight_g": rng.choice(("2999", "3000", "6500"))}))
    return rows


def assessment_rows(rng: Random, ref: str, first: date, cut_off: date, turns: list[date]) -> list[Fields]:
    days = [plus(first, soon(rng)) for _ in range(rng.choice((0, 1, 1, 2)))]
    days += [plus(on, rng.choice((-1, 0, 1))) for on in turns if rng.random() < 0.4]
    return [
        filled(
            rng,
            "assessments",
            {"case_ref": ref, "assessment_date": on.isoformat(), "practitioner": rng.choice(PRACTITIONERS)},
        )
        for on in repeated_days(rng, days, first, cut_off)
    ]


def check_rows(rng: Random, ref: str, first: date, cut_off: date, born: date, turns: list[date]) -> list[Fields]:
    days = [plus(born, age) for age in rng.sample(SIX_WEEK_AGES, rng.choice((0, 0, 1, 1, 2, 3)))]
    days += [plus(first, soon(rng)) for _ in range(rng.choice((0, 0, 1, 2)))]
    days += [plus(on, rng.choice(ASKED_AFTER)) for on in turns if rng.random() < 0.6]
    rows = [{"case_ref": ref, "check_date": on.isoformat()} for on in repeated_days(rng, days, first, cut_off)]
    mood = rng.choice(({}, {}, {"feeding": "exclusive"}, {"feeding": "none"}))
    return [filled(rng, "feeding_checks", row | mood) for row in rows]


def view_rows(rng: Random, ref: str, first: date, cut_off: date) -> list[Fields]:
    days = [plus(first, rng.choice((0, 1, 42, 83, 84, 84, 85))) for _ in range(rng.choice((0, 0, 1, 2, 3)))]
    rows = [{"case_ref": ref, "answered_date": on.isoformat()} for on in repeated_days(rng, days, first, cut_off)]
    return [filled(rng, "family_views", row) for row in rows]


def request_row(rng: Random, made: Calendar, ref: str) -> Fields:
    """A request, often about as long before the cut-off as a horizon is."""
    asked = rng.choice(made.anchors)
    if rng.random() < 0.4:
        asked = plus(made.cut_off, -rng.choice((0, 4, 5, 6, 27, 28, 29, 84)))
    ended = plus(asked, rng.choice((0, 4, 5, 5, 6, 27, 28, 29, 83, 84, 85)))
    given = {
        "case_ref": ref,
        "site": rng.choice(SITES),
        "request_date": asked.isoformat(),
        "outcome_date": ended.isoformat() if ended <= made.cut_off and rng.random() < 0.8 else "",
    }
    return filled(rng, "requests", given)


def case_row(rng: Random, ref: str, first: date, cut_off: date, age: int, turns: list[date]) -> Fields:
    closed = plus(rng.choice([first, *turns]), rng.choice((-1, 0, 0, 1, 7, *OFFSETS)))
    asked = plus(first, -rng.choice((0, 1, 4, 5, 5, 6, 6, 7, 30)))
    reason = any_of(rng, "cases", "closed_reason") if rng.random() < 0.5 else ""
    given = {
        "case_ref": ref,
        "site": rng.choice(SITES),
        "help_requested_date": asked.isoformat() if rng.random() < 0.85 else rng.choice(("", "not_known")),
        "first_contact_date": first.isoformat(),
        "age_days": str(age),
        "closed_date": closed.isoformat() if first <= closed <= cut_off and rng.random() < 0.45 else "",
        "closed_reason": reason,
        "birth_weight_g": rng.choice(BIRTH_WEIGHTS),
    }
    return filled(rng, "cases", given)


def one_case(rng: Random, made: Calendar, ref: str) -> Tables:
    """All rows of one case, each allowed by the layout."""
    cut_off = made.cut_off
    age = rng.choice(AGES)
    first = rng.choice(made.anchors)
    chance = rng.random()
    if chance < 0.2:
        first = plus(cut_off, -rng.choice(BEFORE_CUT_OFF))
    elif chance < 0.27:  # eight or three weeks old about the cut-off
        age = min(age, 21)
        first = plus(cut_off, age - rng.choice((21, 22, 55, 56, 56, 57)))
    born = plus(first, -age)
    quiet = rng.random() < 0.25  # not referred and not divided, or only about day 42
    referrals = [] if quiet else referral_rows(rng, ref, first, cut_off)
    referred = [date.fromisoformat(row["referral_date"]) for row in referrals]
    procedures = [] if quiet else procedure_rows(rng, ref, first, cut_off, referred)
    if quiet and rng.random() < 0.3 and plus(first, 43) <= cut_off:
        day = plus(first, rng.choice((41, 42, 42, 43))).isoformat()
        procedures = [filled(rng, "procedures", {"case_ref": ref, "procedure_date": day, "operator": "op-2"})]
    divided = [date.fromisoformat(row["procedure_date"]) for row in procedures]
    return {
        "cases": [case_row(rng, ref, first, cut_off, age, referred)],
        "contacts": contact_rows(rng, ref, first, cut_off, born, referred + divided),
        "assessments": assessment_rows(rng, ref, first, cut_off, referred + divided),
        "referrals": referrals,
        "procedures": procedures,
        "complications": complication_rows(rng, ref, cut_off, divided),
        "feeding_checks": check_rows(rng, ref, first, cut_off, born, referred + divided),
        "family_views": view_rows(rng, ref, first, cut_off),
    }
