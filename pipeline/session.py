"""What is open while a command runs: folder, store, settings, the lead's words, the event a report stands at.

Comes in: an audit folder; for a report a quarter and an event. Goes out: a working connection, or a Session. Refuses: a
folder that is no audit folder or has no store, an event that did not happen; what reading the settings refuses.
"""

from __future__ import annotations

import contextlib
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from pathlib import Path

import duckdb

from pipeline import store
from pipeline.contracts import measure_files
from pipeline.contracts.measure_files import Measure, worded
from pipeline.outcomes import periods
from pipeline.report.content import inputs
from pipeline.report.content.inputs import Basis
from pipeline.settings import FILE_NAME, Settings, read_settings
from pipeline.store import audit_folder
from pipeline.store.audit_folder import owner_only
from pipeline.store.opening import PATIENCE


@dataclass(frozen=True)
class Session:
    """What a report, or whatever else is of a quarter, is made from."""

    con: duckdb.DuckDBPyConnection
    folder: Path
    measures: tuple[Measure, ...]  # with the service's own numbers in their texts
    basis: Basis
    cut_off: date  # the newest one
    event: int  # the store stands at
    asked: str | None  # the quarter that was asked for; None where it is the latest that had ended
    as_loaded: bool = False  # made again as it was

    def periods_from(self, first: date | None) -> tuple[str, ...]:
        """The periods from the one of the first day of any case to the reported one. Raises Refused before them."""
        period, year_starts = self.basis.period, self.basis.settings.year_starts
        periods.see_that_it_is_known(self.asked, first, self.cut_off, year_starts)
        return tuple(periods.run(periods.of(first, periods.kind(period), year_starts) if first else period, period))

    def last_day(self) -> date:
        """The last day of the reported period."""
        return periods.last_day(self.basis.period, self.basis.settings.year_starts)

    def quarters_within(self) -> tuple[str, ...]:
        """The quarters of a year that is reported; none where a quarter is."""
        period, year_starts = self.basis.period, self.basis.settings.year_starts
        return periods.quarters_of(period, year_starts) if periods.kind(period) == periods.YEAR else ()

    def place(self) -> Path:
        """The folder of the quarter's editions; one of its own for a report made again."""
        period = self.basis.period
        name = f"{period}-as-loaded-{self.event}" if self.as_loaded else period
        return audit_folder.part(audit_folder.part(self.folder, "editions"), name)


@contextlib.contextmanager
def opened(
    folder: Path, period: str | None, as_loaded: int | None = None, *, to_change: bool = False
) -> Iterator[Session]:
    """The store at its newest event with the settings and words of the day, or all of it as it was at an event.

    `to_change`: nobody else has the folder meanwhile.
    """
    measures = measure_files.measures()
    kinds = {measure.name: measure.kind for measure in measures}
    settings = settings_of(folder) if as_loaded is None else None
    with held(folder, to_change=to_change) as con:
        event = store.stand_at(con, as_loaded)
        cut_off = store.newest_cut_off(con)
        chosen = periods.latest_ended(cut_off) if period is None else periods.parse(period)
        if settings is None:
            basis = inputs.as_then(con, folder, kinds, event, chosen)
        else:
            basis = inputs.as_now(folder, settings, chosen)
        year_starts = basis.settings.year_starts
        periods.see_that_it_fits(chosen, year_starts)
        periods.count_by(con, periods.kind(chosen), year_starts)
        as_set = tuple(worded(measure, basis.settings.seen_promptly_days) for measure in measures)
        yield Session(
            con, folder, as_set, basis, cut_off, event, None if period is None else chosen, as_loaded is not None
        )


@contextlib.contextmanager
def held(
    folder: Path, *, to_change: bool, may_make: bool = False, patience: float = PATIENCE
) -> Iterator[duckdb.DuckDBPyConnection]:
    """A working connection with the folder's store attached; what is made meanwhile is readable by its owner only."""
    audit_folder.see_that_it_is_one(folder)
    if not may_make:
        store.see_that_it_is_there(folder)
    with owner_only():
        if not to_change:  # who holds the store for writing clears them anyway
            store.clear_leftovers(folder)
        with contextlib.closing(store.work(folder)) as con:
            store.attach(con, folder, to_load=to_change, patience=patience)
            yield con


@contextlib.contextmanager
def beside(folder: Path) -> Iterator[duckdb.DuckDBPyConnection]:
    """A working connection that leaves nothing on the disk, with the folder's store to be read, if there is one."""
    with owner_only(), contextlib.closing(store.work(None)) as con:
        store.attach_if_there(con, folder)
        yield con


def settings_of(folder: Path) -> Settings:
    """The settings of the folder, as they are now."""
    return read_settings(folder / FILE_NAME, {measure.name: measure.kind for measure in measure_files.measures()})
