"""The export layout, read from its one declaration (export_layout.json, a Data Package descriptor with Table Schemas).

Comes in: the descriptor. Goes out: frozen tables and columns for reading, checking, the store, the help and the tests.
The descriptor is part of the program, and a test holds it to the open standard. Refuses, with file and line, what is
no JSON; all at once, a name there is already, a type there is not, a number without both ends, codes that are no texts,
a yes/no without its words.
"""

from __future__ import annotations

import functools
import json
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import duckdb

from pipeline.contracts.places import LAYOUT
from pipeline.contracts.sql_file import LOWER_SNAKE
from pipeline.errors import Fault, Refused

VERSION = 2  # of the layout: what came with it says so (`since`), and an export may lack it
TEXT, CODE, INTEGER, DATE, YES_NO = "text", "code", "integer", "date", "yes/no"
_STORED_AS = {TEXT: "VARCHAR", CODE: "VARCHAR", INTEGER: "INTEGER", DATE: "DATE", YES_NO: "BOOLEAN"}
_TYPES = ("string", "integer", "date", "boolean")
_KEYS = {
    "name",
    "type",
    "format",
    "description",
    "constraints",
    "trueValues",
    "falseValues",
    "recordedOnlyWhereItHappened",
    "since",
}
_TAKEN = ("load", "row_id", "file", "line", "last_line", "sheet_table", "whole_row")  # beside the columns of a row
_LIMITS = {"required", "unique", "enum", "minimum", "maximum", "minLength", "maxLength"}


@dataclass(frozen=True)
class Column:
    """One column of the layout. `kind` is text, code, integer, date or yes/no."""

    name: str
    kind: str
    must: bool
    description: str
    values: tuple[str, ...] = ()  # of a code or a yes/no column
    minimum: int | None = None  # of an integer column, both ends allowed
    maximum: int | None = None
    longest: int | None = None  # of a text column, in characters
    always_asked: bool = True  # False where nothing recorded only says that it did not happen (closed_date)
    since: int = 1  # the version of the layout that brought it

    @property
    def stored_as(self) -> str:
        """Its type in DuckDB, once it is read."""
        return _STORED_AS[self.kind]

    @property
    def allowed(self) -> str:
        """What may stand in the column, in words."""
        words = {
            CODE: "one of " + ", ".join(self.values),
            YES_NO: "yes or no",
            INTEGER: f"a whole number from {self.minimum} to {self.maximum}",
            DATE: "a date written like 2026-07-31",
            TEXT: f"text of 1 to {self.longest} characters" if self.longest else "text",
        }[self.kind]
        return f"{words}; it must be there" if self.must else f"{words}, or nothing"


@dataclass(frozen=True)
class Table:
    """One table of the layout: one CSV file of an export."""

    name: str
    description: str
    columns: tuple[Column, ...]
    since: int = 1  # the version of the layout that brought it

    def column(self, name: str) -> Column:
        """The column of that name."""
        return next(column for column in self.columns if column.name == name)


@functools.cache
def tables() -> tuple[Table, ...]:
    """The tables of the layout, cases first. Raises Refused."""
    return read_tables(LAYOUT.read_text(encoding="utf-8"), LAYOUT.name)


def read_tables(text: str, where: str) -> tuple[Table, ...]:
    """The tables that a descriptor declares. Raises Refused with all faults."""
    try:
        described = json.loads(text)
    except json.JSONDecodeError as error:
        mend = "look at that line and the end of the one before: a comma, a quote or a bracket too many or too few"
        raise Refused(Fault(f"{where}, line {error.lineno}", f"no JSON: {error.msg}", "JSON", mend)) from None
    faults = []
    for resource in described["resources"]:
        names: list[str] = []
        for field in resource["schema"]["fields"]:
            name = field.get("name", "")
            names.append(name)
            place = f"{where}, line {_line(text, resource['name'], name, names.count(name))}"
            faults += [Fault(place, f"{name}: {found}", *rest) for found, *rest in _mistakes(field, names)]
    if faults:
        raise Refused(faults)
    return tuple(
        Table(
            resource["name"],
            resource["description"],
            tuple(_column(field) for field in resource["schema"]["fields"]),
            resource.get("since", 1),
        )
        for resource in described["resources"]
    )


def table(name: str) -> Table:
    """The table of that name."""
    return next(table for table in tables() if table.name == name)


def _line(text: str, table_name: str, column_name: str, times: int) -> int:
    """Where a column is declared: its name, that many times behind that of its table."""
    at = text.find(f'"name": "{table_name}"', text.find('"resources"'))
    for _ in range(times):
        at = text.find(f'"name": "{column_name}"', at + 1)
    return text.count("\n", 0, at) + 1 if at >= 0 else 1


def _mistakes(field: dict[str, Any], names: Sequence[str]) -> Iterator[tuple[str, str, str]]:
    """What is wrong with a column, the last of those names: what was found, what is allowed, what to do."""
    kind, limits = field.get("type"), field.get("constraints", {})
    words = (field.get("trueValues"), field.get("falseValues"))
    unknown = sorted((field.keys() - _KEYS) | (limits.keys() - _LIMITS))
    if unknown:
        allowed = f"the keys {', '.join(sorted(_KEYS))}; in constraints {', '.join(sorted(_LIMITS))}"
        yield f"the key {', '.join(unknown)}", allowed, "correct the key, or take it out"
    if not _is_a_name(names[-1]):
        allowed = f"small letters, digits and underscores; no word of SQL, and none of {', '.join(_TAKEN)}"
        yield f"the name {names[-1]}", allowed, "rename it"
    if names.count(names[-1]) > 1:
        yield f"the name {names[-1]} a second time", "each column of a table once", "rename it, or take it out"
    if kind not in _TYPES:
        yield f"the type {kind}", "one of " + ", ".join(_TYPES), "choose one of them"
    elif kind == "boolean" and words != (["yes"], ["no"]):
        mend = 'add "trueValues": ["yes"] and "falseValues": ["no"]'
        yield f"a boolean with trueValues {words[0]}, falseValues {words[1]}", '["yes"] and ["no"]', mend
    elif kind == "integer" and not all(isinstance(limits.get(end), int) for end in ("minimum", "maximum")):
        yield "an integer without both ends", "minimum and maximum, whole numbers", "add them to its constraints"
    elif not all(isinstance(code, str) for code in limits.get("enum", ())):
        yield f"the enum {limits['enum']}", "codes, which are texts", "write each in quotes"


def _is_a_name(name: str) -> bool:
    """Whether a column may be called so in SQL, where some words are taken."""
    try:
        duckdb.extract_statements(f"CREATE TABLE named ({name} VARCHAR)")
    except duckdb.ParserException:
        return False
    return bool(re.fullmatch(LOWER_SNAKE, name)) and name not in _TAKEN


def _column(field: dict[str, Any]) -> Column:
    limits = field.get("constraints", {})
    values = tuple(limits.get("enum", ())) or (*field.get("trueValues", ()), *field.get("falseValues", ()))
    kind = {"integer": INTEGER, "date": DATE, "boolean": YES_NO}.get(field["type"], CODE if values else TEXT)
    return Column(
        name=field["name"],
        kind=kind,
        must=limits.get("required", False),
        description=field.get("description", ""),
        values=values,
        minimum=limits.get("minimum"),
        maximum=limits.get("maximum"),
        longest=limits.get("maxLength"),
        always_asked=not field.get("recordedOnlyWhereItHappened", False),
        since=field.get("since", 1),
    )
