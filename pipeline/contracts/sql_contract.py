"""What the SELECT of a kind of SQL file gives and may read, and the files run once they hold to it.

Comes in: a file, the Contract of its kind, a connection. Goes out: its rows. Refuses, all faults at once, with file and
line: a table it may not read, a value it is not given, columns or types other than those of its kind, rows that break a
rule, and what DuckDB cannot run.

Here what a kind of file declares, the columns that tell rows apart and the rules, is joined into SQL.
"""

from __future__ import annotations

import functools
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import duckdb

from pipeline.contracts import parse_tree
from pipeline.contracts.sql_file import SqlFile, sql_fault
from pipeline.errors import Fault, Refused

Rule = tuple[str, str, str]  # what is wrong with some rows, an aggregate that counts them, what is allowed
TEXT, DAY, YES_NO, WHOLE = ("VARCHAR",), ("DATE",), ("BOOLEAN",), ("INTEGER", "BIGINT", "HUGEINT")


@dataclass(frozen=True)
class Contract:
    """What the SELECT of a kind of file gives, and what it may read."""

    columns: Mapping[str, tuple[str, ...]]  # each column and the types it may have
    tables: frozenset[str]
    in_order: bool = True  # the columns stand in that order
    because: str = ""  # what the columns follow from, in words
    mend: str = "name the columns so, in this order"


def foreign_tables(sql_file: SqlFile, tables: frozenset[str]) -> list[Fault]:
    """A fault for each table or table function that the file may not read."""
    try:
        reads = parse_tree.tables_read(sql_file.sql)
    except duckdb.Error as error:
        return [sql_fault(sql_file, error)]
    allowed = "the tables " + ", ".join(sorted(tables))
    mend = "read one of those" + (", or add one to sql/cases" if "cases" in tables else "")
    lines = [(name, sql_file.sql.encode()[:byte].count(b"\n") + 1) for name, byte in reads if name not in tables]
    return [Fault(sql_file.at(line), f"it reads {name}", allowed, mend) for name, line in lines]


def faults_of(
    con: duckdb.DuckDBPyConnection, sql_file: SqlFile, contract: Contract, values: Mapping[str, Any] | None = None
) -> list[Fault]:
    """What of the file breaks the contract of its kind, found without running it."""
    faults = _unseen_faults(sql_file, contract, values)
    if faults:
        return faults
    try:
        rows = con.execute(f"DESCRIBE {sql_file.sql}", values).fetchall()
    except duckdb.Error as error:
        # A column that is left out, but read below, would make DuckDB speak of the table it looked for it in.
        lines = _column_lines(sql_file)
        left_out = contract.columns.keys() - lines.keys() if lines else ()
        if not any(f'column "{name}"' in str(error) for name in left_out):
            return [sql_fault(sql_file, error)]
        rows = [(name, *kinds) for name, kinds in contract.columns.items() if name in lines]
    return _column_faults(sql_file, contract, {name: kind for name, kind, *_ in rows})


def _unseen_faults(sql_file: SqlFile, contract: Contract, values: Mapping[str, Any] | None) -> list[Fault]:
    """The tables and values that are not for it, read off its text."""
    return foreign_tables(sql_file, contract.tables) + _value_faults(sql_file, values or {})


def _column_faults(sql_file: SqlFile, contract: Contract, types: Mapping[str, str]) -> list[Fault]:
    """What is wrong with its columns, which have these types."""
    faults, lines, wanted = [], _column_lines(sql_file), contract.columns
    missing, extra = sorted(set(wanted) - set(types)), sorted(set(types) - set(wanted))
    listed = [("no column", missing), ("a column", extra)]
    words = "; ".join(f"{what} {', '.join(names)}" for what, names in listed if names)
    if not words and contract.in_order and list(types) != list(wanted):
        words = f"the columns in the order {', '.join(types)}"
    if words:
        allowed = f"{contract.because}the columns {', '.join(wanted)}"
        faults.append(Fault(sql_file.at_columns, words, allowed, contract.mend))
    for name, kinds in wanted.items():
        if name in types and types[name] not in kinds:
            mend = f"correct {name}, or cast it"
            where = sql_file.at(lines[name]) if name in lines else sql_file.at_columns
            faults.append(Fault(where, f"{name} is {types[name]}", " or ".join(kinds), mend))
    return faults


def _column_lines(sql_file: SqlFile) -> dict[str, int]:
    """The line of each column that the file's SELECT names; nothing where it takes all there are, or is several."""
    lines: dict[str, int] = {}
    for column in parse_tree.tree(sql_file.sql).get("select_list", ()):
        if column.get("class") == "STAR":
            return {}
        byte = int(column["query_location"]) if "query_location" in column else parse_tree.place(column)
        name = column.get("alias") or (column.get("column_names") or [""])[-1]
        lines[name] = sql_file.sql.encode()[:byte].count(b"\n") + 1
    return lines


def _value_faults(sql_file: SqlFile, values: Mapping[str, Any]) -> list[Fault]:
    """A fault unless the file asks for the values that are given to it."""
    asked = _parameters(sql_file.sql)
    words = [f"it asks for ${name}" for name in sorted(asked - values.keys())]
    words += [f"it does not ask for ${name}" for name in sorted(values.keys() - asked)]
    allowed = f"the values {', '.join(f'${name}' for name in values)}" if values else "no values"
    return [Fault(sql_file.at_columns, "; ".join(words), allowed, "use those in the SELECT")] if words else []


@functools.cache
def _parameters(sql: str) -> frozenset[str]:
    """The names behind its $ signs."""
    return frozenset(duckdb.extract_statements(sql)[0].named_parameters)


def selected(
    con: duckdb.DuckDBPyConnection, sql_file: SqlFile, contract: Contract, values: Mapping[str, Any] | None = None
) -> duckdb.DuckDBPyConnection:
    """The rows of the file, once it holds to its contract. Raises Refused.

    What it gives is known when it has run: to ask before takes as long again, which is most of the time of a small one.
    """
    faults = _unseen_faults(sql_file, contract, values)
    if not faults:
        try:
            rows = con.execute(sql_file.sql, values)
        except duckdb.Error as error:
            raise Refused(faults_of(con, sql_file, contract, values) or sql_fault(sql_file, error)) from error
        faults = _column_faults(sql_file, contract, {name: str(kind) for name, kind, *_ in rows.description})
    if faults:
        raise Refused(faults)
    return rows


def build_held(
    con: duckdb.DuckDBPyConnection, name: str, sql_file: SqlFile, contract: Contract, rules: Sequence[Rule] = ()
) -> list[Fault]:
    """Make the temporary table of that name, as `build`; what of the file, or of its rows, breaks its contract."""
    faults = _unseen_faults(sql_file, contract, None)
    if faults:
        return faults
    try:
        build(con, name, sql_file)
    except Refused as refused:
        return faults_of(con, sql_file, contract) or list(refused.faults)
    rows = con.execute(f"SELECT * FROM {name} LIMIT 1")
    faults = _column_faults(sql_file, contract, {column: str(kind) for column, kind, *_ in rows.description})
    if faults or not rules or not rows.fetchall():
        return faults  # no row breaks a rule, and to ask takes time
    return broken_rules(con, name, sql_file, rules)


def build(
    con: duckdb.DuckDBPyConnection,
    name: str,
    sql_file: SqlFile,
    values: Mapping[str, Any] | None = None,
    kind: str = "TABLE",
) -> None:
    """Make the temporary table (or VIEW) of that name from what the file selects. Raises Refused."""
    try:
        con.execute(f"CREATE OR REPLACE TEMP {kind} {name} AS {sql_file.sql}", values)
    except duckdb.Error as error:
        raise Refused(sql_fault(sql_file, error)) from error


def repeats(con: duckdb.DuckDBPyConnection, files: Iterable[SqlFile]) -> list[Fault]:
    """A fault for each table built of files whose rows the columns of its key `unique` do not tell apart."""
    told = [(file, file.keys["unique"]) for file in files if "unique" in file.keys]
    counts = [
        f"SELECT {place}, count(*) - count(DISTINCT ({columns})) FROM {file.own_name}"
        for place, (file, columns) in enumerate(told)
    ]
    try:
        more = con.execute(f"{' UNION ALL '.join(counts)} ORDER BY 1").fetchall() if counts else []
    except duckdb.Error:
        allowed, mend = "columns of its SELECT, with commas between", "correct the key"
        return [
            Fault(file.at("unique"), f"unique: {columns}", allowed, mend)
            for (file, columns), count in zip(told, counts, strict=True)
            if not _runs(con, count)
        ]
    return [
        Fault(
            told[place][0].at_columns,
            f"{rows} rows more than there are different {told[place][1]}",
            f"one row for each {told[place][1]}, as the key unique says",
            "look at the joins of the file",
        )
        for place, rows in more
        if rows
    ]


def _runs(con: duckdb.DuckDBPyConnection, query: str) -> bool:
    try:
        con.execute(query)
    except duckdb.Error:
        return False
    return True


def broken_rules(con: duckdb.DuckDBPyConnection, name: str, sql_file: SqlFile, rules: Sequence[Rule]) -> list[Fault]:
    """A fault for each rule that rows of the table made of the file break. Nothing a row holds is printed."""
    (numbers,) = con.execute(f"SELECT {', '.join(count for _, count, _ in rules)} FROM {name}").fetchall()
    mend = "look at the columns, the joins and the WHERE of the file"
    return [
        Fault(sql_file.at_columns, f"{number} {what}", allowed, mend)
        for number, (what, _, allowed) in zip(numbers, rules, strict=True)
        if number
    ]
