"""What each report was made with, so that it can be made again as it was.

Comes in: a report that was made. Goes out: the settings and the commentaries of the latest report of a quarter
and event.
Where the store cannot be written to, it says so, for the report itself is there.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import duckdb

from pipeline import __version__
from pipeline.errors import Refused
from pipeline.store import opening
from pipeline.store.schema import whole


@dataclass(frozen=True)
class MadeWith:
    """What a report rests on beside the loads."""

    period: str
    as_loaded: int  # the newest event at the time
    settings: str  # audit.toml, as it was read
    commentary: str  # commentary/QUARTER.md; empty where there was none
    commentary_before: str  # the same of the quarter before
    made_by: str = __version__
    number: int = 0  # in the store; 0 until it is there


def latest_report(con: duckdb.DuckDBPyConnection, as_loaded: int, period: str) -> MadeWith | None:
    """The latest report recorded for that event and quarter."""
    row = con.execute(
        "SELECT quarter, as_loaded, settings, commentary, commentary_before, made_by, report FROM store.reports "
        "WHERE as_loaded = $1 AND quarter = $2 ORDER BY report DESC LIMIT 1",
        [as_loaded, period],
    ).fetchone()
    return MadeWith(*row) if row else None


def record_report(con: duckdb.DuckDBPyConnection, folder: Path, made: MadeWith) -> str:
    """Record a report unless one like it is there. What stood in the way, or "". Lets go of the store.

    Until here the store was only read; it is opened for writing for a moment.
    """
    recorded = _is_recorded(con, made)
    opening.detach(con)
    if recorded:
        return ""
    try:
        opening.attach(con, folder, to_load=True)
        if not _is_recorded(con, made):
            with whole(con, "the record of the report"):
                con.execute(
                    "INSERT INTO store.reports SELECT coalesce(max(report), 0) + 1, $1, $2, $3, $4, $5, $6 "
                    "FROM store.reports",
                    _values(made),
                )
        opening.detach(con)
    except Refused as refused:
        return "; ".join(f"{fault.where}: {fault.found}" for fault in refused.faults)
    except OSError as error:
        return f"{error.filename or folder}: {error.strerror or error}"
    return ""


def _is_recorded(con: duckdb.DuckDBPyConnection, made: MadeWith) -> bool:
    query = (
        "SELECT 1 FROM store.reports WHERE quarter = $1 AND as_loaded = $2 AND made_by = $3 AND settings = $4 "
        "AND commentary = $5 AND commentary_before = $6"
    )
    return con.execute(query, _values(made)).fetchone() is not None


def _values(made: MadeWith) -> list[str | int]:
    return [made.period, made.as_loaded, made.made_by, made.settings, made.commentary, made.commentary_before]
