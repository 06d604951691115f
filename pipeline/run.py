"""The spine: each stage called once, in order.

    export files -> open -> stage (read, check) -> account -> store -> cases -> measures -> counts -> statistics -> edition

Comes in: an audit folder, an export, a quarter. Goes out: what was done, for the command line to say.
It has no logic of its own; what a stage refuses, it lets through.
"""

from __future__ import annotations

import contextlib
import os
import shutil
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from pathlib import Path

import pandas as pd

from pipeline import places, quarters, store
from pipeline.errors import Fault, Refused
from pipeline.intake import accounting, listing, staging
from pipeline.intake.accounting import LineCounts
from pipeline.intake.export import open_export
from pipeline.outcomes import accounts, cases, contract, counting, results, rows
from pipeline.outcomes.contract import Measure
from pipeline.report import provenance
from pipeline.report.content import EditionContent, Quality
from pipeline.report.service import write_service_edition
from pipeline.settings import FILE_NAME, Settings, first_settings, read_settings


@dataclass(frozen=True)
class Loaded:
    """What a load did. `is_new` is False where these very files were in the store already."""

    number: int
    is_new: bool
    cut_off: date
    counts: tuple[LineCounts, ...]
    remarks: tuple[str, ...]
    lists: Path | None


@dataclass(frozen=True)
class Reported:
    """What a report made."""

    quarter: str
    cut_off: date
    page: Path
    measures: tuple[Measure, ...]
    settings: Settings
    results: pd.DataFrame


def new(folder: Path) -> Path:
    """Make an audit folder; the settings file in it. Refuses to touch one that is there."""
    settings_file = folder / FILE_NAME
    if settings_file.exists():
        mend = "use it as it is, or name another folder"
        raise Refused(Fault(str(settings_file), "there is one already", "a folder without one", mend))
    with _owner_only():
        (folder / "commentary").mkdir(parents=True, exist_ok=True)
        settings_file.write_text(first_settings(), encoding="utf-8")
    return settings_file


def load(folder: Path, export: Path, extracted_on: date | None = None) -> Loaded:
    """Read and check an export, and add it to the folder's store."""
    read_settings(folder / FILE_NAME, {measure.name for measure in contract.measures()})
    opened = open_export(export, extracted_on)
    with _owner_only(), contextlib.closing(store.work(folder)) as con:
        store.attach(con, folder, to_load=True)
        there = store.load_of(con, opened)
        if there is not None:
            return Loaded(there, False, opened.cut_off, (), opened.remarks, None)
        staging.stage(con, opened)
        counts = accounting.account(con, opened)
        number = store.add_load(con, opened, counts)
        lists = listing.write(con, number, folder)
    return Loaded(number, True, opened.cut_off, counts, opened.remarks, lists)


def report(folder: Path, quarter: str | None = None) -> Reported:
    """Compute every measure and write the result files and the service edition of a quarter."""
    measures = contract.measures()
    breakdowns = contract.breakdowns()
    settings = read_settings(folder / FILE_NAME, {measure.name for measure in measures})
    with _owner_only(), contextlib.closing(store.work(folder)) as con:
        store.attach(con, folder, to_load=False)
        cut_off = store.newest_cut_off(con)
        case_tables = cases.build(con)
        first = cases.first_quarter(con)
        chosen = _chosen(quarter, first, cut_off)
        rows.count_rows(con, measures, case_tables, settings)
        apart = rows.count_apart(con, contract.aparts(), case_tables)
        counting.break_down(con, breakdowns)
        counts = counting.count(con, measures, breakdowns)
        day_counts = counting.count_days(con, measures, breakdowns)
        outcome, waits = results.work_out(counts, day_counts, measures, first or chosen, chosen, cut_off)
        content = EditionContent(
            settings=settings,
            quarter=chosen,
            measures=measures,
            breakdowns=breakdowns,
            results=outcome,
            waits=waits,
            apart=pd.DataFrame(apart, columns=["measure", "title", "quarter", "count"]),
            flow=accounts.flow(con, chosen),
            quality=Quality(
                accounts.lines(con),
                accounts.reasons(con),
                accounts.not_recorded(con, chosen),
                store.remarks(con),
            ),
            provenance=provenance.of_store(con, cut_off, settings),
        )
        place = folder / "editions" / chosen
        place.mkdir(parents=True, exist_ok=True)
        results.write_csv(outcome, place / "results.csv")
        results.write_csv(waits, place / "waits.csv")
        write_service_edition(content, place / "service.html")
    return Reported(chosen, cut_off, place / "service.html", measures, settings, outcome)


def demo(folder: Path) -> tuple[Loaded, Reported]:
    """The whole way on the export of an invented service."""
    with _owner_only():
        folder.mkdir(parents=True, exist_ok=True)
        shutil.copyfile(places.DEMO_EXPORT / FILE_NAME, folder / FILE_NAME)
        shutil.copytree(places.DEMO_EXPORT / "commentary", folder / "commentary", dirs_exist_ok=True)
    return load(folder, places.DEMO_EXPORT), report(folder)


def _chosen(quarter: str | None, first: str | None, cut_off: date) -> str:
    """The quarter asked for, else the latest that had ended by the cut-off."""
    if quarter is None:
        return quarters.latest_ended(cut_off)
    chosen = quarters.parse(quarter)
    latest = quarters.of(cut_off)
    if chosen > latest or (first is not None and chosen < first):
        allowed = f"a quarter from {first or latest} to {latest}"
        mend = f"ask for one of those, or load an export drawn later; the newest cut-off is {cut_off}"
        raise Refused(Fault("QUARTER", f"{chosen}: nothing is known of it", allowed, mend))
    return chosen


@contextlib.contextmanager
def _owner_only() -> Iterator[None]:
    """Whatever is made in here is readable by its owner only."""
    before = os.umask(0o077)
    try:
        yield
    finally:
        os.umask(before)
