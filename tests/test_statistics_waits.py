"""Waits worked by hand: ties, day 0, nobody at risk, none of n, n of n."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from pipeline.statistics.waits import Curve, cumulative_incidence, incidence_at
from tests.product_limit import product_limit

UNKNOWN = pytest.approx((math.nan,) * 3, nan_ok=True)


def three(value: float, lower: float = math.nan, upper: float = math.nan) -> Any:
    return pytest.approx((value, lower, upper), nan_ok=True, rel=0, abs=1e-12)


def test_events_come_before_censoring_on_the_same_day() -> None:
    # Four wait. Day 0: one of 4. Day 2: one of 3, and one leaves, who was still at risk that day. Day 5: the last one.
    curve = product_limit([0, 2, 5], [1, 1, 1], [0, 1, 0])
    assert curve.at_risk.tolist() == [4, 3, 1]
    assert curve.incidence == pytest.approx([1 / 4, 1 - 3 / 4 * 2 / 3, 1], rel=0, abs=1e-15)
    assert curve.incidence[-1] == 1
    assert curve.se[-1] == 0
    # All had it, of the three who were watched to their end: Clopper and Pearson's limits of 3 of 3.
    assert (curve.lower[-1], curve.upper[-1]) == (pytest.approx(0.025 ** (1 / 3), rel=0, abs=1e-15), 1)
    # Greenwood on day 2: S^2 (1/(4 3) + 1/(3 2)), S = 1/2.
    assert curve.se[1] == pytest.approx(math.sqrt(0.25 * (1 / 12 + 1 / 6)), rel=0, abs=1e-15)


def test_competing_events_are_not_censored() -> None:
    # Of 10, 5 settle on day 1, 4 are referred on day 2, 1 is followed to day 84.
    curve = cumulative_incidence([1, 2, 84], [0, 4, 0], [5, 0, 0], [0, 0, 1])
    assert curve.incidence == pytest.approx([0, 0.4, 0.4], rel=0, abs=1e-15)
    assert curve.se == pytest.approx([0, math.sqrt(0.4 * 0.6 / 10), math.sqrt(0.4 * 0.6 / 10)], rel=0, abs=1e-15)
    assert product_limit([1, 2, 84], [0, 4, 0], [5, 0, 1]).incidence[-1] == pytest.approx(0.8)  # the wrong answer


def test_n_of_n_is_exactly_1_whatever_the_steps_add_up_to() -> None:
    """1/n added n times is not 1 for n = 6, 10, 11 and many more; the counts know that everyone had the event."""
    for n in range(1, 120):
        ones = np.ones(n, dtype=int)
        curve = product_limit(np.arange(n), ones, 0 * ones)
        assert (curve.incidence[-1], curve.se[-1]) == (1, 0), n
        assert (curve.lower[-1], curve.upper[-1]) == (pytest.approx(0.025 ** (1 / n), rel=0, abs=1e-15), 1), n
        assert not np.isnan([curve.lower[:-1], curve.upper[:-1]]).any(), n
        assert incidence_at(curve, 1000) == three(1, 0.025 ** (1 / n), 1), n


def test_nobody_and_no_event() -> None:
    for nobody in (cumulative_incidence([], [], [], []), cumulative_incidence([3, 9], [0, 0], [0, 0], [0, 0])):
        assert np.isnan(nobody.incidence).all()
        assert np.isnan(nobody.lower).all()
        assert incidence_at(nobody, 0) == UNKNOWN
    no_event = cumulative_incidence([4, 30], [0, 0], [1, 0], [0, 2])
    assert no_event.incidence.tolist() == no_event.se.tolist() == [0, 0]
    none_of_three = three(0, 0, 1 - 0.025 ** (1 / 3))  # the two watched to day 30, and the one that ended otherwise
    assert [(0, *limits) for limits in zip(no_event.lower, no_event.upper, strict=True)] == [none_of_three] * 2
    assert incidence_at(no_event, 28) == none_of_three


def test_at_0_the_limits_are_of_those_who_were_still_watched_on_the_day() -> None:
    curve = cumulative_incidence([4, 10, 30], [0, 0, 0], [1, 0, 0], [0, 5, 2])  # five were lost on day 10
    for day, told in ((0, 8), (4, 8), (10, 8), (11, 3), (28, 3), (30, 3)):
        assert incidence_at(curve, day) == three(0, 0, 1 - 0.025 ** (1 / told)), day
    assert incidence_at(curve, 31) == UNKNOWN


def test_incidence_at_needs_somebody_at_risk_on_the_day() -> None:
    last_censored = product_limit([5, 20, 28], [2, 1, 0], [0, 1, 1])
    assert incidence_at(last_censored, 28)[0] == pytest.approx(1 - 3 / 5 * 2 / 3)
    assert incidence_at(last_censored, 27.5) == incidence_at(last_censored, 20)
    assert incidence_at(last_censored, 29) == UNKNOWN
    assert incidence_at(last_censored, 0) == three(0, 0, 1 - 0.025 ** (1 / 5))
    # On day 20 one of the last two has an event and the other is censored: the curve did not end by events.
    assert incidence_at(product_limit([5, 20], [2, 1], [0, 1]), 28) == UNKNOWN
    # It did, though by a competing event: nobody is left who could have one, so the curve holds to day 84.
    ended = cumulative_incidence([5, 20], [2, 0], [0, 2], [0, 0])
    assert incidence_at(ended, 84) == incidence_at(ended, 5) == (0.5, ended.lower[0], ended.upper[0])
    assert 0 < ended.lower[0] < 0.5 < ended.upper[0] < 1


def test_days_without_anybody_say_the_same_as_days_left_out() -> None:
    """The caller may hand over every day from 0 to 84, most of them empty."""
    for d, c, w in (([2, 1], [1, 0], [0, 3]), ([2, 1], [1, 3], [0, 0])):
        few = cumulative_incidence([5, 20], d, c, w)
        grid = np.zeros((3, 85), dtype=int)
        grid[:, [5, 20]] = d, c, w
        every = cumulative_incidence(np.arange(85), *grid)
        for day in range(85):
            read = incidence_at(every, day)
            assert read == pytest.approx(incidence_at(few, day), nan_ok=True, rel=0, abs=1e-15)
            assert every.incidence[day] == pytest.approx(read[0], nan_ok=True)


def test_a_curve_holds_arrays_of_one_length() -> None:
    curve: Curve = cumulative_incidence([0, 3, 9], [1, 0, 2], [0, 1, 0], [0, 0, 1])
    assert {getattr(curve, name).shape for name in Curve.__dataclass_fields__} == {(3,)}
