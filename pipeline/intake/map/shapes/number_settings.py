"""How a column's numbers are written: factor, form, unit and marks of a mapping file in, checked; faults are noted.

Refuses: a factor that is no number, a form that is not for the column, marks that cannot be told apart, a unit without
a form.
"""

from __future__ import annotations

from collections.abc import Mapping as Map
from decimal import Decimal
from typing import Any

from pipeline.contracts.layout import Column
from pipeline.intake.map.mapping import Place
from pipeline.intake.map.mapping_text import Written, is_text, shown, single_spaced
from pipeline.intake.map.units.amounts import FORMS

MARKS = {"decimal": (",", "."), "thousands": (",", ".", " ", "'")}


def read_times(file: Written, place: Place, column: Column, written: Any) -> Decimal | None:
    """What a number is multiplied by."""
    if type(written) in (int, Decimal) and Decimal(written).is_finite() and written > 0:
        return Decimal(written)
    found = f"{column.name} has times = {shown(written)}"
    file.fault((*place, "times"), found, "a number above 0, such as 1000", "write it without quotes")
    return None


def read_form(file: Written, place: Place, column: Column, takes: Map[str, Any]) -> str:
    """How the amounts of the column are written; what it multiplies or marks otherwise cannot stand beside it."""
    form, fitting = takes["as"], [name for name, (columns, _) in FORMS.items() if column.name in columns]
    beside = [key for key in ("times", *MARKS) if key in takes]
    if form not in fitting:
        allowed = f"as = {shown(fitting[0])}" if fitting else "as on a column of ages, gestations or weights"
        file.fault((*place, "as"), f"{column.name} has as = {shown(form)}", allowed, "correct or remove it")
    elif beside:
        found = f"{column.name} has as and {', '.join(beside)}"
        file.fault((*place, "as"), found, "as alone: it reads the unit in the cell", "remove the one or the other")
    return form if form in fitting else ""


def read_marks(file: Written, place: Place, name: str, takes: Map[str, Any]) -> dict[str, Any]:
    """The marks in the numbers of a column, or of a sheet, as far as they are given."""
    marks = {key: takes[key] for key in MARKS if key in takes}
    for key, mark in marks.items():
        if mark not in MARKS[key]:
            allowed = f"one of {' '.join(map(shown, MARKS[key]))}"
            file.fault((*place, key), f"{name} has {key} = {shown(mark)}", allowed, "write it in quotes")
    if marks.get("thousands") == marks.get("decimal", "."):
        found = f"{name} has the same mark before decimals and between thousands"
        file.fault(
            (*place, "thousands"), found, "two marks that differ", "say what each is; decimal is a point if unsaid"
        )
    return {key: mark for key, mark in marks.items() if mark in MARKS[key]}


def read_unit(file: Written, place: Place, column: Column, takes: Map[str, Any]) -> str:
    """The column with the unit, where it stands in one of its own."""
    if is_text(takes["unit"]) and "as" in takes:
        return single_spaced(takes["unit"])
    allowed = 'unit = "the column with the unit" beside as, such as { column = "Weight", as = "weight", unit = "Unit" }'
    file.fault((*place, "unit"), f"{column.name} has unit = {shown(takes['unit'])}", allowed, "correct or remove it")
    return ""
