"""One SQL file: the `-- key: value` lines at its head, and the one SELECT below them.

Comes in: a file, or a folder of them; the keys it must have and those it may have. Goes out: SqlFiles. Refuses, all
faults at once, with file and line: an unknown, missing, repeated or empty key; anything but one SELECT; a file that is
not named as those of its kind.
"""

from __future__ import annotations

import functools
import re
from collections.abc import Callable, Collection
from dataclasses import dataclass
from pathlib import Path
from typing import TypeVar

import duckdb

from pipeline.errors import Fault, Refused

T = TypeVar("T")

LOWER_SNAKE = "[a-z][a-z0-9_]*"
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

    @property
    def own_name(self) -> str:
        """The name without the number that gives the file its place."""
        return own_name(self.path)

    def at(self, line: int | str = 1) -> str:
        """Where a fault is: the file, and a line or the line of a key."""
        number = self.lines.get(line, 1) if isinstance(line, str) else line
        return f"{self.path.parent.name}/{self.path.name}, line {number}"

    @property
    def at_columns(self) -> str:
        """Where the columns are listed: the last SELECT at the margin."""
        lines = self.sql.splitlines()
        return self.at(max((n for n, line in enumerate(lines, 1) if line.upper().startswith("SELECT")), default=1))


def read_sql_file(path: Path, must: Collection[str] = (), may: Collection[str] = ()) -> SqlFile:
    """Read one file and hold it to its keys. Raises Refused."""
    try:
        text = path.read_text(encoding="utf-8")
    except UnicodeDecodeError as error:
        where = f"{path.parent.name}/{path.name}, line {error.object[: error.start].count(10) + 1}"
        raise Refused(Fault(where, "a byte that is not UTF-8", "UTF-8", "save the file as UTF-8")) from error
    return _held(path, text, tuple(must), tuple(may))


@functools.cache
def _held(path: Path, text: str, must: tuple[str, ...], may: tuple[str, ...]) -> SqlFile:
    """A text held to its keys once however often the file is read: nobody changes anything in it."""
    keys: dict[str, str] = {}
    lines: dict[str, int] = {}
    faults: list[Fault] = []
    sql_file = SqlFile(path, keys, lines, text)
    allowed = "the keys " + ", ".join([*must, *may]) if must or may else "no keys"
    for number, line in enumerate(text.splitlines(), start=1):
        match = _KEY.fullmatch(line)
        if not match:
            break
        key, value, where = match[1], match[2].strip(), sql_file.at(number)
        if key not in must and key not in may:
            faults.append(Fault(where, f"the key {key}", allowed, "correct the key, or take the line out"))
        elif key in keys:
            faults.append(Fault(where, f"the key {key} a second time", "each key once", "take one of them out"))
        elif not value:
            faults.append(Fault(where, f"the key {key} without a value", "a value behind the colon", "write it"))
        keys[key], lines[key] = value, number
    missing = [key for key in must if key not in keys]
    if missing:
        mend = f"add a line “-- {missing[0]}: ...” at the head of the file"
        faults.append(Fault(sql_file.at(), f"no key {', '.join(missing)}", allowed, mend))
    faults += one_select(sql_file)
    if faults:
        raise Refused(faults)
    return sql_file


def read_folder(folder: Path, read: Callable[[Path], T]) -> tuple[T, ...]:
    """Every SQL file of a folder, by name: the folder is the list. Raises Refused with the faults of all files."""
    files: list[T] = []
    faults: list[Fault] = []
    for path in sorted(folder.glob("*.sql")):
        try:
            files.append(read(path))
        except Refused as refused:
            faults += refused.faults
    if faults:
        raise Refused(faults)
    return tuple(files)


def read_numbered(folder: Path, must: Collection[str] = (), may: Collection[str] = ()) -> tuple[SqlFile, ...]:
    """Every SQL file of a folder whose names begin with the number of their place. Raises Refused, as read_folder."""
    files = read_folder(folder, lambda path: read_sql_file(path, must, may))
    faults = [fault for file in files for fault in name_faults(file, numbered=True)]
    names = [file.own_name for file in files]
    for place, file in enumerate(files):
        if file.own_name in names[:place]:
            allowed = "each name once, whatever its number"
            faults.append(Fault(file.at(), f"{file.own_name} a second time", allowed, "rename one of the files"))
    if faults:
        raise Refused(faults)
    return files


def own_name(path: Path) -> str:
    """The name of a file without the number that gives it its place."""
    return re.sub(r"^\d+_", "", path.stem)


def name_faults(sql_file: SqlFile, *, numbered: bool = False) -> list[Fault]:
    """A fault unless the file is named as those of its kind are."""
    if re.fullmatch(r"\d+_" * numbered + LOWER_SNAKE, sql_file.name):
        return []
    before = "the number of its place and an underscore, then " if numbered else ""
    allowed = f"{before}small letters, digits and underscores"
    return [Fault(sql_file.at(), f"the name {sql_file.name}", allowed, "rename the file")]


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


# What no SQL can help: the store's file, the disk or the memory failed it.
_FILE_OR_DISK = (
    duckdb.IOException,
    duckdb.FatalException,
    duckdb.SerializationException,
    duckdb.OutOfMemoryException,
)


# What DuckDB says of a SELECT before it sees a row: it can only quote the SELECT.
_OF_THE_SQL = (duckdb.ParserException, duckdb.SyntaxException, duckdb.CatalogException, duckdb.BinderException)


_NO_COLUMN = re.compile(
    r'"(?P<alias>[^"]+)" does not have a column named "(?P<name>[^"]+)"'
    r'|Referenced column "(?P<bare>[^"]+)" not found in FROM clause'
)


def without_values(error: BaseException) -> str:
    """The words of an error; of one that DuckDB met at work only their kind, for the rest may quote a row."""
    said = str(error)
    if not isinstance(error, duckdb.Error) or isinstance(error, (*_OF_THE_SQL, *_FILE_OR_DISK)):
        return said
    return f"{said.split(':')[0].split(chr(10))[0]} at a row or value, whose words are left out, for they may quote it"


def sql_fault(sql_file: SqlFile, error: duckdb.Error) -> Fault:
    """What DuckDB says of the file, with the line it names, and no value of a row.

    An error of the disk or of a damaged store is raised on.
    """
    if isinstance(error, _FILE_OR_DISK):
        raise error
    said = str(error)
    match = re.search(r"LINE (\d+):", said)
    where = sql_file.at(int(match[1]) if match else 1)
    unknown = _NO_COLUMN.search(said) if isinstance(error, duckdb.BinderException) else None
    if unknown:
        name, alias = unknown["name"] or unknown["bare"], unknown["alias"]
        near = re.findall(r'"([^"]+)"', said.partition("Candidate bindings")[2].partition("\n")[0])[:3]
        allowed = f"a column of {alias or 'what it reads'}{'; most like it: ' * bool(near)}{', '.join(near)}"
        return Fault(where, f"there is no column {f'{alias}.' * bool(alias)}{name}", allowed, "correct the name")
    what = without_values(error).split("\n\nLINE")[0].strip()
    return Fault(where, what, "SQL that DuckDB reads", "correct the SQL")
