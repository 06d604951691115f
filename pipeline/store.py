"""The store: one DuckDB file in the audit folder, to which loads are only ever added.

Comes in: an export, staged and accounted for. Goes out: a load in the store, whole or not at all; a working connection
on which the store is attached as `store`. Refuses: a store of another version, one that another process holds open.

The working connection is in memory and private to one command; the store is attached to it, so that nothing half done
ever stands in the file.
"""

from __future__ import annotations

import os
from collections.abc import Sequence
from datetime import date
from pathlib import Path

import duckdb

from pipeline import __version__, layout
from pipeline.errors import Fault, Refused
from pipeline.intake.accounting import LineCounts
from pipeline.intake.export import Export, Remark
from pipeline.layout import CODE, DATE, INTEGER, TEXT, YES_NO
from pipeline.places import SQL

STORE_VERSION = 1
FILE_NAME = "store.duckdb"
_STORED_AS = {TEXT: "VARCHAR", CODE: "VARCHAR", INTEGER: "INTEGER", DATE: "DATE", YES_NO: "BOOLEAN"}


def work(folder: Path) -> duckdb.DuckDBPyConnection:
    """A working connection that knows sql/macros.sql; what it cannot hold in memory spills into the audit folder."""
    con = duckdb.connect(
        ":memory:",
        config={
            "temp_directory": str(folder / ".spill"),
            "memory_limit": "2GB",
            "threads": min(4, os.cpu_count() or 1),
        },
    )
    con.execute("SET enable_progress_bar = false")
    con.execute((SQL / "macros.sql").read_text(encoding="utf-8"))
    return con


def attach(con: duckdb.DuckDBPyConnection, folder: Path, *, to_load: bool) -> None:
    """Attach the folder's store as `store`, read-only unless `to_load`, which also makes one where there is none."""
    path = folder / FILE_NAME
    if not path.exists() and not to_load:
        mend = "load an export first: feeding-audit load EXPORT"
        raise Refused(Fault(str(folder), "no store yet", f"an audit folder with a {FILE_NAME}", mend))
    try:
        con.execute(f"ATTACH {_quoted(path)} AS store" + ("" if to_load else " (READ_ONLY)"))
    except duckdb.Error as error:
        is_held = "lock" in str(error)
        held = "another program holds it open" if is_held else str(error).split("\n")[0]
        mend = "close the other program, or wait until it is done, and try again"
        if not is_held:
            mend = "see that you may read it; if it is damaged, put back a copy, or load the exports into a new folder"
        raise Refused(Fault(str(path), held, "a store that this program can open", mend)) from error
    tables = con.execute("SELECT 1 FROM duckdb_tables() WHERE database_name = 'store'").fetchall()
    if not tables and to_load:
        _create(con)
    _check_version(con, path)


def _quoted(path: Path) -> str:
    """ATTACH takes no parameter: the path as an SQL text."""
    return "'" + str(path).replace("'", "''") + "'"


def _create(con: duckdb.DuckDBPyConnection) -> None:
    con.execute("BEGIN")
    con.execute((SQL / "store.sql").read_text(encoding="utf-8"))
    for table in layout.tables():
        columns = ", ".join(f"{column.name} {_STORED_AS[column.kind]}" for column in table.columns)
        con.execute(f"CREATE TABLE store.{table.name} (load INTEGER NOT NULL, line BIGINT NOT NULL, {columns})")
    con.execute("INSERT INTO store.about VALUES ($1, $2)", [STORE_VERSION, __version__])
    con.execute("COMMIT")


def _check_version(con: duckdb.DuckDBPyConnection, path: Path) -> None:
    try:
        versions = con.execute("SELECT store_version FROM store.about").fetchall()
    except duckdb.CatalogException:
        versions = []
    if versions != [(STORE_VERSION,)]:
        found = f"a store of version {versions[0][0]}" if versions else "no store of this program"
        mend = "move the file away, and load the exports again"
        raise Refused(Fault(str(path), found, f"a store of version {STORE_VERSION}", mend))


def load_of(con: duckdb.DuckDBPyConnection, export: Export) -> int | None:
    """The number of the load that holds these very files with this cut-off, if there is one."""
    row = con.execute("SELECT load FROM store.loads WHERE fingerprint = $1", [export.fingerprint]).fetchone()
    return row[0] if row else None


def add_load(
    con: duckdb.DuckDBPyConnection, export: Export, counts: Sequence[LineCounts], remarks: Sequence[Remark]
) -> int:
    """Add the accepted rows and the accounts of an export as the next load. All of it, or nothing."""
    con.execute("BEGIN")
    (load,) = con.execute("SELECT coalesce(max(load), 0) + 1 FROM store.loads").fetchall()[0]
    con.execute(
        "INSERT INTO store.loads VALUES ($1, $2, $3, $4, $5)",
        [load, export.name, export.cut_off, export.fingerprint, __version__],
    )
    checksums = {file.table.name: file.sha256 for file in export.files}
    for each in counts:
        con.execute(
            "INSERT INTO store.files VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10)",
            [load, each.table, each.file, checksums[each.table], each.lines, each.header, each.blank, each.accepted,
             each.set_aside, each.repeats],
        )  # fmt: skip
        columns = ", ".join(column.name for column in layout.table(each.table).columns)
        con.execute(
            f"INSERT INTO store.{each.table} SELECT $1, line, {columns} FROM accepted_{each.table} ORDER BY line",
            [load],
        )
    con.execute(
        "INSERT INTO store.set_aside SELECT $1, file, line, last_line, table_name, column_name, kind, found, allowed, "
        "mend FROM set_aside JOIN staged_files USING (table_name) ORDER BY table_name, line, column_name, allowed",
        [load],
    )
    con.execute(
        "INSERT INTO store.repeats SELECT $1, file, line, last_line FROM repeats JOIN staged_files USING (table_name) "
        "ORDER BY file, line",
        [load],
    )
    for remark in remarks:
        con.execute("INSERT INTO store.remarks VALUES ($1, $2, $3)", [load, remark.text, remark.serious])
    con.execute("COMMIT")
    return int(load)


def newest_cut_off(con: duckdb.DuckDBPyConnection) -> date:
    """The newest cut-off of any load. Raises Refused where nothing was loaded."""
    (newest,) = con.execute("SELECT max(extracted_on) FROM store.loads").fetchall()[0]
    if newest is None:
        mend = "load an export first: feeding-audit load EXPORT"
        raise Refused(Fault(FILE_NAME, "no load in it", "at least one load", mend))
    assert isinstance(newest, date)
    return newest


def remarks(con: duckdb.DuckDBPyConnection, *, serious: bool) -> tuple[str, ...]:
    """What each load said that a reader should know, in the order of the loads."""
    query = "SELECT load, remark FROM store.remarks WHERE serious = $1 ORDER BY load, remark"
    return tuple(f"Load {load}, {remark}" for load, remark in con.execute(query, [serious]).fetchall())
