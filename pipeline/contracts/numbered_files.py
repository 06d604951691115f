"""The folders whose files stand in the order of their numbers: sql/cases, sql/look_again and sql/activity.

Goes out: the files, the names of the case tables, and the contracts of the others' SQL. Refuses, with file and line: a
missing or unknown key, a file that is not one SELECT, a name that is not a number and a word, two files of one name, a
case table that reads one made later.
"""

from __future__ import annotations

from pathlib import Path

from pipeline.contracts import parse_tree
from pipeline.contracts.places import SQL
from pipeline.contracts.sql_contract import DAY, TEXT, Contract
from pipeline.contracts.sql_file import SqlFile, own_name, read_numbered
from pipeline.errors import Fault, Refused

CASES, LOOK_AGAIN, ACTIVITY = SQL / "cases", SQL / "look_again", SQL / "activity"
CASE_KEYS, LOOK_AGAIN_KEYS = ("unique",), ("title", "why")
ACTIVITY_KEYS, ACTIVITY_MAY = ("title",), ("published", "inside")
ACTIVITY_COLUMNS = ("period", "section", "row", "count")  # of activity.csv


def case_files(folder: Path = CASES) -> tuple[SqlFile, ...]:
    """The files that define the case tables. Raises Refused with the faults of all of them."""
    files = read_numbered(folder, may=CASE_KEYS)
    made_in = {file.own_name: file.path.name for file in files}
    faults = []
    for file in files:
        for name, byte in parse_tree.tables_read(file.sql):
            if name in made_in:
                line = file.sql.encode()[:byte].count(b"\n") + 1
                mend = "give this file a higher number, or the other a lower one"
                found = f"it reads {name}, which is made later, in {made_in[name]}"
                faults.append(Fault(file.at(line), found, "the store and the case tables of lower numbers", mend))
        del made_in[file.own_name]
    if faults:
        raise Refused(faults)
    return files


def case_tables(folder: Path = CASES) -> frozenset[str]:
    """The names of the case tables."""
    return frozenset(own_name(path) for path in folder.glob("*.sql"))


def look_again_files(folder: Path = LOOK_AGAIN) -> tuple[SqlFile, ...]:
    """The lists of cases to look at again. Raises Refused with the faults of all of them."""
    return read_numbered(folder, LOOK_AGAIN_KEYS)


def look_again_contract() -> Contract:
    """What the SELECT of such a list gives, a row a line of it, and what it may read."""
    return Contract({"case_ref": TEXT, "practitioner": TEXT, "day": DAY, "detail": TEXT}, case_tables() | {"settings"})


def activity_files(folder: Path = ACTIVITY) -> tuple[SqlFile, ...]:
    """The tables of who came and what was done. Raises Refused with the faults of all of them."""
    return read_numbered(folder, ACTIVITY_KEYS, ACTIVITY_MAY)


def activity_contract() -> Contract:
    """What the SELECT of such a table gives, a row for each thing that is counted, and what it may read."""
    return Contract({"index_date": DAY, "counted_as": TEXT}, case_tables())
