"""The actions of earlier plans that are still open.

Comes in: the folder's commentaries on periods before the reported one, or the same as a report's record holds them.
Goes out: one text of them all, and the actions still open, each with the period it was last written down for.

An action is known by its text. What the latest plan says that has it counts, so it stays until some plan says it is
done, however many periods pass in between; a quarter's plan counts before that of a year which ends on the same day.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import date
from pathlib import Path

from pipeline.outcomes import periods
from pipeline.report.commentary import commentary_file, markdown, plan
from pipeline.report.commentary.plan import Action, Plan
from pipeline.store.audit_folder import COMMENTARY

_BEGINS = re.compile(r"^\f(\S+)\n", re.M)  # a form feed begins the words of a further period


def read(folder: Path, period: str, year_starts: int) -> str:
    """The lead's words on all earlier periods, as one text."""
    names = (path.stem for path in (folder / COMMENTARY).glob("*.md"))
    ends = {name: _end(name, year_starts) for name in names if periods.is_one(name)}
    earlier = sorted((end, name) for name, end in ends.items() if end < _end(period, year_starts))
    texts = ((name, commentary_file.read(folder, name).replace("\f", " ")) for _, name in earlier)
    return "\n".join(f"\f{name}\n{text}" for name, text in texts if text.strip())


def plans(before: str, period: str) -> Iterator[tuple[str, Plan]]:
    """The plans of earlier periods, in their order; older records hold the words on one, unnamed."""
    parts = _BEGINS.split(before)
    unnamed = [(periods.shifted(period, -1), parts[0])] if parts[0].strip() else []
    for name, text in [*unnamed, *zip(parts[1::2], parts[2::2], strict=True)]:
        yield name, plan.read(markdown.read(text), f"{COMMENTARY}/{name}.md")


def still_open(before: str, period: str) -> tuple[tuple[str, Action], ...]:
    """What no plan says is done."""
    left: list[tuple[str, Action]] = []
    for name, planned in plans(before, period):
        said = {action.named for action in planned.actions}
        left = [(since, action) for since, action in left if action.named not in said]
        left += [(name, action) for action in planned.open]
    return tuple(left)


def _end(period: str, year_starts: int) -> tuple[date, bool]:
    return periods.last_day(period, year_starts), periods.kind(period) == periods.YEAR
