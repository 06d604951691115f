"""What the ledger keeps of a release so that anyone who holds it can go through the proof again without the store.

Comes in: a count system and what was chosen. Goes out: the part of the entry that names cells, and a file of numbers;
and, read again, the linked counts of the release and of everything ever printed. The file holds the true counts: it
stays in the service, as the frozen counts beside it do.
"""

from __future__ import annotations

import io
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from pipeline.privacy.publication.count_cells import Place
from pipeline.privacy.publication.count_system import ELSEWHERE, CountSystem
from pipeline.privacy.publication.frozen_counts import Key
from pipeline.privacy.publication.ledger import Entry
from pipeline.privacy.release.linked_counts import Decoy, Identity, LinkedCounts, Mask, Proof
from pipeline.privacy.release.withholding import Chosen


@dataclass(frozen=True)
class Recorded:
    """A release as it was recorded."""

    linked: LinkedCounts
    printed: Mask
    protected: Mask
    decoys: tuple[Decoy, ...]
    proofs: tuple[Proof, ...]


def cells_said(system: CountSystem, chosen: Chosen, released: Collection[Place]) -> dict[str, Any]:
    """The part of an entry about cells: every place with its cell, and what this release printed and withheld."""
    listed = sorted(system.at.items(), key=lambda pair: (pair[1], pair[0]))
    mine = sorted(place for place in released if place in system.at)
    return {
        "cells": [[*written(place), number] for place, number in listed],
        "printed": [
            [*written(place), int(system.linked.true[system.at[place]])]
            for place in mine
            if chosen.printed[system.at[place]]
        ],
        "withheld": [written(place) for place in mine if not chosen.printed[system.at[place]]],
    }


def proof_file(system: CountSystem, chosen: Chosen) -> bytes:
    """The numbers: how the counts add up, what is printed and protected, the decoys. The same bytes for the same."""
    linked = system.linked
    promises = [(row, *promise) for row, decoy in enumerate(chosen.decoys) for promise in decoy.promises]
    multiples = [(row, *pair) for row, proof in enumerate(chosen.proofs) for pair in proof.multiples]
    body = io.BytesIO()
    np.savez_compressed(
        body,
        true=linked.true,
        identities=_flat(linked.identities),
        about_people=linked.about_people,
        printable=linked.printable,
        earlier=linked.earlier,
        all_or_none=linked.all_or_none,
        printed=chosen.printed,
        protected=chosen.protected,
        decoys=np.stack([decoy.counts for decoy in chosen.decoys])
        if chosen.decoys
        else np.zeros((0, len(linked.true)), int),
        promises=np.array(promises, dtype=np.int64).reshape(-1, 3),
        proofs=np.array([(proof.count, proof.times) for proof in chosen.proofs], dtype=np.int64).reshape(-1, 2),
        multiples=np.array(multiples, dtype=np.int64).reshape(-1, 3),
    )
    return body.getvalue()


def recorded(entry: Entry, body: bytes) -> Recorded:
    """What `proof_file` wrote, with the printed values of the entry."""
    with np.load(io.BytesIO(body), allow_pickle=False) as kept:
        numbers = {name: kept[name] for name in kept.files}
    names = _names(entry)
    count = len(numbers["true"])
    linked = LinkedCounts(
        names=tuple(names.get(number, f"cell {number}") for number in range(count)),
        true=numbers["true"].astype(np.int64),
        identities=_unflat(numbers["identities"]),
        about_people=numbers["about_people"],
        printable=numbers["printable"],
        earlier=numbers["earlier"],
        cost=np.ones(count),
        all_or_none=numbers["all_or_none"],
    )
    promises = numbers["promises"].tolist()
    decoys = tuple(
        Decoy(counts.astype(np.int64), tuple((count, end) for at, count, end in promises if at == row))
        for row, counts in enumerate(numbers["decoys"])
    )
    multiples = numbers["multiples"].tolist()
    proofs = tuple(
        Proof(count, times, tuple((identity, often) for at, identity, often in multiples if at == row))
        for row, (count, times) in enumerate(numbers["proofs"].tolist())
    )
    return Recorded(linked, numbers["printed"], numbers["protected"], decoys, proofs)


def released_before(those: Iterable[Entry]) -> dict[Place, int | None]:
    """What was ever printed, with its value, or withheld (None). What is out is out, however it went.

    Of what went out elsewhere the value is ELSEWHERE: it may have been told as something else than it is.
    """
    before: dict[Place, int | None] = {}
    for entry in those:
        for *place, value in entry.said["printed"]:
            before[read(place)] = int(value) if entry.is_publication else ELSEWHERE
        for place in entry.said.get("withheld", ()):
            before.setdefault(read(place), None)
    return before


def frozen_values(those: Iterable[Entry], kept: Mapping[int, Recorded]) -> dict[Place, int]:
    """The frozen count of every place that a release holds, printed or not."""
    return {
        read(place): int(kept[entry.number].linked.true[number])
        for entry in those
        if entry.number in kept
        for *place, number in entry.said["cells"]
    }


@dataclass(frozen=True)
class Everything:
    """All that was ever printed, as one who collected every report has it."""

    size: int
    identities: tuple[Identity, ...]
    printed: Mapping[int, int]
    protected: Mapping[int, int]  # with the K of the promise
    names: Mapping[int, str]


def everything(those: Sequence[Entry], proofs: Mapping[int, Recorded]) -> Everything:
    """The cells of all releases together: a place that stands in several is one cell."""
    cell: dict[Place, int] = {}
    same: dict[tuple[int, int], int] = {}  # entry and its own number -> number here
    size = 0
    joined: dict[int, int] = {}

    def root(number: int) -> int:
        while number in joined:
            number = joined[number]
        return number

    for entry in those:
        for *place, number in entry.said.get("cells", ()):
            at = (entry.number, int(number))
            key = read(place)
            known = [root(there) for there in (same.get(at), cell.get(key)) if there is not None]
            if not known:
                known, size = [size], size + 1
            if len(set(known)) > 1:
                joined[max(known)] = min(known)
            same[at] = cell[key] = min(known)
    printed: dict[int, int] = {}
    identities: set[Identity] = set()
    protected: dict[int, int] = {}
    ks = {entry.number: int(entry.said.get("k", 0)) for entry in those}
    for number, one in proofs.items():
        to = [root(same[number, own]) for own in range(len(one.linked.true))]
        identities |= {(to[whole], tuple(sorted(to[part] for part in parts))) for whole, parts in one.linked.identities}
        for own in np.flatnonzero(one.protected):
            protected[to[own]] = max(ks[number], protected.get(to[own], 0))
        printed |= {to[own]: int(one.linked.true[own]) for own in np.flatnonzero(one.printed)}
    for entry in those:
        for *place, value in entry.said["printed"] if not entry.is_publication else ():
            if read(place) in cell:  # of what no release holds, nobody can tell what it adds up to
                printed.setdefault(root(cell[read(place)]), int(value))
    names = {root(number): " | ".join(map(str, written(place))) for place, number in cell.items()}
    kept = tuple(sorted((whole, parts) for whole, parts in identities if parts != (whole,)))
    return Everything(size, kept, printed, dict(sorted(protected.items())), names)


def _names(entry: Entry) -> dict[int, str]:
    names: dict[int, str] = {}
    for *place, number in entry.said["cells"]:
        names.setdefault(int(number), " | ".join(map(str, place)))
    return names


def written(place: Place) -> list[str]:
    """A place as the ledger writes it."""
    period, key = place
    return [period, key.table, key.name, key.breakdown, key.level, key.part]


def read(listed: Sequence[str]) -> Place:
    """What `written` wrote."""
    period, *key = listed
    return period, Key(*key)


def _flat(identities: Iterable[Identity]) -> np.ndarray:
    """Rows of identity, cell and sign."""
    rows = [
        (row, cell, 1 if at == 0 else -1)
        for row, (whole, parts) in enumerate(identities)
        for at, cell in enumerate((whole, *parts))
    ]
    return np.array(rows, dtype=np.int64).reshape(-1, 3)


def _unflat(rows: np.ndarray) -> tuple[Identity, ...]:
    wholes: dict[int, int] = {}
    parts: dict[int, list[int]] = {}
    for row, cell, sign in rows.tolist():
        if sign > 0:
            wholes[row] = cell
        else:
            parts.setdefault(row, []).append(cell)
    return tuple((wholes[row], tuple(parts[row])) for row in sorted(wholes))
