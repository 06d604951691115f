"""A text file in TOML that a person wrote: audit.toml, or a mapping.

Comes in: a path. Goes out: its text, for the parser. Refuses: what cannot be read as a text, and what no person writes
and the parser would take gigabytes or a traceback for: a line or a number of great length, brackets within brackets
without end.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

from pipeline.contracts.written_text import read_written_text
from pipeline.errors import Fault, Refused

LONGEST_LINE, MOST_DIGITS, DEEPEST = 20_000, 100, 30
_TEXTS = re.compile(r"\"\"\".*?\"\"\"|'''.*?'''|\"(?:[^\"\\\n]|\\.)*\"|'[^'\n]*'|#[^\n]*", re.DOTALL)


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
