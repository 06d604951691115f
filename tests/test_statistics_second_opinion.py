"""Statistics against independent implementations, on every small count and on inputs drawn at random (always the same).

Each library is asked only for what it is known to answer rightly: statsmodels proportions and one row a case, lifelines
for the product limit only, scipy for single proportions and the product limit.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from typing import Any

import numpy as np
import pytest
from lifelines import KaplanMeierFitter  # type: ignore[import-untyped]
from scipy.stats import CensoredData, binomtest, ecdf, pearson3
from statsmodels.duration.survfunc import CumIncidenceRight, SurvfuncRight
from statsmodels.stats.proportion import confint_proportions_2indep, proportion_confint

from pipeline.statistics.comparison import newcombe
from pipeline.statistics.proportions import clopper_pearson, wilson
from pipeline.statistics.quartiles import quartiles
from pipeline.statistics.waits import cumulative_incidence
from pipeline.statistics.waits_dealt import tails
from tests.product_limit import product_limit

NEAR = 1e-9


def draws(causes: int) -> Iterator[tuple[Any, Any, Any, Any]]:
    """Draw times with many ties, day 0 among them, and causes from 0; then the same as days with counts per cause."""
    source = np.random.default_rng(20260731)
    for _ in range(30):
        cases = int(source.integers(2, 40))
        time = source.integers(0, int(source.integers(3, 30)), cases)
        cause = source.integers(0, causes + 1, cases)
        cause[:2] = 1, causes
        day, place = np.unique(time, return_inverse=True)
        rows = np.zeros((causes + 1, day.size), dtype=int)
        np.add.at(rows, (cause, place), 1)
        yield time, cause, day, rows


@pytest.mark.parametrize(("limits", "method"), [(wilson, "wilson"), (clopper_pearson, "exact")])
@pytest.mark.parametrize("confidence", [0.9, 0.95, 0.998])
def test_single_proportions_against_scipy(limits: Any, method: str, confidence: float) -> None:
    pairs = np.array([(met, known) for known in (1, 2, 5, 12, 30) for met in range(known + 1)])
    theirs = [binomtest(int(x), int(n)).proportion_ci(confidence, method=method) for x, n in pairs]
    lower, upper = limits(pairs[:, 0], pairs[:, 1], confidence)
    np.testing.assert_allclose(lower, [ends.low for ends in theirs], rtol=0, atol=NEAR)
    np.testing.assert_allclose(upper, [ends.high for ends in theirs], rtol=0, atol=NEAR)


@pytest.mark.parametrize(("limits", "method"), [(wilson, "wilson"), (clopper_pearson, "beta")])
@pytest.mark.parametrize("confidence", [0.8, 0.9, 0.95, 0.99, 0.998])
def test_single_proportions_against_statsmodels_on_every_count(limits: Any, method: str, confidence: float) -> None:
    every = [(met, known) for known in range(1, 150) for met in range(known + 1)]
    large = [(met, known) for known in (1_000, 21_380, 1_000_000) for met in range(0, known + 1, known // 100)]
    met, known = np.array(every + large).T
    theirs = proportion_confint(met, known, alpha=1 - confidence, method=method)
    np.testing.assert_allclose(limits(met, known, confidence), theirs, rtol=0, atol=1e-15)


@pytest.mark.parametrize("confidence", [0.8, 0.95, 0.998])
def test_differences_against_statsmodels(confidence: float) -> None:
    """Every pair of small counts, and larger ones; both names are spelt out, for its default method may change."""
    counts = [(met, known) for known in (1, 2, 3, 5, 8, 13) for met in range(known + 1)]
    for first, second in itertools.product(counts + [(21, 27), (14, 30), (0, 200), (9434, 21380)], repeat=2):
        theirs = confint_proportions_2indep(*first, *second, method="newcomb", compare="diff", alpha=1 - confidence)
        ours = newcombe(*first, *second, confidence)
        assert (ours.lower, ours.upper) == pytest.approx(theirs, rel=0, abs=1e-14)
        assert ours.difference == first[0] / first[1] - second[0] / second[1]
        assert -1 <= ours.lower <= ours.difference <= ours.upper <= 1


def test_product_limit_against_three_libraries() -> None:
    for time, cause, day, rows in draws(1):
        curve = product_limit(day, rows[1], rows[0])
        part = (curve.incidence > 0) & (curve.incidence < 1)  # elsewhere they give limits of no width, or errors

        theirs = KaplanMeierFitter().fit(day.repeat(2), np.tile([1, 0], day.size), weights=rows[::-1].T.ravel())
        np.testing.assert_allclose(
            1 - curve.incidence, theirs.survival_function_at_times(day).to_numpy(), rtol=0, atol=NEAR
        )
        ends = theirs.confidence_interval_survival_function_.loc[day].to_numpy()
        ours = np.stack((1 - curve.upper, 1 - curve.lower), axis=1)
        np.testing.assert_allclose(ours[part], ends[part], rtol=0, atol=NEAR)

        one_a_row = SurvfuncRight(time, (cause == 1).astype(int))
        at = np.isin(day, one_a_row.surv_times)
        np.testing.assert_allclose(1 - curve.incidence[at], one_a_row.surv_prob, rtol=0, atol=NEAR)
        known = part[at]
        np.testing.assert_allclose(curve.se[at][known], one_a_row.surv_prob_se[known], rtol=0, atol=NEAR)

        empirical = ecdf(CensoredData(uncensored=time[cause == 1], right=time[cause == 0])).sf
        np.testing.assert_allclose(1 - curve.incidence, empirical.evaluate(day), rtol=0, atol=NEAR)


def test_cumulative_incidence_against_statsmodels_one_row_a_case() -> None:
    """The last time is left out where nobody is left after it: there statsmodels divides by 0."""
    compared = 0
    for time, cause, day, rows in draws(2):
        theirs = CumIncidenceRight(time, cause)
        at = np.searchsorted(day, theirs.times)
        for which in (1, 2):
            curve = cumulative_incidence(day, rows[which], rows[3 - which], rows[0])
            np.testing.assert_allclose(curve.incidence[at], theirs.cinc[which - 1], rtol=0, atol=NEAR)
            error = theirs.cinc_se[which - 1]
            finite = np.isfinite(error)
            assert finite[:-1].all()
            np.testing.assert_allclose(curve.se[at][finite], error[finite], rtol=0, atol=NEAR)
            compared += int(finite.sum())
    assert compared > 300


def test_what_did_not_happen_by_either_cause_is_the_product_limit() -> None:
    for _, _, day, rows in draws(2):
        first, second = (cumulative_incidence(day, rows[which], rows[3 - which], rows[0]) for which in (1, 2))
        either = product_limit(day, rows[1] + rows[2], rows[0])
        np.testing.assert_allclose(first.incidence + second.incidence, either.incidence, rtol=0, atol=1e-12)


def test_limits_hold_the_incidence_and_have_width() -> None:
    for _, _, day, rows in draws(2):
        curve = cumulative_incidence(day, rows[1], rows[2], rows[0])
        part = (curve.incidence > 0) & (curve.incidence < 1)
        assert part.any()
        assert (curve.lower[part] < curve.incidence[part]).all()
        assert (curve.incidence[part] < curve.upper[part]).all()
        assert (curve.lower[part] > 0).all()
        assert (curve.upper[part] < 1).all()
        ended = np.cumsum(curve.events + curve.competing) - curve.events - curve.competing
        for row in np.flatnonzero((curve.incidence == 0) | (curve.incidence == 1)):
            told = int(curve.at_risk[row] + ended[row])
            exact = binomtest(told * int(curve.incidence[row]), told).proportion_ci(0.95, "exact")
            assert (curve.lower[row], curve.upper[row]) == pytest.approx(tuple(exact), rel=0, abs=1e-12)


def test_quartiles_against_numpy_on_the_list_spread_out() -> None:
    for time, _, day, rows in draws(1):
        ours = quartiles(day, rows.sum(axis=0))
        assert ours == pytest.approx(np.quantile(time, (0.25, 0.5, 0.75)).tolist(), rel=0, abs=1e-12)


@pytest.mark.parametrize("skewness", [-3, -0.3, -0.01, -1e-4, -1e-7, 0, 1e-7, 1e-4, 0.01, 0.3, 3, 8])
def test_the_tails_of_pearsons_type_three_are_those_of_scipy(skewness: float):
    theirs = pearson3(skewness)
    for at in np.linspace(-6, 6, 25):
        assert tails(float(at), skewness) == pytest.approx((theirs.cdf(at), theirs.sf(at)), rel=1e-6, abs=1e-300)
