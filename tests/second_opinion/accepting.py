"""Records to accepted rows: the fate of every record of the nine files.

In: the folder of an export and its cut-off. Out: `Export`: the accepted rows of each table and the fate of every
record. Refuses: to guess a date, a code or which of two differing rows of a case is right.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from .layout import ROW_DATE, TABLES, Column
from .reading import FileRead, Record, read_file

Value = str | int | date | None
Values = dict[str, Value]


@dataclass(frozen=True)
class Row:
    """A well-formed record read by its columns; wrong is the first reason it cannot be used, or empty."""

    record: Record
    values: Values
    wrong: str

    @property
    def ref(self) -> str | None:
        return text(self.values, "case_ref")


@dataclass(frozen=True)
class Fate:
    """What became of lines first to last: accepted, set aside or repeat, and why."""

    first: int
    last: int
    fate: str
    reason: str = ""


@dataclass(frozen=True)
class Export:
    reads: dict[str, FileRead]
    accepted: dict[str, list[Values]]
    fates: dict[str, list[Fate]]


def text(values: Values, name: str) -> str | None:
    value = values[name]
    assert value is None or isinstance(value, str), name
    return value


def number(values: Values, name: str) -> int | None:
    value = values[name]
    assert value is None or isinstance(value, int), name
    return value


def day(values: Values, name: str) -> date | None:
    value = values[name]
    assert value is None or isinstance(value, date), name
    return value


def read_value(column: Column, found: str) -> Value:
    """The value, or None where it is empty, not_known in an optional column, or not what the column allows."""
    found = found.strip()
    if found == "" or (found == "not_known" and (not column.must or column.name == "case_ref")):
        return None
    if column.kind == "date":
        return real_date(found)
    if column.kind == "integer":
        whole = int(found) if re.fullmatch(r"-?[0-9]{1,9}", found) else None
        return whole if whole is not None and column.low <= whole <= column.high else None
    if column.kind == "code":
        return found if found in column.values else None
    return found if column.high == 0 or len(found) <= column.high else None


def real_date(found: str) -> date | None:
    if not re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", found):
        return None
    try:
        return date(int(found[:4]), int(found[5:7]), int(found[8:]))
    except ValueError:
        return None


def read_row(table: str, names: list[str], record: Record, cut_off: date) -> Row:
    """One record by its columns: bad must-values and dates after the cut-off make it wrong, other bad values empty."""
    given = dict(zip(names, record.fields, strict=True))
    values: Values = {column.name: read_value(column, given.get(column.name, "")) for column in TABLES[table]}
    wrong = ""
    for column in TABLES[table]:
        value = values[column.name]
        if column.must and value is None:
            wrong = wrong or f"{column.name} is missing or cannot be read"
        if isinstance(value, date) and value > cut_off:
            wrong = wrong or f"{column.name} is after the cut-off"
    drop_contradicting_values(values)
    return Row(record, values, wrong)


def drop_contradicting_values(values: Values) -> None:
    """Contradictions that cost the value and not the row; each compares two dates of the one row."""
    for earlier, later, dropped in (
        ("help_requested_date", "first_contact_date", "help_requested_date"),
        ("first_contact_date", "closed_date", "closed_date"),
        ("referral_date", "outcome_date", "outcome_date"),
        ("request_date", "outcome_date", "outcome_date"),
    ):
        if earlier in values and later in values:
            first, second = day(values, earlier), day(values, later)
            if first is not None and second is not None and first > second:
                values[dropped] = None


def wrong_subjects(rows: list[Row], seen: set[str | None]) -> list[str]:
    """The reason each row of cases or requests cannot be used: its own, or that of its case_ref.

    Another row of it differs, or (of requests) it was seen among the cases.
    """
    by_ref: dict[str, list[Row]] = {}
    for row in rows:
        if row.ref is not None:
            by_ref.setdefault(row.ref, []).append(row)
    reasons = []
    for row in rows:
        others = by_ref[row.ref] if row.ref is not None else []
        differ = any(other.values != row.values for other in others)
        reason = "rows of this case_ref differ" if differ else row.wrong
        reasons.append("it is a case" if row.ref is not None and row.ref in seen else reason)
    return reasons


def wrong_child(table: str, row: Row, seen: set[str | None], cases: dict[str, Values], divided: list[Values]) -> str:
    """The reason a row of another table than cases cannot be used, or empty."""
    if row.wrong:
        return row.wrong
    ref = row.ref
    if ref is None or ref not in cases:
        return "its case was set aside" if ref in seen else "unknown case"
    first_contact, on = day(cases[ref], "first_contact_date"), day(row.values, ROW_DATE[table])
    assert first_contact is not None and on is not None
    if table == "complications":
        dates = [day(values, "procedure_date") for values in divided if text(values, "case_ref") == ref]
        return "" if any(done is not None and done <= on for done in dates) else "no procedure on or before it"
    if table != "procedures" and on < first_contact:
        return "before first_contact_date"
    return ""


def settle(rows: list[Row], reasons: list[str]) -> tuple[list[Values], list[Fate]]:
    """Rows without a reason are accepted once each; a later equal one is a repeat."""
    accepted: dict[tuple[Value, ...], Values] = {}
    fates = []
    for row, reason in zip(rows, reasons, strict=True):
        fate = "set aside"
        if not reason:
            key = tuple(row.values.values())
            fate = "repeat" if key in accepted else "accepted"
            accepted.setdefault(key, row.values)
        fates.append(Fate(row.record.first, row.record.last, fate, reason))
    return list(accepted.values()), fates


def read_export(folder: Path, cut_off: date) -> Export:
    """All nine files; a file that is not there counts as empty."""
    reads: dict[str, FileRead] = {}
    accepted: dict[str, list[Values]] = {}
    fates: dict[str, list[Fate]] = {}
    seen: set[str | None] = set()
    cases: dict[str, Values] = {}
    divided: dict[str, list[Values]] = {}
    for table in TABLES:  # cases stand first, procedures before complications
        path = folder / f"{table}.csv"
        read = read_file(path.read_bytes() if path.exists() else b"")
        whole = [record for record in read.records if not record.flaw]
        rows = [read_row(table, read.names, record, cut_off) for record in whole]
        if table == "cases":
            reasons = wrong_subjects(rows, set())
            seen = {row.ref for row in rows}
        elif table == "requests":
            reasons = wrong_subjects(rows, seen)
        else:
            reasons = [wrong_child(table, row, seen, cases, divided.get(row.ref or "", [])) for row in rows]
        accepted[table], settled = settle(rows, reasons)
        if table == "cases":
            cases = {str(values["case_ref"]): values for values in accepted[table]}
        if table == "procedures":
            for values in accepted[table]:
                divided.setdefault(str(values["case_ref"]), []).append(values)
        flawed = [Fate(r.first, r.last, "set aside", r.flaw) for r in read.records if r.flaw]
        reads[table], fates[table] = read, sorted(settled + flawed, key=lambda fate: fate.first)
    return Export(reads, accepted, fates)
