"""The closed rule: whatever is withheld either cannot be small, or can be anything from nought to K + 1.

Without it, someone who runs this program on every table that fits the print could tell which are ruled out, because
they would have been printed otherwise. Comes in: what is known of a release. Goes out: the counts that could be small
and are not protected yet; or, where there are none, a proof for each that it cannot be.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import linprog

from pipeline.privacy.release.gate_of_release import proves
from pipeline.privacy.release.linked_counts import LinkedCounts, Mask, Numbers, Proof
from pipeline.privacy.release.movements import Frame, Goals, deduced, in_regions_of, move, regions
from pipeline.privacy.release.promises import Kept

_NEARLY = 1e-6
_NEAR = 2  # within so many identities a proof is looked for first
_NO_END = 1e7  # beyond every count
_MOST_TIMES = 12  # proofs are looked for in whole numbers, and in halves, thirds ... twelfths


def could_be_small(
    counts: LinkedCounts, k: int, kept: Kept, printed: Mask, protected: Mask, proofs: dict[int, Proof]
) -> Mask:
    """The counts to be protected too; if none, `proofs` holds one for every other count that is withheld."""
    known = deduced(counts, printed)
    asked = counts.about_people & counts.ever_wanted & ~known & ~protected
    for count, proof in list(proofs.items()):
        if not (asked[count] and proves(counts, k, known, proof)):
            del proofs[count]
    asked[list(proofs)] = False
    small, rest = _split(counts, k, asked, *kept.least_and_most())
    region = regions(kept.frame, ~known)
    prices = np.ones(len(known))
    while rest.counts.size:
        cells = np.flatnonzero(np.isin(region, region[rest.counts]))
        there = counts.true + move(kept.frame, prices, cells, rest)
        reached = rest.reached(there)
        small[rest.counts[reached]] = True
        rest = rest.only(~reached)
        if not reached.any():
            break
    far = []
    while rest.counts.size and not small.any():  # a proof from the identities near by, or else from the region's
        turn, cells = kept.frame.apart(rest, ~known, _NEAR)
        proven = _proofs(counts, k, kept.frame, known, cells, rest.only(turn), near=True)
        proofs |= {count: proof for count, proof in proven.items() if proof is not None}
        far += [count for count, proof in proven.items() if proof is None]
        rest = rest.only(np.setdiff1d(np.arange(len(rest.counts)), turn))
    rest = _split(counts, k, np.isin(np.arange(len(known)), far), counts.true, counts.true)[1]
    while rest.counts.size and not small.any():
        turn, cells = in_regions_of(rest, region)
        proven = _proofs(counts, k, kept.frame, known, cells, rest.only(turn), near=False)
        proofs |= {count: proof for count, proof in proven.items() if proof is not None}
        small[[count for count, proof in proven.items() if proof is None]] = True
        rest = rest.only(np.setdiff1d(np.arange(len(rest.counts)), turn))
    return small


def _split(counts: LinkedCounts, k: int, asked: Mask, least: Numbers, most: Numbers) -> tuple[Mask, Goals]:
    """Which are known already to be small in some set of counts, and where the others would have to get to."""
    small = asked & np.where(counts.true == 0, most >= 1, least <= k)
    cells = np.flatnonzero(asked & ~small)
    nought = counts.true[cells] == 0
    return small, Goals(cells, nought, np.where(nought, 1, k))


def _proofs(
    counts: LinkedCounts, k: int, frame: Frame, known: Mask, cells: Numbers, goals: Goals, near: bool
) -> dict[int, Proof | None]:
    """For each of some counts that lie apart a proof that it cannot be small, None where there is none.

    Near by only the identities all of whose unknown counts are near are used, which is less than an attacker has: a
    proof holds all the same, and where there is none one has to be looked for in the whole region.
    """
    part = frame.matrix[:, cells]
    rows = np.flatnonzero(np.diff(part.indptr))
    if near:
        inside = known.copy()
        inside[cells] = True
        rows = np.array([row for row in rows if all(inside[cell] for cell in frame.cells_of[row])], dtype=np.int64)
    price = np.zeros(len(counts.true))
    price[goals.counts] = np.where(goals.upward, -1, 1)
    fixed = frame.matrix[rows] @ np.where(known, counts.true, 0)
    solved = linprog(price[cells], A_eq=part[rows], b_eq=-fixed, bounds=(0, _NO_END), method="highs")
    if solved.x is None:
        raise RuntimeError(f"HiGHS gave no answer where none has always one: {solved.message}")
    there = np.zeros(len(counts.true))
    there[cells] = solved.x
    slope = dict(zip(rows.tolist(), solved.eqlin.marginals, strict=True))
    out: dict[int, Proof | None] = {}
    for count, upward, aim in zip(goals.counts.tolist(), goals.upward, goals.aims, strict=True):
        out[count] = None
        if there[count] < aim - _NEARLY if upward else there[count] > aim + _NEARLY:
            linked = frame.near(count, ~known, len(cells)) if not near else frame.near(count, ~known, _NEAR)
            of_it = sorted({row for cell in linked for row in frame.identities_of[cell] if row in slope})
            slopes = np.array([slope[row] for row in of_it]) * (-1 if upward else 1)
            tried = _in_whole_numbers(count, of_it, slopes)
            out[count] = next((proof for proof in tried if proves(counts, k, known, proof)), None)
    return out


def _in_whole_numbers(count: int, rows: Sequence[int], slopes: NDArray[np.float64]) -> Iterator[Proof]:
    """The slopes of a program as multiples of identities."""
    for times in range(1, _MOST_TIMES + 1):
        whole = np.rint(slopes * times).astype(np.int64)
        if (np.abs(slopes * times - whole) < _NEARLY).all():
            yield Proof(count, times, tuple((rows[at], int(whole[at])) for at in np.flatnonzero(whole).tolist()))
