"""The spine: each stage called once, in order.

    export files -> open -> stage (read, check) -> account -> store
    store -> cases -> measures -> counts -> statistics -> edition

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

from pipeline import places, store
from pipeline.errors import Fault, Refused
from pipeline.intake import accounting, listing, staging
from pipeline.intake.accounting import LineCounts
from pipeline.intake.export import Remark, open_export
from pipeline.outcomes import accounts, contract, results
from pipeline.outcomes.outcome import Outcome, work_out
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
    remarks: tuple[Remark, ...]
    lists: Path
    values_set_aside: int = 0


@dataclass(frozen=True)
class Reported:
    """What a report made."""

    page: Path
    settings: Settings
    outcome: Outcome


def new(folder: Path) -> Path:
    """Make an audit folder; the settings file in it. Refuses to touch one that is there."""
    settings_file = folder / FILE_NAME
    if settings_file.exists():
        mend = "use it as it is, or name another folder"
        raise Refused(Fault(str(settings_file), "there is one already", "a folder without one", mend))
    with _owner_only():
        (folder / "commentary").mkdir(parents=True, exist_ok=True)
        settings_file.write_text(first_settings(), encoding="utf-8")
        # What is in here is personal data, and no business of a repository the folder may lie in.
        (folder / ".gitignore").write_text("*\n", encoding="utf-8")
    return settings_file


def load(folder: Path, export: Path, extracted_on: date | None = None) -> Loaded:
    """Read and check an export, and add it to the folder's store."""
    read_settings(folder / FILE_NAME, {measure.name for measure in contract.measures()})
    opened = open_export(export, extracted_on)
    with _owner_only(), contextlib.closing(store.work(folder)) as con:
        store.attach(con, folder, to_load=True)
        there = store.load_of(con, opened)
        if there is not None:
            # The lists again too: whatever ended the first load may have ended it before they were written.
            lists = listing.write(con, there, folder)
            return Loaded(there, False, opened.cut_off, (), opened.remarks, lists)
        staging.stage(con, opened)
        counts = accounting.account(con, opened)
        remarks = (*opened.remarks, *accounting.remarks(con, opened, counts))
        number = store.add_load(con, opened, counts, remarks)
        lists = listing.write(con, number, folder)
        values_set_aside = accounting.values_set_aside(con)
    return Loaded(number, True, opened.cut_off, counts, remarks, lists, values_set_aside)


def report(folder: Path, quarter: str | None = None) -> Reported:
    """Compute every measure and write the result files and the service edition of a quarter."""
    measures = contract.measures()
    settings = read_settings(folder / FILE_NAME, {measure.name for measure in measures})
    with _owner_only(), contextlib.closing(store.work(folder)) as con:
        store.attach(con, folder, to_load=False)
        cut_off = store.newest_cut_off(con)
        outcome = work_out(con, measures, settings, cut_off, quarter)
        content = EditionContent(
            settings=settings,
            quarter=outcome.quarter,
            measures=tuple(contract.worded(measure, settings) for measure in outcome.measures),
            breakdowns=outcome.breakdowns,
            results=outcome.results,
            waits=outcome.waits,
            apart=outcome.apart,
            flow=accounts.flow(con, outcome.quarter),
            quality=Quality(
                accounts.lines(con),
                accounts.reasons(con),
                accounts.not_recorded(con, outcome.quarter),
                (*store.remarks(con, serious=True), *accounts.not_followed_on(con)),
                store.remarks(con, serious=False),
            ),
            provenance=provenance.of_store(con, cut_off, settings),
        )
        place = folder / "editions" / outcome.quarter
        place.mkdir(parents=True, exist_ok=True)
        results.write_csv(outcome.results, place / "results.csv")
        results.write_csv(outcome.waits, place / "waits.csv")
        write_service_edition(content, place / "service.html")
    return Reported(place / "service.html", settings, outcome)


def demo(folder: Path) -> tuple[Loaded, Reported]:
    """The whole way on the export of an invented service."""
    settings_file = folder / FILE_NAME
    ours = (places.DEMO_EXPORT / FILE_NAME).read_bytes()
    made_before = settings_file.exists() and settings_file.read_bytes() == ours
    if folder.exists() and any(folder.iterdir()) and not made_before:
        allowed = "a new folder, or one the demo made"
        raise Refused(Fault(str(folder), "something else is in it", allowed, "name another: --out DIR"))
    with _owner_only():
        folder.mkdir(parents=True, exist_ok=True)
        (folder / ".gitignore").write_text("*\n", encoding="utf-8")
        shutil.copyfile(places.DEMO_EXPORT / FILE_NAME, folder / FILE_NAME)
        # copyfile, not copy: the modes of the originals are not those of an owner's own files.
        commentary = places.DEMO_EXPORT / "commentary"
        shutil.copytree(commentary, folder / "commentary", copy_function=shutil.copyfile, dirs_exist_ok=True)
    return load(folder, places.DEMO_EXPORT), report(folder)


@contextlib.contextmanager
def _owner_only() -> Iterator[None]:
    """Whatever is made in here is readable by its owner only."""
    before = os.umask(0o077)
    try:
        yield
    finally:
        os.umask(before)
