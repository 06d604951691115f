"""Each site beside all the others, a panel a measure, described as a Plotly figure: one scale, every place stated.

Comes in: panels of sites in the order in which they are to stand, and the size. Goes out: a figure. Refuses: to order
sites by their figures; a site without a figure keeps its place.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from pipeline.report.charts.looks import BAND, BAND_EDGE, BLACK, BLUE, INK, ORANGE, Frame, axis, layout, note, plain
from pipeline.report.charts.plotly_lists import Figure, scatter_of

_HEAD, _GAP = 1.5, 0.5  # in rows: a panel's title, and the room under it
_NAMES, _ROOM = 0.64, 0.12  # the room of the names, and that between columns; the scale from nought to all is 1
_LONGEST, _TITLE = 20, 46  # signs of a name and of a title; the table has the whole
_TICKS = ((0.0, "0%"), (0.5, "50%"), (1.0, "100%"))

Points = Sequence[tuple[float, float]]


@dataclass(frozen=True)
class SiteDot:
    """One site: its share, from where to where chance alone takes it, and whether it is outside."""

    name: str
    share: float | None
    chance: tuple[float, float] | None
    outside: bool


@dataclass(frozen=True)
class Panel:
    """One measure: its sites, and the share of everyone."""

    title: str
    sites: tuple[SiteDot, ...]
    everyone: float | None


def site_panels(panels: Sequence[Panel], frame: Frame) -> Figure:
    """Panels in one column, or in two where there is room; read along the rows."""
    columns, step = 1 if frame.narrow else 2, 1 + _NAMES + _ROOM
    rows = [panels[at : at + columns] for at in range(0, len(panels), columns)]
    heights = [_HEAD + max(len(panel.sites) for panel in row) + _GAP for row in rows]
    top = sum(heights)
    bands: list[tuple[float, float]] = []
    within: list[tuple[float, float]] = []
    outside: list[tuple[float, float]] = []
    lines: list[tuple[float, float]] = []
    labels = []
    for row, height in zip(rows, heights, strict=True):
        for column, panel in enumerate(row):
            left = column * step
            title = {"color": INK, "weight": 600}
            labels.append(note(plain(_short(panel.title, _TITLE)), left - _NAMES, top - _HEAD / 2, font=title))
            for at, site in enumerate(panel.sites):
                y = top - _HEAD - at - 0.5
                labels.append(note(plain(_short(site.name, _LONGEST)), left - _NAMES, y, font={"color": INK}))
                bands += [(left + x, y) for x in site.chance or ()]
                if site.share is not None:
                    (outside if site.outside else within).append((left + site.share, y))
            if panel.everyone is not None:
                lines += [(left + panel.everyone, y) for y in (top - _HEAD, top - _HEAD - len(panel.sites))]
        top -= height
    ticks = [(at + column * step, text) for column in range(columns) for at, text in _TICKS]
    return Figure(
        data=[
            _pairs(bands, {"color": BAND, "width": 11}),
            _marks(bands, {"symbol": "line-ns-open", "size": 11, "line": {"color": BAND_EDGE, "width": 1}}),
            _pairs(lines, {"color": BLACK, "width": 1, "dash": "dot"}),
            _dots(within, "circle", BLUE),
            _dots(outside, "diamond", ORANGE),
        ],
        layout=layout(
            frame,
            round(20 * sum(heights)) + 30,
            (4, 18, 4, 26),
            xaxis=axis(frame, (-_NAMES, columns * step - _NAMES - _ROOM), ticks, grid=True),
            yaxis=axis(frame, (0.0, sum(heights)), [], grid=False) | {"showline": False},
            annotations=labels,
        ),
    )


def _short(name: str, signs: int) -> str:
    return name if len(name) <= signs else f"{name[: signs - 1].rstrip()}…"


def _pairs(points: Points, line: dict[str, Any]) -> dict[str, Any]:
    """A line from each first point to the second, a gap before the next."""
    xs: list[float | None] = []
    ys: list[float | None] = []
    for at, (x, y) in enumerate(points):
        gap = [None] if at % 2 else []
        xs, ys = [*xs, x, *gap], [*ys, y, *gap]
    return scatter_of(xs, ys, "lines", line=line)


def _marks(points: Points, marker: dict[str, Any]) -> dict[str, Any]:
    return scatter_of([x for x, _ in points], [y for _, y in points], "markers", marker=marker)


def _dots(points: Points, symbol: str, colour: str) -> dict[str, Any]:
    look = {"symbol": symbol, "size": 9, "color": [colour] * len(points), "line": {"color": colour, "width": 2}}
    return _marks(points, look)
