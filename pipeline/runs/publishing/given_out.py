"""Figures that went out another way: an answer to a request, slides, a neighbour's total.

Comes in: a CSV with the columns of figures.csv that say what is counted, and the value. Goes out: what each line
counts, with its value. Refuses, all lines at once: a missing column, what no release counts, a value that is no whole
number, a file that holds nothing.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path

from pipeline.contracts.measure_files import SHOWN, TIME_TO_EVENT, Measure
from pipeline.contracts.numbered_files import activity_files
from pipeline.contracts.written_text import read_written_text
from pipeline.errors import Fault, Refused, nearest
from pipeline.outcomes import periods
from pipeline.privacy.publication.count_cells import Place
from pipeline.privacy.publication.frozen_counts import ACTIVITY, COUNT, EVERYONE, MEASURE, Key
from pipeline.privacy.publication.release_frame import FIRST_SEEN
from pipeline.privacy.publication.wanted import PRINTED_OF_WAITS, PRINTED_PARTS

COLUMNS = ("period", "table", "name", "breakdown", "level", "count", "value")


def read(path: Path, measures: Sequence[Measure]) -> dict[Place, int]:
    """What the file says went out. Raises Refused."""
    allowed = f"a CSV with the columns {', '.join(COLUMNS)}"
    text = read_written_text(path, allowed, "name the file; its columns are those of a figures.csv")
    rows = csv.DictReader(io.StringIO(text))
    missing = [name for name in COLUMNS if name not in (rows.fieldnames or ())]
    if missing:
        mend = "add the column, as figures.csv of any release has it"
        raise Refused(Fault(f"{path.name}, line 1", f"no column {', '.join(missing)}", allowed, mend))
    known = {measure.name: measure for measure in measures if measure.published in SHOWN}
    population = next(measure.name for measure in measures if measure.published == "eligible")
    places: dict[Place, int] = {}
    faults: list[Fault] = []
    for row in rows:
        wrong = list(_faults(row, known))
        faults += [Fault(f"{path.name}, line {rows.line_num}", *what) for what in wrong]
        if not wrong:
            places[_place(row, known, population)] = int(row["value"])
    if not places and not faults:
        faults.append(Fault(path.name, "no line", "a line for each number that went out", "write them, then record"))
    if faults:
        raise Refused(faults)
    return places


def _faults(row: Mapping[str, str], known: Mapping[str, Measure]) -> Iterator[tuple[str, str, str]]:
    try:
        periods.parse(row["period"])
    except Refused as refused:
        yield f"period {row['period']}", refused.faults[0].allowed, refused.faults[0].mend
    if row["table"] == MEASURE:
        names = list(known)
        parts = PRINTED_PARTS
        if row["name"] in known and known[row["name"]].kind == TIME_TO_EVENT:
            parts = tuple("by_28" if part == "met" else part for part in PRINTED_OF_WAITS)
    elif row["table"] == ACTIVITY:
        names = [FIRST_SEEN, *(file.own_name for file in activity_files() if file.keys.get("published") == "yes")]
        parts = (COUNT,)
    else:
        yield f"table {row['table']}", f"{MEASURE} or {ACTIVITY}", "write it as figures.csv does"
        return
    if row["name"] not in names:
        yield f"name {row['name']}", f"what a release counts{nearest(row['name'], names)}", "correct the name"
    elif row["count"] not in parts:
        yield f"count {row['count']}", ", ".join(parts), "correct it"
    if not row["value"].isascii() or not row["value"].isdecimal():
        yield f"value {row['value']!r}", "a whole number", "leave out a line whose number did not go out"


def _place(row: Mapping[str, str], known: Mapping[str, Measure], population: str) -> Place:
    period, level = periods.parse(row["period"]), row["level"] or EVERYONE
    if row["name"] == FIRST_SEEN:
        breakdown, _, own = level.rpartition(": ")
        return period, Key(MEASURE, population, breakdown or EVERYONE, own, "eligible")
    if row["table"] == ACTIVITY:
        return period, Key(ACTIVITY, row["name"], "", level, COUNT)
    is_wait = known[row["name"]].kind == TIME_TO_EVENT
    part = "met" if is_wait and row["count"] == "by_28" else row["count"]
    return period, Key(MEASURE, row["name"], row["breakdown"] or EVERYONE, level, part)
