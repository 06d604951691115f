"""Twins: what of a baby's row follows from there being two, and the other twin where the service sees both.

Comes in: a Baby, its row of `cases` and a stream of draws. Goes out: the two again, as a twin. Refuses: a twin seen on
another day, at another site or by another practitioner than the first.
"""

from __future__ import annotations

from dataclasses import replace
from random import Random

from tests.demo_maker.baby import Baby
from tests.demo_maker.chance import pick

OF_BOTH = (
    "site", "help_requested_date", "first_contact_date", "age_days", "gestation_weeks", "first_baby",
    "deprivation_decile", "ethnic_group", "referral_source", "interpreter_needed", "multiple_birth",
    "helped_elsewhere_before", "family_history",
)  # fmt: skip


def as_twin(draw: Random, baby: Baby, row: dict[str, str]) -> tuple[Baby, dict[str, str]]:
    """Born early and light."""
    light = 10 * round(baby.birth_weight * 0.078)
    weeks = pick(draw, {"34": 0.1, "35": 0.2, "36": 0.4, "37": 0.3})
    recorded = {
        "gestation_weeks": weeks if row["gestation_weeks"] else "",
        "birth_weight_g": str(light) if row["birth_weight_g"] else "",
    }
    return replace(baby, birth_weight=light), row | recorded


def other_twin(first: Baby, first_row: dict[str, str], baby: Baby, row: dict[str, str]) -> tuple[Baby, dict[str, str]]:
    """A baby made the other twin of one already there: a tongue and a way of feeding of its own, the rest shared."""
    turns = first.age_days + baby.feeding_turns - baby.age_days
    shared = replace(
        baby,
        lead=first.lead,
        first_contact=first.first_contact,
        age_days=first.age_days,
        decile=first.decile,
        feeding_turns=turns,
    )
    return shared, row | {column: first_row[column] for column in OF_BOTH}
