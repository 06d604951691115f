"""Groups down the side, measures across: every measure on one scale from nought to all, described as a Plotly figure.

Comes in: measures, each with the same breakdowns and levels in the same order. Goes out: a figure. Refuses: to order
groups by their figures; a group without a figure keeps its place.
"""

from __future__ import annotations

import math
import textwrap
from collections.abc import Sequence
from dataclasses import dataclass, replace

from pipeline.outcomes.lookup import Result
from pipeline.report.charts.by_level import Groups
from pipeline.report.charts.looks import BLACK, BLUE, GREY, INK, PAPER, RULE, WIDE, axis, layout, note, plain
from pipeline.report.charts.over_time import bars, open_range, values
from pipeline.report.charts.plotly_lists import Figure, scatter_of
from pipeline.report.charts.summary_charts import points
from pipeline.report.words.sentences import percent

_ABREAST, _SCALE, _ROW = 4, 96, 17  # measures at most; points from nought to all, and of a row
_NAMES, _COUNTS, _GAP = 1.95, 0.72, 0.16  # beside a scale of 1: the groups' names, the counts behind a dot, and room
_HEAD, _TITLE, _FEET = 1.25, 18, 22  # rows of a breakdown's title; points of a line of a measure's, and of the ticks
_LONGEST, _WRAPPED = 30, 22  # signs of a group's name, and of a line of a measure's title; the tables have the whole


@dataclass(frozen=True)
class Column:
    """One measure by group."""

    title: str
    groups: Groups
    everyone: Result | None


def rows_of_measures(columns: Sequence[Column]) -> list[Sequence[Column]]:
    """As many abreast as there is room for, and no row much shorter than the others."""
    abreast = math.ceil(len(columns) / max(1, math.ceil(len(columns) / _ABREAST)))
    return [columns[at : at + abreast] for at in range(0, len(columns), abreast or 1)]


def group_matrix(columns: Sequence[Column]) -> Figure:
    """A dot and its interval a group and measure, the counts at its right; everyone is a dotted line."""
    groups = columns[0].groups
    height = sum(_HEAD + len(levels) for _, levels in groups)
    titles = [textwrap.wrap(column.title, _WRAPPED) for column in columns]
    top = _TITLE * max(len(lines) for lines in titles)
    step = 1 + _COUNTS + _GAP
    right, whole = (step * many - _GAP for many in (len(columns), _ABREAST))  # every row of measures has one width
    bold = {"color": INK, "weight": 600}
    labels, rules, at, tops = [], [], height, []
    for title, levels in groups:
        rules += [(-_NAMES, at), (right, at)]
        labels.append(note(plain(title), -_NAMES, at - _HEAD / 2, font=bold))
        at -= _HEAD
        tops.append(at)
        for place, (level, _) in enumerate(levels):
            labels.append(note(plain(_short(level)), -_NAMES, at - place - 0.5, font={"color": INK}))
        at -= len(levels)
    ticks, everyone, places, results = [], [], [], []
    for number, (column, lines) in enumerate(zip(columns, titles, strict=True)):
        left = number * step
        words = "<br>".join(plain(line) for line in lines)
        labels.append(note(words, left, height + top / _ROW, yanchor="top", font=bold))
        ticks += [(left, "0%"), (left + 0.5, "50%"), (left + 1, "100%")]
        if column.everyone is not None and column.everyone.value is not None:
            everyone += [(left + column.everyone.value, y) for y in (0.0, height)]
        for first, (_, levels) in zip(tops, column.groups, strict=True):
            for place, (_, result) in enumerate(levels):
                y = first - place - 0.5
                places.append(y)
                results.append(_moved(result, left))
                counts, colour = _counts(result)
                labels.append(note(counts, left + 1, y, xshift=11, font={"color": colour, "size": WIDE.font - 1}))
    look = [PAPER if result is not None and not result.complete else BLUE for result in results]
    return Figure(
        data=[
            _pairs(rules, RULE, "solid"),
            _pairs([(at, y) for at, _ in ticks for y in (0.0, height)], RULE, "solid"),
            _pairs(everyone, BLACK, "dot"),
            open_range(places, results, across=True),
            points(values(results), places, "circle", look, BLUE, 8) | {"error_x": bars(results)},
        ],
        layout=layout(
            replace(WIDE, width=round((_NAMES + whole) * _SCALE)),
            round(_ROW * height) + top + _FEET,
            (0, 0, top, _FEET),
            xaxis=axis(WIDE, (-_NAMES, whole), ticks, grid=False) | {"showline": False},
            yaxis=axis(WIDE, (0.0, height), [], grid=False) | {"showline": False},
            annotations=labels,
        ),
    )


def _short(name: str) -> str:
    return name if len(name) <= _LONGEST else f"{name[: _LONGEST - 1].rstrip()}…"


def _moved(result: Result | None, by: float) -> Result | None:
    """The same result, drawn in a column further to the right."""
    if result is None:
        return None
    names = "value", "lower", "upper", "bound_low", "bound_high"
    there = {name: value + by for name in names if (value := getattr(result, name)) is not None}
    return replace(result, **there)


def _counts(result: Result | None) -> tuple[str, str]:
    if result is None or result.eligible == 0:
        return "none", GREY
    if result.value is None:
        return "no figure", GREY
    if result.bound_low is None:
        return f"{percent(result.value)} of {result.eligible}", BLUE
    return f"{result.met} of {result.of}", BLUE


def _pairs(ends: Sequence[tuple[float, float]], colour: str, dash: str) -> dict[str, object]:
    """A line from each first end to the second, a gap before the next."""
    xs: list[float | None] = []
    ys: list[float | None] = []
    for at in range(0, len(ends), 2):
        (x, y), (to_x, to_y) = ends[at : at + 2]
        xs, ys = [*xs, x, to_x, None], [*ys, y, to_y, None]
    return scatter_of(xs, ys, "lines", line={"color": colour, "width": 1, "dash": dash})
