"""What a release prints and what it withholds, so that every promise is kept.

Comes in: all counts that hang together and K. Goes out: what is printed, withheld and protected, a decoy for every
promise, and a proof for whatever is withheld without one. Refuses a release in which a promise cannot be kept because
of what is already out: no choice of this one would mend it.

The steps: withhold what is small; look for a movement to each end of every protected count; where there is none, let
printed counts of this release move at their price, the cheap ones first, and withhold those that moved; close (see
closing.py), and again until nothing is added. Withholding more only widens what an attacker must allow for, so what is
kept once stays kept. Last, print again what can be spared (giving_back.py).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from pipeline.privacy.release.closing import could_be_small
from pipeline.privacy.release.giving_back import give_back
from pipeline.privacy.release.linked_counts import (
    PRINTED_BEFORE,
    WITHHELD_BEFORE,
    Decoy,
    LinkedCounts,
    Mask,
    Proof,
)
from pipeline.privacy.release.movements import Goals, deduced, frame_of, in_regions_of, regions
from pipeline.privacy.release.promises import Kept, protected_by_itself

_HIDDEN = 0.01  # the price of moving a person between counts that are withheld anyway
_NEAR = (2, 4)  # within so many identities a movement is looked for first
_TIERS = (10.0, 40.0, np.inf)  # prices below which printed counts may move: outcomes; row sizes too; headlines too


class NoSafeChoice(Exception):
    """A promise that cannot be kept any more, whatever this release withholds."""


@dataclass(frozen=True)
class Chosen:
    """A release that keeps its promises, with why."""

    printed: Mask  # by this release or an earlier one
    withheld: Mask  # wanted and not printed, and what earlier releases withheld
    protected: Mask
    decoys: tuple[Decoy, ...]
    proofs: tuple[Proof, ...]
    primary: int  # withheld for their own size
    helpers: int  # withheld to keep the promise of another


def choose(counts: LinkedCounts, k: int) -> Chosen:
    """Choose what to print."""
    kept = Kept(frame_of(counts), k)
    primary = protected_by_itself(counts, k)
    wanted = counts.printable & (counts.earlier != WITHHELD_BEFORE)
    printed = (wanted & ~primary) | (counts.earlier == PRINTED_BEFORE)
    protected = primary.copy()
    proofs: dict[int, Proof] = {}
    small = protected
    while small.any():
        protected |= small
        printed = _kept_at_a_price(counts, kept, printed, protected)
        small = could_be_small(counts, k, kept, printed, protected, proofs)
    printed, protected = give_back(counts, kept, printed, protected, primary)
    decoys = kept.decoys(protected)
    moved = np.any([decoy.counts != counts.true for decoy in decoys], axis=0) if decoys else ~wanted
    printed = printed | (wanted & ~protected & ~moved)  # no decoy needs them
    return Chosen(
        printed=printed,
        withheld=(counts.printable | (counts.earlier == WITHHELD_BEFORE)) & ~printed,
        protected=protected,
        decoys=decoys,
        proofs=tuple(proof for count, proof in sorted(proofs.items()) if not printed[count]),
        primary=int((wanted & primary).sum()),
        helpers=int((wanted & ~primary & ~printed).sum()),
    )


def _kept_at_a_price(counts: LinkedCounts, kept: Kept, printed: Mask, protected: Mask) -> Mask:
    """What is still printed once every promise is kept."""
    frame, out = kept.frame, counts.earlier == PRINTED_BEFORE
    while True:
        prices = np.where(printed, counts.cost, _HIDDEN)
        region = regions(frame, ~deduced(counts, printed))
        goals = kept.still_open(protected)
        # what is withheld anyway gives for nothing
        kept.all_at_once(np.flatnonzero(np.isin(region, region[goals.counts]) & (region >= 0)), prices, goals)
        goals = kept.still_open(protected)
        if not goals.counts.size:
            return printed
        for dearest in _TIERS:
            can_move = ~deduced(counts, out | (printed & (counts.cost >= dearest)))
            for steps in _NEAR:
                turn, cells = frame.apart(goals, can_move, steps)
                change, reached = kept.each_apart(cells, prices, goals.only(turn))
                printed, goals = printed & (change == 0), goals.only(turn).only(~reached)
        if goals.counts.size:
            turn, cells = in_regions_of(goals, regions(frame, ~deduced(counts, out)))
            change, reached = kept.each_apart(cells, prices, goals.only(turn))
            printed, goals = printed & (change == 0), goals.only(turn).only(~reached)
        if goals.counts.size:
            raise NoSafeChoice(_in_words(counts, goals))


def _in_words(counts: LinkedCounts, goals: Goals) -> str:
    ends = sorted({(counts.names[count], int(end)) for count, end in zip(goals.counts, goals.aims, strict=True)})
    listed = "; ".join(f"{name} cannot be {end or 'nought'}" for name, end in ends[:5])
    return f"{listed}, given what is already out, whatever this release withholds"
