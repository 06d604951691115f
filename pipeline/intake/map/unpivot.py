"""The rows that a line makes, where a mapping spreads one line over several tables.

Comes in: the records of one sheet, registered as `records`, and what it gives of one table. Goes out: its rows in
written_<table>, and findings in set_aside for texts the mapping does not know and for lines and dates that give no row.

A row is made where the mapping's `when` holds; else where a column of its own holds something: not case_ref, nor a
constant, nor a column that another part of the sheet reads too, unless it has no other. Each distinct text is
translated once, in Python.
"""

from __future__ import annotations

from collections.abc import Sequence

import duckdb
import pyarrow as pa

from pipeline.contracts.layout import DATE
from pipeline.intake import statements
from pipeline.intake.map import field_sql
from pipeline.intake.map.conditions import deciding
from pipeline.intake.map.sheet_tables import SheetTable
from pipeline.intake.map.translation import needs_translation, parted, translate
from pipeline.intake.map.words.left_out import LeftOut

_MEANINGS = pa.schema([(name, pa.string()) for name in ("column_name", "kind", "written", "text", "allowed")])

_PARTS = pa.schema({"written": pa.string(), "part": pa.string(), "number": pa.int64()})


def write_made(
    con: duckdb.DuckDBPyConnection,
    sheet_table: SheetTable,
    of_sheet: Sequence[SheetTable],
    first: int,
    span: int,
    left: LeftOut,
) -> None:
    """Add the rows to written_<table>.

    `first` is added to a line, to tell rows of several sheets apart; `span` once more for each further part of a cell.
    """
    statement, values = field_sql.rows_read(sheet_table)
    if sheet_table.split_header:
        _read_parts(con, sheet_table)
        values["span"] = span
    con.execute(statement, {"first": first, "sheet_table": sheet_table.number, **values})
    statements.make_view(con, "texts_read")
    translated, all_known = _translate(con, sheet_table, left)
    con.execute(field_sql.rows_made(sheet_table, translated, _making(sheet_table, of_sheet)))
    con.execute(*field_sql.rows_with_constants(sheet_table))
    if not all_known:
        values = {"sheet": sheet_table.sheet_number, "table": sheet_table.table.name}
        statements.add(con, "set_aside", "texts_not_known", values)


def _read_parts(con: duckdb.DuckDBPyConnection, sheet_table: SheetTable) -> None:
    """cell_parts: the parts of each cell of the column that is split, in their order."""
    header = sheet_table.split_header
    split = next(origin.split for origin in sheet_table.rows.columns.values() if origin.split)
    cells = statements.rows(con, "texts_at", {"place": sheet_table.place(header)})
    parts = [(cell, part, number) for cell, _ in cells for number, part in enumerate(parted(cell or "", split))]
    con.register("parts", pa.Table.from_pylist([dict(zip(_PARTS.names, row, strict=True)) for row in parts], _PARTS))
    con.execute("CREATE OR REPLACE TEMP TABLE cell_parts AS SELECT * FROM parts")
    con.unregister("parts")


def _translate(con: duckdb.DuckDBPyConnection, sheet_table: SheetTable, left: LeftOut) -> tuple[list[str], bool]:
    """meanings: each text of the columns that need it, in the layout's own writing, or what is allowed instead.

    Gives back those columns, and whether the mapping knows all their texts.
    """
    origins = sheet_table.rows.columns.items()
    columns = {name: sheet_table.table.column(name) for name, origin in origins if origin.column is not None}
    translated = [name for name in columns if needs_translation(sheet_table.rows.columns[name], columns[name])]
    texts: dict[str, dict[str, int]] = {name: {} for name in translated}
    if translated:
        for name, text, lines in statements.rows(con, "texts_of_columns", {"columns": translated}):
            texts[name][text] = lines
    meanings = []
    for name in translated:
        column, origin = columns[name], sheet_table.rows.columns[name]
        result = translate(origin, column, texts[name])
        left.see(origin, column, texts[name], result)
        kind = "row" if column.must else "value"
        meanings += [(name, kind, text, result.texts.get(text), result.refused.get(text)) for text in texts[name]]
    rows = [dict(zip(_MEANINGS.names, meaning, strict=True)) for meaning in meanings]
    con.register("meanings_found", pa.Table.from_pylist(rows, _MEANINGS))
    con.execute("CREATE OR REPLACE TEMP TABLE meanings AS SELECT * FROM meanings_found")
    con.unregister("meanings_found")
    return translated, all(allowed is None for *_, allowed in meanings)


def _making(sheet_table: SheetTable, of_sheet: Sequence[SheetTable]) -> list[str]:
    """The columns whose being filled makes a row: those that only it reads, else its date, else whatever it reads."""
    elsewhere = {header for other in of_sheet if other is not sheet_table for header in other.headers.values()}
    read = {name: header for name, header in sheet_table.headers.items() if name != "case_ref"}
    own = [name for name, header in read.items() if header not in elsewhere]
    return own or [name for name in read if sheet_table.table.column(name).kind == DATE] or list(read)


def write_days_old(con: duckdb.DuckDBPyConnection, sheet_table: SheetTable, of_sheet: Sequence[SheetTable]) -> None:
    """Dates that were not recorded: the day on which the baby of the same line was so many days old."""
    cases = [gives.number for gives in of_sheet if gives.table.name == "cases"]
    for name, origin in sheet_table.rows.columns.items():
        if origin.days_old is not None:
            values = {"days": origin.days_old, "sheet_table": sheet_table.number, "cases": cases}
            con.execute(field_sql.day_by_age(sheet_table.table.name, name), values)


def list_unused(con: duckdb.DuckDBPyConnection, sheet: int, of_sheet: Sequence[SheetTable]) -> None:
    """Account for the lines that give no row, and list dates whose row is not asked for.

    Blank ones, those left out on purpose, and those with a value that the mapping does not foresee come first: all
    others that give no row are set aside as such.
    """
    statements.add(con, "blank_lines", "blank_lines", {"sheet": sheet})
    givers = [gives.number for gives in of_sheet]
    deciding.list_not_made(con, sheet, of_sheet)
    statements.add(con, "set_aside", "lines_without_rows", {"sheet": sheet, "sheet_tables": givers})
    for header in sorted({header for gives in of_sheet for header in _must_dates(gives)}):
        readers = [gives for gives in of_sheet if header in gives.headers.values()]
        if any(not reader.rows.when for reader in readers):
            continue
        values = {
            "sheet": sheet,
            "sheet_tables": [reader.number for reader in readers],
            "table": readers[0].table.name,
            "header": header,
            "place": readers[0].place(header),
            "explaining": deciding.explaining(readers),
            "allowed": "nothing, unless " + ", or ".join(_condition_words(reader) for reader in readers),
        }
        statements.add(con, "set_aside", "dates_not_asked_for", values)


def _must_dates(sheet_table: SheetTable) -> list[str]:
    columns = [(sheet_table.table.column(name), header) for name, header in sheet_table.headers.items()]
    return [header for column, header in columns if column.kind == DATE and column.must]


def _condition_words(sheet_table: SheetTable) -> str:
    return " and ".join(when.words for when in sheet_table.rows.when)
