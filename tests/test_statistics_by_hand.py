"""Statistics worked by hand: groups with nobody in them, none of n, n of n, and what is refused.

Waits have a file of their own, test_statistics_waits.py; what all four modules refuse stands here.
"""

from __future__ import annotations

import ast
import itertools
import math
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

import pipeline.statistics
from pipeline.statistics.comparison import newcombe, recovered
from pipeline.statistics.proportions import bounds, clopper_pearson, sensitivity, wilson
from pipeline.statistics.quartiles import quartiles
from pipeline.statistics.waits import cumulative_incidence, incidence_at
from tests.product_limit import product_limit

NAN = pytest.approx(math.nan, nan_ok=True)
UNKNOWN = pytest.approx((math.nan,) * 3, nan_ok=True)


def three(value: float, lower: float = math.nan, upper: float = math.nan) -> Any:
    return pytest.approx((value, lower, upper), nan_ok=True, rel=0, abs=1e-12)


# Proportions


@pytest.mark.parametrize("limits", [wilson, clopper_pearson])
@pytest.mark.parametrize("confidence", [0.8, 0.95, 0.998])
def test_none_of_n_and_n_of_n_are_exactly_0_and_1(limits: Any, confidence: float) -> None:
    """Exactly: a limit of 3e-17 is printed as something above 0."""
    n = np.arange(1, 400)
    lower, upper = limits(np.zeros_like(n), n, confidence)
    assert (lower == 0).all()
    assert ((upper > 0) & (upper < 1)).all()
    lower, upper = limits(n, n, confidence)
    assert (upper == 1).all()
    assert ((lower > 0) & (lower < 1)).all()


@pytest.mark.parametrize("limits", [wilson, clopper_pearson])
def test_a_group_with_nobody_is_undefined_and_spoils_no_other(limits: Any) -> None:
    lower, upper = limits([[0, 0], [3, 5]], [[0, 5], [5, 5]])
    assert lower.shape == upper.shape == (2, 2)
    assert np.isnan(lower).tolist() == np.isnan(upper).tolist() == [[True, False], [False, False]]
    assert (lower[1, 0], upper[1, 0]) == limits(3, 5)
    assert lower[1, 0] < 0.6 < upper[1, 0]
    assert all(np.isnan(limit) and limit.shape == () for limit in limits(0, 0))
    assert [limit.shape for limit in limits([], [])] == [(0,), (0,)]


def test_bounds_are_the_least_and_most_of_every_way_to_fill_in() -> None:
    """Enumeration: each unknown answer once as no and once as yes."""
    for eligible in range(1, 6):
        for known in range(eligible + 1):
            for met in range(known + 1):
                ways = itertools.product((0, 1), repeat=eligible - known)
                shares = [(met + sum(way)) / eligible for way in ways]
                assert [float(bound) for bound in bounds(met, known, eligible)] == [min(shares), max(shares)]
    assert [float(bound) for bound in bounds(0, 0, 0)] == [NAN, NAN]


def test_sensitivity_by_hand() -> None:
    # 2 of 4 known, 4 not known: odds 1, so odds of 1/4, 1/2, 1, 2, 4 among the unknown: 1/5, 1/3, 1/2, 2/3, 4/5.
    shares = [(2 + 4 * part) / 8 for part in (1 / 5, 1 / 3, 1 / 2, 2 / 3, 4 / 5)]
    assert sensitivity(2, 4, 8) == pytest.approx(shares, rel=0, abs=1e-15)
    several = sensitivity([2, 0, 3, 0, 0], [4, 3, 3, 0, 0], [8, 4, 4, 2, 0], (0.5, 2))
    assert several.shape == (5, 2)
    assert several[0] == pytest.approx([shares[1], shares[3]])
    assert several[1].tolist() == [0, 0]
    assert several[2].tolist() == [1, 1]
    assert np.isnan(several[3:]).all()
    extremes = [float(bound) for bound in bounds(2, 4, 8)]
    assert sensitivity(2, 4, 8, (1e-12, 1e12)) == pytest.approx(extremes)
    for ratios in ((0.0,), (-1.0,), (math.nan,), (math.inf,)):
        with pytest.raises(ValueError, match="odds_ratios"):
            sensitivity(2, 4, 8, ratios)


# Differences


def test_a_difference_without_a_group_is_undefined() -> None:
    for counts in ((0, 0, 3, 5), (3, 5, 0, 0), (0, 0, 0, 0)):
        nothing = newcombe(*counts)
        assert (nothing.difference, nothing.lower, nothing.upper) == UNKNOWN


def test_recovered_by_hand() -> None:
    # Distances 0.03 and 0.04 both ways: 0.05 by Pythagoras.
    apart = recovered(0.50, 0.47, 0.54, 0.30, 0.27, 0.34)
    assert (apart.difference, apart.lower, apart.upper) == three(0.2, 0.15, 0.25)
    # A quarter in which nobody was referred: its incidence is 0 without limits.
    apart = recovered(0.5, 0.4, 0.6, 0.0, math.nan, math.nan)
    assert (apart.difference, apart.lower, apart.upper) == three(0.5)
    apart = recovered(math.nan, math.nan, math.nan, 0.5, 0.4, 0.6)
    assert (apart.difference, apart.lower, apart.upper) == UNKNOWN
    for wrong in ((0.5, 0.6, 0.4, 0.3, 0.2, 0.4), (0.5, 0.4, 0.6, 0.3, 0.35, 0.4), (0.5, 0.4, 0.45, 0.3, 0.2, 0.4)):
        with pytest.raises(ValueError, match="do not hold their own estimate"):
            recovered(*wrong)


# Quartiles


def test_quartiles_by_hand() -> None:
    assert quartiles([], []) == quartiles([4, 9], [0, 0]) == UNKNOWN
    assert quartiles([9], [1]) == quartiles([9], [5]) == (9, 9, 9)
    assert quartiles([4, 9], [0, 1]) == (9, 9, 9)
    # 1, 2, 3, 4: a quarter of the way along three gaps is 0.75 of the first.
    assert quartiles([1, 2, 3, 4], [1, 1, 1, 1]) == (1.75, 2.5, 3.25)
    assert quartiles([0, 10], [3, 1]) == (0, 0, 2.5)


# Refusals


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: wilson([1, 7], [5, 5]), "met above known: 7 of 5"),
        (lambda: wilson(-1, 5), "met: -1;"),
        (lambda: clopper_pearson(2.5, 5), "met: 2.5;"),
        (lambda: clopper_pearson(math.nan, 5), "met: nan;"),
        (lambda: wilson(np.ma.masked_array([1, 1], mask=[False, True]), [5, 5]), "met: nan;"),
        (lambda: wilson(1, math.inf), "known: inf;"),
        (lambda: wilson(1, 5, 95), "confidence: 95;"),
        (lambda: bounds(1, 5, 4), "known above eligible: 5 of 4"),
        (lambda: bounds(6, 5, 7), "met above known: 6 of 5"),
        (lambda: bounds([6, 7, 8, 9, 10, 11], 5, 12), "6 of 5, 7 of 5, 8 of 5, 9 of 5, 10 of 5 and 1 more"),
        (lambda: sensitivity(1, 2, -3), "eligible: -3;"),
        (lambda: sensitivity(1, 5, 4), "known above eligible: 5 of 4"),
        (lambda: newcombe(6, 5, 1, 5), "met above known: 6 of 5"),
        (lambda: newcombe(1, 5, -1, 5), "met: -1;"),
        (lambda: newcombe(0, 0, 1, 5, 1.0), "confidence: 1.0;"),
        (lambda: product_limit([1, 1], [1, 1], [0, 0]), "day: 1 repeated"),
        (lambda: product_limit([3, 2], [1, 1], [0, 0]), "day: 2 repeated or out of order"),
        (lambda: product_limit([-1, 2], [1, 1], [0, 0]), "day: -1;"),
        (lambda: product_limit([1, math.nan], [1, 1], [0, 0]), "day: nan;"),
        (lambda: product_limit([[1]], [[1]], [[0]]), "day: 2 dimensions"),
        (lambda: product_limit([1, 2], [1], [0, 0]), "events: 1 counts for 2 days"),
        (lambda: cumulative_incidence([1], [1], [-2], [0]), "competing: -2;"),
        (lambda: cumulative_incidence([1], [1], [0], [0.5]), "censored: 0.5;"),
        (lambda: incidence_at(product_limit([1], [1], [0]), -1), "day: -1;"),
        (lambda: quartiles([2, 1], [1, 1]), "day: 1 repeated or out of order"),
        (lambda: quartiles([1, 2], [1]), "count: 1 counts for 2 days"),
    ],
)
def test_refused_with_the_numbers(call: Callable[[], object], said: str) -> None:
    with pytest.raises(ValueError, match=re.escape(said)):
        call()


def test_statistics_import_no_database_no_templates_no_frames() -> None:
    files = sorted(Path(pipeline.statistics.__path__[0]).glob("*.py"))
    imported: dict[str, str] = {}
    for file in files:
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            names = [alias.name for alias in node.names] if isinstance(node, ast.Import) else []
            names += [node.module or ""] if isinstance(node, ast.ImportFrom) else []
            imported |= {name.split(".")[0]: file.name for name in names}
    assert {"numpy", "scipy"} <= set(imported)
    assert not {"duckdb", "jinja2", "pandas", "plotly", "sqlite3", "statsmodels"} & set(imported), imported
