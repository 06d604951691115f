"""Each site beside all the others: which count is outside, how often chance alone says so, what the mix would give.

Expected numbers come from scipy, statsmodels, enumeration, or paper; none from our own output.
"""

from __future__ import annotations

import math
import time
from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest
from scipy import stats
from statsmodels.stats.contingency_tables import StratifiedTable  # type: ignore[import-untyped]

from pipeline.contracts import places
from pipeline.judgement.families import judge
from pipeline.judgement.judged import BETWEEN, SITES, Basis, Comparison, Group
from pipeline.judgement.mix import BY_CELLS, BY_STRATA, adjusted, cells
from pipeline.outcomes import lookup
from pipeline.outcomes.lookup import Lookup, Result
from pipeline.report.pages.service_page import page
from pipeline.report.views import sites as sites_view
from pipeline.report.views.sites import between
from pipeline.report.words import labels
from pipeline.statistics.case_mix import byar, ratio_by_cells
from pipeline.statistics.control_chart import outside_counts
from pipeline.statistics.units import TAIL, tail_p
from tests import report_content, report_measures, simulated_reports
from tests.reading_pages import read

MEASURES = {measure.name: measure for measure in (*report_measures.MEASURES, *simulated_reports.measures())}
SHARE, HARM = MEASURES["breastfed_at_6_weeks"], MEASURES[simulated_reports.HARM]
YEAR = ("2025Q4", "2026Q1", "2026Q2", "2026Q3")
WORDS = labels.read(places.REPORTS / "wording.toml")
Counts = tuple[int, int, int]  # met, known, eligible


def basis(by_site: Mapping[str, Counts | Mapping[str, Counts]], name: str = SHARE.name, **more: Any) -> Basis:
    """Sites with these counts in the last quarter, or in the quarters named; each site is large and old."""
    noted = MEASURES[name].kind == "noted"
    results = {
        (name, period, "site", site): Result(
            *(eligible, known, met, eligible - known, None, None, None, None, None, True, eligible if noted else known)
        )
        for site, given in by_site.items()
        for period, (met, known, eligible) in (given if isinstance(given, Mapping) else {"2026Q3": given}).items()
    }
    levels: dict[tuple[str, str, str], tuple[str, ...]] = {}
    for key in results:
        levels[key[:3]] = (*levels.get(key[:3], ()), key[3])
    large = Group(date(2020, 1, 1), dict.fromkeys(YEAR, 500))
    sites = dict.fromkeys(by_site, large) | more.pop("sites", {})
    return Basis([MEASURES[name]], (), Lookup(results, {}, levels, YEAR[0]), "2026Q3", [name], sites=sites, **more)


def made(by_site: Mapping[str, Any], name: str = SHARE.name, **more: Any) -> tuple[Comparison, ...]:
    return judge(basis(by_site, name, **more)).of(BETWEEN)


def fisher(met: int, of: int, others_met: int, others: int) -> float:
    """Fisher's mid-p by scipy's probabilities: all that is less likely, and half of what is as likely."""
    every = stats.hypergeom.pmf(np.arange(of + 1), of + others, met + others_met, of)
    here = every[met]
    alike = np.isclose(every, here, rtol=1e-7, atol=0)
    return float(every[(every < here) & ~alike].sum() + every[alike].sum() / 2)


def binomial(met: int, of: int, others_met: int, others: int) -> float:
    share = min(max(others_met / others, 0.5 / others), 1 - 0.5 / others)
    return min(2 * min(stats.binom.cdf(met, of, share), stats.binom.sf(met - 1, of, share)), 1.0)


@pytest.mark.parametrize(
    ("site", "others", "reason"),
    [
        ((20, 60, 60), (150, 200, 200), "below the others"),
        ((40, 40, 40), (100, 200, 200), "above the others"),
        ((30, 60, 60), (110, 200, 200), "tested"),
        ((1, 1, 1), (0, 4, 4), "too few"),
        ((1, 1, 1), (0, 2000, 2000), "too few"),  # by the binomial alone, .00025
        ((5, 5, 5), (100, 200, 200), "no count could be outside"),  # not even 0 or 5 of 5: 1 in 32
        ((0, 0, 0), (100, 200, 200), "no figure"),
        ((0, 0, 40), (100, 200, 200), "too few"),  # all unknown
        ((60, 60, 60), (200, 200, 200), "tested"),  # everyone everywhere
        ((38, 172, 500), (150, 200, 200), "too many unknown"),  # were the 328 all met, it would be as elsewhere
        ((38, 172, 172), (150, 200, 200), "below the others"),
    ],
)
def test_a_site_is_outside_by_counts_and_only_if_the_unknown_cannot_turn_it(
    site: Counts, others: Counts, reason: str
) -> None:
    one = made({"north": site, "south": others})[0]
    assert (one.level, one.verdict.reason) == ("north", reason)
    assert one.verdict.mark == {"tested": "chance", "below the others": "look", "above the others": "look"}.get(
        reason, "none" if reason == "no figure" else "cannot"
    )
    if not one.weighed.cannot:
        met, known = site[:2]
        wanted = max(fisher(met, known, *others[:2]), binomial(met, known, *others[:2]))
        assert one.weighed.p == pytest.approx(wanted, rel=1e-9, abs=1e-15)


@pytest.mark.parametrize(("of", "others_met", "others"), [(1, 0, 7), (37, 30, 90), (60, 90, 90), (25, 3, 400)])
def test_the_tails_are_those_the_funnel_decides_by(of: int, others_met: int, others: int) -> None:
    tails = tail_p(np.arange(of + 1), of, others_met, others)
    assert tails == pytest.approx([binomial(met, of, others_met, others) for met in range(of + 1)], rel=1e-9)
    low, high = outside_counts(of, min(max(others_met, 0.5) / others, 1 - 0.5 / others), TAIL)
    assert (tails <= 2 * TAIL).tolist() == [met <= low or met >= high for met in range(of + 1)]


@pytest.mark.parametrize(("of", "others_met", "others"), [(60, 150, 200), (200, 15, 20), (37, 0, 80), (40, 80, 80)])
def test_what_chance_allows_is_every_count_that_is_not_outside(of: int, others_met: int, others: int) -> None:
    one = made({"north": (of // 2, of, of), "south": (others_met, others, others)})[0]
    inside = [
        met
        for met in range(of + 1)
        if max(fisher(met, of, others_met, others), binomial(met, of, others_met, others)) > 0.002
    ]
    assert one.allowed == (min(inside), max(inside))
    assert len(inside) == max(inside) - min(inside) + 1


# Of few others the test of both counts decides, of many the tails.
@pytest.mark.parametrize(("met", "of", "others_met", "others"), [(20, 60, 30, 90), (7, 30, 500, 2000)])
def test_how_often_chance_alone_puts_a_site_outside_is_that_of_every_table(
    met: int, of: int, others_met: int, others: int
) -> None:
    given = {"north": (met, of, of), "south": (others_met, others, others)}
    in_all = met + others_met
    called = sum(
        stats.hypergeom.pmf(own, of + others, in_all, of)
        for own in range(of + 1)
        if own <= in_all
        and max(fisher(own, of, in_all - own, others), binomial(own, of, in_all - own, others)) <= 0.002
    )
    assert 0 < called < 0.003  # a mid-p keeps to its limit on average
    assert made(given)[0].by_chance == pytest.approx(called, rel=1e-9)
    judged = judge(basis(given))
    assert judged.expected(BETWEEN) == pytest.approx(sum(one.by_chance for one in judged.of(BETWEEN)))


def test_few_others_do_not_make_one_of_two_alike_sites_outside() -> None:
    """By enumeration, both at .5: by the funnel alone one in forty is, by both tests fewer than one in five hundred."""
    chance = stats.binom.pmf(range(41), 40, 0.5)
    alone = both = 0.0
    for x in range(41):
        for y in range(41):
            if chance[x] * chance[y] > 1e-9 and binomial(x, 40, y, 40) <= 0.002:
                alone += chance[x] * chance[y]
                both += chance[x] * chance[y] * (fisher(x, 40, y, 40) <= 0.002)
    assert alone > 0.02
    assert both < 0.002


def test_one_site_has_no_others_and_what_is_not_recorded_is_no_site() -> None:
    assert made({"north": (20, 60, 60)}) == ()
    assert made({"north": (20, 60, 60), "not_recorded": (90, 90, 90)}) == ()
    two = made({"north": (30, 60, 60), "south": (40, 80, 80), "not_recorded": (90, 90, 90)})
    assert [(one.level, one.weighed.second.met) for one in two] == [("north", 40), ("south", 30)]
    assert judge(basis({"north": (20, 60, 60)})).of(SITES) == ()  # its own time before is the service's


def test_sixty_sites_are_judged_in_the_order_of_their_names() -> None:
    given = {f"site {at:02}": (round(at * 0.6), at, at + 2) for at in range(60)}
    given["site 30"] = (0, 60, 60)
    began = time.process_time()
    all_of_them = made(dict(reversed(given.items())))
    assert time.process_time() - began < 5
    assert [one.level for one in all_of_them] == sorted(given)
    assert [one.level for one in all_of_them if one.verdict.mark == "look"] == ["site 30"]
    assert all_of_them[1].verdict.reason == "too few"  # of one case


def test_a_harm_and_a_small_site_are_judged_on_four_quarters() -> None:
    quarters = dict.fromkeys(YEAR, (3, 50, 50))
    small = {"north": Group(date(2020, 1, 1), dict.fromkeys(YEAR, 74))}
    assert [len(one.now) for one in made({"north": quarters, "south": quarters})] == [1, 1]
    assert [len(one.now) for one in made({"north": quarters, "south": quarters}, sites=small)] == [4, 1]
    harm = made({"north": quarters, "south": quarters}, HARM.name)
    assert [(len(one.now), one.weighed.first.met, one.weighed.first.of) for one in harm] == [(4, 12, 200)] * 2


def test_of_a_harm_silence_is_no_difference() -> None:
    """A tenth everywhere, but at one site 30 of 100 are heard from and so 3 noted, elsewhere 90."""
    given = {"north": dict.fromkeys(YEAR, (3, 30, 100)), "south": dict.fromkeys(YEAR, (36, 360, 400))}
    one = made(given, HARM.name)[0]
    assert (one.verdict.mark, one.verdict.reason) == ("cannot", "follow-up changed")


def test_a_site_whose_records_have_only_begun_and_a_measure_whose_records_changed() -> None:
    quarters = dict.fromkeys(YEAR, (3, 50, 50))
    young = {"north": Group(date(2026, 5, 1), dict.fromkeys(YEAR, 500))}
    north, south = made({"north": quarters, "south": quarters, "west": quarters}, sites=young)[:2]
    assert (north.verdict.reason, north.weighed.first.of) == ("records had only begun", 0)
    assert south.weighed.second.of == 50  # of the two others only the one that has its records
    changed = {HARM.name: date(2026, 4, 1)}
    assert made({"north": quarters, "south": quarters}, HARM.name, changed=changed)[0].now == ("2026Q2", "2026Q3")
    changed = {HARM.name: date(2026, 8, 1)}
    one = made({"north": quarters, "south": quarters}, HARM.name, changed=changed)[0]
    assert one.verdict.reason == "definition changed"


def test_what_the_families_would_give_by_cells_is_worked_out_on_paper() -> None:
    """Others 200 of 400 and 100 of 400, so 300 of 800: shrunk (200 + 7.5) / 420 and (100 + 7.5) / 420."""
    others = {("anterior", "0-6"): (200, 400), ("posterior", "14-27"): (100, 400)}
    unit = {("anterior", "0-6"): (6, 10), ("posterior", "14-27"): (12, 30)}
    found = adjusted(unit, others)
    assert found is not None
    expected = 10 * 207.5 / 420 + 30 * 107.5 / 420
    assert (found.by, found.expected, found.ratio) == (BY_CELLS, pytest.approx(expected), pytest.approx(18 / expected))
    exact = np.convolve(stats.binom.pmf(range(11), 10, 207.5 / 420), stats.binom.pmf(range(31), 30, 107.5 / 420))
    up_to = np.cumsum(exact)
    assert (found.least, found.most) == (int((up_to < 0.025).sum()), int((up_to < 0.975).sum()))


@pytest.mark.parametrize(
    ("cases", "met", "by"), [(660, 300, BY_CELLS), (659, 300, BY_STRATA), (900, 32, BY_CELLS), (900, 31, BY_STRATA)]
)
def test_cells_from_700_cases_and_50_events_on(cases: int, met: int, by: str) -> None:
    unit = {("anterior", "0-6"): (9, 20), ("anterior", "28+"): (9, 20)}  # 40 cases, 18 met
    others = {("anterior", "0-6"): (met - 10, cases - 100), ("posterior", "14-27"): (10, 100)}
    found = adjusted(unit, others)
    assert found is not None
    assert found.by == by


def test_below_that_two_strata_by_age_as_statsmodels_has_it() -> None:
    unit = {("anterior", "0-6"): (6, 9), ("posterior", "7-13"): (4, 6), ("anterior", "28+"): (9, 20)}
    others = {("anterior", "7-13"): (30, 80), ("not_recorded", "14-27"): (20, 40), ("anterior", "28+"): (9, 20)}
    second = StratifiedTable([np.array([[10, 5], [30, 50]]), np.array([[9, 11], [29, 31]])])
    found = adjusted(unit, others)
    assert found is not None
    assert (found.by, found.least) == (BY_STRATA, None)
    assert (found.ratio, found.lower, found.upper) == pytest.approx(
        (second.oddsratio_pooled, *second.oddsratio_pooled_confint())
    )
    assert found.expected == pytest.approx(15 * 30 / 80 + 20 * 29 / 60)


@pytest.mark.parametrize(
    ("unit", "others"),
    [
        ({}, {}),
        ({}, {("a", "0-6"): (30, 80)}),
        ({("a", "0-6"): (5, 9)}, {}),
        ({("a", "0-6"): (5, 9)}, {("a", "0-6"): (4, 80)}),  # nine met in all
        ({("a", "0-6"): (5, 9), ("a", "28+"): (1, 2)}, {("a", "0-6"): (30, 80)}),  # of the older none elsewhere
        ({("a", "0-6"): (9, 9)}, {("a", "0-6"): (30, 80)}),  # all met: the odds have no limits
        ({("a", "0-6"): (900, 900)}, {("a", "0-6"): (900, 900)}),
    ],
)
def test_too_few_for_allowing_for_the_mix(unit: Any, others: Any) -> None:
    assert adjusted(unit, others) is None


@pytest.mark.parametrize("risk", [[0.03, 0.05, 0.09], [0.3, 0.6, 0.85]])
def test_the_ratio_by_cells_holds_what_is_true(risk: list[float]) -> None:
    """95% intervals, the site as the others: seeded. Rare by Byar's limits, common by the thinner variance."""
    rng = np.random.default_rng(5)
    cases, others = np.array([80, 90, 60]), np.array([300, 250, 200])
    held = 0
    for _ in range(1000):
        found = ratio_by_cells(int(rng.binomial(cases, risk).sum()), cases, rng.binomial(others, risk), others)
        held += found.lower <= 1 <= found.upper
    assert 0.93 < held / 1000 < 0.98


def test_the_ratio_by_cells_of_nobody_none_and_very_many_others() -> None:
    for nobody in (ratio_by_cells(0, [], [], []), ratio_by_cells(0, [0, 0], [3, 1], [9, 9])):
        assert math.isnan(nobody.ratio)
    none = ratio_by_cells(
        0,
        [100],
        [
            2000,
        ],
        [100_000],
    )
    assert (none.ratio, none.lower) == (0, 0)
    assert none.upper == pytest.approx(byar(0)[1] / 2, rel=0.05)
    # With very many others what is left is Byar's interval; the error carried is that of the check values' formula.
    many = ratio_by_cells(5, [100], [20_000], [1_000_000])
    assert (many.lower, many.upper) == pytest.approx(np.array(byar(5)) / 2, rel=0.02)
    few = ratio_by_cells(5, [1000], [5_000], [1_000_000])
    carried = 1000**2 * 0.005 * 0.995 / 1_000_000 / 5**2  # u^2 r (1 - r) / n / E^2
    down = math.hypot(math.log(5 / byar(5)[0]), 1.959964 * math.sqrt(carried))
    assert math.log(few.ratio / few.lower) == pytest.approx(down, rel=1e-3)


def test_the_mix_is_of_those_known_and_of_a_harm_of_all() -> None:
    counted = pd.DataFrame(
        [("share", "2026Q3", "north", "anterior", "0-6", 9, 7, 3), ("harm", "2026Q3", "north", "none", "28+", 9, 7, 3)],
        columns=["measure", "period", "site", "tie_type", "age_band", "eligible", "known", "met"],
    )
    assert cells(counted, {"harm"}) == {
        ("share", "2026Q3", "north"): {("anterior", "0-6"): (3, 7)},
        ("harm", "2026Q3", "north"): {("none", "28+"): (3, 9)},
    }
    assert cells(counted.iloc[:0], ()) == {}


def test_the_demo_is_judged_from_its_results(demo: tuple[Path, str]) -> None:
    """Every site's counts are those of results.csv, added up; expected of the mix: about what all sites have in all."""
    place = demo[0] / "editions" / "2026Q3"
    results, rows = (pd.read_csv(place / name) for name in ("results.csv", "comparisons.csv"))
    rows = rows[rows["family"] == "between sites"]
    of_sites = results[(results["breakdown"] == "site") & results["period"].isin(YEAR)]
    assert len(rows) >= 20
    for row in rows.itertuples():
        first = row.now.split(" to ")[0]
        own = of_sites[(of_sites["measure"] == row.measure) & (of_sites["period"] >= first)]
        here = own[own["level"] == row.level]
        assert (row.eligible, row.known, row.met) == tuple(here[["eligible", "known", "met"]].sum())
        assert row.met + row.then_met == own["met"].sum()
    whole = rows[rows["mix_by"].notna()].groupby("measure")[["met", "mix_expected"]].sum()
    assert len(whole) >= 3
    assert (abs(whole["met"] / whole["mix_expected"] - 1) < 0.1).all()


def test_the_section_names_every_site_in_order_and_ranks_none() -> None:
    content = report_content.content()
    shown = between(content, WORDS)
    assert shown is not None
    heads = [[row.head for row in group.rows] for group in shown.table.groups]
    assert heads == [sorted(report_measures.SITES)] * 5  # the shares among the primary measures
    assert all(whom in report_measures.SITES for whom, _, _ in shown.listed)
    assert any("further below all others than chance gives" in text for _, _, text in shown.listed)  # Mill Lane, 45%
    text = page(content)
    assert {"sites", "at-sites"} <= set(read(text).values("id"))
    assert "ratios of two sites are not compared with each other" in text or "Too few cases for" in text


def test_a_service_of_one_site_has_no_such_section() -> None:
    content = report_content.content()
    results, curves = report_content.frames()
    one = results[(results["breakdown"] != "site") | (results["level"] == report_measures.SITES[0])]
    alone = replace(content, lookup=lookup.read(one, curves))
    assert between(alone, WORDS) is None
    assert not {"sites", "at-sites"} & set(read(page(alone)).values("id"))


def test_of_many_sites_only_those_outside_are_drawn_and_the_table_has_all(monkeypatch: pytest.MonkeyPatch) -> None:
    content = report_content.content()
    monkeypatch.setattr(sites_view, "MOST_DRAWN", len(report_measures.SITES) - 1)
    shown = between(content, WORDS)
    assert shown is not None and shown.chart is not None
    outside = {whom for whom, _, _ in shown.listed}
    assert {site for site in report_measures.SITES if f">{site}</text>" in shown.chart.wide} == outside
    assert "only those further than that are drawn" in shown.chart.caption
    heads = [[row.head for row in group.rows] for group in shown.table.groups]
    assert heads == [sorted(report_measures.SITES)] * 5
    # The same sites at one share: none is outside, so there is nothing to draw, and the section stands without it.
    results, curves = report_content.frames()
    same = results.assign(met=results["met"].where(results["breakdown"] != "site", results["known"]))
    alike = between(replace(content, lookup=lookup.read(same, curves)), WORDS)
    assert alike is not None
    assert (alike.listed, alike.chart) == ((), None)
    assert 'id="sites"' in page(replace(content, lookup=lookup.read(same, curves)))
