"""An export that has no mapping yet, looked at: its lines of names found, its columns screened, its texts counted.

Comes in: the contents of an export. Goes out: a SeenSheet for each sheet, what looks like identifiers, what could
not be read. Refuses contents of which nothing can be read; an identifier is no reason to refuse here, for the
suggestion says which columns must go.
"""

from __future__ import annotations

from dataclasses import dataclass

from pipeline.errors import Fault, Refused
from pipeline.intake import screen
from pipeline.intake.map.sheet_tables import LAYOUT
from pipeline.intake.read.contents import Contents
from pipeline.intake.read.sheet import Reading, Sheet, marks_said
from pipeline.intake.read.sheet_reader import first_rows, read_sheet
from pipeline.intake.suggest.look.header_lines import header_lines
from pipeline.intake.suggest.look.sheet_seen import SeenSheet, see

FIRST_LINES = 30


@dataclass(frozen=True)
class FirstLook:
    """The sheets as suggesting looks at them; in words, the identifiers in them and what could not be read."""

    sheets: tuple[SeenSheet, ...]
    identifiers: tuple[str, ...]
    not_read: tuple[str, ...]
    marks: str  # colours, hidden rows and the like, in words; "" where there are none


def first_look(contents: Contents, encoding: str | None = None) -> FirstLook:
    """Every sheet of an export. Raises Refused where there is none."""
    sheets, not_read = read_sheets(contents, encoding)
    identifiers = screen.find_identifiers([sheet for _, sheet in sheets], LAYOUT)
    seen = []
    for rows, sheet in sheets:
        of_sheet = [identifier for identifier in identifiers if identifier.sheet == sheet.file]
        words: dict[int, str] = {}
        for identifier in of_sheet:
            at = identifier.position - 1  # the screen counts from 1
            words[at] = "; ".join(filter(None, (words.get(at, ""), identifier.words)))
        # One name that must not be written may mean that the line of names is a record: then none of them is.
        safe = all(identifier.header_is_safe_to_print for identifier in of_sheet)
        seen.append(see(sheet, rows, words, () if safe else range(len(sheet.header))))
    said = tuple(f"{identifier.sheet}, {identifier.header}: {identifier.words}" for identifier in identifiers)
    return FirstLook(tuple(seen), said, tuple(not_read), marks_said(sheet for _, sheet in sheets))


def read_sheets(
    contents: Contents, encoding: str | None = None
) -> tuple[list[tuple[tuple[tuple[str, ...], ...], Sheet]], list[str]]:
    """Each sheet with its first lines, its line of names found; and what could not be read. Raises Refused."""
    not_read = list(contents.not_read)
    sheets = []
    for content in contents.contents:
        try:
            rows = first_rows(content, encoding, FIRST_LINES)
            sheets.append((rows, read_sheet(content, Reading(header_lines(rows) if rows else (), encoding))))
        except Refused as refused:
            not_read.append(f"{content.file}: {refused.faults[0].found}")
    if not sheets:
        why = "; ".join(not_read) or "nothing in it can be read"
        raise Refused(Fault(contents.name, why, "a sheet with a line of column names", "see what is in it"))
    return sheets, not_read
