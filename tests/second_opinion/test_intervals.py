"""The interval formulas against published and independent values, each named by its record."""

from __future__ import annotations

import json
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

from .intervals import incidence, incidence_limits, quantile, wilson

RECORDS: dict[str, Any] = {
    record["id"]: record
    for record in json.loads((Path(__file__).parents[1] / "check_values" / "statistics.json").read_text("utf-8"))
}


@pytest.mark.parametrize("name", [name for name in RECORDS if name.startswith("prop.wilson95.")])
def test_wilson(name: str) -> None:
    given, expected = RECORDS[name]["inputs"], RECORDS[name]["expected"]
    assert wilson(given["x"], given["n"]) == pytest.approx((expected["lower"], expected["upper"]), abs=1e-9)


def test_wilson_ends_are_exact() -> None:
    assert wilson(0, 7)[0] == 0.0 and wilson(7, 7)[1] == 1.0 and wilson(0, 0) == (None, None)


@pytest.mark.parametrize("name", ["aj.scrucca35", "aj.weekly400", "aj.three_causes", "aj.all_fail_at_last"])
def test_incidence(name: str) -> None:
    given, expected = RECORDS[name]["inputs"], RECORDS[name]["expected"]
    counts = given.get("count", [1] * len(given["time"]))
    waits = []
    for time, cause, count in zip(given["time"], given["cause"], counts, strict=True):
        waits += [(time, cause)] * count
    for place, by in enumerate(expected.get("time") or given.get("at") or sorted(given["time"])):
        for cause in (1, 2):
            found = incidence(waits, cause, by)
            assert found is not None
            reached, variance = found
            assert float(reached) == pytest.approx(expected[f"F{cause}"][place], abs=1e-9)
            assert float(variance) ** 0.5 == pytest.approx(expected[f"se{cause}"][place], abs=1e-9)
            if f"lo{cause}_cloglog_1mF" in expected and reached not in (0, 1):
                limits = expected[f"lo{cause}_cloglog_1mF"][place], expected[f"hi{cause}_cloglog_1mF"][place]
                assert incidence_limits(reached, variance) == pytest.approx(limits, abs=1e-9)


def test_incidence_needs_somebody_at_risk_or_an_end_by_events() -> None:
    assert incidence([], 1, 28) is None
    assert incidence([(3, 1), (27, 0)], 1, 28) is None
    assert incidence([(-2, 0)], 1, 28) is None
    assert incidence([(3, 1), (28, 0)], 1, 28) == (Fraction(1, 2), Fraction(1, 8))
    assert incidence([(28, 1)], 1, 28) == (Fraction(1), Fraction(0))
    ended = incidence([(3, 1), (9, 0), (9, 2)], 1, 28)
    assert ended is None  # censored on the day of the last event: still at risk after it, so not ended by events
    ended = incidence([(3, 1), (9, 2)], 1, 28)
    assert ended is not None and ended[0] == Fraction(1, 2)


def test_no_limits_at_nothing_and_at_all() -> None:
    assert incidence_limits(Fraction(0), Fraction(0)) == (None, None)
    assert incidence_limits(Fraction(1), Fraction(0)) == (None, None)


def test_quantile_by_hand() -> None:
    assert quantile([], Fraction(1, 2)) is None
    assert quantile([7], Fraction(1, 4)) == 7.0
    assert quantile([10, 1, 4, 2], Fraction(1, 4)) == 1.75  # place 0.75: three quarters of the way from 1 to 2
    assert quantile([10, 1, 4, 2], Fraction(1, 2)) == 3.0
    assert quantile([10, 1, 4, 2], Fraction(3, 4)) == 5.5  # place 2.25: a quarter of the way from 4 to 10
