"""The identifier screen: no export that names anyone gets past it, and nothing of it has been stored by then.

Comes in: sheets as they were read, in memory, and the mapping. Goes out: a fault for each column that looks like
personal identifiers, saying which column and why, never a value, unless the mapping lets the column through with its
reason; and the names that may not be printed. Who chooses the mapping raises them, beside what else is wrong.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from datetime import date

from pipeline.contracts import layout
from pipeline.errors import Fault
from pipeline.intake import identify
from pipeline.intake.identify import Identifier, SheetColumn
from pipeline.intake.map.mapping import Mapping
from pipeline.intake.map.sheet_tables import SheetTable, sheet_tables
from pipeline.intake.map.translation import dates_of
from pipeline.intake.read.distinct_texts import column_texts, distinct_texts
from pipeline.intake.read.sheet import Sheet

_ALLOWED = "no names, addresses, postcodes, phone numbers, e-mail addresses, dates of birth, record numbers, free text"
# How a column that no mapping speaks of may write a date, ISO 8601 beside.
_FORMATS = ("%d/%m/%Y", "%m/%d/%Y", "%d/%m/%y", "%d-%m-%Y", "%d.%m.%Y", "%d %b %Y", "%d-%b-%y", "serial")


@dataclass(frozen=True)
class Screened:
    """What the mapping does not let through, and the names of sheets and columns that nothing may print."""

    faults: tuple[Fault, ...]
    unsaid: frozenset[str]


def look_through(sheets: Sequence[Sheet], mapping: Mapping) -> Screened:
    """Look through an export as a mapping reads it."""
    identifiers = find_identifiers(sheets, mapping)
    by_file = {sheet.file: sheet for sheet in sheets}
    given = sheet_tables(mapping, sheets)
    faults = []
    for identifier in identifiers:
        sheet = by_file[identifier.sheet]
        if mapping.not_identifiers.keys().isdisjoint(_known_as(sheet, identifier.position, identifier.header, given)):
            faults.append(_fault(identifier, sheet, mapping))
    named = dict(_names(sheets, mapping))
    unsafe = {identifier.sheet for identifier in identifiers if not identifier.header_is_safe_to_print}
    headers = {name for sheet in sheets if sheet.file in unsafe for name in sheet.header}
    return Screened((*faults, *named.values()), frozenset(headers | named.keys()))


def reasons(sheets: Sequence[Sheet], mapping: Mapping) -> dict[str, str]:
    """Which columns of the export the mapping or the settings let through, and why."""
    given = sheet_tables(mapping, sheets)
    columns = [(sheet, place, name) for sheet in sheets for place, name in enumerate(sheet.header, 1)]
    names = {known for sheet, place, name in columns for known in _known_as(sheet, place, name, given)}
    return {name: reason for name, reason in sorted(mapping.not_identifiers.items()) if name in names}


def _known_as(sheet: Sheet, position: int, shown: str, given: Sequence[SheetTable]) -> set[str]:
    """What a column may be let through by: its name if it may be shown, and the layout's name for it."""
    header = sheet.header[position - 1]
    of_sheet = [sheet_table for sheet_table in given if sheet_table.sheet.file == sheet.file]
    used = {f"{one.table.name}.{column}" for one in of_sheet for column, name in one.headers.items() if name == header}
    return {shown, f"{sheet.name.lower()}.{shown}"} | used


def find_identifiers(sheets: Sequence[Sheet], mapping: Mapping) -> tuple[Identifier, ...]:
    """Every column of every sheet, the extra ones too, that looks like identifiers."""
    identifiers = identify.find(list(_columns(sheets, mapping)))
    unsafe = {identifier.sheet for identifier in identifiers if not identifier.header_is_safe_to_print}
    return identifiers + tuple(_births(sheets, mapping, unsafe))


def _names(sheets: Sequence[Sheet], mapping: Mapping) -> Iterator[tuple[str, Fault]]:
    """The names of sheets and files are kept with a load too."""
    for place, sheet in enumerate(sheets, start=1):
        kind = identify.kind_of_text(sheet.name)
        if kind is not None and kind != identify.FREE_TEXT and sheet.name not in mapping.not_identifiers:
            words = f"the name of file or sheet {place} looks like this: {kind}"
            mend = "give it another name, and look at what else names anyone"
            yield sheet.name, Fault("the export", words, _ALLOWED, mend)


def _births(sheets: Sequence[Sheet], mapping: Mapping, unsafe: Collection[str]) -> Iterator[Identifier]:
    """Columns that no row uses and that hold the day of first contact less the age, whatever they are called.

    `unsafe` are the sheets of which no name may be printed.
    """
    given = sheet_tables(mapping, sheets)
    for sheet_table in given:
        contact, age = (sheet_table.rows.columns.get(name) for name in ("first_contact_date", "age_days"))
        if sheet_table.table.name != "cases" or contact is None or age is None:
            continue
        if contact.column not in sheet_table.sheet.header or age.column not in sheet_table.sheet.header:
            continue
        used = {
            name for other in given if other.sheet_number == sheet_table.sheet_number for name in other.headers.values()
        }
        header = sheet_table.sheet.header
        contacts = _days(_texts(sheet_table.sheet, header.index(contact.column)), contact.dates)
        days = _texts(sheet_table.sheet, header.index(age.column))
        ages = [int(text) if text.isdecimal() and len(text) < 4 else None for text in days]
        for place, name in enumerate(header):
            texts = _texts(sheet_table.sheet, place) if name not in used else []
            if any(texts) and any(identify.is_birth_date(contacts, ages, _days(texts, [form])) for form in _FORMATS):
                words = "in most rows it is the day of first contact less the age: a date of birth"
                safe = sheet_table.sheet.file not in unsafe
                said = name if safe else f"column {place + 1}"
                yield Identifier(sheet_table.sheet.file, place + 1, safe, said, identify.BIRTH_DATE, words)


def _texts(sheet: Sheet, place: int) -> list[str]:
    return [text.strip() for text in column_texts(sheet, place).to_pylist()]


def _days(texts: Sequence[str], formats: Sequence[str]) -> list[date | None]:
    """What a text can be read as only, once for each distinct text."""
    read = {text: dates_of(text, formats) for text in dict.fromkeys(texts)}
    return [next(iter(read[text])) if len(read[text]) == 1 else None for text in texts]


def _columns(sheets: Sequence[Sheet], mapping: Mapping) -> Iterator[SheetColumn]:
    uses = [
        ((sheet_table.sheet_number, header), (sheet_table.table.name, column))
        for sheet_table in sheet_tables(mapping, sheets)
        for column, header in sheet_table.headers.items()
    ]
    # The screen asks less of the columns asked about later: one that is used otherwise too is screened as that.
    given = dict(sorted(uses, key=lambda use: use[1][1] not in identify.ASKED_ABOUT))
    for place, sheet in enumerate(sheets):
        for position, header in enumerate(sheet.header):
            table, column = given.get((place, header), (None, None))
            yield SheetColumn(sheet.file, header, position + 1, distinct_texts(sheet, position), table, column)


def _fault(identifier: Identifier, sheet: Sheet, mapping: Mapping) -> Fault:
    column = f"the column {identifier.header}" if identifier.header_is_safe_to_print else identifier.header
    mend = "take the column out of the export"
    if identifier.header_is_safe_to_print:
        place, name = "the mapping", identifier.header
        if not mapping.name and sheet.name.lower() in {table.name for table in layout.tables()}:
            place, name = "audit.toml", f"{sheet.name.lower()}.{name}"
        mend += f'; or, if it is none, say why in {place}: [not_identifiers] "{name}" = "the reason"'
    return Fault(identifier.sheet, f"{column}: {identifier.words}", _ALLOWED, mend)
