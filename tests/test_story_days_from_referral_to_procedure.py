"""Days from referral to procedure: divided, not going ahead, or neither for as long as the case was watched."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from tests.conftest import Story

MEASURE = "days_from_referral_to_procedure"
DIVIDED, NOT_GOING_AHEAD, CENSORED = (1, 0, 0), (0, 1, 0), (0, 0, 1)  # events, competing, censored

# First contact on 20 December, earliest referral on 1 January, unless the case says otherwise. From the referral, day 5
# is 6 January, day 10 is 11 January, day 15 is 16 January, day 20 is 21 January, day 25 is 26 January, day 28 is
# 29 January, day 84 is 26 March.
CUT_OFF = "2026-06-30"
EXPORT = {
    "cases": """
        case_ref,site,first_contact_date,age_days,closed_date,closed_reason
        on_the_day,on_the_day,2026-01-01,10,,
        divided_then_declined,divided_then_declined,2025-12-20,10,,
        divided_twice,divided_twice,2025-12-20,10,,
        both_on_day_10,both_on_day_10,2025-12-20,10,,
        declined,declined,2025-12-20,10,,
        declined_then_divided,declined_then_divided,2025-12-20,10,,
        divided_long_before,divided_long_before,2025-12-20,10,,
        declined_thrice,declined_thrice,2025-12-20,10,,
        two_outcomes,two_outcomes,2025-12-20,10,,
        moved_and_divided,moved_and_divided,2025-12-20,10,2026-01-21,moved
        moved_then_divided,moved_then_divided,2025-12-20,10,2026-01-21,care_elsewhere
        died_then_withdrawn,died_then_withdrawn,2025-12-20,10,2026-01-21,died
        referred_again,referred_again,2025-12-20,10,,
        turned_down_again,turned_down_again,2025-12-20,10,,
        day_28,day_28,2025-12-20,10,,
        settled_then_divided,settled_then_divided,2025-12-20,10,2026-01-21,settled
        day_84,day_84,2025-12-20,10,,
        day_85,day_85,2025-12-20,10,,
        withdrawn_on_day_84,withdrawn_on_day_84,2025-12-20,10,,
        withdrawn_on_day_85,withdrawn_on_day_85,2025-12-20,10,,
        no_outcome_date,no_outcome_date,2025-12-20,10,,
        divided_before_referral,divided_before_referral,2025-12-20,10,,
        one_still_open,one_still_open,2025-12-20,10,,
        one_without_outcome,one_without_outcome,2025-12-20,10,,
        moved_before_referral,moved_before_referral,2025-12-20,10,2025-12-31,moved
        not_referred,not_referred,2025-12-20,10,,
        watched_83_days,watched_83_days,2026-03-31,10,,
        moved_on_day_0,moved_on_day_0,2026-03-31,10,2026-04-08,moved
        accepted_or_declined,accepted_or_declined,2025-12-20,10,,
        not_indicated_or_declined,not_indicated_or_declined,2025-12-20,10,,
        declined_or_not_brought,declined_or_not_brought,2025-12-20,10,,
        not_brought_or_withdrawn,not_brought_or_withdrawn,2025-12-20,10,,
    """,
    "referrals": """
        case_ref,referral_date,outcome,outcome_date
        on_the_day,2026-01-01,accepted,2026-01-01
        divided_then_declined,2026-01-01,declined_by_parent,2026-01-11
        divided_twice,2026-01-01,not_indicated,2026-01-04
        both_on_day_10,2026-01-01,withdrawn,2026-01-11
        declined,2026-01-01,declined_by_parent,2026-01-11
        declined_then_divided,2026-01-01,not_brought,2026-01-11
        divided_long_before,2026-01-01,not_indicated,2026-01-11
        declined_thrice,2026-01-01,declined_by_parent,2026-01-13
        declined_thrice,2026-01-01,declined_by_parent,2026-01-11
        declined_thrice,2026-01-01,declined_by_parent,
        two_outcomes,2026-01-01,withdrawn,2026-01-11
        two_outcomes,2026-01-01,not_indicated,2026-01-16
        moved_and_divided,2026-01-01,,
        moved_then_divided,2026-01-01,,
        died_then_withdrawn,2026-01-01,withdrawn,2026-01-22
        referred_again,2026-01-21,accepted,2026-01-22
        referred_again,2026-01-01,withdrawn,2026-01-06
        turned_down_again,2026-01-01,accepted,2026-01-06
        turned_down_again,2026-01-21,not_indicated,2026-01-26
        day_28,2026-01-01,,
        settled_then_divided,2026-01-01,,
        day_84,2026-01-01,,
        day_85,2026-01-01,,
        withdrawn_on_day_84,2026-01-01,withdrawn,2026-03-26
        withdrawn_on_day_85,2026-01-01,withdrawn,2026-03-27
        no_outcome_date,2026-01-01,withdrawn,
        divided_before_referral,2026-01-01,not_indicated,2026-01-11
        one_still_open,2026-01-01,withdrawn,2026-01-11
        one_still_open,2026-01-01,waiting,
        one_without_outcome,2026-01-01,not_indicated,2026-01-11
        one_without_outcome,2026-01-01,,
        moved_before_referral,2026-01-01,withdrawn,2026-01-03
        watched_83_days,2026-04-08,waiting,2026-04-20
        moved_on_day_0,2026-04-08,withdrawn,2026-04-20
        accepted_or_declined,2025-12-22,declined_by_parent,2025-12-26
        accepted_or_declined,2025-12-22,accepted,2025-12-31
        not_indicated_or_declined,2025-12-22,declined_by_parent,2025-12-26
        not_indicated_or_declined,2025-12-22,not_indicated,2025-12-31
        declined_or_not_brought,2025-12-22,not_brought,2025-12-26
        declined_or_not_brought,2025-12-22,declined_by_parent,2025-12-31
        not_brought_or_withdrawn,2025-12-22,withdrawn,2025-12-26
        not_brought_or_withdrawn,2025-12-22,not_brought,2025-12-31
    """,
    "procedures": """
        case_ref,procedure_date,operator
        on_the_day,2026-01-01,O
        divided_then_declined,2026-01-06,O
        divided_twice,2026-01-20,O
        divided_twice,2026-01-06,O
        divided_twice,2025-12-28,O
        both_on_day_10,2026-01-11,O
        declined_then_divided,2026-01-21,O
        divided_long_before,2025-12-19,O
        moved_and_divided,2026-01-21,O
        moved_then_divided,2026-01-22,O
        referred_again,2026-01-26,O
        day_28,2026-01-29,O
        settled_then_divided,2026-01-31,O
        day_84,2026-03-26,O
        day_85,2026-03-27,O
        divided_before_referral,2025-12-28,O
        moved_before_referral,2026-01-05,O
        not_referred,2026-01-05,O
    """,
}
STORIES = [(EXPORT, CUT_OFF)]


def test_which_event_comes_first_and_when(tell: Callable[..., Story]) -> None:
    story = tell(EXPORT, CUT_OFF)
    waits = story.outcome.waits
    here = waits[(waits["measure"] == MEASURE) & (waits["period"] == "2026Q1")]
    by_case = here[here["breakdown"] == "site"].to_dict("records")
    found = {row["level"]: (row["day"], row["events"], row["competing"], row["censored"]) for row in by_case}
    assert len(by_case) == 24
    assert found == {
        "on_the_day": (0, *DIVIDED),
        "divided_then_declined": (5, *DIVIDED),
        # The earliest on or after the referral, not the one of 28 December. Not going ahead since 4 January would come
        # first, but it is not before every procedure of the case.
        "divided_twice": (5, *DIVIDED),
        "both_on_day_10": (10, *DIVIDED),  # not going ahead must be strictly before
        "declined": (10, *NOT_GOING_AHEAD),
        "declined_then_divided": (10, *NOT_GOING_AHEAD),  # "ever divided" would make it day 20
        "divided_long_before": (10, *NOT_GOING_AHEAD),  # before the first contact: that procedure does not exist here
        "declined_thrice": (10, *NOT_GOING_AHEAD),  # the same outcome three times: the earliest date, an empty one last
        "two_outcomes": (15, *NOT_GOING_AHEAD),  # of the two not_indicated counts, although withdrawn came first
        "moved_and_divided": (20, *DIVIDED),  # an event on the day of closing counts
        "moved_then_divided": (20, *CENSORED),
        "died_then_withdrawn": (20, *CENSORED),
        "referred_again": (25, *DIVIDED),  # the latest referral goes ahead; the wait is from the earliest
        "turned_down_again": (25, *NOT_GOING_AHEAD),  # 26 January, from the earliest referral
        "day_28": (28, *DIVIDED),
        "settled_then_divided": (30, *DIVIDED),  # closed as settled does not end the wait
        "day_84": (84, *DIVIDED),
        "day_85": (84, *CENSORED),
        "withdrawn_on_day_84": (84, *NOT_GOING_AHEAD),
        "withdrawn_on_day_85": (84, *CENSORED),
        "no_outcome_date": (84, *CENSORED),  # not going ahead without a date is no event
        "divided_before_referral": (84, *CENSORED),  # not before every procedure of the case, and none after it
        "one_still_open": (84, *CENSORED),  # two on one day: the one still open counts
        "one_without_outcome": (84, *CENSORED),  # nothing recorded is still open
    }  # moved_before_referral: watched on no day. not_referred: not eligible.


def test_the_share_divided_by_day_28(tell: Callable[..., Story]) -> None:
    story = tell(EXPORT, CUT_OFF)
    waits = story.outcome.waits
    here = waits[(waits["measure"] == MEASURE) & (waits["breakdown"] == "all")]
    columns = ["day", "at_risk", "events", "competing", "censored"]

    # 24 cases are watched. S = share with neither event so far; F = share divided so far.
    #   day  at risk  events  competing  censored  F                                 S after the day
    #     0       24       1          0         0   1/24                             23/24
    #     5       23       2          0         0   3/24                             21/24
    #    10       21       1          4         0   4/24                             16/24
    #    15       16       0          1         0   4/24                             15/24
    #    20       15       1          0         2   5/24                             14/24; events before censoring
    #    25       12       1          1         0   5/24 + 14/(24*12) = 37/144       14/24 * 10/12 = 70/144
    #    28       10       1          0         0   37/144 + 7/144 = 44/144          63/144
    #    30        9       1          0         0   51/144                           56/144
    #    84        8       1          1         6   58/144
    first = here[here["period"] == "2026Q1"]
    assert first[columns].to_numpy().tolist() == [
        [0, 24, 1, 0, 0],
        [5, 23, 2, 0, 0],
        [10, 21, 1, 4, 0],
        [15, 16, 0, 1, 0],
        [20, 15, 1, 0, 2],
        [25, 12, 1, 1, 0],
        [28, 10, 1, 0, 0],
        [30, 9, 1, 0, 0],
        [84, 8, 1, 1, 6],
    ]
    steps = [1 / 24, 3 / 24, 4 / 24, 4 / 24, 5 / 24, 37 / 144, 44 / 144, 51 / 144, 58 / 144]
    assert first["incidence"].tolist() == pytest.approx(steps, rel=1e-12)

    # moved_before_referral is eligible and unknown, though divided on 5 January: 25 eligible. Met: 9; known: with the
    # seven not going ahead, 16; unknown: the two who left, the six of day 84, and that one.
    assert story.counts(MEASURE, "2026Q1") == (25, 16, 9, 9)
    row = story.row(MEASURE, "2026Q1")
    assert row["value"] == pytest.approx(44 / 144, rel=1e-12)
    on_day_28 = first[first["day"] == 28].iloc[0]
    assert (row["lower"], row["upper"]) == (on_day_28["lower"], on_day_28["upper"])
    assert 0 < row["lower"] < row["value"] < row["upper"] < 1
    alone = story.row(MEASURE, "2026Q1", "site", "moved_before_referral")
    assert [alone[name] for name in ("eligible", "known", "met", "unknown")] == [1, 0, 0, 1]
    assert alone["value"] != alone["value"]  # empty: at risk on no day

    # Counted where the referral is: first contact in March, referral on 8 April. One moved on that day, and was at risk
    # on it; for the other the cut-off is day 83.
    second = here[here["period"] == "2026Q2"]
    assert second[[*columns, "incidence"]].to_numpy().tolist() == [[0, 2, 0, 0, 1, 0], [83, 1, 0, 0, 1, 0]]
    assert story.counts(MEASURE, "2026Q2") == (2, 0, 0, 2)
    assert story.row(MEASURE, "2026Q2")["value"] == 0
    assert story.row(MEASURE, "2026Q2")["complete"] == "yes"  # every referred case is eligible at once

    # Two outcomes on one day, referred on 22 December: the first in the order of the contract counts, which is here
    # always that of 31 December, day 9, never that of 26 December, day 4. Accepted is still open. Counted by the first
    # contact, which was in December too, all the others would be here.
    by_case = waits[(waits["measure"] == MEASURE) & (waits["period"] == "2025Q4") & (waits["breakdown"] == "site")]
    assert {row["level"]: (row["day"], row["competing"]) for row in by_case.to_dict("records")} == {
        "accepted_or_declined": (84, 0),
        "not_indicated_or_declined": (9, 1),
        "declined_or_not_brought": (9, 1),
        "not_brought_or_withdrawn": (9, 1),
    }
    assert story.counts(MEASURE, "2025Q4") == (4, 3, 0, 1)
