"""An Export in, staged tables out: every record split, read by the layout, and judged by every rule.

Goes out, on the connection: staged_<table> (typed rows), set_aside (every finding), cut_off, staged_files.
Refuses nothing itself: a bad row or value is listed, and what reads the staged tables leaves it out.

Here declared expressions are joined into SQL: column names and readers come from the layout, values are parameters.
"""

from __future__ import annotations

from collections.abc import Iterator

import duckdb

from pipeline import layout
from pipeline.intake import checks, expectations
from pipeline.intake.export import Export, TableFile
from pipeline.layout import CODE, DATE, INTEGER, TEXT, YES_NO, Column, Table

_READER = {TEXT: "read_text", CODE: "read_text", INTEGER: "read_integer", DATE: "read_date", YES_NO: "read_yes_no"}
# Every white space of Unicode, as str.strip and Arrow trim it too.
_SPACE = "".join(chr(code) for code in range(0x3001) if chr(code).isspace())
_MEND_VALUE = "correct it in the record, or how the export writes it"
_MEND_LINE = "mend the line in the file, or export it again as “CSV UTF-8”"


def stage(con: duckdb.DuckDBPyConnection, export: Export) -> None:
    """Stage an export on a working connection that knows sql/macros.sql."""
    con.execute("CREATE TEMP TABLE cut_off AS SELECT CAST($1 AS DATE) AS extracted_on", [export.cut_off])
    con.execute("CREATE TEMP TABLE staged_files (table_name VARCHAR, file VARCHAR, width INTEGER)")
    con.execute(
        "CREATE TEMP TABLE set_aside (table_name VARCHAR, line BIGINT, last_line BIGINT, column_name VARCHAR, "
        "kind VARCHAR, found VARCHAR, allowed VARCHAR, mend VARCHAR)"
    )
    for file in export.files:
        con.execute("INSERT INTO staged_files VALUES ($1, $2, $3)", [file.table.name, file.name, len(file.csv.header)])
    files = {file.table.name: file for file in export.files}
    for table in layout.tables():
        if table.name in files:
            _split(con, files[table.name])
        else:
            _leave_empty(con, table)
    refused = judge_columns(con)
    for table in layout.tables():
        _read(con, table, {column: values for (name, column), values in refused.items() if name == table.name})
    _name_rows_and_dates(con)
    checks.run(con)


def _split(con: duckdb.DuckDBPyConnection, file: TableFile) -> None:
    """written_<table>: the text of each layout column, NULL for nothing; malformed lines go to set_aside."""
    name, width = file.table.name, len(file.csv.header)
    con.register("plain", file.csv.plain)
    con.register("quoted", file.csv.quoted)
    con.execute(
        "CREATE OR REPLACE TEMP TABLE split AS "
        "SELECT line, last_line, string_split(text, ',') AS fields FROM plain "
        "UNION ALL SELECT line, last_line, fields FROM quoted"
    )
    con.unregister("plain")
    con.unregister("quoted")
    con.execute(
        "INSERT INTO set_aside SELECT $table, line, last_line, '', 'row', len(fields) || ' fields', "
        "$width || ' fields, as many as the header', $mend FROM split WHERE len(fields) <> $width",
        {"table": name, "width": width, "mend": _MEND_LINE},
    )
    for damage in file.csv.damaged:
        con.execute(
            "INSERT INTO set_aside VALUES ($table, $line, $last_line, '', 'row', $found, $allowed, $mend)",
            {"table": name, "mend": _MEND_LINE, **damage.__dict__},
        )
    columns = ", ".join(_written(column, file.csv.header) for column in file.table.columns)
    con.execute(
        f"CREATE TEMP TABLE written_{name} AS SELECT line, last_line, {columns} FROM split WHERE len(fields) = $width",
        {"width": width, "space": _SPACE},
    )


def _leave_empty(con: duckdb.DuckDBPyConnection, table: Table) -> None:
    columns = ", ".join(f"'' AS {column.name}" for column in table.columns)
    con.execute(f"CREATE TEMP TABLE written_{table.name} AS SELECT 0 AS line, 0 AS last_line, {columns} LIMIT 0")


def _written(column: Column, header: tuple[str, ...]) -> str:
    if column.name not in header:
        return f"CAST(NULL AS VARCHAR) AS {column.name}"
    text = f"nullif(trim(fields[{header.index(column.name) + 1}], $space), '')"
    # Nothing, or not_known, always means not recorded; a must-column says what it says.
    return f"{text} AS {column.name}" if column.must else f"nullif({text}, 'not_known') AS {column.name}"


def _columns_with_rules() -> Iterator[tuple[str, Column]]:
    for table in layout.tables():
        for column in table.columns:
            if expectations.has_rule(column):
                yield table.name, column


def judge_columns(con: duckdb.DuckDBPyConnection) -> dict[tuple[str, str], set[str]]:
    """The values the single-column rules refuse; the lines that hold them go to set_aside."""
    columns = {(table, column.name): column for table, column in _columns_with_rules()}
    distinct = {}
    for (table, name), column in columns.items():
        written = f"coalesce({name}, '')" if column.must else name
        query = f"SELECT DISTINCT {written} AS value FROM written_{table} WHERE value IS NOT NULL ORDER BY value"
        distinct[table, name] = [value for (value,) in con.execute(query).fetchall()]
    refused = expectations.refused_values(distinct, columns)
    for (table, name), values in refused.items():
        must = columns[table, name].must
        con.execute(
            f"INSERT INTO set_aside SELECT $table, line, last_line, $column, $kind, coalesce({name}, '(nothing)'), "
            f"$allowed, $mend FROM written_{table} WHERE list_contains($values, coalesce({name}, ''))",
            {
                "table": table,
                "column": name,
                "kind": "row" if must else "value",
                "allowed": columns[table, name].allowed,
                "mend": _MEND_VALUE + ("" if must else "; until then it counts as not recorded"),
                "values": sorted(values),
            },
        )
    return refused


def _read(con: duckdb.DuckDBPyConnection, table: Table, refused: dict[str, set[str]]) -> None:
    """typed_<table>, where what a rule refused is NULL; staged_<table> adds whole_row, by which equal rows are told."""
    columns = []
    for column in table.columns:
        text = column.name
        if text in refused:
            text = f"CASE WHEN NOT list_contains(${text}, {text}) THEN {text} END"
        columns.append(f"{_READER[column.kind]}({text}) AS {column.name}")
    con.execute(
        f"CREATE TEMP TABLE typed_{table.name} AS SELECT line, last_line, {', '.join(columns)} "
        f"FROM written_{table.name} ORDER BY line",
        {name: sorted(values) for name, values in refused.items()},
    )
    con.execute(f"DROP TABLE written_{table.name}")
    whole = ", ".join(f"CAST({column.name} AS VARCHAR)" for column in table.columns)
    con.execute(f"CREATE TEMP VIEW staged_{table.name} AS SELECT *, [{whole}] AS whole_row FROM typed_{table.name}")


def _name_rows_and_dates(con: duckdb.DuckDBPyConnection) -> None:
    """staged_rows and staged_dates: every row, and every date, of every table, for the checks that are about all."""
    rows = [
        f"SELECT '{table.name}' AS table_name, line, last_line, case_ref FROM staged_{table.name}"
        for table in layout.tables()
    ]
    dates = [
        f"SELECT '{table.name}' AS table_name, '{column.name}' AS column_name, line, case_ref, {column.name} AS day "
        f"FROM staged_{table.name} WHERE {column.name} IS NOT NULL"
        for table in layout.tables()
        for column in table.columns
        if column.kind == DATE
    ]
    con.execute("CREATE TEMP VIEW staged_rows AS " + " UNION ALL ".join(rows))
    con.execute("CREATE TEMP VIEW staged_dates AS " + " UNION ALL ".join(dates))
