"""Sheets and columns that are new since the source's load before, and that nothing reads: a quarter may stand in them.

Comes in: an export, and the load before. Goes out: a reason to hold it back, each. Refuses to judge where the load
before did not record its headings.
"""

from __future__ import annotations

import duckdb

from pipeline.errors import Fault
from pipeline.intake import statements
from pipeline.intake.map.export import Export
from pipeline.store import Remark

_ANYWAY = 'if it is right as it is, say why: --accept-anyway "REASON"'


def headings_before(con: duckdb.DuckDBPyConnection, before: int | None) -> set[tuple[str, str]] | None:
    """The sheets, each with "", and columns of the load before; None where there is none."""
    return None if before is None else set(statements.rows(con, "headings_of_load", {"load": before}))


def remarks(there: set[tuple[str, str]] | None, before: int | None) -> tuple[Remark, ...]:
    """That nothing could be told to be new, where that is so."""
    words = f"load {before} did not keep the names of its sheets and columns: none is told to be new"
    return (Remark(words, serious=False),) if there == set() else ()


def new_headings(there: set[tuple[str, str]] | None, export: Export, before: int | None) -> tuple[Fault, ...]:
    """The reasons. A column of a sheet that was not there before is held against all columns of the load before."""
    if not there:
        return ()
    sheets, columns = {sheet for sheet, _ in there}, {column for _, column in there}
    unread = {heading.sheet for heading in export.headings if not heading.column and not heading.is_known}
    new: dict[str, list[str]] = {}
    for heading in export.headings:
        known = (heading.sheet, heading.column) in there if heading.sheet in sheets else heading.column in columns
        if heading.column and not heading.is_known and not known and heading.sheet not in unread:
            new.setdefault(heading.sheet, []).append(heading.column)
    return (
        *(
            _fault(export, f"the sheet {sheet}", f"it was not in load {before}", "sheets", [sheet])
            for sheet in sorted(unread - sheets)
        ),
        *(
            _fault(
                export, f"the sheet {sheet}", f"column {', '.join(names)} was not in load {before}", "columns", names
            )
            for sheet, names in sorted(new.items())
        ),
    )


def _fault(export: Export, where: str, found: str, key: str, names: list[str]) -> Fault:
    listed = ", ".join(f'"{name}"' for name in names)
    allowed = f"new {key} that are read, or left out on purpose"
    mend = "see whether the layout has it by another name" if export.in_layout else "read it in the mapping"
    mend += (
        f", or leave it out in {'audit.toml' if export.in_layout else 'it'}: [left_out] {key} = [{listed}]; {_ANYWAY}"
    )
    return Fault(where, f"{found}, and nothing reads it", allowed, mend)
