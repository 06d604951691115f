"""Feeding pain eased: the earliest score, the latest on a later day, and how much lower it is."""

from __future__ import annotations

from collections.abc import Callable

from tests.conftest import Story

MEASURE = "feeding_pain_eased"
MET, NOT_MET, UNKNOWN = (1, 1, 1, 0), (1, 1, 0, 0), (1, 0, 0, 1)  # eligible, known, met, unknown

# First contact on 1 January unless the case says otherwise: day 7 is 8 January, day 8 is 9 January, day 28 is
# 29 January, day 29 is 30 January.
CUT_OFF = "2026-06-30"
EXPORT = {
    "cases": """
        case_ref,site,first_contact_date,age_days,closed_date,closed_reason
        four_to_two,four_to_two,2026-01-01,10,,
        four_to_three,four_to_three,2026-01-01,10,,
        three_to_none,three_to_none,2026-01-01,10,,
        three_then_eight,three_then_eight,2026-01-01,10,,
        none_then_nine,none_then_nine,2026-01-01,10,,
        first_on_day_7,first_on_day_7,2026-01-01,10,,
        first_on_day_8,first_on_day_8,2026-01-01,10,,
        no_score,no_score,2026-01-01,10,,
        later_on_day_29,later_on_day_29,2026-01-01,10,,
        worse_on_day_28,worse_on_day_28,2026-01-01,10,,
        worse_on_day_29,worse_on_day_29,2026-01-01,10,,
        eased_at_last,eased_at_last,2026-01-01,10,,
        only_on_one_day,only_on_one_day,2026-01-01,10,,
        two_on_the_first_day,two_on_the_first_day,2026-01-01,10,,
        two_on_the_last_day,two_on_the_last_day,2026-01-01,10,,
        not_scored_later,not_scored_later,2026-01-01,10,,
        to_nothing,to_nothing,2026-01-01,10,,
        died,died,2026-01-01,10,2026-01-05,died
        divided,divided,2026-01-01,10,,
        over_new_year,over_new_year,2025-12-31,10,,
        just_due,just_due,2026-06-02,10,,
        not_yet_due,not_yet_due,2026-06-03,10,,
    """,
    "contacts": """
        case_ref,contact_date,practitioner,pain_score
        four_to_two,2026-01-01,P,4
        four_to_two,2026-01-10,P,2
        four_to_three,2026-01-01,P,4
        four_to_three,2026-01-10,P,3
        three_to_none,2026-01-01,P,3
        three_to_none,2026-01-10,P,0
        three_then_eight,2026-01-01,P,3
        three_then_eight,2026-01-05,P,8
        three_then_eight,2026-01-10,P,1
        none_then_nine,2026-01-01,P,0
        none_then_nine,2026-01-05,P,9
        none_then_nine,2026-01-10,P,1
        first_on_day_7,2026-01-01,P,
        first_on_day_7,2026-01-08,P,6
        first_on_day_7,2026-01-29,P,4
        first_on_day_8,2026-01-01,P,
        first_on_day_8,2026-01-09,P,6
        first_on_day_8,2026-01-20,P,1
        no_score,2026-01-01,P,
        no_score,2026-01-10,P,not_known
        later_on_day_29,2026-01-08,P,6
        later_on_day_29,2026-01-30,P,1
        worse_on_day_28,2026-01-01,P,6
        worse_on_day_28,2026-01-10,P,1
        worse_on_day_28,2026-01-29,P,5
        worse_on_day_29,2026-01-01,P,6
        worse_on_day_29,2026-01-10,P,1
        worse_on_day_29,2026-01-30,P,9
        eased_at_last,2026-01-01,P,6
        eased_at_last,2026-01-10,P,9
        eased_at_last,2026-01-20,P,4
        only_on_one_day,2026-01-01,P,8
        only_on_one_day,2026-01-01,Q,2
        two_on_the_first_day,2026-01-01,P,3
        two_on_the_first_day,2026-01-01,Q,6
        two_on_the_first_day,2026-01-10,P,4
        two_on_the_last_day,2026-01-01,P,6
        two_on_the_last_day,2026-01-10,P,2
        two_on_the_last_day,2026-01-10,Q,5
        not_scored_later,2026-01-01,P,6
        not_scored_later,2026-01-10,P,
        to_nothing,2026-01-01,P,10
        to_nothing,2026-01-02,P,0
        died,2026-01-01,P,6
        divided,2026-01-01,P,6
        divided,2026-01-10,P,5
        over_new_year,2025-12-31,P,6
        over_new_year,2026-01-28,P,4
        just_due,2026-06-02,P,4
        just_due,2026-06-30,P,2
        not_yet_due,2026-06-03,P,6
        not_yet_due,2026-06-10,P,1
    """,
    "procedures": """
        case_ref,procedure_date,operator
        divided,2026-01-05,O
    """,
}
STORIES = [(EXPORT, CUT_OFF)]


def test_two_points_lower_on_a_later_day(tell: Callable[..., Story]) -> None:
    story = tell(EXPORT, CUT_OFF)
    found = {each: story.counts(MEASURE, "2026Q1", "site", each) for each in story.levels(MEASURE, "2026Q1", "site")}
    assert found == {
        "four_to_two": MET,  # 4 or more, at least 2 lower: both edges count
        "four_to_three": NOT_MET,
        # three_to_none: below 4, not eligible. three_then_eight, none_then_nine: the earliest score decides, and 0 is a
        # score; "the worst score of the first week" would make both eligible. no_score: not eligible.
        "first_on_day_7": MET,  # within 7 days of first contact; eased on day 28. first_on_day_8: not eligible
        "later_on_day_29": UNKNOWN,  # 22 days after the first score, but 29 after first contact
        "worse_on_day_28": NOT_MET,  # the latest score; "ever 2 lower" would count it
        "worse_on_day_29": MET,  # the latest within 28 days
        "eased_at_last": MET,  # from the earliest, 6, to the latest, 4; in between it was worse
        "only_on_one_day": UNKNOWN,  # 8 and 2 on one day: no score on a later day
        "two_on_the_first_day": MET,  # the higher counts: 6, then 4; with the lower the case would not be eligible
        "two_on_the_last_day": NOT_MET,  # the higher counts again: 6, then 5
        "not_scored_later": UNKNOWN,
        "to_nothing": MET,  # 0 is a score; taken for nothing recorded it would be unknown
        "died": UNKNOWN,  # eligible: only the six-week measures leave those who died out
        "divided": NOT_MET,
    }
    assert story.counts(MEASURE, "2026Q1") == (14, 10, 6, 4)
    assert story.levels(MEASURE, "2026Q1", "route") == {"divided": 1, "closed": 1, "in_support": 12}
    # First contact on 31 December: counted there. Day 28 is 28 January.
    assert story.counts(MEASURE, "2025Q4") == MET
    # just_due: 2 June + 28 is the cut-off, and scored on it. not_yet_due, a day later, has eased already, but waits.
    assert story.levels(MEASURE, "2026Q2", "site") == {"just_due": 1}
    assert story.counts(MEASURE, "2026Q2") == MET
    assert story.row(MEASURE, "2026Q1")["complete"] == "yes"
    assert story.row(MEASURE, "2026Q2")["complete"] == "no"
