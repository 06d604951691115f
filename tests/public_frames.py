"""Public frames made by hand: an invented service, its figures made up, none of them from any run of the program."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import date
from functools import cache
from typing import Any

import pandas as pd

from pipeline.contracts import measure_files
from pipeline.contracts.measure_files import TIME_TO_EVENT, Measure
from pipeline.privacy.release.public_frame import COLUMNS, PublicAction, PublicFrame

PERIOD, BLOCK = "2025-26", "2023-24 to 2025-26"
PROPORTION_COUNTS = ("eligible", "known", "unknown", "met")
WAIT_COUNTS = ("eligible", "unknown", "by_7", "by_14", "by_28", "ended", "waiting")
# Everyone of the year: measure, eligible, known, unknown, met. Six weeks: 168 of 190 known (88%), so marked.
EVERYONE = """
seen_promptly                            200 200  0 160
resolved_by_attachment_help              180 150 30  90
attachment_help_before_referral           80  80  0  72
function_assessed_before_referral         80  80  0  40
stopped_breastfeeding_while_waiting       60  50 10   c
complication_needing_care_within_14_days  64  50 14   c
bleeding_needing_care                     64  58  6   0
reattached_within_84_days                 60  45 15   c
checks_before_procedure                   64  64  0  58
breastfed_at_6_weeks                     190 168 22 126
exclusively_breastfed_at_6_weeks         190 168 22  84
asked_at_6_weeks                         190 190  0 168
family_felt_helped                       210 130 80 117
"""
WAITS = """
days_to_first_contact            220  5 100 150 190 15 10
days_from_referral_to_procedure   80  4   8  30  50  c  c
"""
BLOCKS = """
complication_needing_care_within_14_days 190 150 40 9
reattached_within_84_days                180 140 40 12
"""
BY_GROUP = """
seen_promptly        deprivation_fifth 1  60  60  0 30
seen_promptly        deprivation_fifth 5 140 140  0 130
breastfed_at_6_weeks deprivation_fifth 1  50  42  8 30
breastfed_at_6_weeks deprivation_fifth 5 140 126 14 96
seen_promptly        site North_hub      150 150  0 121
seen_promptly        site South_clinic    50  50  0 39
breastfed_at_6_weeks site North_hub      140   c  c  c
breastfed_at_6_weeks site South_clinic    50   c  c  c
"""
ACTIVITY = """
requests                all                   220
requests                seen                  200
requests                declined                c
requests                not_recorded            c
presenting_problems     nipple_pain:_yes      120
presenting_problems     nipple_pain:_no        70
presenting_problems     nipple_pain:_not_recorded 10
presenting_problems     wind:_yes              40
presenting_problems     wind:_no                c
presenting_problems     wind:_not_recorded      c
contacts                mode:_home            300
contacts                mode:_phone           250
contacts                attachment_help:_yes  400
contacts                attachment_help:_no   150
"""


@cache
def measures() -> tuple[Measure, ...]:
    """The measures there are, worded; those of a median are never published."""
    there = (measure_files.worded(measure, 5) for measure in measure_files.measures())
    return tuple(measure for measure in there if measure.kind != measure_files.DAYS)


def rows(table: str, period: str = PERIOD, block: str = "") -> list[tuple[Any, ...]]:
    """Rows of figures.csv from lines of `name [breakdown level] counts`, c for a withheld one."""
    kinds = {measure.name: measure.kind for measure in measures()}
    out = []
    for line in table.strip().split("\n"):
        name, *words = line.split()
        counts = WAIT_COUNTS if kinds[name] == TIME_TO_EVENT else PROPORTION_COUNTS
        breakdown, level = words[: -len(counts)] or ("all", "all")
        for count, value in zip(counts, words[-len(counts) :], strict=True):
            out.append(
                (
                    period,
                    block,
                    "measure",
                    name,
                    breakdown,
                    level if level == "not_recorded" else level.replace("_", " "),
                    count,
                    *cell(value),
                )
            )
    return out


def cell(value: str) -> tuple[int | None, str]:
    """A count, or the mark of a withheld one."""
    return (None, value) if value in ("c", "w") else (int(value), "")


def activity(table: str = ACTIVITY, period: str = PERIOD) -> list[tuple[Any, ...]]:
    """Rows of activity; an underscore behind a colon stands for a blank."""
    split = (line.split() for line in table.strip().split("\n"))
    return [
        (period, "", "activity", name, "", row.replace(":_", ": "), "count", *cell(value)) for name, row, value in split
    ]


def figures(those: Sequence[tuple[Any, ...]]) -> pd.DataFrame:
    """Rows as the frame holds them."""
    frame = pd.DataFrame(those, columns=list(COLUMNS))
    return frame.assign(value=frame["value"].astype("Int64"))


def low(those: Iterable[tuple[Any, ...]], *names: str) -> list[tuple[Any, ...]]:
    """With the mark of too few known answers at the met count of some measures, for everyone."""
    return [
        (*row[:-1], "low") if row[3] in names and row[6] == "met" and row[4] == "all" and row[-2] is not None else row
        for row in those
    ]


def year(**changes: Any) -> PublicFrame:
    """A whole year with breakdowns and blocks of three years, some of it withheld."""
    those = low(
        [*rows(EVERYONE), *rows(WAITS), *rows(BLOCKS, block=BLOCK), *rows(BY_GROUP)],
        *("breastfed_at_6_weeks", "exclusively_breastfed_at_6_weeks"),
    )
    named = {row[3] for row in those}
    frame = PublicFrame(
        figures=figures([*those, *activity()]),
        period=PERIOD,
        year_starts=4,
        service="Invented Feeding Service",
        contact="the feeding team's lead",
        about="",
        approved_by="information-governance lead",
        data_up_to=date(2026, 7, 31),
        k=4,
        known_enough=0.95,
        seen_promptly_days=5,
        licence="https://creativecommons.org/licenses/by/4.0/",
        activity_only=False,
        least_cases=50,
        measures=tuple(measure for measure in measures() if measure.name in named),
        activity_titles={
            "requests": "Requests for help",
            "presenting_problems": "Why families came",
            "contacts": "Contacts",
        },
        breakdown_titles={"site": "Site", "deprivation_fifth": "Deprivation fifth"},
        at_a_glance=(
            *("seen_promptly", "resolved_by_attachment_help", "days_from_referral_to_procedure"),
            *("complication_needing_care_within_14_days", "reattached_within_84_days", "breastfed_at_6_weeks"),
            "asked_at_6_weeks",
        ),
        actions=(
            PublicAction(
                "Families asked on Fridays wait longer",
                "See to requests on Friday afternoons",
                "Feeding team's lead",
                "end of September 2026",
                "not yet",
            ),
        ),
        version="0.4.0",
        earlier=("2024-25",),
    )
    return replace(frame, **changes)


def all_withheld() -> PublicFrame:
    """The same year, every value withheld."""
    frame = year()
    there = frame.figures.assign(value=pd.array([None] * len(frame.figures), dtype="Int64"), mark="c")
    return replace(frame, figures=there)


def activity_only() -> PublicFrame:
    """A year on too few cases."""
    return year(figures=figures(activity()), activity_only=True, measures=())


def quarter() -> PublicFrame:
    """Headlines of a quarter."""
    those = rows("seen_promptly 50 50 0 40\nbreastfed_at_6_weeks 45 44 1 30", "2026Q3")
    named = {row[3] for row in those}
    return year(
        figures=figures(those),
        period="2026Q3",
        measures=tuple(measure for measure in measures() if measure.name in named),
        at_a_glance=("seen_promptly", "breastfed_at_6_weeks"),
        activity_titles={},
        actions=(),
        earlier=(),
    )
