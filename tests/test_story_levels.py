"""The levels of the breakdowns: the edges of the bands, whose practitioner, and whose tie type."""

from __future__ import annotations

from collections.abc import Callable

from tests.conftest import Story

CUT_OFF = "2026-06-30"

# First contact on 10 January.
CASES = {
    "cases": """
        case_ref,site,help_requested_date,first_contact_date,age_days,sex,first_baby,deprivation_decile,ethnic_group,feeding_at_first_contact
        A,North,2026-01-10,2026-01-10,0,female,yes,1,not_stated,none
        B,North,2026-01-10,2026-01-10,6,female,yes,2,not_known,none
        C,North,2026-01-10,2026-01-10,7,female,no,3,asian,none
        D,North,2026-01-10,2026-01-10,13,female,,4,black,none
        E,North,2026-01-10,2026-01-10,14,male,,5,mixed,none
        F,South,2026-01-10,2026-01-10,27,not_known,,6,white,none
        G,South,2026-01-10,2026-01-10,28,not_known,not_known,8,other,none
        H,South,2026-01-10,2026-01-10,364,,,10,,exclusive
        I,not_known,2026-01-10,2026-01-10,10,,,,,none
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

# First contact on 10 January, procedures on 20 January and later.
PROCEDURES = {
    "cases": """
        case_ref,site,first_contact_date,age_days
        A,North,2026-01-10,10
        B,North,2026-01-10,10
        C,North,2026-01-10,10
        D,North,2026-01-10,10
        E,North,2026-01-10,10
        F,North,2026-01-10,10
        G,North,2026-01-10,10
        H,North,2026-01-10,10
        I,North,2026-01-10,10
    """,
    "contacts": """
        case_ref,contact_date,practitioner,attachment_help
        A,2026-01-10,P1,yes
        B,2026-01-10,P1,yes
    """,
    "assessments": """
        case_ref,assessment_date,practitioner,tie_type
        A,2026-01-12,P1,posterior
        B,2026-01-12,P1,posterior
        C,2026-01-12,P1,anterior
        C,2026-02-01,P1,submucosal
        D,2026-01-12,P1,not_recorded
        F,2026-01-12,P1,submucosal
    """,
    "procedures": """
        case_ref,procedure_date,operator,tie_type
        A,2026-01-20,O1,anterior
        B,2026-01-20,O2,
        C,2026-01-20,O2,not_recorded
        D,2026-01-20,O4,
        E,2026-02-20,O1,none
        E,2026-01-20,O3,anterior
        E,2026-01-20,O2,posterior
        F,2026-01-20,O1,anterior
        F,2026-01-20,O1,not_recorded
        G,2026-01-20,o8,posterior
        G,2026-01-20,O9,anterior
        H,2026-01-20,O5,posterior
        H,2026-01-20,O5,none
        I,2026-01-20,A1,posterior
        I,2026-01-20,not_known,none
    """,
}
STORIES = [(CASES, CUT_OFF), (PROCEDURES, CUT_OFF)]


def test_levels_of_cases(tell: Callable[..., Story]) -> None:
    story = tell(CASES, CUT_OFF)
    expected = {
        "all": {"all": 9},
        "site": {"North": 5, "South": 3, "not_recorded": 1},
        # A: P2, who gave the help, not P1 of the first contact. B: no help, so P1 of the first day. C: two who helped
        # on the day. D: no help, two on the first day. E: P2, of two on the day the one who helped. F: no contact.
        # G: P1, twice. H: P1, of the first day of help, neither P3 of the first contact nor P2 of the later help. I:
        # not known.
        "practitioner": {"P1": 3, "P2": 2, "not_recorded": 4},
        # A: the latest day, and on it the last of none, anterior, posterior, submucosal: posterior. B: submucosal, the
        # latest that records one. C: anterior comes after none, though not by alphabet. D: submucosal. E: none, the
        # latest. F, I: never assessed. G: not recorded. H: posterior, after referral and procedure, though the
        # procedure itself says anterior: these are not measures of procedures.
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
        "divided_before": {"yes": 1, "no": 8},  # B, the day before; G, on the day of the first contact, was not before
        "route": {},
    }
    for measure in ("seen_promptly", "days_to_referral"):
        assert {each: story.levels(measure, "2026Q1", each) for each in expected} == expected, measure

    # H alone is referred. Not the operator of its procedure, O1, and not the tie type of that, anterior.
    for measure in (
        "attachment_help_before_referral",
        "function_assessed_before_referral",
        "days_from_referral_to_procedure",
        "stopped_breastfeeding_while_waiting",
    ):
        assert story.levels(measure, "2026Q1", "practitioner") == {"P1": 1}, measure
        assert story.levels(measure, "2026Q1", "tie_type") == {"posterior": 1}, measure
    # G and H are divided: by the operator, and by the procedure's own tie type.
    assert story.levels("age_at_procedure", "2026Q1", "practitioner") == {"O1": 2}
    assert story.levels("age_at_procedure", "2026Q1", "tie_type") == {"anterior": 1, "none": 1}


def test_levels_of_procedures(tell: Callable[..., Story]) -> None:
    story = tell(PROCEDURES, CUT_OFF)
    # By the operator, not by P1, who leads A and B. O1: A, one of E, both of F. O2: B, C, one of E.
    by_operator = {"A1": 1, "O1": 4, "O2": 3, "O3": 1, "O4": 1, "O5": 2, "O9": 1, "o8": 1, "not_recorded": 1}
    # Own: A and one of E, F and G anterior; one of E, G, H and I posterior; one of E, H and I none. From the case: B
    # posterior, C and the other of F submucosal. D: neither.
    by_tie = {"anterior": 4, "posterior": 5, "none": 3, "submucosal": 2, "not_recorded": 1}
    for measure in (
        "checks_before_procedure",
        "fed_within_30_minutes",
        "aftercare_advice_given",
        "complication_within_14_days",
        "bleeding_needing_care",
        "infection_within_14_days",
    ):
        assert story.levels(measure, "2026Q1", "practitioner") == by_operator, measure
        assert story.levels(measure, "2026Q1", "tie_type") == by_tie, measure
        assert story.counts(measure, "2026Q1")[0] == 15, measure

    # Without D, whose tie type is not recorded at all.
    assert story.levels("division_without_visible_tie", "2026Q1", "practitioner") == {
        operator: number for operator, number in by_operator.items() if operator != "O4"
    }
    assert story.levels("division_without_visible_tie", "2026Q1", "tie_type") == {
        tie: number for tie, number in by_tie.items() if tie != "not_recorded"
    }

    # Where a case counts once it is by its first procedure. E: O2 before O3 on the first day, posterior; not O1, a
    # month later. F: not_recorded is nothing recorded and comes first, before anterior, so the tie type is the case's,
    # submucosal. G: by code point O9 comes before o8, anterior. H: none comes before posterior. I: an operator who is
    # not known comes first, not A1; none.
    by_first_operator = {"O1": 2, "O2": 3, "O4": 1, "O5": 1, "O9": 1, "not_recorded": 1}
    by_first_tie = {"anterior": 2, "posterior": 2, "submucosal": 2, "none": 2, "not_recorded": 1}
    for measure in ("age_at_procedure", "attachment_help_after_division", "divided_again_within_84_days"):
        assert story.levels(measure, "2026Q1", "practitioner") == by_first_operator, measure
        assert story.levels(measure, "2026Q1", "tie_type") == by_first_tie, measure
