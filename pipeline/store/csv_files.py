"""Lists as CSV that a spreadsheet may open.

Comes in: where to write, a header, rows. Goes out: a file that is there whole or not at all, UTF-8 with LF, the same
bytes for the same rows. Refuses to write a cell that a spreadsheet would run: one that begins like a formula gets an
apostrophe.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any

from pipeline.plain_text import without_unseen_signs
from pipeline.store.whole_files import write_whole

FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r")  # what a spreadsheet takes for a formula, at once or saved as CSV


def write(path: Path, header: Sequence[str], rows: Iterable[Sequence[Any]]) -> Path:
    """Write one list."""
    file = io.StringIO()
    writer = csv.writer(file, lineterminator="\n")
    writer.writerow(header)
    writer.writerows([_safe(cell) for cell in row] for row in rows)
    return write_whole(path, file.getvalue().encode("utf-8"))


def _safe(cell: Any) -> Any:
    if not isinstance(cell, str):
        return cell
    # Not least a lone carriage return: some versions of Python leave it unquoted, and readers end the line there.
    shown = without_unseen_signs(cell)
    return "'" + shown if cell.startswith(FORMULA_STARTS) else shown
