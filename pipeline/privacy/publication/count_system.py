"""Every count of every release and how they add up: what whoever reads all the reports can subtract.

Comes in: frozen counts by period, the published measures and activity tables with how they lie in each other. Goes out:
LinkedCounts for the engine, and where each key is in them. Refuses, naming the files: counts that do not lie as a
measure says they do.

One number may have several keys: everyone asked at six weeks is everyone breastfed at six weeks is asked of. Those are
one cell, so that one cannot be printed where the other is withheld.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from pipeline.contracts.measure_files import Measure
from pipeline.contracts.sql_file import SqlFile
from pipeline.errors import Fault, Refused
from pipeline.privacy.publication.count_cells import Cells, Place, name_of, said
from pipeline.privacy.publication.frozen_counts import ACTIVITY, COUNT, EVERYONE, MEASURE, Counts, Key
from pipeline.privacy.publication.within import relate_activity, relate_measures
from pipeline.privacy.release.linked_counts import LinkedCounts

ELSEWHERE = -1  # in place of a value: it went out another way, and may have been told as something else than it is
_COST = {"unknown": 1.0, "met": 4.0, "known": 4.0, "eligible": 10.0}
_OF_EVERYONE = 40.0  # so much dearer is a figure of everyone
SMALL_ROW = (5, 9)  # known people of a row in which all or none is told of each of them


@dataclass(frozen=True)
class CountSystem:
    """The linked counts, and the number of the cell of each key that may be printed or was."""

    linked: LinkedCounts
    at: Mapping[Place, int]


def system(
    periods: Mapping[str, Counts],
    measures: Sequence[Measure],
    files: Sequence[SqlFile],
    *,
    printable: Collection[Place],
    sums_of_periods: Iterable[tuple[str, tuple[str, ...]]],
    earlier: Mapping[Place, int | None],
) -> CountSystem:
    """Put the counts of all periods together.

    periods: the counts of each; a rest of a year that is released nowhere is one of them. printable: what this release
    would like to print. sums_of_periods: a block or year and the periods it is the sum of, where these are in it too.
    earlier: what was printed, with its value, or withheld (None), by any release before. Raises Refused.
    """
    cells = Cells()
    faults: list[Fault] = []
    for period, counts in periods.items():
        _add_measures(cells, period, counts, measures)
        faults += relate_measures(cells, period, counts, measures)
        _add_activity(cells, period, counts, files)
        faults += relate_activity(cells, period, files)
    if faults:
        raise Refused(faults)
    for whole, parts in sums_of_periods:
        _add_sum(cells, whole, parts)
    for place in printable:
        if place in cells.number:
            cells.printable[cells.number[place]] = True
    return _finished(cells, earlier)


def _add_measures(cells: Cells, period: str, counts: Counts, measures: Sequence[Measure]) -> None:
    names = {measure.name for measure in measures}
    rows: dict[tuple[str, str], dict[str, dict[str, int]]] = {}
    for key, count in counts.items():
        if key.table == MEASURE and key.name in names:
            rows.setdefault((key.name, key.breakdown), {}).setdefault(key.level, {})[key.part] = count
    for (name, breakdown), by_level in sorted(rows.items(), key=lambda row: row[0][1] != EVERYONE):
        dear = _OF_EVERYONE if breakdown == EVERYONE else 1.0
        for level, parts in by_level.items():
            at = {
                part: cells.add(
                    (period, Key(MEASURE, name, breakdown, level, part)),
                    count,
                    people=part != "unknown",
                    cost=_COST.get(part, 4.0) * dear,
                )
                for part, count in parts.items()
            }
            _add_up(cells, period, Key(MEASURE, name, breakdown, level, ""), at)
            if breakdown != EVERYONE and SMALL_ROW[0] <= parts.get("known", 0) <= SMALL_ROW[1]:
                for part in ("met", "not_met"):
                    cells.all_or_none[at[part]] = True
        if breakdown != EVERYONE:
            for part in next(iter(by_level.values())):
                whole = cells.number[period, Key(MEASURE, name, EVERYONE, EVERYONE, part)]
                of = (cells.number[period, Key(MEASURE, name, breakdown, level, part)] for level in by_level)
                cells.sums.append((whole, tuple(of)))


def _add_up(cells: Cells, period: str, row: Key, at: Mapping[str, int]) -> None:
    """How the parts of one row add up."""
    if "known" not in at:
        return
    cells.sums.append((at["eligible"], (at["known"], at["unknown"])))
    cells.sums.append((at["known"], (at["met"], at["not_met"])))
    if "by_7" in at:
        in_between = []
        for earlier, later in zip(("by_7", "by_14"), ("by_14", "met"), strict=True):
            place = (period, Key(row.table, row.name, row.breakdown, row.level, f"{later} less {earlier}"))
            in_between.append(cells.add(place, cells.true[at[later]] - cells.true[at[earlier]], people=True))
            cells.sums.append((at[later], (at[earlier], in_between[-1])))
        cells.sums.append((at["not_met"], (at["ended"], at["waiting"])))


def _add_activity(cells: Cells, period: str, counts: Counts, files: Sequence[SqlFile]) -> None:
    for file in files:
        groups: dict[str, list[int]] = {}
        keys = sorted(key for key in counts if (key.table, key.name) == (ACTIVITY, file.own_name))
        for key in keys:
            people = not key.level.endswith("not_recorded")
            number = cells.add((period, key), counts[key], people=people, cost=4.0 if people else 1.0)
            groups.setdefault(key.level.rpartition(": ")[0], []).append(number)
        if keys:
            true = sum(cells.true[number] for number in next(iter(groups.values())))
            place = (period, Key(ACTIVITY, file.own_name, "", EVERYONE, COUNT))
            total = cells.add(place, true, people=True, cost=10.0 * _OF_EVERYONE)
            cells.sums += [(total, tuple(numbers)) for numbers in groups.values()]


def _add_sum(cells: Cells, whole: str, parts: Sequence[str]) -> None:
    """A period that is the sum of others: for everyone, each part of each measure that it holds."""
    for period, key in [place for place in cells.number if place[0] == whole]:
        if key.table == MEASURE and key.breakdown == EVERYONE:
            numbers = [cells.number[part, key] for part in parts if (part, key) in cells.number]
            if sum(cells.true[number] for number in numbers) != cells.true[cells.number[period, key]]:
                raise ValueError(f"{said((period, key))} is not the sum of {', '.join(parts)}")
            cells.sums.append((cells.number[period, key], tuple(numbers)))


def _finished(cells: Cells, earlier: Mapping[Place, int | None]) -> CountSystem:
    """Number the cells anew, one for each number there is, and take what earlier releases did to them."""
    roots = sorted({cells.root(number) for number in range(len(cells.true))})
    new = {root: place for place, root in enumerate(roots)}
    at = {place: new[cells.root(number)] for place, number in cells.number.items()}
    size = len(roots)
    true, cost = np.zeros(size, dtype=np.int64), np.zeros(size)
    people, printable, all_or_none = (np.zeros(size, dtype=bool) for _ in range(3))
    names = [""] * size
    for place, number in cells.number.items():
        where = at[place]
        true[where] = cells.true[number]
        cost[where] += cells.cost[number] if cells.printable[number] else 0.0
        people[where] |= cells.people[number]
        printable[where] |= cells.printable[number]
        all_or_none[where] |= cells.all_or_none[number]
        names[where] = names[where] or name_of(place)
    before = np.zeros(size, dtype=np.int8)
    faults: list[Fault] = []
    for place, printed in earlier.items():
        if place in at:
            state = 2 if printed is None else 1
            before[at[place]] = 1 if 1 in (state, before[at[place]]) else 2
            if printed not in (None, ELSEWHERE, true[at[place]]):
                faults.append(
                    Fault(
                        said(place),
                        f"released as {printed}, and {true[at[place]]} in the frozen counts",
                        "the frozen counts of what is published",
                        "put back the folder releases from a copy",
                    )
                )
    if faults:
        raise Refused(faults)
    sums = {
        (new[cells.root(whole)], tuple(sorted(new[cells.root(part)] for part in parts))) for whole, parts in cells.sums
    }
    # Where the whole is one of its own parts, nothing else can be in it: unknown, of a measure that is always known.
    identities = tuple(sorted((whole, parts) for whole, parts in sums if whole not in parts))
    linked = LinkedCounts(
        names=tuple(names),
        true=true,
        identities=identities,
        about_people=people,
        printable=printable & (before == 0),
        earlier=before,
        cost=np.maximum(cost, 1.0),
        all_or_none=all_or_none,
    )
    return CountSystem(linked, at)
