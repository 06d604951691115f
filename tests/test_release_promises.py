"""Invented services over three years: every promise is kept, whatever the gate is offered, and nothing is found.

FEEDING_AUDIT_SERVICES says how many services (4 without). Each is small; a quarter of them publish quarters too.
"""

from __future__ import annotations

import dataclasses
import os
from functools import cache

import numpy as np
import pytest
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import csr_array

from pipeline.privacy.release.gate_of_release import broken_promises
from pipeline.privacy.release.linked_counts import LinkedCounts, Mask
from pipeline.privacy.release.outside_attack import attack
from pipeline.privacy.release.withholding import Chosen, choose
from tests.release_services import released_one_by_one, service

SERVICES = int(os.environ.get("FEEDING_AUDIT_SERVICES", "4"))
K = 4


@cache
def releases(seed: int) -> list[tuple[str, LinkedCounts, Chosen]]:
    k = (4, 5, 7)[seed % 3]
    built, planned = service(
        seed,
        cases=30 + 37 * (seed % 7),
        many=2 if seed % 4 == 1 else 2 + seed // 4 % 4,
        breakdowns=("sex", "site")[: 1 + seed % 4 // 2],
        quarters=seed % 4 == 1,
    )
    return list(released_one_by_one(built, planned, k, choose))


def refusals(counts: LinkedCounts, k: int, chosen: Chosen, printed: Mask | None = None) -> list[str]:
    printed = chosen.printed if printed is None else printed
    return broken_promises(counts, k, printed, chosen.protected, chosen.decoys, chosen.proofs)


def in_whole_numbers(counts: LinkedCounts, printed: Mask, target: int, sign: int) -> float:
    """The lowest (sign 1) or highest (-1) of a count, by integer programming over all at once."""
    rows, cells, signs = counts.entries
    n = len(counts.names)
    matrix = csr_array((signs.astype(float), (rows, cells)), shape=(len(counts.identities), n))
    price = np.zeros(n)
    price[target] = sign
    solved = milp(
        price,
        constraints=LinearConstraint(matrix, 0, 0),
        bounds=Bounds(np.where(printed, counts.true, 0), np.where(printed, counts.true, 10_000)),
        integrality=np.ones(n),
    )
    assert solved.x is not None
    return float(np.rint(solved.x[target]))


@pytest.mark.parametrize("seed", range(SERVICES))
def test_every_promise_is_kept_over_three_years(seed: int) -> None:
    k = (4, 5, 7)[seed % 3]
    for name, counts, chosen in releases(seed):
        assert refusals(counts, k, chosen) == [], name
        assert not chosen.printed[counts.earlier == 2].any() and chosen.printed[counts.earlier == 1].all()
    # the last frame holds every release there was
    told = {i for whole, parts in counts.identities if counts.true[whole] == 0 for i in parts}
    small = counts.about_people & (counts.true >= 1) & (counts.true <= k)
    small |= counts.all_or_none & (counts.true == 0) & ~np.isin(np.arange(len(small)), list(told))
    assert not (small & chosen.printed).any()
    asked = np.flatnonzero(counts.about_people & ~chosen.printed)
    values = {int(i): int(counts.true[i]) for i in np.flatnonzero(chosen.printed)}
    found = attack(len(counts.names), counts.identities, values, asked.tolist())
    covers = (found.lowest <= 1e-6) & (found.highest >= k + 1 - 1e-6)
    assert [counts.names[i] for i in asked[~covers & small[asked]]] == []
    never_small = (found.lowest > k) | ((found.highest < 1) & (counts.true[asked] == 0))
    withheld = chosen.withheld[asked]
    assert [counts.names[i] for i in asked[withheld & ~covers & ~never_small]] == []
    if seed % 6 == 0:
        for target in np.random.default_rng(seed).permutation(np.flatnonzero(small))[:12]:
            assert in_whole_numbers(counts, chosen.printed, int(target), 1) == 0, counts.names[target]
            assert in_whole_numbers(counts, chosen.printed, int(target), -1) >= k + 1, counts.names[target]


@pytest.mark.parametrize("seed", range(0, SERVICES, 4))
def test_printing_any_one_withheld_count_is_refused(seed: int) -> None:
    for _, counts, chosen in releases(seed):
        for one in np.flatnonzero(chosen.withheld):
            printed = chosen.printed.copy()
            printed[one] = True
            assert refusals(counts, (4, 5, 7)[seed % 3], chosen, printed), counts.names[one]


def test_a_tampered_decoy_is_refused() -> None:
    _, counts, chosen = releases(0)[-1]
    assert refusals(counts, K, chosen) == []
    decoy = chosen.decoys[0]
    (count, end), *_ = decoy.promises

    def with_decoy(values: np.ndarray) -> list[str]:
        changed = dataclasses.replace(decoy, counts=values)
        return refusals(counts, K, dataclasses.replace(chosen, decoys=(changed, *chosen.decoys[1:])))

    for cell in range(len(counts.names)):
        values = decoy.counts.copy()
        values[cell] += 1
        assert any("does not add up" in fault or "printed" in fault for fault in with_decoy(values)), counts.names[cell]
    assert any("below nought" in fault for fault in with_decoy(decoy.counts - 1000))
    assert any(f"does not bring {counts.names[count]} to {end}" in fault for fault in with_decoy(counts.true))
    assert any("is not whole" in fault for fault in with_decoy(decoy.counts + 0.5))
    assert any("is not whole" in fault for fault in with_decoy(decoy.counts[1:]))
    assert any(
        "no decoy" in fault for fault in refusals(counts, K, dataclasses.replace(chosen, decoys=chosen.decoys[1:]))
    )


def test_the_gate_asks_for_every_protection_and_every_proof() -> None:
    _, counts, chosen = releases(3)[-1]
    k = 4
    assert refusals(counts, k, chosen) == []
    for count in np.flatnonzero(chosen.protected)[::5]:
        protected = chosen.protected.copy()
        protected[count] = False
        changed = dataclasses.replace(chosen, protected=protected)
        if counts.ever_wanted[count] or counts.true[count] <= k:
            assert refusals(counts, k, changed), counts.names[count]
    assert chosen.proofs
    for proof in chosen.proofs[:8]:
        others = tuple(other for other in chosen.proofs if other != proof)
        wrong = dataclasses.replace(proof, multiples=tuple((row, -times) for row, times in proof.multiples))
        for proofs in (others, (*others, wrong), (*others, dataclasses.replace(proof, times=0))):
            assert any(
                "nothing proves" in fault for fault in refusals(counts, k, dataclasses.replace(chosen, proofs=proofs))
            )


def test_what_does_not_hold_together_is_a_defect_of_the_caller() -> None:
    _, counts, _ = releases(0)[0]
    whole, parts = counts.identities[0]
    wrong = counts.true.copy()
    wrong[whole] += 1
    for change in (
        {"true": wrong},
        {"true": counts.true - 1000},
        {"true": counts.true[1:]},
        {"names": (counts.names[0], *counts.names[:-1])},
        {"identities": ((whole, (*parts, len(counts.names))),)},
        {"identities": ((whole, (whole, *parts)),)},
        {"earlier": counts.earlier + 3},
    ):
        with pytest.raises(ValueError, match=r"."):
            dataclasses.replace(counts, **change)
