"""The cases to look at again: a page and a CSV of their own, because editions get e-mailed and lists of cases must not.

Comes in: the reasons with their cases, the content of the edition they stand beside, where to write. Goes out:
cases_to_look_at_again.html and .csv, the same bytes for the same cases.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from pathlib import Path

from pipeline.outcomes.look_again import Reason
from pipeline.outcomes.periods import kind
from pipeline.report.content.edition import EditionContent
from pipeline.report.pages import html_page
from pipeline.report.words.dates import day_label, long_label, short_day_label
from pipeline.report.words.sentences import counted, or_not_recorded
from pipeline.report.words.table import Group, Row, Table
from pipeline.store import csv_files

NAME = "cases_to_look_at_again"
_COLUMNS = ("reason", "title", "case_ref", "practitioner", "day", "detail")


def write_cases_to_look_at_again(reasons: Sequence[Reason], content: EditionContent, place: Path) -> tuple[Path, ...]:
    """Write the page and the list; both files."""
    text = page(reasons, content.settings.service, content.period, content.provenance.cut_off)
    rows = (
        (reason.name, reason.title, case.case_ref, case.practitioner, case.day, case.detail)
        for reason in reasons
        for case in reason.cases
    )
    return (
        html_page.write(place / f"{NAME}.html", text),
        csv_files.write(place / f"{NAME}.csv", _COLUMNS, rows),
    )


def page(reasons: Sequence[Reason], service: str, period: str, cut_off: date) -> str:
    """The whole page as text."""
    return html_page.render(
        "look_again.html",
        service=service,
        period=long_label(period),
        which=kind(period),
        cut_off=day_label(cut_off),
        reasons=[(reason, how_many(reason), table(reason)) for reason in reasons],
    )


def how_many(reason: Reason) -> str:
    """`none`, `3 cases`, or `3 cases in 4 lines` where one stands there twice."""
    cases = len({case.case_ref for case in reason.cases})
    if not cases:
        return "none"
    return counted(cases, "case") + ("" if cases == len(reason.cases) else f" in {len(reason.cases)} lines")


def table(reason: Reason) -> Table:
    """The list of one reason."""
    rows = tuple(
        Row(case.case_ref, (or_not_recorded(case.practitioner), short_day_label(case.day), case.detail))
        for case in reason.cases
    )
    heads = ("Case", "Practitioner", "Day", "What the record says")
    return Table(reason.name, f"{reason.title}: {how_many(reason)}", heads, (Group("", rows),), words=True)
