"""One measure by level, several breakdowns one under the other, for a phone, described as a Plotly figure.

Comes in: rows of levels with their results. Goes out: a figure with every place stated. Refuses: to
order levels by their figures; a level without a figure keeps its place.
"""

from __future__ import annotations

from collections.abc import Sequence

from pipeline.outcomes.lookup import Result
from pipeline.report.charts.looks import BLACK, BLUE, INK, NARROW, PAPER, axis, layout, note, plain
from pipeline.report.charts.over_time import bars, open_range, values
from pipeline.report.charts.plotly_lists import Figure, scatter_of
from pipeline.report.charts.summary_charts import points
from pipeline.report.words.sentences import percent

Groups = Sequence[tuple[str, Sequence[tuple[str, Result | None]]]]
_HEAD, _ROW = 1.35, 34  # the height of a breakdown's title, in rows, and of a row


def by_level(groups: Groups, everyone: Result | None) -> Figure:
    """A dot and its interval a level; above it the level's name and the counts behind it."""
    margin = (12, 20, 4, 30)
    height = sum(_HEAD + len(levels) for _, levels in groups)
    labels, places, results, at = [], [], [], height
    for title, levels in groups:
        labels.append(note(plain(title), 0.0, at - _HEAD / 2, xref="paper", font={"color": INK, "weight": 600}))
        at -= _HEAD
        for level, result in levels:
            at -= 1.0
            places.append(at + 0.3)
            results.append(result)
            words = f"{plain(level)}: {_figure(result)}"
            labels.append(note(words, 0.0, at + 0.3, xref="paper", yshift=13, font={"color": INK}))
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
            NARROW,
            round(_ROW * height) + margin[2] + margin[3],
            margin,
            xaxis=axis(NARROW, (0.0, 1.0), ticks, grid=True),
            yaxis=axis(NARROW, (0.0, height), [], grid=False) | {"showline": False},
            annotations=labels,
        ),
    )


def _figure(result: Result | None) -> str:
    if result is None or result.eligible == 0:
        return "none to count"
    if result.value is None:
        return "no figure"
    of = f", {result.met} of {result.of}" if result.bound_low is not None else f" of {result.eligible}"
    return percent(result.value) + of
