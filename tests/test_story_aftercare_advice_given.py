"""Aftercare advice given: yes, no, and not recorded, for every procedure."""

from __future__ import annotations

from collections.abc import Callable

from tests.conftest import Story

MEASURE = "aftercare_advice_given"
MET, NOT_MET, UNKNOWN = (1, 1, 1, 0), (1, 1, 0, 0), (1, 0, 0, 1)  # eligible, known, met, unknown

# First contact on 1 January and procedure on 10 January unless the case says otherwise.
CUT_OFF = "2026-06-30"
EXPORT = {
    "cases": """
        case_ref,site,first_contact_date,age_days,closed_date,closed_reason
        given,given,2026-01-01,10,,
        not_given,not_given,2026-01-01,10,,
        empty,empty,2026-01-01,10,,
        advice_not_known,advice_not_known,2026-01-01,10,,
        two_on_a_day,two_on_a_day,2026-01-01,10,,
        three_on_a_day,three_on_a_day,2026-01-01,10,,
        moved,moved,2026-01-01,10,2026-01-05,moved
        before,before,2026-01-20,29,,
        twice,twice,2026-01-01,10,,
    """,
    "procedures": """
        case_ref,procedure_date,operator,aftercare_advice
        given,2026-01-10,O,yes
        not_given,2026-01-10,O,no
        empty,2026-01-10,O,
        advice_not_known,2026-01-10,O,not_known
        two_on_a_day,2026-01-10,O,yes
        two_on_a_day,2026-01-10,O,no
        three_on_a_day,2026-01-10,O,yes
        three_on_a_day,2026-01-10,Q,yes
        three_on_a_day,2026-01-10,R,
        moved,2026-01-10,O,yes
        before,2026-01-10,O,yes
        twice,2026-03-31,O,no
        twice,2026-04-01,O,yes
    """,
}
STORIES = [(EXPORT, CUT_OFF)]


def test_not_recorded_is_not_no(tell: Callable[..., Story]) -> None:
    story = tell(EXPORT, CUT_OFF)
    found = {each: story.counts(MEASURE, "2026Q1", "site", each) for each in story.levels(MEASURE, "2026Q1", "site")}
    assert found == {
        "given": MET,
        "not_given": NOT_MET,
        "empty": UNKNOWN,  # read as no, it would be known
        "advice_not_known": UNKNOWN,
        "two_on_a_day": (2, 2, 1, 0),  # one yes does not answer for the other: counted by case it would be met, once
        "three_on_a_day": (3, 2, 2, 1),
        "moved": MET,
        "twice": NOT_MET,  # the one of 31 March
    }  # before: a procedure before the first contact is counted by no measure.
    assert story.counts(MEASURE, "2026Q1") == (11, 8, 5, 3)
    assert story.levels(MEASURE, "2026Q2", "site") == {"twice": 1}  # the one of 1 April
    assert story.counts(MEASURE, "2026Q2") == MET
    assert story.row(MEASURE, "2026Q2")["complete"] == "yes"  # no procedure waits for anything
