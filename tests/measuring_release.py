"""How much of a year is shown, and how long that takes, on invented services.

`python -m tests.measuring_release 600 4 1 2 3` says it for 600 cases a year, K = 4 and services 1 to 3: a year of 26
measures by six breakdowns, all one way. Seconds are of the processor. Rows are breakdown rows of a measure with both
met and known printed, so with a percentage; headline the same of the whole service.
"""

from __future__ import annotations

import sys
import time

import numpy as np

from pipeline.privacy.release.gate_of_release import broken_promises
from pipeline.privacy.release.linked_counts import LinkedCounts
from pipeline.privacy.release.outside_attack import attack, narrowed
from pipeline.privacy.release.withholding import Chosen, choose
from tests.release_services import BREAKDOWNS, linked, service

MEASURES = 26


def shown(counts: LinkedCounts, chosen: Chosen, in_rows: bool) -> float:
    """The share of percentages that are printed."""
    whose = {parts[0]: whole for whole, parts in counts.identities if counts.names[parts[-1]].endswith("|not met")}
    ends = [(met, known) for met, known in whose.items() if ("/" in counts.names[met]) == in_rows]
    return float(np.mean([chosen.printed[met] and chosen.printed[known] for met, known in ends]))


def measure(seed: int, cases: int, k: int) -> str:
    built, (year,) = service(seed, cases, MEASURES, years=1, breakdowns=tuple(BREAKDOWNS))
    counts = linked(built, year.cells, year.cells, {})
    start = time.process_time()
    chosen = choose(counts, k)
    after_choice = time.process_time()
    faults = broken_promises(counts, k, chosen.printed, chosen.protected, chosen.decoys, chosen.proofs)
    after_gate = time.process_time()
    values = {int(i): int(counts.true[i]) for i in np.flatnonzero(chosen.printed)}
    targets = np.flatnonzero(chosen.protected).tolist()
    found = narrowed(attack(len(counts.names), counts.identities, values, targets, enough=k + 1), k)
    after_attack = time.process_time()
    return (
        f"service {seed}, {cases} cases, K {k}: {len(counts.names)} counts, {int(counts.printable.sum())} wanted,"
        f" {int(chosen.withheld.sum())} withheld ({chosen.primary} small, {chosen.helpers} helpers);"
        f" rows {shown(counts, chosen, True):.0%}, headline {shown(counts, chosen, False):.0%};"
        f" {len(chosen.decoys)} decoys, {len(chosen.proofs)} proofs;"
        f" choice {after_choice - start:.1f} s, gate {after_gate - after_choice:.2f} s,"
        f" attack {after_attack - after_gate:.1f} s: {len(faults)} refusals, {len(found)} of {len(targets)} narrowed"
    )


if __name__ == "__main__":
    cases, k, *seeds = map(int, sys.argv[1:])
    for seed in seeds:
        print(measure(seed, cases, k), flush=True)
