"""The records of sheets in, the written rows of the layout's tables out: each line gives its rows.

Goes out, on the connection: sheets, draws, draw_columns, written_<table> (texts in the layout's own codes, NULL for
nothing), and findings in set_aside for lines that could not be read, values the mapping does not know, and lines that
give no row.
Refuses nothing itself: what it cannot use is listed.

Column places come from the sheets, values are parameters.
"""

from __future__ import annotations

import duckdb
import pyarrow as pa

from pipeline.contracts import layout
from pipeline.intake.map import unpivot
from pipeline.intake.map.export import Export
from pipeline.intake.map.field_sql import SPACE, text_of
from pipeline.intake.map.sheet_tables import Draw
from pipeline.intake.read.sheet import Sheet
from pipeline.progress import STAGES, Progress

_MEND_LINE = "mend the line in the file, or export it again"


def spread(con: duckdb.DuckDBPyConnection, export: Export, watch: Progress) -> None:
    """Make the written tables of an export. The table set_aside is there already."""
    con.execute("CREATE TEMP TABLE sheets (sheet INTEGER, file VARCHAR)")
    con.execute("CREATE TEMP TABLE draws (draw INTEGER, table_name VARCHAR, sheet INTEGER)")
    con.execute("CREATE TEMP TABLE draw_columns (draw INTEGER, column_name VARCHAR, said_as VARCHAR)")
    con.execute("CREATE TEMP TABLE blank_lines (sheet INTEGER, lines BIGINT)")
    for table in layout.tables():
        columns = ", ".join(f"{column.name} VARCHAR" for column in table.columns)
        con.execute(
            f"CREATE TEMP TABLE written_{table.name} "
            f"(row_id BIGINT, draw INTEGER, line BIGINT, last_line BIGINT, {columns})"
        )
    for draw in export.draws:
        con.execute("INSERT INTO draws VALUES ($1, $2, $3)", [draw.number, draw.table.name, draw.sheet_number])
        for column, said_as in draw.told_as.items():
            con.execute("INSERT INTO draw_columns VALUES ($1, $2, $3)", [draw.number, column, said_as])
    for place, sheet in {draw.sheet_number: draw.sheet for draw in export.draws}.items():
        watch.stage(f"splitting {sheet.file}")
        con.execute("INSERT INTO sheets VALUES ($1, $2)", [place, sheet.file])
        _list_damage(con, export, place, sheet)
        con.register("records", sheet.records)
        on_it = [draw for draw in export.draws if draw.sheet_number == place]
        for draw in on_it:
            if export.in_layout:
                _write_all(con, draw, _first_row_id(export, draw))
            else:
                unpivot.write_told(con, draw, on_it, _first_row_id(export, draw))
        if not export.in_layout:
            for draw in on_it:
                unpivot.write_days_old(con, draw, on_it)
            unpivot.list_unused(con, place, on_it)
        con.unregister("records")
        watch.done(sheet.records.num_rows / STAGES)


def _first_row_id(export: Export, draw: Draw) -> int:
    """Rows of a table are told apart by line, behind those of the table's earlier draws."""
    earlier = [each for each in export.draws if each.table == draw.table and each.number < draw.number]
    return sum(each.sheet.physical_lines for each in earlier)


def _list_damage(con: duckdb.DuckDBPyConnection, export: Export, place: int, sheet: Sheet) -> None:
    tables = {draw.table.name for draw in export.draws if draw.sheet_number == place}
    damage = pa.table(
        {
            "line": pa.array([each.line for each in sheet.damaged], pa.int64()),
            "last_line": pa.array([each.last_line for each in sheet.damaged], pa.int64()),
            "found": pa.array([each.found for each in sheet.damaged], pa.string()),
            "allowed": pa.array([each.allowed for each in sheet.damaged], pa.string()),
        }
    )
    con.register("damage", damage)
    con.execute(
        "INSERT INTO set_aside BY NAME SELECT $sheet AS sheet, $table AS table_name, line, last_line, "
        "'' AS column_name, 'row' AS kind, found, allowed, $mend AS mend FROM damage",
        {"sheet": place, "table": tables.pop() if len(tables) == 1 else "", "mend": _MEND_LINE},
    )
    con.unregister("damage")


def _write_all(con: duckdb.DuckDBPyConnection, draw: Draw, first: int) -> None:
    """Every record is a row: an export in the layout."""
    columns = ", ".join(text_of(draw, column) for column in draw.table.columns)
    con.execute(
        f"INSERT INTO written_{draw.table.name} "
        f"SELECT line + $first AS row_id, $draw AS draw, line, last_line, {columns} FROM records",
        {"first": first, "draw": draw.number, "space": SPACE},
    )
