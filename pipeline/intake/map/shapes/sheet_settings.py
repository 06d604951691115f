"""How a sheet is read: what stands under [sheets."..."] of a mapping file in, a Reading out.

Refuses: lines of names that cannot be, an encoding or a mark that is none, a list of texts that is none.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from pipeline.intake.map.mapping import Place
from pipeline.intake.map.mapping_text import Written, is_text, shown, single_spaced
from pipeline.intake.map.shapes.number_settings import MARKS, read_marks
from pipeline.intake.read.sheet import Reading, Shape

_ENCODING = 'the name of an encoding, such as "utf-8" or "windows-1252"'
_READING = ("header", "encoding", "delimiter")
_LISTS = {
    "fill_down": 'names of columns, such as ["Ref"]',
    "left_out_lines": 'what stands first on such a line, such as ["Total", "Subtotal *"]',
    "ends_before": 'what stands first on the line behind the last row, such as "Summary"',
}


def read_settings(file: Written, sheet: str, content: Any) -> Reading:
    """How a sheet is read; faults are noted."""
    place = ("sheets", sheet)
    settings = dict(file.table(place, content))
    file.know(place, settings, (*_READING, *_LISTS, *MARKS), "a sheet")
    header = settings.get("header")
    if header is not None and not _is_header(header):
        allowed = "the number of the line with the column names, such as 3, or two that follow each other: [2, 3]"
        file.fault((*place, "header"), f"header = {shown(header)}", allowed, "count the lines from 1")
    encoding, delimiter = settings.get("encoding"), settings.get("delimiter")
    if encoding is not None and not _is_encoding(encoding):
        found = f"encoding = {shown(encoding)}"
        file.fault((*place, "encoding"), found, _ENCODING, "correct it, or leave it out to have it found out")
    if delimiter is not None and not (isinstance(delimiter, str) and len(delimiter) == 1 and delimiter not in '"\r\n'):
        allowed = 'one character, such as ";" or "\\t", and not the quotation mark'
        found = f"delimiter = {shown(delimiter)}"
        file.fault((*place, "delimiter"), found, allowed, "correct it, or leave it out to have it found out")
    lines = () if header is None else tuple(header) if isinstance(header, list) else (header,)
    lists: dict[str, Any] = {
        key: _texts(file, (*place, key), settings[key], _LISTS[key]) for key in _LISTS if key in settings
    }
    marks = read_marks(file, place, sheet, settings)
    return Reading(lines, encoding, delimiter, replace(replace(Shape(), **lists), **marks))


def _texts(file: Written, place: Place, written: Any, allowed: str) -> tuple[str, ...]:
    texts = written if isinstance(written, list) else [written]
    if texts and all(map(is_text, texts)):
        return tuple(dict.fromkeys(map(single_spaced, texts)))
    file.fault(place, f"{place[-1]} = {shown(written)}", allowed, "correct it, or leave it out")
    return ()


def _is_header(written: Any) -> bool:
    lines = written if isinstance(written, list) else [written]
    if not all(type(line) is int and line >= 1 for line in lines):
        return False
    return not isinstance(written, list) or (len(lines) == 2 and lines[1] == lines[0] + 1)


def _is_encoding(name: Any) -> bool:
    if not isinstance(name, str):
        return False
    try:
        "a".encode(name)  # codecs.lookup also knows base64 and the like, which are no encodings of text
    except (LookupError, ValueError):
        return False
    return True
