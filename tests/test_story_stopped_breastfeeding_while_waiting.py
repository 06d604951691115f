"""Stopped breastfeeding while waiting: when the wait ends, and the latest answer until then."""

from __future__ import annotations

from collections.abc import Callable

from tests.conftest import Story

MEASURE = "stopped_breastfeeding_while_waiting"
MET, NOT_MET, UNKNOWN = (1, 1, 1, 0), (1, 1, 0, 0), (1, 0, 0, 1)  # eligible, known, met, unknown

# First contact on 1 January and earliest referral on 10 January unless the case says otherwise: day 84 of the wait is
# 4 April.
CUT_OFF = "2026-06-30"
EXPORT = {
    "cases": """
        case_ref,site,first_contact_date,age_days,closed_date,closed_reason,feeding_at_first_contact
        stopped,stopped,2026-01-01,10,,,exclusive
        on_day_0,on_day_0,2026-01-01,10,,,partial
        day_before_referral,day_before_referral,2026-01-01,10,,,exclusive
        on_the_last_day,on_the_last_day,2026-01-01,10,,,exclusive
        day_after_division,day_after_division,2026-01-01,10,,,exclusive
        started_again,started_again,2026-01-01,10,,,exclusive
        then_not_known,then_not_known,2026-01-01,10,,,exclusive
        two_on_a_day,two_on_a_day,2026-01-01,10,,,exclusive
        only_not_known,only_not_known,2026-01-01,10,,,exclusive
        never_asked,never_asked,2026-01-01,10,,,exclusive
        no_milk_before,no_milk_before,2026-01-01,10,,,none
        feeding_not_known,feeding_not_known,2026-01-01,10,,,not_known
        feeding_empty,feeding_empty,2026-01-01,10,,,
        not_referred,not_referred,2026-01-01,10,,,exclusive
        divided_on_day_0,divided_on_day_0,2026-01-01,10,,,exclusive
        declined_that_day,declined_that_day,2026-01-01,10,,,exclusive
        declined_the_day_before,declined_the_day_before,2026-01-01,10,,,exclusive
        declined_undated,declined_undated,2026-01-01,10,,,exclusive
        day_84,day_84,2026-01-01,10,,,exclusive
        day_85,day_85,2026-01-01,10,,,exclusive
        moved,moved,2026-01-01,10,2026-01-15,moved,exclusive
        died,died,2026-01-01,10,2026-01-15,died,exclusive
        divided_before_referral,divided_before_referral,2026-01-01,10,,,exclusive
        divided_and_declined,divided_and_declined,2026-01-01,10,,,exclusive
        divided_then_declined,divided_then_declined,2026-01-01,10,,,exclusive
        declined_then_divided,declined_then_divided,2026-01-01,10,,,exclusive
        referred_again,referred_again,2026-01-01,10,,,exclusive
        into_april,into_april,2026-03-20,10,,,partial
        just_due,just_due,2026-04-01,10,,,exclusive
        not_yet_due,not_yet_due,2026-04-01,10,,,exclusive
        moved_while_waiting,moved_while_waiting,2026-04-01,10,2026-05-01,moved,exclusive
        divided_on_the_cut_off,divided_on_the_cut_off,2026-04-01,10,,,exclusive
        declined_in_june,declined_in_june,2026-04-01,10,,,exclusive
    """,
    "referrals": """
        case_ref,referral_date,outcome,outcome_date
        stopped,2026-01-10,accepted,2026-01-12
        on_day_0,2026-01-10,,
        day_before_referral,2026-01-10,,
        on_the_last_day,2026-01-10,,
        day_after_division,2026-01-10,,
        started_again,2026-01-10,,
        then_not_known,2026-01-10,,
        two_on_a_day,2026-01-10,,
        only_not_known,2026-01-10,,
        never_asked,2026-01-10,,
        no_milk_before,2026-01-10,,
        feeding_not_known,2026-01-10,,
        feeding_empty,2026-01-10,,
        divided_on_day_0,2026-01-10,,
        declined_that_day,2026-01-10,declined_by_parent,2026-01-20
        declined_the_day_before,2026-01-10,declined_by_parent,2026-01-20
        declined_undated,2026-01-10,declined_by_parent,
        day_84,2026-01-10,waiting,
        day_85,2026-01-10,waiting,
        moved,2026-01-10,,
        died,2026-01-10,,
        divided_before_referral,2026-01-10,,
        divided_and_declined,2026-01-10,not_indicated,2026-01-20
        divided_then_declined,2026-01-10,withdrawn,2026-01-30
        declined_then_divided,2026-01-10,not_brought,2026-01-20
        referred_again,2026-02-10,withdrawn,2026-02-20
        referred_again,2026-01-10,withdrawn,2026-01-20
        into_april,2026-04-01,,
        just_due,2026-04-07,,
        not_yet_due,2026-04-08,,
        moved_while_waiting,2026-04-08,,
        divided_on_the_cut_off,2026-04-08,,
        declined_in_june,2026-06-01,declined_by_parent,2026-06-10
    """,
    "procedures": """
        case_ref,procedure_date,operator
        stopped,2026-01-30,O
        on_day_0,2026-01-30,O
        day_before_referral,2026-01-30,O
        on_the_last_day,2026-01-30,O
        day_after_division,2026-01-30,O
        started_again,2026-01-30,O
        then_not_known,2026-01-30,O
        two_on_a_day,2026-01-30,O
        only_not_known,2026-01-30,O
        never_asked,2026-01-30,O
        no_milk_before,2026-01-30,O
        feeding_not_known,2026-01-30,O
        feeding_empty,2026-01-30,O
        not_referred,2026-01-30,O
        divided_on_day_0,2026-01-10,O
        divided_before_referral,2026-01-05,O
        divided_and_declined,2026-01-05,O
        divided_then_declined,2026-01-20,O
        declined_then_divided,2026-01-30,O
        into_april,2026-04-20,O
        divided_on_the_cut_off,2026-06-30,O
    """,
    "feeding_checks": """
        case_ref,check_date,feeding
        stopped,2026-01-20,none
        on_day_0,2026-01-10,none
        day_before_referral,2026-01-09,none
        on_the_last_day,2026-01-20,partial
        on_the_last_day,2026-01-30,none
        day_after_division,2026-01-20,partial
        day_after_division,2026-01-31,none
        started_again,2026-01-15,none
        started_again,2026-01-25,partial
        then_not_known,2026-01-20,none
        then_not_known,2026-01-25,not_known
        two_on_a_day,2026-01-20,none
        two_on_a_day,2026-01-20,partial
        only_not_known,2026-01-20,not_known
        only_not_known,2026-01-21,
        no_milk_before,2026-01-20,none
        feeding_not_known,2026-01-20,none
        feeding_empty,2026-01-20,none
        not_referred,2026-01-20,none
        divided_on_day_0,2026-01-10,none
        divided_on_day_0,2026-01-11,exclusive
        declined_that_day,2026-01-15,partial
        declined_that_day,2026-01-20,none
        declined_the_day_before,2026-01-15,partial
        declined_the_day_before,2026-01-21,none
        declined_undated,2026-01-15,partial
        declined_undated,2026-04-04,none
        day_84,2026-01-15,exclusive
        day_84,2026-04-04,none
        day_85,2026-04-05,none
        moved,2026-03-01,none
        died,2026-01-14,partial
        divided_before_referral,2026-01-12,partial
        divided_before_referral,2026-02-20,none
        divided_and_declined,2026-01-12,partial
        divided_and_declined,2026-01-25,none
        divided_then_declined,2026-01-12,partial
        divided_then_declined,2026-01-25,none
        declined_then_divided,2026-01-12,partial
        declined_then_divided,2026-01-25,none
        referred_again,2026-01-12,partial
        referred_again,2026-02-05,none
        referred_again,2026-02-25,exclusive
        into_april,2026-03-31,none
        into_april,2026-04-10,exclusive
        just_due,2026-06-30,none
        not_yet_due,2026-06-30,none
        moved_while_waiting,2026-05-01,none
        divided_on_the_cut_off,2026-06-30,partial
        declined_in_june,2026-06-05,none
    """,
}
STORIES = [(EXPORT, CUT_OFF)]


def test_the_latest_answer_before_the_wait_ends(tell: Callable[..., Story]) -> None:
    story = tell(EXPORT, CUT_OFF)
    found = {each: story.counts(MEASURE, "2026Q1", "site", each) for each in story.levels(MEASURE, "2026Q1", "site")}
    assert found == {
        "stopped": MET,
        "on_day_0": MET,  # from the referral date: the day itself counts
        "day_before_referral": UNKNOWN,  # stopped before the wait began; no answer within it
        "on_the_last_day": MET,  # to the end of the wait: the day of the division counts
        "day_after_division": NOT_MET,
        "started_again": NOT_MET,  # the latest answer; "ever none" would count it
        "then_not_known": MET,  # the latest recorded answer
        "two_on_a_day": NOT_MET,  # on one day the most breast milk
        "only_not_known": UNKNOWN,
        "never_asked": UNKNOWN,
        # no_milk_before, feeding_not_known, feeding_empty, not_referred: not eligible.
        "divided_on_day_0": MET,  # a wait of one day
        "declined_that_day": MET,
        "declined_the_day_before": NOT_MET,  # the wait ended on 20 January; carried on to day 84 it would be met
        "declined_undated": MET,  # without a date it ends nothing: to day 84
        "day_84": MET,
        "day_85": UNKNOWN,
        "moved": MET,  # closing the case does not end the wait
        "died": NOT_MET,  # nor does this, and the case is eligible
        "divided_before_referral": MET,  # not on or after the referral date: it does not end the wait
        "divided_and_declined": NOT_MET,  # so the wait ends when known not to go ahead, on 20 January
        "divided_then_declined": NOT_MET,  # whichever is first: 20 January in both
        "declined_then_divided": NOT_MET,
        "referred_again": MET,  # 5 February lies between the two: from the earliest, to the outcome date of the latest
    }
    # Met: stopped, on_day_0, on_the_last_day, then_not_known, divided_on_day_0, declined_that_day, declined_undated,
    # day_84, moved, divided_before_referral, referred_again: 11. Unknown: 4.
    assert story.counts(MEASURE, "2026Q1") == (23, 19, 11, 4)

    found = {each: story.counts(MEASURE, "2026Q2", "site", each) for each in story.levels(MEASURE, "2026Q2", "site")}
    assert found == {
        "into_april": NOT_MET,  # counted where the referral is; the none of 31 March came before it
        "just_due": MET,  # 7 April + 84 is the cut-off
        # not_yet_due and moved_while_waiting: 8 April + 84 is past the cut-off, and nothing else has ended their waits.
        "divided_on_the_cut_off": NOT_MET,  # referred on 8 April too, but this wait has ended
        "declined_in_june": MET,
    }
    assert story.counts(MEASURE, "2026Q2") == (4, 4, 2, 0)
    # The last day of March waits until 23 June, the last day of June until September.
    assert story.row(MEASURE, "2026Q1")["complete"] == "yes"
    assert story.row(MEASURE, "2026Q2")["complete"] == "no"
