"""Who a case is: one baby at first contact, and how feeding will go on, before anything the service does.

Comes in: a stream of draws, a site and the first contact's quarter. Goes out: a frozen Baby and its row of `cases`
(closing left empty). Refuses: to let the site or the quarter change any trait, so that no trend creeps in.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from random import Random

from tests.demo_maker.chance import bell, between, likely, pick, yes_no
from tests.demo_maker.service import Site, open_day, quarter_days

CONSONANTS, DIGITS = "bcdfghjkmnpqrstvwxz", "0123456789"
DECILES = {str(decile): share for decile, share in zip(range(1, 11), (12, 12, 11, 11, 10, 10, 9, 9, 8, 8), strict=True)}
ETHNIC_GROUPS = {
    "white": 0.68,
    "asian": 0.14,
    "black": 0.06,
    "mixed": 0.06,
    "other": 0.02,
    "not_stated": 0.02,
    "not_known": 0.02,
}
SOURCES = {
    "self": 0.34,
    "midwife": 0.25,
    "health_visitor": 0.22,
    "hospital": 0.09,
    "gp": 0.05,
    "other": 0.03,
    "not_known": 0.02,
}


@dataclass(frozen=True)
class Baby:
    """One baby as it is, whatever is recorded of it."""

    case_ref: str
    site: Site
    lead: str
    first_contact: date
    age_days: int
    decile: int
    tie: str  # what an assessment would find: none, anterior, posterior, submucosal
    feeding_at_first: str
    feeding_later: str
    feeding_turns: int  # age in days at which the later way begins
    birth_weight: int
    slow_gain: bool
    sore: bool
    lost: float = 0.06  # of the birth weight, in the first three days

    @property
    def born(self) -> date:
        """The birth date, which no export holds."""
        return self.first_contact - timedelta(days=self.age_days)

    def feeding_on(self, day: date) -> str:
        """How the baby is fed on a day."""
        return self.feeding_later if (day - self.born).days >= self.feeding_turns else self.feeding_at_first

    def weight_on(self, draw: Random, day: date) -> int:
        """Lost in the first three days, regained by about the second week, then a steady gain; read to five grams."""
        age = (day - self.born).days
        regained, gain = (19, 19) if self.slow_gain else (12, 30)
        lowest = self.birth_weight * (1 - self.lost)
        if age <= 3:
            weight = self.birth_weight - (self.birth_weight - lowest) * age / 3
        elif age <= regained:
            weight = lowest + (self.birth_weight - lowest) * (age - 3) / (regained - 3)
        else:
            weight = self.birth_weight + gain * min(age - regained, 100)
        return 5 * round((weight + between(draw, -40, 40)) / 5)


def case_reference(draw: Random, taken: set[str]) -> str:
    """A pseudonym that says nothing: three letters, four digits, a letter.

    It cannot be read as a postcode, a date, a telephone number or a spreadsheet's power of ten.
    """
    while True:
        letters = [CONSONANTS[between(draw, 0, len(CONSONANTS) - 1)] for _ in range(4)]
        digits = "".join(DIGITS[between(draw, 0, 9)] for _ in range(4))
        reference = "".join(letters[:3]) + digits + letters[3]
        if reference not in taken:
            taken.add(reference)
            return reference


def first_contact_day(draw: Random, quarter: str) -> date:
    """An open day of the quarter, any as likely as another."""
    first, last = quarter_days(quarter)
    while True:
        day = open_day(first + timedelta(days=between(draw, 0, (last - first).days)))
        if day <= last:
            return day


def age_at_first_contact(draw: Random) -> int:
    """Mostly the first weeks, with a tail."""
    band = pick(draw, {"early": 0.72, "weeks": 0.18, "second month": 0.07, "later": 0.03})
    if band == "early":
        return 2 + between(draw, 0, 7) + between(draw, 0, 8)
    if band == "weeks":
        return between(draw, 14, 30)
    return between(draw, 31, 60) if band == "second month" else between(draw, 61, 150)


def family_columns(draw: Random) -> dict[str, str]:
    """What else the record says of the family, none of which has a say in what follows."""
    return {
        "interpreter_needed": yes_no(draw, 0.08, 0.06),
        "multiple_birth": yes_no(draw, 0.02, 0.02),
        "helped_elsewhere_before": yes_no(draw, 0.16, 0.2),
    }


def feeding_later(draw: Random, at_first: str, decile: int) -> str:
    """The way of feeding from some weeks on.

    The better-off the area, the more often it is exclusive: the gradient that the equity tables are for.
    """
    if at_first == "exclusive":
        exclusive = 0.62 + 0.026 * decile
        return pick(draw, {"exclusive": exclusive, "partial": 0.94 - exclusive, "none": 0.06})
    if at_first == "partial":
        exclusive = 0.04 + 0.022 * decile
        return pick(draw, {"exclusive": exclusive, "partial": 0.76 - exclusive, "none": 0.24})
    return pick(draw, {"none": 0.95, "partial": 0.05})


def make_baby(draw: Random, case_ref: str, site: Site, quarter: str) -> tuple[Baby, dict[str, str]]:
    """A baby and its row of `cases`."""
    first_contact = first_contact_day(draw, quarter)
    age_days = age_at_first_contact(draw)
    sex = pick(draw, {"male": 0.53, "female": 0.46, "not_known": 0.01})
    tie = "none"
    if likely(draw, 0.47 if sex == "male" else 0.34):
        tie = pick(draw, {"anterior": 0.49, "posterior": 0.38, "submucosal": 0.13})
    decile = int(pick(draw, {name: share / 100 for name, share in DECILES.items()}))
    exclusive = 0.34 + 0.034 * decile
    at_first = pick(draw, {"exclusive": exclusive, "partial": 0.95 - exclusive, "none": 0.05})
    gestation = int(pick(draw, {"35": 0.02, "36": 0.04, "37": 0.09, "38": 0.18, "39": 0.27, "40": 0.27, "41": 0.13}))
    baby = Baby(
        case_ref=case_ref,
        site=site,
        lead=site.practitioners[between(draw, 0, len(site.practitioners) - 1)],
        first_contact=first_contact,
        age_days=age_days,
        decile=decile,
        tie=tie,
        feeding_at_first=at_first,
        feeding_later=feeding_later(draw, at_first, decile),
        feeding_turns=age_days + between(draw, 3, 28),
        birth_weight=10 * round(bell(draw, 3430 + 130 * (gestation - 39) + (110 if sex == "male" else 0), 410) / 10),
        slow_gain=likely(draw, 0.24 if tie == "none" else 0.34),
        sore=likely(draw, 0.58 if tie == "none" else 0.72),
    )
    waited = min(age_days, between(draw, 0, 4) if likely(draw, 0.78) else between(draw, 3, 11))
    row = {
        "case_ref": case_ref,
        "site": site.name,
        "help_requested_date": ((first_contact - timedelta(days=waited)).isoformat() if likely(draw, 0.9) else ""),
        "first_contact_date": first_contact.isoformat(),
        "age_days": str(age_days),
        "closed_date": "",
        "closed_reason": "",
        "sex": sex,
        "gestation_weeks": str(gestation) if likely(draw, 0.96) else "",
        "first_baby": yes_no(draw, 0.53, 0.03),
        "deprivation_decile": str(decile) if likely(draw, 0.97) else "",
        "ethnic_group": pick(draw, ETHNIC_GROUPS),
        "referral_source": pick(draw, SOURCES),
        "family_history": yes_no(draw, 0.10 if tie == "none" else 0.33, 0.12),
        "feeding_at_first_contact": at_first if likely(draw, 0.98) else "not_known",
        "birth_weight_g": str(baby.birth_weight) if likely(draw, 0.92) else "",
        "nipple_pain": "yes" if baby.sore else yes_no(draw, 0, 0.06),
        "nipple_damage": yes_no(draw, 0.42 if baby.sore else 0.05, 0.05),
        "poor_weight_gain": "yes" if baby.slow_gain else yes_no(draw, 0, 0.05),
        "very_frequent_feeds": yes_no(draw, 0.45, 0.07),
        "unsettled_at_breast": yes_no(draw, 0.52, 0.06),
        "wind": yes_no(draw, 0.36, 0.08),
        "bringing_up_milk": yes_no(draw, 0.24, 0.09),
    }
    return baby, row
