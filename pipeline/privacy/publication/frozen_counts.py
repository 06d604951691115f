"""The counts of a quarter as they were when it was first released, or its year: they never change again.

A quarter is frozen once. What is recorded later of those days is in no release, so that no total can be subtracted
from a newer one. Comes in: counts by quarter from the store. Goes out: a count for each key, and the same as a CSV that
stays in the service. Refuses: a file that is not as it was written.
"""

from __future__ import annotations

import csv
import hashlib
import io
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import pandas as pd

from pipeline.contracts.measure_files import TIME_TO_EVENT, Measure
from pipeline.contracts.sql_file import SqlFile

MEASURE, ACTIVITY, EVERYONE, COUNT = "measure", "activity", "all", "count"
COLUMNS = ("table", "name", "breakdown", "level", "part", "count")
PARTS = ("eligible", "known", "unknown", "met", "not_met")  # of every share
WAIT_PARTS = ("by_7", "by_14", "ended", "waiting")  # beside those of every share; by_28 is met


@dataclass(frozen=True, order=True)
class Key:
    """What is counted: of a measure or an activity table, the level of a breakdown (all: everyone), and which part."""

    table: str
    name: str
    breakdown: str
    level: str
    part: str


Counts = Mapping[Key, int]


def frozen(
    parts: pd.DataFrame, activity: pd.DataFrame, quarter: str, measures: Sequence[Measure], files: Iterable[SqlFile]
) -> dict[Key, int]:
    """The counts of one quarter: of the published measures by level, and of the published activity tables."""
    counts: dict[Key, int] = {}
    of = {measure.name: measure for measure in measures}
    for row in parts[(parts["period"] == quarter) & parts["measure"].isin(list(of))].itertuples():
        if of[str(row.measure)].published == "everyone" and row.breakdown != EVERYONE:
            continue
        whole = _parts(row, of[str(row.measure)])
        for part, count in whole.items():
            counts[Key(MEASURE, str(row.measure), str(row.breakdown), str(row.level), part)] = count
    there = activity[activity["period"] == quarter]
    for file in files:
        rows = there.loc[there["section"] == file.own_name, ["row", "count"]].itertuples(index=False)
        for row in rows:
            counts[Key(ACTIVITY, file.own_name, "", str(row.row), COUNT)] = int(row.count)
    return counts


def _parts(row: Any, measure: Measure) -> dict[str, int]:
    eligible, known, met, ended = (int(getattr(row, part)) for part in ("eligible", "known", "met", "ended"))
    if measure.published == "eligible":
        return {"eligible": eligible}
    parts = {"eligible": eligible, "known": known, "unknown": eligible - known, "met": met, "not_met": known - met}
    if measure.kind == TIME_TO_EVENT and row.breakdown == EVERYONE:
        within = {part: int(getattr(row, part)) for part in ("by_7", "by_14")}
        parts |= {**within, "ended": ended, "waiting": known - met - ended}
    return parts


def added(counts: Iterable[Counts]) -> dict[Key, int]:
    """The counts of several quarters together."""
    total: dict[Key, int] = {}
    for one in counts:
        for key, count in one.items():
            total[key] = total.get(key, 0) + count
    return total


def levels(counts: Counts) -> set[tuple[str, str]]:
    """The levels there are, with their breakdowns."""
    return {(key.breakdown, key.level) for key in counts if key.table == MEASURE}


def definitions(measures: Iterable[Measure], files: Iterable[SqlFile]) -> dict[str, str]:
    """For each published measure and table, a mark that changes where what is counted changes."""
    marks = {measure.name: f"{measure.file.sql}\n{measure.eligible}\n{measure.met}" for measure in measures}
    marks |= {file.own_name: file.sql for file in files}
    return {name: hashlib.sha256(_of_select(text).encode()).hexdigest()[:16] for name, text in marks.items()}


def _of_select(text: str) -> str:
    """Without what the head of the file says beside the definition, such as its question or its source."""
    told = (
        "-- question:",
        "-- source:",
        "-- changed:",
        "-- section:",
        "-- own_file:",
        "-- also_by:",
        "-- title:",
        "-- never:",
    )
    return "\n".join(line for line in text.splitlines() if not line.startswith(told))


def as_csv(counts: Counts) -> bytes:
    """The counts as a file of the service's own."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(COLUMNS)
    writer.writerows((*(getattr(key, name) for name in COLUMNS[:-1]), counts[key]) for key in sorted(counts))
    return text.getvalue().encode()


def from_csv(body: bytes) -> dict[Key, int]:
    """What `as_csv` wrote."""
    rows = csv.reader(io.StringIO(body.decode()))
    next(rows)
    return {Key(*row[:-1]): int(row[-1]) for row in rows}


def missing_levels(before: Counts, now: Counts, breakdowns: Collection[str]) -> list[tuple[str, str, list[str]]]:
    """Levels that were there when a quarter was frozen and are not now, with those that are there only now."""
    then, today = levels(before), levels(now)
    gone = [(breakdown, level) for breakdown, level in sorted(then - today) if breakdown in breakdowns]
    return [
        (breakdown, level, sorted(new for where, new in today - then if where == breakdown))
        for breakdown, level in gone
    ]
