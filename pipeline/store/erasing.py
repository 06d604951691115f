"""Erasing one case: the store written anew without it.

Comes in: a working connection with the store attached for writing, and a case_ref. Goes out: a store and lists in which
nothing tells that there was such a case, but for the erasure, an event without the reference. Refuses: a reference that
no load holds.

Deleting rows would not do: DuckDB keeps their bytes in free blocks and in its log. So what stays is copied into a new
file, which then takes the place of the old one in a single step; a kill leaves the one or the other.

Here the names of columns, read from the store itself, are joined into SQL.
"""

from __future__ import annotations

import contextlib
import html
import os
import re
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import duckdb

from pipeline import __version__, settings
from pipeline.errors import Fault, Refused, why_not_written
from pipeline.plain_text import number_of
from pipeline.store import opening, schema
from pipeline.store.schema import FILE_NAME

ERASED = "[erased]"
# What is made of a store and names cases. It can be made again, so a file that mentions the reference goes.
_LISTS = (
    "due/*",
    "loads/no_longer_there.csv",
    "editions/*/cases_to_look_at_again.*",
    "editions/*/practitioner/*",
    "editions/*/trace.html",
)
# Texts in which somebody may have written the reference; it is taken out, and the text stays.
_TEXTS = {
    "events": ("reason",),
    "loads": ("export", "mapping", "accepted_anyway"),
    "remarks": ("remark",),
    "reports": ("commentary", "commentary_before"),
}


@dataclass(frozen=True)
class Erased:
    """What an erasure did."""

    event: int
    rows: int  # of the tables of the layout, in all loads
    findings: int  # rows and values that had been set aside
    loads: tuple[int, ...]  # whose lists were written anew
    removed: tuple[Path, ...]  # lists of cases that named it
    still_written: tuple[Path, ...]  # files of the service's own that still hold the reference
    published: tuple[str, ...]  # periods whose published reports stay as they are


def erase(
    con: duckdb.DuckDBPyConnection,
    folder: Path,
    case_ref: str,
    write_lists: Callable[[duckdb.DuckDBPyConnection, int, Path], object],
) -> Erased:
    """Erase a case from the store, its history and the lists of its loads. Lets go of the store at the end."""
    mention = _mention(case_ref)
    held = held_of(con, case_ref)
    rows, findings, loads = held.rows, held.findings, held.loads
    path, new = folder / FILE_NAME, folder / f"{FILE_NAME}.new"
    try:
        con.execute("CHECKPOINT store")  # whatever is in the log goes into the old file, and the log goes
        said = f"{number_of(rows, 'row')} and {number_of(findings, 'finding')} removed"
        event = _copy_without(con, new, case_ref, mention, said)
    except (
        duckdb.IOException,
        duckdb.FatalException,
        duckdb.OutOfMemoryException,
        duckdb.TransactionException,
    ) as error:
        for left in folder.glob(f"{new.name}*"):
            left.unlink()
        found = f"the store without the case could not be written: {why_not_written(error)}; nothing was changed"
        mend = "make room on the disk, and erase the case again"
        size = -(-path.stat().st_size // 1_000_000)
        raise Refused(Fault(FILE_NAME, found, f"room for a copy of the store, {size} MB", mend)) from error
    # The lists before the file: cut off in between, the case is still in the store, and erasing it again ends the work.
    with contextlib.closing(opening.work(folder)) as reader:
        reader.execute(f"ATTACH {schema.quoted(new)} AS store (READ_ONLY)")
        for load in loads:
            write_lists(reader, load, folder)
    removed = _remove_lists(folder, case_ref, mention)
    if os.name != "posix":
        opening.detach(con)  # Windows does not replace a file that is open
    # Still held, so that nobody adds to the old file what would be lost with it.
    new.replace(path)
    schema.onto_the_disk(folder)
    opening.detach(con)
    out = sorted(path.name for path in (folder / "published").glob("[0-9]*") if path.is_dir())
    return Erased(event, rows, findings, loads, removed, _still_written(folder, mention), tuple(out))


@dataclass(frozen=True)
class HeldOf:
    """What the store holds of a case."""

    rows: int
    findings: int
    loads: tuple[int, ...]


def held_of(con: duckdb.DuckDBPyConnection, case_ref: str) -> HeldOf:
    """What there is to erase of a case. Raises Refused where there is nothing."""
    held = HeldOf(*_find(con, case_ref, _mention(case_ref)))
    if not held.loads:
        allowed = "the case_ref of a case that a load holds, written as it stands there"
        mend = "see that it is written in full; nothing was changed"
        raise Refused(Fault("CASE", "no load holds a case with this reference", allowed, mend))
    return held


def _mention(case_ref: str) -> str:
    """The reference as a word of its own, in any text: RB-1 is not in RB-10, nor 31 in 2026-07-31."""
    return rf"(^|[^\pL\pN_-])({re.escape(case_ref)})($|[^\pL\pN_-])"


def _find(con: duckdb.DuckDBPyConnection, case_ref: str, mention: str) -> tuple[int, int, tuple[int, ...]]:
    """How many rows and findings are the case's, and in which loads."""
    rows: dict[int, int] = {}
    for table in schema.with_rows_of_cases(con):
        query = f"SELECT load, count(*) FROM store.{table} WHERE case_ref = $1 GROUP BY load"
        for load, count in con.execute(query, [case_ref]).fetchall():
            rows[load] = rows.get(load, 0) + count
    of_case = con.execute(schema.statement("findings_of_case"), {"ref": case_ref, "mention": mention})
    findings = dict(of_case.fetchall())
    return sum(rows.values()), sum(findings.values()), tuple(sorted({*rows, *findings}))


def _copy_without(con: duckdb.DuckDBPyConnection, new: Path, case_ref: str, mention: str, reason: str) -> int:
    """Copy the store into a new file, row by row that stays, so that nothing of the case was ever in it."""
    con.execute(f"ATTACH {schema.quoted(new)} AS fresh")
    new.chmod(0o600)
    con.execute("COPY FROM DATABASE store TO fresh (SCHEMA)")
    of_cases = schema.with_rows_of_cases(con)
    for name, columns in schema.columns(con, "store").items():
        values = {"ref": case_ref, "mention": mention, "without": rf"\1{ERASED}\3"}
        # Twice, for a text that says it twice with one space between: a match takes the space with it.
        chosen = ", ".join(
            f"regexp_replace(regexp_replace({column}, $mention, $without, 'g'), $mention, $without, 'g')"
            if column in _TEXTS.get(name, ())
            else column
            for column in columns
        )
        stays = "TRUE"
        if name in of_cases:
            stays = "case_ref <> $ref"
        elif name == "set_aside":
            stays = "case_ref <> $ref AND NOT regexp_matches(found, $mention)"
        query = f"INSERT INTO fresh.{name} SELECT {chosen} FROM store.{name} WHERE {stays}"
        con.execute(query, {key: value for key, value in values.items() if f"${key}" in query})
    ((event,),) = con.execute("SELECT coalesce(max(event), 0) + 1 FROM fresh.events").fetchall()
    con.execute("INSERT INTO fresh.events VALUES ($1, 'erasure', NULL, $2, $3)", [event, reason, __version__])
    con.execute("CHECKPOINT fresh")
    con.execute("DETACH fresh")
    schema.onto_the_disk(new)
    return int(event)


def _remove_lists(folder: Path, case_ref: str, mention: str) -> tuple[Path, ...]:
    """Take away the lists of cases that name it, as written, as a page escapes it or as a CSV doubles its quotes."""
    pattern = _in_python(mention)
    removed = []
    for path in sorted(path for glob in _LISTS for path in folder.glob(glob) if path.is_file()):
        text = path.read_text(encoding="utf-8", errors="replace")
        ways = (text, html.unescape(text), text.replace('""', '"'))
        # A page does not hold signs that cannot be seen as they are: with such a reference every list goes.
        if not case_ref.isprintable() or any(pattern.search(way) for way in ways):
            path.unlink()
            removed.append(path)
    return tuple(removed)


def _in_python(mention: str) -> re.Pattern[str]:
    """The same for Python, whose patterns know no classes of Unicode."""
    return re.compile(mention.replace(r"\pL\pN_", r"\w"))


def _still_written(folder: Path, mention: str) -> tuple[Path, ...]:
    """The service's own texts are its own to change: they are only named."""
    own = [folder / settings.FILE_NAME, *(folder / "commentary").rglob("*"), *(folder / "mappings").rglob("*")]
    pattern = _in_python(mention)
    texts = (path for path in own if path.is_file())
    return tuple(sorted(path for path in texts if pattern.search(path.read_text(encoding="utf-8", errors="replace"))))
