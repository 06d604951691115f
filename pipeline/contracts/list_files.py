"""The lists of cases to look at again: the files of sql/look_again.

Goes out: the files in the order of their numbers, and the contract of their SQL. Refuses, with file and line: a missing
or unknown key, a name that is not a number and a word, two files of one name.
"""

from __future__ import annotations

from pathlib import Path

from pipeline.contracts.places import SQL
from pipeline.contracts.sql_file import DAY, TEXT, Contract, SqlFile, read_numbered

MUST = ("title", "why")


def list_files(folder: Path = SQL / "look_again") -> tuple[SqlFile, ...]:
    """The files, in their order. Raises Refused with the faults of all of them."""
    return read_numbered(folder, MUST)


def contract(case_tables: frozenset[str]) -> Contract:
    """What the SELECT of a list gives, and what it may read."""
    return Contract({"case_ref": TEXT, "practitioner": TEXT, "day": DAY, "detail": TEXT}, case_tables)
