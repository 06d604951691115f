"""What a report is made with beside the store: the settings, the period, the lead's commentary; now, or as it was.

Comes in: an audit folder, and the event a report is wanted as loaded at. Goes out: a Basis. Refuses: what reading
settings or a commentary refuses. Where it cannot be as it was, it says so.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path

import duckdb

from pipeline import __version__, store
from pipeline.report.commentary import commentary_file, earlier
from pipeline.settings import FILE_NAME, Settings, parse_settings, read_settings

_FIRST_DEFINITIONS = ("0.1.0", "0.2.0", "0.3.0")  # the versions of the program with the first version of the measures


@dataclass(frozen=True)
class Basis:
    """What a report of a period is made with. `said` is what the reader is told first."""

    settings: Settings
    period: str
    commentary: str  # as it was written; empty where there is none
    commentary_before: str  # on all earlier periods, whose open actions are brought forward
    said: tuple[str, ...] = ()


def as_now(folder: Path, settings: Settings, period: str) -> Basis:
    """The commentary of today, with settings that were read."""
    before = earlier.read(folder, period, settings.year_starts)
    return Basis(settings, period, commentary_file.read(folder, period), before)


def as_then(
    con: duckdb.DuckDBPyConnection, folder: Path, measures: Mapping[str, str], event: int, period: str
) -> Basis:
    """What the latest report of that event and period was made with; else what there is today, saying so."""
    made = store.latest_report(con, folder, event, period)
    if made is None:
        said = f"No report of {period} was recorded as loaded at event {event}; this one is "
        basis = as_now(folder, read_settings(folder / FILE_NAME, measures), period)
        return replace(basis, said=(f"{said}made with the settings, the commentary and the definitions of today",))
    settings = parse_settings(made.settings, Path(f"{FILE_NAME} as recorded with report {made.number}"), measures)
    then, now = f"The report recorded was made by version {made.made_by} of the program", f"this one by {__version__}"
    if made.made_by in _FIRST_DEFINITIONS:
        then, now = f"{then}, with the definitions of then", f"{now}, with the second version of the definitions"
    told = () if made.made_by == __version__ else (f"{then}, {now}; figures may differ",)
    return Basis(settings, period, made.commentary, made.commentary_before, told)


def recorded(con: duckdb.DuckDBPyConnection, folder: Path, basis: Basis, event: int) -> tuple[str, ...]:
    """Record what a report was made with; what is said where it could not be recorded. Lets go of the store."""
    made = store.MadeWith(basis.period, event, basis.settings.text, basis.commentary, basis.commentary_before)
    why = store.record_report(con, folder, made)
    if not why:
        return ()
    again = f"report --as-loaded {event} will not know its settings; make it again once the store can be written to"
    return (f"The report is made, but was not recorded in the store ({why}): {again}",)
