"""Holding the store's file: a working connection, the store attached to it, and patience with other programs.

Comes in: an audit folder. Goes out: a working connection on which the store is attached as `store`, and which stands at
its newest event. Refuses: a store that another program does not let go of, a file that is damaged or is no store, a
version it does not know.

The working connection is in memory and private to one command; the store is attached to it, so that nothing half done
ever stands in the file. DuckDB lets one program write, or several read, never both.
"""

from __future__ import annotations

import contextlib
import os
import re
import secrets
import shutil
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import duckdb

from pipeline import settings
from pipeline.contracts.places import SQL
from pipeline.errors import Fault, Refused
from pipeline.store import in_force, report_records, schema, whole_files
from pipeline.store.schema import FILE_NAME, STORE_VERSION

PATIENCE = 20.0  # seconds
THREADS = min(4, os.cpu_count() or 1)
_PAUSE = 0.2
_SPILL = ".spill"


def work(folder: Path | None) -> duckdb.DuckDBPyConnection:
    """A working connection that knows sql/macros.sql; what it cannot hold in memory spills into the audit folder.

    Without a folder nothing is ever on the disk.
    """
    con = duckdb.connect(
        ":memory:",
        config={
            "temp_directory": _spill(folder),
            "memory_limit": "2GB",
            "threads": THREADS,
        },
    )
    con.execute("SET enable_progress_bar = false")
    # A commit is then one write, which happens or does not. With a checkpoint in it, a full disk could fail a commit
    # that was already in the log, and what was said of it would be wrong. Closing the store makes the checkpoint.
    con.execute("SET wal_autocheckpoint = '1TB'")
    for words in ("macros.sql", "periods/quarter.sql"):  # a period is a quarter until a report of a year says otherwise
        con.execute((SQL / words).read_text(encoding="utf-8"))
    return con


def attach(
    con: duckdb.DuckDBPyConnection,
    folder: Path,
    *,
    to_load: bool,
    patience: float = PATIENCE,
    say: Callable[[str], None] | None = None,
) -> None:
    """Attach the folder's store as `store`, read-only unless `to_load`, which also makes one where there is none.

    Waits `patience` seconds for another program, and tells `say` (the terminal) so once.
    """
    path = folder / FILE_NAME
    if not path.exists():
        if not to_load:
            see_that_it_is_there(folder)
        schema.make(con, path)
    _hold(con, path, to_load, patience, say or _tell)
    try:
        version = schema.version(con, "store" if to_load else "kept", path)
        if version != STORE_VERSION and not to_load:
            detach(con)
            attach(con, folder, to_load=True, patience=patience, say=say)
            detach(con)
            return attach(con, folder, to_load=False, patience=patience, say=say)
        if not to_load:
            schema.show(con)
        elif version != STORE_VERSION:
            schema.bring_up_to_date(con, version)
        else:
            with schema.whole(con, "what the layout has gained"):
                schema.widen(con)
        if to_load:
            _tighten(path)
            _clear_leftovers(con, folder)
            report_records.take_in(con, folder)
        in_force.stand_at(con, None)
    except (duckdb.IOException, duckdb.FatalException, duckdb.SerializationException) as error:
        raise Refused(_unreadable(path, error)) from error


def clear_leftovers(folder: Path) -> None:
    """Remove what killed runs left, before a command that only reads; not while another program has the store.

    Whatever writes into an audit folder has its store meanwhile, so a store that can be held for writing says that
    nobody does.
    """
    if any(_left_over(folder)):
        with contextlib.suppress(Refused, OSError), contextlib.closing(work(None)) as con:
            attach(con, folder, to_load=True, patience=0)


def see_that_it_is_there(folder: Path) -> None:
    """Raise Refused where nothing was loaded yet."""
    if not (folder / FILE_NAME).exists():
        found = "nothing was loaded yet"
        raise Refused(Fault(str(folder), found, f"an audit folder with a {FILE_NAME}", in_force.LOAD_FIRST))


def attach_if_there(con: duckdb.DuckDBPyConnection, folder: Path) -> None:
    """Attach the folder's store to be read; where it has none yet, one in memory in which nothing happened."""
    if (folder / FILE_NAME).exists():
        return attach(con, folder, to_load=False)
    con.execute("ATTACH ':memory:' AS store")
    schema.lay_out(con)
    in_force.stand_at(con, None)


def detach(con: duckdb.DuckDBPyConnection) -> None:
    """Let go of the store; other programs may have it."""
    con.execute("DETACH DATABASE IF EXISTS store")
    con.execute("DETACH DATABASE IF EXISTS kept")


def _spill(folder: Path | None) -> str:
    """A directory of this connection's own, which DuckDB makes when it needs it and removes when it closes.

    Nowhere but in an audit folder, because what spills holds case references: else "", and nothing spills.
    """
    if folder is None:
        return ""
    place = folder / _SPILL
    if not (folder / settings.FILE_NAME).is_file():
        return ""
    try:
        place.mkdir(mode=0o700, exist_ok=True)
    except OSError:  # a folder that can only be read: what does not fit into memory then fails, saying so
        return ""
    return str(place / f"{os.getpid()}-{secrets.token_hex(4)}") if os.access(place, os.W_OK) else ""


def _left_over(folder: Path, own: str = "") -> Iterator[Path]:
    """What runs leave if they are killed, and hold case references: spilled, or half written. Not what is our own."""
    yield from (path for path in (folder / _SPILL).glob("*") if path.name != own)
    yield from folder.glob(schema.UNFINISHED)
    yield from whole_files.left_over(folder)


def _clear_leftovers(con: duckdb.DuckDBPyConnection, folder: Path) -> None:
    """Remove what killed runs left. Only while the store is held for writing.

    Then nobody else reads or writes, so all but this connection's own is left over: whatever may spill attaches first.
    """
    ((own,),) = con.execute("SELECT current_setting('temp_directory')").fetchall()
    for left in list(_left_over(folder, Path(own).name)):
        if left.is_dir() and not left.is_symlink():
            shutil.rmtree(left)
        else:
            left.unlink(missing_ok=True)


def _tighten(path: Path) -> None:
    """A store that others can read becomes its owner's alone."""
    if os.name == "posix" and path.stat().st_mode & 0o077:
        path.chmod(0o600)


def _hold(
    con: duckdb.DuckDBPyConnection, path: Path, to_load: bool, patience: float, say: Callable[[str], None]
) -> None:
    until = time.monotonic() + patience
    told = False
    while True:
        before = _identity(path)
        try:
            con.execute(f"ATTACH {schema.quoted(path)} AS " + ("store" if to_load else "kept (READ_ONLY)"))
        except duckdb.Error as error:
            holder = _holder(error)
            if holder is None:
                raise Refused(_unreadable(path, error)) from error
            if time.monotonic() >= until:
                found = f"another program (process {holder}) holds it open"
                mend = "close the other program, or wait until it is done, and try again"
                raise Refused(Fault(str(path), found, "a store that this program can open", mend)) from error
            if not told:
                say(f"waiting for another program (process {holder}) to finish with the store")
                told = True
            time.sleep(_PAUSE)
            continue
        if _identity(path) == before:
            return
        detach(con)  # an erasure put a new file in its place between opening and locking: this one is nobody's


def _tell(text: str) -> None:
    print(text, file=sys.stderr, flush=True)


def _identity(path: Path) -> tuple[int, int]:
    status = path.stat()
    return status.st_dev, status.st_ino


def _holder(error: duckdb.Error) -> str | None:
    """The number of the process that has the store open, if that is what DuckDB says."""
    match = re.search(r"\(PID (\d+)\)", str(error))
    if match:
        return match[1]
    return "of which the number is not known" if re.search("set lock|being used by another", str(error)) else None


def _unreadable(path: Path, error: duckdb.Error) -> Fault:
    found = str(error).split("\n")[0].split(". See also")[0]
    mend = (
        "see that you may read and write it; if it is damaged, put back a copy, or move it away and load the exports "
        "again"
    )
    return Fault(str(path), found, "a store that this program can open", mend)
