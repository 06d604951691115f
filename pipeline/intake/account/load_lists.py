"""What was set aside and what was a repeat, as files for the person who mends the records.

Comes in: a load in the store. Goes out: to_mend.xlsx, set_aside.csv, lines.csv and repeats.csv in the load's own
folder. Refuses nothing; safe_csv and mending see to it that no cell is run.
"""

from __future__ import annotations

from pathlib import Path

import duckdb

from pipeline.intake.account import findings, mending_workbook
from pipeline.store import csv_files


def write(con: duckdb.DuckDBPyConnection, load: int, folder: Path) -> Path:
    """Write the lists of a load into folder/loads/NNNN; the folder written to."""
    place = folder / "loads" / f"{load:04}"
    place.mkdir(parents=True, exist_ok=True)
    header = ["file", "line", "last_line", "table", "column", "kind", "found", "allowed", "mend"]
    found = con.execute(
        "SELECT file, line, last_line, table_name, said_as, kind, found, allowed, mend FROM store.set_aside "
        "WHERE load = $1 ORDER BY file, line, said_as, allowed, found",
        [load],
    ).fetchall()
    csv_files.write(place / "set_aside.csv", header, found)
    mending_workbook.write_workbook(place / "to_mend.xlsx", findings.listed(con, load), export=f"load {load}")
    header = ["file", "lines", "header", "blank", "accepted", "set_aside", "repeats"]
    counted = con.execute(
        f"SELECT {', '.join(header)} FROM store.files WHERE load = $1 ORDER BY file", [load]
    ).fetchall()
    csv_files.write(place / "lines.csv", header, counted)
    repeats = con.execute("SELECT file, line FROM store.repeats WHERE load = $1 ORDER BY file, line", [load]).fetchall()
    csv_files.write(place / "repeats.csv", ["file", "line"], repeats)
    return place
