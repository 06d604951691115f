"""A file of an audit folder that is there whole, or as it was before.

Comes in: a path, what to write. Goes out: the path. Refuses to write over a file where it is to be new. What runs that
were killed left goes when the same file is written an hour later, or when the store is next held for writing.
"""

from __future__ import annotations

import contextlib
import os
import re
import time
from collections.abc import Iterator
from pathlib import Path

_LEFT_OVER = 3600.0  # seconds after which nobody is writing it any more
_FRESH = re.compile(r"\..+\.[0-9]+\.new")


def write_whole(path: Path, body: bytes) -> Path:
    """Write a file so that whoever opens it meanwhile finds the old one or the new one, never a part.

    Under a name of its own first, for another program may be writing the same file; nothing stays of it if the disk
    is full.
    """
    for left in path.parent.glob(f".{path.name}.*new"):
        with contextlib.suppress(FileNotFoundError):  # the other program has just finished it
            if time.time() - left.stat().st_mtime > _LEFT_OVER:
                left.unlink()
    fresh = path.with_name(f".{path.name}.{os.getpid()}.new")
    try:
        fresh.write_bytes(body)
        return fresh.replace(path)
    finally:
        fresh.unlink(missing_ok=True)


def write_new(path: Path, body: bytes) -> Path:
    """Write a file that is not there yet; raises FileExistsError. Nothing stays of it if the disk is full."""
    with path.open("xb") as file:
        try:
            file.write(body)
            file.flush()
            os.fsync(file.fileno())
        except OSError:
            path.unlink()
            raise
    return path


def left_over(folder: Path) -> Iterator[Path]:
    """What is being written below a folder by `write_whole`, or was when its program was killed."""
    return (path for path in folder.rglob(".*.new") if _FRESH.fullmatch(path.name) and path.is_file())
