"""What a report is made with beside the store: the settings, the quarter, the lead's commentary; now, or as it was.

Comes in: an audit folder, and the event a report is wanted as loaded at. Goes out: a Basis. Refuses: what reading
settings or a commentary refuses. Where it cannot be as it was, it says so.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, replace
from pathlib import Path

import duckdb

from pipeline import __version__, store
from pipeline.outcomes.quarters import shifted
from pipeline.report.commentary import commentary_file
from pipeline.settings import FILE_NAME, Settings, parse_settings, read_settings


@dataclass(frozen=True)
class Basis:
    """Both commentaries are None where those of the day are to be read; `said` is what the reader is told first."""

    settings: Settings
    quarter: str | None
    commentary: str | None
    commentary_before: str | None  # on the quarter before, whose open actions are brought forward
    said: tuple[str, ...] = ()


def as_now(folder: Path, measures: Collection[str], quarter: str | None) -> Basis:
    """Today's settings and commentary."""
    return Basis(read_settings(folder / FILE_NAME, measures), quarter, None, None)


def as_then(con: duckdb.DuckDBPyConnection, folder: Path, measures: Collection[str], event: int, quarter: str) -> Basis:
    """Those of the latest report of that event and quarter; else today's, saying so."""
    made = store.latest_report(con, event, quarter)
    if made is None:
        basis = as_now(folder, measures, quarter)
        said = f"No report of {quarter} was recorded as loaded at event {event}; this one is "
        return replace(basis, said=(f"{said}made with the settings and the commentary of today",))
    settings = parse_settings(made.settings, Path(f"{FILE_NAME} as recorded with report {made.number}"), measures)
    said = f"The report recorded was made by version {made.made_by} of the program, this one by {__version__}; "
    differs = made.made_by != __version__
    told = (f"{said}figures may differ",) if differs else ()
    return Basis(settings, made.quarter, made.commentary, made.commentary_before, told)


def recorded(con: duckdb.DuckDBPyConnection, folder: Path, basis: Basis, quarter: str, event: int) -> tuple[str, ...]:
    """Record what a report was made with; what is said where it could not be recorded. Lets go of the store."""
    made = store.MadeWith(quarter, event, basis.settings.text, basis.commentary or "", basis.commentary_before or "")
    why = store.record_report(con, folder, made)
    if not why:
        return ()
    again = f"report --as-loaded {event} will not know its settings; make it again once the store can be written to"
    return (f"The report is made, but was not recorded in the store ({why}): {again}",)


def with_commentary(basis: Basis, folder: Path, quarter: str) -> Basis:
    """The same with the commentaries of the day, where those are the ones to be read."""
    if basis.commentary is not None:
        return basis
    before = commentary_file.read(folder, shifted(quarter, -1))
    return replace(basis, commentary=commentary_file.read(folder, quarter), commentary_before=before)
