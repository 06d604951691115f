"""What a report says beside its measures: the flow of every case, and how good the records are.

Comes in: the case tables and the store. Goes out: frames, and warnings in words.
"""

from __future__ import annotations

import contextlib
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import duckdb
import pandas as pd

from pipeline import store
from pipeline.contracts import check_files, layout
from pipeline.contracts.measure_files import FOLLOWED_DAYS
from pipeline.contracts.query_files import answer, build_view
from pipeline.outcomes import cases
from pipeline.store import csv_files


def flow(con: duckdb.DuckDBPyConnection, period: str) -> pd.DataFrame:
    """route, six_weeks, cases: the cases first seen in the quarter, each in one cell. It leaves the view everyone."""
    build_view(con, "everyone", "accounts/everyone")
    return answer(con, "accounts/flow", {"period": period}).df()


def began(con: duckdb.DuckDBPyConnection) -> pd.DataFrame:
    """site, period, cases, first_day: how many cases were first seen at a site in a period, and on which day first."""
    rows = answer(con, "accounts/began").fetchall()
    return pd.DataFrame(rows, columns=["site", "period", "cases", "first_day"])  # days, not times


def still_waiting(con: duckdb.DuckDBPyConnection) -> pd.DataFrame:
    """measure, site, how many had waited so long at the cut-off, and the longest: who was still waiting then."""
    return answer(con, "accounts/still_waiting").df()


def lines(con: duckdb.DuckDBPyConnection) -> pd.DataFrame:
    """One row a file of a load, by what became of its lines."""
    return answer(con, "accounts/lines").df()


def reasons(con: duckdb.DuckDBPyConnection) -> pd.DataFrame:
    """One row a load, table, column and rule: how much it set aside."""
    return answer(con, "accounts/reasons").df()


def not_recorded(con: duckdb.DuckDBPyConnection, period: str) -> pd.DataFrame:
    """table, column, site, rows, not_recorded: of the cases first seen in the quarter, for every optional column."""
    asked = [
        (table.name, column.name)
        for table in layout.tables()
        for column in table.columns
        if not column.must and column.always_asked
    ]
    tables, columns = map(list, zip(*asked, strict=True))
    store.show_rows(con)
    return answer(con, "accounts/not_recorded", {"period": period, "tables": tables, "columns": columns}).df()


def not_followed_on(con: duckdb.DuckDBPyConnection) -> tuple[str, ...]:
    """Warnings where cases count as an older export had them: dropped by the newest, or set aside in a newer one."""
    asked = answer(con, "accounts/not_followed_on", {"followed_days": FOLLOWED_DAYS})
    ((dropped, earliest, set_aside, loads),) = asked.fetchall()
    warnings = []
    if dropped:
        who = "1 case is" if dropped == 1 else f"{dropped} cases are"
        warnings.append(
            f"{who} no longer in the newest export of the same source, though first seen less than {FOLLOWED_DAYS} "
            f"days before their own export was drawn ({earliest} or later); what happened to them after that is "
            "not known"
        )
    if set_aside:
        who = "1 case counts" if set_aside == 1 else f"{set_aside} cases count"
        where = "load " + ", ".join(map(str, loads))
        warnings.append(
            f"{who} as an older export had them, because a newer row of theirs could not be used ({where}); "
            "set_aside.csv of that load says what to mend"
        )
    return tuple(warnings)


def no_longer_there(con: duckdb.DuckDBPyConnection) -> list[tuple[Any, ...]]:
    """table, row_id, case_ref, load, file, line of what seems deleted at source and counts; and the newest load.

    Needs counting_cases where a source has two loads in force: else every load is its source's newest.
    """
    if not store.has_older_loads(con):
        return []
    store.show_rows(con)
    return answer(con, "accounts/no_longer_there").fetchall()


def no_longer_there_words(rows: Sequence[tuple[Any, ...]]) -> tuple[str, ...]:
    """How many cases those rows are, and what to do."""
    cases, newest = len({row[2] for row in rows}), ", ".join(map(str, sorted({row[-1] for row in rows})))
    who = "1 case still counts" if cases == 1 else f"{cases:,} cases still count"
    of_rows = "1 row" if len(rows) == 1 else f"{len(rows):,} rows"
    return (
        f"{who}, of {of_rows}, that the newest export of the same source (load {newest}) no longer holds, "
        "though it reaches back to then; loads/no_longer_there.csv lists them. If they were deleted at source: erase "
        "them, or withdraw the older load if it was wrong; if the newest export is not whole, load it whole again",
    )[:cases]


def list_no_longer_there(con: duckdb.DuckDBPyConnection, folder: Path, *, after_load: bool = False) -> tuple[str, ...]:
    """Write the list of it, with pseudonyms; and the words. After a load, the case tables it needs are made first."""
    if after_load and store.has_older_loads(con):
        cases.build(con, through="counting_cases")
    place = folder / "loads" / "no_longer_there.csv"
    header = ("table", "row_id", "case_ref", "load", "file", "line")
    rows = no_longer_there(con)
    with contextlib.suppress(PermissionError):  # who may only read the store has the list as the last writer left it
        place.parent.mkdir(exist_ok=True)
        csv_files.write(place, header, [row[:-1] for row in rows])
    return no_longer_there_words(rows)


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
    values = {"before": before, "now": now, "not_counted": [check_files.follows(), check_files.ordinary()]}
    ((mended, again, gone, anew),) = answer(con, "accounts/settled", values).fetchall()
    return Settled(before, int(mended), int(again), int(gone), int(anew))


def settled_since(con: duckdb.DuckDBPyConnection) -> tuple[str, ...]:
    """For each load in force that a newer one of its source followed: what became of what it had set aside."""
    followed = answer(con, "accounts/followed").fetchall()
    since = [(settled(con, before, now), now) for before, now in followed]
    return tuple(
        f"Of {then.total:,} findings of load {then.before}, by load {now}: {then.words}"
        for then, now in since
        if then.total or then.anew
    )


def requests_held(con: duckdb.DuckDBPyConnection) -> dict[str, bool]:
    """Whether loads in force of each source hold requests: else nothing is known of its families never seen."""
    return dict(answer(con, "accounts/requests_held").fetchall())
