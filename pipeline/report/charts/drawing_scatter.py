"""Points, lines and error bars of one scatter trace.

Comes in: what the trace states, and the scale of the plot. Goes out: SVG paths, one a kind of mark. Refuses: an
attribute, mode, symbol, dash or line shape it does not draw.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from pipeline.report.charts.plotly_lists import Stated, array, just, one_each, only
from pipeline.report.charts.svg import DASHES, Box, number, paint, path

# `name`, `hoverinfo` and `showlegend` say nothing a static drawing could show.
_TRACE = ("type", "x", "y", "mode", "line", "marker", "error_x", "error_y", "name", "hoverinfo", "showlegend")
_ERROR = ("type", "symmetric", "array", "arrayminus", "color", "thickness", "width")
_MODES = ("lines", "markers", "lines+markers")
_SYMBOLS = ("circle", "diamond", "line-ew-open", "line-ns-open")


@dataclass(frozen=True)
class Scale:
    """The plot's ranges on its box: straight lines both ways, the upright one counting upwards."""

    box: Box
    across: tuple[float, float]
    upright: tuple[float, float]

    def x(self, value: float) -> float:
        """Where a value lies across."""
        first, last = self.across
        return self.box.left + (value - first) / (last - first) * self.box.width

    def y(self, value: float) -> float:
        """Where a value lies upwards, counted downwards as SVG does."""
        first, last = self.upright
        return self.box.bottom - (value - first) / (last - first) * self.box.height


def scatter(trace: Stated, where: str, scale: Scale) -> str:
    """Draw the line, then the error bars, then the marks over both."""
    only(trace, where, _TRACE)
    just(trace, where, "mode", _MODES)
    xs, ys = array(trace, where, "x"), array(trace, where, "y")
    if len(xs) != len(ys):
        raise ValueError(f"cannot be drawn: {where} has {len(xs)} x and {len(ys)} y")
    places = [None if x is None or y is None else (scale.x(x), scale.y(y)) for x, y in zip(xs, ys, strict=True)]
    out = _line(trace.get("line", {}), f"{where}.line", places) if "lines" in trace["mode"] else ""
    for name in ("error_x", "error_y"):
        if name in trace:
            out += _errors(trace[name], f"{where}.{name}", xs, ys, scale, name == "error_x")
    if "markers" in trace["mode"]:
        out += _markers(trace["marker"], f"{where}.marker", places)
    return out


Place = tuple[float, float] | None


def _line(line: Stated, where: str, places: Sequence[Place]) -> str:
    only(line, where, ("color", "width", "dash", "shape"))
    just(line, where, "dash", tuple(DASHES))
    just(line, where, "shape", ("linear", "hv"))
    steps, drawing, before = "", False, ""
    for place in places:
        if place is None:
            drawing = False  # a gap stays a gap
            continue
        x, y = number(place[0]), number(place[1])
        if not drawing:
            steps += f"M{x} {y}"
        elif line.get("shape") == "hv":
            steps += f"H{x}V{y}"
        else:
            steps += f"V{y}" if x == before else f"L{x} {y}"
        drawing, before = True, x
    dash = DASHES[line.get("dash", "solid")]
    return path(steps, fill="none", stroke=line["color"], stroke_width=float(line["width"]), stroke_dasharray=dash)


def _errors(
    error: Stated, where: str, xs: Sequence[float | None], ys: Sequence[float | None], scale: Scale, across: bool
) -> str:
    only(error, where, _ERROR)
    just(error, where, "type", ("data",))
    just(error, where, "symmetric", (False,))
    above, below = array(error, where, "array"), array(error, where, "arrayminus")
    cap, steps = float(error["width"]), ""
    for x, y, more, less in zip(xs, ys, above, below, strict=True):
        if x is None or y is None or more is None or less is None:
            continue
        if across:
            first, last, level = scale.x(x - less), scale.x(x + more), scale.y(y)
            steps += f"M{number(first)} {number(level)}H{number(last)}"
            ends = [f"M{number(end)} {number(level - cap)}v{number(2 * cap)}" for end in (first, last)]
        else:
            first, last, level = scale.y(y - less), scale.y(y + more), scale.x(x)
            steps += f"M{number(level)} {number(first)}V{number(last)}"
            ends = [f"M{number(level - cap)} {number(end)}h{number(2 * cap)}" for end in (first, last)]
        steps += "".join(ends) if cap else ""
    return path(steps, fill="none", stroke=error["color"], stroke_width=float(error["thickness"]))


def _markers(marker: Stated, where: str, places: Sequence[Place]) -> str:
    """One group a colour, in the order met; marks that are only strokes make one path."""
    only(marker, where, ("symbol", "color", "size", "line"))
    edge = only(marker.get("line", {}), f"{where}.line", ("color", "width"))
    symbols, colours = one_each(marker.get("symbol", "circle"), len(places)), one_each(marker.get("color"), len(places))
    half = float(marker["size"]) / 2
    strokes, filled, dots = "", dict.fromkeys(colours, ""), dict.fromkeys(colours, "")
    for place, symbol, colour in zip(places, symbols, colours, strict=True):
        just({"symbol": symbol}, where, "symbol", _SYMBOLS)
        if place is None:
            continue
        x, y = place
        if symbol == "circle":
            dots[colour] += f"M{number(x)} {number(y)}h0"
        elif symbol == "diamond":
            right, left = number(half), number(-half)
            filled[colour] += path(f"M{number(x)} {number(y - half)}l{right} {right} {left} {right} {left} {left}z")
        elif symbol == "line-ew-open":
            strokes += f"M{number(x - half)} {number(y)}h{number(2 * half)}"
        else:
            strokes += f"M{number(x)} {number(y - half)}v{number(2 * half)}"
    look = paint(stroke=edge.get("color"), stroke_width=edge.get("width"))
    groups = "".join(f"<g{paint(fill=colour)}{look}>{marks}</g>" for colour, marks in filled.items() if marks)
    round_ones = "".join(_dots(marks, colour, edge, 2 * half) for colour, marks in dots.items())
    return path(strokes, stroke=edge.get("color"), stroke_width=edge.get("width")) + groups + round_ones


def _dots(marks: str, colour: object, edge: Stated, size: float) -> str:
    """Circles as strokes of no length with round ends, the edge first, the inside over it: a third of the bytes."""
    width = float(edge.get("width", 0))
    outside = path(marks, stroke=edge.get("color", colour), stroke_width=size + width, stroke_linecap="round")
    inside = colour not in (None, edge.get("color", colour))
    return outside + (path(marks, stroke=colour, stroke_width=size - width, stroke_linecap="round") if inside else "")
