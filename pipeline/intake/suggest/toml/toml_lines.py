"""The lines of a suggested mapping: TOML with a mark behind each line, and texts escaped so that they come back.

Comes in: keys, values and marks. Goes out: lines of text. Refuses to leave a mark out.
"""

from __future__ import annotations

import re
import textwrap
from collections.abc import Iterable
from dataclasses import dataclass

from pipeline.intake.map.mapping_text import UNDECIDED
from pipeline.intake.suggest.values.code_meanings import ASKS, LIKELY, SURE
from pipeline.intake.suggest.values.fit import Way

REMARK = "##"
OPEN = f'"{UNDECIDED}"'  # stands where a person must answer; a mapping with it in effect is refused


@dataclass(frozen=True)
class Line:
    """One line. What asks is written as a comment, so that it stays without effect until a person decides."""

    toml: str
    mark: str  # sure, likely, asks; "" for a line that nobody need judge
    why: str = ""
    must: bool = False  # of a column that the layout must have

    def text(self, out_of_effect: bool = False) -> str:
        """The line as it stands in the file. A line out of effect is never called sure: nothing of it is done."""
        if self.toml.startswith(REMARK):
            return f"{self.toml}  {self.mark}: {self.why}" if self.mark else self.toml
        before = "# " if out_of_effect or self.mark == ASKS else ""
        mark = "not in effect" if out_of_effect and self.mark in (SURE, LIKELY) else self.mark
        mark += ", must" if self.must and mark else ""
        said = ": ".join(filter(None, (mark, self.why)))
        return f"{before}{self.toml}  # {said}" if said else before + self.toml


def remarks(text: str) -> list[Line]:
    """A remark over as many lines as it needs; it stays one where its first # is taken out."""
    return [Line(f"{REMARK} {part}", "") for part in textwrap.wrap(text, 112, break_long_words=False)]


def quoted(text: str) -> str:
    """A TOML text on one line, whatever is in it."""
    return '"' + "".join(map(_escaped, text)) + '"'


def _escaped(character: str) -> str:
    if character in '"\\':
        return "\\" + character
    if character.isprintable():
        return character
    if 0xD800 <= ord(character) <= 0xDFFF:
        return "\ufffd"  # half a character: no TOML can hold it
    return f"\\u{ord(character):04X}" if ord(character) < 0x10000 else f"\\U{ord(character):08X}"


def key(text: str) -> str:
    """A TOML key: bare where it can be."""
    return text if re.fullmatch(r"[A-Za-z_-][A-Za-z0-9_-]*", text) else quoted(text)


def listed(texts: Iterable[str]) -> str:
    """A TOML list of texts."""
    return "[" + ", ".join(map(quoted, texts)) + "]"


def origin(header: str, way: Way) -> str:
    """Where a layout column comes from: the bare column, or with how it is read."""
    if not way:
        return quoted(header)
    parts = [f"column = {quoted(header)}"]
    for name, value in way:
        if name == "times":
            parts.append(f"times = {value}")
        elif isinstance(value, str):
            parts.append(f"{name} = {quoted(value)}")
        else:
            parts.append(f"{name} = {quoted(value[0]) if len(value) == 1 else listed(value)}")
    return "{ " + ", ".join(parts) + " }"
