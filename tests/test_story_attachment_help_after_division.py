"""Attachment help after division: days 1 to 7 after the first procedure, and contacts that do not say."""

from __future__ import annotations

from collections.abc import Callable

from tests.conftest import Story

MEASURE = "attachment_help_after_division"
MET, NOT_MET, UNKNOWN = (1, 1, 1, 0), (1, 1, 0, 0), (1, 0, 0, 1)  # eligible, known, met, unknown

# First contact on 1 January and first procedure on 10 January unless the case says otherwise: day 1 is 11 January,
# day 7 is 17 January.
CUT_OFF = "2026-06-30"
EXPORT = {
    "cases": """
        case_ref,site,first_contact_date,age_days,closed_date,closed_reason
        on_the_day,on_the_day,2026-01-01,10,,
        day_1,day_1,2026-01-01,10,,
        day_7,day_7,2026-01-01,10,,
        day_8,day_8,2026-01-01,10,,
        no_contact,no_contact,2026-01-01,10,,
        no_help,no_help,2026-01-01,10,,
        not_said_on_day_0,not_said_on_day_0,2026-01-01,10,,
        not_said_on_day_1,not_said_on_day_1,2026-01-01,10,,
        not_said_on_day_7,not_said_on_day_7,2026-01-01,10,,
        not_said_on_day_8,not_said_on_day_8,2026-01-01,10,,
        no_and_not_said,no_and_not_said,2026-01-01,10,,
        yes_and_not_said,yes_and_not_said,2026-01-01,10,,
        yes_and_no_on_a_day,yes_and_no_on_a_day,2026-01-01,10,,
        after_the_second,after_the_second,2026-01-01,10,,
        two_on_a_day,two_on_a_day,2026-01-01,10,,
        before_and_after,before_and_after,2026-01-01,10,,
        only_before,only_before,2026-01-11,20,,
        never,never,2026-01-01,10,,
        died,died,2026-01-01,10,2026-01-12,died
        moved,moved,2026-01-01,10,2026-01-12,moved
        just_due,just_due,2026-06-20,10,,
        not_yet_due,not_yet_due,2026-06-20,10,,
        into_april,into_april,2026-03-20,10,,
    """,
    "contacts": """
        case_ref,contact_date,practitioner,attachment_help
        on_the_day,2026-01-09,P,yes
        on_the_day,2026-01-10,P,yes
        day_1,2026-01-11,P,yes
        day_7,2026-01-17,P,yes
        day_8,2026-01-18,P,yes
        no_help,2026-01-11,P,no
        not_said_on_day_0,2026-01-10,P,
        not_said_on_day_1,2026-01-11,P,
        not_said_on_day_7,2026-01-17,P,not_known
        not_said_on_day_8,2026-01-18,P,
        no_and_not_said,2026-01-12,P,no
        no_and_not_said,2026-01-12,Q,
        no_and_not_said,2026-01-13,P,no
        yes_and_not_said,2026-01-12,P,yes
        yes_and_not_said,2026-01-13,P,
        yes_and_no_on_a_day,2026-01-12,P,yes
        yes_and_no_on_a_day,2026-01-12,Q,no
        after_the_second,2026-02-12,P,yes
        two_on_a_day,2026-01-11,P,yes
        before_and_after,2026-01-05,P,yes
        only_before,2026-01-12,P,yes
        never,2026-01-11,P,yes
        moved,2026-01-13,P,yes
        just_due,2026-06-30,P,yes
        not_yet_due,2026-06-25,P,yes
        into_april,2026-04-02,P,yes
    """,
    "procedures": """
        case_ref,procedure_date,operator
        on_the_day,2026-01-10,O
        day_1,2026-01-10,O
        day_7,2026-01-10,O
        day_8,2026-01-10,O
        no_contact,2026-01-10,O
        no_help,2026-01-10,O
        not_said_on_day_0,2026-01-10,O
        not_said_on_day_1,2026-01-10,O
        not_said_on_day_7,2026-01-10,O
        not_said_on_day_8,2026-01-10,O
        no_and_not_said,2026-01-10,O
        yes_and_not_said,2026-01-10,O
        yes_and_no_on_a_day,2026-01-10,O
        after_the_second,2026-02-10,O
        after_the_second,2026-01-10,O
        two_on_a_day,2026-01-10,O
        two_on_a_day,2026-01-10,Q
        before_and_after,2025-12-31,O
        before_and_after,2026-01-10,O
        only_before,2026-01-10,O
        died,2026-01-10,O
        moved,2026-01-10,O
        just_due,2026-06-23,O
        not_yet_due,2026-06-24,O
        into_april,2026-04-01,O
    """,
}
STORIES = [(EXPORT, CUT_OFF)]


def test_help_in_the_week_after_the_first_procedure(tell: Callable[..., Story]) -> None:
    story = tell(EXPORT, CUT_OFF)
    found = {each: story.counts(MEASURE, "2026Q1", "site", each) for each in story.levels(MEASURE, "2026Q1", "site")}
    assert found == {
        "on_the_day": NOT_MET,  # help on the day itself is day 0; "within 7 days" would count it
        "day_1": MET,
        "day_7": MET,
        "day_8": NOT_MET,
        "no_contact": NOT_MET,  # no contact at all is not met; read as not recorded, it would be unknown
        "no_help": NOT_MET,
        "not_said_on_day_0": NOT_MET,  # no contact in those days
        "not_said_on_day_1": UNKNOWN,
        "not_said_on_day_7": UNKNOWN,
        "not_said_on_day_8": NOT_MET,
        "no_and_not_said": UNKNOWN,
        "yes_and_not_said": MET,
        "yes_and_no_on_a_day": MET,
        "after_the_second": NOT_MET,  # once, by the first procedure; help followed the one of February
        "two_on_a_day": MET,  # the case counts once
        "before_and_after": NOT_MET,  # help five days after a procedure that does not exist here
        "died": NOT_MET,
        "moved": MET,  # help a day after closing: follow-up ends waits only
    }  # only_before and never: not eligible.
    assert story.counts(MEASURE, "2026Q1") == (18, 15, 6, 3)
    # just_due: divided on 23 June, day 7 is the cut-off. not_yet_due, a day later, had help already, but waits.
    # into_april: first contact in March, counted where the procedure is.
    assert story.levels(MEASURE, "2026Q2", "site") == {"just_due": 1, "into_april": 1}
    assert story.counts(MEASURE, "2026Q2") == (2, 2, 2, 0)
    assert story.row(MEASURE, "2026Q1")["complete"] == "yes"
    assert story.row(MEASURE, "2026Q2")["complete"] == "no"  # the last day of June waits until 7 July
