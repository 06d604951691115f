"""What a Plotly figure states, in Plotly's own names: dictionaries and lists.

Comes in: a trace or a layout. Goes out: what the drawing asks of it. Refuses: an attribute nobody drew, or an array
that is not a list: a figure must never say something the drawing leaves out. Plotly's own classes refuse a mistake
too, but take twenty times as long: the tests ask them about every figure there is.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

Stated = Mapping[str, Any]


@dataclass(frozen=True)
class Figure:
    """A Plotly figure: its traces, each with its `type`, and its layout."""

    data: Sequence[Stated]
    layout: Stated


def scatter_of(x: Sequence[float | None], y: Sequence[float | None], mode: str, **more: Any) -> dict[str, Any]:
    """A scatter trace."""
    return {"type": "scatter", "x": x, "y": y, "mode": mode, **more}


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
