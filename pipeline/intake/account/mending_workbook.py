"""What was set aside, as one workbook for the person who mends the records.

Comes in: for each table of the layout (and for the lines that belong to none) what was set aside and why. Goes out: an
XLSX file: a sheet that says what to do, then a sheet a table, the same bytes for the same findings. Refuses to write a
formula or a link, a character that a spreadsheet cannot hold, or a list cut short without a word.

It is made in memory, because what it holds should lie nowhere but where it was asked for.
"""

from __future__ import annotations

import io
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from python_calamine import CalamineError, CalamineWorkbook
from xlsxwriter.format import Format
from xlsxwriter.worksheet import Worksheet

from pipeline.contracts import layout
from pipeline.errors import Fault, Refused
from pipeline.store.workbook_cells import HEADER, TITLE, WRAPPED, finish, lay_out, new_book, write_line

ROWS_OF_A_SHEET = 1_048_575  # what a sheet holds below its header

FIRST_SHEET = "What to do"
_HEADER = ("file", "line", "case", "column", "what is set aside", "found", "allowed", "how to mend")
_WIDTHS = (22, 8, 16, 24, 12, 36, 40, 48)
_COUNTS_HEADER = ("table", "column", "what is set aside", "allowed", "how often")
_COUNTS_WIDTHS = (20, 26, 18, 72, 12)


@dataclass(frozen=True)
class Row:
    """One row, or one value of a row, that was set aside."""

    file: str
    line: int
    case: str  # its case_ref, empty where there is none
    column: str  # as the service's own records call it; empty where the whole line is meant
    kind: str  # row or value
    found: str
    allowed: str
    mend: str


@dataclass(frozen=True)
class Looks:
    """How cells look."""

    title: Format
    words: Format  # over the columns to their right, which are empty
    header: Format
    cell: Format


def write_workbook(path: Path, tables: Sequence[tuple[str, Sequence[Row]]], *, export: str) -> None:
    """Write the workbook. `tables` are names with their findings; `export` says in words of what it is the list."""
    see_that_it_may_be_written(path)
    order = [table.name for table in layout.tables()]
    findings = sorted(
        ((name, rows) for name, rows in tables if rows),
        key=lambda table: order.index(table[0]) if table[0] in order else len(order),
    )
    made = io.BytesIO()
    book = new_book(made, "What was set aside, and how to mend it")
    looks = Looks(book.add_format(TITLE), book.add_format({}), book.add_format(HEADER), book.add_format(WRAPPED))
    _write_first_sheet(book.add_worksheet(FIRST_SHEET), findings, export, looks)
    for name, rows in findings:
        for sheet, part in _sheets(name, rows):
            _write_findings(book.add_worksheet(sheet), part, looks)
    finish(book, made, path)


def see_that_it_may_be_written(path: Path) -> None:
    """Nothing but an older list is ever overwritten: a name given by mistake may be that of the caseload itself."""
    mend = "name another file, such as to_mend.xlsx"
    if path.suffix.lower() != ".xlsx":
        raise Refused(Fault(str(path), "it is no name of a workbook", "a name that ends in .xlsx", mend))
    if not path.parent.is_dir():
        raise Refused(Fault(str(path), "there is no such folder", "a folder that is there", mend))
    if path.exists() and not _is_a_list(path):
        raise Refused(Fault(str(path), "there is such a file already, and it is no list of ours", "a new name", mend))


def _is_a_list(path: Path) -> bool:
    try:
        with CalamineWorkbook.from_path(str(path)) as book:
            return book.sheet_names[:1] == [FIRST_SHEET]
    except (CalamineError, OSError):
        return False


def _sheets(name: str, rows: Sequence[Row]) -> Iterator[tuple[str, Sequence[Row]]]:
    """The sheets a table's findings take, with what stands on each."""
    for start in range(0, len(rows), ROWS_OF_A_SHEET):
        number = start // ROWS_OF_A_SHEET + 1
        yield name if number == 1 else f"{name} {number}", rows[start : start + ROWS_OF_A_SHEET]


def _write_findings(sheet: Worksheet, rows: Sequence[Row], looks: Looks) -> None:
    write_line(sheet, 0, _HEADER, looks.header)
    for at, row in enumerate(rows, 1):
        what = f"the {row.kind}"
        cells = (row.file, row.line, row.case, row.column, what, row.found, row.allowed, row.mend)
        write_line(sheet, at, cells, looks.cell)
    sheet.freeze_panes(1, 0)
    sheet.autofilter(0, 0, len(rows), len(_HEADER) - 1)
    sheet.repeat_rows(0)
    lay_out(sheet, _WIDTHS)


def _write_first_sheet(
    sheet: Worksheet, findings: Sequence[tuple[str, Sequence[Row]]], export: str, looks: Looks
) -> None:
    write_line(sheet, 0, (f"What was set aside of {export}",), looks.title)
    words = list(_what_to_do(findings))
    for at, line in enumerate(words, 2):
        write_line(sheet, at, (line,), looks.words)
    if findings:
        header_at = len(words) + 3
        write_line(sheet, header_at, _COUNTS_HEADER, looks.header)
        for at, cells in enumerate(_counts(findings), header_at + 1):
            write_line(sheet, at, cells, looks.cell)
    lay_out(sheet, _COUNTS_WIDTHS)
    sheet.activate()


def _what_to_do(findings: Sequence[tuple[str, Sequence[Row]]]) -> Iterator[str]:
    """Lines short enough for the width of the counts below them."""
    if not findings:
        yield "Nothing was set aside: there is nothing to mend."
        return
    yield "A row that is set aside is left out of every figure."
    yield "A value that is set aside counts as not recorded; the rest of its row stays."
    yield "Each is on the sheet of its table, with what was found, what is allowed, and how to mend it."
    for name, rows in findings:
        if len(rows) > ROWS_OF_A_SHEET:
            sheets = ", ".join(sheet for sheet, _ in _sheets(name, rows))
            yield f"{name}: {len(rows):,} findings are more than one sheet holds; they stand on {sheets}."
    yield ""
    yield "1. Mend the records themselves, where they are kept. This workbook is a list; nothing reads it back."
    yield "2. Draw the export again."
    yield "3. Load it: feeding-audit load EXPORT. What is mended then counts."
    yield "What each column may hold: feeding-audit layout"
    yield ""
    yield "This workbook holds pseudonyms and words of the records: keep it inside the service; delete it when done."
    yield "An apostrophe before = + - or @ is not in the records: it keeps a spreadsheet from working the text out."


def _counts(findings: Sequence[tuple[str, Sequence[Row]]]) -> Iterator[tuple[str | int, ...]]:
    """One line a table and reason, the most frequent reason of a table first."""
    for name, rows in findings:
        reasons = Counter((row.column, f"the {row.kind}", row.allowed) for row in rows)
        for reason, count in sorted(reasons.items(), key=lambda counted: (-counted[1], counted[0])):
            yield name, *reason, count
