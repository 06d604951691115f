"""Other processes: a fork of this one, which has everything imported already; and one that holds a store."""

from __future__ import annotations

import contextlib
import os
import subprocess
import sys
import threading
import traceback
from collections.abc import Callable, Iterator
from pathlib import Path


def fork(work: Callable[[], str]) -> tuple[int, int]:
    """Start `work` in a child; its process number, and a handle on what it says: "ok: ..." or "failed: ...".

    The child never returns into the tests. Only the thread that forks lives on in it, so have no connection open then:
    DuckDB's threads end with theirs. Those of numpy, scipy and Arrow are there at the fork; no child was seen to wait
    for one. A lock that processes share must not be among what a child may be killed with.
    """
    reader, writer = os.pipe()
    child = os.fork()
    if child:
        os.close(writer)
        return child, reader
    try:
        try:
            said = f"ok: {work()}"
        except BaseException as error:
            said = f"failed: {type(error).__name__}: {error}\n{traceback.format_exc()}"
        with contextlib.suppress(BrokenPipeError):
            os.write(writer, said.encode()[:60_000])
    finally:
        os._exit(0)


def outcome(child: int, reader: int) -> str:
    """Wait for a child; what it said, empty if it was killed before it could."""
    with os.fdopen(reader, "rb") as said:
        text = said.read().decode()
    os.waitpid(child, 0)
    return text


@contextlib.contextmanager
def held(path: Path, seconds: float | None, *, to_read: bool = False) -> Iterator[int]:
    """Another program holds the store, for so many seconds or until the end; its process number."""
    hold = "import duckdb, sys; store = duckdb.connect(sys.argv[1], read_only=bool(sys.argv[2])); "
    command = [sys.executable, "-c", f"{hold}print('held', flush=True); input()", str(path), "yes" if to_read else ""]
    with subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True) as holder:
        assert holder.stdin is not None
        assert holder.stdout is not None
        assert holder.stdout.readline() == "held\n"
        let_go = threading.Timer(0 if seconds is None else seconds, lambda: print(file=holder.stdin, flush=True))
        if seconds is not None:
            let_go.start()
        try:
            yield holder.pid
        finally:
            holder.kill()
