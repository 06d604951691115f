"""The SQL that reads a sheet's fields into rows of a table, joined from places and columns, never from values.

Comes in: a sheet giving rows of a table. Goes out: statements over `records`, the sheet's records with every field
trimmed, and over what the statement before left; values are parameters.

This is one of the two modules of the intake in which declared expressions are joined; check/column_sql.py is the other.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import pyarrow as pa
import pyarrow.compute as pc

from pipeline.contracts import layout
from pipeline.contracts.layout import DATE, Column, Table
from pipeline.intake.map.sheet_tables import SheetTable
from pipeline.intake.map.translation import needs_translation
from pipeline.intake.read.sheet import Sheet


def trimmed_records(sheet: Sheet) -> pa.Table:
    """The sheet's records without the white space of Unicode around each field, as str.strip takes it off.

    By Arrow: DuckDB's trim with a set of characters takes ninety times as long, half the time of a load.
    """
    fields = sheet.records["fields"]
    lists = [pa.ListArray.from_arrays(part.offsets, pc.utf8_trim_whitespace(part.values)) for part in fields.chunks]
    place = sheet.records.column_names.index("fields")
    return sheet.records.set_column(place, "fields", pa.chunked_array(lists, type=fields.type))


def written_table(table: Table) -> str:
    """Makes written_<table>: texts in the layout's own codes, NULL for nothing."""
    columns = ", ".join(f"{column.name} VARCHAR" for column in table.columns)
    return (
        f"CREATE TEMP TABLE written_{table.name} "
        f"(row_id BIGINT, sheet_table INTEGER, line BIGINT, last_line BIGINT, {columns})"
    )


def written_rows() -> str:
    """Makes the view written_rows: which sheet gave a row of which line, of all tables."""
    rows = [f"SELECT sheet_table, line FROM written_{table.name}" for table in layout.tables()]
    return "CREATE OR REPLACE TEMP VIEW written_rows AS " + " UNION ALL ".join(rows)


def rows_of_layout(sheet_table: SheetTable) -> str:
    """Adds every record to written_<table>: an export in the layout."""
    return f"INSERT INTO written_{sheet_table.table.name} SELECT {_fields(sheet_table)} FROM records"


def rows_read(sheet_table: SheetTable) -> tuple[str, dict[str, Any]]:
    """Makes rows_read, the lines that hold something, and whether the mapping asks for a row; with its parameters.

    What its conditions rest on stands in the table deciding; the parts of a cell that is split in cell_parts.
    """
    values: dict[str, Any] = {}
    holds = ["TRUE"]
    for number, when in enumerate(sheet_table.rows.when):
        values[f"header_{number}"] = when.column
        where = f"header = $header_{number}"
        if listed := [*when.values, *when.is_not]:
            values[f"listed_{number}"] = listed
            where += f" AND list_contains($listed_{number}, part)"
        negated = "NOT " if when.is_not or when.is_empty else ""
        holds.append(f"line {negated}IN (SELECT line FROM deciding WHERE {where})")
    asked_for = " AND ".join(holds)
    split = sheet_table.split_header
    join = f"LEFT JOIN cell_parts ON cell_parts.written = fields[{sheet_table.place(split)}] " if split else ""
    return (
        f"CREATE OR REPLACE TEMP TABLE rows_read AS SELECT {_fields(sheet_table)}, {asked_for} AS is_asked_for "
        f"FROM records {join}WHERE len(list_filter(fields, lambda field: field <> '')) > 0"
    ), values


def rows_made(sheet_table: SheetTable, translated: Sequence[str], makes: Sequence[str]) -> str:
    """Makes rows_made: rows_read with each translated column in the layout's writing, as `meanings` has it.

    Only rows that are asked for; of a table without a condition those in which one of the columns `makes` says
    something, known or not, and all of cases but where the line takes its case from one above.
    """
    shown, joins = [], ""
    said = {name: f"r.{name} IS NOT NULL" for name in makes}
    for column in sheet_table.table.columns:
        name, text = column.name, f"r.{column.name}"
        if name in translated:
            joins += f" LEFT JOIN meanings AS m_{name} ON m_{name}.column_name = '{name}' AND m_{name}.written = {text}"
            text = f"nullif(m_{name}.text, '')" if column.must else f"nullif(nullif(m_{name}.text, ''), 'not_known')"
            said[name] = f"({text} IS NOT NULL OR m_{name}.allowed IS NOT NULL)"
        shown.append(f"{text} AS {name}")
    is_made = " OR ".join(said[name] for name in makes) or "FALSE"
    if sheet_table.rows.when:
        is_made = "is_asked_for"
    elif sheet_table.table.name == "cases":
        # Beneath a case whose reference stands in one line of several, only what is written of it makes another row.
        filled = sheet_table.sheet.filled_columns
        written = " OR ".join(said[name] for name in makes if sheet_table.headers[name] not in filled) or "FALSE"
        is_made = (
            f"({is_made}) AND line NOT IN (SELECT line FROM filled_whole) OR {written} "
            "OR line NOT IN (SELECT line FROM filled_lines)"
        )
    for name in (name for name, origin in sheet_table.rows.columns.items() if origin.split):
        is_made = f"({is_made}) AND (r.{name} IS NULL OR {said[name]})"  # a part that means nothing is no row
    return (
        f"CREATE OR REPLACE TEMP TABLE rows_made AS SELECT row_id, sheet_table, line, last_line, {', '.join(shown)} "
        f"FROM rows_read AS r{joins} WHERE {is_made}"
    )


def rows_with_constants(sheet_table: SheetTable) -> tuple[str, dict[str, str]]:
    """Adds rows_made to written_<table>, with the mapping's constants and prefixes; and its parameters."""
    shown, values = [], {}
    for column in sheet_table.table.columns:
        name, origin = column.name, sheet_table.rows.columns.get(column.name)
        if origin is not None and origin.constant is not None:
            shown.append(f"nullif(${name}, '')")
            values[name] = origin.constant
        elif origin is not None and origin.prefix:
            shown.append(f"${name} || {name}")
            values[name] = origin.prefix
        else:
            shown.append(name)
    return (
        f"INSERT INTO written_{sheet_table.table.name} "
        f"SELECT row_id, sheet_table, line, last_line, {', '.join(shown)} FROM rows_made"
    ), values


def spelled(table: str, column: str) -> str:
    """Puts the spelling that the table spellings has into a column, for a parameter: what it holds."""
    return (
        f"UPDATE written_{table} AS w SET {column} = s.spelling FROM spellings AS s "
        f"WHERE s.what = $1 AND s.text = w.{column}"
    )


def day_by_age(table: str, column: str) -> str:
    """Fills a date that was not recorded: the day on which the baby of the same line was so many days old."""
    return (
        f"UPDATE written_{table} AS w SET {column} = strftime("
        "read_date(c.first_contact_date) - read_integer(c.age_days) + CAST($days AS INTEGER), '%Y-%m-%d') "
        "FROM written_cases AS c "
        "WHERE w.sheet_table = $sheet_table AND c.line = w.line AND list_contains($cases, c.sheet_table)"
    )


def _fields(sheet_table: SheetTable) -> str:
    """The row's own columns and the texts of all columns of the table, as the sheet has them."""
    texts = ", ".join(_text_of(sheet_table, column) for column in sheet_table.table.columns)
    row = "line + $first" + (" + coalesce(number, 0) * $span" if sheet_table.split_header else "")
    return f"{row} AS row_id, $sheet_table AS sheet_table, line, last_line, {texts}"


def _text_at(sheet_table: SheetTable, header: str) -> str:
    """What the sheet's column of that name holds, NULL for nothing."""
    return f"nullif(fields[{sheet_table.place(header)}], '')"


def _text_of(sheet_table: SheetTable, column: Column) -> str:
    """What the sheet holds for a layout column; not_known is nothing in an optional column."""
    origin = sheet_table.rows.columns.get(column.name)
    if origin is None or origin.column is None:
        return f"CAST(NULL AS VARCHAR) AS {column.name}"
    text = "part" if origin.split else _text_at(sheet_table, origin.column)
    if origin.unit:
        # Where no number is written, it stays what it is, such as a word for nothing.
        with_unit = f"trim({text} || ' ' || fields[{sheet_table.place(origin.unit)}])"
        text = f"CASE WHEN regexp_matches({text}, '[0-9]') THEN {with_unit} ELSE {text} END"
    if not column.must and (column.kind == DATE or not needs_translation(origin, column)):
        text = f"nullif({text}, 'not_known')"
    return f"{text} AS {column.name}"
