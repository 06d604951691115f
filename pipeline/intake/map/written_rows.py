"""The records of sheets in, the written rows of the layout's tables out: each line gives its rows.

Goes out, on the connection: sheets, sheet_tables, sheet_table_columns, written_<table> (texts in the layout's own
codes, NULL for nothing), and findings in set_aside for lines that could not be read, values the mapping does not know,
and lines that give no row.

Column places come from the sheets, values are parameters.
"""

from __future__ import annotations

import duckdb
import pyarrow as pa

from pipeline.contracts import layout
from pipeline.intake.map import unpivot
from pipeline.intake.map.export import Export
from pipeline.intake.map.field_sql import text_of, trimmed_records
from pipeline.intake.map.sheet_tables import SheetTable
from pipeline.intake.read.sheet import Sheet
from pipeline.progress import STAGES, Progress

_MEND_LINE = "mend the line in the file, or export it again"


def write_rows(con: duckdb.DuckDBPyConnection, export: Export, watch: Progress) -> None:
    """Make the written tables of an export. The table set_aside is there already."""
    con.execute("CREATE TEMP TABLE sheets (sheet INTEGER, file VARCHAR)")
    con.execute("CREATE TEMP TABLE sheet_tables (sheet_table INTEGER, table_name VARCHAR, sheet INTEGER)")
    con.execute("CREATE TEMP TABLE sheet_table_columns (sheet_table INTEGER, column_name VARCHAR, said_as VARCHAR)")
    con.execute("CREATE TEMP TABLE blank_lines (sheet INTEGER, lines BIGINT)")
    for table in layout.tables():
        columns = ", ".join(f"{column.name} VARCHAR" for column in table.columns)
        con.execute(
            f"CREATE TEMP TABLE written_{table.name} "
            f"(row_id BIGINT, sheet_table INTEGER, line BIGINT, last_line BIGINT, {columns})"
        )
    for sheet_table in export.sheet_tables:
        row = [sheet_table.number, sheet_table.table.name, sheet_table.sheet_number]
        con.execute("INSERT INTO sheet_tables VALUES ($1, $2, $3)", row)
        for column, said_as in sheet_table.shown_as.items():
            con.execute("INSERT INTO sheet_table_columns VALUES ($1, $2, $3)", [sheet_table.number, column, said_as])
    for place, sheet in export.numbered_sheets.items():
        watch.stage(f"splitting {sheet.file}")
        con.execute("INSERT INTO sheets VALUES ($1, $2)", [place, sheet.file])
        _list_damage(con, export, place, sheet)
        con.register("records", trimmed_records(sheet))
        of_sheet = [sheet_table for sheet_table in export.sheet_tables if sheet_table.sheet_number == place]
        for sheet_table in of_sheet:
            if export.in_layout:
                _write_all(con, sheet_table, _first_row_id(export, sheet_table))
            else:
                unpivot.write_made(con, sheet_table, of_sheet, _first_row_id(export, sheet_table))
        if not export.in_layout:
            for sheet_table in of_sheet:
                unpivot.write_days_old(con, sheet_table, of_sheet)
            unpivot.list_unused(con, place, of_sheet)
        con.unregister("records")
        watch.done(sheet.records.num_rows / STAGES)


def _first_row_id(export: Export, sheet_table: SheetTable) -> int:
    """Rows of a table are told apart by line, behind those that earlier sheets give of the table."""
    return sum(
        earlier.sheet.physical_lines
        for earlier in export.sheet_tables
        if earlier.table == sheet_table.table and earlier.number < sheet_table.number
    )


def _list_damage(con: duckdb.DuckDBPyConnection, export: Export, place: int, sheet: Sheet) -> None:
    tables = {sheet_table.table.name for sheet_table in export.sheet_tables if sheet_table.sheet_number == place}
    damaged_lines = pa.table(
        {
            "line": pa.array([damage.line for damage in sheet.damaged], pa.int64()),
            "last_line": pa.array([damage.last_line for damage in sheet.damaged], pa.int64()),
            "found": pa.array([damage.found for damage in sheet.damaged], pa.string()),
            "allowed": pa.array([damage.allowed for damage in sheet.damaged], pa.string()),
        }
    )
    con.register("damaged_lines", damaged_lines)
    con.execute(
        "INSERT INTO set_aside BY NAME SELECT $sheet AS sheet, $table AS table_name, line, last_line, "
        "'' AS column_name, 'row' AS kind, found, allowed, $mend AS mend FROM damaged_lines",
        {"sheet": place, "table": tables.pop() if len(tables) == 1 else "", "mend": _MEND_LINE},
    )
    con.unregister("damaged_lines")


def _write_all(con: duckdb.DuckDBPyConnection, sheet_table: SheetTable, first: int) -> None:
    """Every record is a row: an export in the layout."""
    columns = ", ".join(text_of(sheet_table, column) for column in sheet_table.table.columns)
    con.execute(
        f"INSERT INTO written_{sheet_table.table.name} "
        f"SELECT line + $first AS row_id, $sheet_table AS sheet_table, line, last_line, {columns} FROM records",
        {"first": first, "sheet_table": sheet_table.number},
    )
