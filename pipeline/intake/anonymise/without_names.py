"""The sheets of a workbook as they were planned: without who they are of.

Comes in: the plan that a person confirmed, the key. Goes out: sheets in memory, which the identifier screen has passed,
and what could not be worked out; then one workbook of them. Refuses: what the screen still finds; record numbers that
differ in their marks only; two columns of one name; what a cell cannot hold; a file that is there.
"""

from __future__ import annotations

import dataclasses
import io
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path

import pyarrow as pa
from xlsxwriter import Workbook

from pipeline.errors import Fault, Refused
from pipeline.intake import identify, screen
from pipeline.intake.anonymise.column_plan import CODE, KEPT, PlannedSheet
from pipeline.intake.anonymise.pseudonyms import pseudonym
from pipeline.intake.map.mapping import Mapping as ExportMapping
from pipeline.intake.read.distinct_texts import column_texts
from pipeline.intake.read.sheet import FIELDS, Sheet
from pipeline.store.whole_files import write_new

CASE_REF, AGE_DAYS = "case_ref", "age_days"
_OLDEST = 364


@dataclass(frozen=True)
class Made:
    """A sheet without names; how many of its lines have no record number, and how many no age."""

    sheet: Sheet
    without_number: int
    without_age: int


def made(planned: Sequence[PlannedSheet], key: bytes) -> tuple[Made, ...]:
    """The sheets that have a record number. Raises Refused where they still hold what names anyone."""
    _see_that_none_meet(planned, key)
    births: dict[str, date] = {}
    for of_sheet in planned:
        for number, birth in zip(_numbers(of_sheet, key), of_sheet.births, strict=False):
            if number and birth:
                births.setdefault(number, birth)
    sheets = [_sheet(of_sheet, key, births) for of_sheet in planned if of_sheet.record_number is not None]
    columns = [column for of_sheet in planned for column in of_sheet.columns]
    kept = {column.shown: column.why for column in columns if column.becomes == KEPT and column.why}
    mapping = ExportMapping(name="", source="", rows=(), not_identifiers=kept)
    screened = screen.look_through([one.sheet for one in sheets], mapping)
    if screened.faults:
        mend = "leave the column out: --leave-out; or, if it names nobody, say so: --keep"
        raise Refused([dataclasses.replace(fault, mend=mend) for fault in screened.faults])
    return tuple(sheets)


def _see_that_none_meet(planned: Sequence[PlannedSheet], key: bytes) -> None:
    """Two babies must not become one: 2026/1/11 and 2026/11/1 have the same letters and digits. Raises Refused."""
    marked: dict[str, set[str]] = {}
    for of_sheet in planned:
        if of_sheet.record_number is not None:
            for text in column_texts(of_sheet.sheet, of_sheet.record_number).unique().to_pylist():
                written = "".join(text.split()).casefold()
                if not written.isalnum():
                    marked.setdefault(pseudonym(key, "case", text), set()).add(re.sub(r"[^\w]", "-", written))
    meeting = sum(len(ways) > 1 for number, ways in marked.items() if number)
    if meeting:
        found = f"{meeting} record numbers have the letters and digits of another, and other marks between them"
        mend = "write each in one way, or without marks, in the workbook"
        raise Refused(Fault("--record-number", found, "numbers that differ in a letter or a digit", mend))


def _numbers(planned: PlannedSheet, key: bytes) -> list[str]:
    """The pseudonym of each record, "" where none is written."""
    if planned.record_number is None:
        return []
    texts = column_texts(planned.sheet, planned.record_number).to_pylist()
    return [pseudonym(key, "case", text) for text in texts]


def _sheet(planned: PlannedSheet, key: bytes, births: Mapping[str, date]) -> Made:
    numbers = _numbers(planned, key)
    header, columns = [CASE_REF], [numbers]
    ages = [_age(births.get(number), contact) for number, contact in zip(numbers, planned.contacts, strict=False)]
    if births and ages:
        header.append(AGE_DAYS)
        columns.append(ages)
    for column in planned.columns:
        if column.becomes not in (KEPT, CODE):
            continue
        texts = column_texts(planned.sheet, column.position).to_pylist()
        header.append(planned.sheet.header[column.position])
        columns.append([pseudonym(key, "code", text) for text in texts] if column.becomes == CODE else texts)
    twice = sorted({name for name in header if header.count(name) > 1})
    if twice:
        mend = "rename the column in the workbook, or leave it out: --leave-out"
        raise Refused(Fault(planned.sheet.file, f"it has a column {twice[0]} already", "another name", mend))
    records = planned.sheet.records
    fields = pa.array([list(row) for row in zip(*columns, strict=True)], type=FIELDS)
    records = records.set_column(records.column_names.index("fields"), "fields", pa.chunked_array([fields], FIELDS))
    sheet = dataclasses.replace(planned.sheet, header=tuple(header), records=records)
    return Made(sheet, numbers.count(""), ages.count("") if AGE_DAYS in header else 0)


def _age(birth: date | None, contact: date | None) -> str:
    """Completed days; "" where a day is missing, or where they make no age of a baby."""
    days = (contact - birth).days if birth and contact else -1
    return str(days) if 0 <= days <= _OLDEST else ""


def see_that_it_may_be_written(path: Path) -> None:
    """A workbook of a new name. Raises Refused: the name may be, by mistake, that of the caseload itself."""
    if path.suffix.lower() != ".xlsx":
        mend = "name another file, such as caseload-anonymised.xlsx"
        raise Refused(Fault(str(path), "it is no name of a workbook", "a name that ends in .xlsx", mend))
    if path.exists():
        mend = "name another file, or move that one away"
        raise Refused(Fault(str(path), "there is such a file already", "a new name", mend))


def write(path: Path, sheets: Sequence[Made]) -> Path:
    """One workbook, every cell a text. Raises Refused where a cell cannot hold its text."""
    body = io.BytesIO()
    nothing_clever = {"strings_to_formulas": False, "strings_to_urls": False, "strings_to_numbers": False}
    book = Workbook(body, {"in_memory": True, **nothing_clever})
    names: list[str] = []
    for one in sheets:
        names.append(_sheet_name(one.sheet.name, names))
        worksheet = book.add_worksheet(names[-1])
        for at, row in enumerate([one.sheet.header, *one.sheet.records["fields"].to_pylist()]):
            for column, text in enumerate(row):
                if text and worksheet.write_string(at, column, text):
                    where = f"{one.sheet.file}, {one.sheet.header[column]}, row {at}"
                    mend = "leave the column out: --leave-out; or give fewer rows at a time"
                    raise Refused(Fault(where, "more than a workbook holds", "texts of up to 32767 signs", mend))
    book.close()
    return write_new(path, body.getvalue())


def _sheet_name(name: str, taken: Sequence[str]) -> str:
    """As it was, where a workbook takes it and it names nobody."""
    plain = re.sub(r"[\[\]:*?/\\']", " ", name).strip()[:31].strip()
    is_new = plain.casefold() not in {other.casefold() for other in taken}
    return plain if plain and is_new and identify.kind_of_text(plain) is None else f"Sheet {len(taken) + 1}"
