"""Attachment help before referral: an earlier day, the day itself, and contacts that do not say."""

from __future__ import annotations

from collections.abc import Callable

from tests.conftest import Story

MEASURE = "attachment_help_before_referral"
MET, NOT_MET, UNKNOWN = (1, 1, 1, 0), (1, 1, 0, 0), (1, 0, 0, 1)  # eligible, known, met, unknown

# First contact on 1 January and referral on 20 January unless the case says otherwise.
CUT_OFF = "2026-06-30"
EXPORT = {
    "cases": """
        case_ref,site,first_contact_date,age_days,closed_date,closed_reason
        day_before,day_before,2026-01-01,10,,
        on_the_day,on_the_day,2026-01-01,10,,
        on_day_0,on_day_0,2026-01-20,10,,
        no_then_on_the_day,no_then_on_the_day,2026-01-01,10,,
        never_said,never_said,2026-01-01,10,,
        said_not_known,said_not_known,2026-01-01,10,,
        not_said_on_the_day,not_said_on_the_day,2026-01-01,10,,
        not_said_then_on_the_day,not_said_then_on_the_day,2026-01-01,10,,
        no_contact,no_contact,2026-01-01,10,,
        no_help,no_help,2026-01-01,10,,
        no_and_not_said,no_and_not_said,2026-01-01,10,,
        yes_and_not_said,yes_and_not_said,2026-01-01,10,,
        yes_and_no_on_a_day,yes_and_no_on_a_day,2026-01-01,10,,
        between_two_referrals,between_two_referrals,2026-01-01,10,,
        withdrawn,withdrawn,2026-01-01,10,,
        died,died,2026-01-01,10,2026-01-20,died
        not_referred,not_referred,2026-01-01,10,,
        into_april,into_april,2026-03-31,10,,
    """,
    "contacts": """
        case_ref,contact_date,practitioner,attachment_help
        day_before,2026-01-19,P,yes
        on_the_day,2026-01-20,P,yes
        on_day_0,2026-01-20,P,yes
        no_then_on_the_day,2026-01-10,P,no
        no_then_on_the_day,2026-01-20,P,yes
        never_said,2026-01-10,P,
        never_said,2026-01-25,P,yes
        said_not_known,2026-01-10,P,not_known
        not_said_on_the_day,2026-01-20,P,
        not_said_then_on_the_day,2026-01-19,P,
        not_said_then_on_the_day,2026-01-20,P,yes
        no_help,2026-01-10,P,no
        no_and_not_said,2026-01-10,P,
        no_and_not_said,2026-01-10,Q,no
        no_and_not_said,2026-01-11,P,no
        yes_and_not_said,2026-01-10,P,yes
        yes_and_not_said,2026-01-11,P,
        yes_and_no_on_a_day,2026-01-10,P,yes
        yes_and_no_on_a_day,2026-01-10,Q,no
        between_two_referrals,2026-02-01,P,yes
        withdrawn,2026-01-01,P,yes
        died,2026-01-10,P,yes
        not_referred,2026-01-10,P,yes
        into_april,2026-03-31,P,yes
    """,
    "referrals": """
        case_ref,referral_date,outcome,outcome_date
        day_before,2026-01-20,,
        on_the_day,2026-01-20,,
        on_day_0,2026-01-20,,
        no_then_on_the_day,2026-01-20,,
        never_said,2026-01-20,,
        said_not_known,2026-01-20,,
        not_said_on_the_day,2026-01-20,,
        not_said_then_on_the_day,2026-01-20,,
        no_contact,2026-01-20,,
        no_help,2026-01-20,,
        no_and_not_said,2026-01-20,,
        yes_and_not_said,2026-01-20,,
        yes_and_no_on_a_day,2026-01-20,,
        between_two_referrals,2026-02-10,accepted,2026-02-12
        between_two_referrals,2026-01-20,waiting,
        withdrawn,2026-01-20,withdrawn,2026-01-20
        died,2026-01-20,,
        into_april,2026-04-01,,
    """,
}
STORIES = [(EXPORT, CUT_OFF)]


def test_help_must_come_on_an_earlier_day(tell: Callable[..., Story]) -> None:
    story = tell(EXPORT, CUT_OFF)
    found = {each: story.counts(MEASURE, "2026Q1", "site", each) for each in story.levels(MEASURE, "2026Q1", "site")}
    assert found == {
        "day_before": MET,
        "on_the_day": NOT_MET,  # "on or before" would count it
        "on_day_0": NOT_MET,  # referred on the day of the first contact: no earlier day there can be
        "no_then_on_the_day": NOT_MET,
        "never_said": UNKNOWN,  # the earlier contact does not say; the help after the referral does not say either
        "said_not_known": UNKNOWN,
        "not_said_on_the_day": NOT_MET,  # the empty answer must be on an earlier day too: no earlier contact, not met
        "not_said_then_on_the_day": UNKNOWN,
        "no_contact": NOT_MET,  # none at all is not met; read as not recorded, it would be unknown
        "no_help": NOT_MET,
        "no_and_not_said": UNKNOWN,  # one empty answer is enough, on the same day as a no or not
        "yes_and_not_said": MET,
        "yes_and_no_on_a_day": MET,  # one contact of the day gave help
        "between_two_referrals": NOT_MET,  # after the earliest referral; counted from the latest it would be met
        "withdrawn": MET,  # every referred case, whatever became of the referral
        "died": MET,
    }  # not_referred: not eligible.
    # A case with two referrals counts once.
    assert story.counts(MEASURE, "2026Q1") == (16, 12, 5, 4)
    # Counted where the referral is: first contact and help are in March.
    assert story.levels(MEASURE, "2026Q2", "site") == {"into_april": 1}
    assert story.counts(MEASURE, "2026Q2") == MET
    assert story.row(MEASURE, "2026Q2")["complete"] == "yes"  # nothing to wait for

    # Help on the day itself is counted beside the measure: on_the_day, on_day_0 and the two "then_on_the_day".
    apart = story.outcome.apart
    assert apart[(apart["measure"] == MEASURE) & (apart["period"] == "2026Q1")]["count"].tolist() == [4]
