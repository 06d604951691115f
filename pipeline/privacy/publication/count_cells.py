"""Cells while a count system is gathered: each count has one, and counts that are always the same share theirs.

Comes in: counts with their places. Goes out: cells, how they add up, and which of them are one.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from pipeline.privacy.publication.frozen_counts import Key

Place = tuple[str, Key]  # a period or block, and what is counted in it


@dataclass
class Cells:
    """Cells while they are gathered: each key has a number; keys that are one cell point to one number."""

    number: dict[Place, int] = field(default_factory=dict)
    true: list[int] = field(default_factory=list)
    people: list[bool] = field(default_factory=list)
    printable: list[bool] = field(default_factory=list)
    cost: list[float] = field(default_factory=list)
    all_or_none: list[bool] = field(default_factory=list)
    same: dict[int, int] = field(default_factory=dict)  # number -> the one it stands for
    sums: list[tuple[int, tuple[int, ...]]] = field(default_factory=list)

    def add(self, place: Place, true: int, *, people: bool, printable: bool = False, cost: float = 1.0) -> int:
        """The number of the cell of a place, made where there is none."""
        if place not in self.number:
            self.number[place] = len(self.true)
            self.true.append(true)
            self.people.append(people)
            self.printable.append(printable)
            self.cost.append(cost)
            self.all_or_none.append(False)
        return self.number[place]

    def root(self, number: int) -> int:
        """The cell that a number stands for."""
        while number in self.same:
            number = self.same[number]
        return number

    def join(self, one: int, other: int) -> None:
        """Make two numbers one cell."""
        one, other = sorted((self.root(one), self.root(other)))
        if one != other:
            self.same[other] = one


def said(place: Place) -> str:
    """A place in words, for a fault."""
    period, key = place
    return f"{key.name} {key.part} of {key.breakdown or 'all'} {key.level} in {period}"


def name_of(place: Place) -> str:
    """The name of a cell in the ledger."""
    period, key = place
    return " | ".join(
        text.replace("|", "¦") for text in (period, key.table, key.name, key.breakdown, key.level, key.part)
    )
