"""Every measure by practitioner, for whoever answers for the service: in a file of its own and nowhere else.

Comes in: the table `broken_down` and the outcome beside it. Goes out: a frame with the columns of results.csv.
"""

from __future__ import annotations

from collections.abc import Sequence

import duckdb
import pandas as pd

from pipeline.contracts.breakdown_file import Breakdown
from pipeline.contracts.measure_files import NOTED, SHARES, Measure
from pipeline.outcomes import counting, lookup, results
from pipeline.outcomes.lookup import Lookup
from pipeline.outcomes.outcome import Outcome
from pipeline.statistics.units import Prior, prior

NOBODY = ("not_recorded", "several")  # levels that are no practitioner


def alike(counts: pd.DataFrame, measures: Sequence[Measure], period: str) -> dict[str, Prior]:
    """How alike practitioners are in each measure of yes or no, from counts by practitioner."""
    here = counts[(counts["period"] == period) & ~counts["level"].isin(NOBODY)]
    priors = {}
    for measure in measures:
        if measure.kind in SHARES:
            rows = here[here["measure"] == measure.name]
            priors[measure.name] = prior(rows["met"], rows["eligible" if measure.kind == NOTED else "known"])
    return priors


def by_practitioner(
    con: duckdb.DuckDBPyConnection, outcome: Outcome, split: Breakdown, year_starts: int
) -> tuple[pd.DataFrame, Lookup]:
    """The rows of by_practitioner.csv, and the same as plain answers."""
    counts, day_counts = (count(con, outcome.measures, (split,)) for count in (counting.count, counting.count_days))
    wanted = sorted(outcome.results["period"].unique())
    rows, waits = results.work_out(counts, day_counts, outcome.measures, wanted, outcome.cut_off, year_starts)
    own = rows[rows["breakdown"] == split.name].reset_index(drop=True)
    return own, lookup.read(own, waits)
