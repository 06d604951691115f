"""Days to referral: referred, resolved first, or neither for as long as the case was watched."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from tests.conftest import Story

MEASURE = "days_to_referral"
REFERRED, RESOLVED, CENSORED = (1, 0, 0), (0, 1, 0), (0, 0, 1)  # events, competing, censored

# First contact on 1 January unless the case says otherwise. Day 5 is 6 January, day 10 is 11 January, day 20 is
# 21 January, day 28 is 29 January, day 30 is 31 January, day 84 is 26 March.
CUT_OFF = "2026-06-30"
EXPORT = {
    "cases": """
        case_ref,site,first_contact_date,age_days,closed_date,closed_reason
        resolved_on_the_day,resolved_on_the_day,2026-01-01,10,,
        worse_again,worse_again,2026-01-01,10,,
        resolved_then_referred,resolved_then_referred,2026-01-01,10,,
        improved_on_that_day,improved_on_that_day,2026-01-01,10,,
        resolved_afterwards,resolved_afterwards,2026-01-01,10,,
        moved_and_referred,moved_and_referred,2026-01-01,10,2026-01-21,moved
        moved_and_resolved,moved_and_resolved,2026-01-01,10,2026-01-21,moved
        died_then_referred,died_then_referred,2026-01-01,10,2026-01-21,died
        elsewhere_then_resolved,elsewhere_then_resolved,2026-01-01,10,2026-01-21,care_elsewhere
        day_28,day_28,2026-01-01,10,,
        day_29,day_29,2026-01-01,10,,
        settled_then_referred,settled_then_referred,2026-01-01,10,2026-01-21,settled
        day_84,day_84,2026-01-01,10,,
        day_85,day_85,2026-01-01,10,,
        resolved_on_day_84,resolved_on_day_84,2026-01-01,10,,
        resolved_on_day_85,resolved_on_day_85,2026-01-01,10,,
        no_reply,no_reply,2026-01-01,10,2026-01-21,no_reply
        moved_undated,moved_undated,2026-01-01,10,,moved
        closed_unexplained,closed_unexplained,2026-01-01,10,2026-01-21,
        over_new_year,over_new_year,2025-12-31,10,,
        resolved_over_new_year,resolved_over_new_year,2025-12-31,10,,
        watched_10_days,watched_10_days,2026-06-20,10,,
        on_the_cut_off,on_the_cut_off,2026-06-20,10,,
        moved_on_day_0,moved_on_day_0,2026-06-20,10,2026-06-20,moved
    """,
    "contacts": """
        case_ref,contact_date,practitioner,problem_status
        resolved_on_the_day,2026-01-01,P,resolved
        worse_again,2026-01-06,P,resolved
        worse_again,2026-01-11,P,worse
        worse_again,2026-01-16,P,resolved
        resolved_then_referred,2026-01-06,P,resolved
        improved_on_that_day,2026-01-06,P,improved
        improved_on_that_day,2026-01-06,P,resolved
        resolved_afterwards,2026-01-13,P,resolved
        moved_and_resolved,2026-01-21,P,resolved
        elsewhere_then_resolved,2026-01-22,P,resolved
        resolved_on_day_84,2026-03-26,P,resolved
        resolved_on_day_85,2026-03-27,P,resolved
        no_reply,2026-01-06,P,improved
        resolved_over_new_year,2026-01-02,P,resolved
    """,
    "referrals": """
        case_ref,referral_date,outcome,outcome_date
        resolved_on_the_day,2026-01-01,,
        resolved_then_referred,2026-01-11,,
        improved_on_that_day,2026-02-10,,
        improved_on_that_day,2026-01-11,withdrawn,2026-01-12
        resolved_afterwards,2026-01-11,,
        moved_and_referred,2026-01-21,,
        died_then_referred,2026-01-22,,
        day_28,2026-01-29,,
        day_29,2026-01-30,,
        settled_then_referred,2026-01-31,,
        day_84,2026-03-26,,
        day_85,2026-03-27,,
        over_new_year,2026-01-01,,
        on_the_cut_off,2026-06-30,,
    """,
}
STORIES = [(EXPORT, CUT_OFF)]


def test_which_event_comes_first_and_when(tell: Callable[..., Story]) -> None:
    story = tell(EXPORT, CUT_OFF)
    waits = story.outcome.waits
    here = waits[(waits["measure"] == MEASURE) & (waits["period"] == "2026Q1")]
    by_case = here[here["breakdown"] == "site"].to_dict("records")
    found = {row["level"]: (row["day"], row["events"], row["competing"], row["censored"]) for row in by_case}
    assert len(by_case) == 19
    assert found == {
        "resolved_on_the_day": (0, *REFERRED),  # resolved on the day of referral: referral. Day 0 counts
        "worse_again": (5, *RESOLVED),  # the first day that is resolved; what comes later does not undo it
        "resolved_then_referred": (5, *RESOLVED),  # resolved comes first; "ever referred" would make it day 10
        "improved_on_that_day": (10, *REFERRED),  # on one day the worse counts; the earliest referral, withdrawn or not
        "resolved_afterwards": (10, *REFERRED),
        "moved_and_referred": (20, *REFERRED),  # an event on the day of closing counts
        "moved_and_resolved": (20, *RESOLVED),
        "died_then_referred": (20, *CENSORED),  # a day after the end of follow-up: it does not count
        "elsewhere_then_resolved": (20, *CENSORED),
        "day_28": (28, *REFERRED),
        "day_29": (29, *REFERRED),
        "settled_then_referred": (30, *REFERRED),  # closed as settled neither ends follow-up nor is a resolved date
        "day_84": (84, *REFERRED),
        "day_85": (84, *CENSORED),
        "resolved_on_day_84": (84, *RESOLVED),
        "resolved_on_day_85": (84, *CENSORED),
        "no_reply": (84, *CENSORED),  # closed, and watched on
        "moved_undated": (84, *CENSORED),  # moved, nobody knows when
        "closed_unexplained": (84, *CENSORED),
    }


def test_the_share_referred_by_day_28(tell: Callable[..., Story]) -> None:
    story = tell(EXPORT, CUT_OFF)
    waits = story.outcome.waits
    here = waits[(waits["measure"] == MEASURE) & (waits["breakdown"] == "all")]
    columns = ["day", "at_risk", "events", "competing", "censored"]

    # 19 cases. S = share with neither event so far; F = share referred so far: a day adds S * events / at risk.
    #   day  at risk  events  competing  censored  F                           S after the day
    #     0       19       1          0         0   1/19                       18/19
    #     5       18       0          2         0   1/19                       18/19 * 16/18 = 16/19
    #    10       16       2          0         0   1/19 + 16/19 * 2/16 = 3/19  14/19
    #    20       14       1          1         2   4/19                       12/19; events come before censoring
    #    28       10       1          0         0   4/19 + 12/190 = 26/95      12/19 * 9/10 = 54/95
    #    29        9       1          0         0   26/95 + 6/95 = 32/95       48/95
    #    30        8       1          0         0   38/95                      42/95
    #    84        7       1          1         5   44/95
    first = here[here["period"] == "2026Q1"]
    assert first[columns].to_numpy().tolist() == [
        [0, 19, 1, 0, 0],
        [5, 18, 0, 2, 0],
        [10, 16, 2, 0, 0],
        [20, 14, 1, 1, 2],
        [28, 10, 1, 0, 0],
        [29, 9, 1, 0, 0],
        [30, 8, 1, 0, 0],
        [84, 7, 1, 1, 5],
    ]
    steps = [1 / 19, 1 / 19, 3 / 19, 4 / 19, 26 / 95, 32 / 95, 38 / 95, 44 / 95]
    assert first["incidence"].tolist() == pytest.approx(steps, rel=1e-12)

    # Met: 1 + 2 + 1 + 1 + 1 + 1 + 1 = 8; known: with the four resolved, 12; unknown: the two who left and the five of
    # day 84. With resolved taken for censored the share would be 1 - 18/19 * 13/16 * 9/10 = 0.307, not 26/95 = 0.274.
    row = story.row(MEASURE, "2026Q1")
    assert story.counts(MEASURE, "2026Q1") == (19, 12, 8, 7)
    assert row["value"] == pytest.approx(26 / 95, rel=1e-12)
    on_day_28 = first[first["day"] == 28].iloc[0]
    assert (row["lower"], row["upper"]) == (on_day_28["lower"], on_day_28["upper"])
    assert 0 < row["lower"] < row["value"] < row["upper"] < 1
    # One case at a time: referred on day 28 is by day 28, on day 29 is not.
    assert story.row(MEASURE, "2026Q1", "site", "day_28")["value"] == 1
    assert story.row(MEASURE, "2026Q1", "site", "day_29")["value"] == 0


def test_a_period_is_that_of_the_first_contact_and_may_know_nothing_of_day_28(tell: Callable[..., Story]) -> None:
    story = tell(EXPORT, CUT_OFF)
    waits = story.outcome.waits
    here = waits[(waits["measure"] == MEASURE) & (waits["breakdown"] == "all")]
    columns = ["period", "day", "at_risk", "events", "competing", "censored", "incidence"]
    others = here[here["period"] != "2026Q1"]
    assert others[columns].to_numpy().tolist() == [
        ["2025Q4", 1, 2, 1, 0, 0, 0.5],
        ["2025Q4", 2, 1, 0, 1, 0, 0.5],
        ["2026Q2", 0, 3, 0, 0, 1, 0],
        ["2026Q2", 10, 2, 1, 0, 1, 0.5],
    ]
    # First contact on 31 December, the events in January. Nobody is left on day 28, but everyone had had an event.
    assert story.counts(MEASURE, "2025Q4") == (2, 2, 1, 0)
    assert story.row(MEASURE, "2025Q4")["value"] == 0.5
    # First contact on 20 June: the cut-off is day 10. One moved on day 0, and was at risk on that day; one referred on
    # day 10, one still watched: no word about day 28.
    row = story.row(MEASURE, "2026Q2")
    assert story.counts(MEASURE, "2026Q2") == (3, 1, 1, 2)
    assert [row["value"], row["lower"], row["upper"]] == pytest.approx([float("nan")] * 3, nan_ok=True)
    assert [row["bound_low"], row["bound_high"]] == pytest.approx([float("nan")] * 2, nan_ok=True)
    assert row["complete"] == "yes"  # every case is eligible at once
