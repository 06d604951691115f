"""An invented service of three years: a year of the demo's export, three times, other cases in each.

In: a folder, how many of the demo's cases a year takes. Out: an export of which everyone was followed.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Callable, Collection
from pathlib import Path

from pipeline.contracts import places

FIRST, LAST = "2025-04-01", "2026-03-31"  # the year of the demo that is taken
# How far its days are moved for each, and the last sign of its references.
YEARS = {"2023-24": (-2, "a"), "2024-25": (-1, "b"), "2025-26": (0, "c")}
CUT_OFF = "2026-09-30"
_DAY = re.compile(r"^(\d{4})(-\d\d-\d\d)")


def write_export(folder: Path, one_in: int, without: Collection[str] = ()) -> Path:
    """CSV files in the layout: of each year one of the demo's cases in so many, and a few that are in all three.

    `without`: columns that are empty, so that there is less to break down by.
    """
    folder.mkdir()
    tables = {path.name: _rows(path) for path in places.DEMO_EXPORT.glob("*.csv")}
    heads, *cases = tables["cases.csv"]
    seen = sorted({row[0] for row in cases if FIRST <= row[heads.index("first_contact_date")] <= LAST})
    for name, (heads, *rows) in tables.items():
        empty = {heads.index(column) for column in without if column in heads}
        out = [heads]
        for number, (moved, sign) in enumerate(YEARS.values()):
            taken = {ref for place, ref in enumerate(seen) if (place + number) % one_in == 0 or place % 50 == 7}
            if name == "requests.csv":
                taken = {row[0] for row in rows if FIRST <= row[heads.index("request_date")] <= LAST}
            for row in rows:
                if row[0] in taken:
                    days = ["" if at in empty else _DAY.sub(_moved(moved), cell) for at, cell in enumerate(row)]
                    out.append([row[0][:-1] + sign, *days[1:]])
        with (folder / name).open("w", encoding="utf-8", newline="") as file:
            csv.writer(file).writerows(out)
    (folder / "datapackage.json").write_text(f'{{"created": "{CUT_OFF}"}}', encoding="utf-8")
    return folder


def _rows(path: Path) -> list[list[str]]:
    """Line by line: one of the demo's faults is a quote that nothing closes."""
    lines = path.read_text(encoding="utf-8-sig").splitlines()
    return [next(csv.reader([line])) for line in lines if line]


def _moved(years: int) -> Callable[[re.Match[str]], str]:
    return lambda day: f"{int(day[1]) + years}{day[2]}"
