"""What was set aside and what was a repeat, as files for the person who mends the records.

Comes in: a load in the store. Goes out: to_mend.xlsx, set_aside.csv, lines.csv and repeats.csv in the load's own
folder. Refuses to write a cell that a spreadsheet would run: one that begins like a formula gets an apostrophe.
"""

from __future__ import annotations

import csv
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any

import duckdb

from pipeline.intake import findings, mending
from pipeline.intake.mending import FORMULA_STARTS


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
    _write(place / "set_aside.csv", header, found)
    mending.write_workbook(place / "to_mend.xlsx", findings.listed(con, load), export=f"load {load}")
    header = ["file", "lines", "header", "blank", "accepted", "set_aside", "repeats"]
    counted = con.execute(
        f"SELECT {', '.join(header)} FROM store.files WHERE load = $1 ORDER BY file", [load]
    ).fetchall()
    _write(place / "lines.csv", header, counted)
    repeats = con.execute("SELECT file, line FROM store.repeats WHERE load = $1 ORDER BY file, line", [load]).fetchall()
    _write(place / "repeats.csv", ["file", "line"], repeats)
    return place


def _write(path: Path, header: Sequence[str], rows: Iterable[Sequence[Any]]) -> None:
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(header)
        writer.writerows([_safe(cell) for cell in row] for row in rows)


def _safe(cell: Any) -> Any:
    if not isinstance(cell, str):
        return cell
    # The csv module leaves a lone carriage return unquoted in some versions of Python, and readers end the line there.
    shown = cell.replace("\r", "␍")
    return "'" + shown if cell.startswith(FORMULA_STARTS) else shown
