"""Recording a report that was made from a store which was only read.

Comes in: the connection it was made on. Goes out: what stood in the way, for the report itself is there. Refuses to
wait for another program: the record is then laid beside the store.
"""

from __future__ import annotations

from pathlib import Path

import duckdb

from pipeline.errors import Refused
from pipeline.store import opening, report_records
from pipeline.store.report_records import MadeWith


def record_report(con: duckdb.DuckDBPyConnection, folder: Path, made: MadeWith) -> str:
    """Record a report unless one like it is there. What stood in the way, or "". Lets go of the store.

    Until here the store was only read; it is opened for writing for a moment.
    """
    recorded = report_records.is_recorded(con, made)
    opening.detach(con)
    if recorded:
        return ""
    try:
        try:
            opening.attach(con, folder, to_load=True, patience=0)
            report_records.add(con, made)
            opening.detach(con)
        except (Refused, OSError):
            report_records.lay_beside(folder, made)
    except OSError as error:
        return f"{error.filename or folder}: {error.strerror or error}"
    return ""
