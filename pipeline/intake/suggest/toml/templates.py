"""A form to fill in for each table of the layout that the suggested mapping has no block for.

Comes in: the tables that have a block, and the sheets. Goes out: the lines of a [[rows]] with every column of the table
and what it takes, all of them out of effect. Refuses to guess at a column: each is written over by a person or left.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence

from pipeline.contracts import layout
from pipeline.contracts.layout import CODE, DATE, YES_NO, Column
from pipeline.intake.suggest.choose.choices import Chosen
from pipeline.intake.suggest.toml.toml_lines import OPEN, Line, quoted, remarks


def templates(placed: Collection[str], chosen: Sequence[Chosen]) -> list[list[Line]]:
    """A form for each table that is not among those placed, in the order of the layout."""
    refs = list(dict.fromkeys(of_sheet.case_ref.column.header for of_sheet in chosen if of_sheet.case_ref))
    return [_form(table, refs, len(chosen) > 1) for table in layout.tables() if table.name not in placed]


def _form(table: layout.Table, refs: list[str], several: bool) -> list[Line]:
    what = table.description.split(".")[0].lower()
    lines = remarks(
        f"NOT FOUND: {table.name}, {what}. If the export holds them, write the names of its columns here, delete the "
        "lines it has nothing for, and take the first # out of the rest. If it holds none, leave this as it is."
    )
    lines += [Line("[[rows]]", ""), Line(f"table = {quoted(table.name)}", "")]
    lines += [Line(f"sheet = {OPEN}", "", "the name of the sheet")] if several else []
    return [*lines, Line("[rows.columns]", ""), *(_line(column, refs) for column in table.columns)]


def _line(column: Column, refs: list[str]) -> Line:
    origin, takes = OPEN, column.allowed or "a text"
    if column.name == "case_ref" and len(refs) == 1:
        origin, takes = quoted(refs[0]), "as in the other blocks"
    elif column.kind == DATE:
        origin, takes = f'{{ column = {OPEN}, date = "%d/%m/%Y" }}', "a date; so written, one like 31/07/2026"
    elif column.kind in (CODE, YES_NO):
        origin = f"{{ column = {OPEN}, codes = {{ {OPEN} = {OPEN} }} }}"
    takes = takes.removesuffix("; it must be there").removesuffix(", or nothing")
    return Line(f"{column.name} = {origin}", "", f"must: {takes}" if column.must else takes)
