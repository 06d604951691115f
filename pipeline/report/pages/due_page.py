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


def write_due_list(found: Due, service: str, place: Path) -> tuple[Path, ...]:
    """Write the page and the list; both files."""
    titles = groups(found)
    rows = (
        (
            each.case_ref, each.site, each.lead_practitioner, titles[each.place], each.first_day, each.six_weeks_on,
            each.last_day, each.days_left, record(each), each.cut_off,
        )
        for each in found.to_ask
    )  # fmt: skip
    return html_page.write(place / "due.html", page(found, service)), csv_files.write(place / "due.csv", _COLUMNS, rows)


def page(found: Due, service: str) -> str:
    """The whole page as text."""
    return html_page.render(
        "due.html",
        found=found,
        service=service,
        on=day_label(found.on),
        days=counted(found.days, "day"),
        warnings=warnings(found),
        nobody=nobody(found),
        how_many=how_many(found),
        to_ask=_to_ask(found),
        held=_held(found),
        closed_unanswered=counted(found.closed_unanswered, "window"),
    )


def groups(found: Due) -> dict[str, str]:
    """What each group is called."""
    within = f"within {counted(found.days, 'day')}"
    return {CLOSING: f"open now, closing {within}", OPEN: "open now", OPENS: f"opens {within}"}


def how_many(found: Due) -> str:
    """How many may be asked, by group."""
    closing, later, opens = (len(found.of(place)) for place in (CLOSING, OPEN, OPENS))
    within = f"within {counted(found.days, 'day')}"
    return (
        f"{counted(len(found.to_ask), 'case')}: {closing} open now and closing {within}, {later} open now for longer, "
        f"{opens} to open {within}"
    )


def record(each: ToAsk) -> str:
    """Whether the case is open, in words."""
    return "open" if each.closed_reason is None else f"closed: {each.closed_reason.replace('_', ' ')}"


def warnings(found: Due) -> tuple[str, ...]:
    """What has to be known before anyone is rung: how old each source's newest export is, and what it cannot say."""
    said = []
    for source in found.sources:
        name = f"The export of {source.name}" if source.name else "The export in the layout"
        said += [f"{name} {words}" for words in _of_source(source, found.on)]
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


def nobody(found: Due) -> str:
    """Why the list is empty; empty where it is not."""
    if found.to_ask:
        return ""
    newest = found.newest_cut_off
    age = (found.on - newest).days
    if age <= 0:
        return "Nobody’s question is open, or opens in these days, without an answer"
    return (
        f"Nobody is listed. The newest export was drawn on {day_label(newest)}, {counted(age, 'day')} before the day "
        "counted from, so babies first seen since are not in it. To see the list as it stood then: "
        f"feeding-audit due --on {newest}"
    )


def _to_ask(found: Due) -> Table:
    titles = groups(found)
    listed = tuple(
        Group(f"{title.capitalize()} ({len(found.of(place))})", tuple(_row(each) for each in found.of(place)))
        for place, title in titles.items()
        if found.of(place)
    )
    heads = ("Case", "Last day", "Days left", "Lead practitioner", "Site", "Record", "First day", "Six weeks on")
    caption = f"Days left are counted from {day_label(found.on)}; 0 means that this day is the last."
    return Table("to-ask", caption, heads, listed, words=True)


def _row(each: ToAsk) -> Row:
    first, six_weeks, last = map(short_day_label, (each.first_day, each.six_weeks_on, each.last_day))
    who = (or_not_recorded(each.lead_practitioner), or_not_recorded(each.site), record(each))
    return Row(each.case_ref, (last, f"{each.days_left}", *who, first, six_weeks))


def _held(found: Due) -> Table:
    rows = tuple(Row(each.case_ref, (each.why,)) for each in found.held_back)
    return Table("held-back", "Not to be contacted from this list", ("Case", "Why"), (Group("", rows),), words=True)
