"""Every measure, each a function of its own: in a Case (or a Request) and the settings, out its rows.

A case that is not eligible gives no row. met is True, False, or None for unknown. `row_id` names the row within
the case where there can be several (the division's date); days and event are used by waits and by the age in days.
"""

from dataclasses import dataclass
from datetime import date

from .facts import (
    FAR,
    HELPED_ORDER,
    SIGNS,
    Case,
    Division,
    Request,
    between,
    days_between,
    earliest_day,
    first_of,
    heard_from,
    latest_day,
    latest_feeding,
    nearest_check,
    plus,
    status_on,
)

EVENT, COMPETING, CENSORED, NEVER_AT_RISK = "event", "competing", "censored", "never_at_risk"
LONGEST = 84
MILK = ("exclusive", "partial")


@dataclass(frozen=True)
class Row:
    """One eligible row of one measure."""

    subject: object
    index_date: date
    met: object = None
    days: int = None
    event: str = None
    division: Division = None

    @property
    def row_id(self):
        return self.division.date.isoformat() if self.division else ""


def request_of(subject):
    """The request date of a case or a request, None where there is none."""
    return subject.row["request_date" if isinstance(subject, Request) else "help_requested_date"]


def wait_row(case, index, event, competing, end):
    """The row of a wait from index: the event wins a tie with the competing one, and both win one with the end."""
    if end < index:
        return Row(case, index, event=NEVER_AT_RISK)
    event, competing = event or FAR, competing or FAR
    stop = min(event, competing)
    if stop > end or days_between(index, stop) > LONGEST:
        return Row(case, index, days=min(days_between(index, end), LONGEST), event=CENSORED)
    return Row(case, index, days=days_between(index, stop), event=EVENT if event <= competing else COMPETING)


def watched_to(case, index):
    """End of follow-up for a wait from index; a death before the index is treated as an end before it."""
    if case.died_on and case.died_on < index:
        return min(case.died_on, case.followed_to)
    return case.followed_to


# ---------------------------------------------------------------- asking for help


def seen_promptly(subject, settings):
    """Of everyone who asked N days or more before the cut-off, who was first seen within N days of asking.

    A request that ended for a reason that made seeing pointless (not no_reply) within those days is left out.
    """
    asked, limit = request_of(subject), settings.seen_promptly_days
    if not asked or plus(asked, limit) > subject.cutoff:
        return []
    if isinstance(subject, Request):
        ended = subject.row["outcome"] in ("declined", "moved", "seen_elsewhere", "not_suitable", "died")
        ended_on = subject.row["outcome_date"]
        if ended and ended_on and ended_on <= plus(asked, limit):
            return []
        return [Row(subject, asked, met=False)]
    return [Row(subject, asked, met=subject.first_contact <= plus(asked, limit))]


def days_to_first_contact(subject, settings):
    """Wait from asking to first contact; a dated outcome of the request (not waiting) competes with it."""
    asked = request_of(subject)
    if not asked:
        return []
    if isinstance(subject, Case):
        return [wait_row(subject, asked, subject.first_contact, None, subject.cutoff)]
    over = subject.row["outcome"] not in (None, "waiting")
    return [wait_row(subject, asked, None, subject.row["outcome_date"] if over else None, subject.cutoff)]


# ---------------------------------------------------------------- help before division


def resolved_by_attachment_help(case, settings):
    """Of those helped within 42 days of first contact, who neither failed by day 42 nor ended badly by day 56.

    Failed: referred, divided by anyone, or no breast milk at a check, up to day 42. Ended well: closed as settled
    between the help and day 56 with no later status that says otherwise, or last status resolved from day 28 on.
    Unknown: not failed, not ended well, and no status from day 28 on.
    """
    start = case.first_contact
    if not case.help_date or case.help_date > plus(start, 42) or plus(start, 56) > case.cutoff:
        return []
    if failed_by(case, plus(start, 42)):
        return [Row(case, start, met=False)]
    last_day, last_status = status_on(case, plus(start, 56))
    late = last_day is not None and last_day >= plus(start, 28)
    if closed_as_settled(case, last_day, last_status) or (late and last_status == "resolved"):
        return [Row(case, start, met=True)]
    return [Row(case, start, met=False if late else None)]


def failed_by(case, day):
    """A referral, a division of either kind, or a feeding check of none, up to the day."""
    referred = case.referral_date is not None and case.referral_date <= day
    divided = case.first_division is not None and case.first_division.date <= day
    stopped = any(check["feeding"] == "none" and check["check_date"] <= day for check in case.checks)
    return referred or divided or stopped


def closed_as_settled(case, last_day, last_status):
    """Closed as settled from the help to day 56, and no status after the closing but a resolved one."""
    closed = case.row["closed_date"]
    if case.row["closed_reason"] != "settled" or not closed:
        return False
    if not case.help_date <= closed <= plus(case.first_contact, 56):
        return False
    return last_day is None or last_day <= closed or last_status == "resolved"


def attachment_help_before_referral(case, settings):
    """Of those referred, who had attachment help here on an earlier day, or elsewhere before.

    Unknown only where an earlier contact does not say whether it gave help.
    """
    if not case.referral_date:
        return []
    earlier = [row["attachment_help"] for row in case.contacts if row["contact_date"] < case.referral_date]
    if "yes" in earlier or case.row["helped_elsewhere_before"] == "yes":
        return [Row(case, case.referral_date, met=True)]
    return [Row(case, case.referral_date, met=None if None in earlier else False)]


def function_assessed_before_referral(case, settings):
    """Of those referred, who had by then one assessment with a tie type and a score, or a tie type and three signs."""
    if not case.referral_date:
        return []
    met = any(row["assessment_date"] <= case.referral_date and whole_assessment(row) for row in case.assessments)
    return [Row(case, case.referral_date, met=met)]


def whole_assessment(row):
    """Tie type (none is one) and either a function score or at least three of the five signs."""
    signs = sum(row[sign] is not None for sign in SIGNS)
    return row["tie_type"] is not None and (row["function_score"] is not None or signs >= 3)


# ---------------------------------------------------------------- waits


def days_to_referral(case, settings):
    """Wait from first contact to referral; a division before it or without it, and death, compete with it."""
    divided = case.first_division.date if case.first_division else None
    if divided and case.referral_date and divided >= case.referral_date:
        divided = None
    competing = min(divided or FAR, case.died_on or FAR)
    return [wait_row(case, case.first_contact, case.referral_date, competing, watched_to(case, case.first_contact))]


def days_from_referral_to_procedure(case, settings):
    """Wait from referral to our own division on or after it.

    Division elsewhere on or after it, death, and a dated 'not going ahead' before any division ever compete with it.
    """
    start = case.referral_date
    if not start:
        return []
    own = min((division.date for division in case.divisions if division.own and division.date >= start), default=None)
    elsewhere = min(
        (division.date for division in case.divisions if not division.own and division.date >= start), default=FAR
    )
    stopped = case.not_going_ahead[1] if case.not_going_ahead else None
    if stopped and case.first_division and stopped >= case.first_division.date:
        stopped = None
    competing = min(elsewhere, stopped or FAR, case.died_on or FAR)
    return [wait_row(case, start, own, competing, watched_to(case, start))]


def age_at_procedure(case, settings):
    """Age in days at the first own division."""
    if not case.first_own:
        return []
    return [Row(case, case.first_own.date, days=days_between(case.birth, case.first_own.date), division=case.first_own)]


# ---------------------------------------------------------------- at the division


def own_divisions(case):
    return [division for division in case.divisions if division.own]


def checks_before_procedure(case, settings):
    """Of own divisions, those with consent and bleeding history on record as yes, and any answer about vitamin K."""
    return [
        Row(
            case,
            division.date,
            division=division,
            met=division.consent == "yes" and division.bleeding_history == "yes" and division.vitamin_k is not None,
        )
        for division in own_divisions(case)
    ]


def fed_within_30_minutes(case, settings):
    """Of own divisions, those fed within 30 minutes (the longest time recorded that day); no time is unknown."""
    return [
        Row(case, division.date, division=division, met=None if division.minutes is None else division.minutes <= 30)
        for division in own_divisions(case)
    ]


def aftercare_advice_given(case, settings):
    """Of own divisions, those with aftercare advice; nothing recorded is unknown."""
    return [
        Row(
            case,
            division.date,
            division=division,
            met=None if division.aftercare is None else division.aftercare == "yes",
        )
        for division in own_divisions(case)
    ]


def attachment_help_after_division(case, settings):
    """Attachment help 1 to 7 days after the first own division; unknown only where a contact then does not say."""
    division = case.first_own
    if not division or plus(division.date, 7) > case.cutoff:
        return []
    help_then = [
        row["attachment_help"]
        for row in between(case.contacts, "contact_date", plus(division.date, 1), plus(division.date, 7))
    ]
    met = True if "yes" in help_then else (None if None in help_then else False)
    return [Row(case, division.date, met=met, division=division)]


# ---------------------------------------------------------------- harm


def harm_rows(case, judge):
    """A row for every own division 28 days or more before the cut-off, judged by its own complications of 14 days."""
    rows = []
    for division in own_divisions(case):
        if plus(division.date, 28) <= case.cutoff:
            soon = between(division.complications, "noted_date", division.date, plus(division.date, 14))
            rows.append(Row(case, division.date, met=judge(division, soon), division=division))
    return rows


def needed_care(complications):
    return any(row["severity"] in ("treated", "hospital") for row in complications)


def severity_missing(complications):
    return any(row["severity"] is None for row in complications)


def not_reattachment(complications):
    return [row for row in complications if row["kind"] != "reattachment"]


def complication_needing_care_within_14_days(case, settings):
    """Harm (not reattachment) treated or sent to hospital within 14 days.

    Unknown: none such, and a harm of unrecorded severity then, or nobody heard from 5 to 28 days after.
    """

    def judge(division, soon):
        harms = not_reattachment(soon)
        if needed_care(harms):
            return True
        return None if severity_missing(harms) or not heard_from(case, division.date, 5, 28) else False

    return harm_rows(case, judge)


def complication_within_14_days(case, settings):
    """Any harm (not reattachment) within 14 days; unknown if none and not heard from 5 to 28 days after."""

    def judge(division, soon):
        if not_reattachment(soon):
            return True
        return False if heard_from(case, division.date, 5, 28) else None

    return harm_rows(case, judge)


def bleeding_needing_care(case, settings):
    """Bleeding treated or sent to hospital within 14 days.

    Unknown: none such, and bleeding of unrecorded severity, or no bleeding and not heard from 1 to 28 days after.
    """

    def judge(division, soon):
        bleeds = [row for row in soon if row["kind"] == "bleeding"]
        if needed_care(bleeds):
            return True
        if severity_missing(bleeds):
            return None
        return False if bleeds or heard_from(case, division.date, 1, 28) else None

    return harm_rows(case, judge)


def infection_within_14_days(case, settings):
    """Infection within 14 days; unknown if none and not heard from 5 to 28 days after."""

    def judge(division, soon):
        if any(row["kind"] == "infection" for row in soon):
            return True
        return False if heard_from(case, division.date, 5, 28) else None

    return harm_rows(case, judge)


def divided_again(case, division):
    """A division by anyone on a later day within 84 days."""
    return any(division.date < other.date <= plus(division.date, 84) for other in case.divisions)


def first_own_followed(case):
    """The first own division if it is 84 days or more before the cut-off, else None."""
    division = case.first_own
    return division if division and plus(division.date, 84) <= case.cutoff else None


def reattached_within_84_days(case, settings):
    """After the first own division: reattachment noted on days 1 to 84, or a later division by anyone in that time.

    Unknown if neither and nobody was heard from 28 to 84 days after.
    """
    division = first_own_followed(case)
    if not division:
        return []
    noted = any(
        row["kind"] == "reattachment"
        for row in between(case.complications, "noted_date", plus(division.date, 1), plus(division.date, 84))
    )
    met = noted or divided_again(case, division) or (False if heard_from(case, division.date, 28, 84) else None)
    return [Row(case, division.date, met=met, division=division)]


def divided_again_within_84_days(case, settings):
    """After the first own division, a division by anyone on a later day within 84 days."""
    division = first_own_followed(case)
    return [Row(case, division.date, met=divided_again(case, division), division=division)] if division else []


def division_without_visible_tie(case, settings):
    """Own divisions whose tie type then is recorded: those of type none or submucosal."""
    return [
        Row(case, division.date, met=division.tie_type_then in ("none", "submucosal"), division=division)
        for division in own_divisions(case)
        if division.tie_type_then != "not_recorded"
    ]


# ---------------------------------------------------------------- feeding


def breastfed_at_first(case):
    """Some breast milk at first contact, and not known to have died."""
    return case.row["feeding_at_first_contact"] in MILK and case.row["closed_reason"] != "died"


def breastfed_6_weeks_after_division(case, settings):
    """Any breast milk at the answered check nearest to 42 days (28 to 56) after the first own division."""
    division = case.first_own
    if not division or plus(division.date, 56) > case.cutoff or not breastfed_at_first(case):
        return []
    check = nearest_check(
        between(case.checks, "check_date", plus(division.date, 28), plus(division.date, 56)), plus(division.date, 42)
    )
    return [Row(case, division.date, met=None if check is None else check["feeding"] in MILK, division=division)]


def stopped_breastfeeding_while_waiting(case, settings):
    """Referred while breastfed, 84 days or more before the cut-off: none at the last answered check of the wait.

    Who had stopped by the last check before the referral is left out. The wait ends at a division by anyone, at a
    dated 'not going ahead', or after 84 days. Unknown if nobody asked in that time.
    """
    start = case.referral_date
    if not start or plus(start, 84) > case.cutoff or not breastfed_at_first(case):
        return []
    if latest_feeding([check for check in case.checks if check["check_date"] < start]) == "none":
        return []
    divided = min((division.date for division in case.divisions if division.date >= start), default=FAR)
    stopped = case.not_going_ahead[1] if case.not_going_ahead else None
    end = min(divided, stopped or FAR, plus(start, 84))
    feeding = latest_feeding(between(case.checks, "check_date", start, end))
    return [Row(case, start, met=None if feeding is None else feeding == "none")]


def six_week_rows(case, judge):
    """The row of a baby breastfed at first contact, first seen before 28 days of age and 56 days old by the cut-off."""
    if not breastfed_at_first(case) or case.row["age_days"] >= 28 or plus(case.birth, 56) > case.cutoff:
        return []
    return [Row(case, plus(case.birth, 42), met=judge(case.six_week_check))]


def breastfed_at_6_weeks(case, settings):
    """Any breast milk at the six-week check; no check is unknown."""
    return six_week_rows(case, lambda check: None if check is None else check["feeding"] in MILK)


def exclusively_breastfed_at_6_weeks(case, settings):
    """Only breast milk at the six-week check; no check is unknown."""
    return six_week_rows(case, lambda check: None if check is None else check["feeding"] == "exclusive")


def fed_at_the_breast_at_6_weeks(case, settings):
    """Breast milk and fed at the breast at the six-week check; unknown without a check or without at_breast."""

    def judge(check):
        if check is None:
            return None
        if check["feeding"] == "none":
            return False
        return None if check["at_breast"] is None else check["at_breast"] == "yes"

    return six_week_rows(case, judge)


def asked_at_6_weeks(case, settings):
    """There is a six-week check."""
    return six_week_rows(case, lambda check: check is not None)


# ---------------------------------------------------------------- pain, weight, the family's view


def feeding_pain_eased(case, settings):
    """First pain score 4 or more within 7 days of first contact: the last later one within 28 days is 2 or more lower.

    Two scores on one day: the higher counts. Unknown without a score on a later day.
    """
    scored = [row for row in case.contacts if row["pain_score"] is not None]
    first_rows = earliest_day(scored, "contact_date")
    if not first_rows or plus(case.first_contact, 28) > case.cutoff:
        return []
    first_day, first_score = first_rows[0]["contact_date"], max(row["pain_score"] for row in first_rows)
    if first_score < 4 or first_day > plus(case.first_contact, 7):
        return []
    in_time = between(scored, "contact_date", plus(first_day, 1), plus(case.first_contact, 28))
    later = latest_day(in_time, "contact_date")
    met = max(row["pain_score"] for row in later) <= first_score - 2 if later else None
    return [Row(case, case.first_contact, met=met)]


def birth_weight_regained_by_21_days(case, settings):
    """Seen by 21 days of age with a birth weight: weighed at or above it from day 5 to day 21 of life.

    Unknown if not, and not weighed from day 14 to 21.
    """
    birth_weight, due = case.row["birth_weight_g"], plus(case.birth, 21)
    if birth_weight is None or case.first_contact > due or due > case.cutoff:
        return []
    weighed = [row for row in case.contacts if row["weight_g"] is not None]
    if any(row["weight_g"] >= birth_weight for row in between(weighed, "contact_date", plus(case.birth, 5), due)):
        return [Row(case, due, met=True)]
    return [Row(case, due, met=False if between(weighed, "contact_date", plus(case.birth, 14), due) else None)]


def family_felt_helped(case, settings):
    """The family's latest answer up to 84 days after first contact is yes (on one day the worse); none is unknown."""
    if plus(case.first_contact, 84) > case.cutoff or case.row["closed_reason"] == "died":
        return []
    answers = latest_day(
        between(case.views, "answered_date", case.first_contact, plus(case.first_contact, 84)), "answered_date"
    )
    worst = first_of(HELPED_ORDER, [view["helped"] for view in answers])
    return [Row(case, case.first_contact, met=None if worst is None else worst == "yes")]


# ---------------------------------------------------------------- all of them


@dataclass(frozen=True)
class Measure:
    """A measure: its function, its kind, its horizon in days (None: the setting N), and whether requests count."""

    function: object
    kind: str
    horizon: int
    of_requests: bool = False
    by_route: bool = False
    by_feeding: bool = False

    @property
    def name(self):
        return self.function.__name__


PROPORTION, NOTED, WAIT, DAYS = "proportion", "noted", "time_to_event", "days"
MEASURES = (
    Measure(seen_promptly, PROPORTION, None, of_requests=True),
    Measure(days_to_first_contact, WAIT, 28, of_requests=True),
    Measure(resolved_by_attachment_help, PROPORTION, 56),
    Measure(attachment_help_before_referral, PROPORTION, 0),
    Measure(function_assessed_before_referral, PROPORTION, 0),
    Measure(days_to_referral, WAIT, 28),
    Measure(days_from_referral_to_procedure, WAIT, 28),
    Measure(age_at_procedure, DAYS, 0),
    Measure(checks_before_procedure, PROPORTION, 0),
    Measure(fed_within_30_minutes, PROPORTION, 0),
    Measure(aftercare_advice_given, PROPORTION, 0),
    Measure(attachment_help_after_division, PROPORTION, 7),
    Measure(complication_needing_care_within_14_days, NOTED, 28, by_feeding=True),
    Measure(complication_within_14_days, NOTED, 28),
    Measure(bleeding_needing_care, NOTED, 28),
    Measure(infection_within_14_days, NOTED, 28),
    Measure(reattached_within_84_days, NOTED, 84),
    Measure(divided_again_within_84_days, PROPORTION, 84),
    Measure(division_without_visible_tie, PROPORTION, 0),
    Measure(breastfed_6_weeks_after_division, PROPORTION, 56),
    Measure(stopped_breastfeeding_while_waiting, PROPORTION, 84),
    Measure(breastfed_at_6_weeks, PROPORTION, 14, by_route=True, by_feeding=True),
    Measure(exclusively_breastfed_at_6_weeks, PROPORTION, 14, by_route=True),
    Measure(fed_at_the_breast_at_6_weeks, PROPORTION, 14, by_route=True),
    Measure(asked_at_6_weeks, PROPORTION, 14, by_route=True),
    Measure(feeding_pain_eased, PROPORTION, 28, by_route=True),
    Measure(birth_weight_regained_by_21_days, PROPORTION, 0, by_route=True),
    Measure(family_felt_helped, PROPORTION, 84),
)


def rows_of(measure, subjects, settings):
    """Every row of the measure, of cases and, where the measure has them, of requests."""
    wanted = [subject for subject in subjects if measure.of_requests or isinstance(subject, Case)]
    return [row for subject in wanted for row in measure.function(subject, settings)]


def answer(measure, row):
    """yes, no or unknown of a row as the results count it; of a wait by day 28; empty for days."""
    if measure.kind == DAYS:
        return ""
    if measure.kind != WAIT:
        return {True: "yes", False: "no", None: "unknown"}[row.met]
    if row.event == NEVER_AT_RISK or (row.event == CENSORED and row.days < 28):
        return "unknown"
    return "yes" if row.event == EVENT and row.days <= 28 else "no"
