"""The rows of the exports that the traced cases rest on, each with its file and line.

Comes in: the references of the traced cases. Goes out: for each its rows of the layout's tables in the load it counts
from, what was set aside of them, and its row of each case table. A query a table, however many cases.

Here the tables of the layout are joined into SQL.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

import duckdb

from pipeline.contracts import layout
from pipeline.contracts.grains import GRAINS, Grain
from pipeline.contracts.query_files import query_file
from pipeline.errors import Refused
from pipeline.intake.map.mapping_file import parse_mapping
from pipeline.intake.map.sheet_tables import LAYOUT


@dataclass(frozen=True)
class Line:
    """One row of a table of the layout, as it stands in the store; or one that was set aside, and is in no table."""

    table: str
    file: str
    line: int
    row_id: int | None
    values: Mapping[str, Any]
    set_aside: Mapping[str, str]  # column -> what was found there; "" where the row as a whole was set aside


@dataclass(frozen=True)
class CountsAs:
    """Which version of a case counts."""

    load: int
    set_aside_in: int | None  # a newer load in which its own row could not be used
    newest_load: int | None  # the newest of its source, where that does not hold it


@dataclass(frozen=True)
class Load:
    """A load that traced cases count from."""

    number: int
    export: str
    source: str
    extracted_on: date
    # (table, column) -> what the sheets call it, or what stands for it; nothing of an export in the layout.
    said_as: Mapping[tuple[str, str], tuple[str, ...]]


@dataclass(frozen=True)
class Lines:
    """Everything about the traced cases, by case_ref."""

    loads: tuple[Load, ...]
    counts_as: Mapping[str, CountsAs]
    of_case: Mapping[str, tuple[Line, ...]]  # in the order of the layout's tables, then of the lines
    worked_out: Mapping[Grain, Mapping[Any, Mapping[str, Any]]]  # the rows of its case table, by their id


def read(con: duckdb.DuckDBPyConnection, case_refs: Collection[str]) -> Lines:
    """Read them all; it leaves the table `traced`, every case_ref once."""
    con.execute("CREATE OR REPLACE TEMP TABLE traced AS SELECT unnest($1) AS case_ref", [sorted(case_refs)])
    values, rows = _set_aside(con)
    of_case: dict[str, list[Line]] = defaultdict(list)
    for table in layout.tables():
        rows_of_table = _records(
            con,
            f"SELECT t.* FROM store.{table.name} AS t JOIN counting_versions USING (case_ref, load) "
            "WHERE case_ref IN (SELECT case_ref FROM traced) ORDER BY t.case_ref, t.line, t.file, t.row_id",
        )
        for row in rows_of_table:
            where = (row["case_ref"], table.name, row["file"], row["line"])
            here = {column.name: row[column.name] for column in table.columns}
            # The rules of an export may give one line several rows of a table: a value is set aside where none is.
            missing = {name: said for name, said in values.get(where, {}).items() if here.get(name) is None}
            of_case[row["case_ref"]].append(Line(table.name, row["file"], row["line"], row["row_id"], here, missing))
        for (case_ref, name, file, line), said in rows.items():
            if name == table.name:
                of_case[case_ref].append(Line(name, file, line, None, {}, {"": said}))
    worked_out = {}
    for grain in GRAINS.values():
        built = _records(con, f"SELECT * FROM {grain.table} WHERE case_ref IN (SELECT case_ref FROM traced)")
        worked_out[grain] = {row[grain.id_column]: row for row in built}
    return Lines(
        tuple(_load(*row) for row in con.execute(query_file("lineage/loads").sql).fetchall()),
        {ref: CountsAs(*rest) for ref, *rest in con.execute(query_file("lineage/counts_as").sql).fetchall()},
        {ref: tuple(lines) for ref, lines in of_case.items()},
        worked_out,
    )


def _load(number: int, export: str, source: str, extracted_on: date, mapping: str) -> Load:
    return Load(number, export, source, extracted_on, _said_as(mapping))


def _said_as(mapping: str) -> dict[tuple[str, str], tuple[str, ...]]:
    try:
        of_load = parse_mapping(mapping, "the mapping of the load") if mapping else LAYOUT
    except Refused:
        return {}  # good when it was loaded, and refused by this version: the lines can be found without it
    said: dict[tuple[str, str], tuple[str, ...]] = {}
    filled = {name for reading in of_load.readings.values() for name in reading.shape.fill_down}
    for rows in of_load.rows:
        for column, origin in rows.columns.items():
            before = f" with {origin.prefix} before it" if origin.prefix else ""
            names = " or ".join(f"“{name}”" for name in (origin.column, *origin.or_column))
            before += ", on this line or above" if filled & {origin.column, *origin.or_column} else ""
            told = f"{names}{before}" if origin.column is not None else origin.unsaid
            said[rows.table, column] = tuple(dict.fromkeys((*said.get((rows.table, column), ()), told)))
    return said


_Where = tuple[str, str, str, int]


def _set_aside(con: duckdb.DuckDBPyConnection) -> tuple[dict[_Where, dict[str, str]], dict[_Where, str]]:
    """What was set aside, by case, table, file and line: single values by their column, and whole rows."""
    values: dict[_Where, dict[str, str]] = defaultdict(dict)
    rows: dict[_Where, str] = {}
    for case_ref, table, file, line, kind, column, said in con.execute(query_file("lineage/set_aside").sql).fetchall():
        where = (case_ref, table, file, line)
        if kind == "row":
            rows[where] = f"{rows[where]}; {said}" if where in rows else said
        else:
            values[where][column] = said
    return values, rows


def _records(con: duckdb.DuckDBPyConnection, query: str) -> list[dict[str, Any]]:
    rows = con.execute(query)
    names = [column[0] for column in rows.description]
    return [dict(zip(names, row, strict=True)) for row in rows.fetchall()]
