"""Resolved by attachment help: what stands on day 42, and what went further by then."""

from __future__ import annotations

from collections.abc import Callable

from tests.conftest import Story

MEASURE = "resolved_by_attachment_help"
MET, NOT_MET, UNKNOWN = (1, 1, 1, 0), (1, 1, 0, 0), (1, 0, 0, 1)  # eligible, known, met, unknown

# First contact on 1 January unless the case says otherwise: day 42 is 12 February, day 43 is 13 February.
CUT_OFF = "2026-06-30"
EXPORT = {
    "cases": """
        case_ref,site,first_contact_date,age_days,closed_date,closed_reason
        helped_on_day_42,helped_on_day_42,2026-01-01,10,,
        helped_on_day_43,helped_on_day_43,2026-01-01,10,,
        never_helped,never_helped,2026-01-01,10,,
        help_not_recorded,help_not_recorded,2026-01-01,10,,
        resolved_on_day_42,resolved_on_day_42,2026-01-01,10,,
        resolved_on_day_43,resolved_on_day_43,2026-01-01,10,,
        worse_on_day_42,worse_on_day_42,2026-01-01,10,,
        worse_on_day_43,worse_on_day_43,2026-01-01,10,,
        it_stands,it_stands,2026-01-01,10,,
        two_on_day_42,two_on_day_42,2026-01-01,10,,
        two_on_an_earlier_day,two_on_an_earlier_day,2026-01-01,10,,
        referred_on_day_42,referred_on_day_42,2026-01-01,10,,
        referred_on_day_43,referred_on_day_43,2026-01-01,10,,
        divided_on_day_42,divided_on_day_42,2026-01-01,10,,
        divided_on_day_43,divided_on_day_43,2026-01-01,10,,
        divided_before,divided_before,2026-01-01,10,,
        no_milk_on_day_42,no_milk_on_day_42,2026-01-01,10,,
        no_milk_on_day_43,no_milk_on_day_43,2026-01-01,10,,
        no_status,no_status,2026-01-01,10,,
        no_status_referred,no_status_referred,2026-01-01,10,,
        no_status_divided,no_status_divided,2026-01-01,10,,
        no_status_no_milk,no_status_no_milk,2026-01-01,10,,
        moved,moved,2026-01-01,10,2026-01-15,moved
        died,died,2026-01-01,10,2026-01-15,died
        over_new_year,over_new_year,2025-12-31,10,,
        just_due,just_due,2026-05-19,10,,
        not_yet_due,not_yet_due,2026-05-20,10,,
    """,
    "contacts": """
        case_ref,contact_date,practitioner,attachment_help,problem_status
        helped_on_day_42,2026-02-12,P,yes,resolved
        helped_on_day_43,2026-01-10,P,no,resolved
        helped_on_day_43,2026-02-13,P,yes,
        never_helped,2026-01-10,P,no,resolved
        help_not_recorded,2026-01-10,P,,resolved
        resolved_on_day_42,2026-01-01,P,yes,unchanged
        resolved_on_day_42,2026-02-12,P,no,resolved
        resolved_on_day_43,2026-01-01,P,yes,improved
        resolved_on_day_43,2026-02-13,P,no,resolved
        worse_on_day_42,2026-01-01,P,yes,resolved
        worse_on_day_42,2026-02-12,P,no,worse
        worse_on_day_43,2026-01-01,P,yes,resolved
        worse_on_day_43,2026-02-13,P,no,worse
        it_stands,2026-01-01,P,yes,resolved
        it_stands,2026-02-01,P,no,
        it_stands,2026-02-12,P,no,not_recorded
        two_on_day_42,2026-01-01,P,yes,unchanged
        two_on_day_42,2026-02-12,P,no,resolved
        two_on_day_42,2026-02-12,Q,no,improved
        two_on_an_earlier_day,2026-01-01,P,yes,resolved
        two_on_an_earlier_day,2026-01-01,P,no,worse
        two_on_an_earlier_day,2026-01-20,P,no,resolved
        referred_on_day_42,2026-01-10,P,yes,resolved
        referred_on_day_43,2026-01-10,P,yes,resolved
        divided_on_day_42,2026-01-10,P,yes,resolved
        divided_on_day_43,2026-01-10,P,yes,resolved
        divided_before,2026-01-10,P,yes,resolved
        no_milk_on_day_42,2026-01-10,P,yes,resolved
        no_milk_on_day_43,2026-01-10,P,yes,resolved
        no_status,2026-01-10,P,yes,
        no_status,2026-01-20,P,yes,not_recorded
        no_status,2026-02-13,P,yes,resolved
        no_status_referred,2026-01-10,P,yes,
        no_status_divided,2026-01-10,P,yes,
        no_status_no_milk,2026-01-10,P,yes,
        moved,2026-01-10,P,yes,resolved
        died,2026-01-10,P,yes,unchanged
        over_new_year,2026-01-05,P,yes,improved
        over_new_year,2026-02-11,P,no,resolved
        just_due,2026-05-19,P,yes,improved
        not_yet_due,2026-05-20,P,yes,resolved
    """,
    "referrals": """
        case_ref,referral_date,outcome,outcome_date
        referred_on_day_42,2026-02-12,withdrawn,2026-02-12
        referred_on_day_43,2026-02-13,,
        no_status_referred,2026-02-12,,
    """,
    "procedures": """
        case_ref,procedure_date,operator
        divided_on_day_42,2026-02-12,O
        divided_on_day_43,2026-02-13,O
        divided_before,2025-12-20,O
        no_status_divided,2026-02-12,O
    """,
    "feeding_checks": """
        case_ref,check_date,feeding
        no_milk_on_day_42,2026-02-12,none
        no_milk_on_day_43,2026-02-01,not_known
        no_milk_on_day_43,2026-02-12,partial
        no_milk_on_day_43,2026-02-13,none
        no_status_no_milk,2026-01-20,none
        no_status_no_milk,2026-02-01,exclusive
    """,
}
STORIES = [(EXPORT, CUT_OFF)]


def test_what_stands_on_day_42(tell: Callable[..., Story]) -> None:
    story = tell(EXPORT, CUT_OFF)
    found = {each: story.counts(MEASURE, "2026Q1", "site", each) for each in story.levels(MEASURE, "2026Q1", "site")}
    assert found == {
        "helped_on_day_42": MET,  # within 42 days takes day 42 in, for the help and for the status
        # helped_on_day_43, never_helped, help_not_recorded: no help by day 42, not eligible however well it ended.
        "resolved_on_day_42": MET,
        "resolved_on_day_43": NOT_MET,  # still improved on day 42; by the status at the cut-off it would be met
        "worse_on_day_42": NOT_MET,  # "ever resolved" would count it
        "worse_on_day_43": MET,  # the status at the cut-off would not count it
        "it_stands": MET,  # two later contacts record none, and the status stands until another is recorded
        "two_on_day_42": NOT_MET,  # on one day the worse counts: improved
        "two_on_an_earlier_day": MET,  # worse on day 0, but a later day says resolved
        "referred_on_day_42": NOT_MET,  # a withdrawn referral is a referral
        "referred_on_day_43": MET,
        "divided_on_day_42": NOT_MET,  # without any referral
        "divided_on_day_43": MET,
        "divided_before": MET,  # a procedure before the first contact does not exist here
        "no_milk_on_day_42": NOT_MET,
        "no_milk_on_day_43": MET,  # by day 42: an answer not known, and partial, which is breast milk
        "no_status": UNKNOWN,  # nothing by day 42; the resolved of day 43 comes too late to be known
        "no_status_referred": NOT_MET,  # one of the three by then: known without a status
        "no_status_divided": NOT_MET,
        "no_status_no_milk": NOT_MET,  # breastfed again later: a check of none by then is enough
        "moved": MET,  # follow-up ends waits, and shortens nothing else
        "died": NOT_MET,
    }
    assert story.counts(MEASURE, "2026Q1") == (21, 20, 10, 1)
    # Counted where the first contact is, although its day 42 is in the next quarter.
    assert story.counts(MEASURE, "2025Q4") == MET
    # just_due: first contact on 19 May, day 42 is the cut-off. not_yet_due, a day later, is resolved, but waits.
    assert story.levels(MEASURE, "2026Q2", "site") == {"just_due": 1}
    assert story.counts(MEASURE, "2026Q2") == NOT_MET
    # The last day of June waits until August, the last day of March until 12 May.
    assert story.row(MEASURE, "2026Q1")["complete"] == "yes"
    assert story.row(MEASURE, "2026Q2")["complete"] == "no"
