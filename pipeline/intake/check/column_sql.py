"""The SQL over every table of the layout and its columns, joined from their names, never from values.

Comes in: a table of the layout, or the prefix of tables that are named after those. Goes out: statements for checking,
for accounting and for the batch gate; values are parameters.

This is one of the two modules of the intake in which declared expressions are joined; map/field_sql.py is the other.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence

from pipeline.contracts import layout
from pipeline.contracts.layout import CODE, DATE, INTEGER, TEXT, YES_NO, Column, Table

_READER = {TEXT: "read_text", CODE: "read_text", INTEGER: "read_integer", DATE: "read_date", YES_NO: "read_yes_no"}
_FEW_VALUES = 30  # of an integer column, so that one of them can stand out: a score, not a weight


def any_row(table: str, which: str = "") -> str:
    """One row if the table has any: most exports leave tables empty, and asking about every column takes time."""
    return f"SELECT 1 FROM {table} {which} LIMIT 1"


def distinct_texts(table: str, column: Column) -> str:
    """The distinct texts of a column; of one that must be there also '' for nothing."""
    text = f"coalesce({column.name}, '')" if column.must else column.name
    return f"SELECT DISTINCT {text} AS text FROM written_{table} WHERE text IS NOT NULL ORDER BY text"


def refused_texts(table: str, column: Column) -> str:
    """The rows whose text a rule refused, for set_aside. What the mapping could not translate is listed already."""
    return (
        f"INSERT INTO set_aside BY NAME SELECT '{table}' AS table_name, row_id, line, last_line, "
        f"'{column.name}' AS column_name, $kind AS kind, coalesce({column.name}, '(nothing)') AS found, "
        f"$allowed AS allowed, $mend AS mend FROM written_{table} AS w "
        f"WHERE list_contains($texts, coalesce({column.name}, '')) AND NOT EXISTS (SELECT 1 FROM set_aside AS s "
        f"WHERE s.table_name = '{table}' AND s.column_name = '{column.name}' AND s.row_id = w.row_id)"
    )


def typed_rows(table: Table, refused: Collection[str]) -> str:
    """Makes typed_<table>, where what a rule refused is NULL: a parameter of the column's name holds those texts."""
    columns = []
    for column in table.columns:
        text = column.name
        if text in refused:
            text = f"CASE WHEN NOT list_contains(${text}, {text}) THEN {text} END"
        columns.append(f"{_READER[column.kind]}({text}) AS {column.name}")
    return (
        f"CREATE TEMP TABLE typed_{table.name} AS SELECT row_id, sheet_table, line, last_line, {', '.join(columns)} "
        f"FROM written_{table.name} ORDER BY row_id"
    )


def no_rows(table: Table) -> str:
    """Makes typed_<table> of a table that the export gives no row of."""
    columns = ", ".join(f"{column.name} {column.stored_as}" for column in table.columns)
    return (
        f"CREATE TEMP TABLE typed_{table.name} "
        f"(row_id BIGINT, sheet_table INTEGER, line BIGINT, last_line BIGINT, {columns})"
    )


def staged_rows(table: Table) -> str:
    """Makes staged_<table>: the typed rows, and whole_row, by which equal rows are told."""
    whole = ", ".join(f"CAST({column.name} AS VARCHAR)" for column in table.columns)
    return f"CREATE TEMP VIEW staged_{table.name} AS SELECT *, [{whole}] AS whole_row FROM typed_{table.name}"


def every_row(tables: Sequence[Table]) -> str:
    """Makes staged_rows: the rows of those tables, one or more."""
    return "CREATE TEMP VIEW staged_rows AS " + " UNION ALL ".join(
        f"SELECT '{table.name}' AS table_name, row_id, sheet_table, line, last_line, case_ref, whole_row "
        f"FROM staged_{table.name}"
        for table in tables
    )


def every_date(tables: Sequence[Table]) -> str:
    """Makes staged_dates: the dates of those tables, one row each; one or more has dates."""
    return "CREATE TEMP VIEW staged_dates AS " + " UNION ALL ".join(
        f"SELECT '{table.name}' AS table_name, '{column.name}' AS column_name, row_id, case_ref, {column.name} AS day "
        f"FROM staged_{table.name} WHERE {column.name} IS NOT NULL"
        for table in tables
        for column in table.columns
        if column.kind == DATE
    )


def emptied(table: str, column: str) -> str:
    """Empties the values of a column that a check found."""
    return (
        f"UPDATE typed_{table} SET {column} = NULL WHERE row_id IN "
        f"(SELECT row_id FROM broken WHERE table_name = '{table}' AND column_name = '{column}')"
    )


def accepted_rows(table: str) -> str:
    """Makes accepted_<table>: its rows that count, each with its file."""
    return (
        f"CREATE TEMP TABLE accepted_{table} AS SELECT s.*, k.file FROM staged_{table} AS s "
        f"JOIN kept_rows AS k USING (row_id) WHERE k.table_name = '{table}' AND k.fate = 'accepted'"
    )


def no_accepted_rows(table: str) -> str:
    """Makes accepted_<table> of a table without a staged row."""
    return f"CREATE TEMP VIEW accepted_{table} AS SELECT *, CAST(NULL AS VARCHAR) AS file FROM staged_{table}"


def column_totals(table: Table, prefix: str, which: str) -> str:
    """One row: how many rows; how many hold an answer, of each column."""
    recorded = ", ".join(f"count({_recorded(column)})" for column in table.columns)
    return f"SELECT count(*), [{recorded}] FROM {prefix}{table.name} {which}"


def few_answers(table: Table, prefix: str, which: str) -> str:
    """One row a column that has few answers and answer: how many rows hold it."""
    few = [column for column in table.columns if has_few_answers(column)]
    names, texts = ", ".join(f"'{column.name}'" for column in few), ", ".join(map(_recorded, few))
    cells = f"SELECT unnest([{names}]) AS name, unnest([{texts}]) AS answer FROM {prefix}{table.name} {which}"
    return f"SELECT name, answer, count(*) FROM ({cells}) WHERE answer IS NOT NULL GROUP BY ALL ORDER BY ALL"


def findings_by_column(findings: str, which: str) -> str:
    """One row a table and column: how often something was set aside because of it."""
    return f"SELECT table_name, column_name, count(*) FROM {findings} {which} GROUP BY table_name, column_name"


def has_few_answers(column: Column) -> bool:
    """Whether the answers of a column are few enough to be counted one by one."""
    if column.kind != INTEGER:
        return column.kind in (CODE, YES_NO)
    return column.minimum is not None and column.maximum is not None and column.maximum - column.minimum < _FEW_VALUES


def case_numbers(prefix: str, which: str) -> str:
    """One row a case: case_ref, and told_by, a number that another row or value in any table would change."""
    rows = " UNION ALL ".join(
        f"SELECT case_ref, hash('{table.name}', {', '.join(column.name for column in table.columns)}) AS number "
        f"FROM {prefix}{table.name} {which}"
        for table in layout.tables()
    )
    return f"SELECT case_ref, sum(CAST(number AS HUGEINT)) AS told_by FROM ({rows}) GROUP BY case_ref"


def _recorded(column: Column) -> str:
    """The recorded answer as an export writes it, NULL for none."""
    if column.kind == YES_NO:
        return f"CASE WHEN {column.name} THEN 'yes' WHEN NOT {column.name} THEN 'no' END"
    return f"recorded(CAST({column.name} AS VARCHAR))"
