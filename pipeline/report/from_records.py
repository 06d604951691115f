"""Texts out of the records, such as references and codes, as a page may show them.

Comes in: a text, or nothing. Goes out: it, with every sign that cannot be seen (a control character, one that turns the
direction of writing) named by its number, so that two references never look alike; words where there is nothing.
Refuses nothing; escaping is done where the page is rendered.
"""

from __future__ import annotations


def shown(written: str | None) -> str:
    """A text of the records for a reader."""
    if written is None:
        return "not recorded"
    return "".join(sign if sign.isprintable() else f"[U+{ord(sign):04X}]" for sign in written)


def counted(number: int, one: str, several: str = "") -> str:
    """`1 case`, `12 cases`, `no cases`."""
    return f"{number or 'no'} {one if number == 1 else several or one + 's'}"
