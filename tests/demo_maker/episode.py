"""All cases of the demo, as a records system would hold them on the day of the export.

Comes in: the declared service. Goes out: the rows of every table, sound as yet, in order of day. Refuses: anything
after the cut-off, which nobody could have recorded.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from tests.demo_maker.baby import Baby, case_reference, family_columns, make_baby
from tests.demo_maker.chance import between, likely, stream
from tests.demo_maker.contacts import assessment_rows, closing_day, contact_rows
from tests.demo_maker.course import Course, make_course
from tests.demo_maker.divisions import complication_rows, procedure_rows, referral_rows
from tests.demo_maker.elsewhere import divided_elsewhere
from tests.demo_maker.feeding import LOST_SIGHT_OF, check_rows
from tests.demo_maker.never_seen import every_request
from tests.demo_maker.service import CUT_OFF, SEED, SITES, VOLUMES, Site
from tests.demo_maker.twins import as_twin, other_twin
from tests.demo_maker.views import view_rows

Rows = list[dict[str, str]]

# The day each table's row is about: what orders it, and what the cut-off is held against.
DAYS = {
    "cases": "first_contact_date",
    "contacts": "contact_date",
    "assessments": "assessment_date",
    "referrals": "referral_date",
    "procedures": "procedure_date",
    "complications": "noted_date",
    "feeding_checks": "check_date",
    "requests": "request_date",
    "family_views": "answered_date",
}


def every_case(seed: int = SEED) -> dict[str, Rows]:
    """The rows of all cases and of the requests that led to none, by table."""
    taken: set[str] = set()
    tables: dict[str, Rows] = {table: [] for table in DAYS}
    references, twins = stream(seed, "case references"), stream(seed, "twins")
    for quarter, volume in VOLUMES.items():
        for place in range(volume):
            reference = case_reference(references, taken)
            name, site = f"{quarter}/{place}", site_of(place, volume)
            first = family(seed, name, reference, site, quarter)
            made = [rows_of(seed, name, *first)]
            if first[1]["multiple_birth"] == "yes" and likely(stream(seed, f"{name}/the other twin"), 0.7):
                twin = family(seed, f"{name}/twin", case_reference(twins, taken), site, quarter, twin=True)
                made.append(rows_of(seed, f"{name}/twin", *other_twin(*first, *twin)))
            for table, rows in ((table, rows) for case in made for table, rows in case.items()):
                tables[table] += rows
    tables["requests"] = every_request(seed, taken)
    for table, day in DAYS.items():
        tables[table].sort(key=lambda row: (row[day], row["case_ref"]))
    return tables


def site_of(place: int, volume: int) -> Site:
    """Sites share each quarter in fixed parts, so that no site grows at another's cost."""
    reached = 0.0
    for site in SITES:
        reached += site.share
        if (place + 0.5) / volume < reached:
            return site
    return SITES[-1]


def one_case(seed: int, name: str, reference: str, site: Site, quarter: str) -> dict[str, Rows]:
    """The rows of one case, by table, up to the cut-off."""
    return rows_of(seed, name, *family(seed, name, reference, site, quarter))


def family(
    seed: int, name: str, reference: str, site: Site, quarter: str, twin: bool = False
) -> tuple[Baby, dict[str, str]]:
    """A baby and its row of `cases`, closing left empty."""
    baby, case = make_baby(stream(seed, f"{name}/baby"), reference, site, quarter)
    draw = stream(seed, f"{name}/family")
    case |= family_columns(draw)
    if likely(draw, 0.07):
        baby = replace(baby, lost=between(draw, 12, 15) / 100)
    return as_twin(draw, baby, case) if twin or case["multiple_birth"] == "yes" else (baby, case)


def rows_of(seed: int, name: str, baby: Baby, case: dict[str, str]) -> dict[str, Rows]:
    """What came of a baby, by table, up to the cut-off."""
    # A stream for each part of a case: a change to how contacts are written moves no wait and no outcome.
    course = make_course(stream(seed, f"{name}/course"), baby)
    course = divided_elsewhere(stream(seed, f"{name}/elsewhere"), baby, course)
    contacts = contact_rows(stream(seed, f"{name}/contacts"), baby, course)
    seen = [date.fromisoformat(row["contact_date"]) for row in contacts]
    closed = close(seed, name, course, seen)
    if closed is not None and closed <= CUT_OFF:
        case |= {"closed_date": closed.isoformat(), "closed_reason": course.closed_reason}
    tables = {
        "cases": [case],
        "contacts": contacts,
        "assessments": assessment_rows(
            stream(seed, f"{name}/assessments"), stream(seed, f"{name}/tongue"), baby, course
        ),
        "referrals": referral_rows(stream(seed, f"{name}/referrals"), baby, course),
        "procedures": procedure_rows(
            stream(seed, f"{name}/procedures"), stream(seed, f"{name}/provider"), baby, course
        ),
        "complications": complication_rows(stream(seed, f"{name}/complications"), baby, course),
        "feeding_checks": check_rows(stream(seed, f"{name}/checks"), baby, course, seen, closed),
        "family_views": view_rows(stream(seed, f"{name}/views"), baby),
    }
    latest = CUT_OFF.isoformat()
    return {table: [row for row in rows if row[DAYS[table]] <= latest] for table, rows in tables.items()}


def close(seed: int, name: str, course: Course, seen: list[date]) -> date | None:
    """When the episode was closed; some settled cases are left open, as happens."""
    draw = stream(seed, f"{name}/closing")
    if not course.closed_reason or (course.closed_reason not in LOST_SIGHT_OF and likely(draw, 0.06)):
        return None
    last = max(day for day in (*seen, course.outcome_day, course.divided, course.divided_again) if day is not None)
    return closing_day(draw, last)
