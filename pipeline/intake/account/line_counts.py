"""What became of every line: staged tables in, accepted rows, repeats and counts out.

Goes out, on the connection: accepted_<table>, line_fates, repeats. Refuses to go on where the lines of a file, as
counted on its bytes, are not the sum of header, blank, accepted, set aside, repeats and left out: that is a defect of
the program, never of the export, so it is no error a person can mend.
"""

from __future__ import annotations

import duckdb

from pipeline.contracts import check_files, layout
from pipeline.intake import statements
from pipeline.intake.check import column_sql
from pipeline.intake.map.export import Export
from pipeline.intake.map.sheet_tables import WITHOUT
from pipeline.progress import STAGES, Progress
from pipeline.store import LINE_PARTS, LineCounts, Remark


def account(con: duckdb.DuckDBPyConnection, export: Export, watch: Progress) -> tuple[LineCounts, ...]:
    """Tell accepted rows from repeats, and count every line of every sheet.

    A line that gives several rows is accepted if one of them is, else a repeat if one of them is, else set aside.
    One that gives none because the mapping leaves it out on purpose is left out.
    """
    watch.stage("accounting for every line")
    statements.make_table(con, "kept_rows")
    for table in layout.tables():
        there = con.execute(column_sql.any_row(f"staged_{table.name}")).fetchall()
        con.execute(column_sql.accepted_rows(table.name) if there else column_sql.no_accepted_rows(table.name))
    statements.make_table(con, "line_fates")
    statements.make_view(con, "repeats")
    counts = []
    for number, blank, *fates in statements.rows(con, "line_counts", {"ordinary": check_files.ordinary()}):
        sheet = export.numbered_sheets[number]
        of_sheet = LineCounts(
            sheet.file, sheet.sha256, sheet.physical_lines, sheet.header_lines, sheet.blank_lines + blank, *fates
        )
        sum_of_parts = sum(getattr(of_sheet, part) for part in LINE_PARTS)
        if sum_of_parts != of_sheet.lines:
            raise RuntimeError(
                f"{sheet.file} has {of_sheet.lines} lines, but {sum_of_parts} are accounted for: {of_sheet}"
            )
        counts.append(of_sheet)
        watch.done(sheet.records.num_rows / STAGES)
    return tuple(counts)


def empty_tables(con: duckdb.DuckDBPyConnection) -> tuple[Remark, ...]:
    """Tables that the mapping gives rows of, and of which it made none: what they would hold has not happened, then."""
    nothing = "nothing of the kind has happened, as far as the figures know"
    return tuple(
        Remark(
            f"{name}: the mapping made no row of it, so {WITHOUT.get(name, nothing)}; see that it is right",
            serious=True,
        )
        for (name,) in statements.rows(con, "tables_without_rows")
    )


def remarks(counts: tuple[LineCounts, ...], share: float) -> tuple[Remark, ...]:
    """Sheets of which more than that share was set aside, even those too small for the batch gate to judge."""
    return tuple(
        Remark(
            f"{sheet.file}: {sheet.amiss} of {sheet.judged} lines could not be used; the lists say why", serious=True
        )
        for sheet in counts
        if sheet.amiss > share * sheet.judged
    )
