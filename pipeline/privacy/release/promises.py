"""The promises of a release and the movements that keep them.

A promise is a count and an end: from all that is printed the count could still be nought, and could still be K + 1 or
more. It is kept by the truth where the count is so already, else by a movement found. Movements are held in pieces that
add up by themselves, so one piece serves every count it brings to an end, and is lost only if one of its own counts is
printed after all.
"""

from __future__ import annotations

import numpy as np
from scipy.sparse import csr_array

from pipeline.privacy.release.linked_counts import PRINTED_BEFORE, Decoy, LinkedCounts, Mask, Numbers
from pipeline.privacy.release.movements import Goals, Prices, move, pieces


def protected_by_itself(counts: LinkedCounts, k: int) -> Mask:
    """What is small and not out already."""
    small: Mask = counts.small(k) & (counts.earlier != PRINTED_BEFORE)
    return small


class Kept:
    """The pieces found so far, and which counts they bring to which end."""

    def __init__(self, counts: LinkedCounts, k: int, matrix: csr_array) -> None:
        self.true, self.k, self.matrix = counts.true, k, matrix
        self.found: list[tuple[Numbers, Numbers]] = []  # counts of a piece, and what they are in it
        self.down = (self.true == 0).astype(np.int64)  # by how many pieces, or the truth, each is brought to nought
        self.up = (self.true > k).astype(np.int64)

    def take_in(self, change: Numbers) -> None:
        """A movement more."""
        for cells in pieces(self.matrix, change):
            self._tally(cells, self.true[cells] + change[cells], 1)
            self.found.append((cells, self.true[cells] + change[cells]))

    def let_go(self, count: int) -> list[tuple[Numbers, Numbers]]:
        """Every piece that moves a count, taken out."""
        lost = [piece for piece in self.found if count in piece[0]]
        self.found = [piece for piece in self.found if count not in piece[0]]
        for cells, values in lost:
            self._tally(cells, values, -1)
        return lost

    def take_back(self, lost: list[tuple[Numbers, Numbers]]) -> None:
        """Pieces let go of, in again."""
        for cells, values in lost:
            self._tally(cells, values, 1)
            self.found.append((cells, values))

    def _tally(self, cells: Numbers, values: Numbers, times: int) -> None:
        self.down[cells[values == 0]] += times
        self.up[cells[values > self.k]] += times

    def still_open(self, protected: Mask) -> Goals:
        """The promises nothing keeps yet: the farther way first, for what serves it often serves others."""
        down, up = np.flatnonzero(protected & (self.down == 0)), np.flatnonzero(protected & (self.up == 0))
        upward = np.repeat([False, True], [len(down), len(up)])
        cells = np.concatenate([down, up])
        goals = Goals(cells, upward, np.where(upward, self.k + 1, 0))
        return goals.only(np.argsort(-np.abs(goals.aims - self.true[cells]), kind="stable"))

    def all_at_once(self, region: Numbers, prices: Prices, protected: Mask) -> None:
        """Look for movements that keep many promises together: all of one end, then all of the other."""
        for upward in (False, True):
            goals = self.still_open(protected)
            self.take_in(move(self.matrix, self.true, prices, region, goals.only(goals.upward == upward)))

    def one_each(self, region: Numbers, prices: Prices, goals: Goals) -> tuple[Numbers, Mask]:
        """Look for the cheapest movement to each of some goals, no two of a region; where one is missed, none."""
        change = move(self.matrix, self.true, prices, region, goals)
        reached = goals.reached(self.true + change)
        change[np.isin(region, region[goals.counts[~reached]])] = 0
        self.take_in(change)
        return change, reached

    def least_and_most(self) -> tuple[Numbers, Numbers]:
        """The lowest and the highest that the truth or a piece makes of each count."""
        least, most = self.true.copy(), self.true.copy()
        for cells, values in self.found:
            least[cells] = np.minimum(least[cells], values)
            most[cells] = np.maximum(most[cells], values)
        return least, most

    def decoys(self, protected: Mask) -> tuple[Decoy, ...]:
        """Whole decoys that keep every promise: pieces apart from each other stand side by side in one."""
        wanted = np.stack([protected & (self.true != 0), protected & (self.true <= self.k)])
        whole: list[tuple[Numbers, Mask, list[tuple[int, int]]]] = []
        for cells, values in sorted(self.found, key=lambda piece: -len(piece[0])):
            serves = np.stack([values == 0, values > self.k]) & wanted[:, cells]
            if not serves.any():
                continue
            wanted[:, cells] &= ~serves
            at = next((decoy for decoy in whole if not decoy[1][cells].any()), None)
            if at is None:
                at = (self.true.copy(), np.zeros(len(self.true), dtype=bool), [])
                whole.append(at)
            at[0][cells], at[1][cells] = values, True
            at[2].extend((int(cell), 0) for cell in cells[serves[0]])
            at[2].extend((int(cell), self.k + 1) for cell in cells[serves[1]])
        return tuple(Decoy(counts, tuple(sorted(promises))) for counts, _, promises in whole)
