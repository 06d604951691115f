"""The levels of the breakdowns: the edges of the bands, whose practitioner, and whose tie type."""

from __future__ import annotations

import csv
from collections.abc import Callable
from pathlib import Path

from pipeline import run
from tests.conftest import Story

CUT_OFF = "2026-06-30"

# First contact on 10 January.
CASES = {
    "cases": """
        case_ref,site,help_requested_date,first_contact_date,age_days,sex,gestation_weeks,first_baby,deprivation_decile,ethnic_group,referral_source,interpreter_needed,multiple_birth,feeding_at_first_contact
        A,North,2026-01-10,2026-01-10,0,female,36,yes,1,not_stated,self,yes,no,none
        B,North,2026-01-10,2026-01-10,6,female,37,yes,2,not_known,midwife,no,yes,none
        C,North,2026-01-10,2026-01-10,7,female,44,no,3,asian,not_known,not_known,,none
        D,North,2026-01-10,2026-01-10,13,female,22,,4,black,gp,,,none
        E,North,2026-01-10,2026-01-10,14,male,,,5,mixed,hospital,,yes,none
        F,South,2026-01-10,2026-01-10,27,not_known,38,,6,white,other,yes,,none
        G,South,2026-01-10,2026-01-10,28,not_known,36,not_known,8,other,health_visitor,no,no,none
        H,South,2026-01-10,2026-01-10,364,,,,10,,,,,exclusive
        I,not_known,2026-01-10,2026-01-10,10,,40,,,,self,,,none
    """,
    "contacts": """
        case_ref,contact_date,practitioner,attachment_help,mode
        A,2026-01-10,P1,no,
        A,2026-01-12,P2,yes,
        B,2026-01-10,P1,no,
        B,2026-01-12,P2,no,
        C,2026-01-10,P1,yes,
        C,2026-01-10,P2,yes,
        D,2026-01-10,P2,,
        D,2026-01-10,P1,no,
        E,2026-01-10,P1,no,
        E,2026-01-10,P2,yes,
        G,2026-01-10,P1,yes,in_person
        G,2026-01-10,P1,yes,phone
        H,2026-01-14,P2,yes,
        H,2026-01-12,P1,yes,
        H,2026-01-10,P3,no,
        I,2026-01-10,not_known,yes,
    """,
    "assessments": """
        case_ref,assessment_date,practitioner,tie_type
        A,2026-01-10,P1,submucosal
        A,2026-01-12,P1,posterior
        A,2026-01-12,P1,anterior
        B,2026-01-10,P1,submucosal
        B,2026-01-12,P1,not_recorded
        C,2026-01-10,P1,anterior
        C,2026-01-10,P2,none
        D,2026-01-12,P1,submucosal
        D,2026-01-12,P1,posterior
        E,2026-01-10,P1,anterior
        E,2026-01-12,P1,none
        G,2026-01-10,P1,not_recorded
        H,2026-01-10,P1,anterior
        H,2026-02-01,P1,posterior
    """,
    "referrals": """
        case_ref,referral_date
        H,2026-01-15
    """,
    "procedures": """
        case_ref,procedure_date,operator,tie_type
        B,2026-01-09,O1,none
        G,2026-01-10,O1,none
        H,2026-01-20,O1,anterior
    """,
}


def test_levels_of_cases(tell: Callable[..., Story], audit: Path, one_page: None) -> None:
    story = tell(CASES, CUT_OFF, "2026Q1")
    expected = {
        "all": {"all": 9},
        "site": {"North": 5, "South": 3, "not_recorded": 1},
        # A: the latest day, and on it the last of none, anterior, posterior, submucosal: posterior. B: submucosal, the
        # latest that records one. C: anterior comes after none, though not by alphabet. D: submucosal. E: none, the
        # latest. F, I: never assessed. G: not recorded. H: posterior, after referral and division, though the
        # division itself says anterior: these are not measures of divisions.
        "tie_type": {"none": 1, "anterior": 1, "posterior": 2, "submucosal": 2, "not_recorded": 3},
        # Deciles 2 and 3 are in two fifths, 3 and 4 in one.
        "deprivation_fifth": {"1": 2, "2": 2, "3": 2, "4": 1, "5": 1, "not_recorded": 1},
        "ethnic_group": {  # not_stated is an answer; not_known and nothing are not
            **dict.fromkeys(["asian", "black", "mixed", "not_stated", "other", "white"], 1),
            "not_recorded": 3,
        },
        "sex": {"female": 4, "male": 1, "not_recorded": 4},
        "first_baby": {"yes": 2, "no": 1, "not_recorded": 6},
        "age_band": {"0-6": 2, "7-13": 3, "14-27": 2, "28+": 2},
        "gestation": {"under_37": 3, "37_or_more": 4, "not_recorded": 2},  # 36 and 37 lie on either side
        "referral_source": {
            "self": 2,
            **dict.fromkeys(["midwife", "gp", "hospital", "other", "health_visitor"], 1),
            "not_recorded": 2,
        },
        "interpreter_needed": {"yes": 2, "no": 2, "not_recorded": 5},
        "multiple_birth": {"yes": 2, "no": 2, "not_recorded": 5},
        "divided_before": {"yes": 1, "no": 8},  # B, the day before; G, on the day of the first contact, was not before
        "route": {},
    }
    for measure in ("seen_promptly", "days_to_referral"):
        assert {name: story.levels(measure, "2026Q1", name) for name in expected} == expected, measure
    # H alone is referred; G and H are divided, and there the tie type is that of the division.
    assert story.levels("attachment_help_before_referral", "2026Q1", "tie_type") == {"posterior": 1}
    assert story.levels("age_at_procedure", "2026Q1", "tie_type") == {"anterior": 1, "none": 1}

    # A: P2, who gave the help, not P1 of the first contact. B: no help, so P1 of the first day. C: two who helped on
    # the day. D: no help, two on the first day. E: P2, of two on the day the one who helped. F: no contact. G: P1,
    # twice. H: P1, of the first day of help, neither P3 of the first contact nor P2 of the later help. I: not known.
    of_practitioners = written(run.report(audit, "2026Q1", practitioners=True).files)
    assert of_practitioners["days_to_referral"] == {"P1": 3, "P2": 2, "not_recorded": 4}
    assert of_practitioners["attachment_help_before_referral"] == {"P1": 1}  # not O1, the operator of its division
    assert of_practitioners["age_at_procedure"] == {"O1": 2}  # by the operator


def written(files: tuple[Path, ...]) -> dict[str, dict[str, int]]:
    """by_practitioner.csv: measure -> level -> eligible, in the reported quarter."""
    (path,) = (path for path in files if path.name == "by_practitioner.csv")
    found: dict[str, dict[str, int]] = {}
    with path.open(encoding="utf-8", newline="") as file:
        for row in csv.DictReader(file):
            if row["period"] == "2026Q1":
                found.setdefault(row["measure"], {})[row["level"]] = int(row["eligible"])
    return found


def test_levels_of_a_request_that_is_no_case(tell: Callable[..., Story]) -> None:
    requests = """
        case_ref,site,request_date,outcome,deprivation_decile,ethnic_group,referral_source,interpreter_needed
        X,South,2026-01-12,no_reply,10,asian,gp,yes
        Y,not_known,2026-01-12,,,,,
    """
    story = tell({"cases": CASES["cases"], "requests": requests}, CUT_OFF, "2026Q1")
    added = {
        "site": {"North": 5, "South": 4, "not_recorded": 2},
        "deprivation_fifth": {"1": 2, "2": 2, "3": 2, "4": 1, "5": 2, "not_recorded": 2},
        "interpreter_needed": {"yes": 3, "no": 2, "not_recorded": 6},
        "sex": {"female": 4, "male": 1, "not_recorded": 6},
        "age_band": {"0-6": 2, "7-13": 3, "14-27": 2, "28+": 2, "not_recorded": 2},
        "divided_before": {"no": 9, "not_recorded": 2},
    }
    assert {name: story.levels("seen_promptly", "2026Q1", name) for name in added} == added
    assert story.counts("days_to_referral", "2026Q1")[0] == 9
