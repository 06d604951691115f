"""The way before an export: a service's own workbook with names in it, what becomes of each column, an export without.

    workbook -> read -> plan, which a person confirms -> pseudonyms, ages -> screen -> a new workbook

Comes in: an audit folder, a workbook, columns by name. Goes out: a plan, then what was written. It is no part of a
load: `check` and `load` refuse what names anyone.
"""

from __future__ import annotations

from pathlib import Path

from pipeline.intake.anonymise import column_plan, pseudonyms, without_names
from pipeline.intake.read.contents import open_contents
from pipeline.intake.suggest.look.first_look import read_sheets
from pipeline.runs.run_results import Anonymised, Planned
from pipeline.session import settings_of
from pipeline.store.audit_folder import owner_only


def planned(folder: Path, path: Path, asked: column_plan.Asked, encoding: str | None = None) -> Planned:
    """What anonymising a workbook would do to each column. Nothing is written."""
    settings_of(folder)
    sheets, not_read = read_sheets(open_contents(path), encoding)
    return Planned(column_plan.plan([sheet for _, sheet in sheets], asked), tuple(not_read))


def anonymise(folder: Path, plan: Planned, out: Path) -> Anonymised:
    """Write the workbook as it was planned, without what names anyone."""
    without_names.see_that_it_may_be_written(out)
    with owner_only():
        key, is_new = pseudonyms.key_of(folder)
        sheets = without_names.made(plan.sheets, key)
        if is_new:
            pseudonyms.keep(folder, key)
        return Anonymised(without_names.write(out, sheets), sheets, folder / pseudonyms.KEY_FILE, is_new)
