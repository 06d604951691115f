"""What is added to the store: a load, or a withdrawal of one. Each is the next event, whole or not at all.

Comes in: a working connection with the store attached for writing; for a load, the accepted rows and the accounts on
it. Goes out: the number of the event. Refuses: a withdrawal of what is no load in force; a load for which the disk has
no room, saying that nothing was added.

Here the columns of the layout are joined into SQL.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date

import duckdb

from pipeline import __version__
from pipeline.contracts import layout
from pipeline.errors import Fault, Refused
from pipeline.store import in_force
from pipeline.store.schema import statement, whole

LINE_PARTS = ("header", "blank", "accepted", "set_aside", "repeats", "left_out")


@dataclass(frozen=True)
class LineCounts:
    """The physical lines of one sheet, by what became of them: `lines` is the sum of the LINE_PARTS."""

    file: str  # the sheet as a person finds it
    sha256: str  # of the file it stands in
    lines: int
    header: int  # with whatever stands above the names
    blank: int
    accepted: int
    set_aside: int
    repeats: int
    left_out: int  # on purpose, as the mapping says
    became_cases: int = 0  # of those set aside: requests of families who are cases by now, as in every good export

    @property
    def amiss(self) -> int:
        """Those set aside that should have given a row."""
        return self.set_aside - self.became_cases

    @property
    def judged(self) -> int:
        """Those that should have given a row."""
        return self.accepted + self.amiss + self.repeats


ANYWAY = "; accepted anyway: "  # in the remark of a load that had been held back: such a one is read first


@dataclass(frozen=True)
class Remark:
    """What a reader should know of an export: at the head of the page if it is serious, else under data quality."""

    text: str
    serious: bool


def load_of(con: duckdb.DuckDBPyConnection, fingerprint: str, given: Collection[tuple[str, str]]) -> int | None:
    """The number of the load in force that holds these very files with this cut-off, if there is one.

    `given` are the tables and columns of the layout that the files give: a load from before the layout had one of them
    does not hold what they say there.
    """
    added = con.execute(
        "SELECT table_name, column_name, CAST(comment AS INTEGER) FROM duckdb_columns() "
        "WHERE database_name = 'store' AND comment IS NOT NULL"
    ).fetchall()
    newest = max((event for table, column, event in added if (table, column) in given), default=0)
    query = "SELECT max(load) FROM loads_in_force WHERE fingerprint = $1 AND load > $2"
    ((load,),) = con.execute(query, [fingerprint, newest]).fetchall()
    return None if load is None else int(load)


def add_load(
    con: duckdb.DuckDBPyConnection,
    *,
    export: str,
    source: str,
    cut_off: date,
    fingerprint: str,
    mapping: str,
    accepted_anyway: str,
    counts: Sequence[LineCounts],
    remarks: Sequence[Remark],
    headings: Sequence[tuple[str, str]] = (),
) -> int:
    """Add the accepted rows and the accounts of an export as the next load. All of it, or nothing.

    Takes from the connection, for each table of the layout, accepted_<table> (row_id, file, line and the columns of the
    layout); set_aside (sheet, line, last_line, table_name, column_name, said_as, kind, found, allowed, mend, case_ref,
    '' where that is not known); repeats (sheet, line, last_line); sheets (sheet, file).
    """
    with whole(con, "the load"):
        load = _next_event(con, "load", None, "")
        con.execute(
            "INSERT INTO store.loads VALUES ($1, $2, $3, $4, $5, $6, $7)",
            [load, export, source, cut_off, fingerprint, mapping, accepted_anyway],
        )
        for sheet in counts:
            values = [load, sheet.file, sheet.sha256, sheet.lines, *(getattr(sheet, part) for part in LINE_PARTS)]
            con.execute("INSERT INTO store.files VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10)", values)
        for table in layout.tables():
            if not con.execute(f"SELECT 1 FROM accepted_{table.name} LIMIT 1").fetchall():
                continue  # planning what adds nothing takes longer
            columns = ", ".join(["row_id", "file", "line", *(column.name for column in table.columns)])
            con.execute(
                f"INSERT INTO store.{table.name} (load, {columns}) SELECT $1, {columns} FROM accepted_{table.name} "
                "ORDER BY row_id",
                [load],
            )
        for list_name in ("set_aside", "repeats"):
            con.execute(statement(f"add_{list_name}"), {"load": load})
        said, serious = [remark.text for remark in remarks], [remark.serious for remark in remarks]
        con.execute(
            "INSERT INTO store.remarks SELECT $1, unnest($2::VARCHAR[]), unnest($3::BOOLEAN[])", [load, said, serious]
        )
        sheets, names = [sheet for sheet, _ in headings], [name for _, name in headings]
        con.execute(
            "INSERT INTO store.headings SELECT $1, unnest($2::VARCHAR[]), unnest($3::VARCHAR[])",
            [load, sheets, names],
        )
    in_force.stand_at(con, None)
    return load


def withdraw(con: duckdb.DuckDBPyConnection, load: int, reason: str = "") -> int:
    """Let a load count no more, and what it replaced count again. The number of the withdrawal."""
    kinds = dict(con.execute("SELECT event, kind FROM store.events").fetchall())
    of = dict(con.execute("SELECT event, of_load FROM store.events WHERE kind = 'withdrawal'").fetchall())
    by = {withdrawn: event for event, withdrawn in of.items()}
    if kinds.get(load) != "load" or load in by:
        found = {
            "load": f"load {load} was withdrawn already, by event {by.get(load)}",
            "withdrawal": f"event {load} is a withdrawal, of load {of.get(load)}",
            "erasure": f"event {load} is an erasure",
        }.get(kinds.get(load, ""), f"there is no load {load}")
        mend = "name a load in force; to undo a withdrawal, load the same files again"
        loads_left = ", ".join(
            str(event) for event, kind in sorted(kinds.items()) if kind == "load" and event not in by
        )
        allowed = f"a load in force: {loads_left}" if loads_left else "a load in force; there is none"
        raise Refused(Fault("LOAD", found, allowed, mend))
    with whole(con, "the withdrawal"):
        event = _next_event(con, "withdrawal", load, reason)
    in_force.stand_at(con, None)
    return event


def _next_event(con: duckdb.DuckDBPyConnection, kind: str, of_load: int | None, reason: str) -> int:
    ((event,),) = con.execute("SELECT coalesce(max(event), 0) + 1 FROM store.events").fetchall()
    con.execute("INSERT INTO store.events VALUES ($1, $2, $3, $4, $5)", [event, kind, of_load, reason, __version__])
    return int(event)
