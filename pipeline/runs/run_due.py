"""Whose six-week question can still be asked.

    store -> cases -> whose time has not passed -> the list, a page and a file

Comes in: an audit folder, a day. Goes out: the list, and what was written.
"""

from __future__ import annotations

from datetime import date
from pathlib import Path

from pipeline import store
from pipeline.outcomes import cases
from pipeline.outcomes.due import find_due
from pipeline.report.pages.due_page import write_due_list
from pipeline.runs.run_results import DueListed
from pipeline.session import held, settings_of
from pipeline.store import audit_folder


def due(folder: Path, on: date, days: int) -> DueListed:
    """Write the list of those whose six-week question can be asked in the days after `on`."""
    settings = settings_of(folder)
    with held(folder, to_change=False) as con:
        store.newest_cut_off(con)  # where there is none there is nothing to list
        cases.build(con)
        asked = find_due(con, on, days)
        return DueListed(asked, write_due_list(asked, settings.service, audit_folder.part(folder, "due")))
