"""The one place that judges: what is called worse or better, what cannot be said, and how often chance alone is listed.

Each rule is tried on counts whose answer is known beforehand; whole reports are made up by simulated_reports.py.
"""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import date
from typing import Any

import numpy as np
import pytest
from scipy.stats import chi2, hypergeom

from pipeline.contracts.breakdown_file import Breakdown
from pipeline.contracts.measure_files import Measure
from pipeline.judgement import verdict
from pipeline.judgement.comparing import HEARD_FROM, by_chance, weigh
from pipeline.judgement.comparisons_table import COLUMNS, comparisons
from pipeline.judgement.families import beside_the_rest, judge, shown
from pipeline.judgement.judged import EQUITY, MISSING, SERVICE, SITES, Basis, Comparison, Group
from pipeline.judgement.sides import Side, side
from pipeline.outcomes.lookup import CurveDay, Lookup, Result
from pipeline.report.words import verdicts
from pipeline.statistics.comparison import trend
from pipeline.statistics.exact_tests import fisher_mid_p
from tests import report_measures, simulated_reports
from tests.simulated_reports import HARM, SETTLED, WAIT, Change, reports

MEASURES = {measure.name: measure for measure in (*report_measures.MEASURES, *simulated_reports.measures())}
SHARE, RARE, AGE = (MEASURES[name] for name in ("breastfed_at_6_weeks", HARM, "age_at_procedure"))
WAITING = MEASURES[WAIT]
LATER = ("2025Q1", "2025Q2", "2025Q3", "2025Q4", "2026Q1", "2026Q2", "2026Q3")


def result(met: int, known: int, eligible: int, noted: bool = False) -> Result:
    return Result(
        eligible, known, met, eligible - known, None, None, None, None, None, True, eligible if noted else known
    )


def curve(*days: tuple[int, int, int, int]) -> tuple[CurveDay, ...]:
    """Day, events, competing, censored."""
    return tuple(
        CurveDay(day, 0, events, competing, censored, None, None, None) for day, events, competing, censored in days
    )


def basis(results: dict[tuple[str, str, str, str], Result], **more: Any) -> Basis:
    levels: dict[tuple[str, str, str], list[str]] = {}
    for key in results:
        levels.setdefault(key[:3], []).append(key[3])
    lookup = Lookup(results, more.pop("curves", {}), {key: tuple(names) for key, names in levels.items()}, LATER[0])
    primary = list(dict.fromkeys(key[0] for key in results))
    groups = (Breakdown("first_baby", "First baby", for_every_measure=True, for_equity=True),)
    return Basis(list(MEASURES.values()), groups, lookup, "2026Q3", primary, **more)


def service(now: Result, then: Result, **more: Any) -> Comparison:
    """The quarter beside the same one a year before; the other quarters are as the earlier one."""
    results = {(SHARE.name, period, "all", "all"): then for period in LATER[:-1]}
    judged = judge(basis({**results, (SHARE.name, "2026Q3", "all", "all"): now}, **more))
    return next(one for one in judged.of(SERVICE) if one.then == ("2025Q3",))


@pytest.mark.parametrize(
    ("now", "then", "mark", "reason"),
    [
        ((48, 80, 80), (64, 80, 80), "worse", "tested"),  # mid-p 0.006, the first of three at 0.05 / 3
        ((64, 80, 80), (48, 80, 80), "better", "tested"),
        ((60, 80, 80), (64, 80, 80), "chance", "tested"),
        ((1, 1, 1), (0, 4, 4), "cannot", "too few"),
        ((0, 4, 40), (40, 40, 40), "cannot", "too few"),
        # All that is known says worse; were the 100 unknown all met, it would be better.
        ((40, 80, 180), (64, 80, 80), "cannot", "too many unknown"),
        ((0, 0, 0), (64, 80, 80), "none", "no figure"),
    ],
)
def test_two_times(now: tuple[int, int, int], then: tuple[int, int, int], mark: str, reason: str) -> None:
    one = service(result(*now), result(*then))
    assert (one.verdict.mark, one.verdict.reason) == (mark, reason)


def test_a_time_in_which_the_records_had_only_begun_is_not_compared_with() -> None:
    now, then = result(48, 80, 80), result(72, 80, 80)
    begun = {"everyone": Group(date(2025, 4, 9))}  # 84 days before 2 July: the quarter began a day too early
    assert service(now, then, **begun).verdict.reason == "records had only begun"
    assert service(now, then, everyone=Group(date(2025, 4, 8))).verdict.mark == "worse"


def test_nothing_is_compared_across_a_change_of_what_is_recorded() -> None:
    now, then = result(48, 80, 80), result(72, 80, 80)
    assert service(now, then, changed={SHARE.name: date(2026, 4, 1)}).verdict.reason == "definition changed"
    assert service(now, then, changed={SHARE.name: date(2025, 7, 1)}).verdict.mark == "worse"


def test_what_has_no_direction_is_neither_better_nor_worse() -> None:
    plain = MEASURES["division_without_visible_tie"]
    made = beside_the_rest([(SHARE, Side(80, 80, 40, 80), Side(80, 80, 72, 80))])
    assert made[0].verdict.mark == verdict.LOOK  # of a person's figure
    assert plain.better == "none"
    assert weigh(plain, Side(80, 80, 40, 80), Side(80, 80, 72, 80)).direction() == "differs"


def harm(now: Result, then: Result) -> tuple[Comparison, Comparison]:
    """A harm in the last four quarters and in the three before, and how many were heard from."""
    results = {(HARM, period, "all", "all"): now if period >= "2025Q4" else then for period in LATER}
    figure, heard = judge(basis(results)).of(SERVICE)
    return figure, heard


def test_harm_is_of_all_and_no_news_of_it_comes_from_silence() -> None:
    figure, heard = harm(result(8, 90, 100, noted=True), result(1, 90, 100, noted=True))
    assert (figure.verdict.mark, heard.verdict.mark) == ("worse", "chance")
    assert (figure.weighed.first.met, figure.weighed.first.of) == (32, 400)
    # Care as before, heard from a third as often: less is noted, and that is no better care.
    figure, _ = harm(result(3, 30, 100, noted=True), result(9, 90, 100, noted=True))
    assert (figure.verdict.mark, figure.verdict.reason) == ("cannot", "follow-up changed")
    # Heard from three times as often: more is noted, and that is no worse care.
    figure, _ = harm(result(9, 90, 100, noted=True), result(3, 30, 100, noted=True))
    assert (figure.verdict.mark, figure.verdict.reason) == ("cannot", "follow-up changed")


def test_how_many_were_heard_from_has_a_verdict_of_its_own() -> None:
    results = {(HARM, period, "all", "all"): result(2, 90, 100, noted=True) for period in LATER[:-1]}
    judged = judge(basis({**results, (HARM, "2026Q3", "all", "all"): result(1, 30, 100, noted=True)}))
    assert [(one.about, one.verdict.mark) for one in judged.of(SERVICE)] == [
        ("figure", "cannot"),
        (HEARD_FROM, "worse"),
    ]


def waits(now: tuple[CurveDay, ...], met: int) -> Comparison:
    """A site of 40 referred a quarter, 36 of them divided in 9 days; and what it is now."""
    then = curve(*((day, 4, 0, 0) for day in range(1, 10)), (84, 0, 0, 4))
    keys = {period: (WAIT, period, "site", "north") for period in LATER}
    results = {key: result(36, 40, 40) for key in keys.values()} | {keys["2026Q3"]: result(met, 40, 40)}
    curves = dict.fromkeys(keys.values(), then) | {keys["2026Q3"]: now}
    results[WAIT, "2026Q3", "site", "south"] = result(1, 1, 1)  # of one site alone the service would say it all
    return judge(basis(results, curves=curves)).of(SITES)[0]


def test_a_site_that_stops_altogether_is_listed_at_once() -> None:
    one = waits(curve((84, 0, 0, 40)), 0)
    assert (one.verdict.mark, one.verdict.reason) == ("worse", "stopped altogether")
    assert waits(curve(*((day, 4, 0, 0) for day in range(1, 10)), (84, 0, 0, 4)), 36).verdict.mark == "chance"


def test_waits_are_apart_by_when_they_end() -> None:
    longer = waits(curve(*((day, 4, 0, 0) for day in range(2, 20, 2)), (84, 0, 0, 4)), 36)
    assert longer.verdict.mark == "worse"  # the same 36 of 40 by day 28
    sooner = waits(curve((0, 36, 0, 0), (84, 0, 0, 4)), 36)
    assert sooner.verdict.mark == "better"


def test_a_small_site_is_judged_on_four_quarters() -> None:
    results = {(SHARE.name, period, "site", site): result(8, 10, 10) for period in LATER for site in ("north", "south")}
    for cases, spans in ((74, [4]), (75, [1, 2])):
        sites = {"north": Group(date(2020, 1, 1), dict.fromkeys(LATER, cases))}
        made = judge(basis(results, sites=sites)).of(SITES)
        assert [len(one.now) for one in made if one.level == "north"] == spans


def test_of_two_groups_only_one_is_compared() -> None:
    results = {
        (SHARE.name, "2026Q3", "first_baby", level): result(met, 80, 80)
        for level, met in (("yes", 40), ("no", 70), ("not_recorded", 5))
    }
    (one,) = judge(basis(results)).of(EQUITY)
    assert (one.level, one.verdict.mark) == ("yes", "worse")
    assert (one.weighed.second.met, one.weighed.second.known) == (70, 80)


def test_how_often_chance_alone_is_called_is_that_of_every_table() -> None:
    """Counted once more, table by table, with scipy's probabilities: at both bounds, to the same side."""
    first, second, limit = Side(30, 24, 12, 24), Side(40, 36, 20, 36), 0.04
    called = 0.0
    for met in range(max(0, 32 - 36), min(24, 32) + 1):
        other = 32 - met
        up = met / 24 > other / 36
        stands = fisher_mid_p(met, 24, other, 36) <= limit
        for more_1, more_2 in ((0, 0), (6, 4)):
            at_bound = fisher_mid_p(met + more_1, 30, other + more_2, 40) <= 0.05
            stands &= at_bound and ((met + more_1) / 30 > (other + more_2) / 40) == up
        called += hypergeom.pmf(met, 60, 32, 24) * stands
    assert called > 0
    assert by_chance(weigh(SHARE, first, second), limit) == pytest.approx(called, abs=1e-12)


def test_what_is_not_primary_is_shown_and_not_judged() -> None:
    results = {(SHARE.name, period, "all", "all"): result(56, 70, 70) for period in LATER}
    given = basis({**results, (SHARE.name, "2025Q3", "all", "all"): result(48, 80, 80)})
    # Newcombe 1998: 56 of 70 less 48 of 80 is 0.20, limits 0.0524 and 0.3339 (method 10).
    assert verdicts.change(shown(given, SHARE, "2025Q3")) == verdicts.Said(
        "none",
        "56 of 70 (80%) now, 48 of 80 (60%) then: 20 percentage points higher (95% interval 5 to 33 higher)",
        "not judged, since it is not a measure at a glance",
    )
    assert verdicts.change(shown(given, SHARE, "2020Q3")).text == "no figures for that time"
    assert verdicts.change(shown(given, AGE, "2025Q3")).mark == "none"


@pytest.mark.parametrize(
    "reason",
    [value for name, value in vars(verdict).items() if name.isupper() and isinstance(value, str) and " " in value],
)
def test_every_reason_has_words(reason: str) -> None:
    assert reason in verdicts._WHY or reason in verdicts._STANDARD


def test_every_comparison_is_a_row_and_the_same_each_time() -> None:
    judgement = reports(np.random.default_rng(3), 300)[0]
    frame = comparisons(judgement)
    assert tuple(frame.columns) == COLUMNS
    assert len(frame) == len(judgement.comparisons) > 100
    assert not frame.duplicated(["family", "measure", "about", "breakdown", "level", "now", "then"]).any()
    again = comparisons(reports(np.random.default_rng(3), 300)[0])
    assert frame.to_csv() == again.to_csv()
    judged = frame[frame["p"].notna()]
    called = judged[judged["verdict"].isin(["worse", "better", "differs"])]
    assert (called["p"] <= called["limit"]).all()
    assert (judged["by_chance"] <= judged["limit"] * 2).all()


def test_chance_alone_is_seldom_listed() -> None:
    """A few made-up reports in which nothing changed; figures from many stand in DEVELOPERS.md."""
    source = np.random.default_rng(7)
    made = [reports(source, cases)[0] for cases in (80, 300) for _ in range(4)]
    worse = [any(one.verdict.mark == "worse" for one in judgement.comparisons) for judgement in made]
    assert sum(worse) <= 3
    expected = [judgement.expected(family) for judgement in made for family in (SERVICE, SITES, EQUITY)]
    assert all(0.02 < number < 0.13 for number in expected)


@pytest.mark.parametrize(
    ("change", "after", "family"),
    [
        (Change("north", WAIT, stops=True), (0,), SITES),
        (Change("north", WAIT, times=2), (0, 1), SITES),
        (Change("", SETTLED, by=-0.15), (0, 1, 2), SERVICE),
    ],
)
def test_what_did_change_is_listed(change: Change, after: tuple[int, ...], family: str) -> None:
    source = np.random.default_rng(12)
    listed = 0
    for _ in range(3):
        judged = reports(source, 300, change, after)
        listed += any(
            one.measure.name == change.measure and one.level in ("all", "north")
            for judgement in judged
            for one in judgement.marked(family, "worse")
        )
    assert listed >= 2


def test_less_followed_up_is_said_and_no_harm_is() -> None:
    judgement = reports(np.random.default_rng(2), 300, Change("", HARM, known=0.3))[0]
    marks = {one.about: one.verdict.mark for one in judgement.of(SERVICE) if one.measure.name == HARM}
    assert marks["figure"] in ("cannot", "chance")
    assert marks[HEARD_FROM] == "worse"
    assert not math.isnan(judgement.expected(SERVICE))


def test_a_side_without_anybody_is_nobody() -> None:
    assert side(None) == Side()
    assert math.isnan(weigh(SHARE, Side(), Side()).p)


def asked(**by_level: tuple[int, int]) -> list[Comparison]:
    """Those asked and those not, spread over four quarters; a level gives how many were, and were not."""
    heard = replace(SHARE, better="lower", heard=("asked", "not asked"))
    split = Breakdown("site", "Site", for_every_measure=True, for_the_missing=True)
    results = {}
    for level, (known, unknown) in by_level.items():
        for quarter, period in enumerate(LATER[-4:]):
            k, u = (count // 4 + (quarter < count % 4) for count in (known, unknown))
            results[SHARE.name, period, "site", level] = result(k, k, k + u)
    made = judge(replace(basis(results), measures=[heard], breakdowns=[split], primary=[]))
    assert made.comparisons == made.of(MISSING)
    return list(made.of(MISSING))


def test_those_not_heard_from_are_compared_by_what_is_known_of_both() -> None:
    east, north, _ = asked(east=(50, 2), north=(30, 28), west=(20, 5), not_recorded=(9, 40))
    # 100 asked and 35 not whose site is recorded; in four quarters.
    assert [(one.level, one.weighed.first.met, one.weighed.second.met) for one in (east, north)] == [
        ("east", 50, 2),
        ("north", 30, 28),
    ]
    assert (north.weighed.first.of, north.weighed.second.of) == (100, 35)
    # Mid-p of Fisher's test from scipy's hypergeometric: every table less likely, and half of those as likely.
    chance = hypergeom(135, 100, 58).pmf(range(23, 59))
    here = chance[30 - 23]
    mid_p = chance[chance < here * (1 - 1e-9)].sum() + chance[np.isclose(chance, here)].sum() / 2
    assert north.weighed.p == pytest.approx(mid_p)
    # Far more of those not asked are from the north: that is no worse, though the measure itself has a direction.
    assert {one.verdict.mark for one in (east, north)} == {"differs"}


def test_those_like_the_others_are_within_chance_and_a_pair_is_looked_at_once() -> None:
    assert [(one.level, one.verdict.mark) for one in asked(east=(40, 10), north=(42, 9))] == [("east", "chance")]


@pytest.mark.parametrize(
    ("levels", "marks"),
    [
        ({}, []),
        ({"east": (40, 10)}, []),  # one site
        ({"east": (40, 0), "north": (30, 0), "west": (9, 0)}, ["none"] * 3),  # everyone was asked
        ({"east": (0, 40), "north": (0, 30), "west": (0, 9)}, ["none"] * 3),  # nobody was
        ({"east": (40, 1), "north": (30, 2), "west": (9, 1)}, ["cannot"] * 3),  # four were not: too few
    ],
)
def test_where_there_are_not_two_sides_nothing_is_said(levels: dict[str, tuple[int, int]], marks: list[str]) -> None:
    assert [one.verdict.mark for one in asked(**levels)] == marks


def test_of_sixty_sites_chance_alone_is_found_unlike_about_as_often_as_is_printed() -> None:
    source, found, printed = np.random.default_rng(6), 0, 0.0
    for _ in range(40):
        sizes = source.integers(4, 40, 60)
        unknown = source.binomial(sizes, 0.2)
        made = asked(
            **{f"s{n}": (int(size - u), int(u)) for n, (size, u) in enumerate(zip(sizes, unknown, strict=True))}
        )
        assert len(made) == 60
        found += any(one.verdict.mark == "differs" for one in made)
        printed += sum(one.by_chance for one in made)
    assert printed / 40 <= 0.1  # what Benjamini and Hochberg promise where nothing differs
    assert found <= 8  # of 40 at 0.1, more than 8 come about once in forty tries


def fifths(*counts: tuple[int, int, int], measure: Measure = SHARE, ordered: bool = True) -> list[Comparison]:
    """Met, known and eligible of each fifth from the first, in one quarter."""
    split = Breakdown("fifth", "Fifth", for_every_measure=True, for_equity=True, in_order=ordered)
    noted = measure.kind == "noted"
    results = {(measure.name, "2026Q3", "fifth", str(n)): result(*count, noted) for n, count in enumerate(counts, 1)}
    return list(judge(replace(basis(results), breakdowns=[split], measures=[measure])).of(EQUITY))


RISING = ((40, 80, 80), (44, 80, 80), (50, 80, 80), (56, 80, 80), (64, 80, 80))


def test_a_trend_across_groups_in_order_is_judged_once_and_names_the_end_that_is_worse_off() -> None:
    (one,) = fifths(*RISING)
    # Cochran and Armitage's chi-square is n r^2, r the correlation of step and answer over the 400 cases.
    steps = np.repeat(range(5), 80)
    answers = np.concatenate([[1] * met + [0] * (known - met) for met, known, _ in RISING])
    assert one.weighed.p == pytest.approx(chi2.sf(400 * np.corrcoef(steps, answers)[0, 1] ** 2, 1))
    assert (one.level, one.verdict.mark) == ("1", "worse")
    assert (one.weighed.first.met, one.weighed.second.met) == (40, 64)
    (one,) = fifths(*RISING[::-1])
    assert (one.level, one.weighed.first.met, one.verdict.mark) == ("5", 40, "worse")
    (one,) = fifths(*RISING, measure=replace(SHARE, better="lower"))
    assert (one.level, one.weighed.first.met, one.verdict.mark) == ("5", 64, "worse")
    (one,) = fifths(*RISING, measure=replace(SHARE, better="none"))
    assert one.verdict.mark == "differs"
    assert len(fifths(*RISING, ordered=False)) == 5


@pytest.mark.parametrize(
    ("counts", "mark", "reason"),
    [
        # Met by all of the 60 unknown of the first fifths, the trend would be gone.
        (((40, 80, 140), (44, 80, 80), (50, 80, 80), (56, 80, 80), (64, 80, 80)), "cannot", "too many unknown"),
        (((2, 4, 4), *RISING[1:]), "cannot", "too few"),
        (((40, 80, 80),) * 5, "chance", "tested"),
        (((80, 80, 80),) * 5, "chance", "tested"),  # all met: there is no trend to test
        (((0, 80, 80),) * 3, "chance", "tested"),
        (((0, 0, 80),) * 5, "cannot", "too few"),  # all unknown
    ],
)
def test_a_trend_that_cannot_be_said_or_is_none(counts: Any, mark: str, reason: str) -> None:
    (one,) = fifths(*counts)
    assert (one.verdict.mark, one.verdict.reason) == (mark, reason)


def test_a_trend_of_a_harm_of_which_as_many_were_heard_from_needs_only_its_side_at_the_bounds() -> None:
    falling = [(met, 90, 100) for met in (24, 18, 12, 6, 2)]
    figure, heard = fifths(*falling, measure=RARE)
    assert (figure.level, figure.verdict.mark, heard.verdict.mark) == ("1", "worse", "chance")
    few = [(met, 80, 100) for met in (8, 5, 3, 1, 0)]  # were all 20 unknown of each noted, chance would give as much
    assert fifths(*few, measure=RARE)[0].verdict.mark == "worse"
    fewer = [(met, known, 100) for met, known in zip((24, 18, 12, 6, 2), (95, 90, 80, 60, 30), strict=True)]
    figure, heard = fifths(*fewer, measure=RARE)
    assert (figure.verdict.mark, heard.level, heard.verdict.mark) == ("cannot", "5", "worse")


def test_of_two_fifths_one_is_judged_as_of_any_pair_and_of_none_nothing() -> None:
    (one,) = fifths(RISING[0], RISING[4])
    assert not one.weighed.across
    assert fifths(RISING[0]) == fifths() == []


def test_across_groups_of_unlike_size_chance_is_called_a_trend_no_oftener_than_it_says() -> None:
    source, sizes = np.random.default_rng(8), (60, 30, 15, 9, 6)
    p = np.array([trend(source.binomial(sizes, 0.85), sizes).p for _ in range(4000)])
    assert (p <= 0.05).mean() <= 0.06
    assert (p <= 0.01).mean() <= 0.02  # a tail of five groups of 6 to 60
