"""Who came, and what was done: counts by period. The contract names what is counted; the words are the program's."""

from .facts import Case
from .results import period_name, period_of

PROBLEMS = (
    "nipple_pain",
    "nipple_damage",
    "poor_weight_gain",
    "very_frequent_feeds",
    "unsettled_at_breast",
    "wind",
    "bringing_up_milk",
)


def said(value):
    return value or "not_recorded"


def case_events(case):
    """(date, section, row) of everything counted for one case."""
    row, seen = case.row, case.first_contact
    if row["help_requested_date"]:
        yield row["help_requested_date"], "requests", "seen"
    for problem in PROBLEMS:
        yield seen, "presenting_problems", f"{problem}: {said(row[problem])}"
    yield seen, "family_history", said(row["family_history"])
    yield seen, "referral_source", said(row["referral_source"])
    weight = row["birth_weight_g"]
    yield seen, "born_under_2500_g", "not_recorded" if weight is None else "yes" if weight < 2500 else "no"
    for contact in case.contacts:
        yield contact["contact_date"], "contacts", f"mode: {said(contact['mode'])}"
        yield contact["contact_date"], "contacts", f"attachment_help: {said(contact['attachment_help'])}"
    for assessment in case.assessments:
        yield assessment["assessment_date"], "assessments", f"tie_type: {said(assessment['tie_type'])}"
    for referral in case.referrals:
        for column in ("destination", "outcome"):
            yield referral["referral_date"], "referrals", f"{column}: {said(referral[column])}"
    for division in case.divisions:
        yield division.date, "divisions", "own" if division.own else "elsewhere"
        if division.own:
            yield division.date, "vitamin_k", said(division.vitamin_k)
    for check in case.checks:
        if check["feeding"] == "none":
            yield check["check_date"], "reasons_for_stopping", said(check["reason_stopped"])


def make_activity(subjects, settings, kind="quarters"):
    """{(period, section, row): count}."""
    counts = {}
    for subject in subjects:
        if isinstance(subject, Case):
            events = case_events(subject)
        else:
            events = [(subject.row["request_date"], "requests", said(subject.row["outcome"]))]
        for day, section, name in events:
            key = period_name(period_of(day, kind, settings), kind), section, name
            counts[key] = counts.get(key, 0) + 1
    return counts
