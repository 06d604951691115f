"""The figures of a public frame as answers to "this measure, this group: what is printed?".

Comes in: a PublicFrame. Goes out: the printed counts of each measure and group, and of each section of activity, in
the order of the frame. A withheld count is None; no other number is ever put in its place.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from pipeline.contracts.measure_files import NOTED, PROPORTION, REPORTED_DAY, TIME_TO_EVENT, Measure
from pipeline.privacy.release.public_frame import FEW_KNOWN, LEFT_OUT, PublicFrame

ALL = "all"
BY_DAY = f"by_{REPORTED_DAY}"
# The share of each kind that the page speaks of: a part and its whole.
_SHARE = {PROPORTION: ("met", "known"), NOTED: ("met", "eligible"), TIME_TO_EVENT: (BY_DAY, "eligible")}

Key = tuple[str, str, str, str]  # block, measure, breakdown, level


@dataclass(frozen=True)
class Printed:
    """What is printed of one measure and group."""

    measure: Measure
    counts: Mapping[str, int | None]
    marks: frozenset[str]

    def count(self, name: str) -> int | None:
        """A count; None where it is withheld or has no row."""
        return self.counts.get(name)

    @property
    def met(self) -> int | None:
        """The part of the share that the page speaks of."""
        return self.count(_SHARE[self.measure.kind][0])

    @property
    def of(self) -> int | None:
        """The whole of that share."""
        return self.count(_SHARE[self.measure.kind][1])

    @property
    def shown(self) -> bool:
        """Whether that share can be said."""
        return self.met is not None and bool(self.of)

    @property
    def few_known(self) -> bool:
        """Whether too few answers are known, with or without a figure."""
        return bool(self.marks & {FEW_KNOWN, LEFT_OUT})

    @property
    def left_out(self) -> bool:
        """Whether there is no figure for that reason."""
        return LEFT_OUT in self.marks


def of_measures(frame: PublicFrame) -> dict[Key, Printed]:
    """The printed counts of every measure, block, breakdown and level."""
    named = {measure.name: measure for measure in frame.measures}
    rows: dict[Key, dict[str, tuple[int | None, str]]] = {}
    for block, name, breakdown, level, count, value, mark in _rows(frame, "measure"):
        rows.setdefault((block, name, breakdown, level), {})[count] = value, mark
    return {
        key: Printed(
            named[key[1]],
            {count: value for count, (value, _) in counts.items()},
            frozenset(mark for _, mark in counts.values() if mark),
        )
        for key, counts in rows.items()
    }


def of_activity(frame: PublicFrame) -> dict[str, dict[str, int | None]]:
    """The printed counts of each section, by row."""
    sections: dict[str, dict[str, int | None]] = {}
    for _, name, _, level, _, value, _ in _rows(frame, "activity"):
        sections.setdefault(name, {})[level] = value
    return sections


def _rows(frame: PublicFrame, table: str) -> Iterator[tuple[str, str, str, str, str, int | None, str]]:
    """block, name, breakdown, level, count, value, mark: the rows of a table."""
    own = frame.figures[frame.figures["table"] == table]
    values = [None if missing else int(value) for value, missing in zip(own["value"], own["value"].isna(), strict=True)]
    texts = (own[name] for name in ("block", "name", "breakdown", "level", "count"))
    return zip(*texts, values, own["mark"], strict=True)
