"""Standards and what is read off a wait, each decided by hand first."""

from __future__ import annotations

import pytest

from pipeline.judgement import verdict
from pipeline.outcomes.lookup import CurveDay, Lookup, Result, wait_bounds
from pipeline.report.views.whom import waiting
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
    return verdicts.standard(measure, share, verdict.standard(measure, results, "2026Q3", share))


@pytest.mark.parametrize(
    ("measure", "met", "known", "eligible", "share", "mark", "text"),
    [
        # 30 of 36 known, 40 eligible: between 30/40 = 75% and 34/40 = 85%.
        (SHARE, 30, 36, 40, 0.75, "met", "75%: met, whatever the unknown answers are"),
        (SHARE, 30, 36, 40, 0.76, "cannot", "76%: cannot be said: too many unknown"),
        (SHARE, 30, 36, 40, 0.85, "cannot", "85%: cannot be said: too many unknown"),
        # Below even at its best, but 30 of 36 or fewer are no rarity where 86% are; where 97% are, they are.
        (SHARE, 30, 36, 40, 0.86, "below", "86%: below it, within what chance gives"),
        (SHARE, 30, 36, 40, 0.97, "missed", "97%: missed, whatever the unknown answers are"),
        # 1 of 40 known, 50 eligible: between 2% and 11/50 = 22%; lower is better, so the worst is 22%.
        (RARE, 1, 40, 50, 0.22, "met", "22%: met, whatever the unknown answers are"),
        (RARE, 1, 40, 50, 0.21, "cannot", "21%: cannot be said: too many unknown"),
        (RARE, 1, 40, 50, 0.02, "cannot", "2%: cannot be said: too many unknown"),
        (RARE, 1, 40, 50, 0.01, "below", "1%: above it, within what chance gives"),
        (RARE, 4, 40, 50, 0.01, "missed", "1%: missed, whatever the unknown answers are"),
        # Nothing unknown, and the share is the standard itself.
        (SHARE, 19, 20, 20, 0.95, "met", "95%: met"),
        # By hand: of 20 where 95% are, all in 0.358, 19 in 0.377, 18 in 0.189, so 18 and fewer (18 by half) in 0.170.
        (SHARE, 18, 20, 20, 0.95, "below", "95%: below it, within what chance gives"),
        (SHARE, 16, 20, 20, 0.95, "missed", "95%: missed"),  # 16 and fewer in 0.016
        (SHARE, 0, 0, 4, 0.5, "cannot", "50%: cannot be said: too many unknown"),
        (SHARE, 0, 0, 0, 0.5, "none", "50%: nothing to judge: there was nobody to count"),
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


@pytest.mark.parametrize(
    ("share", "mark"), [(0.4, "met"), (0.5, "cannot"), (0.7, "cannot"), (0.89, "below"), (1.0, "missed")]
)
def test_a_standard_for_a_wait(share, mark):
    one = Result(10, 6, 5, 4, 0.4444, 0.1, 0.7, None, None, complete=True, of=6)
    assert standard(WAIT, one, share, {(WAIT.name, "2026Q3", "all", "all"): STEPS}).mark == mark


def test_shares_by_day_are_read_off_the_curve():
    shown = waiting.curve(WAIT, [("2026Q3", STEPS)])
    # 4 of 9 on day 10; of the 5 left 1 ends another way on day 12: 1/5 of 5/9; the last is divided on day 40: 4/9 more.
    assert [(row.head, *(cell.split(" (")[0] for cell in row.cells)) for row in shown.groups[0].rows] == [
        ("By day 0", "0%", "0%", "9"),
        ("By day 7", "0%", "0%", "9"),
        ("By day 14", "44%", "11%", "4"),
        ("By day 28", "44%", "11%", "2"),
        ("By day 56", "89%", "11%", "0"),  # every wait had ended by events, so it stays
        ("By day 84", "89%", "11%", "0"),
    ]


def test_nothing_is_read_off_a_curve_past_the_last_day_anybody_was_watched():
    shown = waiting.curve(WAIT, [("2026Q3", STEPS[:2] + curve((20, 4, 0, 0, 4, 0.4444, 0.1, 0.7)))])
    assert [row.cells[0] for row in shown.groups[0].rows][3:] == ["nobody watched so long"] * 3
