"""The tables of the data quality part: what came in, what was set aside and why, what was not recorded.

Comes in: the Quality of an edition. Goes out: frozen tables. That the lines add up was checked
before.
"""

from __future__ import annotations

import pandas as pd

from pipeline.report.content.edition import Quality
from pipeline.report.words.labels import Wording
from pipeline.report.words.sentences import percent
from pipeline.report.words.table import Group, Row, Table

_PARTS = ("accepted", "set_aside", "repeats", "left_out", "header", "blank")


def reconciliation(quality: Quality) -> Table:
    """One row a file: lines received = accepted + set aside + repeats + left out + header + blank."""
    groups = []
    for load, files in quality.lines.groupby("load", sort=True):
        rows = [
            Row(str(row.file), (str(row.lines), *(str(getattr(row, part)) for part in _PARTS)))
            for row in files.sort_values("file").itertuples()
        ]
        groups.append(Group(f"Load {load}", tuple(rows)))
    sums = quality.lines[["lines", *_PARTS]].sum()
    total = Row("All files", tuple(str(int(sums[name])) for name in ("lines", *_PARTS)))
    heads = ("File", "Lines received", "Accepted", "Set aside", "Repeats", "Left out", "Header", "Blank")
    return Table("lines", "Every line of every file received", heads, tuple(groups), total)


def reasons(quality: Quality, wording: Wording) -> Table | None:
    """One row a load, column and rule: how much was set aside; None where nothing was."""
    if quality.reasons.empty:
        return None
    groups = []
    for load, of_load in quality.reasons.groupby("load", sort=True):
        rows = [
            Row(_place(row.table, row.column), (wording.set_aside[row.kind], _text(row.allowed), str(row.count)))
            for row in of_load.sort_values(["table", "column", "kind", "allowed"]).itertuples(
                index=False, name="Reason"
            )
        ]
        groups.append(Group(f"Load {load}", tuple(rows)))
    heads = ("Table and column", "Set aside", "What is allowed", "Count")
    return Table("reasons", "Rows and values set aside, with the reason", heads, tuple(groups), words=True)


def _place(table: object, column: object) -> str:
    """A column as its sheet calls it; lines that could not be read belong to no table of a mapped sheet."""
    return ", ".join(filter(None, (_text(table), _text(column)))) or "whole lines"


def _text(value: object) -> str:
    return "" if pd.isna(value) else str(value)


def not_recorded(quality: Quality) -> Table | None:
    """Rows columns of the export, columns sites: how many of the rows have nothing recorded there."""
    frame = quality.not_recorded
    if frame.empty:
        return None
    sites = sorted(frame["site"].unique())
    cells = {(row.table, row.column, row.site): (row.rows, row.not_recorded) for row in frame.itertuples(index=False)}
    groups = []
    for table in dict.fromkeys(frame["table"]):
        rows = []
        for column in dict.fromkeys(frame.loc[frame["table"] == table, "column"]):
            counted = [cells.get((table, column, site), (0, 0)) for site in sites]
            whole = (sum(of for of, _ in counted), sum(missing for _, missing in counted))
            rows.append(Row(str(column), tuple(_part(of, missing) for of, missing in (whole, *counted))))
        groups.append(Group(str(table), tuple(rows)))
    heads = ("Column", "All sites", *map(str, sites))
    return Table("not-recorded", "Not recorded, by column and by site", heads, tuple(groups))


def _part(of: int, missing: int) -> str:
    return "no rows" if of == 0 else f"{missing} of {of} ({percent(missing / of)})"
