"""The columns of the nine tables, typed in by hand from the layout document.

In: nothing. Out: `TABLES`, the columns of each table. Refuses: to take the columns from the declaration the pipeline
reads; a slip in that declaration would then be believed twice. A test compares the two.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Column:
    """One column: kind is text, date, integer or code (yes/no is a code of two values)."""

    name: str
    kind: str
    must: bool = False
    values: tuple[str, ...] = ()
    low: int = 0
    high: int = 0


def text(name: str, must: bool = False, low: int = 0, high: int = 0) -> Column:
    """A text column; high is the longest length, 0 for any."""
    return Column(name, "text", must, low=low, high=high)


def day(name: str, must: bool = False) -> Column:
    return Column(name, "date", must)


def whole(name: str, low: int, high: int, must: bool = False) -> Column:
    return Column(name, "integer", must, low=low, high=high)


def code(name: str, listed: str, must: bool = False) -> Column:
    return Column(name, "code", must, values=tuple(listed.split()))


def yes_no(name: str) -> Column:
    return code(name, "yes no")


CASE_REF = text("case_ref", must=True, low=1, high=64)
DECILE = whole("deprivation_decile", 1, 10)
ETHNIC_GROUP = code("ethnic_group", "asian black mixed white other not_stated")
REFERRAL_SOURCE = code("referral_source", "self midwife health_visitor gp hospital other")
TIE_TYPES = "none anterior posterior submucosal not_recorded"
LIMITS = "full limited absent"
PROBLEMS = (
    "nipple_pain",
    "nipple_damage",
    "poor_weight_gain",
    "very_frequent_feeds",
    "unsettled_at_breast",
    "wind",
    "bringing_up_milk",
)

# not_known stands in no list: in an optional column of any type it reads as nothing before the list is asked
TABLES: dict[str, tuple[Column, ...]] = {
    "cases": (
        CASE_REF,
        text("site", must=True),
        day("help_requested_date"),
        day("first_contact_date", must=True),
        whole("age_days", 0, 364, must=True),
        day("closed_date"),
        code("closed_reason", "settled no_reply moved care_elsewhere stopped_breastfeeding died"),
        code("sex", "female male"),
        whole("gestation_weeks", 22, 44),
        yes_no("first_baby"),
        DECILE,
        ETHNIC_GROUP,
        REFERRAL_SOURCE,
        yes_no("interpreter_needed"),
        yes_no("multiple_birth"),
        yes_no("helped_elsewhere_before"),
        yes_no("family_history"),
        code("feeding_at_first_contact", "exclusive partial none"),
        whole("birth_weight_g", 300, 6500),
        *(yes_no(problem) for problem in PROBLEMS),
    ),
    "contacts": (
        CASE_REF,
        day("contact_date", must=True),
        text("practitioner", must=True),
        code("mode", "in_person video phone group"),
        yes_no("attachment_help"),
        code("problem_status", "resolved improved unchanged worse not_recorded"),
        whole("pain_score", 0, 10),
        whole("weight_g", 300, 15000),
    ),
    "assessments": (
        CASE_REF,
        day("assessment_date", must=True),
        text("practitioner", must=True),
        code("tie_type", TIE_TYPES),
        *(code(sign, LIMITS) for sign in ("extension", "elevation", "lateralisation", "cupping", "peristalsis")),
        whole("function_score", 0, 14),
    ),
    "referrals": (
        CASE_REF,
        day("referral_date", must=True),
        text("destination"),
        code("outcome", "waiting accepted not_indicated declined_by_parent not_brought withdrawn divided_elsewhere"),
        day("outcome_date"),
    ),
    "procedures": (
        CASE_REF,
        day("procedure_date", must=True),
        text("operator", must=True),
        code("provider", "own other_service private"),
        code("tie_type", TIE_TYPES),
        yes_no("consent_recorded"),
        yes_no("bleeding_history_asked"),
        code("vitamin_k", "injection oral declined not_given"),
        whole("minutes_to_first_feed", 0, 1440),
        yes_no("aftercare_advice"),
    ),
    "complications": (
        CASE_REF,
        day("noted_date", must=True),
        code(
            "kind",
            "bleeding infection reattachment feeding_refusal injury respiratory missed_diagnosis other",
            must=True,
        ),
        code("severity", "minor treated hospital"),
    ),
    "feeding_checks": (
        CASE_REF,
        day("check_date", must=True),
        code("feeding", "exclusive partial none"),
        yes_no("at_breast"),
        code("reason_stopped", "choice pain low_supply return_to_work advised other"),
    ),
    "requests": (
        CASE_REF,
        text("site", must=True),
        day("request_date", must=True),
        code("outcome", "waiting declined no_reply seen_elsewhere moved not_suitable died"),
        day("outcome_date"),
        DECILE,
        ETHNIC_GROUP,
        REFERRAL_SOURCE,
        yes_no("interpreter_needed"),
    ),
    "family_views": (CASE_REF, day("answered_date", must=True), code("helped", "yes partly no")),
}

# the date of a row of each child table, the one that is compared with first_contact_date
ROW_DATE = {
    "contacts": "contact_date",
    "assessments": "assessment_date",
    "referrals": "referral_date",
    "procedures": "procedure_date",
    "complications": "noted_date",
    "feeding_checks": "check_date",
    "requests": "request_date",
    "family_views": "answered_date",
}
