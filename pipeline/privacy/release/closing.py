"""The closed rule: whatever is withheld either cannot be small, or can be anything from nought to K + 1.

Without it, someone who runs this program on every table that fits the print could tell which are ruled out, because
they would have been printed otherwise. Comes in: what is known of a release. Goes out: the counts that could be small
and are not protected yet; or, where there are none, a proof for each that it cannot be.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import linprog
from scipy.sparse import csr_array

from pipeline.privacy.release.gate_of_release import proves
from pipeline.privacy.release.linked_counts import LinkedCounts, Mask, Numbers, Proof
from pipeline.privacy.release.movements import Goals, deduced, move, one_a_region, regions
from pipeline.privacy.release.promises import Kept

_NEARLY = 1e-6
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
    region = regions(kept.matrix, ~known)
    prices = np.ones(len(known))
    while rest.counts.size:
        there = counts.true + move(kept.matrix, counts.true, prices, region, rest)
        kept.take_in(there - counts.true)
        reached = rest.reached(there)
        small[rest.counts[reached]] = True
        rest = rest.only(~reached)
        if not reached.any():
            break
    while rest.counts.size and not small.any():
        turn = one_a_region(rest, region)
        proven = _bounds(counts, k, kept.matrix, known, region, rest.only(turn))
        small[[count for count, proof in proven.items() if proof is None]] = True
        proofs |= {count: proof for count, proof in proven.items() if proof is not None}
        rest = rest.only(np.setdiff1d(np.arange(len(rest.counts)), turn))
    return small


def _split(counts: LinkedCounts, k: int, asked: Mask, least: Numbers, most: Numbers) -> tuple[Mask, Goals]:
    """Which are known already to be small in some set of counts, and where the others would have to get to."""
    small = asked & np.where(counts.true == 0, most >= 1, least <= k)
    cells = np.flatnonzero(asked & ~small)
    nought = counts.true[cells] == 0
    return small, Goals(cells, nought, np.where(nought, 1, k))


def _bounds(
    counts: LinkedCounts, k: int, matrix: csr_array, known: Mask, region: Numbers, goals: Goals
) -> dict[int, Proof | None]:
    """For one count a region its proof; None where it can be small after all."""
    cells = np.flatnonzero(np.isin(region, region[goals.counts]) & ~known)
    part = matrix[:, cells]
    rows = np.flatnonzero(np.diff(part.indptr))
    price = np.zeros(len(counts.true))
    price[goals.counts] = np.where(goals.upward, -1, 1)
    fixed = matrix[rows] @ np.where(known, counts.true, 0)
    solved = linprog(price[cells], A_eq=part[rows], b_eq=-fixed, bounds=(0, _NO_END), method="highs")
    if solved.x is None:
        raise RuntimeError(f"HiGHS gave no answer where none has always one: {solved.message}")
    there = np.zeros(len(counts.true))
    there[cells] = solved.x
    row_region = region[cells[part.indices[part.indptr[rows]]]]  # all counts of a row that may move lie in one region
    out: dict[int, Proof | None] = {}
    for count, upward, aim in zip(goals.counts.tolist(), goals.upward, goals.aims, strict=True):
        out[count] = None
        if there[count] < aim - _NEARLY if upward else there[count] > aim + _NEARLY:
            of_it = row_region == region[count]
            slopes = solved.eqlin.marginals[of_it] * (-1 if upward else 1)
            out[count] = next(
                (proof for proof in _in_whole_numbers(count, rows[of_it], slopes) if proves(counts, k, known, proof)),
                None,
            )
    return out


def _in_whole_numbers(count: int, rows: Numbers, slopes: NDArray[np.float64]) -> list[Proof]:
    """The slopes of a program as multiples of identities."""
    out = []
    for times in range(1, _MOST_TIMES + 1):
        whole = np.rint(slopes * times).astype(np.int64)
        if (np.abs(slopes * times - whole) < _NEARLY).all():
            used = np.flatnonzero(whole)
            out.append(Proof(count, times, tuple(zip(rows[used].tolist(), whole[used].tolist(), strict=True))))
    return out
