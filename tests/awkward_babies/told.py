"""Thirteen awkward babies: each stands for one trap of the definitions, one of them was never seen.

What every measure says of each of them was written by hand, from the definitions alone, in answers.md beside this file;
days are counted from first contact. All cases are invented.
"""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from tests.stories.tiny import Baby, Rows, add

rows: Rows = {}


def baby(ref: str, seen: date, age: int, **values: Any) -> Baby:
    """A case first seen on that date at that age; asked and closed are days from then."""
    for name, column in (("asked", "help_requested_date"), ("closed", "closed_date")):
        if name in values:
            values[column] = seen + timedelta(days=values.pop(name))
    shown = {"site": "Alder hub", "feeding_at_first_contact": "exclusive", **values}
    add(rows, "cases", case_ref=ref, first_contact_date=seen, age_days=age, **shown)
    return Baby(rows, ref, seen)


(
    baby("b01moved", date(2026, 3, 2), 10, asked=-3, closed=7, closed_reason="moved", birth_weight_g=3500, sex="female")
    .contact(0, "P01", "yes", "unchanged", 6, 3400)
    .contact(13, "P01", "", mode="phone")
    .assess(0, "anterior", 6)
    .refer(5, "accepted", 6)
    .divide(12, "P02", "own", "", "yes", "yes", "injection", 20, "yes")
)

(
    baby("b02settled", date(2026, 3, 4), 6, asked=-6, closed=21, closed_reason="settled", birth_weight_g=3500)
    .contact(0, "P01", "yes", "unchanged", 5)
    .contact(10, "P02", "no", "improved", 3, 3600)
    .check(36, "exclusive", "yes")
    .view(21, "yes")
    .view(60, "partly")
)

(
    baby("b03unreached", date(2026, 3, 6), 12, asked=-2, birth_weight_g=3500)
    .contact(0, "P01", "yes", "", 7)
    .assess(0, "posterior", "", extension="limited", elevation="limited")
    .refer(3, "accepted")
    .divide(8, "P03", "own", "", "yes", "yes", "not_known")
    .check(9, "not_known")
    .check(22, "not_known")
    .check(30, "not_known")
    .check(50, "not_known")
    .check(60, "not_known")
    .view(80, "not_known")
)

(
    baby("b04dayone", date(2026, 3, 10), 8, asked=-5, birth_weight_g=3400)
    .contact(0, "P01", "no", "unchanged", 3, 3300)
    .contact(7, "P02", "yes", mode="phone")
    .assess(0, "anterior", "", extension="limited", cupping="full", peristalsis="absent")
    .refer(0, "waiting")
    .divide(6, "P02", "own", "", "yes", "no", "declined", 30, "no")
    .check(7, "partial")
)

(
    baby("b05private", date(2026, 3, 12), 20, birth_weight_g=3000, feeding_at_first_contact="partial")
    .contact(0, "P01", "yes")
    .contact(2, "P02")
    .contact(30, "P01", "no", "worse")
    .assess(9, "submucosal", 5)
    .divide(4, "elsewhere", "private")
    .refer(10, "accepted")
    .divide(18, "P02", "own", "posterior", "yes", "yes", "oral", 31, "yes")
    .harm(20, "bleeding", "treated")
    .divide(40, "elsewhere", "private")
    .harm(41, "infection", "hospital")
    .check(9, "partial")
    .check(46, "exclusive", "yes")
    .check(60, "none")
    .check(74, "partial")
    .view(84, "yes")
    .view(84, "partly")
)

(
    baby("b06operators", date(2026, 3, 16), 15, asked=-4)
    .contact(0, "P02", "yes", "improved")
    .contact(0, "P03", "yes", "worse")
    .contact(19, "P02", "yes", "improved")
    .assess(0, "none", 3, "P02")
    .assess(0, "posterior", 4, "P03")
    .refer(1, "accepted")
    .divide(7, "P02", "own", "anterior", "yes", "yes", "declined", 10)
    .divide(7, "P03", "own", "", "", "yes", "injection", 35, "yes")
    .harm(7, "bleeding", "minor")
    .check(27, "partial", "no")
    .check(35, "exclusive", "yes")
    .check(49, "exclusive", "yes")
    .check(91, "exclusive", "yes")
    .view(0, "yes")
)

(
    baby("b07reattached", date(2026, 3, 18), 5, asked=0, birth_weight_g=3300)
    .contact(0, "P01", "yes", "", 8, 3100)
    .contact(12, "P01", "no", "", 6, 3290)
    .contact(16, "P01", "yes", "", "", 3310)
    .contact(29, "P01", "no", "", 2)
    .assess(1, "anterior", 5)
    .refer(2, "waiting")
    .divide(9, "P02", "own", "", "yes", "yes", "injection", 5, "yes")
    .harm(30, "reattachment", "treated")
    .divide(40, "P02", "own", "", "yes", "", "injection", "", "yes")
    .check(9, "exclusive")
    .check(37, "partial")
    .check(51, "partial")
)

(
    baby("b08onestop", date(2026, 3, 20), 12, asked=-9, birth_weight_g=3400)
    .contact(0, "P01", "yes", "unchanged", "", 3400)
    .contact(14, "P01", "no", "resolved")
    .assess(0, "anterior", 8)
    .refer(0, "accepted", 0)
    .divide(0, "P01", "own", "", "yes", "yes", "not_given", 0, "yes")
    .harm(0, "bleeding")
    .check(28, "partial", "yes")
    .check(56, "exclusive", "yes")
)

(
    baby("b09weight", date(2026, 3, 24), 4, asked=-1, birth_weight_g=4000, feeding_at_first_contact="partial")
    .contact(0, "P02", "yes", "", 4, 3440)
    .contact(1, "P02", "", "worse", mode="phone")
    .contact(4, "P02", weight=3640)
    .contact(11, "P02", "no", "", 3, 3900)
    .contact(17, "P02", "no", "", "", 3990)
    .contact(20, "P02", "no", "resolved")
    .check(31, "exclusive", "yes")
    .check(38, "none", reason="low_supply")
    .view(30, "yes")
)

(
    baby(
        "b10late",
        date(2026, 3, 26),
        80,
        asked=-20,
        birth_weight_g=3300,
        feeding_at_first_contact="partial",
        helped_elsewhere_before="no",
    )
    .contact(0, "P01", "", "", 5)
    .contact(5, "P02", "yes", "", 5)
    .contact(5, "P03", "no", "", 2)
    .contact(50, "P01", "no", "resolved")
    .refer(3, "declined_by_parent", 20)
    .check(20, "none", reason="choice")
    .view(85, "yes")
)

(
    baby(
        "b11twin",
        date(2026, 4, 1),
        27,
        asked=-5,
        birth_weight_g=1900,
        gestation_weeks=33,
        multiple_birth="yes",
        feeding_at_first_contact="partial",
    )
    .contact(0, "P03", "yes", "unchanged", "", 2600)
    .contact(28, "P03", "no", "improved")
    .contact(56, "P03", "no", "resolved")
    .check(8, "partial", "yes")
    .check(22, "partial", "no")
    .check(22, "exclusive", "yes")
    .view(10, "partly")
    .view(84, "yes")
)

(
    baby(
        "b12interpreter",
        date(2026, 4, 7),
        9,
        asked=-3,
        closed=50,
        closed_reason="no_reply",
        birth_weight_g=3500,
        interpreter_needed="yes",
        deprivation_decile=1,
    )
    .contact(0, "P01", "yes", "worse")
    .contact(5, "P01", "no", "", "", 3400)
    .contact(8, "P01", "no", "", 6)
    .contact(30, "P01", "no", "unchanged")
    .assess(2, "none")
    .check(31, "exclusive", "yes")
    .check(33, "not_known")
    .view(10, "no")
    .view(84, "not_known")
)

add(
    rows,
    "requests",
    case_ref="b13unseen",
    site="Alder hub",
    request_date=date(2026, 4, 10),
    outcome="no_reply",
    outcome_date=date(2026, 4, 13),
)
