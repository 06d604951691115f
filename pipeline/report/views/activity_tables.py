"""Who came, and what was done: the tables of sql/activity, the period beside those before.

Comes in: the frame of activity.csv. Goes out: one frozen table, its groups in the order of the files.
"""

from __future__ import annotations

from collections.abc import Sequence

import pandas as pd

from pipeline.contracts.numbered_files import activity_files
from pipeline.report.words.dates import short_label
from pipeline.report.words.table import Group, Row, Table


def activity(frame: pd.DataFrame, periods: Sequence[str]) -> Table | None:
    """Counts of the periods, the reported one first; None where nothing happened in any of them."""
    there = frame[frame["period"].isin(periods)]
    counts = {(row.section, row.row, row.period): int(row.count) for row in there.itertuples(index=False, name="Line")}
    groups = []
    for file in activity_files():
        own = sorted({row for section, row, _ in counts if section == file.own_name}, key=_place)
        rows = [
            Row(row.replace("_", " "), tuple(str(counts.get((file.own_name, row, period), 0)) for period in periods))
            for row in own
        ]
        if rows:
            groups.append(Group(file.keys["title"], tuple(rows)))
    heads = ("", *(short_label(period) for period in periods))
    return Table("activity", "Counts of each, and of the periods beside", heads, tuple(groups)) if groups else None


def _place(row: str) -> tuple[str, bool, str]:
    """What is not recorded stands last among its own."""
    own = row.rpartition(": ")[0]
    return own, row.endswith("not_recorded"), row
