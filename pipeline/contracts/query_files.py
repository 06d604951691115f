"""The questions that are asked of the store and the case tables: one SQL file each, with the columns it answers in.

Comes in: the name of a file below sql, the values it asks for. Goes out: its rows. Refuses, with file and line: a file
that does not hold to its columns, or reads what is neither a case table nor one of the store's here.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import duckdb

from pipeline.contracts import layout
from pipeline.contracts.numbered_files import case_tables
from pipeline.contracts.places import SQL
from pipeline.contracts.sql_contract import DAY, TEXT, WHOLE, YES_NO, Contract, build, faults_of, selected
from pipeline.contracts.sql_file import SqlFile, read_sql_file
from pipeline.errors import Refused

# The codes of the two ends of the flow of every case, in the order in which they are shown: sql/accounts/everyone.sql
# gives every case one of each, and reports/wording.toml has words for each.
ROUTES = ("settled", "in_support", "closed", "waiting", "not_going_ahead", "divided_elsewhere", "divided")
SIX_WEEKS = ("exclusive", "partial", "none", "no_answer", "not_yet_due", "outside")

# Each file, and its columns with the types they may have, in their order.
COLUMNS: dict[str, dict[str, tuple[str, ...]]] = {
    "accounts/everyone": {"case_ref": TEXT, "index_date": DAY, "route": TEXT, "six_weeks": TEXT},
    "accounts/began": {"site": TEXT, "period": TEXT, "cases": WHOLE, "first_day": DAY},
    "accounts/first_day": {"first_day": DAY},
    "accounts/noted_in_order": {"measure": TEXT, "index_date": DAY, "met": YES_NO},
    "accounts/mix": {
        **{"measure": TEXT, "period": TEXT, "site": TEXT, "tie_type": TEXT, "age_band": TEXT},
        **{"eligible": WHOLE, "known": WHOLE, "met": WHOLE},
    },
    "accounts/loads": {"load": WHOLE, "export": TEXT, "extracted_on": DAY, "source": TEXT, "accepted_anyway": TEXT},
    "accounts/files": {"load": WHOLE, "file": TEXT, "sha256": TEXT, "lines": WHOLE},
    "accounts/flow": {"route": TEXT, "six_weeks": TEXT, "cases": WHOLE},
    "accounts/lines": {
        **{"load": WHOLE, "file": TEXT, "lines": WHOLE, "header": WHOLE, "blank": WHOLE},
        **{"accepted": WHOLE, "set_aside": WHOLE, "repeats": WHOLE, "left_out": WHOLE},
    },
    "accounts/reasons": {
        **{"load": WHOLE, "table": TEXT, "column": TEXT, "layout_column": TEXT, "kind": TEXT},
        **{"allowed": TEXT, "count": WHOLE},
    },
    "accounts/not_recorded": {"table": TEXT, "column": TEXT, "site": TEXT, "rows": WHOLE, "not_recorded": WHOLE},
    "accounts/not_followed_on": {
        **{"dropped": WHOLE, "earliest_cut_off": DAY, "set_aside": WHOLE},
        **{"set_aside_in": ("INTEGER[]",)},
    },
    "accounts/no_longer_there": {
        **{"table": TEXT, "row_id": WHOLE, "case_ref": TEXT, "load": WHOLE, "file": TEXT, "line": WHOLE},
        **{"newest": WHOLE},
    },
    "accounts/still_waiting": {
        **{"measure": TEXT, "site": TEXT, "under_14": WHOLE, "from_14": WHOLE, "from_28": WHOLE, "from_56": WHOLE},
        **{"longest": WHOLE},
    },
    "accounts/settled": {"mended": WHOLE, "again": WHOLE, "gone": WHOLE, "anew": WHOLE},
    "accounts/requests_held": {"source": TEXT, "held": YES_NO},
    "accounts/followed": {"load": WHOLE, "newest": WHOLE},
    "due": {
        **{"place": TEXT, "case_ref": TEXT, "site": TEXT, "lead_practitioner": TEXT, "first_day": DAY},
        **{"six_weeks_on": DAY, "last_day": DAY, "days_left": WHOLE, "closed_reason": TEXT, "cut_off": DAY},
        **{"why_held": TEXT},
    },
    "due_sources": {"source": TEXT, "cut_off": DAY, "closing_reasons": WHOLE},
    "practitioner/codes": {"code": TEXT},
    "practitioner/answers": {
        **{"measure": TEXT, "period": TEXT, "unit": TEXT, "practitioner": TEXT},
        **{"met": YES_NO},
    },
    "practitioner/own_divisions_made": {"in_the_year": WHOLE, "in_all": WHOLE},
    "practitioner/own_file": {"measure": TEXT, "span": TEXT, "eligible": WHOLE, "known": WHOLE, "met": WHOLE},
    "practitioner/caseload": {"first_seen": WHOLE, "divisions": WHOLE},
}
_OF_THE_STORE = {"files", "set_aside", *(table.name for table in layout.tables())}
_BESIDE = {"loads_in_force", "newest_loads", "everyone", "counted", "broken_down", "layout_rows"}


def answer(
    con: duckdb.DuckDBPyConnection, name: str, values: Mapping[str, Any] | None = None
) -> duckdb.DuckDBPyConnection:
    """The rows of one file. Raises Refused."""
    return selected(con, query_file(name), _contract(name), values)


def build_view(con: duckdb.DuckDBPyConnection, view: str, name: str) -> None:
    """The rows of one file as a temporary view. Raises Refused."""
    faults = faults_of(con, query_file(name), _contract(name))
    if faults:
        raise Refused(faults)
    build(con, view, query_file(name), kind="VIEW")


def query_file(name: str) -> SqlFile:
    """The file of that name below sql. Raises Refused."""
    return read_sql_file(SQL / f"{name}.sql")


def _contract(name: str) -> Contract:
    tables = case_tables() | _BESIDE | {f"store.{table}" for table in _OF_THE_STORE}
    return Contract(COLUMNS[name], frozenset(tables))
