"""What a report says beside its measures: the flow of every case, and how good the records are.

Comes in: the case tables and the store. Goes out: frames. Refuses nothing.

Here the columns of the layout are joined into SQL, to count what is not recorded.
"""

from __future__ import annotations

from dataclasses import dataclass

import duckdb
import pandas as pd

from pipeline.contracts import layout
from pipeline.contracts.places import SQL
from pipeline.intake.check import row_rules

EVERYONE = SQL / "accounts" / "everyone.sql"

APART_COLUMNS = ("measure", "title", "quarter", "count")
FLOW_COLUMNS = ("route", "six_weeks", "cases")
LINE_COLUMNS = ("load", "file", "lines", "header", "blank", "accepted", "set_aside", "repeats")
REASON_COLUMNS = ("load", "table", "column", "kind", "allowed", "count")
NOT_RECORDED_COLUMNS = ("table", "column", "site", "rows", "not_recorded")


def flow(con: duckdb.DuckDBPyConnection, quarter: str) -> pd.DataFrame:
    """route, six_weeks, cases: the cases first seen in the quarter, each in one cell. It leaves the view everyone."""
    con.execute(f"CREATE OR REPLACE TEMP VIEW everyone AS {EVERYONE.read_text(encoding='utf-8')}")
    return con.execute(_sql("flow"), {"quarter": quarter}).df()


def lines(con: duckdb.DuckDBPyConnection) -> pd.DataFrame:
    """One row a file of a load, by what became of its lines."""
    return con.execute(_sql("lines")).df()


def reasons(con: duckdb.DuckDBPyConnection) -> pd.DataFrame:
    """One row a load, table, column and rule: how much it set aside."""
    return con.execute(_sql("reasons")).df()


def not_recorded(con: duckdb.DuckDBPyConnection, quarter: str) -> pd.DataFrame:
    """table, column, site, rows, not_recorded: of the cases first seen in the quarter, for every optional column."""
    frames = []
    for table in layout.tables():
        columns = [column.name for column in table.columns if not column.must and column.always_asked]
        source = "counting_cases AS t" if table.name == "cases" else f"store.{table.name} AS t"
        of_case = "" if table.name == "cases" else " JOIN counting_cases AS c USING (case_ref, load)"
        owner = "t" if table.name == "cases" else "c"
        counted = ", ".join(f"count(*) - count(recorded(CAST(t.{name} AS VARCHAR))) AS {name}" for name in columns)
        wide = con.execute(
            f"SELECT level_of(recorded({owner}.site)) AS site, count(*) AS rows, {counted} FROM {source}{of_case} "
            f"WHERE quarter_of({owner}.first_contact_date) = $1 GROUP BY 1 ORDER BY 1",
            [quarter],
        ).df()
        long = wide.melt(["site", "rows"], columns, var_name="column", value_name="not_recorded")
        frames.append(long.assign(table=table.name))
    return pd.concat(frames, ignore_index=True)[["table", "column", "site", "rows", "not_recorded"]]


def not_followed_on(con: duckdb.DuckDBPyConnection) -> tuple[str, ...]:
    """Warnings where cases count as an older export had them: dropped by the newest, or set aside in a newer one."""
    ((dropped, earliest, set_aside, loads),) = con.execute(_sql("not_followed_on")).fetchall()
    found = []
    if dropped:
        who = "1 case is" if dropped == 1 else f"{dropped} cases are"
        found.append(
            f"{who} no longer in the newest export of the same source, though first seen less than 84 days before the "
            f"cut-off of their own export ({earliest} or later); what happened to them after that is not known"
        )
    if set_aside:
        who = "1 case counts" if set_aside == 1 else f"{set_aside} cases count"
        where = "load " + ", ".join(map(str, loads))
        found.append(
            f"{who} as an older export had them, because a newer row of theirs was set aside ({where}); set_aside.csv "
            "of that load says what to mend"
        )
    return tuple(found)


@dataclass(frozen=True)
class Settled:
    """What became of the findings of an earlier load of the same source."""

    before: int  # the earlier load
    mended: int
    again: int
    gone: int  # with cases that the later load no longer holds
    anew: int  # what the later load set aside that the earlier had not

    @property
    def total(self) -> int:
        """All that the earlier load had set aside."""
        return self.mended + self.again + self.gone

    @property
    def words(self) -> str:
        """The numbers in words."""
        anew = f"; and {self.anew:,} set aside for the first time" if self.anew else ""
        gone = f", {self.gone:,} gone with cases that are no longer in the export" if self.gone else ""
        return f"{self.mended:,} mended, {self.again:,} set aside again{gone}{anew}"


def settled(con: duckdb.DuckDBPyConnection, before: int, now: int) -> Settled:
    """What of the findings of load `before` is mended in load `now`."""
    values = {"before": before, "now": now, "follows": row_rules.follows()}
    ((mended, again, gone, anew),) = con.execute(_sql("settled"), values).fetchall()
    return Settled(before, int(mended), int(again), int(gone), int(anew))


def settled_since(con: duckdb.DuckDBPyConnection) -> tuple[str, ...]:
    """For each load in force that a newer one of its source followed: what became of what it had set aside."""
    followed = con.execute(
        "SELECT l.load, n.load FROM loads_in_force AS l "
        "JOIN (SELECT source, max_by(load, (extracted_on, load)) AS load FROM loads_in_force GROUP BY source) AS n "
        "USING (source) WHERE l.load <> n.load ORDER BY l.load"
    ).fetchall()
    since = [(settled(con, before, now), now) for before, now in followed]
    return tuple(
        f"Of {each.total:,} findings of load {each.before}, by load {now}: {each.words}"
        for each, now in since
        if each.total or each.anew
    )


def _sql(name: str) -> str:
    return (SQL / "accounts" / f"{name}.sql").read_text(encoding="utf-8")
