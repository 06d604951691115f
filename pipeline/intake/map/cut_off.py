"""The cut-off of an export: the day it was drawn, after which nothing is known.

Comes in: the Data Package descriptor's bytes, the day from the command line, the mapping, which sheet gives which
rows. Goes out: a date.
Refuses: none at all, naming the latest date in the export as a hint; two that differ; a descriptor it cannot read.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from datetime import date

from pipeline.contracts.layout import DATE
from pipeline.errors import Fault, Refused
from pipeline.intake.map.mapping import Mapping
from pipeline.intake.map.sheet_tables import SheetTable
from pipeline.intake.map.translation import translate
from pipeline.intake.read.distinct_texts import distinct_texts


def find_cut_off(
    name: str, descriptor: bytes | None, given: date | None, mapping: Mapping, given_rows: Sequence[SheetTable]
) -> date:
    """The date part of the descriptor's `created` as written, else the one given; several must agree."""
    said = {
        "datapackage.json says created": _created(descriptor),
        "--extracted-on says": given,
        f"the mapping {mapping.name} says cut_off =": mapping.cut_off,
    }
    days = {words: day for words, day in said.items() if day is not None}
    if len(set(days.values())) > 1:
        differ = ", ".join(f"{words} {day}" for words, day in days.items())
        mend = "leave out the wrong one, or correct it"
        raise Refused(Fault(name, differ, "one cut-off, the day the export was drawn", mend))
    if days:
        return next(iter(days.values()))
    latest = _latest_date(given_rows)
    hint = f"; the latest date in it is {latest}" if latest else ""
    mend = "say the day the export was drawn, after which nothing is known: --extracted-on YYYY-MM-DD" + hint
    missing = "no cut-off: no datapackage.json with a created date, none in a mapping, and no --extracted-on"
    raise Refused(Fault(name, missing, "the day the export was drawn", mend))


def _created(descriptor: bytes | None) -> date | None:
    if descriptor is None:
        return None
    try:
        written = json.loads(descriptor.decode("utf-8-sig")).get("created")
        return date.fromisoformat(written[:10]) if written else None
    except (ValueError, AttributeError, TypeError, RecursionError) as error:
        allowed = 'JSON with "created": "2026-10-12" or "created": "2026-10-12T07:30:00Z"'
        mend = "correct it, or take the file out and use --extracted-on"
        found = f"created cannot be read ({type(error).__name__})"
        raise Refused(Fault("datapackage.json", found, allowed, mend)) from error


def _latest_date(given_rows: Sequence[SheetTable]) -> date | None:
    """A hint for the reader; nothing rests on it."""
    latest = None
    for sheet_table in given_rows:
        for name, origin in sheet_table.rows.columns.items():
            column = sheet_table.table.column(name)
            if column.kind != DATE or origin.column is None:
                continue
            texts = distinct_texts(sheet_table.sheet, sheet_table.sheet.header.index(origin.column))
            for text in translate(origin, column, texts).texts.values():
                try:
                    day = date.fromisoformat(text) if len(text) == 10 else None
                except ValueError:
                    continue
                if day is not None and (latest is None or day > latest):
                    latest = day
    return latest
