"""The cheapest way to move people between counts so that everything still adds up: linear programming with HiGHS.

Comes in: the identities as a matrix, the true counts, which may move and at what price, and where some should get to.
Goes out: whole-number movements. A goal that cannot be reached is said to be missed.

A goal is looked for near its count first, for most are reached there, and goals whose neighbourhoods lie apart are
looked for in one program. The matrix is nearly totally unimodular, so corners are nearly always whole numbers; where
one is not, the same program is solved again in whole numbers.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import block_array, csc_array, csr_array
from scipy.sparse.csgraph import connected_components

from pipeline.privacy.release.linked_counts import LinkedCounts, Mask, Numbers

Prices = NDArray[np.float64]
_MISSED = 1e6  # the price of each person a goal is missed by: dearer than any way round
_NEARLY = 1e-6


@dataclass(frozen=True)
class Goals:
    """Counts and where they should get to: down to `aims`, or up to it."""

    counts: Numbers
    upward: Mask
    aims: Numbers

    def only(self, chosen: Mask | Numbers) -> Goals:
        """Some of the goals."""
        return Goals(self.counts[chosen], self.upward[chosen], self.aims[chosen])

    def reached(self, counts: Numbers) -> Mask:
        """Which goals a set of counts reaches."""
        return np.where(self.upward, counts[self.counts] >= self.aims, counts[self.counts] <= self.aims)


@dataclass(frozen=True)
class Frame:
    """The identities, as a matrix and as lists."""

    counts: LinkedCounts
    matrix: csr_array  # a row each, a column for each count
    cells_of: tuple[tuple[int, ...], ...]  # of each identity
    identities_of: tuple[tuple[int, ...], ...]  # of each count

    def near(self, count: int, can_move: Mask, steps: int) -> set[int]:
        """What can move within so many identities of a count."""
        out, edge = {count}, [count]
        for _ in range(steps):
            next_to = {cell for at in edge for identity in self.identities_of[at] for cell in self.cells_of[identity]}
            edge = [cell for cell in next_to - out if can_move[cell]]
            out.update(edge)
        return out

    def apart(self, goals: Goals, can_move: Mask, steps: int) -> tuple[Numbers, Numbers]:
        """As many goals, in their order, as have neighbourhoods apart: their places, and all that can move there."""
        taken: set[int] = set()
        turn = []
        for place, count in enumerate(goals.counts.tolist()):
            if count not in taken and taken.isdisjoint(near := self.near(count, can_move, steps)):
                taken |= near
                turn.append(place)
        cells = np.array(sorted(taken), dtype=np.int64)
        return np.array(turn, dtype=np.int64), cells[can_move[cells]]

    def pieces(self, change: Numbers) -> list[Numbers]:
        """A movement taken apart: the counts of each part of it that adds up by itself."""
        moves, left, out = change != 0, set(np.flatnonzero(change).tolist()), []
        while left:
            piece = self.near(min(left), moves, len(left))
            left -= piece
            out.append(np.array(sorted(piece), dtype=np.int64))
        return out


def frame_of(counts: LinkedCounts) -> Frame:
    """The identities of the counts, ready to move in."""
    rows, cells, signs = counts.entries
    matrix = csr_array((signs.astype(float), (rows, cells)), shape=(len(counts.identities), len(counts.names)))
    identities_of: list[list[int]] = [[] for _ in counts.names]
    for row, cell in zip(rows.tolist(), cells.tolist(), strict=True):
        identities_of[cell].append(row)
    cells_of = tuple((whole, *parts) for whole, parts in counts.identities)
    return Frame(counts, matrix, cells_of, tuple(map(tuple, identities_of)))


def deduced(counts: LinkedCounts, known: Mask) -> Mask:
    """What is known with what follows from it: a count alone in an identity, and parts of nought."""
    rows, cells, signs = counts.entries
    known = known.copy()
    while True:
        hidden = ~known[cells]
        left = np.bincount(rows, hidden, len(counts.identities))
        of_one_sign = np.abs(np.bincount(rows, hidden * signs, len(counts.identities))) == left
        nought = np.bincount(rows, hidden * signs * counts.true[cells], len(counts.identities)) == 0
        follows = hidden & ((left == 1) | (of_one_sign & nought))[rows]
        if not follows.any():
            return known
        known[cells[follows]] = True


def regions(frame: Frame, free: Mask) -> Numbers:
    """For each count the region it lies in, -1 where it may not move."""
    cells = np.flatnonzero(free)
    part = frame.matrix[:, cells]
    joined = block_array([[None, part], [part.T, None]], format="csr")
    out = np.full(len(free), -1, dtype=np.int64)
    out[cells] = connected_components(joined, directed=False)[1][part.shape[0] :]
    return out


def in_regions_of(goals: Goals, region: Numbers) -> tuple[Numbers, Numbers]:
    """The place of the first goal in each region, and all counts of those regions."""
    turn = np.sort(np.unique(region[goals.counts], return_index=True)[1])
    return turn, np.flatnonzero(np.isin(region, region[goals.counts[turn]]) & (region >= 0))


def move(frame: Frame, prices: Prices, cells: Numbers, goals: Goals) -> Numbers:
    """The cheapest movement among some counts that reaches as many goals as it can; nought wherever nobody moves."""
    true = frame.counts.true
    change = np.zeros(len(true), dtype=np.int64)
    place = np.full(len(true), -1)
    place[cells] = np.arange(len(cells))
    goals = goals.only(place[goals.counts] >= 0)
    many, size = len(goals.counts), len(cells)
    if not many:
        return change
    part = frame.matrix[:, cells].tocoo()
    used, row = np.unique(part.row, return_inverse=True)
    at, last = place[goals.counts], len(used) + np.arange(many)
    entries = csc_array(
        (
            np.concatenate([part.data, -part.data, np.ones(many), -np.ones(many), np.where(goals.upward, 1.0, -1.0)]),
            (
                np.concatenate([row, row, last, last, last]),
                np.concatenate([part.col, size + part.col, at, size + at, 2 * size + np.arange(many)]),
            ),
        ),
        shape=(len(used) + many, 2 * size + many),
    )
    aim, none = (goals.aims - true[goals.counts]).astype(float), np.zeros(len(used))
    lowest = np.concatenate([none, np.where(goals.upward, aim, -np.inf)])
    highest = np.concatenate([none, np.where(goals.upward, np.inf, aim)])
    ends = np.concatenate([np.full(size, np.inf), true[cells], np.full(many, np.inf)])
    price = np.concatenate([prices[cells], prices[cells], np.full(many, _MISSED)])
    for whole_numbers in (None, np.ones(len(price))):
        limits = LinearConstraint(entries, lowest, highest)
        solved = milp(price, constraints=limits, bounds=Bounds(0, ends), integrality=whole_numbers)
        if solved.x is None:
            raise RuntimeError(f"HiGHS gave no answer where none has always one: {solved.message}")
        moved = solved.x[:size] - solved.x[size : 2 * size]
        if (np.abs(moved - np.rint(moved)) < _NEARLY).all():
            break
    change[cells] = np.rint(moved).astype(np.int64)
    return change
