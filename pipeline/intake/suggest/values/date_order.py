"""What the order of a family's dates says about a column whose name says little.

Comes in: columns of dates of one sheet, with how each is read. Goes out: which of them the first contact likely is,
which contacts are the same visit, and words about the order. Refuses to be sure: it says likely, or asks.
"""

from __future__ import annotations

import functools
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from pipeline.intake.suggest.look.sheet_seen import SeenColumn, SeenSheet
from pipeline.intake.suggest.values import date_styles

_IN_ORDER, _FILLED, _SAME = 0.95, 0.9, 0.5
_FEWEST = 3  # lines that hold both dates; fewer say nothing


@dataclass(frozen=True)
class Dated:
    """A column of dates that are read in one way only."""

    column: SeenColumn
    way: tuple[str, ...]

    @property
    def header(self) -> str:
        """Its name."""
        return self.column.header


def dated(column: SeenColumn) -> Dated | None:
    """The column, where nearly all of it is dates and nothing about them must be asked."""
    styles = date_styles.styles_of(column.counts)
    one = len(styles.ways) == 1 and styles.ways != (("serial",),) and styles.share >= _IN_ORDER and column.counts
    return Dated(column, styles.ways[0]) if one else None


def pairs(sheet: SeenSheet, one: Dated, other: Dated) -> list[tuple[date, date]]:
    """The days of the lines that hold both."""
    headers = [column.header for column in sheet.columns]
    if one.header not in headers or other.header not in headers:
        return []  # made of several columns
    here, there = headers.index(one.header), headers.index(other.header)
    read = functools.lru_cache(maxsize=None)(date_styles.parsed)
    days = ((read(line[here].strip(), one.way), read(line[there].strip(), other.way)) for line in sheet.lines)
    return [(this, that) for this, that in days if this and that]


def between(sheet: SeenSheet, one: Dated, earlier: Sequence[Dated], later: Sequence[Dated]) -> str:
    """In words, that the column's days lie between those of the others; nothing where they do not, or few show it."""
    said = []
    for others, words in ((earlier, "on or after"), (later, "on or before")):
        for other in others:
            both = pairs(sheet, one, other)
            if len(both) < _FEWEST:
                continue
            held = sum(this >= that if others is earlier else this <= that for this, that in both)
            if held < _IN_ORDER * len(both):
                return ""
            said.append(f'{words} "{other.header}" in {held} of {len(both)}')
    return ", ".join(said[:2])


def first_contact(
    sheet: SeenSheet, vague: Sequence[Dated], earlier: Sequence[Dated], later: Sequence[Dated]
) -> tuple[SeenColumn, str] | None:
    """The one vague column, filled in nearly every line, that lies where the first contact must lie, and why."""
    fitting = [
        (dates.column, said)
        for dates in vague
        if sum(dates.column.counts.values()) >= _FILLED * len(sheet.lines)
        and (said := between(sheet, dates, earlier, later))
    ]
    return fitting[0] if len(fitting) == 1 else None


def same_visits(sheet: SeenSheet, contacts: Mapping[str, Dated]) -> dict[str, str]:
    """Label of a contact -> why it is likely the same visit as one that comes before it in the mapping given."""
    again: dict[str, str] = {}
    labels = list(contacts)
    for at, label in enumerate(labels):
        for other in labels[:at]:
            both = pairs(sheet, contacts[label], contacts[other])
            same = sum(this == that for this, that in both)
            if other not in again and len(both) >= _FEWEST and same >= _SAME * len(both):
                again[label] = f'on the same day as "{contacts[other].header}" in {same} of {len(both)} lines'
                break
    return again
