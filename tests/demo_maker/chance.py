"""Draws that come out the same everywhere: only Random.random() is used, whose sequence Python promises to keep.

Comes in: a stream (one for each case, so that a change to one case moves no other) and the odds. Goes out: a plain
value. Refuses: shares that do not add up to one.
"""

from __future__ import annotations

from collections.abc import Mapping
from random import Random


def stream(seed: int, name: str) -> Random:
    """A stream of its own for each name; text is hashed by Random itself, so PYTHONHASHSEED has no say."""
    return Random(f"{seed}/{name}")


def likely(draw: Random, share: float) -> bool:
    """True with this chance."""
    return draw.random() < share


def between(draw: Random, lowest: int, highest: int) -> int:
    """A whole number from lowest to highest, both included."""
    return lowest + int(draw.random() * (highest - lowest + 1))


def pick(draw: Random, shares: Mapping[str, float]) -> str:
    """One of the names, by its share."""
    if abs(sum(shares.values()) - 1) > 1e-9:
        raise ValueError(f"shares add up to {sum(shares.values())}, not to 1: {dict(shares)}")
    left = draw.random()
    for name, share in shares.items():
        left -= share
        if left < 0:
            return name
    return list(shares)[-1]  # what rounding left over


def bell(draw: Random, centre: float, spread: float) -> float:
    """About normal, and never further than 3.5 spreads off.

    Four even draws and additions only, so that no mathematics library can differ in the last bit.
    """
    return centre + spread * 1.7320508 * (sum(draw.random() for _ in range(4)) - 2)


def yes_no(draw: Random, yes: float, nothing: float) -> str:
    """yes, no or nothing recorded."""
    return pick(draw, {"yes": yes, "": nothing, "no": 1 - yes - nothing})
