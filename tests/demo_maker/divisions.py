"""The rows of `referrals`, `procedures` and `complications` for one case.

Comes in: a Baby, its Course and its stream of draws. Goes out: rows as text, in order of day; only an outcome heeds
the cut-off here. Refuses: a complication without a procedure before it (those are planted, by name, in faults.py).
"""

from __future__ import annotations

from datetime import date, timedelta
from random import Random

from tests.demo_maker.baby import Baby
from tests.demo_maker.chance import between, likely, pick, yes_no
from tests.demo_maker.course import Course
from tests.demo_maker.elsewhere import OPERATORS, PROVIDERS
from tests.demo_maker.service import CUT_OFF, after

OUR_CLINIC, HOSPITAL = "division clinic", "hospital clinic, outpatients"
VITAMIN_K = {
    "injection": 0.84,
    "oral": 0.07,
    "declined": 0.025,
    "not_given": 0.025,
    "not_known": 0.04,
}


def referral_rows(draw: Random, baby: Baby, course: Course) -> list[dict[str, str]]:
    """The rows of `referrals`: one, or two where the case was divided again."""
    if course.referral is None or course.outcome_day is None:
        return []
    destination = OUR_CLINIC if likely(draw, 0.86) else HOSPITAL
    undated = course.divided is None and likely(draw, 0.06)
    rows = [referral(baby.case_ref, course.referral, destination, course.outcome, course.outcome_day)]
    if undated and rows[0]["outcome"] != "waiting":
        rows[0]["outcome_date"] = ""
    if course.referred_again is not None:
        seen = after(course.referred_again, 2)
        rows.append(referral(baby.case_ref, course.referred_again, destination, "accepted", seen))
    return rows


def referral(case_ref: str, day: date, destination: str, outcome: str, outcome_day: date) -> dict[str, str]:
    """What is not yet decided by the cut-off is waiting."""
    decided = outcome_day <= CUT_OFF
    return {
        "case_ref": case_ref,
        "referral_date": day.isoformat(),
        "destination": destination,
        "outcome": outcome if decided else "waiting",
        "outcome_date": outcome_day.isoformat() if decided else "",
    }


def procedure_rows(draw: Random, provider: Random, baby: Baby, course: Course) -> list[dict[str, str]]:
    """The rows of `procedures`: what was done elsewhere before, and what was done here."""
    rows = []
    if likely(draw, 0.014) and baby.age_days >= 8:
        # Divided elsewhere before this service first saw the family: what is known of it is the day, roughly all.
        day = baby.first_contact - timedelta(days=between(draw, 3, baby.age_days - 2))
        rows.append(procedure_elsewhere(baby.case_ref, day, pick(provider, PROVIDERS)))
    if course.elsewhere is not None:
        rows.append(procedure_elsewhere(baby.case_ref, *course.elsewhere))
    for divided in (course.divided, course.divided_again):
        if divided is not None:
            rows.append(
                procedure(baby.case_ref, divided, pick(draw, baby.site.operators), "")
                | {
                    "provider": "own" if likely(provider, 0.9) else "",
                    "tie_type": baby.tie if likely(draw, 0.93) else "",
                    "consent_recorded": yes_no(draw, 0.97, 0.02),
                    "bleeding_history_asked": yes_no(draw, 0.92, 0.05),
                    "vitamin_k": pick(draw, VITAMIN_K),
                    "minutes_to_first_feed": str(minutes(draw)) if likely(draw, 0.94) else "",
                    "aftercare_advice": yes_no(draw, 0.94, 0.04),
                }
            )
            if likely(provider, 0.015):
                # The second of two who divided together: what both would write stands in the first row.
                other = next(code for code in baby.site.operators if code != rows[-1]["operator"])
                rows.append(
                    procedure(baby.case_ref, divided, other, "") | {"provider": "own", "consent_recorded": "yes"}
                )
    return sorted(rows, key=lambda row: row["procedure_date"])


def procedure_elsewhere(case_ref: str, day: date, provider: str) -> dict[str, str]:
    """A division by somebody else: what is known of it is the day, roughly, and by whom."""
    return procedure(case_ref, day, OPERATORS[provider], "not_recorded") | {"provider": provider}


def procedure(case_ref: str, day: date, operator: str, tie: str) -> dict[str, str]:
    """One row of `procedures` of which nothing but day, operator and tie type is recorded."""
    return {
        "case_ref": case_ref,
        "procedure_date": day.isoformat(),
        "operator": operator,
        "provider": "",
        "tie_type": tie,
        "consent_recorded": "",
        "bleeding_history_asked": "",
        "vitamin_k": "",
        "minutes_to_first_feed": "",
        "aftercare_advice": "",
    }


def minutes(draw: Random) -> int:
    """From division to the first feed: mostly within a quarter of an hour."""
    return between(draw, 0, 14) if likely(draw, 0.86) else between(draw, 15, 55)


def complication_rows(draw: Random, baby: Baby, course: Course) -> list[dict[str, str]]:
    """The rows of `complications`: few, and bleeding that needed care hardly ever."""
    rows = []
    for day in (course.divided, course.divided_again):
        if day is None:
            continue
        noted = pick(
            draw,
            {
                "": 0.91,
                "respiratory": 0.008,
                "minor bleeding": 0.035,
                "bleeding needing care": 0.004,
                "infection": 0.02,
                "feeding_refusal": 0.01,
                "other": 0.007,
                "missed_diagnosis": 0.006,
            },
        )
        if noted == "minor bleeding":
            rows.append(complication(baby.case_ref, day, "bleeding", "minor" if likely(draw, 0.88) else ""))
        elif noted == "bleeding needing care":
            rows.append(complication(baby.case_ref, day, "bleeding", "treated"))
        elif noted:
            severity = pick(draw, {"minor": 0.5, "treated": 0.2, "": 0.3})
            rows.append(complication(baby.case_ref, after(day, between(draw, 2, 8)), noted, severity))
    if course.elsewhere is not None and likely(draw, 0.25):
        rows.append(complication(baby.case_ref, course.elsewhere[0] + timedelta(days=2), "feeding_refusal", ""))
    if course.reattached is not None:
        rows.append(complication(baby.case_ref, course.reattached, "reattachment", ""))
    return sorted(rows, key=lambda row: row["noted_date"])


def complication(case_ref: str, day: date, kind: str, severity: str) -> dict[str, str]:
    """One row of `complications`."""
    return {"case_ref": case_ref, "noted_date": day.isoformat(), "kind": kind, "severity": severity}
