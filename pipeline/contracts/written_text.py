"""A text file that a person wrote: settings, a mapping, figures that went out.

Comes in: a path. Goes out: its text, with plain line ends. Refuses: what is no file, cannot be opened, is larger than a
person writes, or is no UTF-8; and of TOML what no person writes and the parser would take gigabytes or a traceback for:
a line or a number of great length, brackets within brackets without end.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

from pipeline.errors import Fault, Refused

LARGEST = 1_000_000
LONGEST_LINE, MOST_DIGITS, DEEPEST = 20_000, 100, 30
_TEXTS = re.compile(r"\"\"\".*?\"\"\"|'''.*?'''|\"(?:[^\"\\\n]|\\.)*\"|'[^'\n]*'|#[^\n]*", re.DOTALL)


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


def read_toml_text(path: Path, allowed: str, mend: str) -> str:
    """The text of the file; `allowed` and `mend` are said where there is none. Raises Refused."""
    text = read_written_text(path, allowed, mend)
    for line, why, said in _beyond(text):
        raise Refused(Fault(f"{path.name}, line {line}", f"cannot be read: {why}", said, "correct the line"))
    return text


def _beyond(text: str) -> Iterator[tuple[int, str, str]]:
    """The line, what is beyond any use in it, and what is allowed."""
    for number, line in enumerate(text.split("\n"), 1):
        if len(line) > LONGEST_LINE:
            yield number, "the line is longer", f"lines of up to {LONGEST_LINE} signs"
    bare = _TEXTS.sub(lambda text: "\n" * text[0].count("\n"), text)
    depth = 0
    for number, line in enumerate(bare.split("\n"), 1):
        if re.search(rf"[0-9_]{{{MOST_DIGITS + 1}}}", line):
            yield number, "a number is longer", f"numbers of up to {MOST_DIGITS} digits"
        for sign in line:
            depth = max(0, depth + (sign in "[{") - (sign in "]}"))
            if depth > DEEPEST:
                yield number, "brackets stand in brackets, too many", f"up to {DEEPEST} within each other"
                return
