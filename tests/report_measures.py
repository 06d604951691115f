"""Invented measures and breakdowns for the tests of the report: the real names, made-up texts and sizes."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from pathlib import Path

from pipeline.contracts.breakdown_file import Breakdown
from pipeline.contracts.measure_files import Measure
from pipeline.contracts.query_files import ROUTES
from pipeline.contracts.sql_file import SqlFile

SITES = ("Harbour hub", "Mill Lane clinic", "Quay <north> & south", "Hilltop team")  # the third one tests escaping


@dataclass(frozen=True)
class Sketch:
    """What a measure is made up from: about how many a quarter, which share met, which share unknown."""

    name: str
    section: str
    kind: str
    grain: str
    better: str
    horizon: int
    eligible: int
    share: float
    unknown_share: float


# name, section, kind, grain, better, horizon, eligible a quarter, share met, share unknown
_TABLE = """
resolved_by_attachment_help         help_first proportion    case      higher  42 150 0.52 0.14
seen_promptly                       help_first proportion    case      higher   0 210 0.81 0
attachment_help_before_referral     help_first proportion    case      higher   0  60 0.72 0.08
function_assessed_before_referral   help_first proportion    case      higher   0  60 1.00 0
days_to_referral                    waiting    time_to_event case      none     0 230 0.30 0.20
days_from_referral_to_procedure     waiting    time_to_event case      shorter  0  60 0.70 0.20
age_at_procedure                    waiting    days          division  none     0  45 0    0
stopped_breastfeeding_while_waiting waiting    proportion    case      lower   84  12 0.25 0.40
checks_before_procedure             division   proportion    division  higher   0  45 0.90 0.10
fed_within_30_minutes               division   proportion    division  higher   0  45 0.80 0.30
aftercare_advice_given              division   proportion    division  higher   0  45 0.93 0.05
attachment_help_after_division      division   proportion    division  higher   7  40 0.60 0.10
complication_within_14_days         division   noted         division  lower   14  45 0.06 0.20
bleeding_needing_care               division   noted         division  lower   14  45 0.02 0.04
infection_within_14_days            division   noted         division  lower   14  45 0    0.20
divided_again_within_84_days        division   proportion    division  lower   84  40 0.05 0
division_without_visible_tie        division   proportion    division  none     0  40 0.10 0
breastfed_at_6_weeks                feeding    proportion    case      higher  14 170 0.71 0.16
exclusively_breastfed_at_6_weeks    feeding    proportion    case      higher  14 170 0.44 0.16
fed_at_the_breast_at_6_weeks        feeding    proportion    case      higher  14 170 0.62 0.22
asked_at_6_weeks                    feeding    proportion    case      higher  14 170 0.84 0
feeding_pain_eased                  feeding    proportion    case      higher  28  80 0.66 0.35
birth_weight_regained_by_21_days    feeding    proportion    case      higher   0 110 0.86 0.20
"""
_LINES = _TABLE.strip().split("\n")
SKETCHES = tuple(
    Sketch(name, section, kind, grain, better, int(horizon), int(eligible), float(share), float(unknown))
    for name, section, kind, grain, better, horizon, eligible, share, unknown in map(str.split, _LINES)
)
EVENTS = {
    "days_to_referral": "Referred within 28 days of first contact",
    "days_from_referral_to_procedure": "Divided within 28 days of referral",
}
RARE = ("complication_within_14_days", "bleeding_needing_care", "infection_within_14_days")
BREAKDOWNS = (
    Breakdown("all", "Everyone", True),
    Breakdown("site", "Site", True, for_the_missing=True),
    Breakdown("tie_type", "Kind of tongue-tie", True),
    Breakdown("deprivation_fifth", "Deprivation fifth", True, for_equity=True, for_the_missing=True),
    Breakdown("ethnic_group", "Ethnic group", True, for_equity=True),
    Breakdown("sex", "Sex", True),
    Breakdown("first_baby", "First baby", True, for_equity=True),
    Breakdown("age_band", "Age at first contact, in days", True),
    Breakdown("divided_before", "Divided before this episode", True),
    Breakdown("route", "Where cases stand", False),
)
LEVELS = {
    "site": SITES,
    "tie_type": ("anterior", "posterior", "submucosal", "none", "not_recorded"),
    "deprivation_fifth": ("1", "2", "3", "4", "5", "not_recorded"),
    "ethnic_group": ("asian", "black", "mixed", "white", "other", "not_stated", "not_recorded"),
    "sex": ("female", "male", "not_recorded"),
    "first_baby": ("yes", "no", "not_recorded"),
    "age_band": ("0-6", "7-13", "14-27", "28+"),
    "divided_before": ("yes", "no"),
    "route": ROUTES,
}


def measure(sketch: Sketch) -> Measure:
    """The sketch with invented texts, as a measure file would declare it."""
    title = sketch.name.replace("_", " ").capitalize()
    return Measure(
        name=sketch.name,
        title=title,
        question=f"Of those this measure is about, how many were as its name says: {title.lower()}?",
        section=sketch.section,
        kind=sketch.kind,
        eligible="Everyone this invented measure is about",
        met=EVENTS.get(sketch.name, title),
        unknown="No answer recorded in that time",
        better=sketch.better,
        grain=sketch.grain,
        source="the project's own definition",
        horizon=sketch.horizon,
        counted_on="the day of first contact",
        also_by=("route",) if sketch.section == "feeding" else (),
        exact=sketch.name in RARE,
        all_due=sketch.name == "breastfed_at_6_weeks",
        own_file=sketch.name in RARE,
        heard=("asked", "not asked") if sketch.name == "breastfed_at_6_weeks" else (),
        in_a_sentence=("asked", "helped", "ended otherwise", "still waiting then") if sketch.name in EVENTS else (),
        changed=(date(2026, 6, 30), "Invented.") if sketch.name == "seen_promptly" else None,
        file=SqlFile(Path(f"{sketch.name}.sql"), {}, {}, "SELECT 1"),
    )


MEASURES = tuple(measure(sketch) for sketch in SKETCHES)
