"""A file of an audit folder that is there whole, or as it was before.

Comes in: a path, what to write. Goes out: the path. Clears what runs that were killed left of the same file.
"""

from __future__ import annotations

import contextlib
import os
import time
from pathlib import Path

_LEFT_OVER = 3600.0  # seconds after which nobody is writing it any more


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
