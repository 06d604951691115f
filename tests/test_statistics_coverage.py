"""Coverage: how often each interval holds what is true. By enumeration where counts allow, else seeded simulation.

A 95% interval that holds the truth in far less than 95% is too narrow to judge by; each test says the
least it asks for. The harm a service reports must not rise because fewer families are heard from.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import stats

from pipeline.statistics.case_mix import byar, mantel_haenszel
from pipeline.statistics.comparison import newcombe
from pipeline.statistics.proportions import bounds, clopper_pearson, wilson
from pipeline.statistics.units import Prior, shrunken
from pipeline.statistics.waits import cumulative_incidence, incidence_at

SHARES = np.linspace(0.02, 0.98, 97)


@pytest.mark.parametrize("n", [5, 12, 40, 150])
def test_wilson_and_clopper_pearson(n: int) -> None:
    """Wilson: 95% on average (Newcombe 1998, mean .952, least .831); Clopper-Pearson: never under 95%."""
    met = np.arange(n + 1)
    chance = stats.binom.pmf(met, n, SHARES[:, np.newaxis])
    covered = {}
    for method in (wilson, clopper_pearson):
        lower, upper = method(met, np.full(n + 1, n))
        covered[method.__name__] = (chance * ((lower <= SHARES[:, None]) & (SHARES[:, None] <= upper))).sum(axis=1)
    assert covered["wilson"].mean() == pytest.approx(0.95, abs=0.015)
    assert covered["wilson"].min() > 0.83
    assert covered["clopper_pearson"].min() >= 0.95


@pytest.mark.parametrize(("n_1", "n_2", "p_1", "p_2"), [(10, 25, 0.5, 0.7), (20, 20, 0.05, 0.05), (15, 8, 0.9, 0.6)])
def test_newcombe(n_1: int, n_2: int, p_1: float, p_2: float) -> None:
    covered = 0.0
    for x_1, chance_1 in enumerate(stats.binom.pmf(range(n_1 + 1), n_1, p_1)):
        for x_2, chance_2 in enumerate(stats.binom.pmf(range(n_2 + 1), n_2, p_2)):
            if chance_1 * chance_2 > 1e-6:
                found = newcombe(x_1, n_1, x_2, n_2)
                covered += chance_1 * chance_2 * (found.lower <= p_1 - p_2 <= found.upper)
    assert 0.93 < covered < 0.999  # wide where both shares lie near an end


@pytest.mark.parametrize("expected", [0.5, 2.0, 8.0, 30.0])
def test_limits_of_a_poisson_count(expected: float) -> None:
    counts = np.arange(0, 90)
    chance = stats.poisson.pmf(counts, expected)
    ends = np.array([byar(int(count)) for count in counts])
    assert (chance * ((ends[:, 0] <= expected) & (expected <= ends[:, 1]))).sum() >= 0.94


@pytest.mark.parametrize(("cases", "not_going_ahead"), [(10, 0.02), (25, 0.3), (80, 0.3)])
def test_incidence_by_day_28(cases: int, not_going_ahead: float) -> None:
    """Waits of weeks, some not going ahead, some not watched so long; what is true is counted from 400,000 of them."""
    rng = np.random.default_rng(28)

    def waits(size: int) -> tuple[np.ndarray, np.ndarray]:
        divided, other = rng.exponential(20, size), rng.exponential(20 / not_going_ahead, size)
        return np.floor(np.minimum(divided, other)).astype(int), divided <= other

    day, event = waits(400_000)
    truth = float(((day <= 28) & event).mean())
    inside = []
    for _ in range(400):
        day, event = waits(cases)
        watched = rng.integers(5, 85, cases)
        last, seen = np.minimum(day, watched), day <= watched
        days = np.unique(last)
        counts = [
            np.bincount(np.searchsorted(days, last[which]), minlength=days.size)
            for which in (seen & event, seen & ~event, ~seen)
        ]
        _, lower, upper = incidence_at(cumulative_incidence(days, *counts), 28)
        if not math.isnan(lower):  # nobody watched so long
            inside.append(lower <= truth <= upper)
    assert len(inside) > 350
    assert 0.92 < np.mean(inside) < 0.995


def test_the_shrunken_share_of_units_that_are_as_the_prior_says() -> None:
    rng = np.random.default_rng(8)
    units = Prior(0.1, 40, measured=False, spread=None)
    truth = rng.beta(4, 36, 4000)
    known = rng.integers(3, 60, 4000)
    _, lower, upper = shrunken(rng.binomial(known, truth), known, units)
    assert ((lower <= truth) & (truth <= upper)).mean() == pytest.approx(0.95, abs=0.012)


def test_a_common_odds_ratio_within_two_strata() -> None:
    rng = np.random.default_rng(2)
    odds = np.array([0.3, 0.8])
    p_1, p_2 = 2 * odds / (1 + 2 * odds), odds / (1 + odds)
    known_1, known_2 = np.array([25, 30]), np.array([40, 20])
    found = [
        mantel_haenszel(rng.binomial(known_1, p_1), known_1, rng.binomial(known_2, p_2), known_2) for _ in range(1000)
    ]
    assert np.mean([one.lower <= 2 <= one.upper for one in found]) == pytest.approx(0.95, abs=0.02)


def test_harm_noted_does_not_rise_when_fewer_are_heard_from() -> None:
    """True rate .05; follow-up falls from 90% to 30%. Met of known trebles; met of eligible stays."""
    rng = np.random.default_rng(9)
    for seen, known_only in ((0.9, 0.055), (0.3, 0.149)):
        harm = rng.random(200_000) < 0.05
        known = harm | (rng.random(200_000) < seen)
        assert harm.sum() / known.sum() == pytest.approx(known_only, abs=0.003)
        assert float(bounds(harm.sum(), known.sum(), harm.size)[0]) == pytest.approx(0.05, abs=0.002)
