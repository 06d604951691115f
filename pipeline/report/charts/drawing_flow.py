"""The bands and nodes of one sankey trace.

Comes in: what the trace states (every node's place, thickness and the gap between nodes), and the plot's box. Goes
out: SVG paths. Refuses: an attribute it does not draw, an automatic arrangement, a node off its place, and a flow in
which a node in the middle takes in more or less than it gives out.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from pipeline.report.charts.plotly_lists import Stated, array, just, one_each, only
from pipeline.report.charts.svg import Box, number, paint, path

_TRACE = ("type", "arrangement", "orientation", "node", "link", "hoverinfo")
_NODE = ("x", "y", "thickness", "pad", "color", "line", "label", "hoverinfo")
_LINK = ("source", "target", "value", "color", "hoverinfo")


@dataclass(frozen=True)
class Node:
    """A node where it is drawn."""

    left: float
    right: float
    top: float
    bottom: float
    colour: str


@dataclass(frozen=True)
class Link:
    """A band from one node to another."""

    source: int
    target: int
    value: float
    colour: str


def sankey(trace: Stated, where: str, box: Box) -> str:
    """Draw the bands first and the nodes over them."""
    only(trace, where, _TRACE)
    just(trace, where, "arrangement", ("fixed",))
    just(trace, where, "orientation", ("h",))
    links = _links(only(trace["link"], f"{where}.link", _LINK), f"{where}.link")
    node = only(trace["node"], f"{where}.node", _NODE)
    just(node, f"{where}.node", "line", ({"width": 0},))
    nodes, scale = _nodes(node, f"{where}.node", links, box)
    bands = _bands(links, nodes, scale)
    blocks = "".join(
        f'<rect x="{number(each_node.left)}" y="{number(each_node.top)}"'
        f' width="{number(each_node.right - each_node.left)}" height="{number(each_node.bottom - each_node.top)}"'
        f"{paint(fill=each_node.colour)}/>"
        for each_node in nodes
    )
    return bands + blocks


def _links(link: Stated, where: str) -> list[Link]:
    sources, targets, values = (array(link, where, name) for name in ("source", "target", "value"))
    colours = one_each(link["color"], len(values))
    return [
        Link(source, target, float(value), colour)
        for source, target, value, colour in zip(sources, targets, values, colours, strict=True)
    ]


def _nodes(node: Stated, where: str, links: list[Link], box: Box) -> tuple[list[Node], float]:
    xs, ys = array(node, where, "x"), array(node, where, "y")
    sizes = []
    for place in range(len(xs)):
        taken = sum(link.value for link in links if link.target == place)
        given = sum(link.value for link in links if link.source == place)
        if taken and given and taken != given:
            raise ValueError(f"cannot be drawn: {where}[{place}] takes in {taken:g} and gives out {given:g}")
        sizes.append(max(taken, given))
    # As Plotly reckons it: the fullest column, with its gaps, fills the height; x and y are the nodes' middles.
    scale = min(_room(xs, sizes, column, float(node["pad"]), box.height) for column in set(xs))
    half = float(node["thickness"]) / 2
    colours = one_each(node["color"], len(xs))
    nodes = []
    for x, y, size, colour in zip(xs, ys, sizes, colours, strict=True):
        middle, centre = box.left + x * box.width, box.top + y * box.height
        drawn = Node(middle - half, middle + half, centre - size * scale / 2, centre + size * scale / 2, colour)
        if drawn.top < box.top - 0.5 or drawn.bottom > box.bottom + 0.5:
            raise ValueError(f"cannot be drawn: a node of {where} at y = {y} does not fit the height")
        nodes.append(drawn)
    return nodes, scale


def _room(xs: Sequence[float], sizes: list[float], column: float, pad: float, height: float) -> float:
    own = [size for x, size in zip(xs, sizes, strict=True) if x == column]
    return (height - (len(own) - 1) * pad) / sum(own)


def _bands(links: list[Link], nodes: list[Node], scale: float) -> str:
    """Bands leave and arrive in the order of the nodes at their other ends, so that they cross as little as can be."""
    leaving = {place: node.top for place, node in enumerate(nodes)}
    arriving = dict(leaving)
    starts: dict[Link, float] = {}
    ends: dict[Link, float] = {}
    for link in sorted(links, key=lambda each_link: (each_link.source, nodes[each_link.target].top)):
        starts[link] = leaving[link.source]
        leaving[link.source] += link.value * scale
    for link in sorted(links, key=lambda each_link: (each_link.target, nodes[each_link.source].top)):
        ends[link] = arriving[link.target]
        arriving[link.target] += link.value * scale
    return "".join(_band(link, nodes, starts[link], ends[link], link.value * scale) for link in links)


def _band(link: Link, nodes: list[Node], start: float, end: float, width: float) -> str:
    x0, x1 = nodes[link.source].right, nodes[link.target].left
    middle = number((x0 + x1) / 2)
    upper = f"M{number(x0)} {number(start)}C{middle} {number(start)} {middle} {number(end)} {number(x1)} {number(end)}"
    below = number(end + width), number(start + width)
    lower = f"v{number(width)}C{middle} {below[0]} {middle} {below[1]} {number(x0)} {below[1]}z"
    return path(upper + lower, fill=link.colour)
