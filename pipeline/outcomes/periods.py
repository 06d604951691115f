"""What a report is of: a calendar quarter (2026Q3) or a year (2026-27; 2026 where it begins in January).

A period is text that sorts as it counts. Years begin in the month the settings say, one that begins a quarter, so that
a year is four quarters. Refuses a text that is no period, and one of which nothing is known.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import date, timedelta

import duckdb

from pipeline.contracts.places import SQL
from pipeline.errors import Fault, Refused

QUARTER, YEAR = "quarter", "year"


def parse(written: str) -> str:
    """The period as it is named, if it is one; 2026/27 is 2026-27. Raises Refused."""
    period = written.replace("/", "-")
    if is_one(period):
        return period
    allowed = "a calendar quarter such as 2026Q3, or a year such as 2026-27"
    raise Refused(Fault("PERIOD", written, allowed, "write the year, Q and 1 to 4; or the two years it lies in"))


def is_one(name: str) -> bool:
    """Whether a text is the name of a period."""
    span = re.fullmatch(r"(\d{4})-(\d{2})", name, re.ASCII)
    whole = re.fullmatch(r"\d{4}(Q[1-4])?", name, re.ASCII)
    return whole is not None or (span is not None and (int(span[1]) + 1) % 100 == int(span[2]))


def kind(period: str) -> str:
    """Quarter or year."""
    return QUARTER if "Q" in period else YEAR


def of(day: date, which: str, year_starts: int) -> str:
    """The period of that kind which a day lies in."""
    if which == QUARTER:
        return f"{day.year:04}Q{(day.month + 2) // 3}"
    return _year(day.year if day.month >= year_starts else day.year - 1, year_starts)


def _year(first: int, year_starts: int) -> str:
    return f"{first:04}" if year_starts == 1 else f"{first:04}-{(first + 1) % 100:02}"


def first_day(period: str, year_starts: int) -> date:
    """The first day of a period."""
    month = int(period[5]) * 3 - 2 if kind(period) == QUARTER else year_starts
    return date(int(period[:4]), month, 1)


def last_day(period: str, year_starts: int) -> date:
    """The last day of a period."""
    return first_day(shifted(period, 1), year_starts) - timedelta(days=1)


def shifted(period: str, by: int) -> str:
    """The period that many later, or earlier where `by` is negative."""
    year = int(period[:4])
    if kind(period) == YEAR:
        return _year(year + by, 1 if len(period) == 4 else 2)
    count = year * 4 + int(period[5]) - 1 + by
    return f"{count // 4:04}Q{count % 4 + 1}"


def year_before(period: str) -> str:
    """The same quarter a year before, or the year before."""
    return shifted(period, -4 if kind(period) == QUARTER else -1)


def quarters_of(year: str, year_starts: int) -> tuple[str, ...]:
    """The four quarters of a year."""
    first = of(first_day(year, year_starts), QUARTER, year_starts)
    return tuple(shifted(first, by) for by in range(4))


def run(first: str, last: str) -> Iterator[str]:
    """Every period from the first to the last, both included; only the last where the first comes after it."""
    period = min(first, last)
    while period <= last:
        yield period
        period = shifted(period, 1)


def latest_ended(cut_off: date) -> str:
    """The latest quarter whose last day is on or before the cut-off."""
    quarter = of(cut_off, QUARTER, 1)
    return quarter if last_day(quarter, 1) <= cut_off else shifted(quarter, -1)


def see_that_it_fits(period: str, year_starts: int) -> None:
    """Raise Refused where a year is named as if it began in another month than the settings say."""
    if kind(period) == YEAR and (len(period) == 4) != (year_starts == 1):
        allowed = f"a year such as {_year(int(period[:4]), year_starts)}: year_starts is {year_starts} in audit.toml"
        raise Refused(Fault("PERIOD", period, allowed, "name it so, or correct the setting"))


def see_that_it_is_known(asked: str | None, first: date | None, cut_off: date, year_starts: int) -> None:
    """Raise Refused where a period was asked for that is before the first of any case, or after the cut-off."""
    if asked is None:
        return
    latest = of(cut_off, kind(asked), year_starts)
    earliest = latest if first is None else of(first, kind(asked), year_starts)
    if not (asked <= latest and (first is None or asked >= earliest)):
        allowed = f"a {kind(asked)} from {earliest} to {latest}"
        mend = f"ask for one of those, or load an export drawn later; the newest cut-off is {cut_off}"
        raise Refused(Fault("PERIOD", f"{asked}: nothing is known of it", allowed, mend))


def count_by(con: duckdb.DuckDBPyConnection, which: str, year_starts: int) -> None:
    """Have the SQL files understand periods of that kind: period_of, first_day_of and last_day_of."""
    con.execute(f"CREATE OR REPLACE TEMP MACRO first_month() AS {int(year_starts)}")
    con.execute((SQL / "periods" / f"{which}.sql").read_text(encoding="utf-8"))
