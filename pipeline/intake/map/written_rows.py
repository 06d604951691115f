"""The records of sheets in, the written rows of the layout's tables out: each line gives its rows.

Goes out, on the connection: sheets, sheet_tables, sheet_table_columns, written_<table> (texts in the layout's own
codes, NULL for nothing), and findings in set_aside for lines that could not be read, values the mapping does not know,
and lines that give no row; in left_out_lines those that give none on purpose.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence

import duckdb
import pyarrow as pa

from pipeline.contracts import layout
from pipeline.intake import statements
from pipeline.intake.map import field_sql, unpivot
from pipeline.intake.map.conditions import deciding
from pipeline.intake.map.export import Export
from pipeline.intake.map.sheet_tables import SheetTable
from pipeline.intake.map.words.left_out import LeftOut
from pipeline.intake.map.words.spellings import unify
from pipeline.intake.read.sheet import Sheet
from pipeline.progress import STAGES, Progress
from pipeline.store import Remark

_DAMAGE = pa.schema({"line": pa.int64(), "last_line": pa.int64(), "found": pa.string(), "allowed": pa.string()})


def write_rows(con: duckdb.DuckDBPyConnection, export: Export, watch: Progress) -> tuple[Remark, ...]:
    """Make the written tables of an export; what was left out in reading. The table set_aside is there already."""
    remarks: list[Remark] = []
    con.execute("CREATE TEMP TABLE sheets (sheet INTEGER, file VARCHAR)")
    con.execute("CREATE TEMP TABLE sheet_tables (sheet_table INTEGER, table_name VARCHAR, sheet INTEGER)")
    con.execute("CREATE TEMP TABLE sheet_table_columns (sheet_table INTEGER, column_name VARCHAR, said_as VARCHAR)")
    con.execute("CREATE TEMP TABLE blank_lines (sheet INTEGER, lines BIGINT)")
    con.execute("CREATE TEMP TABLE left_out_lines (sheet INTEGER, line BIGINT, last_line BIGINT)")
    for table in layout.tables():
        con.execute(field_sql.written_table(table))
    con.execute(field_sql.written_rows())
    for sheet_table in export.sheet_tables:
        row = [sheet_table.number, sheet_table.table.name, sheet_table.sheet_number]
        con.execute("INSERT INTO sheet_tables VALUES ($1, $2, $3)", row)
        columns = [sheet_table.number, list(sheet_table.shown_as), list(sheet_table.shown_as.values())]
        con.execute("INSERT INTO sheet_table_columns SELECT $1, unnest($2), unnest($3)", columns)
    for place, sheet in export.numbered_sheets.items():
        watch.stage(f"splitting {sheet.file}")
        con.execute("INSERT INTO sheets VALUES ($1, $2)", [place, sheet.file])
        of_sheet = [sheet_table for sheet_table in export.sheet_tables if sheet_table.sheet_number == place]
        _list_damage(con, of_sheet, sheet)
        _list_left_out(con, place, sheet)
        left = LeftOut()
        for name in ("filled_lines", "filled_whole"):
            con.register(name, pa.table({"line": pa.array(getattr(sheet, name), pa.int64())}))
        con.register("records", field_sql.trimmed_records(sheet))
        deciding.read_deciding(con, of_sheet, left)
        for sheet_table in of_sheet:
            first = _first_row_id(export, sheet_table)
            if export.in_layout:
                values = {"first": first, "sheet_table": sheet_table.number}
                con.execute(field_sql.rows_of_layout(sheet_table), values)
            else:
                unpivot.write_made(con, sheet_table, of_sheet, first, _span(export, sheet_table), left)
        if not export.in_layout:
            for sheet_table in of_sheet:
                unpivot.write_days_old(con, sheet_table, of_sheet)
            unpivot.list_unused(con, place, of_sheet)
        con.unregister("records")
        con.unregister("filled_lines")
        con.unregister("filled_whole")
        remarks += [Remark(f"{sheet.file}: {words}", serious=False) for words in left.words()]
        watch.done(sheet.records.num_rows / STAGES)
    remarks += [Remark(words, serious=False) for words in unify(con)]
    return tuple(remarks)


def _first_row_id(export: Export, sheet_table: SheetTable) -> int:
    """Rows of a table are told apart by line, behind those that earlier sheets give of the table."""
    return sum(
        earlier.sheet.physical_lines
        for earlier in export.sheet_tables
        if earlier.table == sheet_table.table and earlier.number < sheet_table.number
    )


def _span(export: Export, sheet_table: SheetTable) -> int:
    """More than any line of any sheet that gives rows of the table, counted as _first_row_id does."""
    return 1 + sum(gives.sheet.physical_lines for gives in export.sheet_tables if gives.table == sheet_table.table)


def _list_left_out(con: duckdb.DuckDBPyConnection, place: int, sheet: Sheet) -> None:
    line, last_line = ([lines[at] for lines in sheet.left_out] for at in (0, 1))
    con.register(
        "left_out", pa.table({"line": pa.array(line, pa.int64()), "last_line": pa.array(last_line, pa.int64())})
    )
    con.execute("INSERT INTO left_out_lines SELECT $1, line, last_line FROM left_out", [place])
    con.unregister("left_out")


def _list_damage(con: duckdb.DuckDBPyConnection, of_sheet: Sequence[SheetTable], sheet: Sheet) -> None:
    tables = {sheet_table.table.name for sheet_table in of_sheet}
    con.register("damaged_lines", pa.Table.from_pylist([dataclasses.asdict(line) for line in sheet.damaged], _DAMAGE))
    values = {"sheet": of_sheet[0].sheet_number, "table": tables.pop() if len(tables) == 1 else ""}
    statements.add(con, "set_aside", "damaged_lines", values)
    con.unregister("damaged_lines")
