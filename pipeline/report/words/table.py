"""A table ready to print.

Comes in: ready text. Goes out: a frozen table that the templates print as it is. Refuses: a table without a caption,
since that is also the name of the region it scrolls in.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Row:
    """One row: its head and its cells."""

    head: str
    cells: tuple[str, ...]
    links: tuple[str, ...] = ()  # where each cell leads, empty for one that leads nowhere; none at all where none does


@dataclass(frozen=True)
class Group:
    """Rows under one heading."""

    title: str  # empty where the table has one group only
    rows: tuple[Row, ...]
    note: str = ""  # a line across all columns, under the rows


@dataclass(frozen=True)
class Table:
    """A table ready to print."""

    key: str  # begins the id of its caption
    caption: str
    heads: tuple[str, ...]  # the first stands over the rows' heads
    groups: tuple[Group, ...]
    total: Row | None = None
    words: bool = False  # cells are text, set from the left, not figures
