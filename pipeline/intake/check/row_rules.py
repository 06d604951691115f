"""The rules about two columns, rows or tables: one file each in sql/checks, which selects the rows that break it.

Comes in: staged tables. Goes out: findings in set_aside, and values that a rule refused emptied in the staged rows.
The number at the head of a file's name is its order: values first, then rows, then what rests on the rows left.
"""

from __future__ import annotations

import duckdb

from pipeline.contracts.places import SQL
from pipeline.contracts.sql_file import SqlFile, read_sql_file, sql_fault
from pipeline.errors import Fault, Refused

VALUE, ROW = "value", "row"
MUST = ("kind", "allowed", "mend")
_FOLLOWS = "30_case_was_not_set_aside"


def check_files() -> list[SqlFile]:
    """Every check, in the order in which they run. Raises Refused naming file and line."""
    files = [read_sql_file(path, MUST) for path in sorted((SQL / "checks").glob("*.sql"))]
    wrong = [file for file in files if file.keys["kind"] not in (VALUE, ROW)]
    if wrong:
        raise Refused(
            [Fault(each.at("kind"), each.keys["kind"], f"{VALUE} or {ROW}", "say what is set aside") for each in wrong]
        )
    return files


def follows() -> str:
    """What is allowed by the rule whose findings only follow from others: rows that go with a case set aside."""
    return next(file.keys["allowed"] for file in check_files() if file.name == _FOLLOWS)


def run(con: duckdb.DuckDBPyConnection) -> None:
    """Run every check on the staged tables."""
    # Rows that no row rule has refused so far: what a case's other rows may rest on.
    for table, date in (("cases", "first_contact_date"), ("procedures", "procedure_date")):
        con.execute(
            f"CREATE TEMP VIEW usable_{table} AS SELECT DISTINCT case_ref, {date} FROM staged_{table} "
            f"WHERE row_id NOT IN (SELECT row_id FROM set_aside WHERE table_name = '{table}' AND kind = 'row' "
            "AND row_id IS NOT NULL)"
        )
    for file in check_files():
        try:
            con.execute(f"CREATE OR REPLACE TEMP TABLE broken AS {file.sql}")
        except duckdb.Error as error:
            raise Refused(sql_fault(file, error)) from error
        con.execute(
            "INSERT INTO set_aside BY NAME SELECT table_name, row_id, line, last_line, column_name, $kind AS kind, "
            "found, $allowed AS allowed, $mend AS mend FROM broken JOIN staged_rows USING (table_name, row_id)",
            file.keys,
        )
        if file.keys["kind"] == VALUE:
            for table, column in con.execute("SELECT DISTINCT table_name, column_name FROM broken").fetchall():
                con.execute(
                    f"UPDATE typed_{table} SET {column} = NULL WHERE row_id IN (SELECT row_id FROM broken "
                    "WHERE table_name = $1 AND column_name = $2)",
                    [table, column],
                )
