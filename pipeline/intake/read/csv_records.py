"""The text of one CSV file in, a Sheet out: its physical lines grouped into records, every line accounted for.

A quoted field may run over lines (RFC 4180) and those lines share one fate; a quote still open after 50 lines or at
the end of the file is damage: its first line is set aside and reading goes on with the next. So is a record with
another number of fields than the header. Refuses: a file without a header, or with one that cannot be read.

DuckDB's own CSV parser is not used: it numbers no lines, drops blank ones, and lets one open quote swallow the rest
of a file. Unquoted lines are slices of the file's own bytes, split by Arrow; only lines with a quote are parsed here.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

import numpy as np
import numpy.typing as npt
import pyarrow as pa
import pyarrow.compute as pc

from pipeline.errors import Fault, Refused
from pipeline.intake.read import column_names
from pipeline.intake.read.encodings import Text
from pipeline.intake.read.sheet import FIELDS, RECORDS, Damage, Reading, Sheet

LONGEST_FIELD = 50  # lines over which a quote may stay open
DELIMITERS = {",": "commas", ";": "semicolons", "\t": "tabs", "|": "vertical bars"}
# All of a quoted field up to a quote that is not doubled. Nothing is given back (*+), or a doubled one would be torn.
_QUOTED = re.compile(r'"([^"]*+(?:""[^"]*+)*+)"')
_NAMES_DELIMITER = re.compile(r'"?sep=([^"\r\n])"?[\r\n]*', re.IGNORECASE)  # what spreadsheets write in line 1
_CHUNK = 1 << 28  # bytes split at a time: Arrow counts the bytes of one array of strings in 31 bits
_Record = tuple[int, int, list[str]]  # first line, last line, fields


def read_csv(text: Text, file: str, name: str, sha256: str, reading: Reading) -> Sheet:
    """One CSV file as a Sheet. Raises Refused where it has no header that can be read."""
    count = len(text.starts)
    column_names.check_lines(reading.header, count, file)
    sep = _NAMES_DELIMITER.fullmatch(text.line(1))
    wanted = reading.header or _first_line(text, 2 if sep else 1, file)
    given = sep[1] if sep and reading.delimiter is None else reading.delimiter
    delimiter = _delimiter(text, wanted[-1], given, file)
    header, end = _header(text, wanted, delimiter, file)
    blank_lines = sum(not text.line(line).strip() for line in range(1, wanted[-1]) if line not in text.unreadable)
    header_lines = end - blank_lines

    records, taken, damaged = _records_with_quotes(text, delimiter, end)
    damaged += [Damage(line, line, *why) for line, why in text.unreadable.items() if line > end and line not in taken]
    free = np.ones(count, dtype=bool)
    free[:end] = False
    free[[line - 1 for line in [*taken, *text.unreadable]]] = False
    tables = []
    for blank, chunk in _in_order(text, free, delimiter, records):
        blank_lines += blank
        wide = pc.equal(pc.list_value_length(chunk["fields"]), len(header))
        damaged += _of_other_width(chunk.filter(pc.invert(wide)), len(header))
        tables.append(chunk.filter(wide))
    divided_by = () if delimiter == "," else (f"columns are divided by {DELIMITERS.get(delimiter, repr(delimiter))}",)
    return Sheet(
        file=file,
        name=name,
        sha256=sha256,
        header=header,
        physical_lines=text.physical_lines,
        header_lines=header_lines,
        blank_lines=blank_lines,
        records=pa.concat_tables([RECORDS.empty_table(), *tables]),
        damaged=tuple(sorted(damaged, key=lambda damage: damage.line)),
        said=text.said + divided_by,
    )


def first_rows(text: Text, count: int) -> tuple[tuple[str, ...], ...]:
    """The first lines, split by the delimiter that splits one of them into the most fields, for looking at."""
    lines = range(1, min(count, len(text.starts)) + 1)
    sep = _NAMES_DELIMITER.fullmatch(text.line(1)) if lines else None
    if sep:
        return ((), *(_split(text, line, sep[1]) for line in lines[1:]))
    return max((tuple(_split(text, line, delimiter) for line in lines) for delimiter in DELIMITERS), key=_widest)


def _split(text: Text, line: int, delimiter: str) -> tuple[str, ...]:
    try:
        return tuple(_read_record(text, line, delimiter, set())[0])
    except _BadQuote:
        return ()


def _widest(rows: tuple[tuple[str, ...], ...]) -> int:
    return max(map(len, rows), default=0)


def _first_line(text: Text, start: int, where: str) -> tuple[int, ...]:
    for line in range(start, len(text.starts) + 1):
        if line in text.unreadable or text.line(line).strip():
            return (line,)
    raise Refused(Fault(where, "it holds no header", column_names.ALLOWED, "export it again"))


def _delimiter(text: Text, line: int, given: str | None, where: str) -> str:
    """The one that was given, else the one that splits the names into the most fields; a comma where that is even."""
    given = "\t" if given == "\\t" else given
    if given is not None:
        if len(given) != 1 or given in '"\r\n':
            mend = "correct the delimiter, or leave it out to have it found out"
            raise Refused(Fault(where, "the delimiter cannot be used", "one character, or \\t for a tab", mend))
        return given
    fields = {delimiter: len(_split(text, line, delimiter)) for delimiter in DELIMITERS}
    most = max(fields, key=lambda delimiter: fields[delimiter])
    return most if fields[most] > 1 else ","  # one field is no sign of a delimiter, nor is a quote that leads nowhere


def _header(text: Text, wanted: tuple[int, ...], delimiter: str, where: str) -> tuple[tuple[str, ...], int]:
    """The names, and the last line they take up."""
    rows, end = [], 0
    for line in wanted:
        mend = "export it again as “CSV UTF-8”, or say in the mapping file which line holds the names"
        unreadable = Refused(Fault(f"{where}, line {line}", "the header cannot be read", column_names.ALLOWED, mend))
        try:
            fields, last = _read_record(text, line, delimiter, set())
        except _BadQuote:
            # Its line is never taken for a row, nor the next for the header: an error would print it.
            raise unreadable from None
        if line <= end or any(number in text.unreadable for number in range(line, last + 1)):
            raise unreadable
        rows.append(fields)
        end = last
    return column_names.names(rows, where), end


def _records_with_quotes(text: Text, delimiter: str, end: int) -> tuple[list[_Record], set[int], list[Damage]]:
    """Records below the header that hold a quote, the lines they take up, and the lines whose quote leads nowhere."""
    quotes = np.flatnonzero(np.frombuffer(text.body, dtype=np.uint8) == ord('"'))
    records: list[_Record] = []
    taken: set[int] = set()
    damaged: list[Damage] = []
    nowhere: set[tuple[int, int]] = set()
    for line in np.unique(np.searchsorted(text.stops, quotes, side="right") + 1).tolist():
        if line in taken or line <= end:
            continue
        try:
            fields, last_line = _read_record(text, line, delimiter, nowhere)
            inside = [text.unreadable[at] for at in range(line, last_line + 1) if at in text.unreadable]
            if inside:
                damaged.append(Damage(line, last_line, *inside[0]))
            else:
                records.append((line, last_line, fields))
        except _BadQuote as bad:
            last_line = bad.last_line
            allowed = f"a quote opened at the start of a field is closed at its end, within {LONGEST_FIELD} lines"
            damaged.append(Damage(line, last_line, str(bad), allowed))
        taken.update(range(line, last_line + 1))
    return records, taken, damaged


class _BadQuote(Exception):
    """A quote that leads nowhere, and the last line that shares its fate."""

    def __init__(self, words: str, last_line: int) -> None:
        super().__init__(words)
        self.last_line = last_line


def _read_record(text: Text, first: int, delimiter: str, nowhere: set[tuple[int, int]]) -> tuple[list[str], int]:
    """The fields of the record that begins on that line, and its last line (RFC 4180).

    The csv module would do, but it cannot say for how many lines each quote has been open. `nowhere` keeps the places
    from which a quote is known not to be closed in time, so that a long chain of them is not walked again from every
    line it passes: what follows an opened quote does not depend on what stands before it.
    """
    unquoted = re.compile(f"[^{re.escape(delimiter)}\r\n]*")
    written, last, at = text.line(first), first, 0
    fields: list[str] = []
    opened_at: list[tuple[int, int]] = []
    while True:
        if written.startswith('"', at):
            opened = last
            opened_at.append((last, len(written) - at))
            while not (field := _QUOTED.match(written, at)):
                known = opened_at[-1] in nowhere
                if known or last - opened + 1 == LONGEST_FIELD or last == len(text.starts):
                    nowhere.update(opened_at)
                    raise _BadQuote("a quote is not closed", first)
                last += 1
                written, at = written[at:] + text.line(last), 0  # what is read is dropped, or a chain costs its square
            fields.append(field[1].replace('""', '"'))
        else:
            field = unquoted.match(written, at)
            assert field is not None
            fields.append(field[0])
        at = field.end()
        if written.startswith(delimiter, at):
            at += 1
        elif not written[at:].strip("\r\n"):
            return fields, last
        else:
            raise _BadQuote("text after a closing quote", last)


def _in_order(
    text: Text, free: npt.NDArray[np.bool_], delimiter: str, quoted: list[_Record]
) -> Iterator[tuple[int, pa.Table]]:
    """Blank lines and records, a stretch of the file at a time. Free are the lines no quoted record takes up."""
    bounds = np.concatenate([text.starts[:1], text.stops]).astype(np.int64)
    every = pa.LargeStringArray.from_buffers(len(free), pa.py_buffer(bounds.tobytes()), pa.py_buffer(text.body))
    start, done = 0, 0
    while start < len(free):
        stop = max(start + 1, int(np.searchsorted(bounds, bounds[start] + _CHUNK, side="right")) - 1)
        free_here = free[start:stop]
        lines = pa.array(np.flatnonzero(free_here) + start + 1, pa.int64())
        unended = pc.ascii_rtrim(every.slice(start, stop - start).filter(pa.array(free_here)).cast(pa.string()), "\r\n")
        blank = pc.equal(pc.utf8_trim_whitespace(unended), "")
        lines, unended = lines.filter(pc.invert(blank)), unended.filter(pc.invert(blank))
        fields = pc.split_pattern(unended, delimiter).cast(FIELDS)
        plain = pa.table([lines, lines, fields], schema=RECORDS)
        here = done
        while done < len(quoted) and quoted[done][0] <= stop:
            done += 1
        if done > here:
            plain = pa.concat_tables(
                [plain, pa.table([*zip(*quoted[here:done], strict=True)], schema=RECORDS)]
            ).sort_by("line")
        yield pc.sum(blank).as_py() or 0, plain
        start = stop


def _of_other_width(records: pa.Table, width: int) -> Iterator[Damage]:
    widths = pc.list_value_length(records["fields"]).to_pylist()
    for line, last_line, fields in zip(
        records["line"].to_pylist(), records["last_line"].to_pylist(), widths, strict=True
    ):
        yield Damage(line, last_line, _fields(fields), f"{_fields(width)}, as many as the header")


def _fields(count: int) -> str:
    return "1 field" if count == 1 else f"{count} fields"
