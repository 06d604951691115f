"""How the outreach team writes a case into its sheet: column by column, in its own words, marks and ways with dates.

Comes in: a case as rows of the layout. Goes out: the cells of its line, and beside them what they mean, row by row.
Refuses: to write what means something else; whatever is wrong in the sheet is declared in outreach_faults.py.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from random import Random

from tests.demo_maker.chance import between, likely, pick, stream
from tests.demo_maker.outreach import SEED, OutreachCase, Row
from tests.demo_maker.outreach_words import (
    CAME_VIA,
    COMPLICATION,
    DID_WE_HELP,
    DONE_BY,
    ETHNIC,
    FED,
    GROUPS,
    HOW_IT_WENT,
    MARKS,
    OUTCOME,
    SEX,
    TT_TYPE,
    UNIT,
    VITAMIN_K,
    WHERE,
    WHY_CLOSED,
)

KEPT = "accepted"


@dataclass(frozen=True)
class Formula:
    """A cell that is worked out, with what it shows."""

    formula: str
    shown: str | int


Cell = str | int | float | date | datetime | Formula
Cells = dict[str, Cell]  # by column, written "Group / Name"; a column that is not there is empty


@dataclass(frozen=True)
class Meant:
    """A row of the layout that a line of the sheet means, and what should become of it."""

    part: str  # of the sheet: "case", "session 2", "six weeks"
    table: str
    values: Mapping[str, str]  # every column of the table; "" is nothing recorded
    becomes: str
    set_aside: tuple[str, ...] = ()  # columns whose written value is set aside, so that "" is what is left


def spelled(draw: Random, spellings: Mapping[str, Sequence[str]], code: str) -> str:
    """One of the ways in which the team writes a code."""
    ways = spellings[code]
    return ways[between(draw, 0, len(ways) - 1)]


def dated(draw: Random, day: str) -> Cell:
    """A day as a true date, as text with strokes, or with the month in letters; nothing stays nothing."""
    if not day:
        return ""
    is_day = date.fromisoformat(day)
    way = pick(draw, {"true date": 0.6, "strokes": 0.28, "letters": 0.12})
    return is_day if way == "true date" else stroked(is_day) if way == "strokes" else lettered(is_day)


def stroked(day: date) -> str:
    """The day as text, as in 03/03/2026."""
    return f"{day.day:02}/{day.month:02}/{day.year}"


def lettered(day: date) -> str:
    """The day as text, as in 3 Mar 2026; no locale has a say."""
    months = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
    return f"{day.day} {months[day.month - 1]} {day.year}"


def number(text: str) -> Cell:
    """A true number; nothing stays nothing."""
    return int(text) if text else ""


def cells_of(case: OutreachCase, seed: int = SEED) -> Cells:
    """The cells of a case's line, before anything goes wrong with them."""
    draw = stream(seed, f"cells/{case.number}")
    cells = baby_cells(draw, case.case) | family_cells(stream(seed, f"cells/{case.number}/family"), case)
    for place, session in enumerate(case.sessions, 1):
        cells |= grouped(f"Help session {place}", session_cells(draw, session))
    if case.assessment is not None:
        row = case.assessment
        looked_at = {
            "Looked at": dated(draw, row["assessment_date"]),
            "TT type ": spelled(draw, TT_TYPE, row["tie_type"]),
            "Score": number(row["function_score"]),
        }
        cells |= grouped("Tongue", looked_at)
    cells |= grouped("Referral", referral_cells(draw, case))
    cells |= grouped("Division", division_cells(draw, case))
    if case.after_division is not None:
        visit = session_cells(draw, case.after_division)
        cells |= grouped("After division", {name: visit[name] for name in GROUPS["After division"]})
    if case.six_week_check is not None:
        check = case.six_week_check
        answer = {
            "Asked": case.asked,
            "Date": dated(draw, check["check_date"]) if case.asked != "text" else "",
            "Fed": spelled(draw, FED, check["feeding"]),
            "At breast": spelled(draw, MARKS, check["at_breast"]),
        }
        cells |= grouped("Fed at 6/52", answer)
    closing = {
        "On": dated(draw, case.case["closed_date"]),
        "Why": spelled(draw, WHY_CLOSED, case.case["closed_reason"]),
    }
    cells |= grouped("Closed", closing)
    # The stock number on the box of feeding cups a family was given: of a thing, but it looks like one of a person.
    cells[UNIT] = f"FC{between(draw, 100000, 999999)}" if likely(draw, 0.92) else ""
    return {column: cell for column, cell in cells.items() if cell != ""}


def grouped(group: str, cells: Mapping[str, Cell]) -> Cells:
    """The cells under their columns' whole names."""
    return {f"{group} / {name}": cell for name, cell in cells.items()}


def baby_cells(draw: Random, row: Row) -> Cells:
    """The first two groups: who the baby is, and what the trouble was."""
    baby: dict[str, Cell] = {
        "Ref": int(row["case_ref"].rpartition("-")[2]),
        "Asked for help": dated(draw, row["help_requested_date"]),
        "1st seen": dated(draw, row["first_contact_date"]),
        "Age (days)": int(row["age_days"]),
        "Sex": spelled(draw, SEX, row["sex"]),
        "Ethnic": spelled(draw, ETHNIC, row["ethnic_group"]),
        "Weeks": number(row["gestation_weeks"]),
        "1st baby": spelled(draw, MARKS, row["first_baby"]),
        "Decile": number(row["deprivation_decile"]),
        "Birth wt\n(kg)": int(row["birth_weight_g"]) / 1000 if row["birth_weight_g"] else "",
        "Came via": spelled(draw, CAME_VIA, row["referral_source"]),
        "TT in family": spelled(draw, MARKS, row["family_history"]),
        "Fed at 1st visit": spelled(draw, FED, row["feeding_at_first_contact"]),
    }
    trouble = {"Sore": "nipple_pain", "Slow gain": "poor_weight_gain", "Windy": "wind"}
    marks = {name: spelled(draw, MARKS, row[column]) for name, column in trouble.items()}
    return grouped("Baby", baby) | grouped("Trouble", marks)


def family_cells(draw: Random, case: OutreachCase) -> Cells:
    """What the team began to write down later: of the family, of who divided, and what the family said."""
    names = {
        "Interpreter": "interpreter_needed",
        "Twin or more": "multiple_birth",
        "Helped before us": "helped_elsewhere_before",
    }
    cells = grouped("Baby", {name: spelled(draw, MARKS, case.case[column]) for name, column in names.items()})
    if case.procedure is not None:
        cells["Division / Done by"] = spelled(draw, DONE_BY, case.procedure["provider"])
    if case.view is not None:
        answer = {
            "Date": dated(draw, case.view["answered_date"]),
            "Answer": spelled(draw, DID_WE_HELP, case.view["helped"]),
        }
        cells |= grouped("Did we help?", answer)
    return cells


def session_cells(draw: Random, row: Row) -> Cells:
    """One help session."""
    return {
        "Date": dated(draw, row["contact_date"]),
        "By": row["practitioner"],
        "Where": spelled(draw, WHERE, row["mode"]),
        "Help given": spelled(draw, MARKS, row["attachment_help"]),
        "How it went": spelled(draw, HOW_IT_WENT, row["problem_status"]),
        "Pain": number(row["pain_score"]),
        "Wt (g)": number(row["weight_g"]),
    }


def referral_cells(draw: Random, case: OutreachCase) -> Cells:
    """The referral, and the call while the family waits."""
    row, check = case.referral, case.waiting_check
    if row is None:
        return {}
    cells: Cells = {
        "Sent on": dated(draw, row["referral_date"]),
        "Outcome": spelled(draw, OUTCOME, row["outcome"]),
        "Outcome on": dated(draw, row["outcome_date"]),
    }
    if check is not None:
        cells |= {"Rang on": dated(draw, check["check_date"]), "Fed then": spelled(draw, FED, check["feeding"])}
    return cells


def division_cells(draw: Random, case: OutreachCase) -> Cells:
    """The division; before it has taken place, only who is to do it."""
    row, complication = case.procedure, case.complication
    if row is None:
        return {"Op": case.operator}
    return {
        "Date": dated(draw, row["procedure_date"]),
        "Op": row["operator"],
        "Consent": spelled(draw, MARKS, row["consent_recorded"]),
        "Bleeding asked": spelled(draw, MARKS, row["bleeding_history_asked"]),
        "Vit K": spelled(draw, VITAMIN_K, row["vitamin_k"]),
        "Mins to feed": number(row["minutes_to_first_feed"]),
        "Aftercare": spelled(draw, MARKS, row["aftercare_advice"]),
        "Complications": spelled(draw, COMPLICATION, complication["kind"] if complication is not None else ""),
        "Noted on": dated(draw, complication["noted_date"]) if complication is not None else "",
    }


def meant_by(case: OutreachCase) -> tuple[Meant, ...]:
    """The rows of the layout that a case's line means, as long as nothing is wrong with it."""
    rows: list[tuple[str, str, Row | None]] = [("case", "cases", case.case)]
    rows += [(f"session {place}", "contacts", row) for place, row in enumerate(case.sessions, 1)]
    rows += [
        ("after division", "contacts", case.after_division),
        ("tongue", "assessments", case.assessment),
        ("referral", "referrals", case.referral),
        ("division", "procedures", case.procedure),
        ("complications", "complications", case.complication),
        ("waiting", "feeding_checks", case.waiting_check),
        ("six weeks", "feeding_checks", case.six_week_check),
        ("view", "family_views", case.view),
    ]
    return tuple(Meant(part, table, row, KEPT) for part, table, row in rows if row is not None)
