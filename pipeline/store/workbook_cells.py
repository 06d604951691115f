"""Workbooks that a person opens: the same bytes for the same cells, and no cell that a spreadsheet would run.

Comes in: texts and numbers, and how they look. Goes out: a book in memory, its cells written. Refuses to write a
formula or a link, a character that a spreadsheet cannot hold, or to leave a cell out without a word.
"""

from __future__ import annotations

import io
import re
from collections.abc import Iterable, Sequence
from datetime import datetime
from pathlib import Path

from xlsxwriter import Workbook
from xlsxwriter.format import Format
from xlsxwriter.worksheet import Worksheet

from pipeline.errors import Fault, Refused
from pipeline.plain_text import without_unseen_signs
from pipeline.store.csv_files import FORMULA_STARTS
from pipeline.store.whole_files import write_whole

LONGEST = 32_767  # what a cell holds, counted in UTF-16 units as spreadsheets do
WRAPPED = {"text_wrap": True, "valign": "top"}
HEADER = {**WRAPPED, "bold": True, "bg_color": "#E8E8E8", "bottom": 1}
TITLE = {"bold": True, "font_size": 14}
_MADE = datetime(2000, 1, 1)  # a file of this kind must have a date; a true one would make the bytes differ
# A cell writes a character as _x0041_. XlsxWriter shields such a text, but not the second of two that share a mark.
_SHARED_MARK = re.compile("(_x[0-9A-Fa-f]{4})_(?=x[0-9A-Fa-f]{4}_)")


def new_book(made: io.BytesIO, title: str) -> Workbook:
    """A book that is written when it is closed."""
    nothing_clever = {"strings_to_formulas": False, "strings_to_urls": False, "strings_to_numbers": False}
    book = Workbook(made, {"in_memory": True, **nothing_clever})
    book.set_properties({"title": title, "created": _MADE})
    return book


def finish(book: Workbook, made: io.BytesIO, path: Path) -> Path:
    """Close the book and write it, whole or not at all."""
    book.close()
    try:
        return write_whole(path, made.getvalue())
    except OSError as error:
        mend = "close the workbook if it is open, see that you may write into its folder, and try again"
        found = f"the workbook cannot be written: {error.strerror}"
        raise Refused(Fault(str(path), found, "a file that no other program holds open", mend)) from error


def write_line(
    sheet: Worksheet, at: int, cells: Sequence[str | float | None], looks: Format | Iterable[Format]
) -> None:
    """One line of cells, all of one look or each of its own; None is an empty cell."""
    each_look = [looks] * len(cells) if isinstance(looks, Format) else looks
    for column, (cell, look) in enumerate(zip(cells, each_look, strict=True)):
        if cell is None:
            answer = sheet.write_blank(at, column, None, look)
        elif isinstance(cell, str):
            answer = sheet.write_string(at, column, safe(cell), look)
        else:
            answer = sheet.write_number(at, column, cell, look)
        if answer != 0:  # XlsxWriter only warns of what it did not write
            raise RuntimeError(f"a cell of the workbook was not written: {answer}")


def lay_out(sheet: Worksheet, widths: Sequence[int]) -> None:
    """The columns' widths, and how the sheet is printed: A4 landscape, as wide as one page."""
    for column, width in enumerate(widths):
        sheet.set_column(column, column, width)
    sheet.set_landscape()
    sheet.set_paper(9)  # A4
    sheet.fit_to_pages(1, 0)
    sheet.set_footer("&L&A&Rpage &P of &N")


def safe(text: str) -> str:
    """A text that no spreadsheet runs, refuses or reads as another."""
    guarded = "'" + text if text.startswith(FORMULA_STARTS) else text
    visible = _SHARED_MARK.sub("\\1\uff3f", without_unseen_signs(guarded))
    if _units(visible) <= LONGEST:
        return visible
    mark = f" … (cut here; {len(text):,} characters)"
    # A pair of units must not be parted; a half that is left over is dropped.
    kept = visible.encode("utf-16-le")[: 2 * (LONGEST - _units(mark))].decode("utf-16-le", errors="ignore")
    return kept + mark


def _units(text: str) -> int:
    return len(text.encode("utf-16-le")) // 2
