"""Laying out a store: a new one, and one that an older version of the program made.

Comes in: a path without a store, or a store attached for writing. Goes out: a store of this version, whole or not at
all. Refuses: a store of a version it does not know, a DuckDB file that is no store.

Here the columns of the layout are joined into SQL, to make the seven tables.
"""

from __future__ import annotations

import contextlib
import os
from collections.abc import Iterator
from pathlib import Path

import duckdb

from pipeline import __version__
from pipeline.contracts import layout
from pipeline.contracts.layout import CODE, DATE, INTEGER, TEXT, YES_NO
from pipeline.contracts.places import SQL
from pipeline.errors import Fault, Refused

STORE_VERSION = 3
FILE_NAME = "store.duckdb"
UNFINISHED = f"{FILE_NAME}.*new*"  # a store in the making, and its log
# How the rows of a table of the layout, in a store of an older version, become those of this one.
_ROWS_FROM = {
    1: "SELECT r.*, r.line AS row_id, f.file FROM store.was_{name} AS r "
    "LEFT JOIN store.was_files AS f ON f.load = r.load AND f.table_name = '{name}' ORDER BY r.load, r.line",
    2: "SELECT * FROM store.was_{name} ORDER BY load, row_id",
}
_STORED_AS = {TEXT: "VARCHAR", CODE: "VARCHAR", INTEGER: "INTEGER", DATE: "DATE", YES_NO: "BOOLEAN"}


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
    con.execute((SQL / "store.sql").read_text(encoding="utf-8"))
    for table in layout.tables():
        columns = ", ".join(f"{column.name} {_STORED_AS[column.kind]}" for column in table.columns)
        con.execute(
            f"CREATE TABLE store.{table.name} (load INTEGER NOT NULL, row_id BIGINT NOT NULL, file VARCHAR NOT NULL, "
            f"line BIGINT NOT NULL, {columns})"
        )


def version(con: duckdb.DuckDBPyConnection, path: Path) -> int:
    """The version of the attached store; refuses one that this program can neither read nor bring up to date."""
    try:
        found = con.execute("SELECT store_version, made_by FROM store.about").fetchall()
    except duckdb.CatalogException:
        found = []
    allowed = f"a store of version 1 to {STORE_VERSION}"
    if len(found) != 1:
        mend = "move the file away, and load the exports again"
        raise Refused(Fault(str(path), "no store of this program", allowed, mend))
    ((number, made_by),) = found
    if not 1 <= number <= STORE_VERSION:
        mend = f"use feeding-audit {made_by}, which made it; or move the file away, and load the exports again"
        raise Refused(Fault(str(path), f"a store of version {number}", allowed, mend))
    return int(number)


def bring_up_to_date(con: duckdb.DuckDBPyConnection, version: int) -> None:
    """A store of an older version into one of this one, in one transaction: nothing is lost if it is cut off."""
    with whole(con, "the store in its new version"):
        old = con.execute("SELECT table_name FROM duckdb_tables() WHERE database_name = 'store'").fetchall()
        for (name,) in old:
            con.execute(f"ALTER TABLE store.{name} RENAME TO was_{name}")
        lay_out(con)
        con.execute((SQL / f"store_from_{version}.sql").read_text(encoding="utf-8"))
        for name in (table.name for table in layout.tables()):
            con.execute(f"INSERT INTO store.{name} BY NAME {_ROWS_FROM[version].format(name=name)}")
        con.execute("INSERT INTO store.about SELECT $1, made_by FROM store.was_about", [STORE_VERSION])
        for (name,) in old:
            con.execute(f"DROP TABLE store.was_{name}")


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
        # A commit that the disk did not take is a TransactionException; so is one that breaks a key.
        kinds = duckdb.IOException | duckdb.FatalException | duckdb.OutOfMemoryException | duckdb.TransactionException
        if isinstance(error, kinds) and "constraint" not in str(error):
            found = f"{what} could not be written ({str(error).splitlines()[0]}); nothing was added"
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
