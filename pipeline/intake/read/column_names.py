"""The lines that hold the column names in, the names out: single white space, none empty, none twice.

A name that stands over a second column becomes "Date (2)" and a third "Date (3)"; a column without one is "column 4",
by its place in the sheet. Refuses: lines of names that are not in the sheet, or hold none; more columns than are read.
Prints no name, for the sheet has not been screened yet.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence

from pipeline.errors import Fault, Refused
from pipeline.intake.read.limits import check_columns

ALLOWED = "a line with the column names"
_MARK = re.compile(r"(.+) \(\d+\)")


def check_lines(wanted: tuple[int, ...], physical_lines: int, where: str) -> None:
    """Refuse lines of names that cannot be: none at all, beyond the end, more than two, not in order."""
    if not physical_lines:
        raise Refused(Fault(where, "it holds no header", ALLOWED, "export it again"))
    mend = "correct the line of the names (header) in the mapping file"
    if len(wanted) > 2 or list(wanted) != sorted(set(wanted)) or any(line < 1 for line in wanted):
        said = ", ".join(str(line) for line in wanted)
        raise Refused(Fault(where, f"the names are said to stand in line {said}", "one line, or two in order", mend))
    if wanted and wanted[-1] > physical_lines:
        beyond = f"the names are said to stand in line {wanted[-1]}, but it ends with line {physical_lines}"
        raise Refused(Fault(where, beyond, ALLOWED, mend))


def names(rows: Sequence[Sequence[str]], where: str, width: int = 0) -> tuple[str, ...]:
    """The names from one line, or from two of which the first groups the columns of the second."""
    if not any(name.strip() for row in rows for name in row):
        mend = "say in the mapping file which line holds the names (header)"
        raise Refused(Fault(where, "the header holds no name", ALLOWED, mend))
    width = max([width, *(len(row) for row in rows)])
    check_columns(width, where)
    *above, own = [[" ".join(name.split()) for name in row] + [""] * (width - len(row)) for row in rows]
    if above:
        group, grouped = "", []
        for over, name in zip(above[0], own, strict=True):
            group = over or group
            grouped.append(" / ".join(part for part in (group, name) if part))
        own = grouped
    return _made_unique([name or f"column {place}" for place, name in enumerate(own, start=1)])


def _made_unique(written: list[str]) -> tuple[str, ...]:
    taken, given, times = set(written), [], Counter[str]()
    for name in written:
        times[name] += 1
        unique = name
        while times[name] > 1 and (unique := f"{name} ({times[name]})") in taken:
            times[name] += 1  # someone named a column "Date (2)"
        taken.add(unique)
        given.append(unique)
    return tuple(given)


def repeated(header: Sequence[str]) -> tuple[str, ...]:
    """The names that stand over more than one column, told by the mark given above."""
    marked = (_MARK.fullmatch(name) for name in header)
    return tuple(dict.fromkeys(match[1] for match in marked if match and match[1] in header))
