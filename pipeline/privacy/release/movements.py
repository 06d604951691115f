"""The cheapest way to move people between counts so that everything still adds up: linear programming with HiGHS.

Comes in: the identities as a matrix, the true counts, which may move and at what price, and where some should get to.
Goes out: whole-number movements. Refuses nothing: a goal that cannot be reached is said to be missed.

One program is solved for many regions at once (a region is what hangs together through counts that may move), so a
goal in each costs little more than a goal in one. The matrix is nearly totally unimodular, so corners are nearly always
whole numbers; where one is not, the same program is solved again in whole numbers.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import block_array, csr_array
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


def matrix_of(counts: LinkedCounts) -> csr_array:
    """The identities, a row each, a column for each count."""
    rows, cells, signs = counts.entries
    return csr_array((signs.astype(float), (rows, cells)), shape=(len(counts.identities), len(counts.names)))


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


def regions(matrix: csr_array, free: Mask) -> Numbers:
    """For each count the region it lies in, -1 where it may not move."""
    cells = np.flatnonzero(free)
    part = matrix[:, cells]
    joined = block_array([[None, part], [part.T, None]], format="csr")
    labels = connected_components(joined, directed=False)[1][part.shape[0] :]
    out = np.full(len(free), -1, dtype=np.int64)
    out[cells] = labels
    return out


def one_a_region(goals: Goals, region: Numbers) -> Numbers:
    """The places of the first goal in each region."""
    return np.sort(np.unique(region[goals.counts], return_index=True)[1])


def move(matrix: csr_array, true: Numbers, prices: Prices, region: Numbers, goals: Goals) -> Numbers:
    """The cheapest movement that reaches as many goals as it can; nought wherever nobody moves."""
    cells = np.flatnonzero(np.isin(region, np.unique(region[goals.counts])) & (region >= 0))
    change = np.zeros(len(true), dtype=np.int64)
    if not cells.size:
        return change
    part = matrix[:, cells]
    part = part[np.diff(part.indptr) > 0]
    place = np.full(len(true), -1)
    place[cells] = np.arange(len(cells))
    can = place[goals.counts] >= 0
    goals = goals.only(can)
    many = len(goals.counts)
    pick = csr_array((np.ones(many), (np.arange(many), place[goals.counts])), shape=(many, len(cells)))
    short = csr_array((np.where(goals.upward, 1.0, -1.0), (np.arange(many), np.arange(many))), shape=(many, many))
    rows = block_array([[part, -part, None], [pick, -pick, short]], format="csc")
    aim = (goals.aims - true[goals.counts]).astype(float)
    none = np.zeros(part.shape[0])
    program = {
        "c": np.concatenate([prices[cells], prices[cells], np.full(many, _MISSED)]),
        "constraints": LinearConstraint(
            rows,
            np.concatenate([none, np.where(goals.upward, aim, -np.inf)]),
            np.concatenate([none, np.where(goals.upward, np.inf, aim)]),
        ),
        "bounds": Bounds(0, np.concatenate([np.full(len(cells), np.inf), true[cells], np.full(many, np.inf)])),
    }
    for whole_numbers in (0, 1):
        solved = milp(**program, integrality=np.full(len(program["c"]), whole_numbers))
        if solved.x is None:
            raise RuntimeError(f"HiGHS gave no answer where none has always one: {solved.message}")
        moved = solved.x[: len(cells)] - solved.x[len(cells) : 2 * len(cells)]
        if (np.abs(moved - np.rint(moved)) < _NEARLY).all():
            break
    change[cells] = np.rint(moved).astype(np.int64)
    return change


def pieces(matrix: csr_array, change: Numbers) -> list[Numbers]:
    """A movement taken apart: the counts of each part of it that adds up by itself."""
    region = regions(matrix, change != 0)
    cells = np.flatnonzero(change)
    order = cells[np.argsort(region[cells], kind="stable")]
    cuts = np.flatnonzero(np.diff(region[order])) + 1
    return [part for part in np.split(order, cuts) if part.size]
