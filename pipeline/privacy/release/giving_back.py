"""Print again what can be spared: helpers whose every promise can be kept without them.

Comes in: a release that keeps its promises. Goes out: one that prints as much or more, and keeps them too. The dearest
helper is asked first, one in each region at a time. Printing a count only narrows what an attacker must allow for, so
what could not be small before cannot be now, and the closed rule still holds.
"""

from __future__ import annotations

import numpy as np

from pipeline.privacy.release.linked_counts import PRINTED_BEFORE, WITHHELD_BEFORE, LinkedCounts, Mask
from pipeline.privacy.release.movements import deduced, one_a_region, regions
from pipeline.privacy.release.promises import Kept

_HIDDEN = 0.01  # the price of moving a person between counts that stay withheld


def give_back(counts: LinkedCounts, kept: Kept, printed: Mask, protected: Mask, primary: Mask) -> tuple[Mask, Mask]:
    """What is printed and what is protected in the end."""
    printed, protected = printed.copy(), protected.copy()
    helpers = counts.printable & (counts.earlier != WITHHELD_BEFORE) & ~printed & ~primary
    helpers &= counts.earlier != PRINTED_BEFORE
    region = regions(kept.matrix, ~deduced(counts, printed))
    queue = np.flatnonzero(helpers)
    queue = queue[np.argsort(-counts.cost[queue], kind="stable")]
    while queue.size:
        turn = queue[np.sort(np.unique(region[queue], return_index=True)[1])]
        queue = queue[~np.isin(queue, turn)]
        lost = {count: kept.let_go(count) for count in turn.tolist()}
        with_them, without = printed.copy(), protected.copy()
        with_them[turn], without[turn] = True, False
        refused = _not_kept(counts, kept, with_them, without, region, helpers)
        for count in turn.tolist():
            if region[count] in refused:
                kept.take_back(lost[count])
            else:
                printed[count], protected[count] = True, False
    return printed, protected


def _not_kept(
    counts: LinkedCounts, kept: Kept, printed: Mask, protected: Mask, region: np.ndarray, helpers: Mask
) -> set[int]:
    """The regions in which some promise would be broken."""
    known = deduced(counts, printed)
    refused = set(region[known & protected & (region >= 0)].tolist())
    narrower = np.where(known | np.isin(region, list(refused)), -1, region)
    prices = np.where(helpers, counts.cost, _HIDDEN)
    kept.all_at_once(narrower, prices, protected)
    while True:
        goals = kept.still_open(protected)
        goals = goals.only(~np.isin(region[goals.counts], list(refused)))
        if not goals.counts.size:
            return refused
        goals = goals.only(one_a_region(goals, region))
        _, reached = kept.one_each(narrower, prices, goals)
        refused |= set(region[goals.counts[~reached]].tolist())
