"""The rows of `family_views` for one case: whether the family felt helped, as far as it answered.

Comes in: a Baby and its stream of draws. Goes out: at most one row as text. Refuses: to let the course of a case sway
the answer, so that no route looks better than another.
"""

from __future__ import annotations

from datetime import timedelta
from random import Random

from tests.demo_maker.baby import Baby
from tests.demo_maker.chance import between, likely, pick


def view_rows(draw: Random, baby: Baby) -> list[dict[str, str]]:
    """The answer, some weeks after first contact and on any day of the week; about half of families give none."""
    if not likely(draw, baby.site.answers):
        return []
    return [
        {
            "case_ref": baby.case_ref,
            "answered_date": (baby.first_contact + timedelta(days=between(draw, 24, 80))).isoformat(),
            "helped": pick(draw, {"yes": 0.76, "partly": 0.15, "no": 0.05, "not_known": 0.04}),
        }
    ]
