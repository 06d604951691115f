"""Every count that stands in some identity with a printable one, over this release and all before it.

Comes in: the counts as frozen, how they add up, and what of each is known or wanted. Goes out: the same, held together.
Refuses, at once and as a defect of the caller: counts that do not add up, names that repeat, an index out of range.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from functools import cached_property
from itertools import chain

import numpy as np
from numpy.typing import NDArray

Numbers = NDArray[np.int64]
Mask = NDArray[np.bool_]
Identity = tuple[int, tuple[int, ...]]  # a whole, and the parts that add up to it

NEVER_OUT, PRINTED_BEFORE, WITHHELD_BEFORE = 0, 1, 2  # what `earlier` says of a count


@dataclass(frozen=True)
class LinkedCounts:
    """The counts and everything that ties them together."""

    names: tuple[str, ...]
    true: Numbers
    identities: tuple[Identity, ...]  # true[whole] == sum of true[parts]
    about_people: Mask  # 1 to K of it is protected: met, not met, denominator, population, what is left of them
    printable: Mask  # this release would like to print it
    earlier: NDArray[np.int8]
    cost: NDArray[np.float64]  # the price of withholding it
    all_or_none: Mask  # nought of it is protected too: met or not met in a small row

    def __post_init__(self) -> None:
        n = len(self.names)
        for title in ("true", "about_people", "printable", "earlier", "cost", "all_or_none"):
            if getattr(self, title).shape != (n,):
                raise ValueError(f"{title}: {getattr(self, title).shape} where there are {n} names")
        if twice := [name for name, times in Counter(self.names).items() if times > 1]:
            raise ValueError(f"names that repeat: {twice[:3]}")
        if (self.true < 0).any() or not np.isin(self.earlier, (NEVER_OUT, PRINTED_BEFORE, WITHHELD_BEFORE)).all():
            raise ValueError("a count below nought, or an `earlier` that is not 0, 1 or 2")
        if not (np.isfinite(self.cost) & (self.cost > 0)).all():
            raise ValueError("a cost that is not above nought")
        for whole, parts in self.identities:
            if not (parts and all(0 <= i < n for i in (whole, *parts)) and len({whole, *parts}) == 1 + len(parts)):
                raise ValueError(f"identity {whole} = {parts}: an index out of range, twice, or no part")
        rows, cells, signs = self.entries
        off = np.flatnonzero(np.bincount(rows, signs * self.true[cells], len(self.identities)))
        if off.size:
            whole, parts = self.identities[off[0]]
            names = " + ".join(self.names[part] for part in parts)
            raise ValueError(f"{self.names[whole]} = {names} does not add up")

    def small(self, k: int) -> Mask:
        """What is protected for its own size: 1 to K people, or a nought that would tell of all in a small row.

        Where the nought is part of another, such as nobody in the whole service, that one tells of the row already.
        """
        told: Mask = self.all_or_none & (self.true == 0)
        for whole, parts in self.identities:
            if self.true[whole] == 0 and not self.all_or_none[whole]:
                told[list(parts)] = False
        told |= self.about_people & (self.true >= 1) & (self.true <= k)
        return told

    @property
    def ever_wanted(self) -> Mask:
        """What this release or an earlier one would have liked to print; where it is not printed, it is withheld."""
        wanted: Mask = self.printable | (self.earlier != NEVER_OUT)
        return wanted

    @cached_property
    def entries(self) -> tuple[Numbers, Numbers, Numbers]:
        """The identities as a sparse matrix: identity, count, and 1 for the whole or -1 for a part."""
        sizes = np.array([1 + len(parts) for _, parts in self.identities], dtype=np.int64)
        rows = np.repeat(np.arange(len(sizes)), sizes)
        flat = chain.from_iterable((whole, *parts) for whole, parts in self.identities)
        cells = np.fromiter(flat, dtype=np.int64, count=int(sizes.sum()))
        signs = np.full(len(cells), -1, dtype=np.int64)
        signs[np.cumsum(sizes) - sizes] = 1
        return rows, cells, signs


@dataclass(frozen=True)
class Decoy:
    """A whole other set of counts that adds up and agrees with everything printed, and the promises it keeps."""

    counts: Numbers
    promises: tuple[tuple[int, int], ...]  # (count, end): there it is nought (end 0), or K + 1 or more (end K + 1)


@dataclass(frozen=True)
class Proof:
    """Why a count that is withheld and not protected cannot be 1 to K: a sum of identities.

    The multiples of the identities, added up and taken from `times` the count, leave printed counts, and others all
    with factors of one sign; so the printed ones give a bound, and whoever checks it needs no solver.
    """

    count: int
    times: int
    multiples: tuple[tuple[int, int], ...]  # (identity, how often)
