"""Writes the outreach team's workbook, and its part of the list of faults.

Comes in: the lines of the sheet. Goes out: the bytes of caseload.xlsx, the same every time, and the second table of
FAULTS.md. Refuses: to read what it wrote.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime
from io import BytesIO
from typing import Any
from zipfile import ZIP_STORED, ZipFile, ZipInfo

import xlsxwriter

from tests.demo_maker.fault import ACCEPTED, BLANK, EXTRA
from tests.demo_maker.outreach import DRAWN
from tests.demo_maker.outreach_lines import ABOVE, HEADER, HEADER_LINES, Line
from tests.demo_maker.outreach_sheet import Cell, Formula
from tests.demo_maker.outreach_words import COLUMNS, GROUPS, NOT_SEEN_YET

FILE, SHEET, NOT_YET, LISTS = "outreach/caseload.xlsx", "Caseload", "Not seen yet", "Lists"
TITLE = "Outreach team – caseload, all babies since July 2025"
WAYS_TO_WRITE = (
    ("TT type", "What it means"),
    ("ant", "to the tip of the tongue"),
    ("post", "further back"),
    ("submuc", "felt, not seen"),
    ("none", "looked, and none there"),
    ("", ""),
    ("Fed", "What it means"),
    ("EBF", "breast milk only"),
    ("mix", "some breast milk"),
    ("FF", "no breast milk"),
    ("?", "not asked, or no answer"),
)
WHAT_IS_ABOVE = {
    HEADER: "a title, and further down two lines of column names, stand above the rows",
    BLANK: "an empty line under the title",
}

# What is odd about the sheet as a whole: where, what, and what becomes of it.
WHOLE_SHEET = (
    (SHEET, "all", "days are true dates, text as in 03/03/2026 and text as in 3 Mar 2026", ACCEPTED),
    (SHEET, "all", "marks are Y, y, N, ? or nothing", ACCEPTED),
    (SHEET, "all", "Birth wt (kg) and TT type: a name over two lines, and one with a space behind it", ACCEPTED),
    (SHEET, "all", "a column Unit no, whose values look like hospital numbers and are none", EXTRA),
    (LISTS, "all", "a sheet that is no table of cases, and that the mapping does not name", "left out"),
)

HEADING = f"""
# What is wrong in the outreach team's workbook

The team keeps a sheet of its own, `{FILE}`, drawn on {DRAWN}, and `mappings/outreach.toml` says how to
read it. The file is made by the same command and from the same kind of draws. Lines are those of the sheet, counted
from 1. One line gives rows of several tables: where only one of them is set aside, its table is named and the rest of
the line stands. A value set aside is named by its column in the layout.

| sheet | lines | what is wrong | what becomes of it |
| --- | --- | --- | --- |
"""


def workbook(lines: Sequence[Line], not_yet: Sequence[Line]) -> bytes:
    """The bytes of the workbook."""
    made = BytesIO()
    book = xlsxwriter.Workbook(made, {"in_memory": True})
    moment = datetime(DRAWN.year, DRAWN.month, DRAWN.day, 8, 15)
    book.set_properties({"title": TITLE, "created": moment})
    bold = book.add_format({"bold": True, "text_wrap": True, "valign": "top"})
    group = book.add_format({"bold": True, "bottom": 1})
    styles: dict[type, Any] = {
        date: book.add_format({"num_format": "dd/mm/yyyy"}),
        datetime: book.add_format({"num_format": "dd/mm/yyyy hh:mm"}),
    }
    sheet = book.add_worksheet(SHEET)
    sheet.set_column(0, len(COLUMNS) - 1, 11)
    sheet.freeze_panes(HEADER_LINES[-1], 1)
    sheet.write_string(0, 0, TITLE, bold)
    write_header(sheet, group, bold)
    places = {f"{name} / {column}": place for place, (name, column) in enumerate(COLUMNS)}
    for row, line in enumerate(lines, HEADER_LINES[-1]):
        for column, cell in line.cells.items():
            write_cell(sheet, row, places[column], cell, styles)
    write_not_yet(book.add_worksheet(NOT_YET), not_yet, bold, styles)
    lists = book.add_worksheet(LISTS)
    for row, texts in enumerate(WAYS_TO_WRITE):
        for place, text in enumerate(texts):
            if text:
                lists.write_string(row, place, text, bold if texts[1] == "What it means" else None)
    book.close()
    return packed_plainly(made)


def write_header(sheet: Any, group: Any, bold: Any) -> None:
    """The group line, each group over all its columns, and the line of the names."""
    upper, lower = (line - 1 for line in HEADER_LINES)
    place = 0
    for name, columns in GROUPS.items():
        if len(columns) > 1:
            sheet.merge_range(upper, place, upper, place + len(columns) - 1, name, group)
        else:
            sheet.write_string(upper, place, name, group)
        for column in columns:
            sheet.write_string(lower, place, column, bold)
            place += 1


def write_not_yet(sheet: Any, lines: Sequence[Line], bold: Any, styles: dict[type, Any]) -> None:
    """The sheet of those not seen: one line of names, and the rows below it."""
    sheet.set_column(0, len(NOT_SEEN_YET) - 1, 14)
    for place, name in enumerate(NOT_SEEN_YET):
        sheet.write_string(0, place, name, bold)
    for row, line in enumerate(lines, 1):
        for column, cell in line.cells.items():
            write_cell(sheet, row, NOT_SEEN_YET.index(column), cell, styles)


def write_cell(sheet: Any, row: int, place: int, cell: Cell, styles: dict[type, Any]) -> None:
    """One cell, as what it is."""
    if isinstance(cell, Formula):
        sheet.write_formula(row, place, cell.formula, None, cell.shown)
    elif isinstance(cell, date):
        sheet.write_datetime(row, place, cell, styles[type(cell)])
    elif isinstance(cell, str):
        sheet.write_string(row, place, cell)
    else:
        sheet.write_number(row, place, cell)


def packed_plainly(made: BytesIO) -> bytes:
    """The same parts, stored and not squeezed: what squeezing gives differs from one zlib to the next."""
    plain = BytesIO()
    with ZipFile(made) as squeezed, ZipFile(plain, "w", ZIP_STORED) as stored:
        for name in squeezed.namelist():
            part = ZipInfo(name)  # dated 1980, as every zip without a date
            part.create_system = 3
            stored.writestr(part, squeezed.read(name))
    return plain.getvalue()


def fault_table(lines: Sequence[Line], not_yet: Sequence[Line]) -> str:
    """The second table of FAULTS.md: sheet by sheet the faults in the order of their first lines, then whole sheets."""
    together: dict[tuple[str, str, str], list[int]] = {}
    for number, becomes in enumerate(ABOVE, 1):
        together.setdefault((SHEET, WHAT_IS_ABOVE[becomes], becomes), []).append(number)
    for sheet, below, first in ((SHEET, lines, len(ABOVE) + 1), (NOT_YET, not_yet, 2)):
        for number, line in enumerate(below, first):
            for wrong, becomes in line.wrong:
                together.setdefault((sheet, wrong, becomes), []).append(number)
    rows = [(sheet, runs(numbers), wrong, becomes) for (sheet, wrong, becomes), numbers in together.items()]
    return HEADING + "".join(f"| {' | '.join(row)} |\n" for row in (*rows, *WHOLE_SHEET))


def runs(numbers: Sequence[int]) -> str:
    """Line numbers, neighbours joined, as in 1-4, 9."""
    runs: list[list[int]] = []
    for number in numbers:
        if runs and number == runs[-1][-1] + 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    return ", ".join(str(run[0]) if len(run) == 1 else f"{run[0]}-{run[-1]}" for run in runs)
