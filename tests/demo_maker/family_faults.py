"""The faults planted in what is known of families: the requests that led to no case, and what families said.

Comes in: nothing. Goes out: what each fault is, as in faults.py, whose numbers these follow. Refuses: a fault that
touches a row of any other table, so that no older figure hangs on these.
"""

from __future__ import annotations

from tests.demo_maker.fault import REPEAT, ROW, VALUE, Case, Fault, Values, first_contact, never_referred, shifted


def as_request(values: Values, case: Case) -> Values:
    """The request of a family that has been seen, still on the list of those that have not."""
    carried = ("case_ref", "site", "deprivation_decile", "ethnic_group", "referral_source", "interpreter_needed")
    return {
        **{column: values[column] for column in carried},
        "request_date": values["help_requested_date"],
        "outcome": "waiting",
        "outcome_date": "",
    }


FAMILY_FAULTS = (
    Fault(
        "cases",
        0.90,
        "a request of a family that has been seen, and is a case of this export",
        ROW,
        lambda v, c: never_referred(v, c) and v["help_requested_date"] != "",
        as_request,
        into="requests",
    ),
    Fault(
        "requests",
        0.35,
        "two requests with one case_ref that differ in outcome",
        ROW,
        lambda v, c: v["outcome"] == "no_reply",
        lambda v, c: {**v, "outcome": "declined"},
        into="requests",
        both=True,
    ),
    Fault(
        "requests",
        0.60,
        "outcome_date is before request_date",
        f"{VALUE}: outcome_date",
        lambda v, c: v["outcome_date"] != "" and v["outcome"] == "seen_elsewhere",
        lambda v, c: {**v, "outcome_date": shifted(v["request_date"], -4)},
    ),
    Fault("requests", 0.75, "the line before it once more", REPEAT, lambda v, c: True, into="requests"),
    Fault(
        "family_views",
        0.25,
        "answered_date is before the case's first_contact_date",
        ROW,
        lambda v, c: v["helped"] == "yes",
        lambda v, c: {**v, "answered_date": shifted(first_contact(c), -3)},
    ),
    Fault(
        "family_views",
        0.55,
        "helped very much: not in the list of codes",
        f"{VALUE}: helped",
        lambda v, c: v["helped"] == "yes",
        lambda v, c: {**v, "helped": "very much"},
    ),
)
