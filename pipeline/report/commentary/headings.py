"""The title and the headings that a period's file is laid with, and that the page leaves out where empty.

Comes in: a period. Goes out: words.
"""

from __future__ import annotations

from pipeline.report.words.dates import long_label

SAW, UNSURE, WILL_DO = "What we saw", "What we are unsure of", "What we will do"
HEADINGS = (SAW, UNSURE, WILL_DO)


def title(period: str) -> str:
    """The title of a period's file."""
    return f"Commentary, {long_label(period)}"
