"""The rows that a line tells of, where a mapping spreads one line over several tables.

Comes in: the records of one sheet, registered as `records`, and a draw. Goes out: its rows in written_<table>, and
findings in set_aside for values the mapping does not know and for lines and dates that give no row.
Refuses nothing itself: what gives no row is listed.

A row is made where the mapping's `when` holds; else where a column of its own holds something: not case_ref, nor a
constant, nor a column that another part of the sheet reads too, unless it has no other. Each distinct text is
translated once, in Python.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import duckdb

from pipeline.contracts.layout import DATE
from pipeline.intake.map.field_sql import SPACE, text_at, text_of
from pipeline.intake.map.sheet_tables import Draw
from pipeline.intake.map.translation import needs_translation, translate

_MEND_CODE = "correct it in the record, or say in the mapping what it means"


def write_told(con: duckdb.DuckDBPyConnection, draw: Draw, on_it: Sequence[Draw], first: int) -> None:
    """Add the draw's rows to written_<table>; `first` is added to a line to tell rows of several draws apart."""
    columns = ", ".join(text_of(draw, column) for column in draw.table.columns)
    asked_for, values = _asked_for(draw)
    con.execute(
        "CREATE OR REPLACE TEMP TABLE drawn AS "
        f"SELECT line + $first AS row_id, $draw AS draw, line, last_line, {columns}, {asked_for} AS is_asked_for "
        "FROM records WHERE len(list_filter(fields, lambda field: trim(field, $space) <> '')) > 0",
        {"first": first, "draw": draw.number, "space": SPACE, **values},
    )
    _translate(con, draw)
    is_told = " OR ".join(f"({name} IS NOT NULL OR refused_{name})" for name in _telling(draw, on_it)) or "FALSE"
    if draw.rows.when is not None:
        is_told = "is_asked_for"
    elif draw.table.name == "cases":
        is_told = "TRUE"
    con.execute(f"CREATE OR REPLACE TEMP TABLE told AS SELECT * FROM translated WHERE {is_told}")
    written, constants = _with_constants(draw)
    con.execute(
        f"INSERT INTO written_{draw.table.name} SELECT row_id, draw, line, last_line, {written} FROM told", constants
    )
    for name in _translated(draw):
        con.execute(
            "INSERT INTO set_aside BY NAME SELECT $sheet AS sheet, $table AS table_name, row_id, t.line, t.last_line, "
            f"$column AS column_name, $kind AS kind, d.{name} AS found, m.allowed, $mend AS mend "
            "FROM told AS t JOIN drawn AS d USING (row_id) "
            f"JOIN meant AS m ON m.column_name = $column AND m.written = d.{name} WHERE refused_{name}",
            {
                "sheet": draw.sheet_number,
                "table": draw.table.name,
                "column": name,
                "kind": "row" if draw.table.column(name).must else "value",
                "mend": _MEND_CODE,
            },
        )


def _asked_for(draw: Draw) -> tuple[str, dict[str, Any]]:
    when = draw.rows.when
    if when is None:
        return "TRUE", {}
    text = text_at(draw, when.column)
    if not when.values:
        return f"{text} IS NOT NULL", {}
    return f"coalesce(list_contains($asked, {text}), FALSE)", {"asked": list(when.values)}


def _translated(draw: Draw) -> list[str]:
    return [
        name for name, origin in draw.rows.columns.items() if origin.column is not None and needs_translation(origin)
    ]


def _translate(con: duckdb.DuckDBPyConnection, draw: Draw) -> None:
    """translated: drawn, each text in the layout's own writing; refused_<column> says where there is none."""
    con.execute(
        "CREATE OR REPLACE TEMP TABLE meant (column_name VARCHAR, written VARCHAR, text VARCHAR, allowed VARCHAR)"
    )
    names = _translated(draw)
    for name in names:
        written = [
            text for (text,) in con.execute(f"SELECT DISTINCT {name} FROM drawn WHERE {name} IS NOT NULL").fetchall()
        ]
        result = translate(draw.rows.columns[name], draw.table.column(name), written)
        meant = [[name, text, result.texts.get(text), result.refused.get(text)] for text in sorted(written)]
        if meant:
            con.executemany("INSERT INTO meant VALUES ($1, $2, $3, $4)", meant)
    shown = []
    for column in draw.table.columns:
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
        "CREATE OR REPLACE TEMP TABLE translated AS SELECT row_id, draw, line, last_line, is_asked_for, "
        f"{', '.join(shown)} FROM drawn AS d {joins}"
    )


def _telling(draw: Draw, on_it: Sequence[Draw]) -> list[str]:
    """The columns whose being filled makes a row: those of the draw's own, else its date, else whatever it reads."""
    elsewhere = {header for other in on_it if other is not draw for header in other.said_as.values()}
    read = {name: header for name, header in draw.said_as.items() if name != "case_ref"}
    own = [name for name, header in read.items() if header not in elsewhere]
    return own or [name for name in read if draw.table.column(name).kind == DATE] or list(read)


def _with_constants(draw: Draw) -> tuple[str, dict[str, Any]]:
    """The columns of told, with the mapping's constants and prefixes."""
    shown, values = [], {}
    for column in draw.table.columns:
        origin = draw.rows.columns.get(column.name)
        if origin is not None and origin.constant is not None:
            shown.append(f"nullif($constant_{column.name}, '')")
            values[f"constant_{column.name}"] = origin.constant
        elif origin is not None and origin.prefix:
            shown.append(f"$prefix_{column.name} || {column.name}")
            values[f"prefix_{column.name}"] = origin.prefix
        else:
            shown.append(column.name)
    return ", ".join(shown), values


def write_days_old(con: duckdb.DuckDBPyConnection, draw: Draw, on_it: Sequence[Draw]) -> None:
    """Dates that were not recorded: the day on which the baby of the same line was so many days old."""
    cases = [each.number for each in on_it if each.table.name == "cases"]
    for name, origin in draw.rows.columns.items():
        if origin.days_old is not None:
            con.execute(
                f"UPDATE written_{draw.table.name} AS w SET {name} = "
                "strftime(read_date(c.first_contact_date) - read_integer(c.age_days) + CAST($days AS INTEGER), "
                "'%Y-%m-%d') "
                "FROM written_cases AS c WHERE w.draw = $draw AND c.line = w.line AND list_contains($cases, c.draw)",
                {"days": origin.days_old, "draw": draw.number, "cases": cases},
            )


def list_unused(con: duckdb.DuckDBPyConnection, sheet: int, on_it: Sequence[Draw]) -> None:
    """Count the lines that hold nothing; list those that give no row, and dates whose row is not asked for."""
    con.execute(
        "INSERT INTO blank_lines SELECT $sheet, coalesce(sum(last_line - line + 1), 0) FROM records "
        "WHERE len(list_filter(fields, lambda field: trim(field, $space) <> '')) = 0",
        {"sheet": sheet, "space": SPACE},
    )
    lines = " UNION ".join(f"SELECT line FROM written_{draw.table.name} WHERE draw = {draw.number}" for draw in on_it)
    con.execute(
        "INSERT INTO set_aside BY NAME SELECT $sheet AS sheet, '' AS table_name, line, last_line, '' AS column_name, "
        "'row' AS kind, 'nothing in the line makes a row' AS found, "
        "'a line that the mapping makes a row of' AS allowed, "
        "'see that the line is complete, and what the mapping asks for' AS mend FROM records "
        f"WHERE len(list_filter(fields, lambda field: trim(field, $space) <> '')) > 0 AND line NOT IN ({lines})",
        {"sheet": sheet, "space": SPACE},
    )
    for header in sorted({header for draw in on_it for header in _must_dates(draw)}):
        readers = [draw for draw in on_it if header in draw.said_as.values()]
        if any(draw.rows.when is None for draw in readers):
            continue
        made = " UNION ".join(
            f"SELECT line FROM written_{draw.table.name} WHERE draw = {draw.number}" for draw in readers
        )
        con.execute(
            "INSERT INTO set_aside BY NAME SELECT $sheet AS sheet, $table AS table_name, line, last_line, "
            f"$header AS said_as, '' AS column_name, 'value' AS kind, {text_at(readers[0], header)} AS found, "
            "$allowed AS allowed, 'correct the one or the other in the record' AS mend FROM records "
            f"WHERE {text_at(readers[0], header)} IS NOT NULL AND line NOT IN ({made})",
            {
                "sheet": sheet,
                "table": readers[0].table.name,
                "header": header,
                "allowed": "nothing, where " + " and ".join(_said(draw) for draw in readers),
                "space": SPACE,
            },
        )


def _must_dates(draw: Draw) -> list[str]:
    return [
        header
        for name, header in draw.said_as.items()
        if draw.table.column(name).kind == DATE and draw.table.column(name).must
    ]


def _said(draw: Draw) -> str:
    when = draw.rows.when
    assert when is not None
    return f"{when.column} does not hold {' or '.join(when.values)}" if when.values else f"{when.column} is empty"
