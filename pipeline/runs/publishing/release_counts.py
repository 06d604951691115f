"""What a release counts, from the store: every published measure by quarter and level, and the activity beside it.

Comes in: a working connection with the store attached, the published measures. Goes out: frames of counts by quarter;
up to which day everyone of a period was followed. Refuses: what the measures' files and sql/breakdowns.sql refuse.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

import duckdb
import pandas as pd

from pipeline.contracts.breakdown_file import EVERYONE, breakdowns
from pipeline.contracts.measure_files import Measure
from pipeline.contracts.places import SQL
from pipeline.outcomes import cases, counting, measure_rows
from pipeline.outcomes.activity import activity
from pipeline.progress import Progress
from pipeline.settings import Settings


def by_quarter(
    con: duckdb.DuckDBPyConnection, measures: Sequence[Measure], settings: Settings, last: str, watch: Progress
) -> tuple[pd.DataFrame, pd.DataFrame]:
    """The parts of every measure by quarter, breakdown and level; and the activity up to the quarter `last`."""
    cases.build(con)
    measure_rows.count_rows(con, measures, settings, watch)
    counting.break_down(con, breakdowns())
    return parts(con, measures), activity(con, last, by="quarter")


def parts(con: duckdb.DuckDBPyConnection, measures: Sequence[Measure]) -> pd.DataFrame:
    """The parts of every measure, by quarter and by the level of each published breakdown."""
    shown = tuple(split for split in breakdowns() if split.published or split.name == EVERYONE)
    return counting.count_parts(con, measures, shown)


def followed_until(con: duckdb.DuckDBPyConnection, period: str) -> date | None:
    """Up to which day everyone counted in the period was followed, in every source; None where nobody is counted."""
    query = (SQL / "release" / "followed_until.sql").read_text(encoding="utf-8")
    ((day,),) = con.execute(query, {"period": period}).fetchall()
    return day if isinstance(day, date) else None
