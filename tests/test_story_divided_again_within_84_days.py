"""Divided again within 84 days: days 84 and 85 after the first procedure, the same day, and a third procedure."""

from __future__ import annotations

from collections.abc import Callable

from tests.conftest import Story

MEASURE = "divided_again_within_84_days"
MET, NOT_MET = (1, 1, 1, 0), (1, 1, 0, 0)  # eligible, known, met, unknown

# First contact on 1 January and first procedure on 10 January unless the case says otherwise: day 84 is 4 April,
# day 85 is 5 April.
CUT_OFF = "2026-06-30"
EXPORT = {
    "cases": """
        case_ref,site,first_contact_date,age_days,closed_date,closed_reason
        once,once,2026-01-01,10,,
        same_day,same_day,2026-01-01,10,,
        day_1,day_1,2026-01-01,10,,
        day_84,day_84,2026-01-01,10,,
        day_85,day_85,2026-01-01,10,,
        thrice,thrice,2026-01-01,10,,
        second_and_third_near,second_and_third_near,2026-01-01,10,,
        before_and_after,before_and_after,2026-01-01,10,,
        only_before,only_before,2026-01-20,29,,
        never,never,2026-01-01,10,,
        died,died,2026-01-01,10,2026-01-12,died
        moved,moved,2026-01-01,10,2026-01-12,moved
        into_april,into_april,2026-01-01,10,,
        just_due,just_due,2026-04-01,10,,
        not_yet_due,not_yet_due,2026-04-01,10,,
    """,
    "procedures": """
        case_ref,procedure_date,operator
        once,2026-01-10,O
        same_day,2026-01-10,O
        same_day,2026-01-10,Q
        day_1,2026-01-11,O
        day_1,2026-01-10,O
        day_84,2026-01-10,O
        day_84,2026-04-04,O
        day_85,2026-01-10,O
        day_85,2026-04-05,O
        thrice,2026-01-10,O
        thrice,2026-02-10,O
        thrice,2026-03-10,O
        second_and_third_near,2026-01-10,O
        second_and_third_near,2026-05-01,O
        second_and_third_near,2026-05-10,O
        before_and_after,2025-12-31,O
        before_and_after,2026-01-10,O
        only_before,2026-01-10,O
        only_before,2026-01-19,O
        died,2026-01-10,O
        moved,2026-01-10,O
        moved,2026-02-10,O
        into_april,2026-03-31,O
        into_april,2026-04-10,O
        just_due,2026-04-07,O
        just_due,2026-06-30,O
        not_yet_due,2026-04-08,O
        not_yet_due,2026-04-20,O
    """,
}
STORIES = [(EXPORT, CUT_OFF)]


def test_a_later_day_up_to_day_84(tell: Callable[..., Story]) -> None:
    story = tell(EXPORT, CUT_OFF)
    found = {each: story.counts(MEASURE, "2026Q1", "site", each) for each in story.levels(MEASURE, "2026Q1", "site")}
    assert found == {
        "once": NOT_MET,  # known: never unknown
        "same_day": NOT_MET,  # two procedures, but none on a later day; "more than one procedure" would count it
        "day_1": MET,
        "day_84": MET,
        "day_85": NOT_MET,
        "thrice": MET,  # the case counts once, by its first procedure
        "second_and_third_near": NOT_MET,  # nine days apart, but 111 and 120 days after the first
        "before_and_after": NOT_MET,  # the one before the first contact does not exist here
        "died": NOT_MET,
        "moved": MET,  # follow-up ends waits only
        "into_april": MET,  # counted where the first procedure is, once
    }  # only_before and never: not eligible.
    assert story.counts(MEASURE, "2026Q1") == (11, 11, 5, 0)
    # just_due: 7 April + 84 is the cut-off, and divided again on it. not_yet_due, a day later, was divided again
    # already; to count it would be to count only those of whom it is known early.
    assert story.levels(MEASURE, "2026Q2", "site") == {"just_due": 1}
    assert story.counts(MEASURE, "2026Q2") == MET
    # The last day of March waits until 23 June, the last day of June until September.
    assert story.row(MEASURE, "2026Q1")["complete"] == "yes"
    assert story.row(MEASURE, "2026Q2")["complete"] == "no"
