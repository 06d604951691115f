"""What suggesting looks at: each sheet's first lines, its columns, and how often each text is written in them.

Comes in: a Sheet as reading makes it, and what the identifier screen found in its columns. Goes out: a SeenSheet.
Keeps no value of a column in which the screen found an identifier.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field

from pipeline.intake.map.shapes.odd_lines import odd_lines
from pipeline.intake.read.distinct_texts import column_texts, distinct_texts
from pipeline.intake.read.sheet import Sheet

MOST_LINES = 2000  # enough to say which of two readings of the dates puts the events in order


@dataclass(frozen=True)
class SeenColumn:
    """A column: the texts written in it, trimmed, in the order of first writing, with how often; blanks not counted."""

    header: str
    counts: Mapping[str, int] = field(default_factory=dict)
    identifier: str = ""  # what the identifier screen found in it, in words; "" is nothing
    header_is_safe: bool = True  # False: the name itself must not be written
    stands_for: tuple[str, ...] = ()  # the columns of which it is made, where a sign stands for their number


@dataclass(frozen=True)
class SeenSheet:
    """A sheet: its first lines as they are, with blank lines, and its columns. `lines` are records, for dates only."""

    name: str
    file: str
    rows: tuple[tuple[str, ...], ...]
    columns: tuple[SeenColumn, ...]
    lines: tuple[tuple[str, ...], ...] = ()
    odd_lines: tuple[str, ...] = ()  # in words
    merged: tuple[str, ...] = ()  # columns with cells merged downwards whose names may be written
    names: tuple[str, ...] = ()  # of sheets that are alike: a pattern or all names, as a mapping writes them

    @property
    def written_names(self) -> tuple[str, ...]:
        """What a mapping calls it."""
        return self.names or (self.name,)

    @property
    def plain_columns(self) -> tuple[SeenColumn, ...]:
        """Those in which the identifier screen found nothing."""
        return tuple(column for column in self.columns if not column.identifier and column.header_is_safe)


def see(
    sheet: Sheet, rows: Sequence[Sequence[str]], identifiers: Mapping[int, str], unsafe_headers: Collection[int]
) -> SeenSheet:
    """A sheet as suggesting looks at it. `identifiers` and `unsafe_headers` are by position, from 0."""
    columns = []
    texts: list[list[str]] = []
    for at, header in enumerate(sheet.header):
        if at in identifiers or at in unsafe_headers:
            columns.append(SeenColumn(header, {}, identifiers.get(at, "an identifier"), at not in unsafe_headers))
            texts.append([""] * min(MOST_LINES, sheet.records.num_rows))
            continue
        columns.append(SeenColumn(header, distinct_texts(sheet, at)))
        texts.append([text.strip() for text in column_texts(sheet, at).slice(0, MOST_LINES).to_pylist()])
    return SeenSheet(
        sheet.name,
        sheet.file,
        tuple(tuple(row) for row in rows),
        tuple(columns),
        tuple(zip(*texts, strict=True)),
        tuple(odd_lines(sheet)),
        tuple(name for name in sheet.merged if sheet.header.index(name) not in unsafe_headers),
    )
