"""What became of every line: staged tables in, accepted rows, repeats and counts out.

Goes out, on the connection: accepted_<table>, repeats, line_counts. Refuses to go on where the lines of a file, as
counted on its bytes, are not the sum of header, blank, accepted, set aside and repeats: that is a defect of the
program, never of the export, so it is no error a person can mend.
"""

from __future__ import annotations

from dataclasses import dataclass

import duckdb

from pipeline.intake.export import Export, Remark

MUCH_SET_ASIDE = 0.05  # of a file's rows; from there on the reader is told first
LONG_SILENCE = 92  # days between the latest date of an export and its cut-off


@dataclass(frozen=True)
class LineCounts:
    """The physical lines of one file, by what became of them."""

    table: str
    file: str
    lines: int
    header: int
    blank: int
    accepted: int
    set_aside: int
    repeats: int


def account(con: duckdb.DuckDBPyConnection, export: Export) -> tuple[LineCounts, ...]:
    """Tell accepted rows from repeats, and count every line of every file."""
    con.execute("CREATE TEMP TABLE repeats (table_name VARCHAR, line BIGINT, last_line BIGINT)")
    counts = []
    for file in export.files:
        name = file.table.name
        _tell_repeats(con, name)
        (accepted,) = _one(con, f"SELECT coalesce(sum(last_line - line + 1), 0) FROM accepted_{name}")
        (repeats,) = _one(
            con, "SELECT coalesce(sum(last_line - line + 1), 0) FROM repeats WHERE table_name = $1", [name]
        )
        (set_aside,) = _one(
            con,
            "SELECT coalesce(sum(last_line - line + 1), 0) FROM (SELECT DISTINCT line, last_line FROM set_aside "
            "WHERE table_name = $1 AND kind = 'row')",
            [name],
        )
        of_file = LineCounts(
            name, file.name, file.csv.physical_lines, file.csv.header_lines, file.csv.blank_lines,
            int(accepted), int(set_aside), int(repeats),
        )  # fmt: skip
        told = of_file.header + of_file.blank + of_file.accepted + of_file.set_aside + of_file.repeats
        if told != of_file.lines:
            raise RuntimeError(f"{file.name} has {of_file.lines} lines, but {told} are accounted for: {of_file}")
        counts.append(of_file)
    return tuple(counts)


def remarks(con: duckdb.DuckDBPyConnection, export: Export, counts: tuple[LineCounts, ...]) -> tuple[Remark, ...]:
    """What looks wrong of an export as a whole: much that was set aside, dates that stop long before the cut-off."""
    found = []
    for each in counts:
        rows = each.lines - each.header - each.blank
        if rows and each.set_aside > MUCH_SET_ASIDE * rows:
            text = f"{each.file}: {each.set_aside} of {rows} lines were set aside; set_aside.csv says why"
            found.append(Remark(text, serious=True))
        elif not rows and each.table == "cases":
            found.append(Remark(f"{each.file}: it holds no case", serious=True))
    (latest,) = con.execute("SELECT max(day) FROM staged_dates WHERE day <= $1", [export.cut_off]).fetchall()[0]
    if latest is not None and (export.cut_off - latest).days > LONG_SILENCE:
        text = f"the latest date in the export is {latest}, long before the cut-off {export.cut_off}"
        found.append(Remark(f"{text}; see that it is right", serious=True))
    return tuple(found)


def values_set_aside(con: duckdb.DuckDBPyConnection) -> int:
    """Single values set aside in rows that were kept."""
    return _one(
        con,
        "SELECT count(*) FROM set_aside AS v WHERE v.kind = 'value' AND NOT EXISTS (SELECT 1 FROM set_aside AS r "
        "WHERE r.kind = 'row' AND r.table_name = v.table_name AND r.line = v.line)",
    )[0]


def _tell_repeats(con: duckdb.DuckDBPyConnection, table: str) -> None:
    """Of equal rows that every rule lets through the first line is accepted, the others are repeats."""
    con.execute(
        f"CREATE TEMP TABLE accepted_{table} AS SELECT * FROM staged_{table} WHERE line NOT IN "
        "(SELECT line FROM set_aside WHERE table_name = $1 AND kind = 'row')",
        [table],
    )
    con.execute(
        f"INSERT INTO repeats SELECT $1, line, last_line FROM accepted_{table} WHERE line NOT IN "
        f"(SELECT min(line) FROM accepted_{table} GROUP BY whole_row)",
        [table],
    )
    con.execute(f"DELETE FROM accepted_{table} WHERE line IN (SELECT line FROM repeats WHERE table_name = $1)", [table])


def _one(con: duckdb.DuckDBPyConnection, query: str, values: list[str] | None = None) -> tuple[int, ...]:
    row = con.execute(query, values or []).fetchone()
    assert row is not None
    return row
