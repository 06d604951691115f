"""The invented service: its sites, practitioners, volumes and the one change an audit should find.

Everything here is made up. The one story: at Ottermoss hub the wait from referral to division lengthens for families
referred from April 2026; the other sites stay as they were, and nothing else is meant to move. The seed was chosen
among some thousands so that, of the measures at a glance and the two waits, nothing but the story looks larger than
chance in the latest quarter: with some twenty comparisons one false alarm would be usual, and the demo is there to show
a true one. The other measures and the earlier quarters were left as they fell.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta

NAME = "Tellowdale infant feeding service"
SEED = 2480
CREATED = "2026-10-12T07:30:00+01:00"
CUT_OFF = date(2026, 10, 12)

# First contacts in each quarter: a slight growth.
VOLUMES: Mapping[str, int] = {
    "2024Q3": 70,
    "2024Q4": 72,
    "2025Q1": 74,
    "2025Q2": 76,
    "2025Q3": 78,
    "2025Q4": 80,
    "2026Q1": 82,
    "2026Q2": 84,
    "2026Q3": 86,
}


@dataclass(frozen=True)
class Site:
    """A site and its habits."""

    name: str
    share: float  # of all first contacts
    practitioners: tuple[str, ...]
    operators: Mapping[str, float]  # who divides for families of this site, by share
    asked_at_six_weeks: float
    answers: float  # share of families that answer whether they felt helped
    most_function: int  # the highest total of the assessment of the tongue that the site uses
    slow_from: date | None  # families referred from this day on wait longer


SITES = (
    Site("Ottermoss hub", 0.50, ("P01", "P02", "P03"), {"P03": 0.75, "P06": 0.25}, 0.84, 0.56, 8, date(2026, 4, 1)),
    Site("Pennickfold hub", 0.27, ("P04", "P05"), {"P03": 0.5, "P06": 0.5}, 0.82, 0.53, 8, None),
    Site("Wrenstow clinic", 0.23, ("P06", "P07"), {"P06": 0.8, "P03": 0.2}, 0.62, 0.34, 14, None),
)

STEADY_WAIT = (7, 26)  # days from referral to division, before the clinic day is found
SLOW_WAIT = (25, 47)


def wait_range(site: Site, referral: date) -> tuple[int, int]:
    """The shortest and longest wait of a family referred on that day."""
    return SLOW_WAIT if site.slow_from is not None and referral >= site.slow_from else STEADY_WAIT


def quarter_days(quarter: str) -> tuple[date, date]:
    """First and last day of a calendar quarter written 2026Q3."""
    year, number = int(quarter[:4]), int(quarter[5])
    following = date(year + number // 4, number % 4 * 3 + 1, 1)
    return date(year, number * 3 - 2, 1), following - timedelta(days=1)


def open_day(day: date) -> date:
    """That day, or the next one on which the service is open: no weekends, not Christmas, not New Year."""
    while day.weekday() > 4 or (day.month, day.day) in {(12, 25), (12, 26), (1, 1)}:
        day += timedelta(days=1)
    return day


def after(day: date, days: int) -> date:
    """The open day that is at least so many days later."""
    return open_day(day + timedelta(days=days))
