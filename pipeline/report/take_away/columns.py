"""A sheet of figures, ready to be written.

Comes in: nothing; these are descriptions. Refuses: a row that has not one cell a column.
"""

from __future__ import annotations

from dataclasses import dataclass

TEXT, COUNT, SHARE, NUMBER, POINTS = "text", "count", "share", "number", "points"  # what stands in a column

Cell = str | int | float | None  # None is a cell with nothing in it


@dataclass(frozen=True)
class Column:
    """One column: what stands over it, what kind of cells it has, how wide it is."""

    head: str
    form: str
    width: int
    meaning: str = ""  # for the first sheet; empty where the head says it


@dataclass(frozen=True)
class Sheet:
    """One sheet of the workbook."""

    name: str
    what: str  # it holds, in a sentence
    columns: tuple[Column, ...]
    rows: tuple[tuple[Cell, ...], ...]
    frozen: int = 1  # so many columns stay where they are

    def __post_init__(self) -> None:
        if any(len(row) != len(self.columns) for row in self.rows):
            raise ValueError(f"sheet {self.name}: a row has not one cell a column")
