"""The attack: what anyone can work out of a count from everything that was ever printed.

Comes in: how the counts add up, and the printed values: what a reader has, never a true value that is not printed. Goes
out: the lowest and highest each count asked for can be. Written apart from the rest of this folder, as an attacker
would, so that it can disagree with it. Refuses printed values that contradict each other.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import linprog
from scipy.sparse import csr_matrix
from scipy.sparse.csgraph import connected_components

Reals = NDArray[np.float64]
Whole = NDArray[np.int64]
_FAR = 1e7  # stands for no end; beyond every count
_TINY = 1e-6


@dataclass(frozen=True)
class Bounds:
    """For each count asked for, in the order asked: between these it must be."""

    targets: Whole
    lowest: Reals
    highest: Reals


def attack(
    n: int,
    identities: Sequence[tuple[int, tuple[int, ...]]],
    printed_values: Mapping[int, int],
    targets: Sequence[int],
    enough: int | None = None,
) -> Bounds:
    """Bounds by linear programming. With `enough`, a highest of that much or more is not followed any farther up."""
    sizes = [1 + len(parts) for _, parts in identities]
    column = np.array([cell for whole, parts in identities for cell in (whole, *parts)], dtype=np.int64)
    sign = np.array([s for size in sizes for s in (1.0, *[-1.0] * (size - 1))])
    row = np.repeat(np.arange(len(sizes)), sizes)
    low, high = np.zeros(n), np.full(n, _FAR)
    for cell, value in printed_values.items():
        low[cell] = high[cell] = value
    _propagate(len(sizes), row, column, sign, low, high)
    asked = np.asarray(targets, dtype=np.int64)
    open_cells = np.flatnonzero(high > low)
    matrix = csr_matrix((sign, (row, column)), shape=(len(sizes), n))
    fixed = matrix @ np.where(high > low, 0.0, low)
    part = matrix[:, open_cells]
    region = np.full(n, -1)
    region[open_cells] = connected_components(abs(part).T @ abs(part), directed=False)[1]
    used = np.flatnonzero(np.diff(part.indptr))
    row_region = np.full(len(sizes), -1)
    row_region[used] = region[open_cells[part.indices[part.indptr[used]]]]

    seen_low, seen_high = np.where(high > low, np.inf, low), np.where(high > low, -np.inf, high)
    wanted = np.unique(asked[high[asked] > low[asked]])

    def solve(price: Reals, top: Reals, where: Whole) -> None:
        cells = np.flatnonzero(np.isin(region, where))
        rows = np.flatnonzero(np.isin(row_region, where))
        answer = linprog(
            price[cells],
            A_eq=matrix[rows][:, cells],
            b_eq=-fixed[rows],
            bounds=np.column_stack([low[cells], top[cells]]),
            method="highs",
        )
        if answer.x is None:
            raise ValueError("the printed values contradict each other")
        seen_low[cells] = np.minimum(seen_low[cells], answer.x)
        seen_high[cells] = np.maximum(seen_high[cells], answer.x)

    for up in (False, True):
        left = wanted
        done = np.zeros(n, dtype=bool)
        first = True
        while left.size:
            price = np.zeros(n)
            turn = left if first else left[np.unique(region[left], return_index=True)[1]]
            price[turn] = -1.0 if up else 1.0
            solve(price, high, np.unique(region[turn]))
            if not first:
                done[turn] = True
            first = False
            if up:
                at_end = seen_high >= (high if enough is None else np.minimum(high, enough)) - _TINY
            else:
                at_end = seen_low <= low + _TINY
            left = left[~(done | at_end)[left]]
    lowest, highest = seen_low[asked], seen_high[asked]
    return Bounds(asked, lowest, np.where(highest >= _FAR - _TINY, np.inf, highest))


def narrowed(bounds: Bounds, k: int) -> Whole:
    """The counts asked for that can no longer be everything from nought to K + 1."""
    return bounds.targets[(bounds.lowest > _TINY) | (bounds.highest < k + 1 - _TINY)]


def _propagate(rows: int, row: Whole, column: Whole, sign: Reals, low: Reals, high: Reals) -> None:
    """Tighten the bounds one identity at a time, until nothing moves."""
    plus = sign > 0
    while True:
        least = np.where(plus, low[column], -high[column])
        most = np.where(plus, high[column], -low[column])
        others_least = np.bincount(row, least, rows)[row] - least
        others_most = np.bincount(row, most, rows)[row] - most
        new_low = np.where(plus, -others_most, others_least)
        new_high = np.where(plus, -others_least, others_most)
        was = low.sum() - high.sum()
        np.maximum.at(low, column, new_low)
        np.minimum.at(high, column, np.where(new_high >= _FAR / 2, _FAR, new_high))
        if (low > high + _TINY).any():
            raise ValueError("the printed values contradict each other")
        if low.sum() - high.sum() <= was + _TINY:
            return
