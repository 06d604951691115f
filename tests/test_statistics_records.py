"""Statistics against the check values: every record about proportions, differences, waits and unknown answers.

The expected numbers were worked out by independent implementations, and the published figures read in the source that
each record names; a test whose published figure was only remembered says so in its name. A record that belongs here
and has no check fails, and so does an expected number that no check looks at.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from pipeline.statistics.comparison import newcombe
from pipeline.statistics.proportions import bounds, clopper_pearson, sensitivity, wilson
from pipeline.statistics.waits import Curve, cumulative_incidence, incidence_at
from tests.product_limit import product_limit, quantile

RECORDS: list[dict[str, Any]] = json.loads(
    (Path(__file__).parent / "check_values" / "statistics.json").read_text(encoding="utf-8")
)
ENDS: list[dict[str, Any]] = [
    record
    for record in json.loads((Path(__file__).parent / "check_values" / "judgement.json").read_text(encoding="utf-8"))
    if record["id"].startswith("waits.ends.")
]
Found = Mapping[str, Any]  # what we worked out, under the names of the record's expected numbers

# Not of this product: a test between two groups, and filling in of unknown answers.
ELSEWHERE = {"km.logrank.freireich", "missing.rubin"}
RELEVANT = [r for r in RECORDS if r["id"].split(".")[0] in {"prop", "diff", "km", "aj", "missing"}]
RELEVANT = [r for r in RELEVANT if r["id"] not in ELSEWHERE]


def counts_per_day(time: Any, cause: Any, count: Any = None) -> tuple[Any, Any]:
    """Distinct days, and one row of counts for each cause from 0 (censored) to 3."""
    day, place = np.unique(np.asarray(time), return_inverse=True)
    rows = np.zeros((4, day.size), dtype=np.int64)
    np.add.at(rows, (np.asarray(cause), place), 1 if count is None else np.asarray(count))
    return day, rows


def wait_of(inputs: Mapping[str, Any]) -> Curve:
    day, rows = counts_per_day(inputs.get("time", inputs.get("t")), inputs["status"], inputs.get("count"))
    return product_limit(day, rows[1], rows[0])


def rows_at(curve: Curve, days: Any) -> Any:
    """Find the last row on or before each day; -1 before the first."""
    return np.searchsorted(curve.day, np.asarray(days), side="right") - 1


def check_wilson(r: Any) -> Found:
    lower, upper = wilson(r["inputs"]["x"], r["inputs"]["n"], r["inputs"]["conf"])
    return {"lower": lower, "upper": upper}


def check_clopper(r: Any) -> Found:
    lower, upper = clopper_pearson(r["inputs"]["x"], r["inputs"]["n"], r["inputs"]["conf"])
    return {"lower": lower, "upper": upper}


def check_zero_events(r: Any) -> Found:
    n = r["inputs"]["n"]
    one_sided, two_sided = (clopper_pearson(0, n, confidence)[1] for confidence in (0.90, 0.95))
    # The rule of three is no limit of ours; it stands for the one-sided limit, and must not be taken for the other.
    rule = r["expected"]["rule_of_three"]
    assert abs(rule - one_sided) < abs(rule - two_sided)
    return {"one_sided95_exact": one_sided, "two_sided95_exact": two_sided, "rule_of_three": None}


def check_newcombe(r: Any) -> Found:
    given = r["inputs"]
    found = newcombe(given["x1"], given["n1"], given["x2"], given["n2"], given["conf"])
    return {"diff": found.difference, "lower": found.lower, "upper": found.upper}


def check_product_limit(r: Any) -> Found:
    curve = wait_of(r["inputs"])
    row = rows_at(curve, r["expected"]["time"])
    found = {
        "time": curve.day[row],
        "n_risk": curve.at_risk[row],
        "events": curve.events[row],
        "surv": 1 - curve.incidence[row],
        "se": curve.se[row],
        "lower": 1 - curve.upper[row],
        "upper": 1 - curve.lower[row],
        "median": quantile(curve),
    }
    return {name: found[name] for name in r["expected"]}


def check_median(r: Any) -> Found:
    median, lower, upper = quantile(wait_of(r["inputs"]))
    return {name: {"median": median, "lower": lower, "upper": upper}[name] for name in r["expected"]}


def check_quantile(r: Any) -> Found:
    found: dict[str, Any] = dict.fromkeys(("linear", "log", "logit", "asinsqrt"))  # other transformations than ours
    return {**found, "cloglog": quantile(wait_of(r["inputs"]), r["inputs"]["p"])}


def check_incidence(r: Any) -> Found:
    given, expected = r["inputs"], r["expected"]
    day, rows = counts_per_day(given["time"], given["cause"], given.get("count"))
    at = expected.get("time", given.get("at", day))
    found: dict[str, Any] = {"time": None} if "time" in expected else {}  # where to read, so nothing to compare
    for cause in (1, 2, 3):
        if f"F{cause}" not in expected:
            assert not rows[cause].any()
            continue
        # Every cause in turn as the event, all the others together as the competing one.
        curve = cumulative_incidence(day, rows[cause], rows[1:].sum(axis=0) - rows[cause], rows[0])
        row = rows_at(curve, at)
        found |= {f"F{cause}": curve.incidence[row], f"se{cause}": curve.se[row]}
        if f"lo{cause}_cloglog_1mF" in expected:
            # At 0 and 1 that scale has none; ours are the exact ones there, which waits.ends.* checks.
            inside = (curve.incidence[row] > 0) & (curve.incidence[row] < 1)
            found |= {
                f"lo{cause}_cloglog_1mF": np.where(inside, curve.lower[row], np.nan),
                f"hi{cause}_cloglog_1mF": np.where(inside, curve.upper[row], np.nan),
            }
            # Limits on the other scale, log(-log F), are not ours: near enough to be taken for them, so told apart.
            for end, ours in (("lo", curve.lower[row]), ("hi", curve.upper[row])):
                other = np.array(expected[f"{end}{cause}_loglog_F"], dtype=float)
                assert np.nanmin(np.abs(ours - other)) > 1e-4
                found[f"{end}{cause}_loglog_F"] = None
            read = np.array([incidence_at(curve, when) for when in at])
            assert np.array_equal(read[:, 0], curve.incidence[row])
            assert np.array_equal(read[:, 1:], np.stack((curve.lower[row], curve.upper[row]), axis=1), equal_nan=True)
    return found


def check_bounds(r: Any) -> Found:
    yes, known, total = (r["inputs"][name] for name in ("yes", "known", "total"))
    worst, best = bounds(yes, known, total)
    observed = bounds(yes, known, known)
    assert observed[0] == observed[1]
    # The record's Wilson limits of the two bounds are those of the two fillings-in as counts.
    limits = [wilson(filled, total) for filled in (yes, yes + total - known)]
    return {
        "observed": observed[0],
        "worst": worst,
        "best": best,
        "worst_wilson": limits[0],
        "best_wilson": limits[1],
    }


def check_imor(r: Any) -> Found:
    given = r["inputs"]
    found = sensitivity(given["yes"], given["known"], given["total"], given["imor"])
    assert np.array_equal(sensitivity(given["yes"], given["known"], given["total"]), found)  # the same by default
    return {f"{ratio:g}": value for ratio, value in zip(given["imor"], found, strict=True)}


CHECKS: dict[str, Callable[[Any], Found]] = {
    "prop.wilson": check_wilson,
    "prop.clopper": check_clopper,
    "prop.zero_events.": check_zero_events,
    "diff.newcombe.": check_newcombe,
    "km.freireich.": check_product_limit,
    "km.bmt_all": check_product_limit,
    "km.bfeed.weighted": check_product_limit,
    "km.median.": check_median,
    "km.quantile_ci.": check_quantile,
    "aj.": check_incidence,
    "missing.bounds": check_bounds,
    "missing.imor": check_imor,
}


@pytest.mark.parametrize("record", ENDS, ids=lambda record: record["id"])
def test_limits_of_a_wait_at_0_and_at_1(record: Any) -> None:
    """Some were lost from sight on day 3; of the others two had the competing event, or nobody had."""
    started, told = record["inputs"].values()
    lost, within = started - told, record["tolerance"]["abs"]
    none = cumulative_incidence([3, 5, 60], [0, 0, 0], [0, 2, 0], [lost, 0, told - 2])
    same(incidence_at(none, 28), [0, 0, record["expected"]["upper_when_none"]], within, record["id"])
    every = cumulative_incidence([3, 5], [0, told], [0, 0], [lost, 0])
    same(incidence_at(every, 28), [1, record["expected"]["lower_when_all"], 1], within, record["id"])


def test_every_record_of_the_ends_of_a_wait_is_used() -> None:
    assert [record["id"] for record in ENDS] == [f"waits.ends.{of}" for of in ("40_40", "12_9", "7_7", "30_22")]


def name_of(record: Any) -> str:
    from_memory = "FROM MEMORY" in ((record["published_source"] or {}).get("status") or "")
    return f"{record['id']}{'-published_figure_FROM_MEMORY' if from_memory else ''}"


def source_of(record: Any) -> str:
    published = record["published_source"]
    source = f"{published['citation']}, {published['status']}" if published else "no published figure"
    return f"{record['id']} ({source}; {', '.join(made['implementation'] for made in record['computed_by'])})"


def same(found: Any, expected: Any, within: float, where: str) -> None:
    """Equal within the tolerance, shape and all; nothing recorded (null) must be NaN."""
    wanted = np.asarray(expected, dtype=float)
    np.testing.assert_allclose(np.asarray(found, dtype=float), wanted, rtol=0, atol=within, err_msg=where, strict=True)


@pytest.mark.parametrize("record", RELEVANT, ids=name_of)
def test_check_value(record: Any) -> None:
    checks = [check for start, check in CHECKS.items() if record["id"].startswith(start)]
    assert len(checks) == 1, f"{record['id']}: {len(checks)} checks, one is wanted"
    found, source = checks[0](record), source_of(record)
    assert set(found) == set(record["expected"]), f"{source}: expected numbers that were not looked at"
    compared = [name for name, value in found.items() if value is not None]
    assert compared
    for name in compared:
        same(found[name], record["expected"][name], record["tolerance"]["abs"], f"{name} of {source}")
    against_the_published(record, found, f"published figure of {source}")


def against_the_published(record: Any, found: Found, where: str) -> None:
    """Compare with the figure as printed in the source, at the accuracy it was printed with."""
    published: Any = (record["published_source"] or {}).get("published")
    within = record["tolerance"].get("published_abs", record["tolerance"]["abs"])
    if isinstance(published, list):
        same([found["lower"], found["upper"]], published, within, where)
    elif record["id"] == "km.quantile_ci.bmt_all":
        same(found["cloglog"][1:], published["cloglog"], within, where)
    elif isinstance(published, dict):
        for name, value in published.items():
            same(found[name], value, within, f"{name}, {where}")
    elif record["id"] == "km.bmt_all":
        printed = re.findall(r"t=(\d+): ([\d.]+)/([\d.]+)", published)
        assert len(printed) == 3
        for day, surv, se in printed:
            row = record["expected"]["time"].index(int(day))
            same([found["surv"][row], found["se"][row]], [surv, se], within, f"day {day}, {where}")
    elif record["id"] == "aj.three_causes":
        for part in published.split("; "):
            name, *values = part.split()
            steps = np.unique(found[name][found[name] > 0])  # the source prints each step once
            same(steps, values, within, f"{name}, {where}")
    else:  # words, or a figure of another method: nothing to compare, and no accuracy given to compare it at
        assert published is None or "published_abs" not in record["tolerance"], f"not looked at: {where}"


def test_every_relevant_record_is_used() -> None:
    """By count of the file itself, so that a lost or renamed record cannot pass as an empty list of checks."""
    names = [record["id"] for record in RECORDS]
    relevant = [name for name in names if re.match(r"(prop|diff|km|aj|missing)\.", name) and name not in ELSEWHERE]
    assert len(set(relevant)) == len(relevant) == 46
    assert relevant == [record["id"] for record in RELEVANT]
    assert set(names) >= ELSEWHERE
    for start in CHECKS:
        assert any(name.startswith(start) for name in relevant), f"{start}: a check for no record"


@pytest.mark.parametrize("group", ["6mp", "placebo"])
def test_at_risk_is_everyone_whose_time_is_the_day_or_later(group: str) -> None:
    """Counted case by case, from the rows of the record (source: Freireich et al. 1963)."""
    inputs = next(r["inputs"] for r in RECORDS if r["id"] == f"km.median.freireich.{group}")
    curve, time = wait_of(inputs), np.array(inputs["time"])
    assert curve.at_risk.tolist() == [int((time >= day).sum()) for day in curve.day]
