"""Which numbers of the rest of the service may stand in a practitioner's edition.

Comes in: the rows of every measure with their practitioners. Goes out: the measures and quarters whose numbers may be
shown. Refuses, by leaving out, every number that would show one practitioner, by itself or by subtraction.

A reader knows her own cases. From any number of the whole service, or of the rest, she can take her own away; she can
take one number from another where one group lies inside the other (exclusively breastfed from breastfed, known from
eligible, infections from complications); and she can lay her page beside a colleague's, who knows his own too. So:

- A number is what is met, not met or not known, or several of these together: whatever eligible, known and met give by
  adding and subtracting. Each must be nought or rest on four practitioners: whoever reads is at most one of them, so at
  least three others are left; and two who compare their pages still leave two.
- The same holds of whatever is left when one or two numbers shown are taken from another that holds them.
- All met, or none, would say the same of each of them, so neither is shown.
- No practitioner may have more than half of what is left beside any reader: the rest would be nearly that one.
- A row without a recorded practitioner counts in the numbers and stands for nobody.

What may be shown is decided once for the service, the same for every reader: two pages that showed different things
could be put together. It is decided from the oldest quarter on, so that an edition of an earlier quarter shows nothing
that a later one leaves out. What this cannot prevent: three who compare their pages, in a service of few; and one page
kept, and taken from the one made again after a newer load.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

from pipeline.outcomes.contract import DAYS

OTHERS = 3  # the fewest other practitioners behind a number
_STANDING = OTHERS + 1  # with the reader
MET, NOT_MET, UNKNOWN = "met", "not met", "unknown"

Cell = tuple[str, str]  # quarter, measure: sorts the oldest first
Rows = int  # a set of rows, one bit for each: to see whether one lies in another costs next to nothing


@dataclass(frozen=True)
class Row:
    """One row of a measure."""

    measure: str
    quarter: str
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
    for cell in sorted(cells, key=lambda each: (each[0], place.get(each[1], len(place)), each[1])):
        numbers = _numbers(cells[cell])
        beside = tuple(each for (quarter, _), kept in taken.items() if quarter == cell[0] for each in kept)
        elsewhere = tuple(each for (quarter, _), kept in taken.items() if quarter != cell[0] for each in kept)
        if (
            _says_something(cells[cell], kinds[cell[1]])
            and not _one_has_most(cells[cell], of)
            and not any(_shows_few(each, of) for each in numbers)
            and not any(_shows_few(left, of) for left in _left(numbers, elsewhere))
            and not any(_shows_few(left, of) for left in _left(numbers, (*beside, *numbers)))
            and not any(_shows_few(left, of) for left in _left_of_two(numbers, (*beside, *numbers)))
        ):
            taken[cell] = numbers
    return frozenset((measure, quarter) for quarter, measure in taken)


def _gathered(rows: Iterable[Row]) -> tuple[dict[Cell, dict[str, Rows]], tuple[Rows, ...]]:
    """The rows of every cell by their answer, and those of every practitioner."""
    bits: dict[str, int] = {}
    cells: dict[Cell, dict[str, Rows]] = {}
    of: dict[str, Rows] = {}
    for row in rows:
        bit = 1 << bits.setdefault(row.unit, len(bits))
        parts = cells.setdefault((row.quarter, row.measure), {MET: 0, NOT_MET: 0, UNKNOWN: 0})
        parts[row.answer] |= bit
        if row.practitioner is not None:
            of[row.practitioner] = of.get(row.practitioner, 0) | bit
    return cells, tuple(of.values())


def _numbers(parts: Mapping[str, Rows]) -> tuple[Rows, ...]:
    """What can be had from eligible, known and met alone: the parts, and every sum of them."""
    there = [each for each in parts.values() if each]
    sums = {sum(chosen) for size in range(1, len(there) + 1) for chosen in combinations(there, size)}
    return tuple(sorted(sums))


def _says_something(parts: Mapping[str, Rows], kind: str) -> bool:
    return kind == DAYS or bool(parts[MET] and parts[NOT_MET])


def _shows_few(rows: Rows, of: Collection[Rows]) -> bool:
    return rows != 0 and sum(1 for own in of if own & rows) < _STANDING


def _one_has_most(parts: Mapping[str, Rows], of: Collection[Rows]) -> bool:
    everyone = sum(parts.values())
    counts = sorted(((own & everyone).bit_count() for own in of), reverse=True)
    # The reader for whom the largest share is largest is the one with the second most.
    return len(counts) > 1 and 2 * counts[0] > sum(counts) - counts[1]


def _left(new: Iterable[Rows], others: Sequence[Rows]) -> Iterable[Rows]:
    """What is left when a new number is taken from another that holds it, or another from it."""
    for number in new:
        for other in others:
            shared = number & other
            if shared == other:
                yield number ^ other
            elif shared == number:
                yield other ^ number


def _left_of_two(new: Sequence[Rows], others: Sequence[Rows]) -> Iterable[Rows]:
    """What is left when two numbers that share nothing are taken from a third; one of the three at least is new."""
    for whole in others:
        inside = [each for each in others if each & whole == each and each != whole]
        first = inside if whole in new else [each for each in new if each in inside]
        for one in first:
            for two in inside:
                if not one & two:
                    yield whole ^ one ^ two
