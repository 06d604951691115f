"""One sheet's content in, a Sheet out, whatever shape it has: text with columns, a worksheet, Parquet.

Every physical line of it is a header line, a blank one, one of a record or a damaged one. Refuses: a sheet without
column names or with names that cannot be read. Prints nothing that is written in the sheet.
"""

from __future__ import annotations

from pipeline.intake.read import csv_records, file_kinds, workbook
from pipeline.intake.read.contents import Content
from pipeline.intake.read.encodings import to_text
from pipeline.intake.read.parquet import read_parquet
from pipeline.intake.read.sheet import Reading, Sheet

_AS_IT_IS = Reading()


def read_sheet(content: Content, reading: Reading = _AS_IT_IS) -> Sheet:
    """Read one sheet whole; encoding and delimiter are about text only. Raises Refused."""
    if content.worksheet is not None:
        return workbook.read_worksheet(content.worksheet, content.file, content.sha256, reading)
    if content.kind == file_kinds.PARQUET:
        return read_parquet(content.body, content.file, content.name, content.sha256, reading)
    text = to_text(content.body, reading.encoding, content.file)
    return csv_records.read_csv(text, content.file, content.name, content.sha256, reading)


def first_rows(content: Content, encoding: str | None, count: int) -> tuple[tuple[str, ...], ...]:
    """The first lines as they are, blank ones too, before it is known which of them holds the names. Raises Refused."""
    if content.worksheet is not None:
        return workbook.first_rows(content.worksheet, content.file, count)
    if content.kind == file_kinds.PARQUET:
        return (read_sheet(content).header,)
    return csv_records.first_rows(to_text(content.body, encoding, content.file), count)
