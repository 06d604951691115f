"""What suggesting looks at: each sheet's first lines, its columns, and how often each text is written in them.

Comes in: a Sheet as reading makes it, and what the identifier screen found in its columns. Goes out: a SeenSheet.
Refuses nothing, and keeps no value of a column that the screen found.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from pipeline.intake.read.distinct_texts import column_texts, distinct_texts
from pipeline.intake.read.sheet import Sheet

_LINES = 2000  # enough to say which of two readings of the dates puts the events in order


@dataclass(frozen=True)
class SeenColumn:
    """A column: the texts written in it, trimmed, in the order of first writing, with how often; blanks not counted."""

    header: str
    counts: Mapping[str, int] = field(default_factory=dict)
    found: str = ""  # what the identifier screen found in it, in words; "" is nothing
    header_is_safe: bool = True  # False: the name itself must not be written


@dataclass(frozen=True)
class SeenSheet:
    """A sheet: its first lines as they are, with blank lines, and its columns. `lines` are records, for dates only."""

    name: str
    file: str
    rows: tuple[tuple[str, ...], ...]
    columns: tuple[SeenColumn, ...]
    lines: tuple[tuple[str, ...], ...] = ()
    blanks: int = 0


def see(
    sheet: Sheet, rows: Sequence[Sequence[str]], found: Mapping[int, str], unsafe_headers: frozenset[int] = frozenset()
) -> SeenSheet:
    """A sheet as suggesting looks at it. `found` and `unsafe_headers` are by position, from 0."""
    columns = []
    texts: list[list[str]] = []
    for at, header in enumerate(sheet.header):
        if at in found or at in unsafe_headers:
            columns.append(SeenColumn(header, {}, found.get(at, "an identifier"), at not in unsafe_headers))
            texts.append([""] * min(_LINES, sheet.records.num_rows))
            continue
        columns.append(SeenColumn(header, distinct_texts(sheet, at)))
        texts.append([text.strip() for text in column_texts(sheet, at).slice(0, _LINES).to_pylist()])
    return SeenSheet(
        sheet.name,
        sheet.file,
        tuple(tuple(row) for row in rows),
        tuple(columns),
        tuple(zip(*texts, strict=True)) if texts else (),
        sheet.blank_lines,
    )
