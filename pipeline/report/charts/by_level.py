"""One measure by level, several breakdowns one under the other, described as a Plotly figure.

Comes in: rows of levels with their results, and the size. Goes out: a figure with every place stated. Refuses: to
order levels by their figures; a level without a figure keeps its place.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from pipeline.outcomes.lookup import Result
from pipeline.report.charts.looks import BLACK, BLUE, GREY, INK, PAPER, Frame, axis, layout, note, plain
from pipeline.report.charts.over_time import bars, open_range, values
from pipeline.report.charts.plotly_lists import Figure, scatter_of
from pipeline.report.charts.summary_charts import points
from pipeline.report.words.sentences import percent

Groups = Sequence[tuple[str, Sequence[tuple[str, Result | None]]]]
_HEAD = 1.35  # the height of a breakdown's title, in rows


def by_level(groups: Groups, everyone: Result | None, frame: Frame) -> Figure:
    """A dot and its interval a level; at the right the counts behind it."""
    row = 34 if frame.narrow else 23
    margin = (8, 24, 4, 30) if frame.narrow else (190, 126, 4, 30)
    height = sum(_HEAD + len(levels) for _, levels in groups)
    labels, places, results, at = [], [], [], height
    for title, levels in groups:
        side: dict[str, Any] = {"xref": "paper", "xshift": 0 if frame.narrow else -margin[0] + 2}
        labels.append(note(plain(title), 0.0, at - _HEAD / 2, font={"color": INK, "weight": 600}, **side))
        at -= _HEAD
        for level, result in levels:
            at -= 1.0
            place = at + (0.3 if frame.narrow else 0.5)
            places.append(place)
            results.append(result)
            figure, colour = _at_the_end(result)
            if frame.narrow:  # there is no room at the sides: both stand above the line
                words = f"{plain(level)}: {figure}"
                labels.append(note(words, 0.0, place, xref="paper", yshift=13, font={"color": INK}))
                continue
            labels.append(note(plain(level), 0.0, place, xref="paper", xshift=-margin[0] + 2, font={"color": INK}))
            labels.append(note(figure, 1.0, place, xref="paper", xshift=10, font={"color": colour}))
    hollow = [result is not None and not result.complete for result in results]
    main = points(values(results), places, "circle", [PAPER if so_far else BLUE for so_far in hollow], BLUE, 9)
    traces = [open_range(places, results, across=True), main | {"error_x": bars(results)}]
    if everyone is not None and everyone.value is not None:
        line = {"color": BLACK, "width": 1, "dash": "dot"}
        traces.insert(0, scatter_of([everyone.value] * 2, [0.0, height], "lines", line=line))
    ticks = [(0.0, "0%"), (0.25, "25%"), (0.5, "50%"), (0.75, "75%"), (1.0, "100%")]
    return Figure(
        data=traces,
        layout=layout(
            frame,
            round(row * height) + margin[2] + margin[3],
            margin,
            xaxis=axis(frame, (0.0, 1.0), ticks, grid=True),
            yaxis=axis(frame, (0.0, height), [], grid=False) | {"showline": False},
            annotations=labels,
        ),
    )


def _at_the_end(result: Result | None) -> tuple[str, str]:
    if result is None or result.eligible == 0:
        return "none to count", GREY
    if result.value is None:
        return "no figure", GREY
    of = f", {result.met} of {result.known}" if result.bound_low is not None else f" of {result.eligible}"
    return percent(result.value) + of, BLUE
