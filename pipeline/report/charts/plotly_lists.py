"""What a Plotly figure states, read from its own lists.

Comes in: a trace or a layout. Goes out: its attributes as plain dictionaries. Refuses: an attribute nobody drew, or
an array that is not a list: a figure must never say something the drawing leaves out.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import plotly.graph_objects as go
from plotly.basedatatypes import BasePlotlyType, BaseTraceType

Stated = Mapping[str, Any]


@dataclass(frozen=True)
class Figure:
    """A Plotly figure. Plotly's own class of it makes every part a second time, and takes twice as long."""

    data: Sequence[BaseTraceType]
    layout: go.Layout


def described(data: Sequence[BaseTraceType], layout: Mapping[str, Any]) -> Figure:
    """Put traces and a layout together; Plotly refuses what it does not know in either."""
    return Figure(tuple(data), go.Layout(**layout))


def attributes(part: BasePlotlyType) -> Stated:
    """Give what a trace or a layout states, and nothing it leaves to a default."""
    # The part's own call, not the figure's: a figure packs arrays as base64, and walking every possible attribute
    # of a layout does not end (a template holds a layout).
    stated: Stated = part.to_plotly_json()
    return stated


def only(stated: Stated, where: str, known: Collection[str]) -> Stated:
    """The same again, or ValueError naming what the drawing does not know."""
    unknown = sorted(set(stated) - set(known))
    if unknown:
        raise ValueError(f"cannot be drawn: {', '.join(f'{where}.{name}' for name in unknown)}")
    return stated


def just(stated: Stated, where: str, name: str, values: Collection[object]) -> None:
    """Refuse a value outside the few that are drawn; an attribute that is not stated is fine."""
    if name in stated and stated[name] not in values:
        raise ValueError(f"cannot be drawn: {where}.{name} = {stated[name]!r}")


def array(stated: Stated, where: str, name: str) -> Sequence[Any]:
    """Give a stated list, or refuse what is not one."""
    values = stated.get(name)
    if not isinstance(values, (list, tuple)):
        raise ValueError(f"cannot be drawn: {where}.{name} is {type(values).__name__}, not a list")
    return values


def one_each(value: Any, count: int) -> list[Any]:
    """One value a point: a list as it is, a single one repeated."""
    return list(value) if isinstance(value, (list, tuple)) else [value] * count
