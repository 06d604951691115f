"""The store: one DuckDB file in the audit folder. What happened to it is numbered, and only ever added to.

opening holds the file, schema lays it out, in_force says what counts as it stood at an event, adding appends loads and
withdrawals, report_records keeps what each report was made with and recording adds it, erasing writes it anew without
one case.
"""

from pipeline.store.adding import ANYWAY, LINE_PARTS, LineCounts, Remark, add_load, load_of, withdraw
from pipeline.store.erasing import Erased, HeldOf, erase, held_of
from pipeline.store.in_force import (
    Event,
    events,
    fingerprints,
    has_older_loads,
    later_load,
    load_before,
    newest_cut_off,
    remarks,
    stand_at,
)
from pipeline.store.opening import attach, attach_if_there, clear_leftovers, detach, see_that_it_is_there, work
from pipeline.store.recording import record_report
from pipeline.store.report_records import MadeWith, latest_report
from pipeline.store.schema import FILE_NAME, STORE_VERSION, show_rows

__all__ = (
    "ANYWAY",
    "FILE_NAME",
    "LINE_PARTS",
    "STORE_VERSION",
    "Erased",
    "Event",
    "HeldOf",
    "LineCounts",
    "MadeWith",
    "Remark",
    "add_load",
    "attach",
    "attach_if_there",
    "clear_leftovers",
    "detach",
    "erase",
    "events",
    "fingerprints",
    "has_older_loads",
    "held_of",
    "later_load",
    "latest_report",
    "load_before",
    "load_of",
    "newest_cut_off",
    "record_report",
    "remarks",
    "see_that_it_is_there",
    "show_rows",
    "stand_at",
    "withdraw",
    "work",
)
