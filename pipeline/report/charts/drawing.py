"""A Plotly figure into a static SVG.

Comes in: a figure that states its size, margins, ranges, ticks and label places, and the words for those who cannot
see it. Goes out: one <svg> with fixed ids. Refuses: any trace type or attribute it does not know, by name, so that
the drawing on the page and the same figure elsewhere cannot drift apart.
"""

from __future__ import annotations

import html
from dataclasses import dataclass

from pipeline.plain_text import without_unseen_signs
from pipeline.report.charts.drawing_flow import sankey
from pipeline.report.charts.drawing_scatter import Scale, scatter
from pipeline.report.charts.looks import FONT
from pipeline.report.charts.plotly_lists import Figure, Stated, array, just, only
from pipeline.report.charts.svg import Box, Label, label, labels, number, paint, path

_LAYOUT = ("width", "height", "margin", "font", "xaxis", "yaxis", "annotations", "showlegend")
_AXIS = ("range", "tickvals", "ticktext", "tickfont", "showgrid", "gridcolor", "showline", "linecolor", "zeroline")
_NOTE = ("text", "x", "y", "xref", "yref", "xanchor", "yanchor", "xshift", "yshift", "showarrow", "font", "align")
_TICK_GAP = 8.0  # from the plot to its tick labels


@dataclass(frozen=True)
class Words:
    """What stands for the drawing when it is not seen; `key` begins the ids and is unique in the page."""

    key: str
    title: str
    description: str  # empty where another drawing of the page holds it: described_by
    css: str  # the class that says when this drawing shows
    described_by: str = ""  # the id of that description


def draw(figure: Figure, words: Words) -> str:
    """Draw the figure as one <svg>."""
    layout = only(figure.layout, "layout", _LAYOUT)
    just(layout, "layout", "showlegend", (False,))
    font = only(layout["font"], "layout.font", ("family", "size", "color"))
    # The page's stylesheet sets this very family on every drawing, which is shorter than each saying it.
    just(font, "layout.font", "family", (FONT,))
    margin = only(layout["margin"], "layout.margin", ("l", "r", "t", "b"))
    width, height = float(layout["width"]), float(layout["height"])
    box = Box(margin["l"], margin["t"], width - margin["l"] - margin["r"], height - margin["t"] - margin["b"])
    scale = Scale(box, _range(layout, "xaxis"), _range(layout, "yaxis"))
    body = _axis(layout, "xaxis", scale) + _axis(layout, "yaxis", scale)
    for place, trace in enumerate(figure.data):
        where = f"data[{place}]"
        kind = trace["type"]
        if kind == "scatter":
            body += scatter(trace, where, scale)
        elif kind == "sankey":
            body += sankey(trace, where, box)
        else:
            raise ValueError(f"cannot be drawn: {where} is a {kind} trace")
    body += _notes(layout, scale, font)
    ids = f"{words.key}-title", words.described_by or f"{words.key}-desc"
    described = html.escape(without_unseen_signs(words.description))
    description = "" if words.described_by else f'<desc id="{ids[1]}">{described}</desc>'
    return (
        f'<svg class="{words.css}" viewBox="0 0 {number(width)} {number(height)}" role="img"'
        f' aria-labelledby="{ids[0]} {ids[1]}"'
        f"{paint(font_size=font['size'], fill=font['color'])}>"
        f'<title id="{ids[0]}">{html.escape(without_unseen_signs(words.title))}</title>'
        f"{description}{body}</svg>"
    )


def _range(layout: Stated, name: str) -> tuple[float, float]:
    axis = layout.get(name)
    if axis is None:
        return 0.0, 1.0  # a flow has no axes
    first, last = array(axis, f"layout.{name}", "range")
    return float(first), float(last)


def _axis(layout: Stated, name: str, scale: Scale) -> str:
    if name not in layout:
        return ""
    where = f"layout.{name}"
    axis = only(layout[name], where, _AXIS)
    just(axis, where, "zeroline", (False,))
    font = only(axis["tickfont"], f"{where}.tickfont", ("size", "color"))
    values, shown = array(axis, where, "tickvals"), array(axis, where, "ticktext")
    if len(values) != len(shown):
        raise ValueError(f"cannot be drawn: {where} has {len(values)} ticks and {len(shown)} labels")
    box, across = scale.box, name == "xaxis"
    grid = ""
    texts: list[Label] = []
    for value, text in zip(values, shown, strict=True):
        x, y = scale.x(value), scale.y(value)
        if across:
            grid += f"M{number(x)} {number(box.top)}V{number(box.bottom)}"
            texts.append(label(text, x, box.bottom + _TICK_GAP, font["size"], "top"))
        else:
            grid += f"M{number(box.left)} {number(y)}H{number(box.right)}"
            texts.append(label(text, box.left - _TICK_GAP, y, font["size"], "middle"))
    line = ""
    if axis.get("showline"):
        line = f"M{number(box.left)} {number(box.bottom)}" + (
            f"H{number(box.right)}" if across else f"V{number(box.top)}"
        )
    return (
        path(grid if axis.get("showgrid") else "", stroke=axis.get("gridcolor"))
        + path(line, stroke=axis.get("linecolor"))
        + labels(texts, font["size"], font["color"], "center" if across else "right")
    )


def _notes(layout: Stated, scale: Scale, font: Stated) -> str:
    """The labels of the figure's own, those that look alike in one group."""
    groups: dict[tuple[object, object, str, object], list[Label]] = {}
    for place, note in enumerate(layout.get("annotations", ())):
        where = f"layout.annotations[{place}]"
        only(note, where, _NOTE)
        just(note, where, "showarrow", (False,))
        own = only(note.get("font", {}), f"{where}.font", ("size", "color", "weight"))
        box, size = scale.box, own.get("size", font["size"])
        x = box.left + note["x"] * box.width if note["xref"] == "paper" else scale.x(note["x"])
        y = box.bottom - note["y"] * box.height if note["yref"] == "paper" else scale.y(note["y"])
        # Plotly shifts upwards, SVG counts downwards.
        text = label(note["text"], x + note.get("xshift", 0), y - note.get("yshift", 0), size, note["yanchor"])
        look = None if size == font["size"] else size, own.get("color"), note["xanchor"], own.get("weight")
        groups.setdefault(look, []).append(text)
    return "".join(labels(texts, *look) for look, texts in groups.items())
