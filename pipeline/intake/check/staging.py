"""An Export in, staged tables out: every row read by the layout, and judged by every rule.

Goes out, on the connection: staged_<table> (typed rows), set_aside (every finding), cut_off, and what writing the
rows leaves. A bad row or value is listed, and what reads the staged tables leaves it out.

Here declared expressions are joined into SQL: column names and readers come from the layout, values are parameters.
"""

from __future__ import annotations

from collections.abc import Iterator

import duckdb

from pipeline.contracts import check_files, layout
from pipeline.contracts.layout import CODE, DATE, INTEGER, TEXT, YES_NO, Column, Table
from pipeline.intake.check import column_rules, row_rules
from pipeline.intake.map.export import Export
from pipeline.intake.map.field_sql import text_at, trimmed_records
from pipeline.intake.map.written_rows import write_rows
from pipeline.progress import STAGES, Progress

_READER = {TEXT: "read_text", CODE: "read_text", INTEGER: "read_integer", DATE: "read_date", YES_NO: "read_yes_no"}
_MEND_VALUE = "correct it in the record, or how the export writes it"
# One row a finding. `said_as` is what the sheet calls the column; row_id is NULL where a line gave no row.
SET_ASIDE = """
    CREATE TEMP TABLE set_aside (
        sheet INTEGER,
        table_name VARCHAR,
        row_id BIGINT,
        line BIGINT,
        last_line BIGINT,
        column_name VARCHAR,
        said_as VARCHAR,
        kind VARCHAR,
        found VARCHAR,
        allowed VARCHAR,
        mend VARCHAR,
        case_ref VARCHAR
    )
"""


def stage(con: duckdb.DuckDBPyConnection, export: Export, watch: Progress) -> None:
    """Stage an export on a working connection that knows sql/macros.sql."""
    con.execute("CREATE TEMP TABLE cut_off AS SELECT CAST($1 AS DATE) AS extracted_on", [export.cut_off])
    con.execute(SET_ASIDE)
    rows = sum(sheet.records.num_rows for sheet in export.sheets)
    write_rows(con, export, watch)
    watch.stage("checking single columns")
    refused = judge_columns(con)
    watch.done(rows / STAGES)
    for table in layout.tables():
        _read(con, table, {column: values for (name, column), values in refused.items() if name == table.name})
    _name_rows_and_dates(con)
    watch.stage("checking columns, rows and tables against each other")
    row_rules.run(con, check_files.checks())
    watch.done(rows / STAGES)
    _name_findings(con)
    if not export.in_layout:
        _quote_as_written(con, export)


def _columns_with_rules() -> Iterator[tuple[str, Column]]:
    for table in layout.tables():
        for column in table.columns:
            if column_rules.has_rule(column):
                yield table.name, column


def judge_columns(con: duckdb.DuckDBPyConnection) -> dict[tuple[str, str], set[str]]:
    """The values the single-column rules refuse; the lines that hold them go to set_aside."""
    columns = {(table, column.name): column for table, column in _columns_with_rules()}
    distinct = {}
    for (table, name), column in columns.items():
        written = f"coalesce({name}, '')" if column.must else name
        query = f"SELECT DISTINCT {written} AS value FROM written_{table} WHERE value IS NOT NULL ORDER BY value"
        distinct[table, name] = [value for (value,) in con.execute(query).fetchall()]
    refused = column_rules.refused_values(distinct, columns)
    for (table, name), values in refused.items():
        must = columns[table, name].must
        # What the mapping could not translate is listed already, and stands here as nothing written.
        con.execute(
            "INSERT INTO set_aside BY NAME SELECT $table AS table_name, row_id, line, last_line, "
            f"$column AS column_name, $kind AS kind, coalesce({name}, '(nothing)') AS found, "
            f"$allowed AS allowed, $mend AS mend FROM written_{table} "
            f"WHERE list_contains($values, coalesce({name}, '')) AND NOT EXISTS ("
            "SELECT 1 FROM set_aside AS s WHERE s.table_name = $table AND s.column_name = $column AND s.row_id = "
            f"written_{table}.row_id)",
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
        f"CREATE TEMP TABLE typed_{table.name} AS SELECT row_id, sheet_table, line, last_line, "
        f"{', '.join(columns)} FROM written_{table.name} ORDER BY row_id",
        {name: sorted(values) for name, values in refused.items()},
    )
    con.execute(f"DROP TABLE written_{table.name}")
    whole = ", ".join(f"CAST({column.name} AS VARCHAR)" for column in table.columns)
    con.execute(f"CREATE TEMP VIEW staged_{table.name} AS SELECT *, [{whole}] AS whole_row FROM typed_{table.name}")


def _name_rows_and_dates(con: duckdb.DuckDBPyConnection) -> None:
    """staged_rows and staged_dates: every row, and every date, of every table, for the checks that are about all."""
    rows = [
        f"SELECT '{table.name}' AS table_name, row_id, sheet_table, line, last_line, case_ref FROM staged_{table.name}"
        for table in layout.tables()
    ]
    dates = [
        f"SELECT '{table.name}' AS table_name, '{column.name}' AS column_name, row_id, case_ref, {column.name} AS day "
        f"FROM staged_{table.name} WHERE {column.name} IS NOT NULL"
        for table in layout.tables()
        for column in table.columns
        if column.kind == DATE
    ]
    con.execute("CREATE TEMP VIEW staged_rows AS " + " UNION ALL ".join(rows))
    con.execute("CREATE TEMP VIEW staged_dates AS " + " UNION ALL ".join(dates))


def _name_findings(con: duckdb.DuckDBPyConnection) -> None:
    """Say of each finding in which sheet it stands, what that sheet calls the column, and whose row it is."""
    con.execute(
        "UPDATE set_aside AS f SET sheet = d.sheet, case_ref = r.case_ref FROM staged_rows AS r JOIN sheet_tables AS d "
        "USING (sheet_table) WHERE r.table_name = f.table_name AND r.row_id = f.row_id"
    )
    con.execute(
        "UPDATE set_aside AS f SET said_as = c.said_as FROM staged_rows AS r "
        "JOIN sheet_table_columns AS c USING (sheet_table) WHERE r.table_name = f.table_name "
        "AND r.row_id = f.row_id AND c.column_name = f.column_name"
    )
    con.execute("UPDATE set_aside SET said_as = column_name WHERE said_as IS NULL")
    con.execute("UPDATE set_aside SET case_ref = '' WHERE case_ref IS NULL")


def _quote_as_written(con: duckdb.DuckDBPyConnection, export: Export) -> None:
    """Where a date was translated, say first what stands in the sheet, so that it can be found there."""
    for sheet_table in export.sheet_tables:
        con.register("records", trimmed_records(sheet_table.sheet))
        for name, origin in sheet_table.rows.columns.items():
            if origin.column is not None and origin.dates:
                text = text_at(sheet_table, origin.column)
                con.execute(
                    f"UPDATE set_aside AS f SET found = {text} || ': ' || found "
                    "FROM staged_rows AS r JOIN records AS w USING (line) WHERE r.table_name = f.table_name "
                    f"AND r.row_id = f.row_id AND r.sheet_table = $sheet_table "
                    f"AND f.column_name = $column AND found <> {text}",
                    {"sheet_table": sheet_table.number, "column": name},
                )
        con.unregister("records")
