"""The four six-week measures: who is in them, which answer counts, and the routes they are broken down by."""

from __future__ import annotations

from collections.abc import Callable

from tests.conftest import Story

BREASTFED, EXCLUSIVELY = "breastfed_at_6_weeks", "exclusively_breastfed_at_6_weeks"
AT_THE_BREAST, ASKED = "fed_at_the_breast_at_6_weeks", "asked_at_6_weeks"
MEASURES = (BREASTFED, EXCLUSIVELY, AT_THE_BREAST, ASKED)
MET, NOT_MET, UNKNOWN = (1, 1, 1, 0), (1, 1, 0, 0), (1, 0, 0, 1)  # eligible, known, met, unknown

# Born on 1 January, first seen on 11 January at 10 days, unless the case says otherwise. Day 35 is 5 February, day 42
# is 12 February, day 56 is 26 February. In the cases whose names start with route_, nothing but the route matters.
CUT_OFF = "2026-06-30"
EXPORT = {
    "cases": """
        case_ref,site,first_contact_date,age_days,closed_date,closed_reason,feeding_at_first_contact
        day_35,day_35,2026-01-11,10,,,exclusive
        day_56,day_56,2026-01-11,10,,,partial
        just_outside,just_outside,2026-01-11,10,,,exclusive
        no_milk,no_milk,2026-01-11,10,,,partial
        no_milk_at_the_breast,no_milk_at_the_breast,2026-01-11,10,,,exclusive
        how_not_said,how_not_said,2026-01-11,10,,,exclusive
        nearer,nearer,2026-01-11,10,,,exclusive
        equally_near,equally_near,2026-01-11,10,,,exclusive
        three_on_a_day,three_on_a_day,2026-01-11,10,,,exclusive
        two_ways_on_a_day,two_ways_on_a_day,2026-01-11,10,,,exclusive
        more_milk_on_a_day,more_milk_on_a_day,2026-01-11,10,,,exclusive
        nearest_not_known,nearest_not_known,2026-01-11,10,,,exclusive
        only_not_known,only_not_known,2026-01-11,10,,,exclusive
        no_milk_before,no_milk_before,2026-01-11,10,,,none
        feeding_not_known,feeding_not_known,2026-01-11,10,,,not_known
        feeding_empty,feeding_empty,2026-01-11,10,,,
        age_27,age_27,2026-01-28,27,,,exclusive
        age_28,age_28,2026-01-29,28,,,exclusive
        age_28_no_milk,age_28_no_milk,2026-01-29,28,,,none
        moved,moved,2026-01-11,10,2026-01-15,moved,exclusive
        died,died,2026-01-11,10,2026-02-20,died,exclusive
        died_undated,died_undated,2026-01-11,10,,died,exclusive
        on_31_march,on_31_march,2026-02-20,3,,,exclusive
        on_1_april,on_1_april,2026-02-20,2,,,exclusive
        just_due,just_due,2026-05-15,10,,,exclusive
        not_yet_due,not_yet_due,2026-05-16,10,,,exclusive
        route_divided,route_divided,2026-01-11,10,2026-02-01,settled,exclusive
        route_divided_before,route_divided_before,2026-01-11,10,,,exclusive
        route_not_going_ahead,route_not_going_ahead,2026-01-11,10,,,exclusive
        route_waiting,route_waiting,2026-01-11,10,2026-02-01,settled,exclusive
        route_resolved,route_resolved,2026-01-11,10,2026-02-01,no_reply,exclusive
        route_resolved_in_june,route_resolved_in_june,2026-01-11,10,,,exclusive
        route_settled,route_settled,2026-01-11,10,2026-02-01,settled,exclusive
        route_settled_undated,route_settled_undated,2026-01-11,10,,settled,exclusive
        route_worse_again,route_worse_again,2026-01-11,10,2026-02-01,moved,exclusive
        route_closed,route_closed,2026-01-11,10,2026-02-01,,exclusive
        route_moved_undated,route_moved_undated,2026-01-11,10,,moved,exclusive
        route_improved_too,route_improved_too,2026-01-11,10,,,exclusive
    """,
    "feeding_checks": """
        case_ref,check_date,feeding,at_breast
        day_35,2026-02-05,exclusive,yes
        day_56,2026-02-26,partial,no
        just_outside,2026-02-04,exclusive,yes
        just_outside,2026-02-27,exclusive,yes
        no_milk,2026-02-12,none,
        no_milk_at_the_breast,2026-02-12,none,yes
        how_not_said,2026-02-12,exclusive,
        nearer,2026-02-10,none,no
        nearer,2026-02-15,exclusive,yes
        equally_near,2026-02-10,exclusive,yes
        equally_near,2026-02-14,none,no
        three_on_a_day,2026-02-12,none,yes
        three_on_a_day,2026-02-12,partial,
        three_on_a_day,2026-02-12,partial,no
        two_ways_on_a_day,2026-02-12,partial,no
        two_ways_on_a_day,2026-02-12,partial,yes
        more_milk_on_a_day,2026-02-12,partial,yes
        more_milk_on_a_day,2026-02-12,exclusive,
        nearest_not_known,2026-02-12,not_known,yes
        nearest_not_known,2026-02-20,partial,no
        only_not_known,2026-02-12,not_known,yes
        only_not_known,2026-02-13,,
        no_milk_before,2026-02-12,exclusive,yes
        feeding_not_known,2026-02-12,exclusive,yes
        feeding_empty,2026-02-12,exclusive,yes
        age_27,2026-02-12,exclusive,yes
        age_28,2026-02-12,exclusive,yes
        age_28_no_milk,2026-02-12,exclusive,yes
        died,2026-02-12,exclusive,yes
        died_undated,2026-02-12,exclusive,yes
        on_31_march,2026-03-31,partial,yes
        on_1_april,2026-03-28,none,no
        just_due,2026-06-30,partial,yes
        not_yet_due,2026-06-17,exclusive,yes
    """,
    "contacts": """
        case_ref,contact_date,practitioner,problem_status
        route_divided,2026-01-11,P,resolved
        route_not_going_ahead,2026-01-20,P,resolved
        route_waiting,2026-01-20,P,resolved
        route_resolved,2026-01-20,P,resolved
        route_resolved,2026-01-25,P,not_recorded
        route_resolved_in_june,2026-06-30,P,resolved
        route_settled,2026-01-20,P,worse
        route_worse_again,2026-01-20,P,resolved
        route_worse_again,2026-01-25,P,worse
        route_improved_too,2026-01-20,P,resolved
        route_improved_too,2026-01-20,Q,improved
    """,
    "referrals": """
        case_ref,referral_date,outcome,outcome_date
        route_divided,2026-01-12,withdrawn,2026-01-13
        route_not_going_ahead,2026-01-21,withdrawn,
        route_not_going_ahead,2026-01-12,accepted,2026-01-13
        route_waiting,2026-01-12,withdrawn,2026-01-13
        route_waiting,2026-01-21,accepted,2026-01-22
    """,
    "procedures": """
        case_ref,procedure_date,operator
        route_divided,2026-01-20,O
        route_divided_before,2026-01-05,O
    """,
}
STORIES = [(EXPORT, CUT_OFF)]


def test_which_answer_counts(tell: Callable[..., Story]) -> None:
    story = tell(EXPORT, CUT_OFF)
    found = {
        each: tuple(story.counts(measure, "2026Q1", "site", each) for measure in MEASURES)
        for each in story.levels(BREASTFED, "2026Q1", "site")
        if not each.startswith("route_")
    }
    no_answer = (UNKNOWN, UNKNOWN, UNKNOWN, NOT_MET)
    assert found == {
        # Breastfed, exclusively, at the breast, asked.
        "day_35": (MET, MET, MET, MET),
        "day_56": (MET, NOT_MET, NOT_MET, MET),
        "just_outside": no_answer,  # days 34 and 57; "about six weeks" would take either
        "no_milk": (NOT_MET, NOT_MET, NOT_MET, MET),  # none is an answer, and how it is fed is then no question
        "no_milk_at_the_breast": (NOT_MET, NOT_MET, NOT_MET, MET),  # whatever at_breast says
        "how_not_said": (MET, MET, UNKNOWN, MET),
        "nearer": (NOT_MET, NOT_MET, NOT_MET, MET),  # two days before is nearer than three after; the later one is not
        "equally_near": (NOT_MET, NOT_MET, NOT_MET, MET),  # two days either side: the later, not the most breast milk
        "three_on_a_day": (MET, NOT_MET, NOT_MET, MET),  # the most breast milk first, then no before nothing recorded
        "two_ways_on_a_day": (MET, NOT_MET, MET, MET),  # yes before no
        "more_milk_on_a_day": (MET, MET, UNKNOWN, MET),  # the most breast milk, though the other says more
        "nearest_not_known": (MET, NOT_MET, NOT_MET, MET),  # the nearest with a recorded answer
        "only_not_known": no_answer,  # asked, but no answer recorded: not_known is not counted as asked
        # no_milk_before, feeding_not_known, feeding_empty, age_28, died, died_undated: not eligible.
        "age_27": (MET, MET, MET, MET),
        "moved": no_answer,  # eligible however the case ended, but for died
        "on_31_march": (MET, NOT_MET, MET, MET),  # born on 17 February
    }
    # With the twelve of the routes, none of which has an answer: 28.
    assert story.counts(BREASTFED, "2026Q1") == (28, 13, 9, 15)
    assert story.counts(EXCLUSIVELY, "2026Q1") == (28, 13, 4, 15)
    assert story.counts(AT_THE_BREAST, "2026Q1") == (28, 11, 4, 17)
    assert story.counts(ASKED, "2026Q1") == (28, 28, 13, 0)

    # First seen at 28 days or older: counted beside the measure, those breastfed.
    apart = story.outcome.apart
    assert apart[(apart["measure"] == BREASTFED) & (apart["period"] == "2026Q1")]["count"].tolist() == [1]


def test_the_period_is_that_of_the_six_week_date(tell: Callable[..., Story]) -> None:
    story = tell(EXPORT, CUT_OFF)
    found = {
        each: tuple(story.counts(measure, "2026Q2", "site", each) for measure in MEASURES)
        for each in story.levels(BREASTFED, "2026Q2", "site")
    }
    assert found == {
        "on_1_april": (NOT_MET, NOT_MET, NOT_MET, MET),  # born on 18 February; asked in March, counted in April
        "just_due": (MET, NOT_MET, MET, MET),  # born on 5 May, asked on day 56, which is the cut-off
    }  # not_yet_due: born on 6 May. Answered already, but others of that day may still be.
    for measure in MEASURES:
        assert story.levels(measure, "2026Q2", "site") == {"on_1_april": 1, "just_due": 1}, measure
        assert story.row(measure, "2026Q1")["complete"] == "yes", measure
        assert story.row(measure, "2026Q2")["complete"] == "no", measure


def test_routes_at_the_cut_off(tell: Callable[..., Story]) -> None:
    story = tell(EXPORT, CUT_OFF)
    for measure in MEASURES:
        assert story.levels(measure, "2026Q1", "route") == {
            "divided": 1,  # route_divided: although its referral was withdrawn and its case settled
            "not_going_ahead": 1,  # route_not_going_ahead: the latest referral, dated or not; before settled
            "waiting": 1,  # route_waiting: the earlier one was withdrawn; before settled
            # route_resolved, which no one answered later; route_resolved_in_june, at the cut-off, not at six weeks;
            # route_settled, by its reason, although worse; route_settled_undated.
            "settled": 4,
            "closed": 3,  # route_worse_again, not "ever resolved"; route_closed, without a reason; moved
            # route_divided_before: that procedure does not exist here. route_moved_undated: no closing date.
            # route_improved_too: on one day the worse counts. With the fifteen cases above that are open.
            "in_support": 18,
        }, measure
    # The thirteen with an answer; without one are just_outside, only_not_known and the three of the routes.
    assert story.counts(BREASTFED, "2026Q1", "route", "in_support") == (18, 13, 9, 5)
    # Route is for these and for pain and weight only: elsewhere the measure itself settles it.
    assert story.counts("days_to_referral", "2026Q1")[0] > 0
    assert story.levels("days_to_referral", "2026Q1", "route") == {}
