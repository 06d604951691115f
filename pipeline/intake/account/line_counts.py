"""What became of every line: staged tables in, accepted rows, repeats and counts out.

Goes out, on the connection: accepted_<table>, fates, repeats. Refuses to go on where the lines of a file, as
counted on its bytes, are not the sum of header, blank, accepted, set aside and repeats: that is a defect of the
program, never of the export, so it is no error a person can mend.
"""

from __future__ import annotations

from dataclasses import dataclass

import duckdb

from pipeline.contracts import layout
from pipeline.intake.map.export import Export
from pipeline.intake.read.remark import Remark
from pipeline.progress import STAGES, Progress

# The fates of a record, in the order in which one goes before another.
ACCEPTED, REPEAT, SET_ASIDE = 1, 2, 3


@dataclass(frozen=True)
class LineCounts:
    """The physical lines of one sheet, by what became of them."""

    file: str
    sha256: str  # of the file it stands in
    lines: int
    header: int
    blank: int
    accepted: int
    set_aside: int
    repeats: int


def account(con: duckdb.DuckDBPyConnection, export: Export, watch: Progress) -> tuple[LineCounts, ...]:
    """Tell accepted rows from repeats, and count every line of every sheet.

    A line that gives several rows is accepted if one of them is, else a repeat if one of them is, else set aside.
    """
    watch.stage("accounting for every line")
    con.execute(
        "CREATE TEMP TABLE repeated (table_name VARCHAR, row_id BIGINT, sheet_table INTEGER, line BIGINT, "
        "last_line BIGINT)"
    )
    for table in layout.tables():
        _tell_repeats(con, table.name)
    con.execute(f"CREATE TEMP TABLE fates AS {_fates()}")
    con.execute("CREATE TEMP VIEW repeats AS SELECT sheet, line, last_line FROM fates WHERE fate = " + str(REPEAT))
    counts = []
    for place, sheet in export.numbered_sheets.items():
        told = {
            fate: int(lines)
            for fate, lines in con.execute(
                "SELECT fate, sum(last_line - line + 1) FROM fates WHERE sheet = $1 GROUP BY fate", [place]
            ).fetchall()
        }
        (blank,) = _one(con, "SELECT coalesce(sum(lines), 0) FROM blank_lines WHERE sheet = $1", [place])
        of_sheet = LineCounts(
            sheet.file, sheet.sha256, sheet.physical_lines, sheet.header_lines, sheet.blank_lines + int(blank),
            told.get(ACCEPTED, 0), told.get(SET_ASIDE, 0), told.get(REPEAT, 0),
        )  # fmt: skip
        sum_of_parts = of_sheet.header + of_sheet.blank + of_sheet.accepted + of_sheet.set_aside + of_sheet.repeats
        if sum_of_parts != of_sheet.lines:
            raise RuntimeError(
                f"{sheet.file} has {of_sheet.lines} lines, but {sum_of_parts} are accounted for: {of_sheet}"
            )
        counts.append(of_sheet)
        watch.done(sheet.records.num_rows / STAGES)
    return tuple(counts)


def _fates() -> str:
    """One row a record: what became of its lines. A finding about one row of several is that row's own."""
    rows = [
        f"SELECT sheet, line, last_line, {ACCEPTED} AS fate FROM accepted_{table.name} "
        "JOIN sheet_tables USING (sheet_table)"
        for table in layout.tables()
    ]
    rows.append(f"SELECT sheet, line, last_line, {REPEAT} AS fate FROM repeated JOIN sheet_tables USING (sheet_table)")
    rows.append(f"SELECT sheet, line, last_line, {SET_ASIDE} AS fate FROM set_aside WHERE kind = 'row'")
    return (
        "SELECT sheet, line, last_line, min(fate) AS fate FROM (" + " UNION ALL ".join(rows) + ") "
        "GROUP BY sheet, line, last_line"
    )


def empty_tables(con: duckdb.DuckDBPyConnection, export: Export) -> tuple[Remark, ...]:
    """Tables that the mapping gives rows of, and of which it made none: what they would hold has not happened, then."""
    found = []
    for name in dict.fromkeys(sheet_table.table.name for sheet_table in export.sheet_tables):
        (made,) = _one(con, f"SELECT count(*) FROM typed_{name}")
        if not made:
            follows = "so nothing of the kind has happened, as far as the figures know"
            found.append(
                Remark(f"{name}: the mapping made no row of it, {follows}; see that it is right", serious=True)
            )
    return tuple(found)


def remarks(counts: tuple[LineCounts, ...], share: float) -> tuple[Remark, ...]:
    """Sheets of which more than that share was set aside, even those too small for the batch gate to judge."""
    found = []
    for each in counts:
        rows = each.lines - each.header - each.blank
        if rows and each.set_aside > share * rows:
            text = f"{each.file}: {each.set_aside} of {rows} lines were set aside; the lists say why"
            found.append(Remark(text, serious=True))
    return tuple(found)


def _tell_repeats(con: duckdb.DuckDBPyConnection, table: str) -> None:
    """Of equal rows that every rule lets through the first is accepted, the others are repeats."""
    con.execute(
        f"CREATE TEMP TABLE accepted_{table} AS SELECT s.*, h.file FROM staged_{table} AS s "
        "JOIN sheet_tables USING (sheet_table) JOIN sheets AS h USING (sheet) "
        "WHERE row_id NOT IN (SELECT row_id FROM set_aside "
        "WHERE table_name = $1 AND kind = 'row' AND row_id IS NOT NULL)",
        [table],
    )
    con.execute(
        f"INSERT INTO repeated SELECT $1, row_id, sheet_table, line, last_line FROM accepted_{table} "
        f"WHERE row_id NOT IN (SELECT min(row_id) FROM accepted_{table} GROUP BY whole_row)",
        [table],
    )
    con.execute(
        f"DELETE FROM accepted_{table} WHERE row_id IN (SELECT row_id FROM repeated WHERE table_name = $1)", [table]
    )


def _one(con: duckdb.DuckDBPyConnection, query: str, values: list[str | int] | None = None) -> tuple[int, ...]:
    row = con.execute(query, values or []).fetchone()
    assert row is not None
    return row
