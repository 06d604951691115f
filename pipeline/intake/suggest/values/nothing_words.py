"""Words that stand for nothing in columns of dates and numbers: said once, for the whole mapping.

Comes in: the sheets as they were seen. Goes out: the sheets without those texts, and how often each was written.
Refuses to take one for nothing in a column of words, where it may be an answer.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace

from pipeline.intake.map.translation import folded
from pipeline.intake.suggest.look.sheet_seen import SeenColumn, SeenSheet

_WORDS = frozenset({"-", "--", "–", "—", "n/a", "nil", "null"})


def without_nothing(sheets: Sequence[SeenSheet]) -> tuple[tuple[SeenSheet, ...], Counter[str]]:
    """The sheets without words for nothing, and the words, folded."""
    words: Counter[str] = Counter()
    kept = tuple(replace(sheet, columns=tuple(_kept(column, words) for column in sheet.columns)) for sheet in sheets)
    return kept, words


def _kept(column: SeenColumn, words: Counter[str]) -> SeenColumn:
    left = {text: count for text, count in column.counts.items() if folded(text) not in _WORDS}
    with_digits = sum(any(sign.isdigit() for sign in text) for text in left)
    if not left or 2 * with_digits < len(left):
        return column
    for text in column.counts.keys() - left.keys():
        words[folded(text)] += column.counts[text]
    return replace(column, counts=left)
