"""The store of an audit folder, held for a while, and everything worked out of it as it stands at an event.

Comes in: an audit folder, a quarter, an event. Goes out: a working connection; the outcome and what it is made with.
Refuses: a folder that is no audit folder or has no store; what the stages refuse, it lets through.
"""

from __future__ import annotations

import contextlib
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import duckdb

from pipeline import store
from pipeline.contracts import measure_files
from pipeline.outcomes import quarters
from pipeline.outcomes.outcome import Outcome, work_out
from pipeline.progress import Progress
from pipeline.report.content import inputs
from pipeline.report.content.inputs import Basis
from pipeline.settings import FILE_NAME, Settings, read_settings
from pipeline.store import audit_folder
from pipeline.store.audit_folder import owner_only


@dataclass(frozen=True)
class Worked:
    """Everything worked out of a store as it stands at an event."""

    con: duckdb.DuckDBPyConnection  # with the case tables, and every measure's rows
    event: int
    basis: Basis
    outcome: Outcome


@contextlib.contextmanager
def worked_out(folder: Path, quarter: str | None, watch: Progress, as_loaded: int | None = None) -> Iterator[Worked]:
    """What every page about a quarter rests on."""
    measures = measure_files.measures()
    names = {measure.name for measure in measures}
    basis = inputs.as_now(folder, names, quarter) if as_loaded is None else None
    with held(folder, to_change=False) as con:
        event = store.stand_at(con, as_loaded)
        cut_off = store.newest_cut_off(con)
        basis = basis or inputs.as_then(con, folder, names, event, quarter or quarters.latest_ended(cut_off))
        outcome = work_out(con, measures, basis.settings, cut_off, basis.quarter, watch)
        yield Worked(con, event, inputs.with_commentary(basis, folder, outcome.quarter), outcome)


def place_of(folder: Path, worked: Worked, as_loaded: int | None = None) -> Path:
    """The folder of the quarter's editions; one of its own for a report made again as loaded at an event."""
    quarter = worked.outcome.quarter
    place = folder / "editions" / (quarter if as_loaded is None else f"{quarter}-as-loaded-{as_loaded}")
    place.mkdir(parents=True, exist_ok=True)
    return place


@contextlib.contextmanager
def held(folder: Path, *, to_change: bool, may_make: bool = False) -> Iterator[duckdb.DuckDBPyConnection]:
    """A working connection with the folder's store attached; what is made meanwhile is readable by its owner only."""
    audit_folder.see_that_it_is_one(folder)
    if not may_make:
        store.see_that_it_is_there(folder)
    with owner_only(), contextlib.closing(store.work(folder)) as con:
        store.attach(con, folder, to_load=to_change)
        yield con


def settings_of(folder: Path) -> Settings:
    """The settings of the folder, as they are now."""
    return read_settings(folder / FILE_NAME, {measure.name for measure in measure_files.measures()})
