"""Birth weight regained by 21 days: weights from day 5 to day 21, and what the lack of one from day 14 on means."""

from __future__ import annotations

from collections.abc import Callable

from tests.conftest import Story

MEASURE = "birth_weight_regained_by_21_days"
MET, NOT_MET, UNKNOWN = (1, 1, 1, 0), (1, 1, 0, 0), (1, 0, 0, 1)  # eligible, known, met, unknown

# Born on 1 January at 3500 g and first seen on 5 January, on day 4, unless the case says otherwise. Day 5 is 6 January,
# day 14 is 15 January, day 21 is 22 January.
CUT_OFF = "2026-04-05"  # within a quarter, so that the case not yet due would be in it
EXPORT = {
    "cases": """
        case_ref,site,first_contact_date,age_days,closed_date,closed_reason,birth_weight_g
        day_4,day_4,2026-01-05,4,,,3500
        day_5,day_5,2026-01-05,4,,,3500
        day_21,day_21,2026-01-05,4,,,3500
        day_22,day_22,2026-01-05,4,,,3500
        a_gram_short,a_gram_short,2026-01-05,4,,,3500
        short_on_day_13,short_on_day_13,2026-01-05,4,,,3500
        short_on_day_14,short_on_day_14,2026-01-05,4,,,3500
        short_on_day_21,short_on_day_21,2026-01-05,4,,,3500
        short_on_day_22,short_on_day_22,2026-01-05,4,,,3500
        short_early_and_late,short_early_and_late,2026-01-05,4,,,3500
        lost_again,lost_again,2026-01-05,4,,,3500
        early_and_never_again,early_and_never_again,2026-01-05,4,,,3500
        two_on_a_day,two_on_a_day,2026-01-05,4,,,3500
        not_weighed,not_weighed,2026-01-05,4,,,3500
        no_contact,no_contact,2026-01-05,4,,,3500
        no_birth_weight,no_birth_weight,2026-01-05,4,,,
        birth_weight_not_known,birth_weight_not_known,2026-01-05,4,,,not_known
        first_seen_on_day_21,first_seen_on_day_21,2026-01-22,21,,,3500
        first_seen_on_day_22,first_seen_on_day_22,2026-01-23,22,,,3500
        died,died,2026-01-05,4,2026-01-12,died,3500
        moved,moved,2026-01-05,4,2026-01-12,moved,3500
        on_31_march,on_31_march,2026-03-14,4,,,3500
        on_1_april,on_1_april,2026-03-15,4,,,3500
        just_due,just_due,2026-03-19,4,,,3500
        not_yet_due,not_yet_due,2026-03-20,4,,,3500
    """,
    "contacts": """
        case_ref,contact_date,practitioner,weight_g
        day_4,2026-01-05,P,3600
        day_5,2026-01-06,P,3500
        day_21,2026-01-22,P,3500
        day_22,2026-01-23,P,3600
        a_gram_short,2026-01-18,P,3499
        short_on_day_13,2026-01-14,P,3400
        short_on_day_14,2026-01-05,P,3600
        short_on_day_14,2026-01-15,P,3400
        short_on_day_21,2026-01-22,P,3400
        short_on_day_21,2026-01-23,P,3600
        short_on_day_22,2026-01-10,P,3400
        short_on_day_22,2026-01-23,P,3400
        short_early_and_late,2026-01-10,P,3300
        short_early_and_late,2026-01-18,P,3400
        lost_again,2026-01-10,P,3500
        lost_again,2026-01-20,P,3400
        early_and_never_again,2026-01-10,P,3550
        two_on_a_day,2026-01-20,P,3400
        two_on_a_day,2026-01-20,Q,3500
        not_weighed,2026-01-18,P,
        no_birth_weight,2026-01-18,P,3600
        birth_weight_not_known,2026-01-18,P,3600
        first_seen_on_day_21,2026-01-22,P,3400
        first_seen_on_day_22,2026-01-23,P,3600
        died,2026-01-10,P,3300
        moved,2026-01-18,P,3600
        on_31_march,2026-03-31,P,3600
        on_1_april,2026-03-31,P,3400
        just_due,2026-04-05,P,3500
        not_yet_due,2026-04-05,P,3600
    """,
}
STORIES = [(EXPORT, CUT_OFF)]


def test_weights_from_day_5_to_day_21(tell: Callable[..., Story]) -> None:
    story = tell(EXPORT, CUT_OFF, "2026Q2")
    found = {each: story.counts(MEASURE, "2026Q1", "site", each) for each in story.levels(MEASURE, "2026Q1", "site")}
    assert found == {
        "day_4": UNKNOWN,  # before the first loss is made good a weight says nothing
        "day_5": MET,  # at birth weight is regained
        "day_21": MET,
        "day_22": UNKNOWN,
        "a_gram_short": NOT_MET,
        "short_on_day_13": UNKNOWN,  # time was left to regain it; "never seen at birth weight" would be not met
        "short_on_day_14": NOT_MET,  # the 3600 g of day 4 do not count
        "short_on_day_21": NOT_MET,  # nor do those of day 22
        "short_on_day_22": UNKNOWN,
        "short_early_and_late": NOT_MET,  # the late one is enough
        "lost_again": MET,  # a weight at or above it; the latest weight would be below
        "early_and_never_again": MET,  # met, although not weighed from day 14 on
        "two_on_a_day": MET,
        "not_weighed": UNKNOWN,
        "no_contact": UNKNOWN,
        # no_birth_weight, birth_weight_not_known: not eligible, and not unknown.
        "first_seen_on_day_21": NOT_MET,  # eligible; first_seen_on_day_22 is not
        "died": UNKNOWN,  # eligible: only the six-week measures leave those who died out
        "moved": MET,  # weighed after closing: follow-up ends waits only
        "on_31_march": MET,  # counted on day 21: born on 10 March
    }
    assert story.counts(MEASURE, "2026Q1") == (19, 12, 7, 7)
    assert story.levels(MEASURE, "2026Q1", "route") == {"in_support": 17, "closed": 2}
    # on_1_april: born on 11 March, first seen and weighed in March. just_due: born on 15 March, day 21 is the cut-off.
    # not_yet_due: born on 16 March; it has regained its weight, but others of its day may still.
    assert story.levels(MEASURE, "2026Q2", "site") == {"on_1_april": 1, "just_due": 1}
    assert story.counts(MEASURE, "2026Q2") == (2, 2, 1, 0)
    assert story.row(MEASURE, "2026Q1")["complete"] == "yes"  # its last day waits for nothing: day 21 is its index date
    assert story.row(MEASURE, "2026Q2")["complete"] == "no"
