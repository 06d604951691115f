"""Who came and what was done, one table a file: sql/activity.

Goes out: the files in the order of their numbers, and the contract of their SQL. Refuses, with file and line: a missing
or unknown key, a name that is not a number and a word, two files of one name.
"""

from __future__ import annotations

from pathlib import Path

from pipeline.contracts.places import SQL
from pipeline.contracts.sql_file import DAY, TEXT, Contract, SqlFile, read_numbered

MUST = ("title",)
ACTIVITY_COLUMNS = ("quarter", "section", "row", "count")  # of activity.csv


def activity_files(folder: Path = SQL / "activity") -> tuple[SqlFile, ...]:
    """The files, in their order. Raises Refused with the faults of all of them."""
    return read_numbered(folder, MUST)


def contract(case_tables: frozenset[str]) -> Contract:
    """What the SELECT of a table gives, one row for each thing that is counted, and what it may read."""
    return Contract({"index_date": DAY, "counted_as": TEXT}, case_tables)
