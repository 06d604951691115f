"""The gate: nothing goes out whose promises are not kept, shown by additions alone.

Comes in: the counts, what is to be printed, what is protected, the decoys and the proofs. Goes out: every promise that
is broken, in words for those who keep the ledger; none means the release may go out. Knows no solver and nothing of how
the decoys were found, so a fault there cannot hide here. Nothing can be waived.

The words name counts, so they stay inside.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence

import numpy as np

from pipeline.privacy.release.linked_counts import (
    PRINTED_BEFORE,
    WITHHELD_BEFORE,
    Decoy,
    LinkedCounts,
    Mask,
    Numbers,
    Proof,
)


def broken_promises(
    counts: LinkedCounts, k: int, printed: Mask, protected: Mask, decoys: Sequence[Decoy], proofs: Iterable[Proof]
) -> list[str]:
    """Every way in which the release would break what is promised; empty when it may go out."""
    true, known = counts.true, _what_follows(counts, printed)
    proven = np.zeros(len(true), dtype=bool)
    proven[[proof.count for proof in proofs if proves(counts, k, known, proof)]] = True
    down, up = true == 0, true > k
    out = []
    for number, decoy in enumerate(decoys, 1):
        out += _faults(counts, k, printed, decoy, f"decoy {number}")
        if decoy.counts.shape == true.shape:
            ends = {end: [count for count, at in decoy.promises if at == end] for end in (0, k + 1)}
            down[ends[0]] |= decoy.counts[ends[0]] == 0
            up[ends[k + 1]] |= decoy.counts[ends[k + 1]] > k
    before, never = counts.earlier == PRINTED_BEFORE, counts.earlier == WITHHELD_BEFORE
    asked = counts.about_people & counts.ever_wanted & ~known & ~protected
    rules = {
        "is protected and printed": protected & printed,
        "is small, not printed and not protected": counts.small(k) & ~printed & ~protected,
        "was withheld before and is printed": never & printed,
        "was printed before and is not": before & ~printed,
        "is printed, though nobody asked for it": printed & ~before & ~counts.printable,
        "is protected and no decoy makes it nought": protected & ~down,
        f"is protected and no decoy makes it {k + 1} or more": protected & ~up,
        "is withheld and not protected, and nothing proves that it cannot be small": asked & ~proven,
    }
    out += [f"{counts.names[count]} {what}" for what, broken in rules.items() for count in np.flatnonzero(broken)]
    return out


def proves(counts: LinkedCounts, k: int, known: Mask, proof: Proof) -> bool:
    """Whether a proof holds: its count is above K whatever the unknown ones are, or nought whatever they are."""
    left = Counter({proof.count: proof.times})
    for identity, times in proof.multiples:
        whole, parts = counts.identities[identity]
        left[whole] -= times
        left.update(dict.fromkeys(parts, times))
    bound = sum(times * int(counts.true[count]) for count, times in left.items() if known[count])
    others = [times for count, times in left.items() if not known[count]]
    above = min(others, default=0) >= 0 and bound > proof.times * k
    below = max(others, default=0) <= 0 and bound < proof.times
    return proof.times > 0 and (above or below)


def _what_follows(counts: LinkedCounts, printed: Mask) -> Mask:
    """What is printed, with what can be had from it one identity at a time."""
    known = printed.copy()
    more = True
    while more:
        more = False
        for whole, parts in counts.identities:
            hidden = [cell for cell in (whole, *parts) if not known[cell]]
            none_left = known[whole] and counts.true[hidden].sum() == 0
            if hidden and (len(hidden) == 1 or none_left):
                known[hidden] = more = True
    return known


def _faults(counts: LinkedCounts, k: int, printed: Mask, decoy: Decoy, name: str) -> list[str]:
    """What is wrong with one decoy."""
    if decoy.counts.shape != counts.true.shape or decoy.counts.dtype != np.int64:
        return [f"{name} is not whole"]
    rows, cells, signs = counts.entries
    sums: Numbers = np.zeros(len(counts.identities), dtype=np.int64)
    np.add.at(sums, rows, signs * decoy.counts[cells])
    out = [f"{name}: {counts.names[counts.identities[row][0]]} does not add up" for row in np.flatnonzero(sums)]
    out += [f"{name}: {counts.names[count]} is below nought" for count in np.flatnonzero(decoy.counts < 0)]
    moved = np.flatnonzero(printed & (decoy.counts != counts.true))
    out += [f"{name} moves {counts.names[count]}, which is printed" for count in moved]
    for count, end in decoy.promises:
        if end not in (0, k + 1) or (decoy.counts[count] != 0 if end == 0 else decoy.counts[count] <= k):
            out.append(f"{name} does not bring {counts.names[count]} to {end}")
    return out
