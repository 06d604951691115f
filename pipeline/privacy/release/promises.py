"""The promises of a release and the movements that keep them.

A promise is a count and an end: from all that is printed the count could still be nought, and could still be K + 1 or
more. It is kept by the truth where the count is so already, else by a movement found. Movements are held in pieces that
add up by themselves, so one piece serves every count it brings to an end, and is lost only if one of its own counts is
printed after all.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping

import numpy as np

from pipeline.privacy.release.linked_counts import PRINTED_BEFORE, Decoy, LinkedCounts, Mask, Numbers
from pipeline.privacy.release.movements import Frame, Goals, Prices, move


def protected_by_itself(counts: LinkedCounts, k: int) -> Mask:
    """What is small and not out already."""
    small: Mask = counts.small(k) & (counts.earlier != PRINTED_BEFORE)
    return small


Piece = tuple[Numbers, Numbers]  # counts that move together, and what they are then


class Kept:
    """The pieces held, and which counts they bring to which end."""

    def __init__(self, frame: Frame, k: int) -> None:
        self.frame, self.true, self.k = frame, frame.counts.true, k
        self.held: dict[int, Piece] = {}
        self.moving: dict[int, set[int]] = defaultdict(set)  # the pieces that move each count
        self.down = (self.true == 0).astype(np.int64)  # by how many pieces, or the truth, each is brought to nought
        self.up = (self.true > k).astype(np.int64)
        self.taken_in = 0

    def take_in(self, change: Numbers, only_with: Numbers | None = None) -> Numbers:
        """A movement more, or of its pieces those that move any of some counts; gives back what was taken in."""
        taken = np.zeros(len(change), dtype=np.int64)
        for cells in self.frame.pieces(change):
            if only_with is None or np.isin(cells, only_with).any():
                taken[cells] = change[cells]
                self.taken_in += 1
                self.hold({self.taken_in: (cells, self.true[cells] + change[cells])})
        return taken

    def hold(self, pieces: Mapping[int, Piece]) -> None:
        """Pieces more."""
        self.held |= pieces
        for number, (cells, values) in pieces.items():
            self._tally(cells, values, 1)
            for cell in cells.tolist():
                self.moving[cell].add(number)

    def slim(self, protected: Mask) -> None:
        """Hold no piece more than the promises need, and small ones rather than large."""
        pieces, self.held = self.held, {}
        for cells, values in pieces.values():
            self._tally(cells, values, -1)
        self.moving.clear()
        for number, piece in sorted(pieces.items(), key=lambda item: len(item[1][0])):
            cells, values = piece
            serves = ((values == 0) & (self.down[cells] == 0)) | ((values > self.k) & (self.up[cells] == 0))
            if (serves & protected[cells]).any():
                self.hold({number: piece})

    def let_go(self, count: int) -> dict[int, Piece]:
        """Every piece that moves a count, held no more."""
        lost = {number: self.held.pop(number) for number in sorted(self.moving[count])}
        for number, (cells, values) in lost.items():
            self._tally(cells, values, -1)
            for cell in cells.tolist():
                self.moving[cell].discard(number)
        return lost

    def _tally(self, cells: Numbers, values: Numbers, times: int) -> None:
        self.down[cells[values == 0]] += times
        self.up[cells[values > self.k]] += times

    def still_open(self, protected: Mask) -> Goals:
        """The promises nothing keeps yet: the farther way first, for what serves it often serves others."""
        cells = np.flatnonzero(protected)
        cells, upward = np.tile(cells, 2), np.repeat([False, True], len(cells))
        goals = Goals(cells, upward, np.where(upward, self.k + 1, 0))
        goals = goals.only(self.not_kept(goals))
        return goals.only(np.argsort(-np.abs(goals.aims - self.true[goals.counts]), kind="stable"))

    def all_at_once(self, cells: Numbers, prices: Prices, goals: Goals) -> None:
        """Look for movements that reach many goals together: all downward ones, then what is left of the upward."""
        for upward in (False, True):
            side = goals.only(goals.upward == upward)
            self.take_in(move(self.frame, prices, cells, side.only(self.not_kept(side))))

    def each_apart(self, cells: Numbers, prices: Prices, goals: Goals) -> tuple[Numbers, Mask]:
        """Look for the cheapest movement to each of some goals that lie apart; where one is missed, none."""
        change = move(self.frame, prices, cells, goals)
        reached = goals.reached(self.true + change)
        return self.take_in(change, goals.counts[reached]), reached

    def not_kept(self, goals: Goals) -> Mask:
        """Which of some promises nothing keeps."""
        nothing: Mask = np.where(goals.upward, self.up[goals.counts], self.down[goals.counts]) == 0
        return nothing

    def least_and_most(self) -> tuple[Numbers, Numbers]:
        """The lowest and the highest that the truth or a piece makes of each count."""
        least, most = self.true.copy(), self.true.copy()
        for cells, values in self.held.values():
            least[cells] = np.minimum(least[cells], values)
            most[cells] = np.maximum(most[cells], values)
        return least, most

    def decoys(self, protected: Mask) -> tuple[Decoy, ...]:
        """Whole decoys that keep every promise: pieces apart from each other stand side by side in one."""
        wanted = np.stack([protected & (self.true != 0), protected & (self.true <= self.k)])
        whole: list[tuple[Numbers, Mask, list[tuple[int, int]]]] = []
        for cells, values in sorted(self.held.values(), key=lambda piece: -len(piece[0])):
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
