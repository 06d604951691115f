"""Seen promptly: day 5 and day 6 after the request, no date of the request, and a service that promises other days."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from pipeline.settings import FILE_NAME
from tests.conftest import Story

MEASURE = "seen_promptly"
MET, NOT_MET = (1, 1, 1, 0), (1, 1, 0, 0)  # eligible, known, met, unknown

CUT_OFF = "2026-06-30"
EXPORT = {
    "cases": """
        case_ref,site,help_requested_date,first_contact_date,age_days,closed_date,closed_reason
        same_day,same_day,2026-01-10,2026-01-10,10,,
        day_5,day_5,2026-01-05,2026-01-10,10,,
        day_6,day_6,2026-01-04,2026-01-10,10,,
        no_date,no_date,,2026-01-10,10,,
        date_not_known,date_not_known,not_known,2026-01-10,10,,
        died,died,2026-01-04,2026-01-10,10,2026-01-12,died
        over_new_year,over_new_year,2025-12-29,2026-01-02,10,,
        on_the_cut_off,on_the_cut_off,2026-06-30,2026-06-30,10,,
    """
}
STORIES = [(EXPORT, CUT_OFF)]


def test_day_5_is_prompt_day_6_is_not_and_no_date_is_not_eligible(tell: Callable[..., Story]) -> None:
    story = tell(EXPORT, CUT_OFF)
    found = {each: story.counts(MEASURE, "2026Q1", "site", each) for each in story.levels(MEASURE, "2026Q1", "site")}
    assert found == {
        "same_day": MET,
        "day_5": MET,  # "within 5 days" takes day 5 in; counted as five days with the first one, it would be late
        "day_6": NOT_MET,
        "died": NOT_MET,  # however the case ended
        "over_new_year": MET,  # four days; counted where the first contact is, not where the request is
    }  # no_date and date_not_known: not eligible. Read as unknown, they would be two more.
    assert story.counts(MEASURE, "2026Q1") == (5, 5, 3, 0)
    assert story.counts(MEASURE, "2026Q2") == MET  # on_the_cut_off: there is nothing to wait for
    assert story.row(MEASURE, "2026Q2")["complete"] == "yes"

    # The two without a date are counted, beside the measure.
    apart = story.outcome.apart
    assert apart[(apart["measure"] == MEASURE) & (apart["period"] == "2026Q1")]["count"].tolist() == [2]


def test_the_days_are_those_of_the_settings(audit: Path, tell: Callable[..., Story]) -> None:
    settings = audit / FILE_NAME
    as_new = settings.read_text(encoding="utf-8")
    assert as_new.count("seen_promptly_days = 5\n") == 1
    settings.write_text(as_new.replace("seen_promptly_days = 5\n", "seen_promptly_days = 4\n"), encoding="utf-8")
    story = tell(EXPORT, CUT_OFF)
    # Of the five, now day_5 is late too; over_new_year, on day 4, is not.
    assert story.counts(MEASURE, "2026Q1") == (5, 5, 2, 0)
    assert story.counts(MEASURE, "2026Q1", "site", "day_5") == NOT_MET
    assert story.counts(MEASURE, "2026Q1", "site", "over_new_year") == MET
