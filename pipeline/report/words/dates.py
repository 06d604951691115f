"""Periods and days as a reader says them.

Comes in: a period's name (`2026Q3`, `2026-27`) or a day. Goes out: its label. Refuses: a name that is no period.
"""

from __future__ import annotations

from datetime import date

from pipeline.outcomes import periods
from pipeline.outcomes.periods import QUARTER, shifted, year_before

# Written out, not taken from the locale: the same page must come out on every machine.
_EARLY = ("January", "February", "March", "April", "May", "June")
_LATE = ("July", "August", "September", "October", "November", "December")
_MONTHS = (*_EARLY, *_LATE)


def long_label(period: str) -> str:
    """`July to September 2026`, `2026/27`."""
    if periods.kind(period) != QUARTER:
        return period.replace("-", "/")
    first, last = _months(period)
    return f"{first} to {last} {period[:4]}"


def short_label(period: str) -> str:
    """`Jul-Sep 26`, `2026/27`: for tables and where space is dear."""
    if periods.kind(period) != QUARTER:
        return period.replace("-", "/")
    first, last = _months(period)
    return f"{first[:3]}-{last[:3]} {period[2:4]}"


def both_names(period: str, year_starts: int) -> str:
    """`July to September 2026, Q2 2026/27`; `April 2026 to March 2027, the year 2026/27`; as calendars and as years."""
    first = periods.first_day(period, year_starts)
    if periods.kind(period) != QUARTER:
        last = periods.last_day(period, year_starts)
        whole = f"{_MONTHS[first.month - 1]} {first.year} to {_MONTHS[last.month - 1]} {last.year}"
        return f"{whole}, the year {long_label(period)}"
    year = periods.of(first, periods.YEAR, year_starts)
    number = periods.quarters_of(year, year_starts).index(period) + 1
    return f"{long_label(period)}, Q{number} {long_label(year)}"


def _months(quarter: str) -> tuple[str, str]:
    number = int(quarter[5])
    return _MONTHS[number * 3 - 3], _MONTHS[number * 3 - 1]


def month_label(month: str) -> str:
    """`April 2026` for 2026-04."""
    return f"{_MONTHS[int(month[5:]) - 1]} {month[:4]}"


def short_month(month: str) -> str:
    """`Apr` for 2026-04."""
    return _MONTHS[int(month[5:]) - 1][:3]


def day_label(day: date) -> str:
    """`14 October 2026`."""
    return f"{day.day} {_MONTHS[day.month - 1]} {day.year}"


def short_day_label(day: date) -> str:
    """`14 Oct 2026`, for tables: in one piece."""
    return f"{day.day}\u00a0{_MONTHS[day.month - 1][:3]}\u00a0{day.year}"


def before(period: str, count: int) -> str:
    """The period that many before this one."""
    return shifted(period, -count)


def periods_beside(period: str) -> tuple[str, ...]:
    """The periods that stand beside one: the one before, and that of a year before."""
    return tuple(dict.fromkeys((before(period, 1), year_before(period))))


def a_year_before(period: str) -> str:
    """`the same quarter a year before`, `the year before`."""
    return "the same quarter a year before" if periods.kind(period) == QUARTER else "the year before"


def run_up_to(period: str, count: int, first: str) -> tuple[str, ...]:
    """At most `count` periods in order, the last being `period` and none before `first`."""
    names = (before(period, back) for back in reversed(range(count)))
    return tuple(name for name in names if name >= first)


def still_running(period: str, cut_off: date, year_starts: int) -> tuple[str, ...]:
    """Say so where the period had not ended by the cut-off."""
    last = periods.last_day(period, year_starts)
    if last <= cut_off:
        return ()
    which = periods.kind(period)
    return (f"The {which} ends on {day_label(last)}, after the last day of the data: its figures are of a part of it",)
