"""Laying out a store: a new one, and one that an older version of the program made.

Comes in: a path without a store, or an attached store. Goes out: a store of this version with the columns of the
layout, whole or not at all; or the views through which one is read. Refuses: a store of a version it does not know, a
DuckDB file that is no store.

Here the columns of the layout are joined into SQL, to make its tables and the views on them.
"""

from __future__ import annotations

import contextlib
import os
from collections.abc import Iterator
from pathlib import Path

import duckdb

from pipeline import __version__
from pipeline.contracts import layout
from pipeline.contracts.places import SQL
from pipeline.errors import Fault, Refused, why_not_written

STORE_VERSION = 5  # of what only changes by a step in sql/store; what the layout gains is added without one
FILE_NAME = "store.duckdb"
UNFINISHED = f"{FILE_NAME}.*new*"  # a store in the making, and its log
# What DuckDB raises where a disk does not take a commit; a TransactionException also where a key is broken.
OF_THE_DISK = (duckdb.IOException, duckdb.FatalException, duckdb.OutOfMemoryException, duckdb.TransactionException)
# What stands in a table of the layout before the layout's own columns.
_PLACE = {"load": "INTEGER", "row_id": "BIGINT", "file": "VARCHAR", "line": "BIGINT"}


def make(con: duckdb.DuckDBPyConnection, path: Path) -> None:
    """Make an empty store at `path`: under another name first, so that a kill leaves no half of one."""
    new = path.with_name(f"{path.name}.{os.getpid()}.new")
    for left in path.parent.glob(f"{new.name}*"):  # of a killed process that had this number
        left.unlink()
    con.execute(f"ATTACH {quoted(new)} AS store")
    new.chmod(0o600)
    with whole(con, "a new store"):
        lay_out(con)
        con.execute("INSERT INTO store.about VALUES ($1, $2)", [STORE_VERSION, __version__])
    con.execute("DETACH store")
    onto_the_disk(new)
    try:
        os.link(new, path)  # unlike a renaming, this never overwrites
    except OSError:
        # Another process was quicker, and its store is as good; or the file system has no links.
        if not path.exists():
            new.replace(path)
    new.unlink(missing_ok=True)
    onto_the_disk(path.parent)


def lay_out(con: duckdb.DuckDBPyConnection) -> None:
    """The tables of this version, in an attached database without any."""
    con.execute(statement("tables"))
    widen(con)


def widen(con: duckdb.DuckDBPyConnection) -> None:
    """Add, empty, what the layout has and the store attached for writing lacks. What it has beyond that stays.

    The comment on a column that is added is the newest event then: no load up to it was asked for the column.
    """
    there = columns(con, "store")
    for table in layout.tables():
        if table.name not in there:
            place = ", ".join(f"{name} {kind} NOT NULL" for name, kind in _PLACE.items())
            own = ", ".join(f"{column.name} {column.stored_as}" for column in table.columns)
            con.execute(f"CREATE TABLE store.{table.name} ({place}, {own})")
            continue
        for column in table.columns:
            if column.name not in there[table.name]:
                ((event,),) = con.execute("SELECT coalesce(max(event), 0) FROM store.events").fetchall()
                con.execute(f"ALTER TABLE store.{table.name} ADD COLUMN {column.name} {column.stored_as}")
                con.execute(f"COMMENT ON COLUMN store.{table.name}.{column.name} IS '{event:d}'")


def show(con: duckdb.DuckDBPyConnection) -> None:
    """Make `store` of views on the file attached as `kept`, which may only be read: its tables as the layout has them.

    What the file lacks of the layout is empty; a column that the layout does not have is not there.
    """
    there = columns(con, "kept")
    con.execute("ATTACH ':memory:' AS store")
    in_layout = {table.name: table for table in layout.tables()}
    for name in there.keys() - in_layout.keys():
        con.execute(f"CREATE VIEW store.{name} AS SELECT * FROM kept.{name}")
    for name, table in in_layout.items():
        kinds = _PLACE | {column.name: column.stored_as for column in table.columns}
        held = there.get(name, ())
        chosen = [name if name in held else f"CAST(NULL AS {kind}) AS {name}" for name, kind in kinds.items()]
        rows = f"FROM kept.{name}" if held else "WHERE FALSE"
        con.execute(f"CREATE VIEW store.{name} AS SELECT {', '.join(chosen)} {rows}")


def show_rows(con: duckdb.DuckDBPyConnection) -> None:
    """Make the view `layout_rows`: table, case_ref, load and all fields as JSON of every row of the layout's tables."""
    tables = (
        f"SELECT '{table.name}' AS \"table\", case_ref, load, to_json(t) AS fields FROM store.{table.name} AS t"
        for table in layout.tables()
    )
    con.execute(f"CREATE OR REPLACE TEMP VIEW layout_rows AS {' UNION ALL '.join(tables)}")


def columns(con: duckdb.DuckDBPyConnection, database: str) -> dict[str, list[str]]:
    """Each table of an attached database, and its columns in order."""
    query = (
        "SELECT table_name, list(column_name ORDER BY column_index) FROM duckdb_columns() WHERE database_name = $1 "
        "GROUP BY table_name ORDER BY table_name"
    )
    return dict(con.execute(query, [database]).fetchall())


def with_rows_of_cases(con: duckdb.DuckDBPyConnection) -> list[str]:
    """The tables of the layout, and any that it had once and the store still holds."""
    return [name for name, held in columns(con, "store").items() if "case_ref" in held and name != "set_aside"]


def version(con: duckdb.DuckDBPyConnection, database: str, path: Path) -> int:
    """The version of an attached store; refuses one that this program can neither read nor bring up to date."""
    try:
        about = con.execute(f"SELECT store_version, made_by FROM {database}.about").fetchall()
    except duckdb.CatalogException:
        about = []
    allowed = f"a store of version 1 to {STORE_VERSION}"
    if len(about) != 1:
        mend = "move the file away, and load the exports again"
        raise Refused(Fault(str(path), "no store of this program", allowed, mend))
    ((number, made_by),) = about
    if not 1 <= number <= STORE_VERSION:
        mend = f"use feeding-audit {made_by}, which made it; or move the file away, and load the exports again"
        raise Refused(Fault(str(path), f"a store of version {number}", allowed, mend))
    return int(number)


def bring_up_to_date(con: duckdb.DuckDBPyConnection, version: int) -> None:
    """A store of an older version into one of this one, in one transaction: nothing is lost if it is cut off."""
    with whole(con, "the store in its new version"):
        of_cases = with_rows_of_cases(con)
        old = [name for name in columns(con, "store") if version == 1 or name not in of_cases]
        for name in old:
            con.execute(f"ALTER TABLE store.{name} RENAME TO was_{name}")
        con.execute(statement("tables"))
        con.execute(statement(f"from_{version}"))
        if version == 1:
            for name in of_cases:
                con.execute(statement("rows_from_1").format(name=name))
        con.execute("INSERT INTO store.about SELECT $1, made_by FROM store.was_about", [STORE_VERSION])
        for name in old:
            con.execute(f"DROP TABLE store.was_{name}")
        widen(con)


def statement(name: str) -> str:
    """The text of a file of sql/store."""
    return (SQL / "store" / f"{name}.sql").read_text(encoding="utf-8")


@contextlib.contextmanager
def whole(con: duckdb.DuckDBPyConnection, what: str) -> Iterator[None]:
    """One transaction. What the file or the disk does not take is the reader's to mend; all else is a defect."""
    con.execute("BEGIN")
    try:
        yield
        con.execute("COMMIT")
    except BaseException as error:
        # After a failure of the disk DuckDB gives the whole connection up, and says so a second time here.
        with contextlib.suppress(duckdb.Error):
            con.execute("ROLLBACK")
        if isinstance(error, OF_THE_DISK) and "constraint" not in str(error):
            found = f"{what} could not be written: {why_not_written(error)}; nothing was added"
            mend = "make room on the disk, see that you may write there, and do it again"
            mend += "; if the store is damaged, put back a copy"
            raise Refused(Fault(FILE_NAME, found, "room for it on the disk", mend)) from error
        raise


def quoted(path: Path) -> str:
    """ATTACH takes no parameter: the path as an SQL text."""
    return "'" + str(path).replace("'", "''") + "'"


def onto_the_disk(path: Path) -> None:
    """Not only handed to the system but written; for a folder, the names in it. Windows does not open folders."""
    if os.name != "posix" and path.is_dir():
        return
    handle = os.open(path, os.O_RDONLY if os.name == "posix" else os.O_RDWR)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
