"""Every measure by practitioner, for whoever answers for the service: in a file of its own and nowhere else.

Comes in: the table `broken_down` and the outcome beside it. Goes out: a frame with the columns of results.csv.
"""

from __future__ import annotations

import duckdb
import pandas as pd

from pipeline.contracts.breakdown_file import Breakdown
from pipeline.outcomes import counting, lookup, results
from pipeline.outcomes.lookup import Lookup
from pipeline.outcomes.outcome import Outcome


def by_practitioner(
    con: duckdb.DuckDBPyConnection, outcome: Outcome, split: Breakdown, year_starts: int
) -> tuple[pd.DataFrame, Lookup]:
    """The rows of by_practitioner.csv, and the same as plain answers."""
    counts, day_counts = (count(con, outcome.measures, (split,)) for count in (counting.count, counting.count_days))
    wanted = sorted(outcome.results["period"].unique())
    rows, waits = results.work_out(counts, day_counts, outcome.measures, wanted, outcome.cut_off, year_starts)
    own = rows[rows["breakdown"] == split.name].reset_index(drop=True)
    return own, lookup.read(own, waits)
