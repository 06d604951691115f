"""Seen promptly: day 5 and day 6 after the request, and no date of the request."""

from __future__ import annotations


def test_day_5_is_prompt_day_6_is_not_and_no_date_is_not_eligible(tell):
    story = tell(
        {
            "cases": """
                case_ref,site,help_requested_date,first_contact_date,age_days
                A,North,2026-01-05,2026-01-10,10
                B,North,2026-01-04,2026-01-10,10
                C,North,2026-01-10,2026-01-10,10
                D,North,,2026-01-10,10
            """
        },
        cut_off="2026-04-01",
    )
    # A: 5 days, met. B: 6 days, not met. C: the same day, met. D: no date, not eligible.
    assert story.counts("seen_promptly", "2026Q1") == (3, 3, 2, 0)
