"""The tests that judge two groups, two waits and many looks: check values by id, and other implementations.

The records of judgement.json were computed in R; scipy and statsmodels answer for the rest, and a wait without a
competing event is laid beside the log-rank test, whose score is the same.
"""

from __future__ import annotations

import itertools
import json
import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from scipy.stats import binomtest, fisher_exact, hypergeom
from statsmodels.duration.survfunc import survdiff
from statsmodels.stats.multitest import multipletests

from pipeline.statistics.exact_tests import binomial_mid_p_below, fisher_mid_p, tables, type_one
from pipeline.statistics.gray_test import gray
from pipeline.statistics.many_looks import benjamini_hochberg, holm

RECORDS: dict[str, dict[str, Any]] = {
    record["id"]: record
    for name in ("judgement.json", "statistics.json")
    for record in json.loads((Path(__file__).parent / "check_values" / name).read_text(encoding="utf-8"))
}


def records(start: str) -> list[dict[str, Any]]:
    return [record for name, record in RECORDS.items() if name.startswith(start)]


def by_day(time: Any, event: Any, group: Any) -> tuple[Any, ...]:
    """Days, and a row a group of each: the event, the competing event, censored."""
    time, event, group = (np.asarray(values) for values in (time, event, group))
    days, which = np.unique(time), np.unique(group)
    counts = [[[int(((time == day) & (event == cause) & (group == one)).sum()) for day in days] for one in which]
              for cause in (1, 2, 0)]  # fmt: skip
    return days, *counts


@pytest.mark.parametrize("record", records("two_groups.exact."), ids=lambda record: record["id"])
def test_two_groups(record: dict[str, Any]) -> None:
    given, expected = record["inputs"], record["expected"]
    assert fisher_mid_p(**given) == pytest.approx(expected["fisher_mid_p"], abs=record["tolerance"]["abs"])
    every = tables(given["known_1"], given["known_2"], given["met_1"] + given["met_2"])
    at = given["met_1"] - every.met_1[0]
    half = expected["fisher_p"] - expected["fisher_mid_p"]
    assert every.mid_p[at] + half == pytest.approx(expected["fisher_p"], abs=record["tolerance"]["abs"])


def test_two_groups_on_every_small_table() -> None:
    """Beside scipy: its two-sided p less half of what is as likely as the table; and every probability."""
    for n_1, n_2 in itertools.product((1, 2, 5, 9), (1, 4, 8)):
        for met_1, met_2 in itertools.product(range(n_1 + 1), range(n_2 + 1)):
            likely = hypergeom.pmf(np.arange(n_1 + 1), n_1 + n_2, met_1 + met_2, n_1)
            as_likely = likely[np.isclose(likely, likely[met_1], rtol=1e-7, atol=0)].sum()
            p = fisher_exact([[met_1, n_1 - met_1], [met_2, n_2 - met_2]]).pvalue
            assert fisher_mid_p(met_1, n_1, met_2, n_2) == pytest.approx(p - as_likely / 2, abs=1e-12)
    every = tables(9, 8, 6)
    assert every.likely == pytest.approx(hypergeom.pmf(every.met_1, 17, 6, 9), abs=1e-14)


def test_how_often_a_rule_calls_two_like_groups_apart() -> None:
    """By hand: 3 and 3 known, 3 met: 1, 9, 9 and 1 of 20 ways, mid-p .05, .55, .55, .05."""
    every = tables(3, 3, 3)
    assert every.mid_p == pytest.approx([0.05, 0.55, 0.55, 0.05], abs=1e-12)
    assert type_one(every, every.mid_p <= 0.051) == pytest.approx(0.1, abs=1e-12)
    assert type_one(every, every.mid_p <= 0.04) == 0


def test_two_groups_at_the_ends() -> None:
    assert math.isnan(fisher_mid_p(0, 0, 3, 4))
    assert fisher_mid_p(0, 7, 0, 9) == fisher_mid_p(7, 7, 9, 9) == 0.5
    with pytest.raises(ValueError, match="met above known"):
        fisher_mid_p(8, 7, 0, 9)


def test_a_share_beside_one_that_was_set() -> None:
    for met, known, share in itertools.product((0, 3, 17, 20), (20, 33), (0.05, 0.5, 0.92)):
        or_fewer = binomtest(met, known, share, alternative="less").pvalue
        fewer = binomtest(met - 1, known, share, alternative="less").pvalue if met else 0.0
        assert binomial_mid_p_below(met, known, share) == pytest.approx((or_fewer + fewer) / 2, abs=1e-12)
    assert math.isnan(binomial_mid_p_below(0, 0, 0.9))
    assert binomial_mid_p_below(20, 20, 1.0) == 0.5
    with pytest.raises(ValueError, match="from 0 to 1"):
        binomial_mid_p_below(1, 2, 90)


@pytest.mark.parametrize("record", records("multiplicity."), ids=lambda record: record["id"])
def test_many_looks(record: dict[str, Any]) -> None:
    p, expected = np.atleast_1d(record["inputs"]["p"]), record["expected"]
    for adjusted, name in ((holm(p), "holm"), (benjamini_hochberg(p), "bh")):
        assert adjusted == pytest.approx(np.atleast_1d(expected[name]), abs=record["tolerance"]["abs"])
    if record["id"] == "multiplicity.bh1995":  # the published example, at .05
        rejected = {"bh": (benjamini_hochberg(p) <= 0.05).sum(), "holm": (holm(p) <= 0.05).sum(), "bonferroni": 3}
        assert rejected == expected["rejected"]
    else:
        assert (benjamini_hochberg(p) <= 0.10).sum() == expected["found_bh_10"]


def test_many_looks_in_any_order_and_with_none() -> None:
    p = np.random.default_rng(5).uniform(0, 0.2, 30)
    assert holm(p) == pytest.approx(multipletests(p, method="holm")[1], abs=1e-14)
    assert benjamini_hochberg(p) == pytest.approx(multipletests(p, method="fdr_bh")[1], abs=1e-14)
    assert holm([]).size == benjamini_hochberg([]).size == 0
    with pytest.raises(ValueError, match="from 0 to 1"):
        holm([0.5, math.nan])


def test_two_waits() -> None:
    record = RECORDS["waits.gray"]
    days, events, competing, censored = by_day(*(record["inputs"][name] for name in ("time", "event", "group")))
    expected, near = record["expected"], record["tolerance"]["rel"]
    for found, number in ((gray(days, events, competing, censored), 1), (gray(days, competing, events, censored), 2)):
        assert found.chi_square == pytest.approx(expected[f"chisq_event{number}"], rel=near)
        assert found.p == pytest.approx(expected[f"p_event{number}"], rel=near)


def test_without_a_competing_event_the_score_is_that_of_the_log_rank_test() -> None:
    source = np.random.default_rng(11)
    for _ in range(10):
        time, group = source.integers(0, 40, 50), np.repeat((0, 1), 25)
        event = (source.random(50) < 0.7).astype(int)
        found = gray(*by_day(time, event, group))
        assert found.p == pytest.approx(survdiff(time, event, group)[1], abs=0.06)
        at_risk = np.array([[(time[group == k] >= day).sum() for day in range(40)] for k in (0, 1)])
        died = np.array([[((time == day) & (event == 1) & (group == k)).sum() for day in range(40)] for k in (0, 1)])
        expected = died.sum(axis=0) * at_risk[0] / np.maximum(at_risk.sum(axis=0), 1)
        assert found.score == pytest.approx((died[0] - expected).sum(), abs=1e-9)


def test_two_waits_beside_the_same_cases_dealt_out_anew() -> None:
    source = np.random.default_rng(4)
    time, event, group = source.integers(0, 60, 80), source.choice(3, 80, p=(0.2, 0.6, 0.2)), np.repeat((0, 1), 40)
    time[group == 1] //= 2
    seen = gray(*by_day(time, event, group))
    dealt = [gray(*by_day(time, event, source.permutation(group))) for _ in range(400)]
    assert seen.p < 0.05
    assert np.mean([deal.chi_square >= seen.chi_square for deal in dealt]) == pytest.approx(seen.p, abs=0.03)
    assert np.mean([deal.p <= 0.1 for deal in dealt]) == pytest.approx(0.1, abs=0.05)


def test_two_waits_swapped_and_at_the_ends() -> None:
    days, *counts = by_day([1, 2, 2, 5, 7, 3, 4, 6, 8, 8], [1, 1, 2, 1, 0, 1, 2, 0, 1, 1], [0] * 5 + [1] * 5)
    one, other = gray(days, *counts), gray(days, *([rows[1], rows[0]] for rows in counts))
    assert one.score == pytest.approx(-other.score)
    assert one.chi_square == pytest.approx(other.chi_square)
    nobody = [0, 0]
    for first, second, lost in (
        ([[3, 1], nobody], [nobody] * 2, [nobody] * 2),
        ([nobody] * 2, [nobody] * 2, [[2, 2]] * 2),
    ):
        assert math.isnan(gray([1, 2], first, second, lost).p)
    assert math.isnan(gray([], [[], []], [[], []], [[], []]).p)


def test_a_site_that_stops_altogether_is_far_apart() -> None:
    """36 of 40 divided by day 28, four of them a day; then nobody of 40, all watched for 84 days."""
    days = [*range(1, 10), 84]
    found = gray(days, [[0] * 10, [4] * 9 + [0]], [[0] * 10] * 2, [[0] * 9 + [40], [0] * 9 + [4]])
    assert found.score < 0
    assert found.p < 1e-9
