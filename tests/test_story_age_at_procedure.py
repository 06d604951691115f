"""Age at procedure: the earliest procedure of a case, once, and the quartiles of four ages."""

from __future__ import annotations

from collections.abc import Callable

import pandas as pd

from tests.conftest import Story

MEASURE = "age_at_procedure"

# First seen on 10 January at 10 days unless the case says otherwise: born on 31 December.
CUT_OFF = "2026-06-30"
EXPORT = {
    "cases": """
        case_ref,site,first_contact_date,age_days,closed_date,closed_reason
        on_day_0,on_day_0,2026-01-10,10,,
        twice,twice,2026-01-10,10,,
        twice_on_a_day,twice_on_a_day,2026-01-10,10,,
        before_and_after,before_and_after,2026-01-10,10,2026-02-17,died
        only_before,only_before,2026-01-10,10,,
        never,never,2026-01-10,10,,
        into_april,into_april,2026-03-20,0,,
    """,
    "procedures": """
        case_ref,procedure_date,operator
        on_day_0,2026-01-10,O
        twice,2026-04-20,O
        twice,2026-01-20,O
        twice_on_a_day,2026-01-30,O
        twice_on_a_day,2026-01-30,Q
        before_and_after,2026-01-09,O
        before_and_after,2026-02-16,O
        only_before,2026-01-09,O
        into_april,2026-04-01,O
    """,
}
STORIES = [(EXPORT, CUT_OFF)]


def test_each_case_counts_once_at_its_earliest_procedure(tell: Callable[..., Story]) -> None:
    story = tell(EXPORT, CUT_OFF)
    sites = story.levels(MEASURE, "2026Q1", "site")
    found = {each: (sites[each], story.row(MEASURE, "2026Q1", "site", each)["value"]) for each in sites}
    assert found == {
        "on_day_0": (1, 10),  # from birth, not from the first contact: that would be 0
        "twice": (1, 20),  # once, although there is another in April
        "twice_on_a_day": (1, 30),
        "before_and_after": (1, 47),  # 16 February is day 47; the one of 9 January does not exist here
    }  # only_before and never: not eligible.

    # Four ages in order: 10, 20, 30, 47. Type 7: places 0.75, 1.5 and 2.25, counted from 0.
    # 10 + 0.75 * 10 = 17.5; 20 + 0.5 * 10 = 25; 30 + 0.25 * 17 = 34.25. Type 6 would give 12.5, 25 and 42.75.
    row = story.row(MEASURE, "2026Q1")
    assert (row["eligible"], row["known"]) == (4, 4)
    assert (row["lower"], row["value"], row["upper"]) == (17.5, 25, 34.25)
    assert all(pd.isna(row[name]) for name in ("met", "unknown", "bound_low", "bound_high"))

    # Born and first seen on 20 March, divided on 1 April: 12 days, counted where the procedure is. `twice` is not.
    assert story.levels(MEASURE, "2026Q2", "site") == {"into_april": 1}
    row = story.row(MEASURE, "2026Q2")
    assert (row["lower"], row["value"], row["upper"]) == (12, 12, 12)
    assert row["complete"] == "yes"
