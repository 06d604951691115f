"""The outreach team of the invented service, and what its workbook has room for of each of its cases.

Comes in: the demo's own case generator, under a seed and a cut-off of this team. Goes out: its cases, oldest first,
each with at most three help sessions, one look at the tongue, one referral and one division. Refuses: habits that
differ from those of the ordinary sites, so that the demo's one story stays the only one.

The seed was chosen among those with a case for every kind of line the sheet should have: loaded beside the export, it
adds nothing to what looks larger than chance in the latest quarter, and takes nothing from it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta

from tests.demo_maker.chance import likely, pick, stream
from tests.demo_maker.episode import DAYS, Rows, one_case
from tests.demo_maker.service import Site

Row = dict[str, str]

SEED = 695
DRAWN = date(2026, 10, 9)  # the workbook's cut-off, three days before the export's
LAST_QUARTER = "2026Q3"
VOLUMES: Mapping[str, int] = {"2025Q3": 11, "2025Q4": 12, "2026Q1": 12, "2026Q2": 13, LAST_QUARTER: 13}
TEAM = Site("Outreach team", 1.0, ("P08", "P09"), {"P03": 0.5, "P06": 0.5}, 0.82, 0.5, 8, None)
PREFIX, FIRST_NUMBER = "OUT-", 201  # the team numbers its rows, so the mapping must tell them from other sources' refs
DESTINATION = "division clinic"

IN_THE_SHEET = {
    "cases": (
        "case_ref", "site", "help_requested_date", "first_contact_date", "age_days", "closed_date", "closed_reason",
        "sex", "gestation_weeks", "first_baby", "deprivation_decile", "ethnic_group", "referral_source",
        "interpreter_needed", "multiple_birth", "helped_elsewhere_before", "family_history",
        "feeding_at_first_contact", "birth_weight_g", "nipple_pain", "poor_weight_gain", "wind",
    ),
    "contacts": (
        "case_ref", "contact_date", "practitioner", "mode", "attachment_help", "problem_status", "pain_score",
        "weight_g",
    ),
    "assessments": ("case_ref", "assessment_date", "practitioner", "tie_type", "function_score"),
    "procedures": (
        "case_ref", "procedure_date", "operator", "provider", "consent_recorded", "bleeding_history_asked",
        "vitamin_k", "minutes_to_first_feed", "aftercare_advice",
    ),
    "feeding_checks": ("case_ref", "check_date", "feeding", "at_breast"),
}  # fmt: skip


@dataclass(frozen=True)
class OutreachCase:
    """One case as rows of the layout, each in the part of the sheet that it is written in."""

    quarter: str
    number: int
    case: Row
    sessions: tuple[Row, ...]  # up to three
    assessment: Row | None
    referral: Row | None
    waiting_check: Row | None
    operator: str  # written in as soon as the family is on the list, before there is a day
    procedure: Row | None
    complication: Row | None
    after_division: Row | None
    asked: str  # how feeding at six weeks was asked about: visit, phone, text
    six_week_check: Row | None
    view: Row | None  # whether the family felt helped


def outreach_cases(seed: int = SEED) -> list[OutreachCase]:
    """All cases of the team, numbered in the order in which they were first seen."""
    made = []
    for quarter, volume in VOLUMES.items():
        for place in range(volume):
            name = f"outreach/{quarter}/{place}"
            made.append((quarter, name, one_case(seed, name, name, TEAM, quarter)))
    made.sort(key=lambda made_case: (made_case[2]["cases"][0]["first_contact_date"], made_case[1]))
    return [
        in_the_sheet(seed, quarter, name, FIRST_NUMBER + place, tables)
        for place, (quarter, name, tables) in enumerate(made)
    ]


def in_the_sheet(seed: int, quarter: str, name: str, number: int, tables: Mapping[str, Rows]) -> OutreachCase:
    """What the sheet holds of one case; what it has no column for was never written down."""
    draw = stream(seed, f"{name}/outreach")
    latest = DRAWN.isoformat()
    known = {
        table: [renamed(table, row, number) for row in rows if row[DAYS[table]] <= latest]
        for table, rows in tables.items()
    }
    case = known["cases"][0]
    if case["closed_date"] > latest:
        case |= {"closed_date": "", "closed_reason": ""}
    referral = as_known(known["referrals"][0]) if known["referrals"] else None
    procedure = here(known["procedures"], case["first_contact_date"])
    complication = noted(draw.random(), procedure)
    sessions, after_division = contacts(known["contacts"], procedure)
    six_week, asked = six_week_check(case, known["feeding_checks"])
    if six_week is not None and likely(draw, 0.25):
        six_week, asked = by_text_message(case, six_week)
    elif six_week is not None:
        asked = pick(draw, {"visit": 0.4, "phone": 0.6})
    waited = [row for row in known["feeding_checks"] if row is not six_week and while_waiting(row, referral, procedure)]
    planned = referral is not None and procedure is None and referral["outcome"] in ("accepted", "waiting")
    return OutreachCase(
        quarter=quarter,
        number=number,
        case=case,
        sessions=sessions,
        assessment=looked_at(known["assessments"][-1], sessions[0]) if known["assessments"] else None,
        referral=referral,
        waiting_check={**waited[0], "at_breast": ""} if waited else None,
        operator=procedure["operator"] if procedure is not None else pick(draw, TEAM.operators) if planned else "",
        procedure=procedure,
        complication=complication,
        after_division=after_division,
        asked=asked,
        six_week_check=six_week,
        view=known["family_views"][0] if known["family_views"] else None,
    )


def renamed(table: str, row: Row, number: int) -> Row:
    """The row under the team's own reference, with nothing in the columns that the sheet does not have."""
    kept = IN_THE_SHEET.get(table, tuple(row))
    held = {column: value if column in kept else "" for column, value in row.items() if column != "notes_flag"}
    return {**held, "case_ref": f"{PREFIX}{number}"}


def as_known(referral: Row) -> Row:
    """What is not decided by the team's cut-off is waiting."""
    row = {**referral, "destination": DESTINATION}
    return row | {"outcome": "waiting", "outcome_date": ""} if row["outcome_date"] > DRAWN.isoformat() else row


def here(procedures: Rows, first_contact: str) -> Row | None:
    """The first division of this episode: the sheet has room for one, and none for what was done elsewhere."""
    done = [row for row in procedures if row["procedure_date"] >= first_contact]
    return done[0] if done else None


def noted(left_to_chance: float, procedure: Row | None) -> Row | None:
    """Bleeding that settled, on the day; an infection, some days later; mostly nothing."""
    if procedure is None or left_to_chance > 0.10:
        return None
    bled = left_to_chance < 0.06
    day = date.fromisoformat(procedure["procedure_date"]) + timedelta(days=0 if bled else 5)
    if day > DRAWN:
        return None
    return {
        "case_ref": procedure["case_ref"],
        "noted_date": day.isoformat(),
        "kind": "bleeding" if bled else "infection",
        "severity": "minor" if bled else "",
    }


def looked_at(assessment: Row, session: Row) -> Row:
    """Whoever sees the family first also looks at the tongue; a type that was not recorded has no mark in the sheet."""
    tie = assessment["tie_type"].replace("not_recorded", "")
    return {**assessment, "practitioner": session["practitioner"], "tie_type": tie}


def contacts(rows: Rows, procedure: Row | None) -> tuple[tuple[Row, ...], Row | None]:
    """The help sessions up to division, the middle ones left out beyond three; the first visit after it."""
    divided = procedure["procedure_date"] if procedure is not None else DRAWN.isoformat()
    before = [told(row) for row in rows if row["contact_date"] <= divided]
    later = [row for row in rows if row["contact_date"] > divided]
    sessions = before if len(before) <= 3 else [before[0], before[1], before[-1]]
    if not later:
        return tuple(sessions), None
    # That visit is always at home, and neither pain nor weight has a column there.
    return tuple(sessions), {**told(later[0]), "mode": "in_person", "pain_score": "", "weight_g": ""}


def told(contact: Row) -> Row:
    """not_recorded has no mark in the sheet: the cell stays empty."""
    return {**contact, "problem_status": contact["problem_status"].replace("not_recorded", "")}


def born(case: Row) -> date:
    """The birth date, which the sheet does not hold."""
    return date.fromisoformat(case["first_contact_date"]) - timedelta(days=int(case["age_days"]))


def six_week_check(case: Row, checks: Rows) -> tuple[Row | None, str]:
    """The check nearest to six weeks, if any is near."""

    def days_off(row: Row) -> int:
        return abs((date.fromisoformat(row["check_date"]) - born(case)).days - 42)

    near = [row for row in checks if days_off(row) <= 14]
    return (min(near, key=days_off), "phone") if near else (None, "")


def by_text_message(case: Row, check: Row) -> tuple[Row, str]:
    """The message goes out by itself on the day the baby is 42 days old, so nobody writes that day down."""
    day = born(case) + timedelta(days=42)
    if not case["first_contact_date"] <= day.isoformat() <= DRAWN.isoformat():
        return check, "phone"
    return {**check, "check_date": day.isoformat()}, "text"


def while_waiting(check: Row, referral: Row | None, procedure: Row | None) -> bool:
    """Whether the check is from after the referral and before whatever ended the wait."""
    if referral is None:
        return False
    end = procedure["procedure_date"] if procedure is not None else referral["outcome_date"] or DRAWN.isoformat()
    return referral["referral_date"] < check["check_date"] < end
