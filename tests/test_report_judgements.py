"""Standards, changes and sites worth a look, each decided by hand first."""

from __future__ import annotations

from dataclasses import replace

import pytest

from pipeline.judgement import verdict
from pipeline.outcomes.lookup import CurveDay, Lookup, Result, wait_bounds
from pipeline.report.views import measure_tables
from pipeline.report.words import verdicts
from tests import report_measures

MEASURES = {measure.name: measure for measure in report_measures.MEASURES}
SHARE = MEASURES["breastfed_at_6_weeks"]  # higher is better
RARE = MEASURES["infection_within_14_days"]  # lower is better
AGE = MEASURES["age_at_procedure"]
WAIT = MEASURES["days_from_referral_to_procedure"]


def result(met, known, eligible, lower=0.1, upper=0.9):
    value = met / known if known else None
    bounds = (met / eligible, (met + eligible - known) / eligible) if eligible else (None, None)
    return Result(eligible, known, met, eligible - known, value, lower, upper, *bounds, True, of=known)


def curve(*days):
    return tuple(CurveDay(*day) for day in days)


def lookup(results, curves=None):
    levels = {}
    for key in results:
        levels.setdefault(key[:3], []).append(key[3])
    return Lookup(results, curves or {}, {key: tuple(names) for key, names in levels.items()}, "2025Q3")


def standard(measure, one, share, curves=None):
    results = lookup({(measure.name, "2026Q3", "all", "all"): one}, curves)
    return verdicts.standard(share, verdict.standard(measure, results, "2026Q3", share))


@pytest.mark.parametrize(
    ("measure", "met", "known", "eligible", "share", "mark", "text"),
    [
        # 30 of 36 known, 40 eligible: between 30/40 = 75% and 34/40 = 85%.
        (SHARE, 30, 36, 40, 0.75, "met", "75%: met, whatever the unknown answers are"),
        (SHARE, 30, 36, 40, 0.76, "open", "76%: not shown: too many unknown"),
        (SHARE, 30, 36, 40, 0.85, "open", "85%: not shown: too many unknown"),
        (SHARE, 30, 36, 40, 0.86, "missed", "86%: missed, whatever the unknown answers are"),
        # 1 of 40 known, 50 eligible: between 2% and 11/50 = 22%; lower is better, so the worst is 22%.
        (RARE, 1, 40, 50, 0.22, "met", "22%: met, whatever the unknown answers are"),
        (RARE, 1, 40, 50, 0.21, "open", "21%: not shown: too many unknown"),
        (RARE, 1, 40, 50, 0.02, "open", "2%: not shown: too many unknown"),
        (RARE, 1, 40, 50, 0.01, "missed", "1%: missed, whatever the unknown answers are"),
        # Nothing unknown, and the share is the standard itself.
        (SHARE, 19, 20, 20, 0.95, "met", "95%: met"),
        (SHARE, 18, 20, 20, 0.95, "missed", "95%: missed"),
        (SHARE, 0, 0, 4, 0.5, "open", "50%: not shown: too many unknown"),
        (SHARE, 0, 0, 0, 0.5, "none", "50%: nothing to judge, nobody was eligible"),
    ],
)
def test_a_standard_holds_or_fails_only_at_the_bounds(measure, met, known, eligible, share, mark, text):
    assert standard(measure, result(met, known, eligible), share) == verdicts.Said(mark, text)


def test_a_median_has_no_standard():
    assert standard(AGE, result(1, 1, 1), 0.5).mark == "none"


# 10 referred: 4 divided on day 10, 1 not going ahead on day 12, 2 lost on day 20, 1 lost on day 28, 1 divided on
# day 40, and 1 whose follow-up ended before the referral, so at risk on no day.
STEPS = curve(
    (10, 9, 4, 0, 0, 0.4444, 0.1, 0.7),
    (12, 5, 0, 1, 0, 0.4444, 0.1, 0.7),
    (20, 4, 0, 0, 2, 0.4444, 0.1, 0.7),
    (28, 2, 0, 0, 1, 0.4444, 0.1, 0.7),
    (40, 1, 1, 0, 0, 0.7222, 0.3, 0.9),
)


def test_the_bounds_of_a_wait():
    # By day 28: 4 of 10 for certain; open are the 2 lost on day 20 and the 1 never watched, but not the one lost on
    # day 28 itself, who was watched through it: 7 of 10 at most.
    assert wait_bounds(STEPS, 10) == (0.4, 0.7)
    assert wait_bounds((), 3) == (0.0, 1.0)
    assert wait_bounds((), 0) is None


@pytest.mark.parametrize(("share", "mark"), [(0.4, "met"), (0.5, "open"), (0.7, "open"), (0.71, "missed")])
def test_a_standard_for_a_wait(share, mark):
    one = Result(10, 6, 5, 4, 0.4444, 0.1, 0.7, None, None, complete=True, of=6)
    assert standard(WAIT, one, share, {(WAIT.name, "2026Q3", "all", "all"): STEPS}).mark == mark


def test_shares_by_day_are_read_off_the_curve():
    shown = measure_tables.curve(WAIT, [("2026Q3", STEPS)])
    assert [(row.head, *row.cells) for row in shown.groups[0].rows] == [
        ("By day 7", "0%"),
        ("By day 14", "44% (10 to 70%)"),
        ("By day 28", "44% (10 to 70%)"),
        ("By day 42", "72% (30 to 90%)"),  # every wait had ended by events, so it stays
        ("By day 84", "72% (30 to 90%)"),
    ]


def test_nothing_is_read_off_a_curve_past_the_last_day_anybody_was_watched():
    shown = measure_tables.curve(WAIT, [("2026Q3", STEPS[:2] + curve((20, 4, 0, 0, 4, 0.4444, 0.1, 0.7)))])
    assert [row.cells[0] for row in shown.groups[0].rows][2:] == ["nobody watched so long"] * 3


def test_a_change_more_than_chance_would_give():
    # Newcombe 1998: 56 of 70 less 48 of 80 is 0.20, limits 0.0524 and 0.3339 (method 10).
    now, then = result(56, 70, 70), result(48, 80, 80)
    assert verdicts.change(SHARE, now, then) == verdicts.Said(
        "look",
        "56 of 70 (80%) now, 48 of 80 (60%) then: 20 percentage points higher (95% interval 5 to 33 higher); "
        "more than chance alone would usually give: worth a look",
    )
    assert verdicts.change(SHARE, then, now) == verdicts.Said(
        "look",
        "48 of 80 (60%) now, 56 of 70 (80%) then: 20 percentage points lower (95% interval 5 to 33 lower); "
        "more than chance alone would usually give: worth a look",
    )


def test_a_change_about_what_chance_would_give():
    # Newcombe 1998: 9 of 10 less 3 of 10 is 0.60, limits 0.1705 and 0.8090; here 5 of 10 and 5 of 10 instead.
    even = verdicts.change(SHARE, result(5, 10, 10), result(5, 10, 10))
    assert even.mark == "chance"
    assert even.text.startswith("5 of 10 (50%) now, 5 of 10 (50%) then: no difference (95% interval ")
    assert even.text.endswith(" higher); about what chance alone would give")


@pytest.mark.parametrize(
    ("now", "then", "text"),
    [
        (result(1, 2, 2), None, "no figures for that time"),
        (result(1, 2, 2), result(0, 0, 3), "cannot be compared: one of the two has no figure"),
        (None, result(1, 2, 2), "cannot be compared: one of the two has no figure"),
    ],
)
def test_what_cannot_be_compared(now, then, text):
    assert verdicts.change(SHARE, now, then) == verdicts.Said("none", text)


def test_medians_are_shown_and_not_judged():
    now = Result(20, 20, None, None, 15.0, 9.0, 22.0, None, None, complete=True, of=20)
    assert verdicts.change(AGE, now, replace(now, value=18.5)) == verdicts.Said(
        "none", "the middle was 18.5 days then, 15 days now; a median has no interval here, so no judgement"
    )


def test_a_wait_whose_limits_are_undefined_is_not_judged():
    now, then = (
        Result(20, 20, 12, 0, 0.0, None, None, None, None, complete=True, of=20),
        Result(20, 20, 12, 0, 0.5, 0.3, 0.7, None, None, complete=True, of=20),
    )
    assert verdicts.change(WAIT, now, then) == verdicts.Said(
        "none",
        "0% (of 20) now, 50% (of 20) then: 50 percentage points lower; no interval can be worked out, so no judgement",
    )


def test_sites_worth_a_look_and_how_many_chance_would_list():
    results = {}
    for site, now, then in (
        ("a", result(56, 70, 70), result(48, 80, 80)),  # 5 to 33 points higher
        ("b", result(5, 10, 10), result(5, 10, 10)),  # no difference
        ("c", result(5, 10, 10), result(0, 0, 4)),  # cannot be compared
    ):
        results[SHARE.name, "2026Q3", "site", site] = now
        results[SHARE.name, "2025Q3", "site", site] = then
    results[SHARE.name, "2026Q3", "site", "d"] = result(5, 10, 10)  # new this year
    sites = verdict.site_changes((SHARE,), lookup(results), "2026Q3", (SHARE.name,))
    assert [(change.site, verdicts.site(change)) for change in sites.changes] == [
        ("a", "56 of 70 (80%) now, 48 of 80 (60%) then: 20 percentage points higher (95% interval 5 to 33 higher)")
    ]
    assert (sites.comparisons, sites.measures) == (2, 1)
    assert verdict.by_chance(sites.comparisons) == pytest.approx(0.1)
