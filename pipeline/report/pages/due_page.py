"""Whose six-week question is due: a page to work from, and the same as a CSV.

Comes in: a Due, the name of the service, where to write. Goes out: due.html and due.csv, the same bytes for the same
list; what has to be said about how old it is. Refuses to put anyone who is held back into the CSV, from which people
are called: they stand on the page alone, with the reason.
"""

from __future__ import annotations

from datetime import date
from pathlib import Path

from pipeline.outcomes.due import CLOSING, OPEN, OPENS, Due, Source, ToAsk
from pipeline.report.pages import html_page
from pipeline.report.words.dates import day_label, short_day_label
from pipeline.report.words.sentences import counted, or_not_recorded
from pipeline.report.words.table import Group, Row, Table
from pipeline.store import csv_files

FRESH_DAYS = 7  # an export older than this is to be loaded anew first
_COLUMNS = (
    "case_ref", "site", "lead_practitioner", "group", "first_day", "six_weeks_on", "last_day", "days_left",
    "record", "as_known_on",
)  # fmt: skip


def write_due_list(due: Due, service: str, place: Path) -> tuple[Path, ...]:
    """Write the page and the list; both files."""
    titles = groups(due)
    rows = (
        (
            case.case_ref, case.site, case.lead_practitioner, titles[case.place], case.first_day, case.six_weeks_on,
            case.last_day, case.days_left, record(case), case.cut_off,
        )
        for case in due.to_ask
    )  # fmt: skip
    return html_page.write(place / "due.html", page(due, service)), csv_files.write(place / "due.csv", _COLUMNS, rows)


def page(due: Due, service: str) -> str:
    """The whole page as text."""
    return html_page.render(
        "due.html",
        due=due,
        service=service,
        on=day_label(due.on),
        days=counted(due.days, "day"),
        warnings=warnings(due),
        nobody=nobody(due),
        how_many=how_many(due),
        to_ask=_to_ask(due),
        held=_held(due),
        closed_unanswered=counted(due.closed_unanswered, "window"),
    )


def groups(due: Due) -> dict[str, str]:
    """What each group is called."""
    within = f"within {counted(due.days, 'day')}"
    return {CLOSING: f"open now, closing {within}", OPEN: "open now", OPENS: f"opens {within}"}


def how_many(due: Due) -> str:
    """How many may be asked, by group."""
    closing, later, opens = (len(due.of(place)) for place in (CLOSING, OPEN, OPENS))
    within = f"within {counted(due.days, 'day')}"
    return (
        f"{counted(len(due.to_ask), 'case')}: {closing} open now and closing {within}, {later} open now for longer, "
        f"{opens} to open {within}"
    )


def record(case: ToAsk) -> str:
    """Whether the case is open, in words."""
    return "open" if case.closed_reason is None else f"closed: {case.closed_reason.replace('_', ' ')}"


def warnings(due: Due) -> tuple[str, ...]:
    """What has to be known before anyone is rung: how old each source's newest export is, and what it cannot say."""
    said = []
    for source in due.sources:
        name = f"The export of {source.name}" if source.name else "The export in the layout"
        said += [f"{name} {words}" for words in _of_source(source, due.on)]
    return tuple(said)


def _of_source(source: Source, on: date) -> list[str]:
    age = (on - source.cut_off).days
    drawn = f"was drawn on {day_label(source.cut_off)}"
    said = []
    if age > 0:
        old = f"{drawn}, {counted(age, 'day')} before the day counted from"
        unknown = "answers given since, and what else happened since, a death included, are not known here"
        said.append(f"{old}: {unknown}" + ("; load a new one first" if age > FRESH_DAYS else ""))
    elif age < 0:
        said.append(f"{drawn}, after the day counted from: what it says up to then is taken into account")
    if source.closing_reasons == 0:
        said.append("has no reason for closing on record for any case: it would not show that a baby had died")
    return said


def nobody(due: Due) -> str:
    """Why the list is empty; empty where it is not."""
    if due.to_ask:
        return ""
    newest = due.newest_cut_off
    age = (due.on - newest).days
    if age <= 0:
        return "Nobody’s question is open, or opens in these days, without an answer"
    return (
        f"Nobody is listed. The newest export was drawn on {day_label(newest)}, {counted(age, 'day')} before the day "
        "counted from, so babies first seen since are not in it. To see the list as it stood then: "
        f"feeding-audit due --on {newest}"
    )


def _to_ask(due: Due) -> Table:
    titles = groups(due)
    listed = tuple(
        Group(f"{title.capitalize()} ({len(due.of(place))})", tuple(_row(case) for case in due.of(place)))
        for place, title in titles.items()
        if due.of(place)
    )
    heads = ("Case", "Last day", "Days left", "Lead practitioner", "Site", "Record", "First day", "Six weeks on")
    caption = f"Days left are counted from {day_label(due.on)}; 0 means that this day is the last."
    return Table("to-ask", caption, heads, listed, words=True)


def _row(case: ToAsk) -> Row:
    first, six_weeks, last = map(short_day_label, (case.first_day, case.six_weeks_on, case.last_day))
    who = (or_not_recorded(case.lead_practitioner), or_not_recorded(case.site), record(case))
    return Row(case.case_ref, (last, f"{case.days_left}", *who, first, six_weeks))


def _held(due: Due) -> Table:
    rows = tuple(Row(case.case_ref, (case.why,)) for case in due.held_back)
    return Table("held-back", "Not to be contacted from this list", ("Case", "Why"), (Group("", rows),), words=True)
