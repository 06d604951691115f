"""The `-- key: value` lines at the head of a SQL file, and the one SELECT below them.

Comes in: a file, the keys it must have and the keys it may have. Goes out: the values with their lines, and the SQL.
Refuses, all at once, with file and line: an unknown, missing, repeated or empty key; anything but one SELECT.
"""

from __future__ import annotations

import re
from collections.abc import Collection
from dataclasses import dataclass
from pathlib import Path

import duckdb

from pipeline.errors import Fault, Refused

_KEY = re.compile(r"-- ([a-z_]+): ?(.*)")


@dataclass(frozen=True)
class SqlFile:
    """One SQL file: what it says of itself, and its SELECT (the whole text, so that lines agree with the file)."""

    path: Path
    keys: dict[str, str]
    lines: dict[str, int]
    sql: str

    @property
    def name(self) -> str:
        """The file's name, which is the name of what it defines."""
        return self.path.stem

    def at(self, line: int | str = 1) -> str:
        """Where a fault is: the file, and a line or the line of a key."""
        number = self.lines.get(line, 1) if isinstance(line, str) else line
        return f"{self.path.parent.name}/{self.path.name}, line {number}"


def read_sql_file(path: Path, must: Collection[str], may: Collection[str] = ()) -> SqlFile:
    """Read one file and hold it to its keys. Raises Refused."""
    text = path.read_text(encoding="utf-8")
    keys: dict[str, str] = {}
    lines: dict[str, int] = {}
    faults: list[Fault] = []
    allowed = "the keys " + ", ".join([*must, *may])
    for number, line in enumerate(text.splitlines(), start=1):
        match = _KEY.fullmatch(line)
        if not match:
            break
        key, value = match[1], match[2].strip()
        where = f"{path.parent.name}/{path.name}, line {number}"
        if key not in must and key not in may:
            faults.append(Fault(where, f"the key {key}", allowed, "correct the key, or take the line out"))
        elif key in keys:
            faults.append(Fault(where, f"the key {key} a second time", "each key once", "take one of them out"))
        elif not value:
            faults.append(Fault(where, f"the key {key} without a value", "a value behind the colon", "write it"))
        keys[key], lines[key] = value, number
    sql_file = SqlFile(path, keys, lines, text)
    missing = [key for key in must if key not in keys]
    if missing:
        found = f"no key {', '.join(missing)}"
        faults.append(
            Fault(sql_file.at(), found, allowed, f"add a line “-- {missing[0]}: ...” at the head of the file")
        )
    faults += one_select(sql_file)
    if faults:
        raise Refused(faults)
    return sql_file


def one_select(sql_file: SqlFile) -> list[Fault]:
    """A fault unless the file holds exactly one statement, a SELECT."""
    allowed, mend = "one SELECT statement", "leave one SELECT in the file"
    try:
        statements = duckdb.extract_statements(sql_file.sql)
    except duckdb.Error as error:
        return [sql_fault(sql_file, error)]
    if not statements:
        return [Fault(sql_file.at(), "no statement", allowed, "write the SELECT")]
    if len(statements) > 1:
        before = sql_file.sql.index(statements[1].query.strip()[:40], len(statements[0].query))
        line = sql_file.sql.count("\n", 0, before) + 1
        return [Fault(sql_file.at(line), "a second statement", allowed, mend)]
    if statements[0].type != duckdb.StatementType.SELECT:
        return [Fault(sql_file.at(), f"a {statements[0].type.name} statement", allowed, mend)]
    return []


def sql_fault(sql_file: SqlFile, error: duckdb.Error) -> Fault:
    """What DuckDB says of the file, with the line it names."""
    said = str(error)
    match = re.search(r"LINE (\d+):", said)
    found = said.split("\n\nLINE")[0].strip()
    return Fault(sql_file.at(int(match[1]) if match else 1), found, "SQL that DuckDB reads", "correct the SQL")
