"""Invented services as linked counts: years, breakdowns one way, quarters, blocks, measures that hang together.

A service is drawn case by case, so everything adds up by itself. Nothing of pipeline/ decides what stands here.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from pipeline.privacy.release.linked_counts import LinkedCounts

BREAKDOWNS = {"site": 4, "kind": 5, "fifth": 6, "group": 6, "sex": 3, "age": 5}  # with not recorded
HEADLINE, ROW = 40.0, 1.0


@dataclass(frozen=True)
class Asked:
    """A measure: whom it is of (everyone, or the met of another), how likely met and unknown."""

    name: str
    of: str | None
    met: float
    unknown: float
    same_known_as: str | None = None  # shares that measure's population and denominator cells
    within: str | None = None  # its met lie in that measure's met (a wait of 7 days in one of 14)
    rare: bool = False  # counted in blocks of years too


@dataclass
class Built:
    """Counts being put together."""

    value: dict[str, int] = field(default_factory=dict)
    about: dict[str, bool] = field(default_factory=dict)
    printable: dict[str, bool] = field(default_factory=dict)
    cost: dict[str, float] = field(default_factory=dict)
    all_or_none: dict[str, bool] = field(default_factory=dict)
    sums: list[tuple[str, tuple[str, ...]]] = field(default_factory=list)

    def cell(self, name: str, value: int, cost: float, about: bool = True, printable: bool = True) -> None:
        if name in self.value:
            assert self.value[name] == value, name
            return
        self.value[name], self.about[name], self.printable[name] = int(value), about, printable
        self.cost[name], self.all_or_none[name] = cost, False


def measures(rng: np.random.Generator, many: int) -> list[Asked]:
    out: list[Asked] = []
    for i in range(many):
        base = [m for m in out if m.same_known_as is None and m.within is None]
        name, kind = f"m{i}", rng.random()
        met, unknown = float(rng.choice([0.03, 0.2, 0.5, 0.8])), float(rng.choice([0.0, 0.05, 0.2]))
        if base and kind < 0.35:
            out.append(Asked(name, str(rng.choice([m.name for m in base])), met, unknown))
        elif base and kind < 0.5:
            with_it = base[int(rng.integers(len(base)))]
            out.append(Asked(name, with_it.of, met, with_it.unknown, same_known_as=with_it.name))
        elif base and kind < 0.65:  # within 7 days, within 14, within 28
            inner = ([m for m in out if m.within] or base)[-1]
            known_as = inner.same_known_as or inner.name
            out.append(Asked(name, inner.of, 0.0, inner.unknown, same_known_as=known_as, within=inner.name))
        else:
            out.append(Asked(name, None, met, unknown, rare=met < 0.1))
    return out


def answers(rng: np.random.Generator, asked: Sequence[Asked], cases: int) -> dict[str, np.ndarray]:
    """For each measure and case: -1 not in it, 0 not met, 1 met, 2 unknown."""
    out: dict[str, np.ndarray] = {}
    for m in asked:
        inside = np.ones(cases, bool) if m.of is None else out[m.of] == 1
        if m.of is None and m.same_known_as is None:
            inside = inside & (rng.random(cases) < 0.9)
        answer = np.where(rng.random(cases) < m.met, 1, 0)
        answer[rng.random(cases) < m.unknown] = 2
        if m.same_known_as is not None:
            other = out[m.same_known_as]
            inside, answer = other >= 0, np.where(other == 2, 2, np.where(answer == 2, 0, answer))
        if m.within is not None:  # the outer one: met wherever the inner is, and some more
            more = np.where(rng.random(cases) < 0.3, 1, 0)
            answer = np.where(out[m.within] == 1, 1, np.where(out[m.within] == 2, 2, more))
        out[m.name] = np.where(inside, answer, -1)
    return out


def add_table(built: Built, asked: Sequence[Asked], got: dict, who: np.ndarray, at: str, scale: float) -> None:
    """The cells of one group of cases (a row of a breakdown, or everyone), for every measure."""
    row = scale == ROW
    built.cell(f"{at}|cases", int(who.sum()), 10 * scale)
    for m in asked:
        shared = m.same_known_as or m.name
        answer = got[m.name][who]
        met, none, unknown = (int((answer == code).sum()) for code in (1, 0, 2))
        population = f"{at}|{m.of}|met" if m.of else f"{at}|{shared}|population"
        denominator = f"{at}|{shared}|known"
        new = denominator not in built.value
        built.cell(population, met + none + unknown, 10 * scale)
        built.cell(denominator, met + none, 4 * scale)
        built.cell(f"{at}|{shared}|unknown", unknown, scale, about=False)
        built.cell(f"{at}|{m.name}|met", met, 4 * scale)
        built.cell(f"{at}|{m.name}|not met", none, 4 * scale, printable=False)
        if row and 5 <= met + none <= 9:
            for name in ("met", "not met"):
                built.all_or_none[f"{at}|{m.name}|{name}"] = True
        built.sums.append((denominator, (f"{at}|{m.name}|met", f"{at}|{m.name}|not met")))
        if new:
            built.sums.append((population, (denominator, f"{at}|{shared}|unknown")))
            if not m.of:
                built.cell(f"{at}|{shared}|not in it", int(who.sum()) - met - none - unknown, scale, True, False)
                built.sums.append((f"{at}|cases", (population, f"{at}|{shared}|not in it")))
        if m.within:
            inner = f"{at}|{m.within}|met"
            built.cell(f"{at}|{m.name}|later", met - built.value[inner], scale, False, False)
            built.sums.append((f"{at}|{m.name}|met", (inner, f"{at}|{m.name}|later")))


def of_whole(built: Built, whole: str, parts: Sequence[str]) -> None:
    """Every cell of a whole is the sum of the same cell of its parts."""
    for name in [name for name in built.value if name.startswith(f"{whole}|")]:
        built.sums.append((name, tuple(part + name.removeprefix(whole) for part in parts)))


@dataclass(frozen=True)
class Release:
    """One release: the frame with everything before it, and which cells are new."""

    name: str
    cells: tuple[str, ...]


def service(
    seed: int,
    cases: int,
    many: int,
    years: int = 3,
    breakdowns: Sequence[str] = ("site", "sex"),
    quarters: bool = False,
    blocks: bool = True,
) -> tuple[Built, list[Release]]:
    """All cells of all years, and the releases in order."""
    rng = np.random.default_rng(seed)
    asked = measures(rng, many)
    built, releases = Built(), []

    def released(name: str, before: set[str]) -> None:
        new = tuple(cell for cell in built.value if cell not in before)
        releases.append(Release(name, new))

    for year in range(1, years + 1):
        n = int(rng.poisson(cases))
        got = answers(rng, asked, n)
        quarter = rng.integers(1, 5, n)
        levels = {b: rng.choice(BREAKDOWNS[b], n, p=rng.dirichlet(np.full(BREAKDOWNS[b], 2.0))) for b in breakdowns}
        everyone = np.ones(n, bool)
        if quarters:
            for q in range(1, 5):
                before = set(built.value)
                add_table(built, asked, got, quarter == q, f"y{year}q{q}", HEADLINE)
                released(f"y{year}q{q}", before)
        before = set(built.value)
        add_table(built, asked, got, everyone, f"y{year}", HEADLINE)
        if quarters:
            of_whole(built, f"y{year}", [f"y{year}q{q}" for q in range(1, 5)])
        for b in breakdowns:
            for level in range(BREAKDOWNS[b]):
                add_table(built, asked, got, levels[b] == level, f"y{year}/{b}{level}", ROW)
            of_whole(built, f"y{year}", [f"y{year}/{b}{level}" for level in range(BREAKDOWNS[b])])
        if blocks and year % 3 == 0:
            for m in asked:
                if m.rare:
                    kinds = ["met", "not met", "known", "unknown", "population"]
                    for kind in kinds:
                        parts = [f"y{y}|{m.name}|{kind}" for y in range(year - 2, year + 1)]
                        total = sum(built.value[part] for part in parts)
                        one = built.cost[parts[0]], built.about[parts[0]], built.printable[parts[0]]
                        built.cell(f"b{year}|{m.name}|{kind}", total, *one)
                        built.sums.append((f"b{year}|{m.name}|{kind}", tuple(parts)))
                    at = f"b{year}|{m.name}|"
                    built.sums.append((at + "known", (at + "met", at + "not met")))
                    built.sums.append((at + "population", (at + "known", at + "unknown")))
        released(f"y{year}", before)
    return built, releases


def linked(built: Built, cells: Sequence[str], new: Sequence[str], earlier: dict[str, int]) -> LinkedCounts:
    """The frame of a release: all cells so far; `earlier` says what became of those printable before."""
    place = {name: i for i, name in enumerate(cells)}
    fresh = set(new)
    return LinkedCounts(
        names=tuple(cells),
        true=np.array([built.value[name] for name in cells], dtype=np.int64),
        identities=tuple(
            (place[whole], tuple(place[part] for part in parts))
            for whole, parts in built.sums
            if whole in place and all(part in place for part in parts)
        ),
        about_people=np.array([built.about[name] for name in cells]),
        printable=np.array([built.printable[name] and name in fresh for name in cells]),
        earlier=np.array([earlier.get(name, 0) for name in cells], dtype=np.int8),
        cost=np.array([built.cost[name] for name in cells]),
        all_or_none=np.array([built.all_or_none[name] for name in cells]),
    )


def released_one_by_one(built: Built, releases: Sequence[Release], k: int, choose):
    """Each release chosen after the ones before: (name, frame, chosen)."""
    cells: list[str] = []
    earlier: dict[str, int] = {}
    for release in releases:
        cells += release.cells
        counts = linked(built, cells, release.cells, earlier)
        chosen = choose(counts, k)
        yield release.name, counts, chosen
        for i in np.flatnonzero(counts.printable):
            earlier[cells[i]] = 1 if chosen.printed[i] else 2


def kinds_of(names: Sequence[str]) -> Counter[str]:
    return Counter(name.rpartition("|")[2] for name in names)
