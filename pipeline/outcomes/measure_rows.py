"""Every measure's rows, each file held to its contract.

Comes in: the case tables, the measures and the groups apart. Goes out: the table `counted`, one row for each measure
and eligible case, referral or procedure; and how many are in each group. Refuses, all files at once, naming file and
line: what breaks the contract of the kind, a repeated grain, a row that is nobody's, an answer that cannot be.

Here the columns of a grain and of an answer are joined into SQL.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import duckdb

from pipeline.contracts import apart_files, measure_files
from pipeline.contracts.apart_files import Apart
from pipeline.contracts.grains import COUNTED, GRAINS
from pipeline.contracts.measure_files import DAYS, FOLLOWED_DAYS, REPORTED_DAY, TIME_TO_EVENT, Measure
from pipeline.contracts.numbered_files import case_tables
from pipeline.contracts.sql_contract import Contract, Rule, build_held
from pipeline.errors import Fault, Refused
from pipeline.progress import Progress
from pipeline.settings import Settings


def count_rows(
    con: duckdb.DuckDBPyConnection, measures: Sequence[Measure], settings: Settings, watch: Progress
) -> None:
    """Run every measure into `counted`. Raises Refused with the faults of all of them."""
    hold_settings(con, settings)
    con.execute(f"CREATE OR REPLACE TEMP MACRO followed_days() AS {FOLLOWED_DAYS}")
    columns = ", ".join(f"{name} {kind}" for name, kind in COUNTED.items())
    con.execute(f"CREATE OR REPLACE TEMP TABLE counted ({columns})")
    tables = case_tables()
    faults: list[Fault] = []
    watch.expect(len(measures), "measures")
    for measure in measures:
        watch.stage(f"counting {measure.name}")
        faults += _count(con, measure, measure_files.contract(measure, tables))
        watch.done(1)
    if faults:
        raise Refused(faults)


def hold_settings(con: duckdb.DuckDBPyConnection, settings: Settings) -> None:
    """The table `settings`, of one row: what the SQL files may ask the service's settings."""
    con.execute(
        "CREATE OR REPLACE TEMP TABLE settings AS SELECT CAST($1 AS INTEGER) AS seen_promptly_days, "
        "CAST($2 AS INTEGER) AS longest_wait_days",
        [settings.seen_promptly_days, settings.longest_wait_days],
    )


def count_apart(con: duckdb.DuckDBPyConnection, groups: Sequence[Apart]) -> list[tuple[str, str, str, int]]:
    """Measure, title, quarter and number of each group counted apart. Raises Refused with the faults of all of them."""
    counts: list[tuple[str, str, str, int]] = []
    faults: list[Fault] = []
    tables = case_tables()
    for group in groups:
        contract, rules = apart_files.contract(group, tables), list(_row_rules(group.grain))
        wrong = build_held(con, "measured", group.file, contract, rules)
        faults += wrong
        if not wrong:
            by_period = "SELECT period_of(index_date) AS period, count(*) FROM measured GROUP BY 1 ORDER BY 1"
            counts += [(group.measure, group.title, *row) for row in con.execute(by_period).fetchall()]
    if faults:
        raise Refused(faults)
    return counts


def _count(con: duckdb.DuckDBPyConnection, measure: Measure, contract: Contract) -> list[Fault]:
    rules = [*_row_rules(measure.grain), *_answer_rules(measure.kind)]
    faults = build_held(con, "measured", measure.file, contract, rules)
    if not faults:
        listed = ", ".join(contract.columns)
        unit = f"'{measure.grain} ' || {GRAINS[measure.grain].id_column}"
        met = f", met_by({REPORTED_DAY}, event, days) AS met" if measure.kind == TIME_TO_EVENT else ""
        rows = f"SELECT $1 AS measure, {unit} AS unit, {listed}{met} FROM measured"
        con.execute(f"INSERT INTO counted BY NAME {rows}", [measure.name])
    return faults


def _row_rules(grain: str) -> Iterator[Rule]:
    """Rows that break the grain or belong to nobody."""
    own_id, table = GRAINS[grain].id_column, GRAINS[grain].table
    yield (
        f"rows whose {own_id} an earlier row has",
        f"count({own_id}) - count(DISTINCT {own_id})",
        f"one row for each {grain}",
    )
    yield (
        f"rows whose case_ref and {own_id} are not those of one {grain}",
        f"(SELECT count(*) FROM measured ANTI JOIN {table} USING ({', '.join(sorted({'case_ref', own_id}))}))",
        f"rows of {table}",
    )
    yield "rows without an index_date", "count(*) - count(index_date)", "a date in every row"


def _answer_rules(kind: str) -> Iterator[Rule]:
    """Rows that answer what cannot be asked."""
    if "days" in measure_files.answer_columns(kind):
        yield "rows whose days are below 0", "count_if(days < 0)", "days from 0 up"
    if kind == DAYS:
        yield "rows without days", "count(*) - count(days)", "a number in every row: who has none has no row"
    if kind == TIME_TO_EVENT:
        yield (
            "rows whose event is none of 0, 1, 2, or an event without days",
            "count_if(event IS NULL OR event NOT IN (0, 1, 2) OR (event > 0 AND days IS NULL))",
            "0 for none, 1 for the event, 2 for the competing event",
        )
