"""A text file that a person wrote: settings, a mapping, figures that went out.

Comes in: a path. Goes out: its text, with plain line ends. Refuses: what is no file, cannot be opened, is larger than a
person writes, or is no UTF-8.
"""

from __future__ import annotations

from pathlib import Path

from pipeline.errors import Fault, Refused

LARGEST = 1_000_000


def read_written_text(path: Path, allowed: str, mend: str) -> str:
    """The text of the file; `allowed` and `mend` are said where there is none. Raises Refused."""
    if path.exists() and not path.is_file() and not path.is_dir():  # opening a pipe would wait for ever
        raise Refused(Fault(str(path), "it is no ordinary file", allowed, mend))
    try:
        with path.open("rb") as file:
            body = file.read(LARGEST + 1)
    except FileNotFoundError as error:
        raise Refused(Fault(str(path), "there is no such file", allowed, mend)) from error
    except IsADirectoryError as error:
        raise Refused(Fault(str(path), "it is a folder", allowed, mend)) from error
    except OSError as error:
        why = f"cannot be opened ({error.strerror})"
        raise Refused(Fault(str(path), why, allowed, "see that you may read it")) from error
    if len(body) > LARGEST:
        said = f"a file of up to {LARGEST} bytes"
        raise Refused(Fault(str(path), "the file is longer", said, "take out what does not belong in it"))
    try:
        text = body.decode("utf-8-sig").replace("\r\n", "\n").replace("\r", "\n")
    except UnicodeDecodeError as error:
        why = f"the file is not UTF-8 text (from byte {error.start + 1})"
        raise Refused(Fault(str(path), why, "UTF-8 text", "save it again in UTF-8")) from error
    return text
