"""The two figures of the summary: the flow of everyone first seen, and the primary measures side by side.

Comes in: the flow's cells or the measures' results, and the size. Goes out: Plotly figures with every place stated.
Refuses: to leave out a case: nodes hold the cells' own counts, and only a group of nought is not drawn.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from textwrap import wrap
from typing import Any

from pipeline.contracts.measure_files import Measure
from pipeline.contracts.query_files import ROUTES, SIX_WEEKS
from pipeline.outcomes.lookup import Result
from pipeline.report.charts.looks import BLACK, BLUE, GREY, INK, ORANGE, PAPER, RULE, Frame, axis, layout, note, plain
from pipeline.report.charts.over_time import bars, open_range, values
from pipeline.report.charts.plotly_lists import Figure, scatter_of
from pipeline.report.words.labels import Wording
from pipeline.report.words.sentences import percent

Cells = Mapping[tuple[str, str], int]
_NODE = 10
_STEM, _ROUTE = "#EBE6DB", "#3D3A35"
# A node's own colour, then its bands': the same colour thinned, so that what arrives can be followed back.
_STATES = {
    "exclusive": (BLUE, "rgba(0,114,178,0.62)"),
    "partial": ("#4793BF", "rgba(0,114,178,0.34)"),
    "none": (ORANGE, "rgba(213,94,0,0.55)"),
    "no_answer": (GREY, "rgba(89,89,89,0.45)"),
    "not_yet_due": ("#7D776C", "rgba(89,89,89,0.24)"),
    "outside": ("#98917F", "rgba(89,89,89,0.14)"),
}


@dataclass(frozen=True)
class Node:
    """A group of cases and the middle of its place, as shares of the plot."""

    name: str
    cases: int
    x: float
    y: float
    colour: str


def flow(cells: Cells, wording: Wording, frame: Frame) -> Figure:
    """From first contact (left out where there is no room for it) through the route to six weeks."""
    routes = [(route, sum(cells.get((route, state), 0) for state in SIX_WEEKS)) for route in ROUTES]
    states = [(state, sum(cells.get((route, state), 0) for route in ROUTES)) for state in SIX_WEEKS]
    columns = [[pair for pair in column if pair[1]] for column in (routes, states)]
    height, margin, pad = (470, (94, 98, 14, 14), 28.0) if frame.narrow else (290, (6, 176, 40, 8), 19.0)
    room = float(height - margin[2] - margin[3])
    fullest = max(len(column) for column in columns)
    scale = (room - (fullest - 1) * pad) / sum(cases for _, cases in routes)
    x_route = 0.001 if frame.narrow else 0.44
    nodes = _column(columns[0], x_route, dict.fromkeys(ROUTES, _ROUTE), scale, room, pad)
    nodes += _column(columns[1], 0.999, {state: look[0] for state, look in _STATES.items()}, scale, room, pad)
    at = {node.name if node.x < 0.9 else f"at {node.name}": place for place, node in enumerate(nodes)}
    links = [
        (at[route], at[f"at {state}"], cells[route, state], _STATES[state][1])
        for route in ROUTES
        for state in SIX_WEEKS
        if cells.get((route, state), 0)
    ]
    if not frame.narrow:
        nodes.append(Node("", sum(cases for _, cases in routes), 0.001, 0.5, _ROUTE))
        links += [(len(nodes) - 1, at[route], cases, _STEM) for route, cases in columns[0]]
    return Figure(
        data=[
            {
                "type": "sankey",
                "arrangement": "fixed",
                "orientation": "h",
                "hoverinfo": "skip",
                "node": {
                    "x": [node.x for node in nodes],
                    "y": [node.y for node in nodes],
                    "thickness": _NODE,
                    "pad": pad,
                    "color": [node.colour for node in nodes],
                    "line": {"width": 0},
                },
                "link": {
                    "source": [link[0] for link in links],
                    "target": [link[1] for link in links],
                    "value": [link[2] for link in links],
                    "color": [link[3] for link in links],
                },
            }
        ],
        layout=layout(frame, height, margin, annotations=_flow_labels(nodes, wording, frame)),
    )


def _column(
    pairs: list[tuple[str, int]], x: float, colours: Mapping[str, str], scale: float, room: float, pad: float
) -> list[Node]:
    """Nodes from top to bottom in the middle of the height; y counts downwards, as Plotly has it for flows."""
    spare = room - sum(cases for _, cases in pairs) * scale
    gap = min(spare / (len(pairs) - 1), pad * 2.2) if len(pairs) > 1 else 0.0
    top = (spare - gap * (len(pairs) - 1)) / 2
    nodes = []
    for name, cases in pairs:
        nodes.append(Node(name, cases, x, (top + cases * scale / 2) / room, colours[name]))
        top += cases * scale + gap
    return nodes


def _flow_labels(nodes: list[Node], wording: Wording, frame: Frame) -> list[dict[str, Any]]:
    paper: dict[str, Any] = {"xref": "paper", "yref": "paper"}
    labels = []
    for node in nodes:
        if not node.name:
            continue
        last = node.x > 0.9
        text = plain(f"{(wording.six_weeks if last else wording.routes)[node.name]} {node.cases}")
        if frame.narrow:
            text = "<br>".join(wrap(text, 13))
        side, shift = ("left", _NODE / 2 + 6) if last else ("right", -_NODE / 2 - 6)
        labels.append(note(text, node.x, 1 - node.y, side, xshift=shift, **paper))
    if not frame.narrow:
        for head, x, side, shift in (
            ("First seen", 0.0, "left", -5),
            ("Where they stood", 0.44, "center", 0),
            ("At six weeks", 1.0, "left", 11),
        ):
            labels.append(note(head, x, 1.0, side, xshift=shift, yshift=22, font={"color": GREY}, **paper))
        labels.append(note(str(nodes[-1].cases), 0.0, 0.5, "left", xshift=12, font={"size": 22, "color": INK}, **paper))
    return labels


@dataclass(frozen=True)
class GlanceRow:
    """One measure of the summary figure."""

    measure: Measure
    now: Result | None
    year_before: Result | None
    standard: float | None


def glance(rows: Sequence[GlanceRow], frame: Frame) -> Figure:
    """One line a measure on one scale from nought to 100%: now, a year before, the standard, what is left open."""
    places = [float(len(rows) - 1 - place) for place in range(len(rows))]
    now, then = [row.now for row in rows], [row.year_before for row in rows]
    hollow = [result is not None and not result.complete for result in now]
    row_height, margin = (56, (10, 92, 16, 34)) if frame.narrow else (32, (222, 126, 4, 30))
    traces = [
        scatter_of(
            [end for _ in rows for end in (0.0, 1.0, None)],
            [at for place in places for at in (place, place, None)],
            "lines",
            line={"color": RULE, "width": 1},
            hoverinfo="skip",
        ),
        open_range(places, now, across=True),
        points(values(then), places, "diamond", [PAPER] * len(rows), GREY, 9),
        points([row.standard for row in rows], places, "line-ns-open", None, BLACK, 18),
    ]
    main = points(values(now), places, "circle", [PAPER if so_far else BLUE for so_far in hollow], BLUE, 10)
    labels = []
    for row, place in zip(rows, places, strict=True):
        title = plain(row.measure.title)
        if frame.narrow:
            labels.append(note(title, 0.0, place, xref="paper", yshift=20, font={"color": INK}))
        else:
            title = "<br>".join(wrap(title, 32))
            labels.append(note(title, 0.0, place, xref="paper", xshift=-margin[0] + 2, font={"color": INK}))
        if row.now is not None and row.now.value is not None:
            of = f"{row.now.met} of {row.now.of}" if row.now.bound_low is not None else f"of {row.now.eligible}"
            between = "<br>" if frame.narrow else " " if row.now.bound_low is None else ", "
            text, colour = f"{percent(row.now.value)}{between}{of}", BLUE
        else:
            text, colour = "no figure", GREY
        labels.append(note(text, 1.0, place, xref="paper", xshift=12, font={"color": colour}))
    ticks = [(0.0, "0%"), (0.25, "25%"), (0.5, "50%"), (0.75, "75%"), (1.0, "100%")]
    return Figure(
        data=[*traces, main | {"error_x": bars(now)}],
        layout=layout(
            frame,
            row_height * len(rows) + margin[2] + margin[3],
            margin,
            xaxis=axis(frame, (0.0, 1.0), ticks, grid=True),
            yaxis=axis(
                frame, (-0.4 if frame.narrow else -0.5, len(rows) - (0.4 if frame.narrow else 0.5)), [], grid=False
            )
            | {"showline": False},
            annotations=labels,
        ),
    )


def points(
    shares: Sequence[float | None], places: Sequence[float], symbol: str, fill: list[str] | None, edge: str, size: int
) -> dict[str, Any]:
    """Marks without a line between them."""
    marker: dict[str, Any] = {"symbol": symbol, "size": size, "line": {"color": edge, "width": 2}}
    if fill is not None:
        marker["color"] = fill
    return scatter_of(list(shares), list(places), "markers", marker=marker)
