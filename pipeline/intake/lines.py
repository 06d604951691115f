"""One CSV file in, its physical lines grouped into records out; every line accounted for.

A line ends at LF, CRLF or CR, mixed as they come. A quoted field may run over lines (RFC 4180) and those lines share
one fate; a quote still open after 50 lines or at the end of the file is damage: its first line is set aside and reading
goes on with the next. Refuses: UTF-16, a file that is not text.

DuckDB's own CSV parser is not used: it numbers no lines, drops blank ones, and lets one open quote swallow the rest
of a file. The text of unquoted lines is handed over without a copy; only lines that hold a quote are parsed here.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import numpy.typing as npt
import pyarrow as pa
import pyarrow.compute as pc

from pipeline.errors import Fault, Refused

LONGEST_FIELD = 50  # lines over which a quote may stay open
_QUOTED = re.compile(r'"((?:[^"]|"")*)"(?!")')  # not followed by a quote, or a doubled one would be torn apart
_UNQUOTED = re.compile(r"[^,\r\n]*")
_BOM = b"\xef\xbb\xbf"


@dataclass(frozen=True)
class Damage:
    """A line, or the lines a quoted field runs over, that cannot be read as a row."""

    line: int
    last_line: int
    found: str
    allowed: str


@dataclass(frozen=True)
class CsvFile:
    """The records of one file. `line` is the first physical line of a record, `last_line` its last, counted from 1."""

    header: tuple[str, ...]
    physical_lines: int  # counted on the bytes, apart from the grouping below
    header_lines: int
    blank_lines: int
    plain: pa.Table  # line, last_line, text: records without a quote, not yet split
    quoted: pa.Table  # line, last_line, fields: records with one, split
    damaged: tuple[Damage, ...]


def read_csv(path: Path) -> CsvFile:
    """Read one file whole. Raises Refused where the file as a whole is not readable text."""
    content = path.read_bytes().removeprefix(_BOM)
    starts, stops = _line_bounds(content)
    _refuse_other_encodings(path, content)
    unreadable = _unreadable_lines(content, starts, stops)
    lines = _Lines(content, starts, stops, unreadable)
    records, consumed, damaged = _records_with_quotes(lines)
    damaged += [Damage(line, line, *why) for line, why in unreadable.items() if line not in consumed]
    plain = _plain_records(lines, consumed | set(unreadable))
    blank = pc.equal(pc.utf8_trim_whitespace(plain["text"]), "")
    blank_lines = pc.sum(blank).as_py() or 0
    plain = plain.filter(pc.invert(blank))

    firsts = [*plain["line"][:1].to_pylist(), *(line for line, _, _ in records[:1])]
    if damaged and min(each.line for each in damaged) < min(firsts, default=len(starts) + 1):
        # Never take the first row for the header: an error would print it.
        allowed = "a first line of column names, UTF-8 text"
        raise Refused(Fault(path.name, "the header cannot be read", allowed, "export it again as “CSV UTF-8”"))
    header, header_lines, plain, records = _take_header(path, plain, records)
    return CsvFile(
        header=header,
        physical_lines=_count_lines(content),
        header_lines=header_lines,
        blank_lines=blank_lines,
        plain=plain,
        quoted=pa.table(
            {
                "line": pa.array([line for line, _, _ in records], pa.int64()),
                "last_line": pa.array([last for _, last, _ in records], pa.int64()),
                "fields": pa.array([fields for _, _, fields in records], pa.list_(pa.string())),
            }
        ),
        damaged=tuple(sorted(damaged, key=lambda damage: damage.line)),
    )


@dataclass(frozen=True)
class _Lines:
    content: bytes
    starts: npt.NDArray[np.int64]
    stops: npt.NDArray[np.int64]
    unreadable: dict[int, tuple[str, str]]  # line: what was found, what is allowed

    def text(self, line: int) -> str:
        """A line with its line end; of an unreadable one, what can be read of it."""
        return self.content[self.starts[line - 1] : self.stops[line - 1]].decode(errors="replace")


def _count_lines(content: bytes) -> int:
    """Physical lines, counted without the arrays above: a check on them, not a use of them."""
    ends = len(re.findall(rb"\r\n|\n|\r", content))
    return ends + (1 if content and content[-1:] not in (b"\n", b"\r") else 0)


def _line_bounds(content: bytes) -> tuple[npt.NDArray[np.int64], npt.NDArray[np.int64]]:
    """Where each line starts, and where it stops, its line end included."""
    codes = np.frombuffer(content, dtype=np.uint8)
    feeds = np.flatnonzero(codes == 10)
    returns = np.flatnonzero(codes == 13)
    lone = returns[~np.isin(returns + 1, feeds)]
    stops = np.sort(np.concatenate([feeds, lone])) + 1
    if len(codes) and (not len(stops) or stops[-1] != len(codes)):
        stops = np.append(stops, len(codes))
    return np.concatenate([np.zeros(1, np.int64), stops[:-1]])[: len(stops)], stops


def _refuse_other_encodings(path: Path, content: bytes) -> None:
    if content[:2] in (b"\xff\xfe", b"\xfe\xff") or content[:4000].count(0) > len(content[:4000]) / 4:
        raise Refused(
            Fault(
                path.name,
                "the file is not UTF-8 text (it looks like UTF-16, or no text at all)",
                "CSV in UTF-8, with or without a byte-order mark",
                "save it again as “CSV UTF-8”",
            )
        )


def _unreadable_lines(
    content: bytes, starts: npt.NDArray[np.int64], stops: npt.NDArray[np.int64]
) -> dict[int, tuple[str, str]]:
    """The lines that are not text: what was found in each, and what is allowed."""
    nul = np.flatnonzero(np.frombuffer(content, dtype=np.uint8) == 0)
    lines_with_nul = np.unique(np.searchsorted(stops, nul, side="right") + 1).tolist()
    unreadable = dict.fromkeys(lines_with_nul, ("the line holds a NUL byte", "text without NUL bytes"))
    try:
        content.decode()
    except UnicodeDecodeError:
        for line, (start, stop) in enumerate(zip(starts, stops, strict=True), start=1):
            try:
                content[start:stop].decode()
            except UnicodeDecodeError as error:
                found = f"bytes that are not UTF-8, from byte {error.start + 1} of the line"
                unreadable.setdefault(line, (found, "UTF-8 text"))
    return unreadable


def _records_with_quotes(lines: _Lines) -> tuple[list[tuple[int, int, list[str]]], set[int], list[Damage]]:
    """Records that hold a quote, the lines they take up, and the lines whose quote leads nowhere."""
    quotes = np.flatnonzero(np.frombuffer(lines.content, dtype=np.uint8) == ord('"'))
    records: list[tuple[int, int, list[str]]] = []
    consumed: set[int] = set()
    damaged: list[Damage] = []
    for line in np.unique(np.searchsorted(lines.stops, quotes, side="right") + 1).tolist():
        if line in consumed:
            continue
        try:
            fields, last_line = _read_record(lines, line)
            inside = [lines.unreadable[each] for each in range(line, last_line + 1) if each in lines.unreadable]
            if inside:
                damaged.append(Damage(line, last_line, *inside[0]))
            else:
                records.append((line, last_line, fields))
        except _BadQuote as bad:
            last_line = bad.last_line
            allowed = f"a quote opened at the start of a field is closed at its end, within {LONGEST_FIELD} lines"
            damaged.append(Damage(line, last_line, str(bad), allowed))
        consumed.update(range(line, last_line + 1))
    return records, consumed, damaged


class _BadQuote(Exception):
    """A quote that leads nowhere, and the last line that shares its fate."""

    def __init__(self, found: str, last_line: int) -> None:
        super().__init__(found)
        self.last_line = last_line


def _read_record(lines: _Lines, first: int) -> tuple[list[str], int]:
    """The fields of the record that begins on that line, and its last line (RFC 4180).

    The csv module would do, but it cannot say for how many lines each quote has been open.
    """
    text, last, at = lines.text(first), first, 0
    fields: list[str] = []
    while True:
        if text.startswith('"', at):
            opened = last
            while not (quoted := _QUOTED.match(text, at)):
                if last - opened + 1 == LONGEST_FIELD or last == len(lines.starts):
                    raise _BadQuote("a quote is not closed", first)
                last += 1
                text += lines.text(last)
            fields.append(quoted[1].replace('""', '"'))
            at = quoted.end()
        else:
            unquoted = _UNQUOTED.match(text, at)
            assert unquoted is not None
            fields.append(unquoted[0])
            at = unquoted.end()
        if text.startswith(",", at):
            at += 1
        elif not text[at:].strip("\r\n"):
            return fields, last
        else:
            raise _BadQuote("text after a closing quote", last)


def _plain_records(lines: _Lines, taken: set[int]) -> pa.Table:
    """The lines no other record takes up, as slices of the file's own bytes."""
    count = len(lines.starts)
    bounds = np.concatenate([lines.starts[:1], lines.stops]).astype(np.int64)
    free = np.ones(count, dtype=bool)
    free[[line - 1 for line in taken]] = False
    text = pa.LargeStringArray.from_buffers(count, pa.py_buffer(bounds.tobytes()), pa.py_buffer(lines.content))
    numbers = pa.array(np.flatnonzero(free) + 1)
    return pa.table({"line": numbers, "last_line": numbers, "text": text.filter(pa.array(free))})


def _take_header(
    path: Path, plain: pa.Table, records: list[tuple[int, int, list[str]]]
) -> tuple[tuple[str, ...], int, pa.Table, list[tuple[int, int, list[str]]]]:
    """The first record is the header, wherever it was parsed."""
    first_plain = plain["line"][0].as_py() if plain.num_rows else None
    first_quoted = records[0][0] if records else None
    if first_plain is None and first_quoted is None:
        raise Refused(
            Fault(path.name, "the file holds no header", "a first line with the column names", "export it again")
        )
    if first_quoted is None or (first_plain is not None and first_plain < first_quoted):
        names, height, plain = plain["text"][0].as_py().split(","), 1, plain.slice(1)
    else:
        first, last, names = records[0]
        height, records = last - first + 1, records[1:]
    return tuple(name.strip() for name in names), height, plain, records
