"""What of the store counts, as it stood at an event.

Comes in: a working connection with the store attached. Goes out, on the connection: as_loaded (one row: the event) and
loads_in_force; and what a report asks of the loads in force. Refuses: an event that did not happen, one at which no
load counts.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

import duckdb

from pipeline.errors import Fault, Refused
from pipeline.store.schema import FILE_NAME, statement

LOAD_FIRST = "load an export first: feeding-audit load EXPORT"


@dataclass(frozen=True)
class Event:
    """One thing that happened to the store. What is about loads is nothing for the other kinds."""

    event: int
    kind: str  # load, withdrawal or erasure
    of_load: int | None  # the load withdrawn
    reason: str
    export: str
    source: str
    cut_off: date | None
    lines: int
    accepted: int
    set_aside: int
    repeats: int
    left_out: int
    cases: int
    withdrawn_by: int | None  # the event that withdrew this load; None while it is in force
    counting: int  # cases whose version that counts comes from this load
    accepted_anyway: str  # why, where the export was held back first


def stand_at(con: duckdb.DuckDBPyConnection, event: int | None) -> int:
    """Let only what had happened by the event count, else by the newest; the event."""
    known = [number for (number,) in con.execute("SELECT event FROM store.events ORDER BY event").fetchall()]
    if event is not None and event not in known:
        allowed = f"an event from {known[0]} to {known[-1]}" if known else "an event; nothing happened yet"
        mend = "see what happened: feeding-audit loads" if known else LOAD_FIRST
        raise Refused(Fault("EVENT", f"there is no event {event}", allowed, mend))
    chosen = event if event is not None else max(known, default=0)
    con.execute("CREATE OR REPLACE TEMP TABLE as_loaded AS SELECT CAST($1 AS INTEGER) AS event", [chosen])
    for view in ("loads_in_force", "newest_loads"):
        con.execute(f"CREATE OR REPLACE TEMP VIEW {view} AS {statement(view)}")
    return chosen


def load_before(con: duckdb.DuckDBPyConnection, source: str, cut_off: date, load: int | None = None) -> int | None:
    """The load in force of the source that came before one drawn on that day, or before that load; None if none did."""
    values = {"source": source, "day": cut_off, "but_for": load}
    ((before,),) = con.execute(statement("load_before"), values).fetchall()
    return None if before is None else int(before)


def fingerprints(con: duckdb.DuckDBPyConnection) -> dict[int, str]:
    """What each load was made from, those withdrawn too."""
    return {int(load): str(mark) for load, mark in con.execute("SELECT load, fingerprint FROM store.loads").fetchall()}


def later_load(con: duckdb.DuckDBPyConnection, source: str, cut_off: date) -> tuple[int, date] | None:
    """The newest load in force of the source that was drawn after that day, and when; None if there is none."""
    row = con.execute(
        "SELECT load, extracted_on FROM newest_loads WHERE source = $1 AND extracted_on > $2", [source, cut_off]
    ).fetchone()
    return (row[0], row[1]) if row else None


def has_older_loads(con: duckdb.DuckDBPyConnection) -> bool:
    """Whether a source has a load in force beside its newest."""
    ((older,),) = con.execute("SELECT count(*) > count(DISTINCT source) FROM loads_in_force").fetchall()
    return bool(older)


def newest_cut_off(con: duckdb.DuckDBPyConnection) -> date:
    """The newest cut-off of any load in force. Raises Refused where there is none."""
    ((newest, event),) = con.execute(
        "SELECT (SELECT max(extracted_on) FROM loads_in_force), (SELECT event FROM as_loaded)"
    ).fetchall()
    if newest is None:
        found = f"no load counts as it stood at event {event}" if event else "no load in it"
        mend = LOAD_FIRST if not event else f"{LOAD_FIRST}; feeding-audit loads says what became of those before"
        raise Refused(Fault(FILE_NAME, found, "at least one load in force", mend))
    assert isinstance(newest, date)
    return newest


def remarks(con: duckdb.DuckDBPyConnection, *, serious: bool) -> list[tuple[int, date, str]]:
    """What each load in force said that a reader should know: its number, the day it was drawn, the words.

    They come in the order of the loads. Needs counting_cases.

    What is serious of a load from which no case counts any more is no longer serious, unless it is its source's newest.
    """
    return con.execute(statement("remarks"), {"serious": serious}).fetchall()


def events(con: duckdb.DuckDBPyConnection) -> tuple[Event, ...]:
    """Everything that happened, in order. Needs counting_cases, built as the store stands now."""
    return tuple(Event(*row) for row in con.execute(statement("events")).fetchall())
