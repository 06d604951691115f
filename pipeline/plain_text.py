"""Signs that are not seen, and change how what follows is read.

Comes in: text from records, file names, the lead's words. Goes out: the same with a mark in place of each such sign, as
pages, lists and the terminal show it.
"""

from __future__ import annotations

import re
import textwrap

# Control characters but tab and line feed (HTML forbids most of them, a terminal obeys them); marks that turn the
# direction of writing, which would turn round the words that follow (Unicode Standard Annex 9); line and paragraph
# separators; lone surrogates, which no UTF-8 file can hold; two code points that are no characters (XML forbids them).
_UNSEEN = re.compile(
    "[\x00-\x08\x0b-\x1f\x7f-\x9f\u061c\u200e\u200f\u2028-\u202e\u2066-\u2069\ud800-\udfff\ufffe\uffff]"
)


def without_unseen_signs(text: str) -> str:
    """The text with a mark in place of every sign that is not seen: the picture of a control character, else `�`."""
    return _UNSEEN.sub(_mark, text)


def _mark(unseen: re.Match[str]) -> str:
    code = ord(unseen[0])
    if code < 0x20:
        return chr(0x2400 + code)
    return "\N{SYMBOL FOR DELETE}" if code == 0x7F else "\N{REPLACEMENT CHARACTER}"


def wrapped(text: str, indent: int = 2, hanging: int = 2) -> str:
    """On as many lines as it needs, all but the first indented by `hanging` more."""
    begin, go_on = " " * indent, " " * (indent + hanging)
    return textwrap.fill(text, 100, initial_indent=begin, subsequent_indent=go_on, break_on_hyphens=False)


def number_of(count: int, one: str) -> str:
    """`1 line`, `1,200 lines`."""
    return f"{count:,} {one if count == 1 else one + 's'}"


def times(count: int) -> str:
    """How often, in words."""
    return {1: "once", 2: "twice"}.get(count, f"{count:,} times")
