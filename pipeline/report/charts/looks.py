"""The looks that all figures share: two sizes, the palette, axes and labels.

Comes in: what one figure wants of an axis or a label. Goes out: plain dictionaries for a Plotly layout. It holds
no numbers of a service.
"""

from __future__ import annotations

import html
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

BLUE, ORANGE, BLACK, GREY = "#0072B2", "#D55E00", "#000000", "#595959"
LINES = (BLUE, ORANGE, BLACK, GREY)  # for lines side by side, in this order
PAPER = "#FDFCFA"  # of the page: the inside of a hollow mark
INK, RULE, BAND, BAND_EDGE = "#1F1D1A", "#E3DED4", "#E6DFD0", "#857C6B"
HALF = "#6292B5"  # the middle half of days: a broad bar, so that nobody takes it for an interval
TOPS = (0.1, 0.2, 0.5, 1.0)  # the heights a share's axis may have: small shares stay readable, and few scales
FONT = "'Segoe UI', Roboto, 'Helvetica Neue', Arial, 'Liberation Sans', system-ui, sans-serif"


@dataclass(frozen=True)
class Frame:
    """One of the two sizes a figure is drawn in."""

    name: str
    width: int
    font: int
    ticks: int  # the size of what an axis says
    over_time: int  # the height of a chart over time, and of how a wait went
    curve: int
    narrow: bool


WIDE = Frame("wide", 720, 13, 12, 270, 210, narrow=False)
NARROW = Frame("narrow", 340, 12, 12, 184, 150, narrow=True)  # on paper as wide as 7 cm: its letters are 7 pt


def plain(text: str) -> str:
    """A name as a label: Plotly reads a few tags in text, so the signs that begin one are spelt out."""
    return html.escape(text, quote=False)


def layout(frame: Frame, height: int, margin: tuple[int, int, int, int], **more: Any) -> dict[str, Any]:
    """Margin is left, right, top, bottom."""
    left, right, top, bottom = margin
    return {
        "width": frame.width,
        "height": height,
        "margin": {"l": left, "r": right, "t": top, "b": bottom},
        "font": {"family": FONT, "size": frame.font, "color": INK},
        "showlegend": False,
        **more,
    }


def axis(frame: Frame, span: tuple[float, float], ticks: list[tuple[float, str]], grid: bool) -> dict[str, Any]:
    """Give an axis with its range and its labelled ticks; either it has a grid or a line."""
    return {
        "range": list(span),
        "tickvals": [value for value, _ in ticks],
        "ticktext": [text for _, text in ticks],
        "tickfont": {"size": frame.ticks, "color": GREY},
        "showgrid": grid,
        "gridcolor": RULE,
        "showline": not grid,
        "linecolor": GREY,
        "zeroline": False,
    }


def ends_named(wanted: Sequence[tuple[float, str, str]], top: float, room: int, frame: Frame) -> list[dict[str, Any]]:
    """Values, their words and colours, named at the right edge where they end, moved apart if they would touch."""
    least = 2.7 * frame.font
    heights = apart([value / top * room for value, _, _ in wanted], least, least / 2, room - least / 4)
    return [
        note(text, 1.0, height / room, xref="paper", yref="paper", xshift=4, font={"color": colour})
        for (_, text, colour), height in zip(wanted, heights, strict=True)
    ]


def note(text: str, x: float, y: float, anchor: str = "left", **more: Any) -> dict[str, Any]:
    """A label at a place of its own, in the units of the axes unless it says paper."""
    return {
        "text": text,
        "x": x,
        "y": y,
        "xref": "x",
        "yref": "y",
        "xanchor": anchor,
        "yanchor": "middle",
        "align": anchor,
        "showarrow": False,
        **more,
    }


def apart(wanted: list[float], least: float, low: float, high: float) -> list[float]:
    """Places for labels, as near to the wanted ones as can be, each `least` from the next, from low to high.

    Counted upwards, in the order given back as they came. Assumes the room is enough for all of them.
    """
    order = sorted(range(len(wanted)), key=lambda place: (wanted[place], place))
    placed: list[float] = []
    for rank, place in enumerate(order):
        floor = placed[-1] + least if placed else low
        ceiling = high - least * (len(order) - 1 - rank)
        # Half of a shortage is taken below, so that two labels part about their middle.
        ahead = wanted[order[rank + 1]] - wanted[place] if rank + 1 < len(order) else least
        placed.append(min(max(wanted[place] - max(0.0, least - ahead) / 2, floor), ceiling))
    back = dict(zip(order, placed, strict=True))
    return [back[place] for place in range(len(wanted))]
