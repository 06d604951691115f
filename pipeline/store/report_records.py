"""What each report was made with, so that it can be made again as it was.

Comes in: a report that was made. Goes out: the settings and the commentaries of the latest report of a period and
event. A report only reads the store, and does not wait to be recorded: while another program reads too, its record lies
beside the store, until the next program that holds the store for writing takes it in.
"""

from __future__ import annotations

import hashlib
import json
from dataclasses import asdict, dataclass
from pathlib import Path

import duckdb

from pipeline import __version__
from pipeline.errors import Fault, Refused
from pipeline.store.audit_folder import part
from pipeline.store.schema import whole
from pipeline.store.whole_files import write_whole

BESIDE = ".reports"


@dataclass(frozen=True)
class MadeWith:
    """What a report rests on beside the loads."""

    period: str
    as_loaded: int  # the newest event at the time
    settings: str  # audit.toml, as it was read
    commentary: str  # commentary/PERIOD.md; empty where there was none
    commentary_before: str  # the words on all earlier periods
    made_by: str = __version__
    number: int = 0  # in the store; 0 until it is there


def latest_report(con: duckdb.DuckDBPyConnection, folder: Path, as_loaded: int, period: str) -> MadeWith | None:
    """The latest report recorded for that event and period."""
    for _, made in reversed(_beside(folder)):
        if (made.as_loaded, made.period) == (as_loaded, period):
            return made
    row = con.execute(
        "SELECT quarter, as_loaded, settings, commentary, commentary_before, made_by, report FROM store.reports "
        "WHERE as_loaded = $1 AND quarter = $2 ORDER BY report DESC LIMIT 1",
        [as_loaded, period],
    ).fetchone()
    return MadeWith(*row) if row else None


def is_recorded(con: duckdb.DuckDBPyConnection, made: MadeWith) -> bool:
    """Whether the store holds a report like it."""
    query = (
        "SELECT 1 FROM store.reports WHERE quarter = $1 AND as_loaded = $2 AND made_by = $3 AND settings = $4 "
        "AND commentary = $5 AND commentary_before = $6"
    )
    return con.execute(query, _values(made)).fetchone() is not None


def lay_beside(folder: Path, made: MadeWith) -> None:
    """Write the record beside the store; the same one once."""
    body = json.dumps(asdict(made)).encode()
    write_whole(part(folder, BESIDE) / f"{hashlib.sha256(body).hexdigest()[:16]}.json", body)


def take_in(con: duckdb.DuckDBPyConnection, folder: Path) -> None:
    """Into the store that is attached for writing, what lies beside it."""
    for path, made in _beside(folder):
        add(con, made)
        path.unlink()


def add(con: duckdb.DuckDBPyConnection, made: MadeWith) -> None:
    """Record a report unless one like it is there."""
    if not is_recorded(con, made):
        with whole(con, "the record of the report"):
            con.execute(
                "INSERT INTO store.reports SELECT coalesce(max(report), 0) + 1, $1, $2, $3, $4, $5, $6 "
                "FROM store.reports",
                _values(made),
            )


def _beside(folder: Path) -> list[tuple[Path, MadeWith]]:
    """What lies beside the store, the oldest first."""
    paths = sorted((folder / BESIDE).glob("*.json"), key=lambda path: (path.stat().st_mtime_ns, path.name))
    try:
        return [(path, MadeWith(**json.loads(path.read_bytes()))) for path in paths]
    except (ValueError, TypeError) as error:
        found = f"one of its files is no record of a report ({error})"
        mend = "take it out of the folder, and make the report again"
        raise Refused(Fault(str(folder / BESIDE), found, "files as this program wrote them", mend)) from error


def _values(made: MadeWith) -> list[str | int]:
    return [made.period, made.as_loaded, made.made_by, made.settings, made.commentary, made.commentary_before]
