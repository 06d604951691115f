"""Which numbers of the rest of the service may stand in a practitioner's edition.

Comes in: the rows of every measure with their practitioners. Goes out: the measures and quarters whose numbers may be
shown. Refuses, by leaving out, every number that would show one practitioner, by itself or by subtraction.

A reader knows her own cases. From any number of the whole service, or of the rest, she can take her own away; she can
add and subtract numbers whose groups lie in each other (exclusively breastfed and breastfed, known and eligible, kinds
of complications); and she can lay her page beside a colleague's, who knows his own too. So:

- Of all that adding and subtracting the numbers of a quarter gives (eligible, known and met of every measure shown),
  whatever is not nought must rest on four practitioners. Whoever reads is at most one of them, so at least three others
  are left; and two who compare their pages still leave two. A single number is the simplest such sum.
- The same holds of what is left when a number is taken from one of another quarter that holds it.
- All met, or none, would say the same of each of them, so neither is shown.
- No practitioner may have more than half of what is left beside any reader: the rest would be nearly that one.
- A row without a recorded practitioner counts in the numbers and stands for nobody.

What an own share is drawn towards adds nothing: it is own and rest together. How far it is drawn is one whole number of
all practitioners, the same for every reader, and measured from eight on only.

The first is linear algebra. Each number is a row of noughts and ones over the cases. A sum that is nought outside three
practitioners exists just where leaving out their cases lowers the rank of these rows, so every three are left out once.

What may be shown is decided once for the service, the same for every reader: two pages that showed different things
could be put together. It is decided from the oldest quarter on, so that an edition of an earlier quarter shows nothing
that a later one leaves out. What this cannot prevent: three who compare their pages, in a service of few; sums over
several quarters by one who knows which cases stand in which; one page kept, and taken from the one made again after a
newer load.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations, islice

import numpy as np
import numpy.typing as npt

from pipeline.contracts.measure_files import DAYS

OTHERS = 3  # the fewest other practitioners behind a number; with the reader, four
MET, NOT_MET, UNKNOWN = "met", "not met", "unknown"
_AT_ONCE = 2000  # sets of practitioners left out, worked on together: bounds the memory

Cell = tuple[str, str]  # quarter, measure: sorts the oldest first
Rows = int  # a set of rows, one bit for each


@dataclass(frozen=True)
class Row:
    """One row of a measure."""

    measure: str
    period: str
    unit: str  # the case or procedure it is: the same in every measure that has it
    practitioner: str | None
    answer: str  # MET, NOT_MET, UNKNOWN


def fit_to_show(
    rows: Iterable[Row], kinds: Mapping[str, str], first_named: Sequence[str] = ()
) -> frozenset[tuple[str, str]]:
    """Measure and quarter of the numbers that may be shown; of two that cannot both be, the first in order."""
    cells, of = _gathered(rows)
    place = {name: rank for rank, name in enumerate(first_named)}
    taken: dict[Cell, tuple[Rows, ...]] = {}
    for cell in sorted(cells, key=lambda cell: (cell[0], place.get(cell[1], len(place)), cell[1])):
        parts = cells[cell]
        numbers = (parts[MET] | parts[NOT_MET] | parts[UNKNOWN], parts[MET] | parts[NOT_MET], parts[MET])
        beside = [number for (period, _), kept in taken.items() if period == cell[0] for number in kept]
        elsewhere = [number for (period, _), kept in taken.items() if period != cell[0] for number in kept]
        if (
            _says_something(parts, kinds[cell[1]])
            and not _one_has_most(numbers[0], of)
            and not any(_shows_few(left, of) for left in _left(numbers, elsewhere))
            and not _comes_down_to_few([*beside, *numbers], of)
        ):
            taken[cell] = numbers
    return frozenset((measure, period) for period, measure in taken)


def _gathered(rows: Iterable[Row]) -> tuple[dict[Cell, dict[str, Rows]], tuple[Rows, ...]]:
    """The rows of every cell by their answer, and those of every practitioner."""
    bits: dict[str, int] = {}
    cells: dict[Cell, dict[str, Rows]] = {}
    of: dict[str, Rows] = {}
    for row in rows:
        bit = 1 << bits.setdefault(row.unit, len(bits))
        parts = cells.setdefault((row.period, row.measure), {MET: 0, NOT_MET: 0, UNKNOWN: 0})
        parts[row.answer] |= bit
        if row.practitioner is not None:
            of[row.practitioner] = of.get(row.practitioner, 0) | bit
    return cells, tuple(of[code] for code in sorted(of))


def _says_something(parts: Mapping[str, Rows], kind: str) -> bool:
    return kind == DAYS or bool(parts[MET] and parts[NOT_MET])


def _shows_few(rows: Rows, of: Collection[Rows]) -> bool:
    return rows != 0 and sum(1 for own in of if own & rows) <= OTHERS


def _one_has_most(everyone: Rows, of: Collection[Rows]) -> bool:
    counts = sorted(((own & everyone).bit_count() for own in of), reverse=True)
    # The reader for whom the largest share is largest is the one with the second most.
    return len(counts) > 1 and 2 * counts[0] > sum(counts) - counts[1]


def _left(new: Iterable[Rows], others: Sequence[Rows]) -> Iterable[Rows]:
    """What is left when a new number is taken from another that holds it, or another from it."""
    for number in new:
        for other in others:
            shared = number & other
            if shared in (number, other):
                yield number ^ other


def _comes_down_to_few(numbers: Sequence[Rows], of: Sequence[Rows]) -> bool:
    """Whether a sum of the numbers is nought for all but three practitioners, or but for nobody in particular."""
    different = sorted({number for number in numbers if number})
    named = 0
    for own in of:
        named |= own
    products = np.array(
        [[[(one & two & own).bit_count() for two in different] for one in different] for own in of], dtype=np.float64
    )
    nobody = np.array([[(one & two & ~named).bit_count() for two in different] for one in different], dtype=np.float64)
    # Rows and their products with each other have the same rank.
    rank = _ranks((products.sum(axis=0) + nobody)[np.newaxis])[0]
    if len(of) >= 2 * (OTHERS + 1):
        # Whichever three are left out, one of four groups is left whole: where each has the rank, so has what is left.
        groups = np.array([products[start :: OTHERS + 1].sum(axis=0) for start in range(OTHERS + 1)])
        if bool((_ranks(groups) == rank).all()):
            return False
    left_out = combinations(range(len(of)), min(OTHERS, len(of)))
    everyone = products.sum(axis=0)
    while chosen := list(islice(left_out, _AT_ONCE)):
        if bool((_ranks(everyone - products[np.array(chosen)].sum(axis=1)) < rank).any()):
            return True
    return False


def _ranks(squares: npt.NDArray[np.float64]) -> npt.NDArray[np.int64]:
    return np.asarray(np.linalg.matrix_rank(squares, hermitian=True, rtol=1e-10), dtype=np.int64)
