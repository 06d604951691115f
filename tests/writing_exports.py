"""The tables of a drawn export in, the bytes of files out, and in the end the files on the disk.

What has no place in a kind of file (a text too long for a cell) is cut to what has.
"""

from __future__ import annotations

import io
import random
import zipfile
from collections.abc import Callable
from datetime import date
from pathlib import Path

import pyarrow as pa
import pyarrow.parquet as pq
import xlsxwriter

from tests.small_exports import MAPPING, OF_CSV, ONE_CSV, ONE_WORKBOOK, PARQUET, WORKBOOK, ZIP, Drawn

_LONGEST_CELL, _WIDEST_SHEET = 32_767, 16_384


def write_files(chance: random.Random, drawn: Drawn) -> None:
    """The tables as the bytes of files, and the mapping as it reads them."""
    if drawn.shape in OF_CSV:
        drawn.files = {f"{name}.csv": _csv(drawn, name) for name in drawn.tables}
    elif drawn.shape == PARQUET:
        drawn.files = {f"{name}.parquet": _parquet(drawn, name) for name in drawn.tables}
    else:
        drawn.files = {"caseload.xlsx": _workbook(drawn)}
    if drawn.mapping is not None:
        said = {"<encoding>": "", "<delimiter>": ""}
        if drawn.shape == ONE_CSV and chance.random() < 0.3:
            said = {"<encoding>": f'encoding = "{drawn.encoding}"', "<delimiter>": f"delimiter = '{drawn.delimiter}'"}
        text = drawn.mapping
        for mark, words in said.items():
            text = text.replace(mark, words)
        drawn.mappings = {f"{MAPPING}.toml": text.encode()}


def _csv(drawn: Drawn, name: str) -> bytes:
    lines = [*drawn.above[name], *drawn.tables[name]]
    written = (drawn.delimiter.join(_quoted(text, drawn.delimiter) for text in line) + drawn.ends for line in lines)
    return "".join(written).encode(drawn.encoding, "replace")


def _quoted(text: str, delimiter: str) -> str:
    """As RFC 4180 has it; the csv module leaves a line end that is not its own without quotes."""
    return '"' + text.replace('"', '""') + '"' if any(sign in text for sign in (delimiter, *'"\r\n')) else text


def _parquet(drawn: Drawn, name: str) -> bytes:
    names = drawn.above[name][-1] if drawn.above[name] else []
    columns = [[line[place] if place < len(line) else "" for line in drawn.tables[name]] for place in range(len(names))]
    arrays = [_array([_typed(text) if drawn.typed else text for text in column]) for column in columns]
    written = io.BytesIO()
    pq.write_table(pa.Table.from_arrays(arrays, names=names), written)
    return written.getvalue()


def _array(values: list[str | int | date | None]) -> pa.Array:
    try:
        return pa.array(values)
    except (pa.ArrowException, OverflowError):  # mixed kinds, or a whole number that no column of numbers holds
        return pa.array([None if value is None else str(value) for value in values], pa.string())


def _typed(text: str) -> str | int | date | None:
    """The number or the day that a text is; None where there is none."""
    readers: tuple[Callable[[str], int | date], ...] = (_whole, date.fromisoformat, _british)
    for read in readers:
        try:
            return read(text)
        except ValueError:
            continue
    return text or None


def _whole(text: str) -> int:
    if not (text.isascii() and text.isdigit() and len(text) < 9):
        raise ValueError
    return int(text)


def _british(text: str) -> date:
    day, month, year = text.split("/")
    return date(_whole(year), _whole(month), _whole(day))


def _workbook(drawn: Drawn) -> bytes:
    packed = io.BytesIO()
    book = xlsxwriter.Workbook(packed, {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False})
    day = book.add_format({"num_format": "dd/mm/yyyy"})
    for name, lines in drawn.tables.items():
        sheet = book.add_worksheet(name[:31])
        for at, line in enumerate([*drawn.above[name], *lines]):
            for place, text in enumerate(line[:_WIDEST_SHEET]):
                value = _typed(text) if drawn.typed and at >= len(drawn.above[name]) else text
                if isinstance(value, date) and value.year >= 1901:
                    sheet.write_datetime(at, place, value, day)
                elif isinstance(value, int):
                    sheet.write_number(at, place, value)
                elif text:
                    sheet.write_string(at, place, text[:_LONGEST_CELL])
    book.close()
    return packed.getvalue()


def pack(files: dict[str, bytes], packing: int = zipfile.ZIP_DEFLATED) -> bytes:
    """The files as a zip, the same bytes every time."""
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w") as archive:
        for name, body in files.items():
            archive.writestr(zipfile.ZipInfo(name), body, packing)
    return packed.getvalue()


def put_down(drawn: Drawn, folder: Path) -> Path:
    """Write the export to the disk; what to load. A new folder."""
    folder.mkdir()
    if drawn.shape == ZIP:
        path = folder / "export.zip"
        path.write_bytes(drawn.packed)
        return path
    for name, body in drawn.files.items():
        (folder / name).write_bytes(body)
    alone = drawn.shape in (WORKBOOK, ONE_CSV, ONE_WORKBOOK) and len(drawn.files) == 1
    return folder / next(iter(drawn.files)) if alone else folder
