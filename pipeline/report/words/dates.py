"""Quarters and days as a reader says them.

Comes in: a quarter's name (`2026Q3`) or a day. Goes out: its label. Refuses: a name that is not a year and a quarter.
"""

from __future__ import annotations

import re
from datetime import date

from pipeline.outcomes.quarters import last_day, shifted

_NAME = re.compile(r"(\d{4})Q([1-4])")
# Written out, not taken from the locale: the same page must come out on every machine.
_EARLY = ("January", "February", "March", "April", "May", "June")
_LATE = ("July", "August", "September", "October", "November", "December")
_MONTHS = (*_EARLY, *_LATE)


def _parts(quarter: str) -> tuple[int, int]:
    named = _NAME.fullmatch(quarter)
    if named is None:
        raise ValueError(f"not a quarter: {quarter!r}; a quarter looks like 2026Q3")
    return int(named[1]), int(named[2])


def long_label(quarter: str) -> str:
    """`July to September 2026`."""
    year, number = _parts(quarter)
    return f"{_MONTHS[number * 3 - 3]} to {_MONTHS[number * 3 - 1]} {year}"


def short_label(quarter: str) -> str:
    """`Jul-Sep 26`, for tables and where space is dear."""
    year, number = _parts(quarter)
    return f"{_MONTHS[number * 3 - 3][:3]}-{_MONTHS[number * 3 - 1][:3]} {year % 100:02d}"


def day_label(day: date) -> str:
    """`14 October 2026`."""
    return f"{day.day} {_MONTHS[day.month - 1]} {day.year}"


def short_day_label(day: date) -> str:
    """`14 Oct 2026`, for tables: in one piece."""
    return f"{day.day}\u00a0{_MONTHS[day.month - 1][:3]}\u00a0{day.year}"


def before(quarter: str, count: int) -> str:
    """The quarter that many before this one."""
    return shifted(quarter, -count)


def run_up_to(quarter: str, count: int, first: str) -> tuple[str, ...]:
    """At most `count` quarters in order, the last being `quarter` and none before `first`."""
    names = (before(quarter, back) for back in reversed(range(count)))
    return tuple(name for name in names if name >= first)


def still_running(quarter: str, cut_off: date) -> tuple[str, ...]:
    """Say so where the quarter had not ended by the cut-off."""
    last = last_day(quarter)
    if last <= cut_off:
        return ()
    return (f"The quarter ends on {day_label(last)}, after the cut-off: its figures are of a part of it",)
