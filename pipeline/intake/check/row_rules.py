"""The rules about two columns, rows or tables: one file each in sql/checks, which selects the rows that break it.

Comes in: staged tables and the checks. Goes out: findings in set_aside, and values that a rule refused emptied in the
staged rows. Refuses, all faults of all files at once, with file and line: a check that breaks its contract, which
pipeline/contracts/check_files.py states, in rules that are joined into one query.
"""

from __future__ import annotations

from collections.abc import Sequence

import duckdb

from pipeline.contracts.check_files import VALUE, Check, build_broken, columns_of
from pipeline.contracts.sql_contract import Rule, broken_rules
from pipeline.errors import Fault, Refused
from pipeline.intake import statements
from pipeline.intake.check import column_sql

_RULES: tuple[Rule, ...] = (
    (
        "rows with a table_name and column_name that it may not be about",
        "(SELECT count(*) FROM broken ANTI JOIN may_be_about USING (table_name, column_name))",
        "a table of the layout and one of its columns, for kind value one that may be empty",
    ),
    (
        "rows with a row_id that no row of the table has",
        "(SELECT count(*) FROM broken ANTI JOIN staged_rows USING (table_name, row_id))",
        "the row_id of a staged row of that table",
    ),
    (
        "rows and columns that it selects more than once",
        "count(*) - count(DISTINCT (table_name, column_name, row_id))",
        "each row and column once",
    ),
    ("rows in which found is NULL", "count(*) - count(found)", "what was found, in words"),
)


def run(con: duckdb.DuckDBPyConnection, checks: Sequence[Check]) -> None:
    """Run every check on the staged tables. Raises Refused."""
    statements.make_view(con, "usable_cases")
    statements.make_view(con, "usable_procedures")
    faults = [fault for check in checks for fault in _run(con, check)]
    if faults:
        raise Refused(faults)


def _run(con: duckdb.DuckDBPyConnection, check: Check) -> list[Fault]:
    faults = build_broken(con, check)
    if faults:
        return faults
    if not con.execute("SELECT 1 FROM broken LIMIT 1").fetchall():
        return []  # nobody breaks it, and all that follows takes time
    con.execute(
        "CREATE OR REPLACE TEMP TABLE may_be_about AS SELECT unnest($1) AS table_name, unnest($2) AS column_name",
        list(zip(*columns_of(check.kind), strict=True)),
    )
    faults = broken_rules(con, "broken", check.file, _RULES)
    if faults:
        return faults
    values = {"kind": check.kind, "allowed": check.allowed, "mend": check.mend}
    statements.add(con, "set_aside", "broken_rows", values)
    if check.kind == VALUE:
        for table, column in con.execute("SELECT DISTINCT table_name, column_name FROM broken").fetchall():
            con.execute(column_sql.emptied(table, column))
    return []
