"""The counts that lie in one another, as the files say it: one cell where they are the same, else with what is between.

Comes in: cells, and the relations of the measures and activity tables. Goes out: more cells, and how they add up.
Refuses, naming the file: counts that do not lie as it says.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from pipeline.contracts.count_relations import DAYS_COUNTED, Relation, relations
from pipeline.contracts.measure_files import Measure
from pipeline.contracts.sql_file import SqlFile
from pipeline.errors import Fault
from pipeline.privacy.publication.count_cells import Cells, Place, said
from pipeline.privacy.publication.frozen_counts import ACTIVITY, COUNT, EVERYONE, MEASURE, Counts, Key

_OF_RECORDS = {"known", "unknown"}  # what lies between one of these and another count says how records are kept


def relate_measures(cells: Cells, period: str, counts: Counts, measures: Sequence[Measure]) -> list[Fault]:
    """The relations that measures say, at every level. What does not lie so."""
    faults: list[Fault] = []
    rows = sorted({(key.name, key.breakdown, key.level) for key in counts if key.table == MEASURE})
    by_name: dict[str, list[tuple[str, str]]] = {}
    for name, breakdown, level in rows:
        by_name.setdefault(name, []).append((breakdown, level))
    for measure in measures:
        # The ones of left_out last: it is made by the relation of eligible.
        for relation in sorted(measure.inside, key=lambda one: one.mine == "left_out"):
            for breakdown, level in by_name.get(measure.name, ()):
                for mine, how, theirs in _as_counted(relation, measure):
                    one = (period, Key(MEASURE, measure.name, breakdown, level, mine))
                    other = (period, Key(MEASURE, relation.measure, breakdown, level, theirs))
                    faults += _lie(cells, measure.file, one, how, other)
    return faults


def _as_counted(relation: Relation, measure: Measure) -> Iterable[tuple[str, str, str]]:
    """The relation between parts that are counted: by_10 lies between by_7 and by_14, and by_28 is met."""
    if relation.part == "ended" and (measure.horizon or 0) > DAYS_COUNTED[-1]:
        return []  # those who ended within more days need not have ended within so few
    if not relation.part.startswith("by_"):
        return [(relation.mine, relation.how, relation.part)]
    day = int(relation.part.removeprefix("by_"))
    last = DAYS_COUNTED[-1]
    part = {known: "met" if known == last else f"by_{known}" for known in DAYS_COUNTED}
    if day in part:
        return [(relation.mine, "=", part[day])]
    around = [(known, "<") for known in DAYS_COUNTED if known > day][:1]
    around += [(known, ">") for known in DAYS_COUNTED if known < day][-1:]
    return [(relation.mine, how, part[known]) for known, how in around]


def relate_activity(cells: Cells, period: str, files: Sequence[SqlFile]) -> list[Fault]:
    """Those that activity tables say. What does not lie so."""
    faults: list[Fault] = []
    for file in files:
        for relation in relations(file, None)[0]:
            row = EVERYONE if relation.mine == "total" else relation.mine
            one = (period, Key(ACTIVITY, file.own_name, "", row, COUNT))
            other = (period, Key(MEASURE, relation.measure, EVERYONE, EVERYONE, relation.part))
            faults += _lie(cells, file, one, relation.how, other)
    return faults


def _lie(cells: Cells, file: SqlFile, one: Place, how: str, other: Place) -> list[Fault]:
    """Put one relation between two cells, where both are there. A level without anyone has no cell."""
    if one not in cells.number or other not in cells.number:
        return []
    mine, theirs = cells.number[one], cells.number[other]
    inner, outer = (theirs, mine) if how == ">" else (mine, theirs)
    between = cells.true[outer] - cells.true[inner]
    if between < 0 or (how == "=" and between):
        found = f"{said(one)} is {cells.true[mine]} and {said(other)} is {cells.true[theirs]}"
        mend = "correct the relation, or the definition of one of the measures"
        return [Fault(file.at("inside"), found, f"counts that lie as {how} says", mend)]
    if how == "=":
        cells.join(mine, theirs)
        return []
    parts = {one[1].part, other[1].part}
    left_out = how == "<" and parts == {"eligible"}
    key = Key(MEASURE, one[1].name, one[1].breakdown, one[1].level, "left_out")
    if not left_out:
        names = [f"{key.name}.{key.part or key.level}" for key in (one[1], other[1])]
        name = f"{names[0]} less {names[1]}" if how == ">" else f"{names[1]} less {names[0]}"
        key = Key("between", name, one[1].breakdown, one[1].level, "")
    slack = cells.add((one[0], key), between, people=not parts & _OF_RECORDS)
    cells.sums.append((outer, (inner, slack)))
    return []
