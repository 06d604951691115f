"""The files of sql/cases, from which the case tables are built.

Goes out: the files in their order, and the names of the tables they define. Refuses, with file and line: a file that is
not one SELECT, or whose name is not a number and the name of a table; two that define one table.
"""

from __future__ import annotations

from pathlib import Path

from pipeline.contracts.places import SQL
from pipeline.contracts.sql_file import SqlFile, own_name, read_numbered

_FOLDER = SQL / "cases"


def case_files(folder: Path = _FOLDER) -> tuple[SqlFile, ...]:
    """The files, in their order. Raises Refused with the faults of all of them."""
    return read_numbered(folder)


def case_tables(folder: Path = _FOLDER) -> frozenset[str]:
    """The names of the tables they define."""
    return frozenset(own_name(path) for path in folder.glob("*.sql"))
