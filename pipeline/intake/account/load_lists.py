"""What was set aside and what was a repeat, as files for the person who mends the records.

Comes in: a load in the store. Goes out: to_mend.xlsx, set_aside.csv, lines.csv and repeats.csv in the load's own
folder; csv_files and mending_workbook see to it that no cell is run.
"""

from __future__ import annotations

from pathlib import Path

import duckdb

from pipeline.intake import statements
from pipeline.intake.account import findings, mending_workbook
from pipeline.store import csv_files

# Each list, and the header of its file: the columns of sql/intake/list_of_<name>.sql.
_LISTS = {
    "set_aside": ["file", "line", "last_line", "table", "column", "kind", "found", "allowed", "mend"],
    "lines": ["file", "lines", "header", "blank", "accepted", "set_aside", "repeats", "left_out"],
    "repeats": ["file", "line"],
}


def write(con: duckdb.DuckDBPyConnection, load: int, folder: Path) -> Path:
    """Write the lists of a load into folder/loads/NNNN; the folder written to."""
    place = folder / "loads" / f"{load:04}"
    place.mkdir(parents=True, exist_ok=True)
    for name, columns in _LISTS.items():
        csv_files.write(place / f"{name}.csv", columns, statements.rows(con, f"list_of_{name}", {"load": load}))
    mending_workbook.write_workbook(place / "to_mend.xlsx", findings.listed(con, load), export=f"load {load}")
    return place
