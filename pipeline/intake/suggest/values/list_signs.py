"""Whether the cells of a column are plainly lists, and what their parts are.

Comes in: the texts of a column with their counts. Goes out: the signs its cells are split at, and how often each part
is written. Refuses to call a list what only holds such a sign: the parts must repeat from cell to cell. Refuses to
give a part written once of a cell that may not be shown.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping

from pipeline.intake.map.translation import parted
from pipeline.intake.suggest.values.code_meanings import may_be_shown

_SIGNS = ((";",), (",",), ("\n",), ("|",), ("/",), (";", ","))
_FEWEST_LISTS = 2  # different cells of more than one part
_REPEATED = 2 / 3  # of their parts, so many at least stand in other cells too


def list_signs(counts: Mapping[str, int]) -> tuple[str, ...]:
    """The signs that plainly part lists, those that part the most cells; () where the cells are none."""
    return max(_SIGNS, key=lambda signs: _lists(counts, signs)) if any(_lists(counts, way) for way in _SIGNS) else ()


def _lists(counts: Mapping[str, int], signs: tuple[str, ...]) -> int:
    """How many different cells are lists of parts that repeat."""
    cells = [dict.fromkeys(parted(text, signs)) for text in counts]
    stands_in = Counter(part for parts in cells for part in parts)
    of_lists = [part for parts in cells if len(parts) > 1 for part in parts]
    lists = sum(len(parts) > 1 for parts in cells)
    again = sum(stands_in[part] > 1 for part in of_lists)
    return lists if lists >= _FEWEST_LISTS and again >= _REPEATED * len(of_lists) else 0


def part_counts(counts: Mapping[str, int], signs: tuple[str, ...]) -> tuple[dict[str, int], int]:
    """How often each part is written, in the order of first writing; and how many parts are not to be shown."""
    parts: Counter[str] = Counter()
    open_parts: set[str] = set()
    for text, count in counts.items():
        for part in parted(text, signs):
            parts[part] += count
            open_parts.update([part] if may_be_shown(text) else [])
    shown = {part: count for part, count in parts.items() if count > 1 or part in open_parts}
    return shown, len(parts) - len(shown)
