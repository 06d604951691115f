"""Print again what can be spared: helpers whose every promise can be kept without them.

Comes in: a release that keeps its promises. Goes out: one that prints as much or more, and keeps them too. The dearest
helper is asked first. Printing a count only narrows what an attacker must allow for, so what could not be small before
cannot be now, and the closed rule still holds.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from pipeline.privacy.release.linked_counts import PRINTED_BEFORE, WITHHELD_BEFORE, LinkedCounts, Mask
from pipeline.privacy.release.movements import Goals, deduced, move
from pipeline.privacy.release.promises import Kept, Piece

_HIDDEN = 0.01  # the price of moving a person between counts that stay withheld
_WAITING = 20  # so many that have to wait end a turn: to go on would find few that lie apart
_NEAR = 2  # within so many identities another movement is looked for


@dataclass(frozen=True)
class Asked:
    """A helper that may be spared, the pieces it takes away, and the promises nothing else keeps."""

    helper: int
    lost: dict[int, Piece]
    goals: Goals


def give_back(counts: LinkedCounts, kept: Kept, printed: Mask, protected: Mask, primary: Mask) -> tuple[Mask, Mask]:
    """What is printed and what is protected in the end."""
    kept.slim(protected)
    printed, protected = printed.copy(), protected.copy()
    wanted = counts.printable & (counts.earlier != WITHHELD_BEFORE) & (counts.earlier != PRINTED_BEFORE)
    helpers = np.flatnonzero(wanted & ~printed & ~primary)
    queue = helpers[np.argsort(-counts.cost[helpers], kind="stable")].tolist()
    prices = np.full(len(printed), _HIDDEN)
    prices[helpers] = counts.cost[helpers]
    while queue:
        known = deduced(counts, printed)
        turn, queue = _turn(kept, queue, known, protected)
        printed[[asked.helper for asked in turn]] = True
        refused = _refused(kept, turn, deduced(counts, printed), prices)
        for asked in turn:
            if asked.helper in refused:
                printed[asked.helper] = False
                kept.hold(asked.lost)
            else:
                protected[asked.helper] = False
    return printed, protected


def _turn(kept: Kept, queue: list[int], known: Mask, protected: Mask) -> tuple[list[Asked], list[int]]:
    """Helpers whose surroundings lie apart, and those that have to wait."""
    turn: list[Asked] = []
    wait: list[int] = []
    taken: set[int] = set()
    for place, helper in enumerate(queue):
        if len(wait) > _WAITING:
            return turn, wait + queue[place:]
        touched = {helper}.union(*(kept.held[number][0].tolist() for number in kept.moving[helper]))
        if not taken.isdisjoint(touched):
            wait.append(helper)
            continue
        known[helper] = True
        if any(protected[cell] for cell in _what_follows(kept, helper, known)):
            known[helper] = False
            continue
        lost = kept.let_go(helper)
        still = np.zeros(len(known), dtype=bool)
        still[[cell for cell in touched - {helper} if protected[cell]]] = True
        open_now = kept.still_open(still)
        around = touched.union(*(kept.frame.near(cell, ~known, _NEAR) for cell in open_now.counts.tolist()))
        known[helper] = False
        if taken.isdisjoint(around):
            taken |= around
            turn.append(Asked(helper, lost, open_now))
        else:
            kept.hold(lost)
            wait.append(helper)
    return turn, wait


def _what_follows(kept: Kept, start: int, known: Mask) -> set[int]:
    """What a count gives away, one identity at a time, when it becomes known."""
    out: set[int] = set()
    edge = [start]
    while edge:
        at = edge.pop()
        for identity in kept.frame.identities_of[at]:
            hidden = [cell for cell in kept.frame.cells_of[identity] if not known[cell] and cell not in out]
            if len(hidden) == 1:
                out.add(hidden[0])
                edge.append(hidden[0])
    return out


def _refused(kept: Kept, turn: list[Asked], known: Mask, prices: np.ndarray) -> set[int]:
    """The helpers without whom some promise would be broken."""
    whose = {int(cell): asked.helper for asked in turn for cell in asked.goals.counts}
    refused: set[int] = set()
    goals = _together([asked.goals for asked in turn])
    while goals.counts.size:
        _, cells = kept.frame.apart(goals, ~known, _NEAR)
        kept.take_in(move(kept.frame, prices, cells, goals))  # many at once, as far as it goes
        goals = goals.only(kept.not_kept(goals))
        apart, cells = kept.frame.apart(goals, ~known, _NEAR)
        _, reached = kept.each_apart(cells, prices, goals.only(apart))
        refused |= {whose[int(cell)] for cell in goals.counts[apart[~reached]]}
        left = kept.not_kept(goals) & np.array([whose[int(cell)] not in refused for cell in goals.counts], dtype=bool)
        goals = goals.only(left)
    return refused


def _together(goals: list[Goals]) -> Goals:
    none = np.zeros(0, dtype=np.int64)
    columns = [(part.counts, part.upward, part.aims) for part in goals] or [(none, none == 1, none)]
    counts, upward, aims = (np.concatenate(column) for column in zip(*columns, strict=True))
    return Goals(counts, upward, aims)
