"""What a file of sql/checks declares about itself, and what its SELECT gives.

Each file is a rule about two columns, rows or tables of an export, and selects the rows that break it; the number at
the head of its name is its place: dates after the cut-off, then values, then rows, then what rests on the rows left.

At its head stand `kind` (`row`: the whole row is set aside, or `value`: the value counts as not recorded), `allowed`
(what may stand there), `mend` (what to do in the record) and `why` (what was wrong, as a board reads it). The SELECT
gives exactly, in this order,
    table_name VARCHAR, column_name VARCHAR   a column of the layout; for kind value one that may be empty
    row_id BIGINT                             the offending row's, as its staged table has it
    found VARCHAR                             what was found there, in words, never NULL
once for each row and column, and reads nothing but the staged tables: staged_<table> for every table of the layout
(its columns, row_id, line and whole_row), staged_rows and staged_dates (those of all tables), usable_cases and
usable_procedures (what no row rule has refused so far), and cut_off.
It asks for row_id and not for the line, because a line of a mapped sheet may give several rows.

Comes in: the folder. Goes out: the checks in their order. Refuses, all faults of all files at once, with file and line:
an unknown or missing key, a kind that there is not, a name without its number, anything but one SELECT.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass
from pathlib import Path

import duckdb

from pipeline.contracts import layout, parse_tree
from pipeline.contracts.places import SQL
from pipeline.contracts.sql_contract import TEXT, Contract, build_held
from pipeline.contracts.sql_file import SqlFile, name_faults, read_folder, read_sql_file
from pipeline.errors import Fault, Refused, nearest

VALUE, ROW = "value", "row"
MUST = ("kind", "allowed", "mend", "why")
CONTRACT = Contract(
    {"table_name": TEXT, "column_name": TEXT, "row_id": ("BIGINT",), "found": TEXT},
    frozenset({"staged_rows", "staged_dates", "usable_cases", "usable_procedures", "cut_off"})
    | {f"staged_{table.name}" for table in layout.tables()},
)
_FOLLOWS = "case_was_not_set_aside"
_ORDINARY = "request_is_no_case"


@dataclass(frozen=True)
class Check:
    """One check: one file of sql/checks."""

    name: str  # with its number
    kind: str  # value or row: what is set aside
    allowed: str
    mend: str
    why: str
    file: SqlFile


def checks(folder: Path = SQL / "checks") -> tuple[Check, ...]:
    """Every check, in the order in which they run. Raises Refused with the faults of all files."""
    return read_folder(folder, _check)


def follows() -> str:
    """What is allowed by the rule whose findings only follow from others: rows that go with a case set aside."""
    return _allowed_by(_FOLLOWS)


def ordinary() -> str:
    """What is allowed by the rule that a good export breaks every time: a request that became a case is set aside."""
    return _allowed_by(_ORDINARY)


def _allowed_by(own_name: str) -> str:
    return next(check.allowed for check in checks() if check.file.own_name == own_name)


def build_broken(con: duckdb.DuckDBPyConnection, check: Check) -> list[Fault]:
    """Make the table `broken` of what the check selects from the staged tables; what of it breaks the contract."""
    return build_held(con, "broken", check.file, CONTRACT) or list(_name_faults(check))


def columns_of(kind: str) -> list[tuple[str, str]]:
    """Table and column of whatever a check of that kind may be about: a value that must be there is not taken out."""
    return [
        (table.name, column.name)
        for table in layout.tables()
        for column in table.columns
        if kind == ROW or not column.must
    ]


def _check(path: Path) -> Check:
    file = read_sql_file(path, MUST)
    faults, kind = name_faults(file, numbered=True), file.keys["kind"]
    if kind not in (VALUE, ROW):
        faults.append(Fault(file.at("kind"), f"kind: {kind}", f"{VALUE} or {ROW}", "say what is set aside"))
    if faults:
        raise Refused(faults)
    return Check(file.name, kind, file.keys["allowed"], file.keys["mend"], file.keys["why"], file)


def _name_faults(check: Check) -> Iterator[Fault]:
    """Names of tables and columns, written out in the file, that are none of the layout: no row need break the rule."""
    columns = columns_of(check.kind)
    tables = list(dict.fromkeys(table for table, _ in columns))
    written = {name: list(_written(check.file, name)) for name in ("table_name", "column_name")}
    for table, line in written["table_name"]:
        if table not in tables:
            yield _wrong(check, line, f"table_name is {table}", table, tables)
    named = {table for table, _ in written["table_name"]}.intersection(tables) or tables
    names = [column for table, column in columns if table in named]
    for column, line in written["column_name"]:
        if column not in names:
            yield _wrong(check, line, f"column_name is {column}", column, names)


def _wrong(check: Check, line: int, what: str, name: str, names: Collection[str]) -> Fault:
    of = "optional columns" if check.kind == VALUE else "columns"
    allowed = f"a table of the layout and one of its {of}{nearest(name, names)}"
    return Fault(check.file.at(line), what, allowed, "correct the name (feeding-audit layout lists them)")


def _written(file: SqlFile, name: str) -> Iterator[tuple[str, int]]:
    """The texts that the file gives under a name, where they stand in it as they are, with their lines."""
    for node in parse_tree.nodes(parse_tree.tree(file.sql)):
        if node.get("alias") == name and node.get("class") == "CONSTANT":
            yield node["literal"]["text"], file.sql.encode()[: node["query_location"]].count(b"\n") + 1
