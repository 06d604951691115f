"""Fed within 30 minutes: 30 and 31 minutes, at once, and not recorded."""

from __future__ import annotations

from collections.abc import Callable

from tests.conftest import Story

MEASURE = "fed_within_30_minutes"
MET, NOT_MET, UNKNOWN = (1, 1, 1, 0), (1, 1, 0, 0), (1, 0, 0, 1)  # eligible, known, met, unknown

# First contact on 1 January and procedure on 10 January unless the case says otherwise.
CUT_OFF = "2026-06-30"
EXPORT = {
    "cases": """
        case_ref,site,first_contact_date,age_days,closed_date,closed_reason
        at_once,at_once,2026-01-01,10,,
        minute_30,minute_30,2026-01-01,10,,
        minute_31,minute_31,2026-01-01,10,,
        a_day_later,a_day_later,2026-01-01,10,,
        empty,empty,2026-01-01,10,,
        minutes_not_known,minutes_not_known,2026-01-01,10,,
        two_on_a_day,two_on_a_day,2026-01-01,10,,
        died,died,2026-01-01,10,2026-01-12,died
        before,before,2026-01-20,29,,
        twice,twice,2026-01-01,10,,
    """,
    "procedures": """
        case_ref,procedure_date,operator,minutes_to_first_feed
        at_once,2026-01-10,O,0
        minute_30,2026-01-10,O,30
        minute_31,2026-01-10,O,31
        a_day_later,2026-01-10,O,1440
        empty,2026-01-10,O,
        minutes_not_known,2026-01-10,O,not_known
        two_on_a_day,2026-01-10,O,30
        two_on_a_day,2026-01-10,O,31
        died,2026-01-10,O,15
        before,2026-01-10,O,5
        twice,2026-03-31,O,31
        twice,2026-04-01,O,29
    """,
}
STORIES = [(EXPORT, CUT_OFF)]


def test_minute_30_is_in_time_and_minute_31_is_not(tell: Callable[..., Story]) -> None:
    story = tell(EXPORT, CUT_OFF)
    found = {each: story.counts(MEASURE, "2026Q1", "site", each) for each in story.levels(MEASURE, "2026Q1", "site")}
    assert found == {
        "at_once": MET,  # 0 minutes is an answer; taken for nothing recorded it would be unknown
        "minute_30": MET,
        "minute_31": NOT_MET,
        "a_day_later": NOT_MET,
        "empty": UNKNOWN,  # "not fed in time" would be a guess
        "minutes_not_known": UNKNOWN,
        "two_on_a_day": (2, 2, 1, 0),  # every procedure counts, two by one operator too
        "died": MET,
        "twice": NOT_MET,  # the one of 31 March
    }  # before: a procedure before the first contact is counted by no measure.
    assert story.counts(MEASURE, "2026Q1") == (10, 8, 4, 2)
    assert story.levels(MEASURE, "2026Q2", "site") == {"twice": 1}  # the one of 1 April
    assert story.counts(MEASURE, "2026Q2") == MET
    assert story.row(MEASURE, "2026Q2")["complete"] == "yes"  # nothing to wait for
