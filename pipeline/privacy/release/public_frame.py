"""The public frame: everything a published page is made from, and nothing else.

Comes in: nothing; a release fills it. Goes out: frozen values. Refuses, by having no place for them, case rows, the
store, and any number that is not released.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

import pandas as pd

from pipeline.contracts.measure_files import Measure

COLUMNS = ("period", "block", "table", "name", "breakdown", "level", "count", "value", "mark")
WITHHELD, FEW_KNOWN = "c", "low"  # marks: no value; a value of which too few answers are known
LEFT_OUT = "w"  # a mark: withheld altogether, because too few answers are known
MARKS = ("", WITHHELD, FEW_KNOWN, LEFT_OUT)


@dataclass(frozen=True)
class PublicAction:
    """An action of the plan that the lead marked for publication. Its text holds no figure."""

    finding: str
    action: str
    owner: str  # a role
    by_when: str
    done: str


@dataclass(frozen=True)
class PublicFrame:
    """One release, as the published pages and files show it."""

    figures: pd.DataFrame  # figures.csv as it is, the only numbers there are; its columns are COLUMNS
    period: str  # 2026-27 or 2026Q3
    year_starts: int
    service: str
    contact: str  # by role
    about: str  # what the service does and for whom, in the lead's words; may be empty
    approved_by: str  # a role
    data_up_to: date  # the cut-off of the record set the counts were frozen at
    k: int  # counts of 1 to k are not shown
    known_enough: float  # the share of answers known from which a six-week figure is shown without a mark
    seen_promptly_days: int
    licence: str  # a name or an address; may be empty
    activity_only: bool  # too few cases: only activity is published
    least_cases: int
    measures: tuple[Measure, ...]  # the published ones, in the order of the page; their texts are worded
    activity_titles: dict[str, str]  # section of activity -> title
    breakdown_titles: dict[str, str]  # breakdown -> title
    at_a_glance: tuple[str, ...]
    actions: tuple[PublicAction, ...]
    version: str  # of the program, and so of the definitions
    earlier: tuple[str, ...]  # periods released before, for links; their figures are not in here

    def __post_init__(self) -> None:
        """Raise ValueError, a defect of the program, where a withheld figure has a value or another has none."""
        withheld = self.figures["mark"].isin((WITHHELD, LEFT_OUT))
        if tuple(self.figures.columns) != COLUMNS or not self.figures["mark"].isin(MARKS).all():
            raise ValueError("the figures have other columns or marks than the public frame's")
        if (withheld == self.figures["value"].notna()).any():
            raise ValueError("a withheld figure has a value, or another has none")
