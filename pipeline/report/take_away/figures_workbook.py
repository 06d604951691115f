"""figures.xlsx: the figures of a service edition as a workbook, for slides and papers of one's own.

Comes in: the edition's content and where to write. Goes out: the workbook, the same bytes for the same content: a sheet
that says what it is, then one sheet a section of the page. Refuses: a formula, a link, a case reference.
"""

from __future__ import annotations

import io
from collections.abc import Iterator, Sequence
from pathlib import Path

from xlsxwriter import Workbook
from xlsxwriter.format import Format

from pipeline.contracts import places
from pipeline.report.content.edition import EditionContent
from pipeline.report.take_away.columns import COUNT, NUMBER, POINTS, SHARE, TEXT, Cell, Column, Sheet
from pipeline.report.take_away.figure_sheets import sheets
from pipeline.report.words import labels
from pipeline.report.words.dates import both_names, day_label
from pipeline.store.workbook_cells import HEADER, TITLE, WRAPPED, finish, lay_out, new_book, write_line

FIRST_SHEET = "Read this first"
STAYS = "Stays inside the service: numbers are small, and some could point to a family."
_PRECISE = "precise share"  # one that would read 0% or 100% and is neither
_NUMBERS = {COUNT: "#,##0", SHARE: "0%", _PRECISE: "0.0%", NUMBER: "0.#", POINTS: "+0.0;-0.0;0.0"}
_FIRST_WIDTHS = (30, 110)


def write_figures(content: EditionContent, path: Path) -> Path:
    """Write the workbook of one edition."""
    made = io.BytesIO()
    book = new_book(made, f"{content.settings.service}: the figures")
    words = {TEXT: book.add_format(WRAPPED)}
    looks = words | {form: book.add_format({"num_format": shown, "valign": "top"}) for form, shown in _NUMBERS.items()}
    every = sheets(content, labels.read(places.REPORTS / "wording.toml"))
    title, header = book.add_format(TITLE), book.add_format(HEADER)
    _write_first_sheet(book, content, every, title, header, looks[TEXT])
    for sheet in every:
        _write_sheet(book, sheet, header, looks, day_label(content.provenance.cut_off))
    return finish(book, made, path)


def _write_sheet(book: Workbook, sheet: Sheet, header: Format, looks: dict[str, Format], cut_off: str) -> None:
    written = book.add_worksheet(sheet.name)
    write_line(written, 0, [column.head for column in sheet.columns], header)
    for at, row in enumerate(sheet.rows, 1):
        look = [looks[_form(column, cell)] for column, cell in zip(sheet.columns, row, strict=True)]
        write_line(written, at, row, look)
    written.freeze_panes(1, sheet.frozen)
    written.autofilter(0, 0, len(sheet.rows), len(sheet.columns) - 1)
    written.repeat_rows(0)
    lay_out(written, [column.width for column in sheet.columns])
    written.set_footer(f"&L&A, data up to {cut_off}&CStays inside the service&Rpage &P of &N")


def _form(column: Column, cell: Cell) -> str:
    """A small share is never shown as none, nor nearly all as all."""
    near = isinstance(cell, int | float) and (0 < cell < 0.005 or 0.995 <= cell < 1)
    return _PRECISE if column.form == SHARE and near else column.form


def _write_first_sheet(
    book: Workbook, content: EditionContent, every: Sequence[Sheet], title: Format, header: Format, cell: Format
) -> None:
    sheet = book.add_worksheet(FIRST_SHEET)
    write_line(sheet, 0, (f"{content.settings.service}: the figures",), title)
    at = 1
    for heads, lines in (
        (("What this is", ""), tuple(_about(content))),
        (("Sheet", "What it holds"), tuple((one.name, one.what) for one in every)),
        (("Column", "What it means"), tuple(_meanings(every))),
    ):
        at += 1
        write_line(sheet, at, heads, header)
        for line in lines:
            at += 1
            write_line(sheet, at, line, cell)
        at += 1
    lay_out(sheet, _FIRST_WIDTHS)
    sheet.activate()


def _about(content: EditionContent) -> Iterator[tuple[str, str]]:
    yield "Period", both_names(content.period, content.settings.year_starts)
    yield "Data up to", f"{day_label(content.provenance.cut_off)}. Nothing after that day is in here."
    yield "For whom", STAYS
    yield "Beside", "service.html, which says how each figure is worked out; these are its figures and no others"
    yield "Made by", f"feeding-audit {content.provenance.version}; nothing reads this workbook back"
    yield "Shares", "are kept unrounded and shown as whole per cents; a blank cell is a figure that there is not"
    yield "Read with care", "small numbers vary by chance; take the counts and the not known along with every share"


def _meanings(every: Sequence[Sheet]) -> Iterator[tuple[str, str]]:
    """Each column that does not say it itself, once."""
    yield from dict.fromkeys((one.head, one.meaning) for sheet in every for one in sheet.columns if one.meaning)
