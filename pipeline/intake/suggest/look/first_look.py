"""An export that has no mapping yet, looked at: its lines of names found, its columns screened, its texts counted.

Comes in: what shapes.py found at a path. Goes out: a SeenSheet for each sheet, what looks like identifiers, what could
not be read. Refuses contents of which nothing can be read; an identifier is no reason to refuse here, for the
suggestion says which columns must go.
"""

from __future__ import annotations

from dataclasses import dataclass

from pipeline.errors import Fault, Refused
from pipeline.intake import screen
from pipeline.intake.map.sheet_tables import LAYOUT
from pipeline.intake.read.contents import Contents
from pipeline.intake.read.sheet import Reading
from pipeline.intake.read.sheet_reader import first_rows, read_sheet
from pipeline.intake.suggest.look.header_lines import header_lines
from pipeline.intake.suggest.look.sheet_seen import SeenSheet, see

FIRST_LINES = 30


@dataclass(frozen=True)
class Looked:
    """The sheets as suggesting looks at them; in words, what was found in them and what could not be read."""

    seen: tuple[SeenSheet, ...]
    identifiers: tuple[str, ...]
    not_read: tuple[str, ...]


def look(contents: Contents, encoding: str | None = None) -> Looked:
    """Every sheet of an export. Raises Refused where there is none."""
    not_read = list(contents.not_read)
    sheets = []
    for content in contents.contents:
        try:
            rows = first_rows(content, encoding, FIRST_LINES)
            sheets.append((rows, read_sheet(content, Reading(header_lines(rows) if rows else (), encoding))))
        except Refused as refused:
            not_read.append(f"{content.file}: {refused.faults[0].found}")
    if not sheets:
        found = "; ".join(not_read) or "nothing in it can be read"
        raise Refused(Fault(contents.name, found, "a sheet with a line of column names", "see what is in it"))
    found_in = screen.find_identifiers([sheet for _, sheet in sheets], LAYOUT)
    seen = []
    for rows, sheet in sheets:
        mine = [each for each in found_in if each.sheet == sheet.file]
        words: dict[int, str] = {}
        for each in mine:
            at = each.position - 1  # the screen counts from 1
            words[at] = "; ".join(filter(None, (words.get(at, ""), each.words)))
        # One name that must not be written may mean that the line of names is a record: then none of them is.
        safe = all(each.header_is_safe_to_print for each in mine)
        unsafe = frozenset() if safe else frozenset(range(len(sheet.header)))
        seen.append(see(sheet, rows, words, unsafe))
    return Looked(
        tuple(seen), tuple(f"{each.sheet}, {each.header}: {each.words}" for each in found_in), tuple(not_read)
    )
