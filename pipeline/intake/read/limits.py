"""How much of an export is read, in one place: what is larger is refused in words, before the work that it would cost.

Comes in: a number of files, their bytes, a text, a number of columns. Goes out: nothing, or Refused. No service comes
near these limits; a damaged file, or one that is no export, does, and would take all memory there is.
"""

from __future__ import annotations

from pipeline.errors import Fault, Refused

MOST_FILES = 1_000  # of an export, that are read
MOST_BYTES = 500_000_000  # of the files of an export together, and of what a zip or a workbook unpacks to
MOST_MEMBERS = 10_000  # of a zip or a workbook
LONGEST_LINE = 1_000_000  # bytes of a line of text, so of a field too; of a value of Parquet
MOST_COLUMNS = 16_384  # as a spreadsheet has
MOST_CELLS = 20_000_000  # of a worksheet
MOST_VALUES = 100_000_000  # of a Parquet file

_SMALLER = "export a shorter period, or see whether it is an export at all"


def check_files(count: int, size: int, where: str, *, most: int = MOST_FILES, most_bytes: int = MOST_BYTES) -> None:
    """Refuse more files, or more bytes in all of them, than are read."""
    faults = []
    if count > most:
        mend = "give only the files of this export, or one file for each table"
        faults.append(Fault(where, f"{count:,} files", f"at most {most:,} files", mend))
    if size > most_bytes:
        faults.append(Fault(where, f"{size:,} bytes", f"at most {most_bytes:,} bytes in all", _SMALLER))
    if faults:
        raise Refused(faults)


def check_lines(body: bytes, where: str, *, longest: int = LONGEST_LINE) -> None:
    """Refuse a text with a line that is too long, before it is made into text.

    It goes from the last line end of each stretch to the next stretch, so a stretch without one is a line too long.
    """
    start = 0
    while len(body) - start > longest:
        stretch = start + longest + 1
        end = max(body.rfind(b"\n", start, stretch), body.rfind(b"\r", start, stretch))
        if end < 0:
            line = body.count(b"\n", 0, start) + body.count(b"\r", 0, start) - body.count(b"\r\n", 0, start) + 1
            ends = [at for at in (body.find(b"\n", start), body.find(b"\r", start)) if at >= 0]
            found = f"a line of {min(ends, default=len(body)) - start:,} bytes"
            mend = "look at that line: a field runs on, or the line ends were lost; export it again"
            raise Refused(Fault(f"{where}, line {line}", found, f"lines of up to {longest:,} bytes", mend))
        start = end + 1


def check_columns(count: int, where: str, *, most: int = MOST_COLUMNS) -> None:
    """Refuse a sheet with more columns than a spreadsheet has."""
    if count > most:
        mend = "see whether rows and columns are turned, or the line ends were lost; export it again"
        raise Refused(Fault(where, f"{count:,} columns", f"at most {most:,} columns", mend))
