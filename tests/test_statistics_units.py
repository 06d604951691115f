"""Units, groups and their mix against the check values, and what must hold for every one of them.

The expected numbers were worked out in R and again in Python; each record names its source. An expected number that no
check looks at fails, unless it is of a method this product does not use (NOT_USED in a check).
"""

from __future__ import annotations

import json
import math
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from scipy import stats
from statsmodels.stats.contingency_tables import StratifiedTable  # type: ignore[import-untyped]

from pipeline.statistics.case_mix import (
    byar,
    cell_rates,
    mantel_haenszel,
    observed_expected,
)
from pipeline.statistics.comparison import trend
from pipeline.statistics.control_chart import outside_counts
from pipeline.statistics.proportions import bounds
from pipeline.statistics.units import (
    LARGEST_WEIGHT,
    STATED_WEIGHT,
    TAIL,
    Prior,
    log_likelihood,
    prior,
    shrunken,
    tail_p,
)
from pipeline.statistics.waits import cumulative_incidence, readings

VALUES = Path(__file__).parent / "check_values"
RECORDS: dict[str, Any] = {
    record["id"]: record
    for name in ("judgement.json", "statistics.json")
    for record in json.loads((VALUES / name).read_text(encoding="utf-8"))
}
Found = Mapping[str, Any]
NOT_USED = "a number of a method this product does not use"


def of_tables(text: str) -> list[np.ndarray[Any, Any]]:
    columns = [[int(n) for n in part.split(",")] for part in text.partition("first: ")[2].strip("()").split("), (")]
    return [np.array(four).reshape(2, 2).T for four in columns]


def check_funnel(r: Any) -> Found:
    theta, n = r["inputs"]["theta"], r["inputs"]["n"]
    found: dict[str, Any] = {}
    for name, tail in (("95", 0.025), ("998", 0.001)):
        low, high = outside_counts(n, theta, tail)
        if low >= 0:
            found |= {f"flag_low_to_{name}": low, f"tail_low_{name}": stats.binom.cdf(low, n, theta)}
        if high <= n:
            found |= {f"flag_high_from_{name}": high, f"tail_high_{name}": stats.binom.sf(high - 1, n, theta)}
        lines = ("line_interpolated", "line_quantile", "normal", "normal_continuity")
        found |= dict.fromkeys((f"{line}_{name}" for line in lines), NOT_USED)
    return found


def check_trap(r: Any) -> Found:
    theta, n = r["inputs"]["theta"], r["inputs"]["n"]
    high = outside_counts(n, theta, 0.001)[1]
    line = dict.fromkeys(("line", "first_count_above_line", "nominal", "probability_of_that_or_more"), NOT_USED)
    return {**line, "exact_rule_first_count": high if high <= n else None}


def check_poisson_binomial(r: Any) -> Found:
    found = observed_expected(r["inputs"]["observed"], r["inputs"]["p"])
    return {
        **{"expected": found.expected, "variance": found.variance, "ratio": found.ratio},
        **{"p_low": found.low, "p_high": found.high, "two_sided_mid_p": found.mid_p},
        "limits95_counts": [found.least, found.most],
        "byar95_ratio": np.array(byar(found.observed)) / found.expected,
        **{"z": NOT_USED, "z_if_taken_as_poisson": NOT_USED},
    }


def check_indirect(r: Any) -> Found:
    given = {name: np.array(values) for name, values in r["inputs"].items()}
    rate = given["reference_x"] / given["reference_n"]
    found = observed_expected(given["unit_x"].sum(), np.repeat(rate, given["unit_n"]))
    return {
        **{"observed": found.observed, "expected": found.expected, "ratio": found.ratio},
        **{"poisson_binomial_p_low": found.low, "var_expected_count": found.variance},
        "byar95": np.array(byar(found.observed)) / found.expected,
        "byar998": np.array(byar(found.observed, 0.998)) / found.expected,
        **dict.fromkeys(("exact_poisson95", "delta_var_log_ratio_with_reference_error"), NOT_USED),
    }


def check_ratio(r: Any) -> Found:
    observed, expected = r["inputs"]["observed"], r["inputs"]["expected"]
    found = {
        f"byar{level}": np.array(byar(observed, confidence)) / expected
        for level, confidence in (("95", 0.95), ("998", 0.998))
    }
    not_used = dict.fromkeys(("exact95", "exact998", "p_two_sided_mid"), NOT_USED)
    return {**found, "ratio": observed / expected, **not_used}


def check_mantel_haenszel(r: Any) -> Found:
    tables = np.array(of_tables(r["inputs"]["tables"]))
    found = mantel_haenszel(tables[:, 0, 0], tables[:, 0].sum(1), tables[:, 1, 0], tables[:, 1].sum(1))
    return {
        **{"common_or": found.odds_ratio, "ci95": [found.lower, found.upper]},
        **{"chisq": found.chi_square, "p": found.p},
        **dict.fromkeys(("exact_conditional_or", "exact_ci95", "exact_p"), NOT_USED),
    }


def check_shrunken(r: Any) -> Found:
    given = r["inputs"]
    units = Prior(given["mean"], given["M"], measured=False, spread=None)
    mean, lower, upper = shrunken(given["x"], given["n"], units)
    own = np.array(given["n"]) / (np.array(given["n"]) + given["M"])
    raw = np.array(given["x"]) / np.array(given["n"])
    assert mean == pytest.approx(own * raw + (1 - own) * given["mean"])
    found = {"posterior_mean": mean, "lower95": lower, "upper95": upper}
    return {**found, "weight_on_own": own, "prob_above_1.5_mean": NOT_USED}


def check_prior(r: Any) -> Found:
    x, n = r["inputs"]["x"], r["inputs"]["n"]
    units = prior(x, n)
    assert (units.measured, units.spread) == (True, True)
    return {
        **{"mean": units.mean, "M": units.weight, "loglik": log_likelihood(x, n, units.mean, units.weight)},
        **{"alpha": units.mean * units.weight, "beta": (1 - units.mean) * units.weight},
        "posterior_mean": shrunken(x, n, units)[0],
    }


def check_no_spread(r: Any) -> Found:
    x, n = r["inputs"]["x"], r["inputs"]["n"]
    mean = sum(x) / sum(n)
    units = prior(x, n)
    assert (units.weight, units.spread) == (LARGEST_WEIGHT, False)
    binomial = stats.binom.logpmf(x, n, mean).sum()
    found = {"loglik_beta_binomial_at_M_1e6": log_likelihood(x, n, mean, 1e6), "loglik_binomial": binomial}
    return {**found, **dict.fromkeys(("tau2_moments", "pearson_chisq", "df"), NOT_USED)}


def check_trend(r: Any) -> Found:
    found = trend(r["inputs"]["met"], r["inputs"]["known"])
    return {"chisq": found.chi_square, "p": found.p, "ridit": found.ridit, "slope_index": found.slope}


def check_followed_up(r: Any) -> Found:
    """Of 100,000 cases: every event noted, no event only of those seen. The low bound stays what is true."""
    cases = 100_000
    met = round(cases * r["inputs"]["true_rate"])
    known = met + round((cases - met) * r["inputs"]["seen_after"])
    lower = float(bounds(met, known, cases)[0])
    return {"known_only": met / known, "lower_bound": lower, "ratio": met / known / lower}


def check_byar(r: Any) -> Found:
    return dict(zip(("lower", "upper"), byar(r["inputs"]["x"], r["inputs"]["conf"]), strict=True))


def check_smr(r: Any) -> Found:
    given = r["inputs"]
    expected = float((np.array(given["pop"]) * np.array(given["ref_count"]) / np.array(given["ref_pop"])).sum())
    found = {"expected_count": expected, "smr": given["observed"] / expected}
    if given["observed"] < 10:  # the source takes exact limits there
        return {**found, "lower": NOT_USED, "upper": NOT_USED}
    lower, upper = byar(given["observed"])
    return {**found, "lower": lower / expected, "upper": upper / expected}


CHECKS: dict[str, Callable[[Any], Found]] = {
    "funnel.decision.": check_funnel,
    "funnel.trap.": check_trap,
    "casemix.poisson_binomial.": check_poisson_binomial,
    "casemix.indirect.": check_indirect,
    "casemix.byar_exact.": check_ratio,
    "casemix.mantel_haenszel": check_mantel_haenszel,
    "shrink.beta_binomial.M": check_shrunken,
    "shrink.beta_binomial.ml": check_prior,
    "shrink.beta_binomial.no_spread": check_no_spread,
    "equity.trend.": check_trend,
    "missing.outcome_dependent.": check_followed_up,
    "rate.byar.": check_byar,
    "rate.smr.": check_smr,
}
USED = [(name, check) for name in RECORDS for start, check in CHECKS.items() if name.startswith(start)]
# Of methods this product does not use: direct standardisation, exact limits of a rate, how many cases a model needs,
# funnels of rates or widened for spread, by Wilson, and the lines that are drawn of them.
OTHER_METHODS = (
    *("casemix.direct.", "rate.dsr.", "rate.exact_poisson.", "model.sample_size."),
    *("funnel.poisson.", "funnel.wilson_inverse", "funnel.overdispersion", "funnel.binomial."),
)
CLAMPED = {"casemix.byar_exact.1", "rate.byar.1.0.998"}  # Byar's formula below 0 at one event and 99.8%: ours is 0


@pytest.mark.parametrize(("name", "check"), USED, ids=lambda given: given if isinstance(given, str) else "")
def test_check_value(name: str, check: Callable[[Any], Found]) -> None:
    record = RECORDS[name]
    found, expected, within = check(record), record["expected"], record["tolerance"]
    assert set(found) == set(expected), f"{name}: expected numbers that were not looked at"
    looked_at = [of for of, value in found.items() if value is not NOT_USED]
    assert looked_at
    for of in looked_at:
        wanted, got = np.asarray(expected[of], dtype=float), np.asarray(found[of], dtype=float)
        if name in CLAMPED and of in {"byar998", "lower"}:
            wanted = np.where(np.isnan(wanted) | (wanted < 0), 0, wanted)
        tolerances = {"rtol": within.get("rel", 0), "atol": within.get("abs", 0)}
        np.testing.assert_allclose(got, wanted, **tolerances, err_msg=f"{of} of {name}: {record.get('source')}")


def test_every_record_of_units_is_used_or_of_another_method() -> None:
    rooms = {"funnel", "casemix", "shrink", "equity", "model", "rate"}
    ours = [n for n in RECORDS if n.split(".")[0] in rooms or n.startswith("missing.outcome")]
    used = [name for name, _ in USED]
    assert sorted(used) == sorted(set(used))
    assert [name for name in ours if name not in used and not name.startswith(OTHER_METHODS)] == []
    assert [start for start in OTHER_METHODS if not any(name.startswith(start) for name in ours)] == []
    assert len(used) == 16 + 4 + 3 + 1 + 6 + 1 + 3 + 1 + 1 + 3 + 4 + 8 + 3


def test_a_unit_is_held_against_all_the_others() -> None:
    """Outside at 12 of 20 and not at 13, about others of whom 36 of 40 have it."""
    assert (tail_p(np.array([12, 13]), 20, 36, 40) <= 2 * TAIL).tolist() == [True, False]
    assert stats.binom.cdf(12, 20, 0.9) < 0.001 < stats.binom.cdf(13, 20, 0.9)


def test_others_who_never_or_always_had_it_make_one_event_no_finding() -> None:
    assert tail_p(np.array([1]), 30, 0, 30)[0] > 2 * TAIL
    assert tail_p(np.array([29]), 30, 30, 30)[0] > 2 * TAIL


def test_sixty_alike_units_are_seldom_outside() -> None:
    """Either side at .001, so at most one unit in five hundred. Seeded."""
    rng = np.random.default_rng(60)
    tails = []
    for known in rng.integers(1, 80, 60):
        met, others = rng.binomial(known, 0.3, 100), rng.binomial(60 * 40, 0.3, 100)
        tails.append(tail_p(met, int(known), others, 60 * 40))
    assert (np.concatenate(tails) <= 2 * TAIL).mean() < 0.002


def test_a_spread_is_measured_from_eight_units_on() -> None:
    few = prior([1, 2, 3, 4, 0, 2, 9, 0], [20, 20, 20, 20, 20, 20, 20, 0])
    assert (few.mean, few.weight, few.measured, few.spread) == (21 / 140, STATED_WEIGHT, False, None)
    for x in (0, 20):
        same = prior([x] * 9, [20] * 9)
        assert (same.mean, same.measured) == (x / 20, False)
        mean, lower, upper = shrunken([x], [20], same)
        assert mean == x / 20
        assert np.isnan([*lower, *upper]).all()
    nobody = prior([], [])
    assert math.isnan(nobody.mean)
    far_apart = prior([1, 19, 2, 18, 1, 19, 3, 17], [20] * 8)
    assert far_apart.spread
    assert far_apart.weight < 5
    assert shrunken([0], [0], Prior(0.3, 40, measured=False, spread=None))[0] == pytest.approx(0.3)


def test_log_likelihood_is_that_of_scipy() -> None:
    x, n = [2, 9, 0, 20], [30, 42, 7, 20]
    second = stats.betabinom.logpmf(x, n, 0.3 * 12, 0.7 * 12).sum()
    assert log_likelihood(x, n, 0.3, 12) == pytest.approx(second, rel=1e-12)


def test_mantel_haenszel_is_that_of_statsmodels() -> None:
    tables = [np.array(four, float) for four in ([[3, 9], [1, 20]], [[0, 5], [2, 8]], [[7, 0], [4, 4]])]
    second = StratifiedTable(tables)
    met_1, known_1, met_2, known_2 = (
        [int(t[row, :columns].sum()) for t in tables] for row in (0, 1) for columns in (1, 2)
    )
    found = mantel_haenszel([*met_1, 3], [*known_1, 4], [*met_2, 0], [*known_2, 0])  # in the last, one group is nobody
    test = second.test_null_odds(correction=False)
    assert (found.odds_ratio, found.chi_square, found.p) == pytest.approx(
        (second.oddsratio_pooled, test.statistic, test.pvalue)
    )
    assert (found.lower, found.upper) == pytest.approx(second.oddsratio_pooled_confint())


def test_mantel_haenszel_of_nobody_none_and_all() -> None:
    for given in (([], [], [], []), ([0], [5], [0], [5]), ([5], [5], [5], [5]), ([2], [5], [0], [0])):
        assert math.isnan(mantel_haenszel(*given).odds_ratio)
    assert mantel_haenszel([5], [5], [0], [5]).odds_ratio == math.inf
    assert mantel_haenszel([0], [5], [5], [5]).odds_ratio == 0


def test_expected_of_nobody_none_and_all() -> None:
    nobody = observed_expected(0, [])
    assert (nobody.expected, nobody.low, nobody.high, nobody.mid_p) == (0, 1, 1, 1)
    assert math.isnan(nobody.ratio)
    assert observed_expected(0, [0.3] * 10).low == pytest.approx(stats.binom.cdf(0, 10, 0.3))
    every = observed_expected(10, [0.3] * 10)
    assert every.high == pytest.approx(0.3**10)
    assert (every.least, every.most) == tuple(stats.binom.ppf([0.025, 0.975], 10, 0.3))
    assert byar(0)[0] == 0
    with pytest.raises(ValueError, match="risk"):
        observed_expected(3, [0.2, 0.4])


def test_cells_are_shrunk_to_the_whole() -> None:
    assert cell_rates([10, 0, 0], [20, 20, 0]).tolist() == [(10 + 5) / 40, 5 / 40, 0.25]
    assert np.isnan(cell_rates([0], [0])).all()


def test_trend_of_nobody_one_group_and_empty_fifths() -> None:
    for met, known in (([], []), ([3, 0], [5, 0])):
        assert math.isnan(trend(met, known).p)
    flat = trend([0, 0, 0], [5, 5, 5])
    assert (math.isnan(flat.p), flat.slope) == (True, 0)
    gap = trend([1, 0, 4], [5, 0, 5])  # two groups two steps apart: the uncorrected chi-square of a 2 x 2 table
    assert gap.chi_square == pytest.approx(stats.chi2_contingency([[1, 4], [4, 1]], correction=False).statistic)
    assert trend([4, 0, 1], [5, 0, 5]).slope == -gap.slope
    # An empty group keeps its place: n times the square of the correlation of step and outcome, case by case.
    step, met = np.repeat([0, 2, 3], [5, 6, 4]), np.array([1, 0, 0, 0, 0, 1, 1, 1, 0, 0, 0, 1, 1, 1, 0])
    kept = trend([1, 0, 3, 3], [5, 0, 6, 4]).chi_square
    assert kept == pytest.approx(15 * np.corrcoef(step, met)[0, 1] ** 2)


def test_a_curve_is_read_with_the_numbers_at_risk() -> None:
    """Ten referred: two divided on day 0, one on 14, two not going ahead on 5, one lost on 20, four wait."""
    curve = cumulative_incidence([0, 5, 14, 20, 60], [2, 0, 1, 0, 0], [0, 2, 0, 0, 0], [0, 0, 0, 1, 4])
    read = readings(curve)
    assert [row.day for row in read] == [0, 7, 14, 28, 56, 84]
    assert [row.at_risk for row in read] == [10, 6, 6, 4, 4, 0]
    assert [row.incidence for row in read[:5]] == pytest.approx([0.2, 0.2, 0.3, 0.3, 0.3])
    assert math.isnan(read[5].incidence)
    assert all(row.lower < row.incidence < row.upper for row in read[:5])
    empty = readings(cumulative_incidence([], [], [], []), [28])[0]
    assert (math.isnan(empty.incidence), empty.at_risk) == (True, 0)
