"""Every measure's rows, each file held to its contract.

Comes in: the case tables and the measures. Goes out: the table `counted`, one row for each measure and eligible case,
referral or procedure. Refuses, all files at once, naming file and line: a table that is no case table, a wrong column
or type, a repeated grain, a row that is nobody's.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence

import duckdb

from pipeline.contracts import parse_tree
from pipeline.contracts.measure_files import TIME_TO_EVENT, Apart, Measure, answer_columns, id_column
from pipeline.contracts.sql_file import SqlFile, sql_fault
from pipeline.errors import Fault, Refused
from pipeline.progress import Progress
from pipeline.settings import Settings

_TYPES = {
    "case_ref": ("VARCHAR",),
    "procedure_id": ("BIGINT",),
    "referral_id": ("BIGINT",),
    "index_date": ("DATE",),
    "met": ("BOOLEAN",),
    "days": ("INTEGER", "BIGINT"),
    "event": ("INTEGER",),
}
_TABLE_FUNCTIONS = ("unnest", "range", "generate_series")


def count_rows(
    con: duckdb.DuckDBPyConnection,
    measures: Sequence[Measure],
    case_tables: Collection[str],
    settings: Settings,
    watch: Progress,
) -> None:
    """Run every measure into `counted`. Raises Refused with the faults of all of them."""
    con.execute(
        "CREATE OR REPLACE TEMP TABLE settings AS SELECT CAST($1 AS INTEGER) AS seen_promptly_days",
        [settings.seen_promptly_days],
    )
    con.execute(
        "CREATE OR REPLACE TEMP TABLE counted (measure VARCHAR, case_ref VARCHAR, procedure_id BIGINT, "
        "index_date DATE, met BOOLEAN, days INTEGER, event INTEGER)"
    )
    faults: list[Fault] = []
    watch.expect(len(measures), "measures")
    for measure in measures:
        watch.stage(f"counting {measure.name}")
        faults += _count(con, measure, case_tables)
        watch.done(1)
    if faults:
        raise Refused(faults)


def count_apart(
    con: duckdb.DuckDBPyConnection, aparts: Sequence[Apart], case_tables: Collection[str]
) -> list[tuple[str, str, str, int]]:
    """Measure, title, quarter and number of each group counted apart."""
    counts, faults = [], []
    for apart in aparts:
        file = SqlFile(apart.path, {}, {}, apart.sql)
        try:
            found = _foreign_tables(con, file, case_tables)
            faults += found
            rows = (
                []
                if found
                else con.execute(
                    f"SELECT quarter_of(index_date) AS quarter, count(*) FROM ({apart.sql}) GROUP BY 1 ORDER BY 1"
                ).fetchall()
            )
        except duckdb.Error as error:
            faults.append(sql_fault(file, error))
            continue
        counts += [(apart.measure, apart.title, quarter, number) for quarter, number in rows]
    if faults:
        raise Refused(faults)
    return counts


def _count(con: duckdb.DuckDBPyConnection, measure: Measure, case_tables: Collection[str]) -> list[Fault]:
    file = SqlFile(measure.path, {}, {}, measure.sql)
    try:
        faults = _foreign_tables(con, file, case_tables)
        if faults:
            return faults
        con.execute(f"CREATE OR REPLACE TEMP TABLE measured AS {measure.sql}")
    except duckdb.Error as error:
        return [sql_fault(file, error)]
    faults = _column_faults(con, measure, file) or list(_row_faults(con, measure, file))
    if not faults:
        columns = {"case_ref", "index_date", *answer_columns(measure.kind)}
        columns |= {"procedure_id"} if measure.grain == "procedure" else set()
        listed = ", ".join(sorted(columns))
        con.execute(f"INSERT INTO counted (measure, {listed}) SELECT $1, {listed} FROM measured", [measure.name])
    return faults


def _foreign_tables(con: duckdb.DuckDBPyConnection, file: SqlFile, case_tables: Collection[str]) -> list[Fault]:
    """A measure reads the case tables only: never another measure, the store or a file."""
    nodes = list(parse_tree.nodes(parse_tree.tree(con, file.sql)))
    own = {entry["key"] for node in nodes for entry in node.get("cte_map", {}).get("map", ())}
    allowed = {*case_tables, "settings"}
    faults = []
    for node in nodes:
        if node.get("type") == "BASE_TABLE":
            name = ".".join(filter(None, (node["schema_name"], node["table_name"])))
            foreign = name not in allowed | own
        elif node.get("type") == "TABLE_FUNCTION":
            name = node["function"]["function_name"]
            foreign = name not in _TABLE_FUNCTIONS
        else:
            continue
        if foreign:
            line = file.sql.encode()[: node["query_location"]].count(b"\n") + 1
            words = "the case tables " + ", ".join(sorted(allowed))
            faults.append(Fault(file.at(line), f"it reads {name}", words, "read a case table, or add one to sql/cases"))
    return faults


def _select_line(file: SqlFile) -> int:
    """The line of the last SELECT at the margin: where the columns are listed."""
    lines = file.sql.splitlines()
    return max((number for number, line in enumerate(lines, 1) if line.upper().startswith("SELECT")), default=1)


def _column_faults(con: duckdb.DuckDBPyConnection, measure: Measure, file: SqlFile) -> list[Fault]:
    wanted = ["case_ref", "index_date", *answer_columns(measure.kind)]
    if measure.grain != "case":
        wanted.insert(1, id_column(measure.grain))
    found = {name: kind for name, kind, *_ in con.execute("DESCRIBE measured").fetchall()}
    where = file.at(_select_line(file))
    allowed = f"for kind {measure.kind} and grain {measure.grain} the columns " + ", ".join(wanted)
    faults = []
    if set(found) != set(wanted):
        missing, extra = sorted(set(wanted) - set(found)), sorted(set(found) - set(wanted))
        words = "; ".join(
            f"{what} {', '.join(names)}" for what, names in (("no column", missing), ("a column", extra)) if names
        )
        faults.append(Fault(where, words, allowed, "correct the columns, or kind or grain at the head of the file"))
    for name in wanted:
        if name in found and found[name] not in _TYPES[name]:
            words = f"{name} is {found[name]}"
            faults.append(Fault(where, words, " or ".join(_TYPES[name]), f"correct {name}, or cast it"))
    return faults


def _row_faults(con: duckdb.DuckDBPyConnection, measure: Measure, file: SqlFile) -> Iterator[Fault]:
    """Rows that break the grain, belong to nobody, or answer what cannot be asked. Nobody's ref is printed."""
    own_id = id_column(measure.grain)
    of_grain = {"case": "cases", "referral": "referrals", "procedure": "procedures"}[measure.grain]
    rules = {
        f"rows with a {own_id} that stands twice": (
            f"SELECT count(*) FROM (SELECT {own_id} FROM measured GROUP BY {own_id} HAVING count(*) > 1)",
            f"one row for each {measure.grain}",
        ),
        f"rows whose case_ref and {own_id} are not those of one {measure.grain}": (
            f"SELECT count(*) FROM measured AS m WHERE NOT EXISTS (SELECT 1 FROM {of_grain} AS g "
            f"WHERE g.case_ref = m.case_ref AND g.{own_id} = m.{own_id})",
            f"rows of {of_grain}",
        ),
        "rows without an index_date": ("SELECT count(*) FROM measured WHERE index_date IS NULL", "a date in every row"),
    }
    if "days" in answer_columns(measure.kind):
        watched = "" if measure.kind == TIME_TO_EVENT else "days IS NULL OR "
        rules["rows whose days are missing or below 0"] = (
            f"SELECT count(*) FROM measured WHERE {watched}days < 0",
            "days from 0 up",
        )
    if measure.kind == TIME_TO_EVENT:
        rules["rows whose event is none of 0, 1, 2, or an event without days"] = (
            "SELECT count(*) FROM measured WHERE event IS NULL OR event NOT IN (0, 1, 2) "
            "OR (event > 0 AND days IS NULL)",
            "0 for none, 1 for the event, 2 for the competing event",
        )
    for found, (query, allowed) in rules.items():
        (number,) = con.execute(query).fetchall()[0]
        if number:
            mend = "look at the joins and the WHERE of the file"
            yield Fault(file.at(_select_line(file)), f"{number} {found}", allowed, mend)
