"""What a reader should know of an export though nothing was refused. Comes in, goes out: words."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Remark:
    """A serious one stands at the head of the page, the others under data quality."""

    text: str
    serious: bool
