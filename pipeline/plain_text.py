"""Signs that a page must not hold: they are not seen, and change how what follows is read.

Comes in: text from the records. Goes out: the same with a replacement character for each such sign. Refuses nothing.
"""

from __future__ import annotations

import re

# Control characters but tab and line feed (HTML forbids most of them); marks that turn the direction of writing, which
# would turn round the words that follow on the page (Unicode Standard Annex 9); line and paragraph separators; lone
# surrogates, which no UTF-8 file can hold.
_UNSEEN = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u061c\u200e\u200f\u2028-\u202e\u2066-\u2069\ud800-\udfff]")


def seen(text: str) -> str:
    """The text with `�` in place of every sign that is not seen."""
    return _UNSEEN.sub("\N{REPLACEMENT CHARACTER}", text)
