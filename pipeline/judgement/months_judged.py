"""Every measure month by month, judged; and over_time.csv, which holds what the charts show.

Comes in: the counts by month, the settings. Goes out: a Monthly a measure, and one tidy table of them all. Refuses: to
word anything.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
import pandas as pd

from pipeline.contracts.measure_files import NOTED, Measure
from pipeline.judgement.months import Monthly, judge
from pipeline.settings import Settings

OVER_TIME_COLUMNS = (
    *("measure", "month", "met", "of", "share", "centre", "lower", "upper", "outside", "since_step"),
    *("sum_rise", "sum_rise_limit", "sum_fall", "sum_fall_limit"),
)


def judged(months: pd.DataFrame, measures: Sequence[Measure], settings: Settings) -> dict[str, Monthly]:
    """Each measure that has a share, by name; one without a closed month has none."""
    rare = {measure.name for measure in measures if measure.kind == NOTED}
    return {
        str(name): judge(
            rows["month"].tolist(),
            rows["met"].to_numpy(),
            rows["of"].to_numpy(),
            settings.baseline,
            settings.steps.get(str(name)),
            rare=name in rare,
        )
        for name, rows in months.groupby("measure", sort=True)
    }


def table(over_time: Mapping[str, Monthly]) -> pd.DataFrame:
    """One row a measure and month; empty where there is no limit, no sum or no case."""
    if not over_time:
        return pd.DataFrame(columns=list(OVER_TIME_COLUMNS))
    return pd.concat([_rows(name, monthly) for name, monthly in sorted(over_time.items())], ignore_index=True)


def _rows(name: str, monthly: Monthly) -> pd.DataFrame:
    months = len(monthly.months)
    rows = pd.DataFrame(
        {
            **{"measure": name, "month": list(monthly.months), "met": monthly.met, "of": monthly.of},
            **{"share": monthly.share, "centre": monthly.centre, "lower": monthly.lower, "upper": monthly.upper},
        }
    )
    outside = dict(monthly.outside)
    rows["outside"] = [outside.get(at, "") for at in range(months)]
    rows["since_step"] = ["yes" if monthly.step and at >= monthly.begins else "no" for at in range(months)]
    for way in ("rise", "fall"):
        limit = None if monthly.sums is None else getattr(monthly.sums, f"{way}_limit")
        sums = [] if limit is None else getattr(monthly.sums, way).tolist()
        before = [pd.NA] * (months - len(sums))
        rows[f"sum_{way}"] = pd.array([*before, *sums], dtype="Int64")
        rows[f"sum_{way}_limit"] = pd.array([*before, *[limit] * len(sums)], dtype="Int64")
    return rows[list(OVER_TIME_COLUMNS)].astype({"share": np.float64})
