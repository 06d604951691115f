"""The SQL expression that reads a layout column from a sheet's fields, joined from places, never from values.

Comes in: a sheet giving rows of a table, and a layout column. Goes out: an expression over `fields`, its parameter
$space being SPACE.
"""

from __future__ import annotations

from pipeline.contracts.layout import Column
from pipeline.intake.map.sheet_tables import SheetTable
from pipeline.intake.map.translation import needs_translation

# Every white space of Unicode, as str.strip and Arrow trim it too.
SPACE = "".join(chr(code) for code in range(0x3001) if chr(code).isspace())


def text_at(sheet_table: SheetTable, header: str) -> str:
    """What the sheet's column of that name holds, trimmed, NULL for nothing."""
    return f"nullif(trim(fields[{sheet_table.sheet.header.index(header) + 1}], $space), '')"


def text_of(sheet_table: SheetTable, column: Column) -> str:
    """What the sheet holds for a layout column; not_known is nothing in an optional column."""
    origin = sheet_table.rows.columns.get(column.name)
    if origin is None or origin.column is None:
        return f"CAST(NULL AS VARCHAR) AS {column.name}"
    text = text_at(sheet_table, origin.column)
    if not column.must and not needs_translation(origin):
        text = f"nullif({text}, 'not_known')"
    return f"{text} AS {column.name}"
