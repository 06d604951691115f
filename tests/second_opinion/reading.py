"""Bytes of one CSV file to records, each with the physical lines it covers.

In: the bytes of a file. Out: `FileRead`: the header, the blank lines, and every other record with its fields or with
the reason it is malformed. Refuses: to mend a line; to read a file whose header is damaged or names a column twice.
The csv module is not used: it neither says which lines a record covers nor gives up on an open quote.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

LONGEST_FIELD = 50  # physical lines a quoted field may cover; still open at the end of the last of them is damage
LINE = re.compile(rb"[^\r\n]*(?:\r\n|\n|\r)|[^\r\n]+\Z")


@dataclass(frozen=True)
class Line:
    """One physical line without its line end, the line end, and whether it can be read at all."""

    body: str
    end: str
    flaw: str


@dataclass(frozen=True)
class Record:
    """Lines first to last (counted from 1, both included); flaw is empty for a well-formed record."""

    first: int
    last: int
    fields: tuple[str, ...]
    flaw: str


@dataclass(frozen=True)
class FileRead:
    lines: int
    header: Record | None
    blank: int
    records: tuple[Record, ...]

    @property
    def names(self) -> list[str]:
        return [] if self.header is None else [name.strip() for name in self.header.fields]


def lines_of(content: bytes) -> list[Line]:
    """Lines end with LF, CRLF or CR; nothing else ends one (no U+2028, no form feed). A first BOM is not content."""
    found = []
    for raw in LINE.findall(content.removeprefix(b"\xef\xbb\xbf")):
        body = raw.rstrip(b"\r\n")
        flaw = "NUL byte" if b"\0" in body else ""
        try:
            decoded = body.decode("utf-8")
        except UnicodeDecodeError:
            decoded, flaw = body.decode("utf-8", "replace"), "not UTF-8"
        found.append(Line(decoded, raw[len(body) :].decode("ascii"), flaw))
    return found


def count_lines(content: bytes) -> int:
    """Physical lines, counted on the bytes alone so that the fates of the lines have something to add up to."""
    content = content.removeprefix(b"\xef\xbb\xbf")
    ends = content.count(b"\n") + content.count(b"\r") - content.count(b"\r\n")
    return ends + (1 if content and content[-1:] not in (b"\n", b"\r") else 0)


def record_at(lines: list[Line], start: int) -> Record:
    """The record that begins on line start (from 0), by RFC 4180; a quote inside an unquoted field is literal."""
    fields: list[str] = []
    value = ""
    where = "start"  # start of a field, plain, quoted, closed (after the closing quote), or text (after that)
    flaw = ""
    opened = number = start
    while True:
        line = lines[number]
        flaw = flaw or line.flaw
        for character in line.body:
            if where == "quoted":
                if character == '"':
                    where = "closed"
                else:
                    value += character
            elif character == ",":
                fields.append(value)
                value, where = "", "start"
            elif where == "start" and character == '"':
                where, opened = "quoted", number
            elif where == "closed" and character == '"':  # a doubled quote: the field was not closed after all
                value, where = value + '"', "quoted"
            else:
                if where == "closed":
                    flaw = flaw or "text after a closing quote"
                    where = "text"
                elif where == "start":
                    where = "plain"
                value += character
        if where != "quoted":
            fields.append(value)
            return Record(start + 1, number + 1, tuple(fields), flaw)
        if number + 1 - opened == LONGEST_FIELD or number + 1 == len(lines):
            return Record(start + 1, start + 1, (), "quote never closed")
        value += line.end
        number += 1


def read_file(content: bytes) -> FileRead:
    """Every line of the file in one place: the first record that is not blank is the header."""
    lines = lines_of(content)
    header: Record | None = None
    blank = 0
    records: list[Record] = []
    number = 0
    while number < len(lines):
        if lines[number].body.strip() == "":
            blank += 1
            number += 1
            continue
        record = record_at(lines, number)
        number = record.last
        if header is None:
            header = sound_header(record)
        elif not record.flaw and len(record.fields) != len(header.fields):
            flaw = f"{len(record.fields)} fields where the header has {len(header.fields)}"
            records.append(Record(record.first, record.last, record.fields, flaw))
        else:
            records.append(record)
    return FileRead(count_lines(content), header, blank, tuple(records))


def sound_header(record: Record) -> Record:
    names = [name.strip() for name in record.fields]
    twice = sorted({name for name in names if name and names.count(name) > 1})
    if record.flaw or twice:
        raise ValueError(f"header on line {record.first}: {record.flaw or 'names twice: ' + ', '.join(twice)}")
    return record
