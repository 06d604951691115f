"""A block of rows written once for groups of columns that repeat: "Visit 1 / Date", "Visit 2 / Date" and so on.

Comes in: rows in whose columns a sign stands for a number, and the names a sheet has. Goes out: the rows of each number
that the sheet has in one of these columns, lowest first. What a number lacks is said by fits.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import replace

from pipeline.intake.map.mapping import Rows


def rows_on(rows: Rows, header: Sequence[str]) -> tuple[Rows, ...]:
    """The rows as they are on a sheet: themselves, or a copy for each number, none where it has no number."""
    if not rows.repeat:
        return (rows,)
    signs = [re.escape(name).replace(re.escape(rows.repeat), "([0-9]+)", 1) for name in repeated_names(rows)]
    patterns = [re.compile(sign.replace(re.escape(rows.repeat), r"\1")) for sign in signs]
    matches = [match for pattern in patterns for name in header if (match := pattern.fullmatch(name))]
    numbers = sorted({match[1] for match in matches}, key=lambda number: (int(number), number))
    return tuple(_numbered(rows, number) for number in numbers)


def repeated_names(rows: Rows) -> tuple[str, ...]:
    """The names of columns in which the sign stands."""
    return tuple(dict.fromkeys(name for name in _names(rows) if rows.repeat in name))


def _names(rows: Rows) -> Iterator[str]:
    for origin in rows.columns.values():
        yield from (name for name in (origin.column, *origin.or_column, origin.unit) if name)
    for when in rows.when:
        yield from (when.column, *when.or_column)


def _numbered(rows: Rows, number: str) -> Rows:
    def named(name: str) -> str:
        return name.replace(rows.repeat, number)

    columns = {
        of: origin
        if origin.column is None
        else replace(
            origin, column=named(origin.column), or_column=tuple(map(named, origin.or_column)), unit=named(origin.unit)
        )
        for of, origin in rows.columns.items()
    }
    when = tuple(
        replace(one, column=named(one.column), or_column=tuple(map(named, one.or_column))) for one in rows.when
    )
    return replace(rows, columns=columns, when=when, repeat="")
