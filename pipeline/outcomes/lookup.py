"""The results table as plain answers to "this measure, quarter, breakdown and level".

Comes in: results.csv and waits.csv as frames. Goes out: a Result with None for what is undefined, so that no NaN gets
into a sentence or a chart; a row that is not there is None, since levels without cases have no row. Refuses, with a
ValueError since it is a defect of the program: frames without their columns, a row twice or without its key.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

import pandas as pd

from pipeline.contracts.measure_files import GROUP, NOTED, REPORTED_DAY, RESULT_COLUMNS, TIME_TO_EVENT, WAIT_COLUMNS

ALL = "all"  # the breakdown, and its one level, that hold everyone

Key = tuple[str, str, str, str]


@dataclass(frozen=True)
class Result:
    """One row of results.csv."""

    eligible: int
    known: int
    met: int | None
    unknown: int | None
    value: float | None
    lower: float | None
    upper: float | None
    bound_low: float | None
    bound_high: float | None
    complete: bool
    of: int  # met is so many of these: of those known or, of what is only noted, of all
    ended: int | None = None  # of a wait: how many ended another way by the reported day; None where not to be said


@dataclass(frozen=True)
class CurveDay:
    """One row of waits.csv."""

    day: int
    at_risk: int
    events: int
    competing: int
    censored: int
    incidence: float | None
    lower: float | None
    upper: float | None


@dataclass(frozen=True)
class Lookup:
    """Results and curves by measure, quarter, breakdown and level."""

    results: Mapping[Key, Result]
    curves: Mapping[Key, tuple[CurveDay, ...]]
    levels: Mapping[tuple[str, str, str], tuple[str, ...]]  # measure, quarter, breakdown -> levels with a row
    first: str  # the first quarter there is

    def everyone(self, measure: str, period: str) -> Result | None:
        """The result of all the measure is about."""
        return self.results.get((measure, period, ALL, ALL))

    def ever_known(self, measure: str) -> bool:
        """Whether anything is known of a measure in any period."""
        return any(key[0] == measure and key[2] == ALL and result.known for key, result in self.results.items())


def _rows(frame: pd.DataFrame) -> Iterator[Any]:
    """The rows, with None for what is missing: to ask of each value by itself takes a quarter of a second."""
    return frame.astype(object).where(frame.notna(), None).itertuples(index=False)  # type: ignore[no-any-return]


def _number(value: Any) -> float | None:
    return None if value is None else float(value)


def _count(value: Any) -> int | None:
    return None if value is None else int(value)


def read(results: pd.DataFrame, waits: pd.DataFrame) -> Lookup:
    """Read both frames into plain values, once for everything that asks."""
    _see_that_they_hang_together(results, waits)
    curves: dict[Key, list[CurveDay]] = {}
    for row in _rows(waits):
        curves.setdefault((row.measure, row.period, row.breakdown, str(row.level)), []).append(
            CurveDay(
                day=int(row.day),
                at_risk=int(row.at_risk),
                events=int(row.events),
                competing=int(row.competing),
                censored=int(row.censored),
                incidence=_number(row.incidence),
                lower=_number(row.lower),
                upper=_number(row.upper),
            )
        )
    by_key: dict[Key, Result] = {}
    levels: dict[tuple[str, str, str], list[str]] = {}
    for row in _rows(results):
        key = (row.measure, row.period, row.breakdown, str(row.level))
        by_key[key] = Result(
            eligible=int(row.eligible),
            known=int(row.known),
            met=_count(row.met),
            unknown=_count(row.unknown),
            value=_number(row.value),
            lower=_number(row.lower),
            upper=_number(row.upper),
            bound_low=_number(row.bound_low),
            bound_high=_number(row.bound_high),
            complete=row.complete == "yes",
            of=int(row.eligible if row.kind == NOTED else row.known),
            ended=_ended(curves.get(key, ())) if row.kind == TIME_TO_EVENT else None,
        )
        levels.setdefault(key[:3], []).append(key[3])
    return Lookup(
        results=by_key,
        curves={key: tuple(sorted(days, key=lambda day: day.day)) for key, days in curves.items()},
        levels={key: tuple(names) for key, names in levels.items()},
        first=min((key[1] for key in by_key), default=""),
    )


def _ended(curve: Iterable[CurveDay]) -> int:
    return sum(step.competing for step in curve if step.day <= REPORTED_DAY)


def _see_that_they_hang_together(results: pd.DataFrame, waits: pd.DataFrame) -> None:
    frames = (("results", results, RESULT_COLUMNS), ("waits", waits, WAIT_COLUMNS))
    wrong = [
        f"{name}: column {column} is missing"
        for name, frame, columns in frames
        for column in columns
        if column not in frame.columns
    ]
    if not wrong:
        keys = results[list(GROUP)]
        wrong = [f"results: {key} stands twice" for key in keys[keys.duplicated()].itertuples(index=False, name=None)]
        if keys.isna().any(axis=None):
            wrong.append("results: a row without measure, quarter, breakdown or level")
    if wrong:
        raise ValueError("the results cannot be read:\n" + "\n".join(wrong))


def wait_bounds(curve: tuple[CurveDay, ...], eligible: int, day: int = REPORTED_DAY) -> tuple[float, float] | None:
    """The share with the event by that day if none, and if all, of the cases lost before it had had it.

    A case censored on the day itself was watched through it (events come before censoring), so it is not open. Cases
    whose follow-up ended before the wait began have no day at all, and are open too.
    """
    if eligible == 0:
        return None
    events = sum(step.events for step in curve if step.day <= day)
    never_watched = eligible - (curve[0].at_risk if curve else 0)
    lost = never_watched + sum(step.censored for step in curve if step.day < day)
    return events / eligible, (events + lost) / eligible
