"""The breakdowns: the columns of sql/breakdowns.sql, as DuckDB parses it, each with the title in the comment behind it.

Comes in: the file. Goes out: the breakdowns, in the order in which they stand. Refuses, all at once, with file and
line: anything but the columns of `counted` and then named columns of plain words, each once, each with a title and no
marks but those there are.
"""

from __future__ import annotations

import functools
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

import duckdb

from pipeline.contracts import parse_tree
from pipeline.contracts.grains import COUNTED
from pipeline.contracts.places import SQL
from pipeline.contracts.sql_file import LOWER_SNAKE, SqlFile, read_sql_file
from pipeline.errors import Fault, Refused

BREAKDOWNS = SQL / "breakdowns.sql"
EVERYONE = "all"  # the breakdown with one level, that holds everyone
_ONLY_WHERE_ASKED, _FOR_EQUITY, _OWN_FILE = "only where asked", "for equity", "in a file of its own"
_PUBLISHED, _FOR_THE_MISSING, _IN_ORDER = "published", "for the missing", "in order"
_MARKS = (_ONLY_WHERE_ASKED, _FOR_EQUITY, _OWN_FILE, _PUBLISHED, _FOR_THE_MISSING, _IN_ORDER)
_TITLE = re.compile(r"-- title: *(?P<title>[^()]*?) *(?P<marks>(?:\([^()]*\) *)*)")
_TAKEN = {*COUNTED, "period", "breakdown", "level", "whose"}  # columns that stand beside the breakdowns


@dataclass(frozen=True)
class Breakdown:
    """One way to split a measure: one column of sql/breakdowns.sql. `for_every_measure` is False for route."""

    name: str
    title: str
    for_every_measure: bool
    for_equity: bool = False  # the primary measures are shown by it side by side: who is served less well?
    line: int = 1
    in_own_file: bool = False  # of people who work here: in no page and no file of an ordinary report
    published: bool = False  # the published report of a year shows it
    for_the_missing: bool = False  # those heard from and those not are compared by it
    in_order: bool = False  # its levels are steps of one order, as their names sort: a trend across them is judged


def breakdowns(path: Path = BREAKDOWNS) -> tuple[Breakdown, ...]:
    """Every breakdown. Raises Refused."""
    file = read_sql_file(path)
    return _taken_apart(file.path, file.sql)


@functools.cache
def _taken_apart(path: Path, sql: str) -> tuple[Breakdown, ...]:
    """A text taken apart once however often the file is read."""
    file = SqlFile(path, {}, {}, sql)
    query = parse_tree.tree(sql)
    if query["type"] != "SELECT_NODE":
        raise Refused(Fault(file.at(), "several SELECTs put together", "one SELECT", "leave one of them"))
    first, *items = query["select_list"]
    faults = []
    if first["class"] != "STAR" or first.get("relation_name") != "counted":
        faults.append(
            Fault(file.at_columns, "other columns first", "counted.* first", "put counted.* before the others")
        )
    places = [parse_tree.place(part) for part in [*items, query["from_table"]]]
    columns: list[Breakdown] = []
    for item, start, end in zip(items, places, places[1:], strict=False):
        name, line = item["alias"], file.sql.encode()[:start].count(b"\n") + 1
        said = [_TITLE.fullmatch(comment) for comment in _comments(file, start, end)]
        titles = [match for match in said if match and match["title"]]
        marks = re.findall(r"\(([^()]*)\)", titles[0]["marks"]) if titles else []
        faults += _faults(file.at(line), name, len(titles), marks)
        if any(name == column.name for column in columns):
            faults.append(Fault(file.at(line), f"{name} a second time", "each breakdown once", "rename one of them"))
        title = titles[0]["title"] if titles else ""
        plain, equity, own = _ONLY_WHERE_ASKED not in marks, _FOR_EQUITY in marks, _OWN_FILE in marks
        missing, ordered = _FOR_THE_MISSING in marks, _IN_ORDER in marks
        columns.append(Breakdown(name, title, plain, equity, line, own, _PUBLISHED in marks, missing, ordered))
    if not any(column.name == EVERYONE for column in columns):
        mend = f"write 'all' AS \"{EVERYONE}\", -- title: Everyone"
        faults.append(Fault(file.at_columns, f"no column {EVERYONE}", "one level that holds everyone", mend))
    if faults:
        raise Refused(faults)
    return tuple(columns)


def shown_to_all(those: Iterable[Breakdown]) -> tuple[Breakdown, ...]:
    """Those that the pages and files of an ordinary report may show."""
    return tuple(breakdown for breakdown in those if not breakdown.in_own_file)


def _faults(where: str, name: str, titles: int, marks: list[str]) -> Iterator[Fault]:
    if not name:
        yield Fault(where, "a column without a name", "a name behind AS", "write AS and the name of the breakdown")
    elif not re.fullmatch(LOWER_SNAKE, name) or name in _TAKEN:
        allowed = f"small letters, digits and underscores, and none of {', '.join(sorted(_TAKEN))}"
        yield Fault(where, f"the name {name}", allowed, "rename the column")
    if titles != 1:
        what = f"no title for {name}" if not titles else f"{titles} titles for {name}"
        yield Fault(where, what, "-- title: ... in the comment behind the column", "write it there, once")
    for mark in marks:
        if mark not in _MARKS:
            allowed = " and ".join(f"({known})" for known in _MARKS)
            yield Fault(where, f"the mark ({mark})", allowed, "correct it, or take the brackets out of the title")


def _comments(file: SqlFile, start: int, end: int) -> list[str]:
    """The comments between two places of the file, in bytes."""
    written = file.sql.encode()
    places = [at for at, kind in duckdb.tokenize(file.sql) if kind is duckdb.token_type.comment and start <= at < end]
    return [written[at:].split(b"\n", 1)[0].decode().strip() for at in places]
