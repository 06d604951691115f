"""The three complication measures: what was noted on days 0 to 14 after a procedure, and who was seen after."""

from __future__ import annotations

from collections.abc import Callable

from tests.conftest import Story

ANY, BLEEDING, INFECTION = "complication_within_14_days", "bleeding_needing_care", "infection_within_14_days"
MET, NOT_MET, UNKNOWN = (1, 1, 1, 0), (1, 1, 0, 0), (1, 0, 0, 1)  # eligible, known, met, unknown

# First contact on 1 January and procedure on 10 January unless the case says otherwise: day 1 is 11 January, day 14 is
# 24 January, day 15 is 25 January.
CUT_OFF = "2026-06-30"
EXPORT = {
    "cases": """
        case_ref,site,first_contact_date,age_days,closed_date,closed_reason
        minor_on_day_0,minor_on_day_0,2026-01-01,10,,
        treated_on_day_14,treated_on_day_14,2026-01-01,10,,
        hospital_on_day_0,hospital_on_day_0,2026-01-01,10,,
        hospital_on_day_15,hospital_on_day_15,2026-01-01,10,,
        hospital_on_day_15_seen,hospital_on_day_15_seen,2026-01-01,10,,
        severity_empty,severity_empty,2026-01-01,10,,
        severity_empty_and_treated,severity_empty_and_treated,2026-01-01,10,,
        severity_empty_and_minor,severity_empty_and_minor,2026-01-01,10,,
        severity_empty_on_day_15,severity_empty_on_day_15,2026-01-01,10,,
        minor_and_treated,minor_and_treated,2026-01-01,10,,
        minor_and_infection,minor_and_infection,2026-01-01,10,,
        reattachment,reattachment,2026-01-01,10,,
        reattachment_not_seen,reattachment_not_seen,2026-01-01,10,,
        reattachment_and_injury,reattachment_and_injury,2026-01-01,10,,
        infection_on_day_0,infection_on_day_0,2026-01-01,10,,
        infection_on_day_14,infection_on_day_14,2026-01-01,10,,
        infection_on_day_15,infection_on_day_15,2026-01-01,10,,
        infection_in_hospital,infection_in_hospital,2026-01-01,10,,
        refusal,refusal,2026-01-01,10,,
        injury_and_other,injury_and_other,2026-01-01,10,,
        seen_on_day_0,seen_on_day_0,2026-01-01,10,,
        seen_on_day_1,seen_on_day_1,2026-01-01,10,,
        seen_on_day_14,seen_on_day_14,2026-01-01,10,,
        seen_on_day_15,seen_on_day_15,2026-01-01,10,,
        asked_on_day_0,asked_on_day_0,2026-01-01,10,,
        asked_on_day_1,asked_on_day_1,2026-01-01,10,,
        asked_on_day_14,asked_on_day_14,2026-01-01,10,,
        asked_on_day_15,asked_on_day_15,2026-01-01,10,,
        only_assessed,only_assessed,2026-01-01,10,,
        died,died,2026-01-01,10,2026-01-12,died
        moved_then_seen,moved_then_seen,2026-01-01,10,2026-01-12,moved
        after_both,after_both,2026-01-01,10,,
        between_both,between_both,2026-01-01,10,,
        two_on_a_day,two_on_a_day,2026-01-01,10,,
        before_and_after,before_and_after,2026-01-07,16,,
        only_before,only_before,2026-01-20,29,,
        never,never,2026-01-01,10,,
        into_april,into_april,2026-01-01,10,,
        just_due,just_due,2026-06-10,10,,
        not_yet_due,not_yet_due,2026-06-10,10,,
    """,
    "procedures": """
        case_ref,procedure_date,operator
        minor_on_day_0,2026-01-10,O
        treated_on_day_14,2026-01-10,O
        hospital_on_day_0,2026-01-10,O
        hospital_on_day_15,2026-01-10,O
        hospital_on_day_15_seen,2026-01-10,O
        severity_empty,2026-01-10,O
        severity_empty_and_treated,2026-01-10,O
        severity_empty_and_minor,2026-01-10,O
        severity_empty_on_day_15,2026-01-10,O
        minor_and_treated,2026-01-10,O
        minor_and_infection,2026-01-10,O
        reattachment,2026-01-10,O
        reattachment_not_seen,2026-01-10,O
        reattachment_and_injury,2026-01-10,O
        infection_on_day_0,2026-01-10,O
        infection_on_day_14,2026-01-10,O
        infection_on_day_15,2026-01-10,O
        infection_in_hospital,2026-01-10,O
        refusal,2026-01-10,O
        injury_and_other,2026-01-10,O
        seen_on_day_0,2026-01-10,O
        seen_on_day_1,2026-01-10,O
        seen_on_day_14,2026-01-10,O
        seen_on_day_15,2026-01-10,O
        asked_on_day_0,2026-01-10,O
        asked_on_day_1,2026-01-10,O
        asked_on_day_14,2026-01-10,O
        asked_on_day_15,2026-01-10,O
        only_assessed,2026-01-10,O
        died,2026-01-10,O
        moved_then_seen,2026-01-10,O
        after_both,2026-01-10,O
        after_both,2026-01-20,O
        between_both,2026-01-10,O
        between_both,2026-01-20,O
        two_on_a_day,2026-01-10,O
        two_on_a_day,2026-01-10,Q
        before_and_after,2026-01-05,O
        before_and_after,2026-01-10,O
        only_before,2026-01-10,O
        into_april,2026-03-31,O
        just_due,2026-06-16,O
        not_yet_due,2026-06-17,O
    """,
    "complications": """
        case_ref,noted_date,kind,severity
        minor_on_day_0,2026-01-10,bleeding,minor
        treated_on_day_14,2026-01-24,bleeding,treated
        hospital_on_day_0,2026-01-10,bleeding,hospital
        hospital_on_day_15,2026-01-25,bleeding,hospital
        hospital_on_day_15_seen,2026-01-25,bleeding,hospital
        severity_empty,2026-01-13,bleeding,
        severity_empty_and_treated,2026-01-13,bleeding,
        severity_empty_and_treated,2026-01-13,bleeding,treated
        severity_empty_and_minor,2026-01-13,bleeding,
        severity_empty_and_minor,2026-01-13,bleeding,minor
        severity_empty_on_day_15,2026-01-25,bleeding,
        minor_and_treated,2026-01-10,bleeding,minor
        minor_and_treated,2026-01-13,bleeding,treated
        minor_and_infection,2026-01-10,bleeding,minor
        minor_and_infection,2026-01-13,infection,
        reattachment,2026-01-15,reattachment,
        reattachment_not_seen,2026-01-15,reattachment,
        reattachment_and_injury,2026-01-15,reattachment,
        reattachment_and_injury,2026-01-15,injury,
        infection_on_day_0,2026-01-10,infection,
        infection_on_day_14,2026-01-24,infection,minor
        infection_on_day_15,2026-01-25,infection,treated
        infection_in_hospital,2026-01-13,infection,hospital
        refusal,2026-01-13,feeding_refusal,treated
        injury_and_other,2026-01-13,injury,
        injury_and_other,2026-01-13,other,
        after_both,2026-01-22,infection,treated
        between_both,2026-01-19,infection,treated
        between_both,2026-01-19,bleeding,treated
        two_on_a_day,2026-01-10,bleeding,treated
        before_and_after,2026-01-06,bleeding,hospital
        only_before,2026-01-12,bleeding,hospital
        into_april,2026-04-14,bleeding,treated
        not_yet_due,2026-06-17,infection,treated
    """,
    "contacts": """
        case_ref,contact_date,practitioner
        hospital_on_day_15_seen,2026-01-11,P
        severity_empty,2026-01-13,P
        severity_empty_on_day_15,2026-01-11,P
        reattachment,2026-01-24,P
        infection_on_day_15,2026-01-11,P
        infection_in_hospital,2026-01-13,P
        injury_and_other,2026-01-13,P
        seen_on_day_0,2026-01-10,P
        seen_on_day_1,2026-01-11,P
        seen_on_day_14,2026-01-24,P
        seen_on_day_15,2026-01-25,P
        moved_then_seen,2026-01-13,P
        before_and_after,2026-01-08,P
        only_before,2026-01-20,P
        never,2026-01-11,P
        just_due,2026-06-30,P
        not_yet_due,2026-06-18,P
    """,
    "feeding_checks": """
        case_ref,check_date,feeding
        asked_on_day_0,2026-01-10,exclusive
        asked_on_day_1,2026-01-11,none
        asked_on_day_14,2026-01-24,not_known
        asked_on_day_15,2026-01-25,exclusive
    """,
    "assessments": """
        case_ref,assessment_date,practitioner,tie_type
        only_assessed,2026-01-12,P,anterior
    """,
}
STORIES = [(EXPORT, CUT_OFF)]


def test_what_was_noted_and_who_was_seen(tell: Callable[..., Story]) -> None:
    story = tell(EXPORT, CUT_OFF)
    found = {
        each: tuple(story.counts(measure, "2026Q1", "site", each) for measure in (ANY, BLEEDING, INFECTION))
        for each in story.levels(ANY, "2026Q1", "site")
    }
    unknown, not_met = (UNKNOWN, UNKNOWN, UNKNOWN), (NOT_MET, NOT_MET, NOT_MET)
    assert found == {
        # Any complication, bleeding that needed care, infection. A complication is not a contact: these first four were
        # not seen after, so nothing is known of an infection. Minor bleeding is bleeding: known, and no care needed.
        "minor_on_day_0": (MET, NOT_MET, UNKNOWN),
        "treated_on_day_14": (MET, MET, UNKNOWN),
        "hospital_on_day_0": (MET, MET, UNKNOWN),
        "hospital_on_day_15": unknown,  # too late to count, and not seen in time
        "hospital_on_day_15_seen": not_met,
        "severity_empty": (MET, UNKNOWN, NOT_MET),  # seen, but bleeding of unrecorded severity may have needed care
        "severity_empty_and_treated": (MET, MET, UNKNOWN),  # one that needed care is enough
        "severity_empty_and_minor": (MET, UNKNOWN, UNKNOWN),  # the minor one does not answer for the other
        "severity_empty_on_day_15": not_met,
        "minor_and_treated": (MET, MET, UNKNOWN),
        "minor_and_infection": (MET, NOT_MET, MET),  # the infection's empty severity says nothing of the bleeding
        "reattachment": not_met,  # not counted as a complication; "any row" would count it
        "reattachment_not_seen": unknown,
        "reattachment_and_injury": (MET, UNKNOWN, UNKNOWN),  # one of two is enough
        "infection_on_day_0": (MET, UNKNOWN, MET),  # nothing is known of bleeding
        "infection_on_day_14": (MET, UNKNOWN, MET),
        "infection_on_day_15": not_met,
        "infection_in_hospital": (MET, NOT_MET, MET),  # in hospital, but not for bleeding
        "refusal": (MET, UNKNOWN, UNKNOWN),
        "injury_and_other": (MET, NOT_MET, NOT_MET),  # counted once; their empty severity says nothing of bleeding
        "seen_on_day_0": unknown,  # seen after is from day 1
        "seen_on_day_1": not_met,
        "seen_on_day_14": not_met,
        "seen_on_day_15": unknown,
        "asked_on_day_0": unknown,
        "asked_on_day_1": not_met,
        "asked_on_day_14": not_met,  # a feeding check whatever its answer: not_known too
        "asked_on_day_15": unknown,
        "only_assessed": unknown,  # seen after is a contact or a feeding check
        "died": unknown,  # eligible: only the six-week measures leave those who died out
        "moved_then_seen": not_met,  # seen a day after closing: follow-up ends waits only
        "after_both": ((2, 2, 2, 0), (2, 0, 0, 2), (2, 2, 2, 0)),  # one counts for every procedure it follows
        "between_both": ((2, 1, 1, 1), (2, 1, 1, 1), (2, 1, 1, 1)),  # a day before the second: not of it
        "two_on_a_day": ((2, 2, 2, 0), (2, 2, 2, 0), (2, 0, 0, 2)),
        "before_and_after": unknown,  # once: bleeding and contact came before the procedure of this episode
        "into_april": (MET, MET, UNKNOWN),  # counted where the procedure is, 31 March; noted on day 14
    }  # only_before and never: not eligible.
    # 36 cases, three of them with two procedures: 39. Nine cases are `unknown` and nine `not_met` throughout.
    # Any: met are fifteen cases and 2 + 1 + 2 of the pairs; unknown the nine and one of between_both.
    assert story.counts(ANY, "2026Q1") == (39, 29, 20, 10)
    # Bleeding: met are five cases and 1 + 2 of the pairs; unknown the nine, six cases more, and 2 + 1 of the pairs.
    assert story.counts(BLEEDING, "2026Q1") == (39, 21, 8, 18)
    # Infection: met are four cases and 2 + 1 of the pairs; unknown the nine, nine cases more, and 1 + 2 of the pairs.
    assert story.counts(INFECTION, "2026Q1") == (39, 18, 7, 21)


def test_fourteen_days_must_have_passed(tell: Callable[..., Story]) -> None:
    story = tell(EXPORT, CUT_OFF)
    for measure in (ANY, BLEEDING, INFECTION):
        # just_due: divided on 16 June, day 14 is the cut-off, and seen on it. not_yet_due: a day later, and an
        # infection noted already; to count it while those without one still wait would make complications look common.
        assert story.levels(measure, "2026Q2", "site") == {"just_due": 1}, measure
        assert story.counts(measure, "2026Q2") == NOT_MET, measure
        assert story.row(measure, "2026Q1")["complete"] == "yes", measure
        assert story.row(measure, "2026Q2")["complete"] == "no", measure
