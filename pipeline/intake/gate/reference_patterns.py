"""What the references of an export look like: AA-9999, A for a letter, 9 for a digit, X for either.

Comes in: the shapes of references, one for each way in which letters and digits stand. Goes out: patterns, where random
signs made many shapes one for all of them. Refuses to let what reads as a word, a date or a plain number pass within
the pattern of others.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable
from dataclasses import dataclass

FEW = 3  # shapes of one length that are told one by one


@dataclass(frozen=True)
class Pattern:
    """How some references look."""

    text: str
    reads_as: str  # a word, a date, a plain number; else empty
    references: int
    first: str = ""  # where the first of them stands


def merged(shapes: Iterable[Pattern]) -> tuple[Pattern, ...]:
    """Shapes of one length, and with the same other signs, in one where there are more than a few."""
    alike: dict[tuple[str, str], list[Pattern]] = defaultdict(list)
    for shape in shapes:
        alike[shape.reads_as, shape.text if shape.reads_as else shape.text.replace("9", "A")].append(shape)
    patterns: list[Pattern] = []
    for (reads_as, _), those in alike.items():
        if len(those) <= FEW:
            patterns += those
            continue
        signs = [set(place) for place in zip(*(shape.text for shape in those), strict=True)]
        text = "".join(place.pop() if len(place) == 1 else "X" for place in signs)
        patterns.append(Pattern(text, reads_as, sum(shape.references for shape in those), those[0].first))
    return tuple(patterns)


def is_known(pattern: Pattern, held: Collection[Pattern], declared: Collection[str]) -> bool:
    """Whether it was declared, or the loads in force hold it; what reads as something else only as it stands."""
    if pattern.text in declared:
        return True
    if pattern.reads_as:
        return any((known.text, known.reads_as) == (pattern.text, pattern.reads_as) for known in held)
    known_texts = [*declared, *(known.text for known in held if not known.reads_as)]
    return any(_covers(known, pattern.text) for known in known_texts)


def _covers(known: str, text: str) -> bool:
    return len(known) == len(text) and all(
        one == other or (one == "X" and other in "A9") for one, other in zip(known, text, strict=True)
    )
