"""An Export in, staged tables out: every row read by the layout, and held to every rule.

Goes out, on the connection: staged_<table> (typed rows), set_aside (every finding), cut_off, and what writing the
rows leaves. A bad row or value is listed, and what reads the staged tables leaves it out.
"""

from __future__ import annotations

from collections.abc import Sequence

import duckdb

from pipeline.contracts import check_files, layout
from pipeline.contracts.layout import DATE, Table
from pipeline.intake import statements
from pipeline.intake.check import column_rules, column_sql, quoted_texts, row_rules
from pipeline.intake.map.export import Export
from pipeline.intake.map.field_sql import trimmed_records
from pipeline.intake.map.written_rows import write_rows
from pipeline.progress import STAGES, Progress
from pipeline.store import Remark

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


def stage(con: duckdb.DuckDBPyConnection, export: Export, watch: Progress) -> tuple[Remark, ...]:
    """Stage an export on a working connection that knows sql/macros.sql; what was left out in reading."""
    con.execute("CREATE TEMP TABLE cut_off AS SELECT CAST($1 AS DATE) AS extracted_on", [export.cut_off])
    con.execute(SET_ASIDE)
    rows = sum(sheet.records.num_rows for sheet in export.sheets)
    remarks = write_rows(con, export, watch)
    watch.stage("checking single columns")
    filled = with_rows(con)
    refused = check_columns(con, filled)
    watch.done(rows / STAGES)
    for table in layout.tables():
        if table in filled:
            of_table = {column: sorted(texts) for (name, column), texts in refused.items() if name == table.name}
            con.execute(column_sql.typed_rows(table, of_table), of_table)
            con.execute(f"DROP TABLE written_{table.name}")
        else:
            con.execute(column_sql.no_rows(table))
        con.execute(column_sql.staged_rows(table))
    con.execute(column_sql.every_row(filled))
    con.execute(column_sql.every_date(filled))
    watch.stage("checking columns, rows and tables against each other")
    row_rules.run(con, check_files.checks())
    watch.done(rows / STAGES)
    _list_dates_as_written(con, export)
    statements.make_table(con, "set_aside")
    quoted_texts.make_fit(con)
    return remarks


def with_rows(con: duckdb.DuckDBPyConnection) -> tuple[Table, ...]:
    """The tables of which rows were written, and cases: what reads all rows is planned for no others."""
    return tuple(
        table
        for table in layout.tables()
        if table.name == "cases" or con.execute(column_sql.any_row(f"written_{table.name}")).fetchall()
    )


def check_columns(con: duckdb.DuckDBPyConnection, tables: Sequence[Table]) -> dict[tuple[str, str], set[str]]:
    """The texts the single-column rules refuse, by table and column; the rows that hold them go to set_aside."""
    columns = {
        (table.name, column.name): column
        for table in tables
        for column in table.columns
        if column_rules.has_rule(column)
    }
    distinct = {
        (table, name): [text for (text,) in con.execute(column_sql.distinct_texts(table, column)).fetchall()]
        for (table, name), column in columns.items()
    }
    refused = column_rules.refused_values(distinct, columns)
    for (table, name), texts in refused.items():
        column = columns[table, name]
        values = {
            "kind": "row" if column.must else "value",
            "allowed": column.allowed,
            "mend": _MEND_VALUE + ("" if column.must else "; until then it counts as not recorded"),
            "texts": sorted(texts),
        }
        con.execute(column_sql.refused_texts(table, column), values)
    return refused


def _list_dates_as_written(con: duckdb.DuckDBPyConnection, export: Export) -> None:
    """dates_as_written: what stands in the sheet where a date that the mapping translated was set aside."""
    con.execute(
        "CREATE TEMP TABLE dates_as_written (table_name VARCHAR, row_id BIGINT, column_name VARCHAR, written VARCHAR)"
    )
    of_columns = set(con.execute("SELECT DISTINCT table_name, column_name FROM set_aside").fetchall())
    for sheet_table in () if export.in_layout else export.sheet_tables:
        table = sheet_table.table
        dates = [column.name for column in table.columns if column.kind == DATE and column.name in sheet_table.headers]
        dates = [name for name in dates if (table.name, name) in of_columns]
        if dates:
            con.register("records", trimmed_records(sheet_table.sheet))
        for name in dates:
            place = sheet_table.place(sheet_table.headers[name])
            values = {"sheet_table": sheet_table.number, "column": name, "place": place}
            statements.add(con, "dates_as_written", "dates_as_written", values)
