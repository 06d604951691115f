"""One CSV file in, its physical lines grouped into records out; every line accounted for.

A line ends at LF, CRLF or CR, mixed as they come. A quoted field may run over lines (RFC 4180) and those lines share
one fate; a quote still open after 50 lines, at the end of the file, or closed in the middle of a field is damage:
its first line is set aside and reading goes on with the next. Refuses: UTF-16, a file that is not text.

DuckDB's own CSV parser is not used: it numbers no lines, drops blank ones, and lets one open quote swallow the rest
of a file. The text of unquoted lines is handed over without a copy; only lines that hold a quote are parsed here.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import numpy.typing as npt
import pyarrow as pa
import pyarrow.compute as pc

from pipeline.errors import Fault, Refused

LONGEST_RECORD = 50  # lines a quoted field may keep a record open
_BOM = b"\xef\xbb\xbf"


@dataclass(frozen=True)
class Damage:
    """A line that cannot be read as a row."""

    line: int
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
    damaged = _unreadable_lines(content, starts, stops)
    lines = _Lines(content, starts, stops, frozenset(damage.line for damage in damaged))

    records, consumed, open_quotes = _records_with_quotes(lines)
    damaged += open_quotes
    plain = _plain_records(lines, consumed | {damage.line for damage in damaged})
    blank = pc.equal(pc.utf8_trim_whitespace(plain["text"]), "")
    blank_lines = pc.sum(blank).as_py() or 0
    plain = plain.filter(pc.invert(blank))

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
    unreadable: frozenset[int]

    def following(self, line: int) -> Iterator[str]:
        """The texts from that line on, up to the longest record or the first unreadable line."""
        for number in range(line, min(line + LONGEST_RECORD, len(self.starts) + 1)):
            if number in self.unreadable:
                return
            yield self.content[self.starts[number - 1] : self.stops[number - 1]].decode()


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
) -> list[Damage]:
    nul = np.flatnonzero(np.frombuffer(content, dtype=np.uint8) == 0)
    with_nul = {int(line) for line in np.searchsorted(stops, nul, side="right") + 1}
    damaged = [Damage(line, "the line holds a NUL byte", "text without NUL bytes") for line in with_nul]
    try:
        content.decode()
    except UnicodeDecodeError:
        for line, (start, stop) in enumerate(zip(starts, stops, strict=True), start=1):
            try:
                content[start:stop].decode()
            except UnicodeDecodeError as error:
                if line not in with_nul:
                    found = f"bytes that are not UTF-8, from character {error.start + 1} of the line"
                    damaged.append(Damage(line, found, "UTF-8 text"))
    return damaged


def _records_with_quotes(lines: _Lines) -> tuple[list[tuple[int, int, list[str]]], set[int], list[Damage]]:
    """Records that hold a quote, the lines they take up, and the lines whose quote leads nowhere."""
    quotes = np.flatnonzero(np.frombuffer(lines.content, dtype=np.uint8) == ord('"'))
    records: list[tuple[int, int, list[str]]] = []
    consumed: set[int] = set()
    damaged: list[Damage] = []
    for line in np.unique(np.searchsorted(lines.stops, quotes, side="right") + 1).tolist():
        if line in consumed or line in lines.unreadable:
            continue
        reader = csv.reader(lines.following(line), strict=True)
        try:
            fields = next(reader)
        except csv.Error as error:
            closed = "expected after" in str(error)
            found = "text after a closing quote" if closed else f"a quote is not closed in time ({error})"
            allowed = f"a quote opened at the start of a field is closed at its end, within {LONGEST_RECORD} lines"
            damaged.append(Damage(line, found, allowed))
        else:
            records.append((line, line + reader.line_num - 1, fields))
            consumed.update(range(line, line + reader.line_num))
    return records, consumed, damaged


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
