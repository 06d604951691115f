"""One case, request, referral or division behind a figure, in words: its answer, the dates that gave it, its lines.

Comes in: an entry, what its figure rests on, what was read about the traced cases. Goes out: a TracedCase, all texts.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from typing import Any

from pipeline.contracts import layout
from pipeline.contracts.grains import GRAINS, Grain
from pipeline.contracts.measure_files import DAYS, TIME_TO_EVENT
from pipeline.lineage.behind_figure import UNKNOWN, Entry
from pipeline.lineage.export_lines import CountsAs, Line, Lines
from pipeline.lineage.figure_asked import EVERYONE, Figure
from pipeline.lineage.rests_on import RestsOn
from pipeline.report.words import sentences
from pipeline.report.words.dates import day_label

# A baby's day of birth is worked with and never shown; ids tell rows apart and mean nothing in the record.
_NEVER_SHOWN = {"birth_date", "case_ref", "division_id", "referral_id", "row_ids", ""}
_WRITTEN_IN = {"referral": "referrals", "division": "procedures"}  # grain -> table of the layout
NOT_RECORDED = "not recorded"
_CALLED = {"cut_off": "data up to"}


@dataclass(frozen=True)
class TracedLine:
    """One line of an export."""

    where: str  # file and line
    of: str  # the table, where the file is not named after it
    own: bool  # it is the very referral or division that is counted
    says: str


@dataclass(frozen=True)
class TracedCase:
    """One case, request, referral or division behind a figure."""

    case_ref: str
    counted_on: str  # the day, and what it is the day of
    says: str  # beside the answer of its group: after how many days
    notes: tuple[str, ...]  # which load it counts from, where that wants saying
    worked_out: str
    lines: tuple[TracedLine, ...]


def traced_case(figure: Figure, entry: Entry, rests: RestsOn, lines: Lines, several_loads: bool) -> TracedCase:
    """All about one entry of a figure."""
    counts_as = lines.counts_as[entry.case_ref]
    grain = figure.grain
    own_rows = [] if entry.own_id is None else lines.worked_out[grain][entry.own_id]["row_ids"]
    used = rests.used()
    return TracedCase(
        entry.case_ref,
        _day(figure, entry.index_date),
        _says(figure, entry),
        tuple(_notes(counts_as, several_loads)),
        ", ".join(_worked_out(grain, entry, rests, lines)),
        tuple(
            _line(line, used[line.table], line.table == _WRITTEN_IN.get(grain.name) and line.row_id in own_rows)
            for line in lines.of_case[entry.case_ref]
            if line.table in used
        ),
    )


def _day(figure: Figure, day: date) -> str:
    """`first contact on 8 July 2026`: a date says what it is."""
    what = figure.measure.counted_on if figure.is_measure and figure.measure else ""
    if figure.name == EVERYONE:
        what = "first contact"
    return f"{re.sub('^the day (of the |of |the baby was )', '', what) or 'counted'} on {day_label(day)}"


def _says(figure: Figure, entry: Entry) -> str:
    kind = figure.measure.kind if figure.is_measure and figure.measure else ""
    if kind == DAYS and entry.days is not None:
        return sentences.days_long(entry.days)
    if kind == TIME_TO_EVENT:
        if entry.answer != UNKNOWN:
            return f"after {sentences.days_long(entry.days or 0)}"
        if entry.days is None:
            return "follow-up had ended before it began"
        return f"watched for {sentences.days_long(entry.days)}"
    return ""


def _notes(counts_as: CountsAs, several_loads: bool) -> Iterator[str]:
    if counts_as.set_aside_in is not None:
        newer = f"a newer row of it, in load {counts_as.set_aside_in}, was set aside"
        yield f"counts as load {counts_as.load} had it: {newer}"
    elif counts_as.newest_load is not None:
        yield f"counts as load {counts_as.load} had it: load {counts_as.newest_load} no longer holds it"
    elif several_loads:
        yield f"load {counts_as.load}"


def _worked_out(grain: Grain, entry: Entry, rests: RestsOn, lines: Lines) -> Iterator[str]:
    """The values the program worked out of the lines: not those that only repeat a line."""
    of_case, own_id = GRAINS["case"], entry.case_ref if entry.own_id is None else entry.own_id
    rows = [
        (one.table, lines.worked_out[one].get(key, {})) for one, key in ((of_case, entry.case_ref), (grain, own_id))
    ]
    said: set[str] = set()
    written = {column.name for table in layout.tables() for column in table.columns}
    for table, row in rows:
        for name, value in row.items():
            if (table, name) in rests.worked_out and name not in _NEVER_SHOWN | written | said:
                said.add(name)
                yield f"{_CALLED.get(name) or name.replace('_', ' ')} {_text(value)}"


def _line(line: Line, columns: Iterable[str], own: bool) -> TracedLine:
    where = f"{line.file}, line {line.line}"
    of = "" if line.file.rpartition(".")[0] == line.table else line.table
    if "" in line.set_aside:
        return TracedLine(where, of, False, f"set aside as a whole, not used: {line.set_aside['']}")
    told = [f"{name} {_text(line.values[name])}{_set_aside(line, name)}" for name in columns]
    return TracedLine(where, of, own, ", ".join(told) or "the row itself: that there is one")


def _set_aside(line: Line, name: str) -> str:
    return f" (set aside: {line.set_aside[name]})" if name in line.set_aside else ""


def _text(value: Any) -> str:
    if value is None:
        return NOT_RECORDED
    if isinstance(value, bool):
        return "yes" if value else "no"
    return value.isoformat() if isinstance(value, date) else str(value)
