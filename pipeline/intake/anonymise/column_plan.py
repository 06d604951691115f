"""What becomes of each column of a workbook that names people: kept, left out, or replaced.

Comes in: its sheets, and which columns hold the record number, the birth date and the first contact, as was asked.
Goes out: a plan, column by column, for a person to confirm. Refuses: a column that is not there, a record number that
nobody named, dates that can be read in two ways.

What the identifier screen finds in a column leaves it out, unless it is asked to stay. A column that repeats the birth
date goes whatever it is called, on whatever sheet; the day of first contact that was named stays.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from collections.abc import Mapping as Map
from dataclasses import dataclass, field
from datetime import date

from pipeline.errors import Fault, Refused, nearest
from pipeline.intake import screen
from pipeline.intake.anonymise.pseudonyms import letters_and_digits
from pipeline.intake.identify import BIRTH_DATE
from pipeline.intake.map.sheet_tables import LAYOUT
from pipeline.intake.read.distinct_texts import column_texts, distinct_texts
from pipeline.intake.read.sheet import Sheet
from pipeline.intake.suggest.values.date_styles import parsed, styles_of

KEPT, LEFT_OUT, PSEUDONYM, AGE, CODE = "kept", "left out", "becomes case_ref", "becomes age_days", "becomes a code"


@dataclass(frozen=True)
class Asked:
    """Columns by name. What holds for a name holds in every sheet that has it."""

    record_number: tuple[str, ...] = ()
    birth_date: str | None = None
    first_contact: str | None = None
    as_codes: tuple[str, ...] = ()
    leave_out: tuple[str, ...] = ()
    keep: tuple[str, ...] = ()
    day_first: bool | None = None  # None: told from the dates themselves


@dataclass(frozen=True)
class PlannedColumn:
    """One column. `shown` is its name where that may be printed."""

    position: int  # from 0
    shown: str
    becomes: str
    why: str = ""


@dataclass(frozen=True)
class PlannedSheet:
    """A sheet and its columns; `births` and `contacts` are the days of each record, where the sheet has them."""

    sheet: Sheet
    columns: tuple[PlannedColumn, ...]
    record_number: int | None  # its position; a sheet without is left out
    births: tuple[date | None, ...] = field(default=(), repr=False)
    contacts: tuple[date | None, ...] = ()


def plan(sheets: Sequence[Sheet], asked: Asked) -> tuple[PlannedSheet, ...]:
    """What becomes of every column of every sheet. Raises Refused."""
    identifiers_in: dict[tuple[str, int], list[str]] = {}
    identifiers = screen.find_identifiers(sheets, LAYOUT)
    for identifier in identifiers:
        identifiers_in.setdefault((identifier.sheet, identifier.position - 1), []).append(identifier.words)
    unsafe = {identifier.sheet for identifier in identifiers if not identifier.header_is_safe_to_print}
    safe = [name for sheet in sheets if sheet.file not in unsafe for name in sheet.header]
    _see_that_they_are_there(sheets, asked, safe)
    of_birth = {
        (identifier.sheet, identifier.position - 1) for identifier in identifiers if identifier.kind == BIRTH_DATE
    }
    births = _births(sheets, asked, of_birth)
    return tuple(_planned(sheet, asked, identifiers_in, births, sheet.file not in unsafe) for sheet in sheets)


def _see_that_they_are_there(sheets: Sequence[Sheet], asked: Asked, safe: Sequence[str]) -> None:
    there = {name for sheet in sheets for name in sheet.header}
    options = (
        ("--record-number", asked.record_number),
        ("--birth-date", (asked.birth_date,)),
        ("--first-contact", (asked.first_contact,)),
        ("--code", asked.as_codes),
        ("--leave-out", asked.leave_out),
        ("--keep", asked.keep),
    )
    faults = []
    for option, names in options:
        for name in names:
            if name is not None and name not in there:
                allowed = f"a column of the workbook{nearest(name, safe)}"
                faults.append(Fault(option, f"there is no column {name}", allowed, "write its name as it stands there"))
    if not asked.record_number:
        mend = 'say which column tells the babies apart, such as --record-number "Hospital no"'
        faults.append(Fault("--record-number", "nobody said which column it is", "a column of the workbook", mend))
    if asked.birth_date is not None and asked.first_contact is None:
        mend = "say which column holds the day of first contact, or leave --birth-date out: the column then just goes"
        faults.append(Fault("--first-contact", "an age in days needs it", "a column of the workbook", mend))
    if faults:
        raise Refused(faults)


def _births(sheets: Sequence[Sheet], asked: Asked, of_birth: Collection[tuple[str, int]]) -> Map[str, set[date]]:
    """Record number, its letters and digits -> the days on which its columns of birth dates can mean it was born."""
    births: dict[str, set[date]] = {}
    for sheet in sheets:
        for at, name in enumerate(sheet.header):
            if name == asked.birth_date or (sheet.file, at) in of_birth:
                for days in _days_as_can_be(sheet, at):
                    for number, day in zip(_numbers(sheet, asked), days, strict=False):
                        if number and day:
                            births.setdefault(number, set()).add(day)
    return births


def _numbers(sheet: Sheet, asked: Asked) -> list[str]:
    """The record number of each record; none where the sheet has no such column."""
    for at, name in enumerate(sheet.header):
        if name in asked.record_number:
            return [letters_and_digits(text) for text in column_texts(sheet, at).to_pylist()]
    return []


def _planned(
    sheet: Sheet,
    asked: Asked,
    identifiers_in: Map[tuple[str, int], Sequence[str]],
    births: Map[str, set[date]],
    is_safe: bool,
) -> PlannedSheet:
    record_numbers = _numbers(sheet, asked)
    columns = []
    for at, name in enumerate(sheet.header):
        words = "; ".join(identifiers_in.get((sheet.file, at), ()))
        shown = name if is_safe else f"column {at + 1}"
        becomes, why = LEFT_OUT, words
        if name in asked.record_number:
            becomes, why = PSEUDONYM, "the same in every sheet and every quarter, as long as the key is the same"
        elif name == asked.birth_date:
            becomes, why = AGE, "completed days old at first contact; the birth date itself goes"
        elif name in asked.leave_out:
            why = "as you said"
        elif name in asked.as_codes:
            becomes, why = CODE, "each distinct text has a code of its own"
        elif name in asked.keep:
            becomes, why = KEPT, f"as you said, although: {words}" if words else ""
        elif not is_safe:
            why = words or "the line of column names looks like a record, so none of its columns is kept"
        elif name == asked.first_contact and not words:
            becomes, why = KEPT, ""
        elif not words and _repeats(births, record_numbers, _days_as_can_be(sheet, at)):
            why = "in most rows it is the birth date"
        elif not words:
            becomes = KEPT
        columns.append(PlannedColumn(at, shown, becomes, why))
    numbers = [column.position for column in columns if column.becomes == PSEUDONYM]
    if len(numbers) > 1:
        names = " and ".join(columns[at].shown for at in numbers)
        mend = "name one for each sheet; leave the other out with --leave-out"
        raise Refused(Fault(sheet.file, f"it has {names}", "one record number a sheet", mend))
    days = (_days(sheet, name, asked.day_first) for name in (asked.birth_date, asked.first_contact))
    return PlannedSheet(sheet, tuple(columns), numbers[0] if numbers else None, *days)


def _days(sheet: Sheet, name: str | None, day_first: bool | None) -> tuple[date | None, ...]:
    """The day of each record in the column of that name. Raises Refused where they can be read in two ways."""
    if name is None or name not in sheet.header:
        return ()
    at = sheet.header.index(name)
    ways = styles_of(distinct_texts(sheet, at)).ways
    if len(ways) > 1 and day_first is not None:
        ways = ways[:1] if day_first else ways[1:]  # day first stands first
    if len(ways) > 1:
        mend = "say which: --day-first or --month-first"
        raise Refused(Fault(f"{sheet.file}, {name}", "its dates can be read in two ways", "one way", mend))
    return tuple(parsed(text.strip(), ways[0]) for text in column_texts(sheet, at).to_pylist())


def _days_as_can_be(sheet: Sheet, at: int) -> Iterator[tuple[date | None, ...]]:
    """The days of a column in each way in which they can be read."""
    for way in styles_of(distinct_texts(sheet, at)).ways:
        yield tuple(parsed(text.strip(), way) for text in column_texts(sheet, at).to_pylist())


def _repeats(births: Map[str, set[date]], numbers: Sequence[str], readings: Iterator[tuple[date | None, ...]]) -> bool:
    """Whether the days are the babies' birth dates in more than half of the records of which both are known."""
    for days in readings if births else ():
        is_birth = [
            day in births[number] for number, day in zip(numbers, days, strict=False) if day and number in births
        ]
        if is_birth and sum(is_birth) > len(is_birth) / 2:
            return True
    return False
