"""The export layout, read from its one declaration (export_layout.json, a Data Package descriptor with Table Schemas).

Comes in: the descriptor. Goes out: frozen tables and columns for reading, checking, the store, the help and the tests.
The descriptor is part of the program, and a test holds it to the open standard.
"""

from __future__ import annotations

import functools
import json
from dataclasses import dataclass
from typing import Any

from pipeline.contracts.places import LAYOUT

TEXT, CODE, INTEGER, DATE, YES_NO = "text", "code", "integer", "date", "yes/no"


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

    def column(self, name: str) -> Column:
        """The column of that name."""
        return next(column for column in self.columns if column.name == name)


@functools.cache
def tables() -> tuple[Table, ...]:
    """The tables of the layout, cases first."""
    described = json.loads(LAYOUT.read_text(encoding="utf-8"))
    return tuple(
        Table(
            resource["name"], resource["description"], tuple(_column(field) for field in resource["schema"]["fields"])
        )
        for resource in described["resources"]
    )


def table(name: str) -> Table:
    """The table of that name."""
    return next(table for table in tables() if table.name == name)


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
    )
