"""A release is chosen, and shown to be safe three times over: by decoys and additions, by an attack, by its bytes.

Comes in: a count system, the ledger, a way to render. Goes out: what was chosen, what the attack found. Refuses, with
no way round it: a promise that cannot be kept, one that is broken, a count the attack narrows, a file that is another
for a decoy than for the truth.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from pipeline.errors import Fault, Refused
from pipeline.privacy.publication.ledger import Entry
from pipeline.privacy.publication.release_record import Recorded, everything
from pipeline.privacy.release.gate_of_release import broken_promises
from pipeline.privacy.release.linked_counts import LinkedCounts, Numbers
from pipeline.privacy.release.outside_attack import attack, narrowed
from pipeline.privacy.release.withholding import Chosen, NoSafeChoice, choose

_TOLD = 5  # so many of what is wrong are told


@dataclass(frozen=True)
class Attacked:
    """What the attack on everything ever printed found."""

    releases: int
    targets: int
    lowest: int  # the highest of the lowest values: nought, or the attack has narrowed something
    highest: int  # the lowest of the highest values
    k: int  # the smallest K of any release


def chosen(linked: LinkedCounts, k: int) -> Chosen:
    """What to print. Raises Refused where a promise cannot be kept, or the gate finds one broken."""
    try:
        made = choose(linked, k)
    except NoSafeChoice as error:
        mend = "nothing may be published: figures that are out already tell too much; write down how that came about"
        raise Refused(Fault("the release", str(error), "every small count can be nought and K + 1", mend)) from error
    broken = broken_promises(linked, k, made.printed, made.protected, made.decoys, made.proofs)
    if broken:
        raise Refused(_faults("the gate", broken, "every promise kept by a decoy that adds up"))
    return made


def attacked(those: Sequence[Entry], kept: Mapping[int, Recorded]) -> Attacked:
    """Attack everything ever printed. Raises Refused where a protected count is narrowed, unless that is on record."""
    attack, names = narrowed_by_all(those, kept)
    known = {name for entry in those for name in entry.said.get("incident", ())}
    new = [name for name in names if name not in known]
    if new:
        raise Refused(_faults("the attack", new, "every small count can still be nought and K + 1"))
    return attack


def narrowed_by_all(those: Sequence[Entry], kept: Mapping[int, Recorded]) -> tuple[Attacked, list[str]]:
    """The attack's figures, and the names of the protected counts that can be worked out more closely than promised."""
    out = everything(those, kept)
    told = [target for target in out.protected if target in out.printed]
    targets = [target for target in out.protected if target not in out.printed]
    least = min((int(entry.said["k"]) for entry in those if entry.is_publication), default=0)
    if not targets:
        return Attacked(len(those), 0, 0, 0, least), [out.names[target] for target in told]
    bounds = attack(out.size, out.identities, out.printed, targets)
    k_of = np.array([out.protected[int(target)] for target in bounds.targets])
    # What was withheld to be on the safe side may turn out, by what is printed later, to be no small number.
    large = (bounds.lowest > k_of + 0.5) | (bounds.highest < 0.5)
    low = {
        int(target)
        for k in np.unique(k_of)
        for target in set(narrowed(bounds, int(k)).tolist()) & set(bounds.targets[~large].tolist())
        if out.protected[int(target)] == k
    }
    rest = ~large if (~large).any() else np.ones_like(large)
    highest = int(min(bounds.highest[rest].min(), 1e9))
    figures = Attacked(len(those), len(targets), round(float(bounds.lowest[rest].max())), highest, least)
    return figures, sorted(out.names[target] for target in [*told, *low])


def faults_of(number: int, recorded: Recorded, k: int) -> list[Fault]:
    """What the gate says of a release as it was recorded: the same additions as on the day it went out."""
    one = recorded
    broken = broken_promises(one.linked, k, one.printed, one.protected, one.decoys, one.proofs)
    return _faults(f"release {number}", broken, "every promise kept by a decoy that adds up") if broken else []


def see_that_nothing_shows(
    render: Callable[[Numbers], Mapping[str, bytes]], truth: Numbers, decoys: Sequence[Numbers]
) -> Mapping[str, bytes]:
    """The files of the truth. Raises Refused where any byte of any file is another for a decoy."""
    files = render(truth)
    for number, decoy in enumerate(decoys, 1):
        of_decoy = render(decoy)
        differ = [name for name in files.keys() | of_decoy.keys() if files.get(name) != of_decoy.get(name)]
        if differ:
            found = f"{', '.join(sorted(differ))}: not the same for the truth and for decoy {number}"
            mend = "a page shows something that hidden counts decide: this is a defect of the program; report it"
            raise Refused(Fault("the pages", found, "the same bytes whatever the hidden counts are", mend))
    return files


def _faults(where: str, what: Sequence[str], allowed: str) -> list[Fault]:
    mend = "nothing was published; this is a defect of the program: keep the folder as it is and report it"
    more = [f"and {len(what) - _TOLD} more"] if len(what) > _TOLD else []
    return [Fault(where, one, allowed, mend) for one in [*what[:_TOLD], *more]]
