"""Whose six-week question can be asked in the coming days.

Comes in: a working connection with the case tables, the day counted from, how many days to look ahead. Goes out: a Due:
who may be asked, oldest first; who is held back, and why; how old the exports are. Refuses to name anyone of whom any
load in force says that they died, or who counts as moved: sql/due.sql says how.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

import duckdb

from pipeline.contracts.query_files import answer

CLOSING, OPEN, OPENS = "closing", "open", "opens"
_HELD, _CLOSED = "held", "closed"


@dataclass(frozen=True)
class ToAsk:
    """A case whose question is open, or opens soon. The window includes its first and its last day."""

    place: str  # CLOSING, OPEN or OPENS
    case_ref: str
    site: str | None
    lead_practitioner: str | None
    first_day: date
    six_weeks_on: date
    last_day: date
    days_left: int  # after the day counted from; 0: that day is the last
    closed_reason: str | None  # how the case was closed, where it may still be asked
    cut_off: date  # what is known of it is known up to then


@dataclass(frozen=True)
class HeldBack:
    """A case nobody is to be contacted about from the list, before its record was looked at."""

    case_ref: str
    why: str


@dataclass(frozen=True)
class Source:
    """Where exports come from, and how old the newest is."""

    name: str  # empty where the exports are in the layout
    cut_off: date
    closing_reasons: int  # of its cases, those that have a reason for closing on record


@dataclass(frozen=True)
class Due:
    """The list."""

    on: date
    days: int
    to_ask: tuple[ToAsk, ...]
    held_back: tuple[HeldBack, ...]
    closed_unanswered: int  # windows that closed in the 28 days before, nobody held back among them
    sources: tuple[Source, ...]

    def of(self, place: str) -> tuple[ToAsk, ...]:
        """Those in one group."""
        return tuple(case for case in self.to_ask if case.place == place)

    @property
    def newest_cut_off(self) -> date:
        """Of all loads in force."""
        return max(source.cut_off for source in self.sources)


def find_due(con: duckdb.DuckDBPyConnection, on: date, days: int) -> Due:
    """The list as of a day."""
    rows = answer(con, "due", {"on": on, "days": days}).fetchall()
    return Due(
        on,
        days,
        to_ask=tuple(ToAsk(*row[:-1]) for row in rows if row[0] in (CLOSING, OPEN, OPENS)),
        held_back=tuple(HeldBack(row[1], row[-1]) for row in rows if row[0] == _HELD),
        closed_unanswered=sum(row[0] == _CLOSED for row in rows),
        sources=tuple(Source(*row) for row in answer(con, "due_sources").fetchall()),
    )
