"""Every setting of audit.toml: where it stands, what a new folder starts with, what is allowed, what it is for."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True)
class Setting:
    """One setting of audit.toml: where it stands, what a new folder starts with, and what it is for."""

    section: str
    key: str
    start: Any
    allowed: str
    explained: str
    lowest: float = 0  # of a number, both ends allowed
    highest: float = 1
    only: tuple[int | str, ...] = ()  # where not every number between will do, or not every text
    pattern: str = ".*"  # of a text, the whole of it


SETTINGS = (
    Setting(
        "service",
        "name",
        "Name of the service",
        "a text that is not empty",
        "The service's name, as its pages show it.",
    ),
    Setting(
        "service", "contact", "", "a text", "Whom a reader of a report asks, by role, never by name. May stay empty."
    ),
    Setting(
        "measures",
        "seen_promptly_days",
        5,
        "a whole number from 0 to 365",
        "A family counts as seen promptly if the first contact came within this many days of the request for help.",
        highest=365,
    ),
    Setting(
        "measures",
        "at_a_glance",
        [
            "seen_promptly",
            "resolved_by_attachment_help",
            "days_from_referral_to_procedure",
            "complication_needing_care_within_14_days",
            "reattached_within_84_days",
            "breastfed_at_6_weeks",
            "asked_at_6_weeks",
        ],
        "a list of names of measures (feeding-audit measures lists them)",
        "The few measures a report opens with. Choose them before looking at any figure, and keep them.",
    ),
    Setting(
        "requests",
        "longest_wait_days",
        28,
        "a whole number from 0 to 365",
        "A family that asked for help and has waited for more days than this is on the list of cases to look at again.",
        highest=365,
    ),
    Setting(
        "report",
        "year_starts",
        4,
        "1, 4, 7 or 10",
        "The month in which the service's year begins: 4 is April. A year is four calendar quarters.",
        only=(1, 4, 7, 10),
    ),
    Setting(
        "report",
        "traced_cases",
        1000,
        "a whole number from 1 to 1000000",
        "trace.html lists so many cases behind each figure, at the most; feeding-audit trace lists them all.",
        lowest=1,
        highest=1_000_000,
    ),
    Setting(
        "over_time",
        "baseline",
        "",
        "two months such as 2025-01 to 2025-12, at least a year, or nothing",
        "The months that charts over time take what is usual from. Nothing: all the months they show.",
        pattern=r"(\d{4}-(0[1-9]|1[0-2]) to \d{4}-(0[1-9]|1[0-2]))?",
    ),
    Setting(
        "publish",
        "about",
        "",
        "a text",
        "What the service does and for whom, in a few plain sentences: the published report opens with them.",
    ),
    Setting(
        "publish",
        "withheld_up_to",
        4,
        "4, 5, 6 or 7",
        "Counts of people from 1 to this are in no published report. Your lead for information governance sets it.",
        only=(4, 5, 6, 7),
    ),
    Setting(
        "publish",
        "least_cases",
        50,
        "a whole number from 20 to 100000",
        "A year in which fewer cases were first seen is published as activity only.",
        lowest=20,
        highest=100_000,
    ),
    Setting(
        "publish",
        "quarterly",
        False,
        "true or false",
        "Whether quarters may be published too: the figures of everyone only. What a quarter shows, its year may not.",
    ),
    Setting(
        "publish",
        "six_weeks_known",
        0.95,
        "a share from 0 to 1",
        "A six-week figure of which a smaller share is known says so, on any page (95% is the English convention).",
    ),
    Setting(
        "publish",
        "below_it",
        "say",
        '"say" or "withhold"',
        "What becomes of six-week figures if fewer are known: say so beside them, or withhold them.",
        only=("say", "withhold"),
    ),
    Setting(
        "publish",
        "licence",
        "",
        "a text",
        "The licence under which others may use the published figures: a name or an address. May stay empty.",
    ),
    Setting(
        "gate",
        "rows_fall",
        0.5,
        "a share from 0 to 1",
        "An export is held back if a table has fewer rows than this share of those it had in the load before.",
    ),
    Setting(
        "gate",
        "recorded_fall",
        0.1,
        "a share from 0 to 1",
        "An export is held back if a column mostly recorded in the load before is recorded less than this as often.",
    ),
    Setting(
        "gate",
        "code_share",
        0.9,
        "a share from 0.5 to 1",
        "An export is held back if one answer makes up this share of a column, and was less than half of it before.",
        lowest=0.5,
    ),
    Setting(
        "gate",
        "silent_days",
        92,
        "a whole number from 1 to 3650",
        "An export is held back if its latest date is more than this many days before its cut-off.",
        lowest=1,
        highest=3650,
    ),
    Setting(
        "gate",
        "set_aside_share",
        0.05,
        "a share from 0 to 1",
        "An export is held back if more than this share of its lines is set aside, or of the lines of one sheet.",
    ),
)
