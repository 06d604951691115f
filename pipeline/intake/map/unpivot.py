"""The rows that a line makes, where a mapping spreads one line over several tables.

Comes in: the records of one sheet, registered as `records`, and what it gives of one table. Goes out: its rows in
written_<table>, and findings in set_aside for values the mapping does not know and for lines and dates that give no
row.

A row is made where the mapping's `when` holds; else where a column of its own holds something: not case_ref, nor a
constant, nor a column that another part of the sheet reads too, unless it has no other. Each distinct text is
translated once, in Python.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import duckdb

from pipeline.contracts.layout import DATE
from pipeline.intake.map.field_sql import text_at, text_of
from pipeline.intake.map.sheet_tables import SheetTable
from pipeline.intake.map.translation import needs_translation, translate

_MEND_CODE = "correct it in the record, or say in the mapping what it means"


def write_made(
    con: duckdb.DuckDBPyConnection, sheet_table: SheetTable, of_sheet: Sequence[SheetTable], first: int
) -> None:
    """Add the rows to written_<table>; `first` is added to a line, to tell rows of several sheets apart."""
    columns = ", ".join(text_of(sheet_table, column) for column in sheet_table.table.columns)
    asked_for, values = _asked_for(sheet_table)
    con.execute(
        "CREATE OR REPLACE TEMP TABLE read AS "
        f"SELECT line + $first AS row_id, $sheet_table AS sheet_table, line, last_line, {columns}, "
        f"{asked_for} AS is_asked_for "
        "FROM records WHERE len(list_filter(fields, lambda field: field <> '')) > 0",
        {"first": first, "sheet_table": sheet_table.number, **values},
    )
    _translate(con, sheet_table)
    is_made = (
        " OR ".join(f"({name} IS NOT NULL OR refused_{name})" for name in _making(sheet_table, of_sheet)) or "FALSE"
    )
    if sheet_table.rows.when is not None:
        is_made = "is_asked_for"
    elif sheet_table.table.name == "cases":
        is_made = "TRUE"
    con.execute(f"CREATE OR REPLACE TEMP TABLE made AS SELECT * FROM translated WHERE {is_made}")
    written, constants = _with_constants(sheet_table)
    con.execute(
        f"INSERT INTO written_{sheet_table.table.name} "
        f"SELECT row_id, sheet_table, line, last_line, {written} FROM made",
        constants,
    )
    for name in _translated(sheet_table):
        con.execute(
            "INSERT INTO set_aside BY NAME SELECT $sheet AS sheet, $table AS table_name, row_id, t.line, t.last_line, "
            f"$column AS column_name, $kind AS kind, d.{name} AS found, m.allowed, $mend AS mend "
            "FROM made AS t JOIN read AS d USING (row_id) "
            f"JOIN meant AS m ON m.column_name = $column AND m.written = d.{name} WHERE refused_{name}",
            {
                "sheet": sheet_table.sheet_number,
                "table": sheet_table.table.name,
                "column": name,
                "kind": "row" if sheet_table.table.column(name).must else "value",
                "mend": _MEND_CODE,
            },
        )


def _asked_for(sheet_table: SheetTable) -> tuple[str, dict[str, Any]]:
    when = sheet_table.rows.when
    if when is None:
        return "TRUE", {}
    text = text_at(sheet_table, when.column)
    if not when.values:
        return f"{text} IS NOT NULL", {}
    return f"coalesce(list_contains($asked, {text}), FALSE)", {"asked": list(when.values)}


def _translated(sheet_table: SheetTable) -> list[str]:
    return [
        name
        for name, origin in sheet_table.rows.columns.items()
        if origin.column is not None and needs_translation(origin)
    ]


def _translate(con: duckdb.DuckDBPyConnection, sheet_table: SheetTable) -> None:
    """translated: what was read, each text in the layout's own writing; refused_<column> says where there is none."""
    con.execute(
        "CREATE OR REPLACE TEMP TABLE meant (column_name VARCHAR, written VARCHAR, text VARCHAR, allowed VARCHAR)"
    )
    names = _translated(sheet_table)
    for name in names:
        written = [
            text for (text,) in con.execute(f"SELECT DISTINCT {name} FROM read WHERE {name} IS NOT NULL").fetchall()
        ]
        result = translate(sheet_table.rows.columns[name], sheet_table.table.column(name), written)
        meant = [[name, text, result.texts.get(text), result.refused.get(text)] for text in sorted(written)]
        if meant:
            con.executemany("INSERT INTO meant VALUES ($1, $2, $3, $4)", meant)
    shown = []
    for column in sheet_table.table.columns:
        if column.name in names:
            text = f"nullif(m_{column.name}.text, '')"
            text = text if column.must else f"nullif({text}, 'not_known')"
            shown += [f"{text} AS {column.name}", f"m_{column.name}.allowed IS NOT NULL AS refused_{column.name}"]
        else:
            shown += [f"d.{column.name}", f"FALSE AS refused_{column.name}"]
    joins = " ".join(
        f"LEFT JOIN meant AS m_{name} ON m_{name}.column_name = '{name}' AND m_{name}.written = d.{name}"
        for name in names
    )
    con.execute(
        "CREATE OR REPLACE TEMP TABLE translated AS SELECT row_id, sheet_table, line, last_line, is_asked_for, "
        f"{', '.join(shown)} FROM read AS d {joins}"
    )


def _making(sheet_table: SheetTable, of_sheet: Sequence[SheetTable]) -> list[str]:
    """The columns whose being filled makes a row: those that only it reads, else its date, else whatever it reads."""
    elsewhere = {header for other in of_sheet if other is not sheet_table for header in other.headers.values()}
    read = {name: header for name, header in sheet_table.headers.items() if name != "case_ref"}
    own = [name for name, header in read.items() if header not in elsewhere]
    return own or [name for name in read if sheet_table.table.column(name).kind == DATE] or list(read)


def _with_constants(sheet_table: SheetTable) -> tuple[str, dict[str, Any]]:
    """The columns of made, with the mapping's constants and prefixes."""
    shown, values = [], {}
    for column in sheet_table.table.columns:
        origin = sheet_table.rows.columns.get(column.name)
        if origin is not None and origin.constant is not None:
            shown.append(f"nullif($constant_{column.name}, '')")
            values[f"constant_{column.name}"] = origin.constant
        elif origin is not None and origin.prefix:
            shown.append(f"$prefix_{column.name} || {column.name}")
            values[f"prefix_{column.name}"] = origin.prefix
        else:
            shown.append(column.name)
    return ", ".join(shown), values


def write_days_old(con: duckdb.DuckDBPyConnection, sheet_table: SheetTable, of_sheet: Sequence[SheetTable]) -> None:
    """Dates that were not recorded: the day on which the baby of the same line was so many days old."""
    cases = [gives.number for gives in of_sheet if gives.table.name == "cases"]
    for name, origin in sheet_table.rows.columns.items():
        if origin.days_old is not None:
            con.execute(
                f"UPDATE written_{sheet_table.table.name} AS w SET {name} = "
                "strftime(read_date(c.first_contact_date) - read_integer(c.age_days) + CAST($days AS INTEGER), "
                "'%Y-%m-%d') "
                "FROM written_cases AS c WHERE w.sheet_table = $sheet_table AND c.line = w.line "
                "AND list_contains($cases, c.sheet_table)",
                {"days": origin.days_old, "sheet_table": sheet_table.number, "cases": cases},
            )


def list_unused(con: duckdb.DuckDBPyConnection, sheet: int, of_sheet: Sequence[SheetTable]) -> None:
    """Count the lines that hold nothing; list those that give no row, and dates whose row is not asked for."""
    con.execute(
        "INSERT INTO blank_lines SELECT $sheet, coalesce(sum(last_line - line + 1), 0) FROM records "
        "WHERE len(list_filter(fields, lambda field: field <> '')) = 0",
        {"sheet": sheet},
    )
    lines = _lines_of_rows(of_sheet)
    con.execute(
        "INSERT INTO set_aside BY NAME SELECT $sheet AS sheet, '' AS table_name, line, last_line, '' AS column_name, "
        "'row' AS kind, 'nothing in the line makes a row' AS found, "
        "'a line that the mapping makes a row of' AS allowed, "
        "'see that the line is complete, and what the mapping asks for' AS mend FROM records "
        f"WHERE len(list_filter(fields, lambda field: field <> '')) > 0 AND line NOT IN ({lines})",
        {"sheet": sheet},
    )
    for header in sorted({header for sheet_table in of_sheet for header in _must_dates(sheet_table)}):
        readers = [sheet_table for sheet_table in of_sheet if header in sheet_table.headers.values()]
        if any(sheet_table.rows.when is None for sheet_table in readers):
            continue
        con.execute(
            "INSERT INTO set_aside BY NAME SELECT $sheet AS sheet, $table AS table_name, line, last_line, "
            f"$header AS said_as, '' AS column_name, 'value' AS kind, {text_at(readers[0], header)} AS found, "
            "$allowed AS allowed, 'correct the one or the other in the record' AS mend FROM records "
            f"WHERE {text_at(readers[0], header)} IS NOT NULL AND line NOT IN ({_lines_of_rows(readers)})",
            {
                "sheet": sheet,
                "table": readers[0].table.name,
                "header": header,
                "allowed": "nothing, where " + " and ".join(_condition_words(sheet_table) for sheet_table in readers),
            },
        )


def _lines_of_rows(sheet_tables: Sequence[SheetTable]) -> str:
    """The lines of which any of them made a row."""
    return " UNION ".join(
        f"SELECT line FROM written_{gives.table.name} WHERE sheet_table = {gives.number}" for gives in sheet_tables
    )


def _must_dates(sheet_table: SheetTable) -> list[str]:
    return [
        header
        for name, header in sheet_table.headers.items()
        if sheet_table.table.column(name).kind == DATE and sheet_table.table.column(name).must
    ]


def _condition_words(sheet_table: SheetTable) -> str:
    when = sheet_table.rows.when
    assert when is not None
    return f"{when.column} does not hold {' or '.join(when.values)}" if when.values else f"{when.column} is empty"
