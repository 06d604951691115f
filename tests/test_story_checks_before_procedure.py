"""Checks before a procedure: consent, bleeding history and vitamin K, each yes, no, or not on record."""

from __future__ import annotations

from collections.abc import Callable

from tests.conftest import Story

MEASURE = "checks_before_procedure"
MET, NOT_MET, UNKNOWN = (1, 1, 1, 0), (1, 1, 0, 0), (1, 0, 0, 1)  # eligible, known, met, unknown

# First contact on 1 January and procedure on 10 January unless the case says otherwise.
CUT_OFF = "2026-06-30"
EXPORT = {
    "cases": """
        case_ref,site,first_contact_date,age_days,closed_date,closed_reason
        injection,injection,2026-01-01,10,,
        oral,oral,2026-01-01,10,,
        declined,declined,2026-01-01,10,,
        vitamin_k_empty,vitamin_k_empty,2026-01-01,10,,
        vitamin_k_not_known,vitamin_k_not_known,2026-01-01,10,,
        consent_empty,consent_empty,2026-01-01,10,,
        history_empty,history_empty,2026-01-01,10,,
        all_empty,all_empty,2026-01-01,10,,
        consent_no,consent_no,2026-01-01,10,,
        history_no,history_no,2026-01-01,10,,
        only_consent_no,only_consent_no,2026-01-01,10,,
        only_history_no,only_history_no,2026-01-01,10,,
        two_on_a_day,two_on_a_day,2026-01-01,10,,
        moved,moved,2026-01-01,10,2026-01-05,moved
        before,before,2026-01-20,29,,
        twice,twice,2026-01-01,10,,
    """,
    "procedures": """
        case_ref,procedure_date,operator,consent_recorded,bleeding_history_asked,vitamin_k
        injection,2026-01-10,O,yes,yes,injection
        oral,2026-01-10,O,yes,yes,oral
        declined,2026-01-10,O,yes,yes,declined
        vitamin_k_empty,2026-01-10,O,yes,yes,
        vitamin_k_not_known,2026-01-10,O,yes,yes,not_known
        consent_empty,2026-01-10,O,,yes,oral
        history_empty,2026-01-10,O,yes,not_known,oral
        all_empty,2026-01-10,O,,,
        consent_no,2026-01-10,O,no,yes,injection
        history_no,2026-01-10,O,yes,no,injection
        only_consent_no,2026-01-10,O,no,,
        only_history_no,2026-01-10,O,,no,not_known
        two_on_a_day,2026-01-10,O,yes,yes,injection
        two_on_a_day,2026-01-10,Q,yes,no,injection
        moved,2026-01-10,O,yes,yes,injection
        before,2026-01-10,O,no,no,
        twice,2026-03-31,O,yes,yes,injection
        twice,2026-06-30,O,yes,yes,
    """,
}
STORIES = [(EXPORT, CUT_OFF)]


def test_two_of_them_can_be_no_and_each_can_be_missing(tell: Callable[..., Story]) -> None:
    story = tell(EXPORT, CUT_OFF)
    found = {each: story.counts(MEASURE, "2026Q1", "site", each) for each in story.levels(MEASURE, "2026Q1", "site")}
    assert found == {
        "injection": MET,
        "oral": MET,
        "declined": MET,  # declined is a known answer about vitamin K; "vitamin K given" would not count it
        "vitamin_k_empty": UNKNOWN,  # nobody said no: "anything missing is not met" would count these five as known
        "vitamin_k_not_known": UNKNOWN,
        "consent_empty": UNKNOWN,
        "history_empty": UNKNOWN,
        "all_empty": UNKNOWN,
        "consent_no": NOT_MET,
        "history_no": NOT_MET,
        "only_consent_no": NOT_MET,  # one no is enough; "anything missing is unknown" would not see it
        "only_history_no": NOT_MET,
        "two_on_a_day": (2, 2, 1, 0),  # every procedure counts
        "moved": MET,  # closed days before; follow-up ends waits only
        "twice": MET,  # the one of 31 March
    }  # before: a procedure before the first contact is counted by no measure.
    assert story.counts(MEASURE, "2026Q1") == (16, 11, 6, 5)
    # The second procedure of `twice` counts on its own, in its own quarter, on the day of the cut-off.
    assert story.levels(MEASURE, "2026Q2", "site") == {"twice": 1}
    assert story.counts(MEASURE, "2026Q2") == UNKNOWN
    assert story.row(MEASURE, "2026Q2")["complete"] == "yes"  # nothing to wait for
