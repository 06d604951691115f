"""What every shape of export is read into: a sheet, its records, and every physical line of it accounted for.

A sheet is a CSV file, one sheet of a workbook, or a Parquet file. Comes in: nothing; these are the descriptions that
reading makes and mapping, the identifier screen and staging take.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import pyarrow as pa

FIELDS = pa.list_(pa.string())
RECORDS = pa.schema({"line": pa.int64(), "last_line": pa.int64(), "fields": FIELDS})


_NO_MEANING = (
    "None of this means anything here: hidden and filtered rows are read like any other, a struck-through row counts, "
    "comments are not read"
)


@dataclass(frozen=True)
class Shape:
    """Which of its lines are rows, and what stands in cells that are empty: seen to once a sheet was screened whole."""

    fill_down: tuple[str, ...] = ()  # columns whose empty cells take the value above, where the first of them is empty
    left_out_lines: tuple[str, ...] = ()  # what stands first on lines that are no rows; * is any text
    ends_before: tuple[str, ...] = ()  # what stands first on the line that ends it
    decimal: str = ""  # the mark before the decimals of its numbers, where a column does not say
    thousands: str = ""  # and between their thousands


@dataclass(frozen=True)
class Reading:
    """How a sheet is to be read. What is not said is found out: None for the encoding and the delimiter."""

    header: tuple[int, ...] = ()  # the physical lines that hold the column names; () is the first that is not blank
    encoding: str | None = None
    delimiter: str | None = None
    shape: Shape = Shape()


@dataclass(frozen=True)
class Damage:
    """A line, or the lines a quoted field runs over, that cannot be read as a row."""

    line: int
    last_line: int
    found: str
    allowed: str


@dataclass(frozen=True)
class Sheet:
    """The records of one sheet. `line` is the first physical line of a record, `last_line` its last, counted from 1.

    physical_lines = header_lines + blank_lines + the lines of `records` + the lines of `damaged`, and is counted apart;
    once it was shaped, the lines of `left_out` as well.
    """

    file: str  # as a person finds it: "contacts.csv", or "caseload.xlsx, sheet Babies"
    name: str  # what a mapping calls it: the file's name without its ending, or the sheet's name
    sha256: str  # of the file it stands in
    header: tuple[str, ...]  # white space made single; a second "Date" is "Date (2)", one without a name "column 3"
    physical_lines: int
    header_lines: int  # with whatever stands above the names
    blank_lines: int
    records: pa.Table  # as RECORDS has it: as many fields as the header, none trimmed
    damaged: tuple[Damage, ...]
    left_out: tuple[tuple[int, int], ...] = ()  # line and last line of what the mapping says is no row
    filled_lines: tuple[int, ...] = ()  # on which a cell was read from a line above
    filled_whole: tuple[int, ...] = ()  # those of them that write nothing themselves in the columns filled down
    filled_columns: tuple[str, ...] = ()
    marks: tuple[str, ...] = ()  # colours, hidden rows and the like, in words: there, and without a meaning here
    merged: tuple[str, ...] = ()  # columns with cells merged downwards, those with most of them first
    said: tuple[str, ...] = ()  # what was found out and should be said aloud, such as the encoding


def marks_said(sheets: Iterable[Sheet]) -> str:
    """One sentence for all sheets that have marks, or nothing."""
    there = "; ".join(f"{sheet.file}: {', '.join(sheet.marks)}" for sheet in sheets if sheet.marks)
    return f"{there}. {_NO_MEANING}" if there else ""
