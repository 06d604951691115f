"""Which lines of a sheet hold the names of its columns.

Comes in: the first lines of a sheet as they are, blank ones too. Goes out: the number of the line, or of the two lines.
Refuses to take more than two lines, or to look past the first lines it is given: it rather takes too little.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

_VALUE = re.compile(r"[\d\s/.,:%+-]*\d[\d\s/.,:%+-]*|\d{1,2}[ -][A-Za-z]{3,9}[ -]\d{2,4}|[YyNn?-]")


def header_lines(rows: Sequence[Sequence[str]]) -> tuple[int, ...]:
    """The line of the names, counted from 1, or the group line and the line under it; (1,) of an empty sheet."""
    filled = [(at, row) for at, row in enumerate(rows, 1) if any(text.strip() for text in row)]
    if not filled:
        return (1,)
    widest = max(_width(row) for _, row in filled)
    above: list[tuple[int, int]] = []  # width and line of what may still be the names, where nothing better comes
    for at, row in filled:
        # A title stands in a cell or two; the names span more than half of the table.
        if (_width(row) < 2 or _width(row) * 2 <= widest) and not _is_group_line(row, at, filled):
            if not _is_values(row):
                above.append((_width(row), at))
                continue
            break
        if _is_group_line(row, at, filled):
            return (at, at + 1)
        if _is_values(row):
            break
        return (at,)
    _, line = max(above, key=lambda title: (title[0], -title[1]), default=(0, filled[0][0]))
    return (line,)


def _is_values(row: Sequence[str]) -> bool:
    """Mostly values: “6/52” alone may be a name."""
    return sum(bool(_VALUE.fullmatch(text.strip())) for text in row) * 2 > _width(row)


def _width(row: Sequence[str]) -> int:
    return sum(bool(text.strip()) for text in row)


def _is_group_line(row: Sequence[str], at: int, filled: Sequence[tuple[int, Sequence[str]]]) -> bool:
    """Blanks to the right of its names, over a line of names of which some repeat."""
    under = dict(filled).get(at + 1)
    if under is None or _width(row) < 2 or _width(under) <= _width(row):
        return False
    names = [text.strip().casefold() for text in under if text.strip()]
    if any(_VALUE.fullmatch(text) for text in names) or len(set(names)) == len(names):
        return False
    # Each name that repeats must stand under different groups, else the second line is no line of names.
    groups: list[str] = []
    carried = ""
    for position in range(len(under)):
        carried = (row[position].strip() if position < len(row) else "") or carried
        groups.append(carried)
    joined = [(group, text.strip().casefold()) for group, text in zip(groups, under, strict=True) if text.strip()]
    return len(set(joined)) == len(joined)
