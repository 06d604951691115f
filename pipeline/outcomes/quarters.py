"""Calendar quarters: 2026Q3, as text that sorts as it counts. Refuses a text that is none."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import date, timedelta

from pipeline.errors import Fault, Refused


def parse(written: str) -> str:
    """The quarter as it is written, if it is one. Raises Refused."""
    if not re.fullmatch(r"\d{4}Q[1-4]", written):
        raise Refused(Fault("QUARTER", written, "a calendar quarter such as 2026Q3", "write the year, Q and 1 to 4"))
    return written


def of(day: date) -> str:
    """The quarter a day lies in."""
    return f"{day.year:04}Q{(day.month + 2) // 3}"


def last_day(quarter: str) -> date:
    """The last day of a quarter."""
    year, number = int(quarter[:4]), int(quarter[5])
    following = date(year + number // 4, number % 4 * 3 + 1, 1)
    return following - timedelta(days=1)


def shifted(quarter: str, by: int) -> str:
    """The quarter that many later, or earlier where `by` is negative."""
    count = int(quarter[:4]) * 4 + int(quarter[5]) - 1 + by
    return f"{count // 4:04}Q{count % 4 + 1}"


def run(first: str, last: str) -> Iterator[str]:
    """Every quarter from the first to the last, both included; only the last where the first comes after it."""
    quarter = min(first, last)
    while quarter <= last:
        yield quarter
        quarter = shifted(quarter, 1)


def latest_ended(cut_off: date) -> str:
    """The latest quarter whose last day is on or before the cut-off."""
    quarter = of(cut_off)
    return quarter if last_day(quarter) <= cut_off else shifted(quarter, -1)


def see_that_it_is_known(asked: str | None, first: str | None, cut_off: date) -> None:
    """Raise Refused where a quarter was asked for that is before the first of any case, or after the cut-off."""
    latest = of(cut_off)
    if asked is not None and (asked > latest or (first is not None and asked < first)):
        allowed = f"a quarter from {first or latest} to {latest}"
        mend = f"ask for one of those, or load an export drawn later; the newest cut-off is {cut_off}"
        raise Refused(Fault("QUARTER", f"{asked}: nothing is known of it", allowed, mend))
