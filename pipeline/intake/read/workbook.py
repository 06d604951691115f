"""The bytes of an .xlsx or .xlsm workbook in, its worksheets out; and each worksheet as a Sheet.

Line numbers are the sheet's own row numbers. A row without any text is blank; an error cell (#N/A) is text. Hidden
sheets are read as well: an identifier there is an identifier. Refuses: what is no workbook or cannot be unpacked, and
a sheet that a stray cell makes larger than memory allows.
"""

from __future__ import annotations

import io
import posixpath
import zipfile
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import islice

import pyarrow as pa
from python_calamine import CalamineError, CalamineWorkbook

from pipeline.errors import Fault, Refused
from pipeline.intake.read import column_names, zipped
from pipeline.intake.read.cells import cell_text
from pipeline.intake.read.file_kinds import printable
from pipeline.intake.read.limits import LONGEST_LINE, MOST_CELLS
from pipeline.intake.read.sheet import FIELDS, RECORDS, Reading, Sheet
from pipeline.intake.read.worksheet_xml import (
    BrokenXml,
    LongCell,
    Looks,
    Survey,
    blank_strings,
    elements,
    looks,
    survey,
)

_ROWS = 20_000  # turned into Arrow at a time
_MEND = "open it in a spreadsheet program and save it again as .xlsx, or export it as CSV"


@dataclass(frozen=True)
class Worksheet:
    """One worksheet of an opened workbook."""

    name: str
    hidden: bool
    book: CalamineWorkbook
    survey: Survey
    comments: int


def open_workbook(body: bytes, where: str) -> tuple[tuple[Worksheet, ...], tuple[str, ...]]:
    """The worksheets that hold anything, and remarks on the sheets that are not read. Raises Refused."""
    written = {name for name in zipped.names(body, where) if name.lower().endswith((".xml", ".rels"))}
    parts = zipped.unpack(body, where, written)
    try:
        relations = _relations(parts, "").values() if "_rels/.rels" in parts else ()
        start = next((target for kind, target in relations if kind == "officeDocument"), "")
        if not start.endswith(".xml") or not any(name == "workbook" for name, _ in elements(parts[start])):
            other = "it is a zip, but not an .xlsx workbook within"
            raise Refused(Fault(where, other, "a workbook saved as .xlsx or .xlsm", _MEND))
        book = CalamineWorkbook.from_filelike(io.BytesIO(_packed(parts)))
        return _worksheets(book, parts, start, where)
    except LongCell as error:
        allowed, mend = f"cells of up to {LONGEST_LINE:,} signs", "look for it, and export it again without it"
        raise Refused(Fault(where, f"a cell of {error.args[0]:,} signs", allowed, mend)) from None
    except (KeyError, BrokenXml, CalamineError) as error:
        raise _broken(where, error) from error


def _broken(where: str, error: Exception) -> Refused:
    """Only the kind of the error is told: its words may be those of a cell."""
    broken = f"the workbook is broken ({type(error).__name__})"
    return Refused(Fault(where, broken, "a workbook a spreadsheet program can open", _MEND))


def _packed(parts: dict[str, bytes]) -> bytes:
    """The parts once more as a zip, for calamine to unpack no more than was counted."""
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_STORED) as archive:
        for name, part in parts.items():
            archive.writestr(name, part)
    return packed.getvalue()


def _relations(parts: dict[str, bytes], source: str) -> dict[str, tuple[str, str]]:
    """What a part refers to, by id: the kind, and the name of the other part."""
    folder, name = posixpath.split(source)
    relations = {}
    for element, attributes in elements(parts[posixpath.join(folder, "_rels", f"{name}.rels")]):
        if element == "Relationship":
            target = posixpath.normpath(posixpath.join("/", folder, attributes["Target"]))
            relations[attributes["Id"]] = (attributes["Type"].rpartition("/")[2], target.removeprefix("/"))
    return relations


def _worksheets(
    book: CalamineWorkbook, parts: dict[str, bytes], start: str, where: str
) -> tuple[tuple[Worksheet, ...], tuple[str, ...]]:
    relations = _relations(parts, start)
    shared = next((parts[target] for kind, target in relations.values() if kind == "sharedStrings"), None)
    blank = blank_strings(shared) if shared is not None else frozenset()
    styles = next((parts.get(target, b"") for kind, target in relations.values() if kind == "styles"), b"")
    try:
        marking = looks(styles)
    except BrokenXml:
        marking = Looks()  # nothing is known of colours; what is written is read all the same
    worksheets, not_read = [], []
    for element, attributes in elements(parts[start]):
        if element != "sheet":
            continue
        name, (kind, target) = attributes["name"], relations[attributes["id"]]
        if kind != "worksheet":
            not_read.append(f"{label(where, name)}: a sheet without cells ({kind}), not read")
            continue
        surveyed = survey(parts[target], blank, marking)
        if not surveyed.last_row:
            not_read.append(f"{label(where, name)}: empty, not read")
            continue
        if surveyed.far_row * surveyed.far_column > MOST_CELLS:
            size = f"its cells reach to row {surveyed.far_row}, column {surveyed.far_column}"
            mend = "delete the empty rows and columns behind the last one in use, or export it as CSV"
            raise Refused(Fault(label(where, name), size, f"at most {MOST_CELLS:,} cells in a sheet", mend))
        hidden = attributes.get("state", "visible") != "visible"
        worksheets.append(Worksheet(name, hidden, book, surveyed, _comments(parts, target)))
    return tuple(worksheets), tuple(not_read)


def _comments(parts: dict[str, bytes], sheet: str) -> int:
    """How many comments a sheet has; what cannot be read of them is none."""
    try:
        targets = [target for kind, target in _relations(parts, sheet).values() if kind == "comments"]
        return sum(name == "comment" for target in targets for name, _ in elements(parts[target]))
    except (KeyError, BrokenXml):
        return 0


def _marks(worksheet: Worksheet, names_end: int) -> tuple[str, ...]:
    """What a spreadsheet shows beside its text. Colours of the lines of names alone are not told."""
    seen = worksheet.survey
    said = {
        "the sheet is hidden": worksheet.hidden,
        "coloured cells": seen.coloured_row > names_end,
        f"{seen.struck:,} struck through": seen.struck,
        f"{_many(seen.hidden_rows, 'hidden row')}": seen.hidden_rows,
        f"{_many(seen.hidden_columns, 'hidden column')}": seen.hidden_columns,
        "a filter": seen.filtered,
        f"{_many(worksheet.comments, 'comment')}": worksheet.comments,
    }
    return tuple(words for words, there in said.items() if there)


def _many(count: int, what: str) -> str:
    return f"{count:,} {what}{'s' * (count != 1)}"


def _merged(merged: Iterable[tuple[int, int, int]], header: Sequence[str], names_end: int) -> tuple[str, ...]:
    """The columns with cells merged downwards under the names: where one stands around others, it comes first."""
    without_text: Counter[int] = Counter()
    for column, first, last in merged:
        if names_end < first < last and column <= len(header):
            without_text[column - 1] += last - first
    return tuple(header[at] for at in sorted(without_text, key=lambda at: (-without_text[at], at)))


def label(where: str, name: str, hidden: bool = False) -> str:
    """A sheet as a person finds it."""
    return f"{where}, sheet {printable(name)}" + (" (hidden)" if hidden else "")


def read_worksheet(worksheet: Worksheet, file: str, sha256: str, reading: Reading) -> Sheet:
    """One worksheet as a Sheet. Raises Refused where the lines of names are not in it."""
    physical_lines = worksheet.survey.last_row
    column_names.check_lines(reading.header, physical_lines, file)
    rows = enumerate(_rows(worksheet, file), start=1)
    wanted = reading.header
    above, blank_lines = [], 0
    for line, row in rows:
        blank = not any(text.strip() for text in row)
        if not wanted and not blank:
            wanted = (line,)
        if line in wanted:
            above.append(row)
        elif blank:
            blank_lines += 1
        if wanted and line == wanted[-1]:
            break
    width = max(column for line, column in worksheet.survey.rightmost.items() if line in wanted or line > wanted[-1])
    header = column_names.names([row[:width] for row in above], file, width)
    header_lines = wanted[-1] - blank_lines
    tables = []
    while chunk := list(islice(rows, _ROWS)):
        kept = [(line, row[:width]) for line, row in chunk if any(text.strip() for text in row)]
        # Rows behind the last one that holds anything are no lines at all.
        blank_lines += sum(line <= physical_lines for line, _ in chunk) - len(kept)
        lines = pa.array([line for line, _ in kept], pa.int64())
        tables.append(pa.table([lines, lines, pa.array([row for _, row in kept], FIELDS)], schema=RECORDS))
    count = worksheet.survey.not_calculated
    said = f"formulas whose result was not saved: {count}; open it in a spreadsheet program and save it"
    return Sheet(
        file=file,
        name=worksheet.name,
        sha256=sha256,
        header=header,
        physical_lines=physical_lines,
        header_lines=header_lines,
        blank_lines=blank_lines,
        records=pa.concat_tables([RECORDS.empty_table(), *tables]),
        damaged=(),
        marks=_marks(worksheet, wanted[-1]),
        merged=_merged(worksheet.survey.merged, header, wanted[-1]),
        said=(said,) if count else (),
    )


def first_rows(worksheet: Worksheet, file: str, count: int) -> tuple[tuple[str, ...], ...]:
    """The first rows as they are, blank ones too, for looking at."""
    return tuple(tuple(row) for row in islice(_rows(worksheet, file), count))


def _rows(worksheet: Worksheet, file: str) -> Iterator[list[str]]:
    """The rows from the first on, each as wide as the widest, in text. Raises Refused where a cell cannot be read."""
    survey = worksheet.survey
    overlooked: dict[int, list[tuple[int, str]]] = {}
    for (row, column), text in survey.overlooked.items():
        overlooked.setdefault(row, []).append((column, text))
    line = 0
    try:
        for cells in worksheet.book.get_sheet_by_name(worksheet.name).iter_rows():
            line += 1
            written = [cell if isinstance(cell, str) else cell_text(cell) for cell in cells]
            yield _with_overlooked(written, survey.far_column, overlooked.get(line, []))
    except CalamineError as error:
        raise _broken(file, error) from error
    for beyond in range(line + 1, max(overlooked, default=0) + 1):
        yield _with_overlooked([], survey.far_column, overlooked.get(beyond, []))


def _with_overlooked(row: list[str], width: int, overlooked: list[tuple[int, str]]) -> list[str]:
    row += [""] * (width - len(row))
    for column, text in overlooked:
        row[column - 1] = text
    return row
