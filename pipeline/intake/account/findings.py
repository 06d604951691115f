"""What was set aside, summed up for the person who reads the terminal.

Comes in: the working connection after accounting, or a load in the store. Goes out: a frozen Findings, or all
as rows.
"""

from __future__ import annotations

import textwrap
from collections.abc import Iterator
from dataclasses import dataclass

import duckdb

from pipeline.contracts import check_files, layout
from pipeline.intake import statements
from pipeline.intake.account.mending_workbook import Row
from pipeline.plain_text import times, wrapped

MANY = 8  # reasons that are told; further ones stand in the lists


@dataclass(frozen=True)
class Reason:
    """Findings of one rule in one column of one sheet: how many, the commonest, and where it stands first."""

    file: str
    column: str  # as the sheet calls it; empty where the whole line is meant
    kind: str  # row or value
    found: str
    kinds_found: int  # different things found
    count: int
    line: int
    allowed: str
    mend: str

    @property
    def words(self) -> str:
        """How often, where, what, and what is allowed."""
        where = f"{self.file}, {self.column}" if self.column else self.file
        among = f", {self.kinds_found} different" if self.kinds_found > 1 else ""
        text = f"{times(self.count)}{among}: {where}: {self.found} (line {self.line}); allowed: {self.allowed}"
        return textwrap.shorten(text, 400, placeholder=" ...")


@dataclass(frozen=True)
class Findings:
    """Numbers of findings, and the findings by reason, the most frequent first."""

    values: int  # single values of rows that were kept
    rows: int  # rows set aside of lines that gave other rows, which were kept
    reasons: tuple[Reason, ...]

    @property
    def commonest(self) -> tuple[str, ...]:
        """The reasons in words, and how many further ones there are."""
        further = len(self.reasons) - MANY
        more = (f"  and {further:,} further reason{'' if further == 1 else 's'}",) if further > 0 else ()
        return (*(wrapped(reason.words) for reason in self.reasons[:MANY]), *more)


def sum_up(con: duckdb.DuckDBPyConnection) -> Findings:
    """Everything in set_aside."""
    ((values, rows),) = statements.rows(con, "set_aside_counts")
    reasons = statements.rows(con, "set_aside_reasons", {"last": [check_files.follows(), check_files.ordinary()]})
    return Findings(values, rows, tuple(Reason(*reason) for reason in reasons))


def listed(con: duckdb.DuckDBPyConnection, load: int | None = None) -> list[tuple[str, list[Row]]]:
    """Each table with its findings, in the order of the layout, lines of no table last.

    Of a load in the store, else of the working connection.
    """
    if load is None:
        findings = statements.rows(con, "findings_of_export")
    else:
        findings = statements.rows(con, "findings_of_load", {"load": load})
    by_table: dict[str, list[Row]] = {name: [] for name in (*(table.name for table in layout.tables()), "")}
    for table, row in _once([(table, Row(*finding)) for table, *finding in findings]):
        by_table[table].append(row)
    return [(name or "lines", rows) for name, rows in by_table.items() if rows]


def _once(findings: list[tuple[str, Row]]) -> Iterator[tuple[str, Row]]:
    """Each cell once, and not what goes with a case whose own row stands in the same line: one thing to mend.

    A finding about a row comes before one about a value of it.
    """
    follows = check_files.follows()
    with_case = {(row.file, row.line) for table, row in findings if table == "cases" and row.kind == "row"}
    seen = set()
    for table, row in findings:
        goes_with_case = table != "cases" and row.allowed == follows and (row.file, row.line) in with_case
        cell = (row.file, row.line, row.column, row.found)
        if not goes_with_case and cell not in seen:
            seen.add(cell)
            yield table, row
