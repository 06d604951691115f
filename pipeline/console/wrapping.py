"""Lines of a terminal.

Comes in: a text. Goes out: it, wrapped and without signs that move a cursor. Refuses nothing.
"""

from __future__ import annotations

import textwrap


def wrapped(text: str) -> str:
    """A text over as many lines as it needs, the first indented by two."""
    # What stands in a sheet may hold signs that move a terminal's cursor.
    text = "".join(each if each.isprintable() else " " for each in text)
    return textwrap.fill(text, 100, initial_indent="  ", subsequent_indent="    ")
