"""Every form of words, with the expected sentence written by hand."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pandas as pd
import pytest

from pipeline.contracts import places
from pipeline.outcomes import periods
from pipeline.outcomes.lookup import CurveDay, Result
from pipeline.report.charts import over_time
from pipeline.report.charts.looks import WIDE
from pipeline.report.views.whom import waiting
from pipeline.report.words import labels, sentences, verdicts
from pipeline.report.words.dates import before, both_names, long_label, run_up_to, short_label
from tests import report_content, report_measures

MEASURES = {measure.name: measure for measure in report_measures.MEASURES}
SHARE = MEASURES["breastfed_at_6_weeks"]
RARE = MEASURES["infection_within_14_days"]
AGE = MEASURES["age_at_procedure"]
WAIT = MEASURES["days_from_referral_to_procedure"]
WORDS = labels.read(places.REPORTS / "wording.toml")


def result(eligible, known, met, value=None, lower=None, upper=None, low=None, high=None):
    return Result(eligible, known, met, eligible - known, value, lower, upper, low, high, True, of=known)


def noted(eligible, known, met, *numbers):
    return replace(result(eligible, known, met, *numbers), of=eligible)


USUAL = result(40, 36, 21, 21 / 36, 0.4220, 0.7286, 21 / 40, 25 / 40)
MEDIAN = Result(36, 36, None, None, 15.0, 11.0, 22.0, None, None, complete=True, of=36)
WAITED = replace(result(60, 50, 42, 0.5812, 0.4489, 0.6921), ended=3)


def test_the_usual_figure():
    assert (
        sentences.figure(SHARE, USUAL, "cases")
        == "21 of 36 whose answer we know (58%, 95% interval 42 to 73%); 4 not known"
    )


def test_the_bounds():
    # 21 of 40 is 52.5%, 25 of 40 is 62.5%: halves go up.
    assert sentences.bounds(USUAL) == "Between 53% and 63% whatever the unknown answers are"


def test_no_bounds_where_nothing_is_unknown():
    assert sentences.bounds(result(36, 36, 21, 21 / 36, 0.42, 0.73, 21 / 36, 21 / 36)) == ""


def test_nobody_eligible():
    assert sentences.figure(SHARE, result(0, 0, 0), "cases") == "No cases to count, so no figure"
    assert sentences.figure(RARE, None, "divisions") == "No divisions to count, so no figure"


def test_nobody_known():
    nothing = result(5, 0, 0, low=0.0, high=1.0)
    assert sentences.figure(SHARE, nothing, "cases") == "None of 5 known, so no figure; 5 not known"
    assert sentences.bounds(nothing) == "Between 0% and 100% whatever the unknown answers are"


def test_none_noted_with_the_exact_interval_beside():
    # Exact upper limit for 0 of 50: 1 - 0.025 ** (1 / 50) = 0.0711; Wilson's: 3.8415 / (50 + 3.8415) = 0.0713.
    none = noted(50, 44, 0, 0.0, 0.0, 0.0713, 0.0, 6 / 50)
    assert sentences.figure(RARE, none, "divisions") == (
        "Noted after 0 of 50 (0%, 95% interval 0 to 7%; exact interval 0 to 7%); heard from 44 of 50 (88%)"
    )


def test_a_rare_event_with_the_exact_interval_beside():
    # Exact limits of 1 of 10: 0.0025 and 0.4450 (published tables of the binomial limits).
    one = noted(10, 4, 1, 0.1, 0.0179, 0.4042, 0.1, 0.7)
    assert sentences.figure(RARE, one, "divisions") == (
        "Noted after 1 of 10 (10%, 95% interval 2 to 40%; exact interval 0 to 45%); heard from 4 of 10 (40%)"
    )


def test_all_of_those_known():
    every = result(52, 52, 52, 1.0, 0.9312, 1.0, 1.0, 1.0)
    assert (
        sentences.figure(SHARE, every, "cases")
        == "52 of 52 whose answer we know (100%, 95% interval 93 to 100%); 0 not known"
    )


@pytest.mark.parametrize(
    ("share", "words"),
    [
        (0.0, "0%"),
        (1 / 300, "under 1%"),
        (0.005, "1%"),
        (57 / 200, "29%"),  # 28.5 exactly, though 0.285 * 100 is 28.499999999999996
        (0.125, "13%"),
        (299 / 300, "over 99%"),
        (1.0, "100%"),
    ],
)
def test_shares_in_whole_hundredths(share, words):
    assert sentences.percent(share) == words


@pytest.mark.parametrize(
    ("number", "words"), [(15.0, "15 days"), (1.0, "1 day"), (15.5, "15.5 days"), (11.25, "11.3 days")]
)
def test_days(number, words):
    assert sentences.days_long(number) == words


def test_a_median():
    assert sentences.figure(AGE, MEDIAN, "divisions") == (
        "Of 36, at least half were 15 days old or younger; the middle half 11 to 22 days"
    )


def test_a_median_of_one():
    assert sentences.figure(AGE, replace(MEDIAN, eligible=1, known=1, value=9.0), "divisions") == "Only one: 9 days old"


def test_every_case_of_a_wait_stands_in_its_sentence():
    # The measure's own words, and 60 = 42 + 3 + 5 + 10.
    assert sentences.figure(WAIT, WAITED, "cases") == (
        "Of 60 asked, 42 helped within 28 days, 3 ended otherwise, 5 still waiting then, 10 not known: "
        "58%, 95% interval 45 to 69%"
    )


def test_where_the_other_ends_may_not_be_said_they_are_one_with_those_who_wait():
    assert sentences.figure(WAIT, replace(WAITED, ended=None), "cases") == (
        "Of 60 asked, 42 helped within 28 days, 8 not by then, 10 not known: 58%, 95% interval 45 to 69%"
    )


def test_a_wait_without_limits():
    assert sentences.figure(WAIT, replace(WAITED, value=0.0, lower=None, upper=None), "cases").endswith(
        "10 not known: 0%, no interval can be worked out"
    )


def test_a_wait_nobody_was_watched_for():
    nobody = Result(9, 0, 0, 9, None, None, None, None, None, complete=False, of=0, ended=0)
    assert sentences.figure(WAIT, nobody, "cases") == (
        "Of 9 asked, 0 helped within 28 days, 0 ended otherwise, 0 still waiting then, 9 not known: "
        "too early for a share, since nobody was watched that long"
    )


@pytest.mark.parametrize(
    ("known", "words"),
    [
        (0, ""),
        (1, "Only 1 known: a small number, so the figure can move a good deal by chance"),
        (9, "Only 9 known: a small number, so the figure can move a good deal by chance"),
        (10, ""),
    ],
)
def test_small_numbers_are_said_in_words(known, words):
    assert sentences.small(SHARE, result(12, known, 0)) == words


def test_if_the_unknown_differ():
    # Known: 30 of 40 met, odds 3. Unknown: 10 of 50. A quarter of the odds, 0.75: 3/7 of the 10; half, 1.5: 3/5;
    # the same: 3/4; twice, 6: 6/7; four times, 12: 12/13. Shares of 50: 68.6, 72, 75, 77.1, 78.5.
    assert sentences.if_unknown_differ(SHARE, result(50, 40, 30, 0.75, 0.6, 0.85, 0.6, 0.8)) == (
        "If the unknown had a quarter of the odds of the known, the share of everyone would be 69%; with half the "
        "odds 72%, with the same 75%, with twice 77%, with four times 78%."
    )


@pytest.mark.parametrize("quiet", [result(40, 40, 30, 0.75), result(50, 40, 0, 0.0), result(50, 40, 40, 1.0), None])
def test_nothing_is_said_of_the_unknown_where_odds_say_nothing(quiet):
    assert sentences.if_unknown_differ(SHARE, quiet) == ""


@pytest.mark.parametrize(
    ("measure", "shown", "words"),
    [
        (SHARE, USUAL, "21 of 36 (58%)"),
        (SHARE, result(5, 0, 0), "0 of 0"),
        (SHARE, None, "none to count"),
        (AGE, MEDIAN, "15 days (of 36)"),
        (WAIT, WAITED, "58% (of 60)"),
        (WAIT, result(3, 0, 0), "too early"),
    ],
)
def test_the_figure_for_a_cell(measure, shown, words):
    assert sentences.short(measure, shown) == words


def test_periods():
    assert long_label("2026Q3") == "July to September 2026"
    assert short_label("2026Q1") == "Jan-Mar 26"
    assert before("2026Q1", 1) == "2025Q4"
    assert before("2026Q3", 4) == "2025Q3"
    assert run_up_to("2026Q3", 9, "2025Q4") == ("2025Q4", "2026Q1", "2026Q2", "2026Q3")
    assert (long_label("2025-26"), short_label("2025-26"), long_label("2026")) == ("2025/26", "2025/26", "2026")
    assert before("2026-27", 1) == periods.year_before("2026-27") == "2025-26"
    assert before("2000-01", 1) == "1999-00"
    assert both_names("2026Q3", 4) == "July to September 2026, Q2 2026/27"
    assert both_names("2026Q1", 4) == "January to March 2026, Q4 2025/26"
    assert both_names("2026Q1", 1) == "January to March 2026, Q1 2026"
    assert both_names("2026-27", 4) == "April 2026 to March 2027, the year 2026/27"
    assert both_names("2026", 1) == "January 2026 to December 2026, the year 2026"
    assert both_names("2026Q4", 10) == "October to December 2026, Q1 2026/27"
    assert periods.quarters_of("2026-27", 4) == ("2026Q2", "2026Q3", "2026Q4", "2027Q1")
    assert periods.last_day("2026-27", 4) == date(2027, 3, 31)
    assert periods.last_day("2026-27", 10) == date(2027, 9, 30)
    assert periods.of(date(2026, 3, 31), "year", 4) == "2025-26"
    assert periods.of(date(2026, 4, 1), "year", 4) == "2026-27"


def test_levels_have_words_and_an_order():
    words = labels.read(places.REPORTS / "wording.toml")
    assert words.level("deprivation_fifth", "1") == "1 (most deprived)"
    assert words.level("tie_type", "none") == "no tie found"
    assert words.level("sex", "not_recorded") == "not recorded"
    assert words.level("site", "Quay_7") == "Quay_7"  # a service's own code stays as it is
    assert words.in_order("age_band", ["28+", "not_recorded", "7-13", "0-6"]) == ("0-6", "7-13", "28+", "not_recorded")
    assert words.in_order("site", ["z", "not_recorded", "a"]) == ("a", "z", "not_recorded")
    assert words.several("division", 1) == "1 division"
    assert words.several("case", 2) == "2 cases"


def test_every_level_a_breakdown_can_have_has_words():
    words = labels.read(places.REPORTS / "wording.toml")
    own_codes = ("site", "practitioner")
    bare = [
        (breakdown, level)
        for breakdown, levels in report_measures.LEVELS.items()
        if breakdown not in own_codes
        for level in levels
        if level not in words.levels[breakdown] and level != "not_recorded"
    ]
    assert bare == []


def test_wording_without_a_route_is_refused(tmp_path):
    text = (places.REPORTS / "wording.toml").read_text(encoding="utf-8")
    (tmp_path / "wording.toml").write_text(text.replace('divided = "Divided"\n', ""), encoding="utf-8")
    with pytest.raises(ValueError, match=r"wording\.toml: \[routes\] has no words for divided"):
        labels.read(tmp_path / "wording.toml")


@pytest.mark.parametrize(
    ("share", "known", "expected"),
    [
        (0.4413, 999, "44%"),
        (0.4413, 1000, "44.1%"),
        (0.0004, 1000, "under 0.1%"),
        (0.9996, 1000, "over 99.9%"),
        (0.99, 1000, "99.0%"),
    ],
)
def test_a_tenth_of_a_point_is_shown_only_where_very_many_are_known(share, known, expected):
    assert sentences.percent(share, known) == expected


@pytest.mark.parametrize(("share", "expected"), [(0.9, "90%"), (0.925, "92.5%"), (1, "100%")])
def test_a_standard_prints_as_it_was_set(share, expected):
    assert sentences.share_set(share) == expected


def test_whether_enough_is_known_is_said_where_it_is_asked():
    settings, convention = report_content.content().settings, "English convention for figures at six to eight weeks"
    for known, words in (
        (57, "57 of 60 (95%), at least"),
        (56, "56 of 60 (93%), below"),
        (0, "0 of 60 (0%), below"),
    ):
        said = verdicts.known_enough(SHARE, result(60, known, 0), settings)
        assert said == f"Known for {words} the 95% that is the {convention}"
    assert verdicts.known_enough(SHARE, result(0, 0, 0), settings) == ""
    plain = MEASURES["seen_promptly"]
    assert verdicts.known_enough(plain, result(60, 57, 0), settings) == ""
    own = replace(settings, known_enough={plain.name: 0.55})
    assert verdicts.known_enough(plain, result(100, 55, 0), own) == (
        "Known for 55 of 100 (55%), at least the 55% that the settings ask for"
    )


# Ten who asked: day, events, ended another way, lost. Nobody is lost before day 30, so shares are counts by hand.
TEN = tuple(
    CurveDay(day, 0, *counts, None, None, None)
    for day, *counts in ((0, 1, 0, 0), (7, 2, 0, 0), (10, 0, 1, 0), (28, 3, 0, 0), (30, 0, 0, 1), (84, 0, 0, 2))
)


def test_a_wait_by_day_says_who_had_it_who_ended_otherwise_and_who_was_left():
    table = waiting.curve(WAIT, [("2026Q3", TEN)])
    cells = {row.head: [cell.split(" (")[0] for cell in row.cells] for row in table.groups[0].rows}
    assert cells == {
        "By day 0": ["10%", "0%", "10"],
        "By day 7": ["30%", "0%", "9"],
        "By day 14": ["30%", "10%", "6"],
        "By day 28": ["60%", "10%", "6"],
        "By day 56": ["60%", "10%", "2"],
        "By day 84": ["60%", "10%", "2"],
    }
    assert table.heads == ("Day", "Helped", "Ended otherwise", "Waiting and watched as the day began")
    # Exact limits of none of ten that end another way: 1 - 0.025 ** (1 / 10) = 0.308.
    assert table.groups[0].rows[0].cells[1] == "0% (0 to 31%)"
    then = waiting.curve(WAIT, [("2026Q3", TEN), ("2025Q3", TEN[:1])])
    assert [row.cells[3] for row in then.groups[0].rows][:1] == ["100% (3 to 100%)"]  # one, who had it at once


def test_under_the_chart_of_a_wait_stands_how_many_waited_and_the_other_ends_have_a_line():
    figure = over_time.wait_curve([("2026Q3", TEN)], WIDE, waiting.ended_steps(TEN), waiting.at_risk(TEN))
    days = [text.split("<br>") for text in figure.layout["xaxis"]["ticktext"]]
    assert days == [["day 0", "10"], ["14", "6"], ["28", "6"], ["42", "2"], ["56", "2"], ["70", "2"], ["84", "2"]]
    dotted = [trace for trace in figure.data if trace["line"]["dash"] == "dot"]
    assert [list(zip(trace["x"], trace["y"], strict=True))[-1] for trace in dotted] == [(84, pytest.approx(0.1))]
    assert waiting.ended_steps(TEN[:2]) == [] and waiting.ended_steps(()) == []


def test_who_still_waits_adds_up_and_where_nobody_does_there_is_no_table():
    rows = [(WAIT.name, f"Site {n:02}", n, 1, 0, 2, 60 + n) for n in range(60)]
    heads = ["measure", "site", "under_14", "from_14", "from_28", "from_56", "longest"]
    table = waiting.still_waiting(WAIT, pd.DataFrame(rows, columns=heads), date(2026, 9, 30), WORDS)
    assert len(table.groups[0].rows) == 60
    assert table.groups[0].rows[7].cells == ("7", "1", "0", "2", "10", "67 days")
    assert table.total.cells == ("1770", "60", "0", "120", "1950", "119 days")
    assert waiting.still_waiting(WAIT, pd.DataFrame([], columns=heads), date(2026, 9, 30), WORDS) is None
    assert waiting.still_waiting(SHARE, pd.DataFrame(rows, columns=heads), date(2026, 9, 30), WORDS) is None


def test_how_many_ended_another_way_is_counted_up_to_the_reported_day():
    _, waits = report_content.frames()
    here = waits[(waits["day"] <= 28) & (waits["level"] == "all")].groupby(["measure", "period"])["competing"].sum()
    read = report_content.content().lookup
    assert here.any() and {key: read.everyone(*key).ended for key in here.index} == here.to_dict()
    assert read.everyone("breastfed_at_6_weeks", "2026Q3").ended is None
