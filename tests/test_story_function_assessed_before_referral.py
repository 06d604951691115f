"""Function assessed before referral: what one assessment must hold, and by when."""

from __future__ import annotations

from collections.abc import Callable

from tests.conftest import Story

MEASURE = "function_assessed_before_referral"
MET, NOT_MET = (1, 1, 1, 0), (1, 1, 0, 0)  # eligible, known, met, unknown

# First contact on 1 January and referral on 20 January unless the case says otherwise.
CUT_OFF = "2026-06-30"
EXPORT = {
    "cases": """
        case_ref,site,first_contact_date,age_days
        score_on_the_day,score_on_the_day,2026-01-01,10
        score_a_day_late,score_a_day_late,2026-01-01,10
        all_three_signs,all_three_signs,2026-01-01,10
        no_extension,no_extension,2026-01-01,10
        no_cupping,no_cupping,2026-01-01,10
        no_peristalsis,no_peristalsis,2026-01-01,10
        score_without_signs,score_without_signs,2026-01-01,10
        tie_not_recorded,tie_not_recorded,2026-01-01,10
        tie_empty,tie_empty,2026-01-01,10
        no_tie_score_0,no_tie_score_0,2026-01-01,10
        tie_only,tie_only,2026-01-01,10
        in_two_halves,in_two_halves,2026-01-01,10
        signs_in_two_halves,signs_in_two_halves,2026-01-01,10
        one_of_two_on_a_day,one_of_two_on_a_day,2026-01-01,10
        between_two_referrals,between_two_referrals,2026-01-01,10
        not_assessed,not_assessed,2026-01-01,10
        not_referred,not_referred,2026-01-01,10
        into_april,into_april,2026-03-31,10
    """,
    "assessments": """
        case_ref,assessment_date,practitioner,tie_type,extension,cupping,peristalsis,function_score
        score_on_the_day,2026-01-20,P,anterior,,,,5
        score_a_day_late,2026-01-21,P,anterior,full,full,full,5
        all_three_signs,2026-01-10,P,posterior,limited,absent,absent,
        no_extension,2026-01-10,P,posterior,,full,full,
        no_cupping,2026-01-10,P,posterior,full,not_known,full,
        no_peristalsis,2026-01-10,P,posterior,full,full,,
        score_without_signs,2026-01-10,P,submucosal,full,,,8
        tie_not_recorded,2026-01-10,P,not_recorded,full,full,full,8
        tie_empty,2026-01-10,P,,full,full,full,8
        no_tie_score_0,2026-01-10,P,none,,,,0
        tie_only,2026-01-10,P,anterior,,,,
        in_two_halves,2026-01-10,P,anterior,,,,
        in_two_halves,2026-01-10,P,not_recorded,full,full,full,8
        signs_in_two_halves,2026-01-10,P,anterior,full,full,,
        signs_in_two_halves,2026-01-11,P,anterior,,,full,
        one_of_two_on_a_day,2026-01-10,P,not_recorded,,,,
        one_of_two_on_a_day,2026-01-10,Q,anterior,,,,3
        between_two_referrals,2026-02-01,P,anterior,,,,5
        not_referred,2026-01-10,P,anterior,,,,5
        into_april,2026-03-31,P,anterior,,,,5
    """,
    "referrals": """
        case_ref,referral_date,outcome
        score_on_the_day,2026-01-20,
        score_a_day_late,2026-01-20,
        all_three_signs,2026-01-20,
        no_extension,2026-01-20,
        no_cupping,2026-01-20,
        no_peristalsis,2026-01-20,
        score_without_signs,2026-01-20,
        tie_not_recorded,2026-01-20,
        tie_empty,2026-01-20,
        no_tie_score_0,2026-01-20,not_indicated
        tie_only,2026-01-20,
        in_two_halves,2026-01-20,
        signs_in_two_halves,2026-01-20,
        one_of_two_on_a_day,2026-01-20,
        between_two_referrals,2026-01-20,
        between_two_referrals,2026-02-10,
        not_assessed,2026-01-20,
        into_april,2026-04-01,
    """,
}
STORIES = [(EXPORT, CUT_OFF)]


def test_one_assessment_must_hold_the_tie_and_the_function(tell: Callable[..., Story]) -> None:
    story = tell(EXPORT, CUT_OFF)
    found = {each: story.counts(MEASURE, "2026Q1", "site", each) for each in story.levels(MEASURE, "2026Q1", "site")}
    assert found == {
        "score_on_the_day": MET,  # on or before the referral date: the day itself counts here
        "score_a_day_late": NOT_MET,
        "all_three_signs": MET,  # limited and absent are answers
        "no_extension": NOT_MET,  # all three are asked for; "any of the three" would count it, and the next two
        "no_cupping": NOT_MET,
        "no_peristalsis": NOT_MET,
        "score_without_signs": MET,  # the score alone is enough
        "tie_not_recorded": NOT_MET,  # a word that says nothing is not a tie type; never unknown
        "tie_empty": NOT_MET,
        "no_tie_score_0": MET,  # none is an answer, and 0 is a score
        "tie_only": NOT_MET,
        "in_two_halves": NOT_MET,  # tie in one, function in another of the same day: no one assessment holds both
        "signs_in_two_halves": NOT_MET,  # nor are the three signs gathered from two
        "one_of_two_on_a_day": MET,
        "between_two_referrals": NOT_MET,  # after the earliest referral
        "not_assessed": NOT_MET,
    }  # not_referred: not eligible.
    assert story.counts(MEASURE, "2026Q1") == (16, 16, 5, 0)
    assert story.levels(MEASURE, "2026Q2", "site") == {"into_april": 1}  # counted where the referral is
    assert story.counts(MEASURE, "2026Q2") == MET
    assert story.row(MEASURE, "2026Q2")["complete"] == "yes"  # nothing to wait for
