"""The page a practitioner keeps: their last twelve months and all years, in one table.

Comes in: a practitioner's content. Goes out: the view of it, ready to print. Refuses: a share without its counts, or an
interval that chance would not give.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from pipeline.contracts.measure_files import NOTED, Measure
from pipeline.outcomes import periods
from pipeline.report.content.edition import PractitionerContent
from pipeline.report.words.dates import day_label
from pipeline.report.words.sentences import interval, percent
from pipeline.report.words.table import Group, Row, Table
from pipeline.statistics.proportions import clopper_pearson

SPANS = {"year": "The last twelve months", "all": "All years on record"}


@dataclass(frozen=True)
class OwnFile:
    """What the page shows."""

    last: str
    table: Table


def own_file(content: PractitionerContent) -> OwnFile:
    """Divisions made, and each measure that says it stands here."""
    made = Row("Divisions you made", tuple(str(number) for number in content.counted.own_divisions))
    rows = [
        Row(
            measure.title,
            tuple(_said(measure, content.counted.own_file.get((measure.name, span), (0, 0, 0))) for span in SPANS),
        )
        for measure in content.measures
        if measure.own_file
    ]
    last = periods.last_day(content.period, content.settings.year_starts)
    heads = ("", *SPANS.values())
    caption = f"Your own work, up to {day_label(last)}"
    return OwnFile(day_label(last), Table("own-file", caption, heads, (Group("", (made, *rows)),), words=True))


def _said(measure: Measure, numbers: Sequence[int]) -> str:
    eligible, known, met = numbers
    of = eligible if measure.kind == NOTED else known
    if not of:
        return f"none of {eligible} known" if eligible else "none"
    low, high = clopper_pearson(met, of)
    said = f"{met} of {of} ({percent(met / of, of)}; {interval(float(low), float(high), of)})"
    return (
        f"{said}; heard from {known} of {eligible}"
        if measure.kind == NOTED
        else f"{said}; {eligible - known} not known"
    )
