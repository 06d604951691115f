"""A mapping: how the columns and codes of a service's own export become those of the export layout.

Comes in: nothing; this is what reading a mapping file makes. Goes out: how each sheet is read, and where in the file
something stands.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterable
from collections.abc import Mapping as Map
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from fnmatch import fnmatchcase
from typing import Any

from pipeline.intake.read.sheet import Reading


@dataclass(frozen=True)
class Origin:
    """Where the values of one layout column come from: one of column, constant, sheet_name and days_old is given."""

    column: str | None = None  # a column of the sheet, by its header
    or_column: tuple[str, ...] = ()  # its other names: a sheet has exactly one of them
    constant: str | None = None  # the same value in every row
    sheet_name: bool = False  # the name of the sheet that a row stands on (columns of texts only), or its code
    days_old: int | None = None  # the day on which the baby was so many days old (date columns only)
    split: tuple[str, ...] = ()  # the signs between the parts of a cell, each of which gives a row
    any_of: tuple[str, ...] = ()  # the same where one part that says yes is enough
    codes: Map[str, str] | None = None  # written code -> layout code; "" is nothing recorded
    dates: tuple[str, ...] = ()  # formats of datetime.strptime, or "serial" for a spreadsheet's day number
    times: Decimal | None = None  # what a number is multiplied by
    form: str = ""  # how an age, a gestation or a weight is written, of FORMS in units/amounts.py
    unit: str = ""  # the column of the sheet with its unit, where that stands beside
    decimal: str = ""  # the mark before the decimals of a number; a point, if neither it nor the sheet says
    thousands: str = ""  # the mark between its thousands, if there is one
    prefix: str = ""  # put before what is written
    nothing: frozenset[str] = frozenset()  # folded texts that are nothing in every column, if no code of it says more

    @property
    def unsaid(self) -> str:
        """What is meant where no column of the sheet says it."""
        if self.constant is not None:
            return f"always {self.constant or 'nothing'}"
        if self.sheet_name:
            return "the name of the sheet"
        return "" if self.days_old is None else f"the day the baby was {self.days_old} days old"


@dataclass(frozen=True)
class When:
    """A row is made only where the column holds one of the values; any value at all where it says no more.

    What no list names nobody foresaw: its row is set aside by name.
    """

    column: str
    values: tuple[str, ...] = ()
    leave_out: tuple[str, ...] = ()  # values that make no row, on purpose
    is_not: tuple[str, ...] = ()  # the same, where anything else makes one, an empty cell too
    is_empty: bool = False  # a row only where nothing is written
    split: tuple[str, ...] = ()  # the signs between the parts of a cell: one of them is enough
    nothing: frozenset[str] = frozenset()  # as in Origin
    or_column: tuple[str, ...] = ()  # as in Origin

    @property
    def listed(self) -> tuple[str, ...]:
        """Every value that it names."""
        return (*self.values, *self.leave_out, *self.is_not)

    @property
    def words(self) -> str:
        """What must be for it to hold."""
        if self.is_empty:
            return f"{self.column} is empty"
        if self.is_not:
            return f"{self.column} does not hold {' or '.join(self.is_not)}"
        return f"{self.column} holds {' or '.join(self.values) or 'anything'}"


@dataclass(frozen=True)
class Rows:
    """Each line of the sheet gives at most one row of the table, or one for each part of a cell that is split."""

    table: str
    sheets: tuple[str, ...]  # patterns for fnmatchcase, such as "Clinic *"; "*" is every sheet
    columns: Map[str, Origin]  # layout column -> where it comes from
    when: tuple[When, ...] = ()  # all of which must hold
    repeat: str = ""  # the sign that stands in names of columns for 1, 2, 3: rows for each number a sheet has

    def is_of(self, sheet_name: str) -> bool:
        """Whether a sheet of that name gives the rows."""
        return any(fnmatchcase(sheet_name, pattern) for pattern in self.sheets)


@dataclass(frozen=True)
class Mapping:
    """A whole mapping. One without rows is of an export in the layout, and only lets columns through the screen."""

    name: str  # the mapping file's name without its ending
    source: str  # what the exports it reads are called among the loads
    rows: tuple[Rows, ...]
    readings: Map[str, Reading] = field(default_factory=dict)  # sheet name or pattern -> how it is read
    not_identifiers: Map[str, str] = field(default_factory=dict)  # column -> the reason why it is none
    confirmed: Map[str, tuple[str, ...]] = field(default_factory=dict)  # kind -> words that name nobody
    cut_off: date | None = None
    text: str = ""  # the file as it was read, kept with each load
    left_out_sheets: tuple[str, ...] = ()  # on purpose; patterns
    left_out_columns: tuple[str, ...] = ()  # the same


Place = tuple[str | int, ...]  # where something stands in a mapping file: ("rows", 1, "columns", "case_ref")


def reading_of(mapping: Mapping, sheet_name: str) -> Reading:
    """How a sheet is to be read: what stands under its own name, else under the first pattern that matches it."""
    if sheet_name in mapping.readings:
        return mapping.readings[sheet_name]
    matching = (reading for name, reading in mapping.readings.items() if fnmatchcase(sheet_name, pattern_of(name)))
    return next(matching, Reading())


def pattern_of(sheet: str) -> str:
    """The pattern for fnmatchcase of a sheet as a mapping file writes it, where * is the one mark with a meaning."""
    return sheet.replace("[", "[[]").replace("?", "[?]")


_KEY = r"""(?:"(?:[^"\\\n]|\\.)*"|'[^'\n]*'|[A-Za-z0-9_-]+)"""
_KEYS = rf"{_KEY}(?:[ \t]*\.[ \t]*{_KEY})*"
_ARRAY_HEADER = re.compile(rf"[ \t]*\[\[[ \t]*({_KEYS})[ \t]*\]\]")
_TABLE_HEADER = re.compile(rf"[ \t]*\[[ \t]*({_KEYS})[ \t]*\][ \t]*(?:#|$)")
_SETTING = re.compile(rf"[ \t]*({_KEYS})[ \t]*=")
_LONG_TEXT = re.compile(r'"""[\s\S]*?"""|' + r"'''[\s\S]*?'''")


def lines_of(text: str) -> dict[Place, int]:
    """The line of every header and key of a TOML file. The parser says none, so they are looked for in the text."""
    text = _LONG_TEXT.sub(lambda text: "\n" * text[0].count("\n"), text)
    lines: dict[Place, int] = {}
    counts: dict[Place, int] = {}
    header: Place = ()
    for number, line in enumerate(text.split("\n"), 1):
        array, table = _ARRAY_HEADER.match(line), _TABLE_HEADER.match(line)
        match = array or table or _SETTING.match(line)
        parts = _parts(match[1]) if match else []
        if not parts:
            continue
        if array:
            place = (*_resolved((), parts[:-1], counts), parts[-1])
            counts[place] = counts.get(place, 0) + 1
        if array or table:
            header = _resolved((), parts, counts)
        _note(lines, header if array or table else _resolved(header, parts, counts), number)
    return lines


def line_of(lines: Map[Place, int], place: Place) -> int:
    """The line of a place, or of the nearest place above it that has one: a key within braces stands on no own line."""
    while place and place not in lines:
        place = place[:-1]
    return lines.get(place, 1)


def _parts(keys: str) -> list[str]:
    try:
        here: Any = tomllib.loads(f"{keys} = 0")
    except tomllib.TOMLDecodeError:
        return []  # no key: a line of a text that runs over lines
    parts: list[str] = []
    while isinstance(here, dict):
        ((part, here),) = here.items()
        parts.append(part)
    return parts


def _resolved(place: Place, parts: Iterable[str], counts: Map[Place, int]) -> Place:
    """The place, with the number of the block that is being written where there are several."""
    for part in parts:
        place = (*place, part)
        if place in counts:
            place = (*place, counts[place] - 1)
    return place


def _note(lines: dict[Place, int], place: Place, number: int) -> None:
    for length in range(1, len(place) + 1):
        lines.setdefault(place[:length], number)
