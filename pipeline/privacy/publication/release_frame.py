"""From chosen counts to the rows of figures.csv: printed as they are, or withheld.

Comes in: the counts, those of a decoy just as well as the true ones, and what is printed. Goes out: the frame, in an
order that no count decides. A mark that follows from counts follows from printed ones only.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping

import pandas as pd

from pipeline.privacy.publication.count_cells import Place
from pipeline.privacy.publication.frozen_counts import ACTIVITY, COUNT, EVERYONE, MEASURE, Key
from pipeline.privacy.publication.wanted import Wanted
from pipeline.privacy.release.linked_counts import Mask, Numbers
from pipeline.privacy.release.public_frame import COLUMNS, FEW_KNOWN, LEFT_OUT, WITHHELD

FIRST_SEEN = "cases_first_seen"


def figures(
    wanted: Wanted,
    at: Mapping[Place, int],
    values: Numbers,
    printed: Mask,
    *,
    period: str,
    population: str,
    waits: Collection[str],
    six_weeks: Collection[str],
    known_enough: float,
    left_out: Collection[Place],
) -> pd.DataFrame:
    """The rows of a release. waits: their met is by_28; six_weeks: measures that say so where few are known."""

    def shown(place: Place) -> int | None:
        number = at.get(place)
        return int(values[number]) if number is not None and printed[number] and place not in left_out else None

    rows = []
    for place in wanted.places:
        one, key = place
        value = shown(place)
        mark = "" if value is not None else LEFT_OUT if place in left_out else WITHHELD
        if value is not None and key.table == MEASURE and key.part == "met" and key.name in six_weeks:
            known, eligible = (shown((one, _part(key, part))) for part in ("known", "eligible"))
            if known is not None and eligible and known < known_enough * eligible:
                mark = FEW_KNOWN
        block = one if one == wanted.block and wanted.block else ""
        part = "by_28" if key.part == "met" and key.name in waits else key.part
        named = (key.table, key.name, key.breakdown, key.level, part)
        if key.name == population:  # how many there are is no figure of the measure
            level = key.level if key.breakdown == EVERYONE else f"{key.breakdown}: {key.level}"
            named = (ACTIVITY, FIRST_SEEN, "", level, COUNT)
        rows.append((period, block, *named, value, mark))
    rows.sort(key=lambda row: row[2] != ACTIVITY)  # a stable sort: activity first, and else as wanted
    frame = pd.DataFrame(rows, columns=list(COLUMNS))
    frame["value"] = frame["value"].astype("Int64")
    return frame


def _part(key: Key, part: str) -> Key:
    return Key(key.table, key.name, key.breakdown, key.level, part)
