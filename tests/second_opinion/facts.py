"""The facts derived once for every case.

In: the accepted rows of an export and its cut-off. Out: a list of Case and Request, in the order of their case_ref.
"""

from dataclasses import dataclass, field
from datetime import date, timedelta

TIE_ORDER = ("none", "anterior", "posterior", "submucosal")  # of several, the last counts
STATUS_ORDER = ("worse", "unchanged", "improved", "resolved")  # of several, the first counts
VITAMIN_K_ORDER = ("injection", "oral", "declined", "not_given")  # of several, the first counts
MILK_ORDER = ("exclusive", "partial", "none")  # of several, the first counts
HELPED_ORDER = ("no", "partly", "yes")  # of several, the first counts
OUTCOME_ORDER = (
    "accepted",
    "waiting",
    None,
    "not_indicated",
    "declined_by_parent",
    "not_brought",
    "divided_elsewhere",
    "withdrawn",
)  # of several on one day, the first counts
NOT_GOING_AHEAD = ("not_indicated", "declined_by_parent", "not_brought", "withdrawn", "divided_elsewhere")
SIGNS = ("extension", "elevation", "lateralisation", "cupping", "peristalsis")
FAR = date.max


@dataclass(frozen=True)
class Settings:
    """The service's own settings that measures lean on."""

    year_starts: int = 4
    seen_promptly_days: int = 5


@dataclass
class Division:
    """All procedures rows of one case with one date, on or after first contact."""

    date: date
    own: bool
    operator: str
    tie_type: str  # its own, None if no row records one
    consent: str
    bleeding_history: str
    aftercare: str
    vitamin_k: str
    minutes: int
    tie_type_then: str = None  # its own, else the latest assessment up to its day
    complications: list = field(default_factory=list)  # those that belong to it


@dataclass
class Request:
    """A request that is no case."""

    ref: str
    row: dict
    cutoff: date


@dataclass
class Case:
    """One case, its rows, and what follows from them."""

    ref: str
    row: dict
    cutoff: date
    contacts: list
    assessments: list
    referrals: list
    complications: list
    checks: list  # feeding checks with a recorded answer only
    views: list  # answers of families that are recorded only
    divisions: list  # by date
    divided_before: bool
    first_contact: date = None
    birth: date = None
    help_date: date = None
    referral_date: date = None
    first_own: Division = None
    first_division: Division = None
    not_going_ahead: tuple = None  # (outcome, date or None), or None
    died_on: date = None
    followed_to: date = None
    tie_type: str = "not_recorded"
    lead: str = "not_recorded"
    six_week_check: dict = None
    route: str = None


# ---------------------------------------------------------------- choosing among rows


def first_of(order, values):
    """The value that stands first in the order, of those given; None if there is none."""
    ranked = [value for value in values if value in order]
    return min(ranked, key=order.index) if ranked else None


def last_of(order, values):
    """The value that stands last in the order, of those given; None if there is none."""
    ranked = [value for value in values if value in order]
    return max(ranked, key=order.index) if ranked else None


def plus(day, days):
    return day + timedelta(days=days)


def days_between(earlier, later):
    return (later - earlier).days


def between(rows, column, first, last):
    """The rows dated from first to last, both included."""
    return [row for row in rows if first <= row[column] <= last]


def latest_day(rows, column):
    """The rows of the latest day among them."""
    newest = max((row[column] for row in rows), default=None)
    return [row for row in rows if row[column] == newest]


def earliest_day(rows, column):
    """The rows of the earliest day among them."""
    oldest = min((row[column] for row in rows), default=None)
    return [row for row in rows if row[column] == oldest]


def latest_feeding(checks):
    """The answer of the latest check; on one day the most breast milk; None if there is no check."""
    return first_of(MILK_ORDER, [check["feeding"] for check in latest_day(checks, "check_date")])


def nearest_check(checks, target):
    """The check nearest to the day; equally near the later; then most breast milk; then at_breast yes, no, empty."""

    def place(check):
        distance = abs(days_between(target, check["check_date"]))
        return (
            distance,
            -check["check_date"].toordinal(),
            MILK_ORDER.index(check["feeding"]),
            ("yes", "no", None).index(check["at_breast"]),
        )

    return min(checks, key=place, default=None)


def yes_unless_no(values):
    """No if one says no, else yes if one says yes, else None."""
    if "no" in values:
        return "no"
    return "yes" if "yes" in values else None


def one_code(codes, several):
    """The one code among them; `several` if they differ or there is none."""
    distinct = {code or "not_recorded" for code in codes}
    return distinct.pop() if len(distinct) == 1 else several


# ---------------------------------------------------------------- the facts of a case


def make_division(day, rows):
    """One division from its rows."""
    return Division(
        date=day,
        own=not all(row["provider"] in ("other_service", "private") for row in rows),
        operator=one_code([row["operator"] for row in rows], "several"),
        tie_type=last_of(TIE_ORDER, [row["tie_type"] for row in rows]),
        consent=yes_unless_no([row["consent_recorded"] for row in rows]),
        bleeding_history=yes_unless_no([row["bleeding_history_asked"] for row in rows]),
        aftercare=yes_unless_no([row["aftercare_advice"] for row in rows]),
        vitamin_k=first_of(VITAMIN_K_ORDER, [row["vitamin_k"] for row in rows]),
        minutes=max(
            (row["minutes_to_first_feed"] for row in rows if row["minutes_to_first_feed"] is not None), default=None
        ),
    )


def make_divisions(procedures, assessments, complications):
    """The divisions of a case by date, each with the complications that belong to it and its tie type then."""
    days = sorted({row["procedure_date"] for row in procedures})
    divisions = [make_division(day, [row for row in procedures if row["procedure_date"] == day]) for day in days]
    for division in divisions:
        then = [row for row in assessments if row["assessment_date"] <= division.date]
        division.tie_type_then = division.tie_type or latest_tie_type(then) or "not_recorded"
    for complication in complications:
        earlier = [division for division in divisions if division.date <= complication["noted_date"]]
        if earlier:
            earlier[-1].complications.append(complication)
    return divisions


def latest_tie_type(assessments):
    """The tie type of the latest assessment that records one; on one day the last in the order."""
    recorded = [row for row in assessments if row["tie_type"]]
    return last_of(TIE_ORDER, [row["tie_type"] for row in latest_day(recorded, "assessment_date")])


def status_on(case, day):
    """(day, status) of the latest day up to the given one that has a status, or (None, None)."""
    rows = [row for row in case.contacts if row["problem_status"] and row["contact_date"] <= day]
    newest = latest_day(rows, "contact_date")
    if not newest:
        return None, None
    return newest[0]["contact_date"], first_of(STATUS_ORDER, [row["problem_status"] for row in newest])


def find_not_going_ahead(referrals):
    """(outcome, its date or None) if the latest referral is not going ahead, else None."""
    newest = latest_day(referrals, "referral_date")
    if not newest:
        return None
    outcome = min((row["outcome"] for row in newest), key=OUTCOME_ORDER.index)
    if outcome not in NOT_GOING_AHEAD:
        return None
    dates = [row["outcome_date"] for row in newest if row["outcome"] == outcome and row["outcome_date"]]
    return outcome, min(dates, default=None)


def find_lead(case):
    """The practitioner who gave the first attachment help, else who made the first contact; not_recorded if not one."""
    if case.help_date:
        rows = [
            row for row in case.contacts if row["contact_date"] == case.help_date and row["attachment_help"] == "yes"
        ]
    else:
        rows = earliest_day(case.contacts, "contact_date")
    return one_code([row["practitioner"] for row in rows], "not_recorded")


def find_route(case):
    """Where the case stands at the cut-off: the first description that fits."""
    elsewhere = [division for division in case.divisions if not division.own]
    ahead = case.not_going_ahead
    status_day, status = status_on(case, case.cutoff)
    latest_referral = max((row["referral_date"] for row in case.referrals), default=None)
    resolved = status == "resolved" and (latest_referral is None or status_day >= latest_referral)
    if case.first_own:
        return "divided"
    if elsewhere or (ahead and ahead[0] == "divided_elsewhere"):
        return "divided_elsewhere"
    if ahead:
        return "not_going_ahead"
    if case.row["closed_reason"] == "settled" or resolved:
        return "settled"
    if case.row["closed_date"]:
        return "closed"
    return "waiting" if case.referrals else "in_support"


def find_end(case):
    """(died on, end of follow-up): moved and care_elsewhere with a date end follow-up; a death does not."""
    reason, closed = case.row["closed_reason"], case.row["closed_date"]
    died_on = closed if reason == "died" else None
    if reason in ("moved", "care_elsewhere") and closed:
        return died_on, min(closed, case.cutoff)
    return died_on, case.cutoff


def make_case(row, rows_of, cutoff):
    """A case with every derived fact. rows_of gives the rows of a table for this case."""
    procedures = [line for line in rows_of("procedures") if line["procedure_date"] >= row["first_contact_date"]]
    case = Case(
        ref=row["case_ref"],
        row=row,
        cutoff=cutoff,
        contacts=rows_of("contacts"),
        assessments=rows_of("assessments"),
        referrals=rows_of("referrals"),
        complications=rows_of("complications"),
        checks=[check for check in rows_of("feeding_checks") if check["feeding"]],
        views=[view for view in rows_of("family_views") if view["helped"]],
        divisions=make_divisions(procedures, rows_of("assessments"), rows_of("complications")),
        divided_before=len(procedures) < len(rows_of("procedures")),
    )
    case.first_contact = row["first_contact_date"]
    case.birth = plus(case.first_contact, -row["age_days"])
    case.help_date = min(
        (line["contact_date"] for line in case.contacts if line["attachment_help"] == "yes"), default=None
    )
    case.referral_date = min((line["referral_date"] for line in case.referrals), default=None)
    case.first_division = case.divisions[0] if case.divisions else None
    case.first_own = next((division for division in case.divisions if division.own), None)
    case.not_going_ahead = find_not_going_ahead(case.referrals)
    case.died_on, case.followed_to = find_end(case)
    case.tie_type = latest_tie_type(case.assessments) or "not_recorded"
    case.lead = find_lead(case)
    case.six_week_check = nearest_check(
        between(case.checks, "check_date", plus(case.birth, 35), plus(case.birth, 56)), plus(case.birth, 42)
    )
    case.route = find_route(case)
    return case


def heard_from(case, day, first, last):
    """A contact, or a feeding check with a recorded answer, first to last days after the day."""
    start, end = plus(day, first), plus(day, last)
    return bool(between(case.contacts, "contact_date", start, end) or between(case.checks, "check_date", start, end))


# ---------------------------------------------------------------- an export


def recorded(row):
    """The row with nothing where a value says that it is not recorded."""
    return {column: None if value in ("not_known", "not_recorded") else value for column, value in row.items()}


def subjects_of(accepted, cutoff):
    """The Case or Request of every case_ref of one export, of its accepted rows by table."""
    by_case = {}
    for table, rows in accepted.items():
        for row in rows:
            by_case.setdefault((table, row["case_ref"]), []).append(recorded(row))
    cases = {
        ref: make_case(rows[0], lambda table, ref=ref: by_case.get((table, ref), []), cutoff)
        for (table, ref), rows in by_case.items()
        if table == "cases"
    }
    requests = {ref: Request(ref, rows[0], cutoff) for (table, ref), rows in by_case.items() if table == "requests"}
    return [subject for _, subject in sorted((requests | cases).items())]
