"""Invented content for a service edition: every measure, quarter and breakdown, and the awkward cases.

The numbers come from a fixed generator and stand for nobody. Intervals are worked out from them as the results file's
contract says, so the frames hang together; the tests take no expected value from here but by counting again.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from functools import cache

import numpy as np
import pandas as pd

from pipeline.contracts.measure_files import DAYS, NOTED, RESULT_COLUMNS, SHARES, TIME_TO_EVENT
from pipeline.contracts.query_files import ROUTES, SIX_WEEKS
from pipeline.outcomes import lookup
from pipeline.outcomes.by_month import MONTH_COLUMNS
from pipeline.report.commentary import commentary_view
from pipeline.report.content.edition import EditionContent, Load, LoadedFile, Provenance, Quality
from pipeline.settings import Gate, Publish, Settings
from pipeline.statistics import proportions, quartiles, waits
from tests.report_measures import BREAKDOWNS, LEVELS, MEASURES, SITES, SKETCHES, Sketch

PERIOD = "2026Q3"
PERIODS = tuple(f"{year}Q{number}" for year in (2024, 2025, 2026) for number in (1, 2, 3, 4))[:11]
# Words with a bit of everything, a plan that is all right, and one action left over from the quarter before.
WORDS = """# Commentary, July to September 2026

Before the first heading.

## What we saw

<!-- Seen promptly: a note that is not printed -->
It was **busy**; see [seen promptly](#seen_promptly) & <b>this</b>.

#### Who was busy

1. The hub
2. The clinic
   > They said so.

| Week | Families |
| --- | --- |
| first | 12 |

## What we will do

| Finding | Action | Owner | By when | Done |
| --- | --- | --- | --- | --- |
| Busy | Ask for help | Team's lead | October 2026 | no |
"""
WORDS_BEFORE = """
| Finding | Action | Owner | By when | Done |
| --- | --- | --- | --- | --- |
| Busy | Ask for  help | Team's lead | July 2026 | no |
| Late | Look at Fridays | Team's lead | July 2026 | not yet |
| Calm | Rest | Team's lead | July 2026 | yes |
"""
# The rule of sql/checks/30_case_was_not_set_aside.sql.
FOLLOWS = "a case that was accepted: a row of a case that is set aside goes with it"
# What one measure's reported quarter is made to be, so that the awkward cases are on every page.
EMPTY, ALL_UNKNOWN = "division_without_visible_tie", "attachment_help_after_division"
SO_FAR = ("divided_again_within_84_days", "resolved_by_attachment_help")


CURVE = ("day", "at_risk", "events", "competing", "censored", "incidence", "lower", "upper")


@cache
def frames() -> tuple[pd.DataFrame, pd.DataFrame]:
    """What results.csv and waits.csv would hold; take a copy to change a part of them."""
    generator = np.random.RandomState(20)
    results: list[dict[str, object]] = []
    curves: list[dict[str, object]] = []
    for sketch in SKETCHES:
        for period in PERIODS:
            cases = _cases(sketch, period, generator)
            complete = "no" if period == PERIOD and sketch.name in SO_FAR else "yes"
            for breakdown, level, group in _groups(sketch, period, cases):
                key = {"measure": sketch.name, "period": period, "breakdown": breakdown, "level": level}
                counted = _result(sketch, group, key, curves)
                results.append({**key, "kind": sketch.kind, "complete": complete, **counted})
    columns = list(RESULT_COLUMNS)
    order = ["measure", "period", "breakdown", "level"]
    by_level = _with_shares(pd.DataFrame(results, columns=columns)).sort_values(order, ignore_index=True)
    return by_level, pd.DataFrame(curves)


@cache
def content() -> EditionContent:
    """The same frozen content every time; take `dataclasses.replace` to change a part of it."""
    return EditionContent(
        settings=Settings(
            publish=Publish("", 4, 50, False, 0.95, "say", ""),
            gate=Gate(0.5, 0.1, 0.9, 92, 0.05),
            service="Invented Feeding Service",
            contact="the audit lead of the invented service",
            seen_promptly_days=5,
            longest_wait_days=28,
            baseline=None,
            traced_cases=1000,
            year_starts=4,
            at_a_glance=(
                "seen_promptly",
                "attachment_help_before_referral",
                "days_from_referral_to_procedure",
                "complication_within_14_days",
                "breastfed_at_6_weeks",
                "asked_at_6_weeks",
            ),
            standards={
                "seen_promptly": 0.7,
                "complication_within_14_days": 0.02,
                "breastfed_at_6_weeks": 0.72,
                "days_from_referral_to_procedure": 0.8,
            },
        ),
        period=PERIOD,
        measures=MEASURES,
        breakdowns=BREAKDOWNS,
        lookup=lookup.read(*frames()),
        apart=pd.DataFrame(
            [
                ("seen_promptly", "No date of the request for help, so not in this measure", PERIOD, 17),
                ("breastfed_at_6_weeks", "First seen at 28 days or older, so not in this measure", PERIOD, 31),
            ],
            columns=["measure", "title", "period", "count"],
        ),
        flow=_flow(),
        activity=pd.DataFrame(
            [(period, "presenting_problems", "wind: yes", 7) for period in PERIODS],
            columns=["period", "section", "row", "count"],
        ),
        over_time={},
        months=pd.DataFrame(columns=list(MONTH_COLUMNS)),
        rare_harm={},
        within=None,
        quality=_quality(),
        commentary=commentary_view.view(WORDS, WORDS_BEFORE, PERIOD),
        requests_held={"": True},
        again=3,
        began=_began(),
        still_waiting=pd.DataFrame(
            [
                ("days_from_referral_to_procedure", SITES[0], 3, 2, 0, 1, 61),
                ("days_from_referral_to_procedure", "not_recorded", 0, 1, 0, 0, 20),
            ],
            columns=["measure", "site", "under_14", "from_14", "from_28", "from_56", "longest"],
        ),
        provenance=Provenance(
            version="0.1.0",
            cut_off=date(2026, 10, 14),
            loads=(
                Load(1, "export-2026-07", date(2026, 7, 9), (LoadedFile("cases.csv", "ab" * 32, 2114),)),
                Load(
                    2,
                    "export-2026-10",
                    date(2026, 10, 14),
                    (LoadedFile("cases.csv", "0f" * 32, 2380), LoadedFile("contacts.csv", "c3" * 32, 7010)),
                ),
            ),
            settings_text='service = "Invented Feeding Service"\nseen_promptly_days = 5\nnote = "a < b & c"\n',
        ),
    )


def _began() -> pd.DataFrame:
    """Sites that see ninety a quarter, with records since long before."""
    rows = [(site, period, 90, date(2023, 1, 2)) for site in SITES for period in PERIODS]
    return pd.DataFrame(rows, columns=["site", "period", "cases", "first_day"])


def _cases(sketch: Sketch, period: str, generator: np.random.RandomState) -> pd.DataFrame:
    count = round(sketch.eligible * (0.85 + 0.3 * generator.rand()))
    if period == PERIOD and sketch.name == EMPTY:
        count = 0
    weights = {name: generator.dirichlet(np.linspace(6, 1.5, len(levels))) for name, levels in LEVELS.items()}
    cases = pd.DataFrame({name: generator.choice(levels, count, p=weights[name]) for name, levels in LEVELS.items()})
    share = np.full(count, sketch.share)
    if sketch.name == "seen_promptly":
        share = np.where((cases["site"] == SITES[1]) & (period == PERIOD), 0.45, share)
    cases["known"] = generator.rand(count) >= sketch.unknown_share
    if period == PERIOD and sketch.name == ALL_UNKNOWN:
        cases["known"] = False
    cases["met"] = cases["known"] & (generator.rand(count) < share)
    cases["day"] = np.minimum(generator.geometric(0.035, count), 84)
    # 1 the event, 2 another end, 0 lost or still waiting
    cases["event"] = np.where(cases["met"], 1, np.where(cases["known"], 2, 0))
    cases.loc[cases["day"] == 84, "event"] = 0
    return cases


def _groups(sketch: Sketch, period: str, cases: pd.DataFrame) -> list[tuple[str, str, pd.DataFrame]]:
    groups = [("all", "all", cases)]
    if period not in (PERIOD, "2026Q2", "2025Q3"):
        return groups  # a page shows no breakdown of the others, and each takes time to work out
    for breakdown in BREAKDOWNS[1:]:
        if breakdown.for_every_measure or sketch.section == "feeding":
            groups += [(breakdown.name, str(level), group) for level, group in cases.groupby(breakdown.name, sort=True)]
    return groups


def _result(
    sketch: Sketch, group: pd.DataFrame, key: dict[str, str], curves: list[dict[str, object]]
) -> dict[str, object]:
    if sketch.kind == DAYS:
        day, count = np.unique(group["day"], return_counts=True)
        low, middle, high = quartiles.quartiles(day, count)
        limits = {"value": middle, "lower": low, "upper": high}
        return {"eligible": len(group), "known": len(group), **limits, "method": "quartiles"}
    if sketch.kind == TIME_TO_EVENT:
        days, place = np.unique(group["day"], return_inverse=True)
        events, competing, censored = (
            np.bincount(place[group["event"] == how], minlength=len(days)) for how in (1, 2, 0)
        )
        curve = waits.cumulative_incidence(days, events, competing, censored)
        value, low, high = waits.incidence_at(curve, 28)
        columns = zip(*(getattr(curve, name) for name in CURVE), strict=True)
        curves += [{**key, **dict(zip(CURVE, row, strict=True))} for row in columns]
        met = int(((group["event"] == 1) & (group["day"] <= 28)).sum())
        known = int(((group["event"] > 0) | (group["day"] >= 28)).sum())
        return {
            "eligible": len(group),
            "known": known,
            "met": met,
            "unknown": len(group) - known,
            "value": value,
            "lower": low,
            "upper": high,
            "method": "cumulative incidence",
        }
    eligible, known, met = len(group), int(group["known"].sum()), int(group["met"].sum())
    return {"eligible": eligible, "known": known, "met": met, "unknown": eligible - known, "method": "wilson"}


def _with_shares(results: pd.DataFrame) -> pd.DataFrame:
    """Shares, limits and bounds of them all at once: one at a time they take ten seconds."""
    shares = results["kind"].isin(SHARES)
    met, known, eligible = (results.loc[shares, name].astype(int).to_numpy() for name in ("met", "known", "eligible"))
    of = np.where(results.loc[shares, "kind"] == NOTED, eligible, known)
    results.loc[shares, "value"] = np.where(of > 0, met / np.maximum(of, 1), np.nan)
    results.loc[shares, "lower"], results.loc[shares, "upper"] = proportions.wilson(met, of)
    results.loc[shares, "bound_low"], results.loc[shares, "bound_high"] = proportions.bounds(met, known, eligible)
    return results


def _flow() -> pd.DataFrame:
    counts = {
        "settled": (41, 18, 6, 8, 14, 9),
        "in_support": (9, 7, 1, 4, 12, 5),
        "closed": (6, 9, 7, 9, 5, 6),
        "waiting": (1, 2, 1, 3, 8, 1),
        "not_going_ahead": (4, 2, 1, 2, 0, 1),
        "divided_elsewhere": (1, 0, 2, 0, 1, 0),
        "divided": (13, 9, 4, 4, 6, 5),
    }
    cells = [(route, state, cases) for route in ROUTES for state, cases in zip(SIX_WEEKS, counts[route], strict=True)]
    return pd.DataFrame(cells, columns=["route", "six_weeks", "cases"])


def _quality() -> Quality:
    return Quality(
        lines=pd.DataFrame(
            [
                (1, "cases.csv", 2114, 1, 0, 2101, 11, 1, 0),
                (2, "cases.csv", 2380, 1, 1, 2366, 12, 0, 0),
                (2, "contacts.csv", 7010, 1, 0, 6953, 49, 3, 4),
            ],
            columns=["load", "file", "lines", "header", "blank", "accepted", "set_aside", "repeats", "left_out"],
        ),
        reasons=pd.DataFrame(
            [
                (1, "cases", "age_days", "age_days", "value", "0 to 364", 4),
                (1, "cases", "site", "site", "row", "text", 7),
                (2, "contacts", "Seen on", "contact_date", "row", "on or before the cut-off", 49),
                (2, "cases", None, "", "row", "as many fields as the header", 12),
                (2, "contacts", "Case", "case_ref", "row", FOLLOWS, 2),
            ],
            columns=["load", "table", "column", "layout_column", "kind", "allowed", "count"],
        ),
        not_recorded=pd.DataFrame(
            [
                (table, column, site, rows, missing)
                for table, column, missing in (
                    ("cases", "sex", 2),
                    ("cases", "deprivation_decile", 9),
                    ("contacts", "pain_score", 33),
                )
                for site, rows in zip(SITES, (90, 60, 40, 0), strict=True)
                for missing in (min(missing, rows),)
            ],
            columns=["table", "column", "site", "rows", "not_recorded"],
        ),
        warnings=("The export of 9 July 2026 (load 1), complications.csv: not in this export",),
        remarks=("Column shoe_size of cases.csv is not in the layout and was left out.",),
    )


def without_cases() -> EditionContent:
    """A first quarter in which nobody was seen: no flow, no results but the one empty row of each measure."""
    kept, waits_of_all = frames()
    kept = kept[(kept["period"] == PERIOD) & (kept["breakdown"] == "all")].copy()
    numbers = ["value", "lower", "upper", "bound_low", "bound_high"]
    kept[["eligible", "known", "met", "unknown"]] = 0
    kept[numbers] = np.nan
    return replace(
        content(),
        lookup=lookup.read(kept, waits_of_all.iloc[:0]),
        flow=content().flow.iloc[:0],
        apart=content().apart.iloc[:0],
    )
