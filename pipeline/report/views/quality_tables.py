"""The tables of data quality: what came in, what was set aside and why, what was not recorded.

Comes in: the Quality of an edition. Goes out: a sentence and short tables for the service page, and everything for the
technical page. That the lines add up was checked before.
"""

from __future__ import annotations

import re

import pandas as pd

from pipeline.contracts import check_files, layout
from pipeline.report.content.edition import Quality
from pipeline.report.words.labels import Wording
from pipeline.report.words.sentences import percent
from pipeline.report.words.table import Group, Row, Table

_PARTS = ("accepted", "set_aside", "repeats", "left_out", "header", "blank")
MOST_OFTEN = 8  # columns that the service page names as not recorded; the technical page has all
SITES_IN_A_LINE = (
    6  # with more sites than that only the technical page says how many each has not recorded, a site a row
)
COLUMNS_A_TABLE = 7  # of the export, beside one another on the technical page and on paper


def in_one_line(quality: Quality) -> str:
    """Every line received, in one sum."""
    lines, *parts = (int(quality.lines[name].sum()) for name in ("lines", *_PARTS))
    accepted, set_aside, repeats, left_out, header, blank = (f"{part:,}" for part in parts)
    return (
        f"{lines:,} lines received = {accepted} used + {set_aside} that could not be used + {repeats} repeats of "
        f"others + {left_out} left out on purpose + {header} headings + {blank} blank"
    )


def why(quality: Quality, wording: Wording) -> Table | None:
    """What could not be used, by what was wrong: whole rows, and single values of rows that were kept."""
    if quality.reasons.empty:
        return None
    of_checks = {check.allowed: check.why for check in check_files.checks()}
    counted: dict[str, dict[str, int]] = {}
    for row in quality.reasons.itertuples(index=False, name="Reason"):
        said = of_checks.get(row.allowed) or wording.why_set_aside[_kind(row.table, row.layout_column)]
        of_kind = counted.setdefault(said, {"row": 0, "value": 0})
        of_kind[row.kind] += int(row.count)
    kinds = ("row", "value")
    rows = [
        Row(said, tuple(str(of[kind]) for kind in kinds))
        for said, of in sorted(counted.items(), key=lambda pair: (-sum(pair[1].values()), pair[0]))
    ]
    total = Row("In all", tuple(str(sum(of[kind] for of in counted.values())) for kind in kinds))
    heads = ("What was wrong", "Whole rows", "Single values")
    return Table("why", "What could not be used, and why", heads, (Group("", tuple(rows)),), total)


def _kind(table: object, column: object) -> str:
    """The kind of a column of the layout; `line` where the whole line is meant, or there is no such column now."""
    of_layout = {(own.name, column.name): column.kind for own in layout.tables() for column in own.columns}
    return of_layout.get((_text(table), _text(column)), "line")


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
    rules = ["load", "table", "column", "kind", "allowed"]
    summed = quality.reasons.groupby(rules, sort=True, dropna=False, as_index=False)["count"].sum()
    groups = []
    for load, of_load in summed.groupby("load", sort=True):
        rows = [
            Row(_place(row.table, row.column), (wording.set_aside[row.kind], _text(row.allowed), str(row.count)))
            for row in of_load.itertuples(index=False, name="Reason")
        ]
        groups.append(Group(f"Load {load}", tuple(rows)))
    heads = ("Table and column", "Set aside", "What is allowed", "Count")
    return Table("reasons", "Rows and values set aside, with the reason", heads, tuple(groups), words=True)


def _place(table: object, column: object) -> str:
    """A column as its sheet calls it; lines that could not be read belong to no table of a mapped sheet."""
    return ", ".join(filter(None, (_text(table), _text(column)))) or "whole lines"


def _text(value: object) -> str:
    return "" if pd.isna(value) else str(value)


def most_often(quality: Quality) -> Table | None:
    """The columns most often not recorded, with how often at each site; None where everything is recorded."""
    frame = quality.not_recorded
    sums = frame.groupby(["table", "column"], sort=False, as_index=False)[["rows", "not_recorded"]].sum()
    sums = sums[sums["not_recorded"] > 0]
    if sums.empty:
        return None
    sums["share"] = sums["not_recorded"] / sums["rows"]
    by_site = not _many(frame)
    rows = []
    for column in sums.sort_values("share", ascending=False, kind="stable").head(MOST_OFTEN).itertuples():
        own = frame[(frame["table"] == column.table) & (frame["column"] == column.column) & (frame["rows"] > 0)]
        sites = "; ".join(
            f"{row.site} {row.not_recorded} of {row.rows}" for row in own.sort_values("site").itertuples()
        )
        cells = (_part(column.rows, column.not_recorded), *([sites] if by_site else []))
        rows.append(Row(f"{_plain(column.table).capitalize()}: {_plain(column.column)}", cells))
    heads = ("What is asked", "Not recorded", *(["At each site"] if by_site else []))
    caption = "Most often not recorded"
    return Table("most-often", caption, heads, (Group("", tuple(rows)),), words=by_site)


def _plain(name: str) -> str:
    """A name of the layout in words: `weight in grams` for weight_g."""
    return re.sub(" g$", " in grams", name.replace("_", " "))


def not_recorded(quality: Quality) -> Table | None:
    """Rows columns of the export, columns sites: how many of the rows have nothing recorded there."""
    frame = quality.not_recorded
    if frame.empty:
        return None
    sites = [] if _many(frame) else sorted(frame["site"].unique())
    cells = {(row.table, row.column, row.site): (row.rows, row.not_recorded) for row in frame.itertuples(index=False)}
    sums = frame.groupby(["table", "column"], sort=False)[["rows", "not_recorded"]].sum()
    groups: dict[str, list[Row]] = {}
    for (table, column), whole in sums.iterrows():
        counted = [cells.get((table, column, site), (0, 0)) for site in sites]
        parts = [(int(whole["rows"]), int(whole["not_recorded"])), *counted]
        groups.setdefault(table, []).append(Row(column, tuple(_part(of, missing) for of, missing in parts)))
    heads = ("Column", "All sites", *map(str, sites))
    caption = "Not recorded, by column and by site" if sites else "Not recorded, by column"
    return Table("not-recorded", caption, heads, tuple(Group(table, tuple(rows)) for table, rows in groups.items()))


def not_recorded_by_site(quality: Quality) -> tuple[Table, ...]:
    """Where sites are too many to stand side by side they are the rows; of the columns those that lack anything."""
    frame = quality.not_recorded
    if not _many(frame):
        return ()
    tables = []
    for name, own in frame.groupby("table", sort=False):
        lacks = own.groupby("column", sort=False)["not_recorded"].sum()
        columns = [str(column) for column, missing in lacks.items() if missing]
        parts = [columns[at : at + COLUMNS_A_TABLE] for at in range(0, len(columns), COLUMNS_A_TABLE)]
        for number, part in enumerate(parts, 1):
            of_parts = f", part {number} of {len(parts)}" if len(parts) > 1 else ""
            rows = []
            for site, here in own[own["column"].isin(part)].groupby("site", sort=True):
                by_column = {row.column: (row.rows, row.not_recorded) for row in here.itertuples(index=False)}
                counted = [by_column.get(column, (0, 0)) for column in part]
                lacking = (f"{missing} ({percent(missing / of)})" if of else "" for of, missing in counted)
                rows.append(Row(str(site), (str(max(of for of, _ in counted)), *lacking)))
            heads = ("Site", "Rows", *(column.replace("_", " ") for column in part))
            caption = f"{name}: not recorded, by site{of_parts}"
            tables.append(Table(f"not-recorded-{name}-{number}", caption, heads, (Group("", tuple(rows)),)))
    return tuple(tables)


def _many(frame: pd.DataFrame) -> bool:
    return bool(frame["site"].nunique() > SITES_IN_A_LINE)


def _part(of: int, missing: int) -> str:
    return "no rows" if of == 0 else f"{missing} of {of} ({percent(missing / of)})"
