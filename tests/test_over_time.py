"""Charts over time: from rows to months, from months to what is judged, and what a page says and draws of it."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import duckdb
import numpy as np
import pandas as pd
import plotly.graph_objects as go
import pytest

from pipeline import run
from pipeline.contracts import places
from pipeline.errors import Refused
from pipeline.judgement.months import ABOVE, BELOW, Monthly, judge
from pipeline.judgement.months_judged import OVER_TIME_COLUMNS, judged, table
from pipeline.judgement.rare_harm import all_watched, watch
from pipeline.outcomes.by_month import by_month, closed_months, noted_in_order
from pipeline.progress import Progress
from pipeline.report.charts import month_chart
from pipeline.report.charts.drawing import Words, draw
from pipeline.report.charts.looks import NARROW, ORANGE, WIDE
from pipeline.report.pages.service_page import technical
from pipeline.report.views import measure_views
from pipeline.report.words import labels, monthly_words
from pipeline.session import opened
from pipeline.settings import parse_settings
from tests import report_content
from tests.conftest import INVENTED, write_export

MONTHS = [f"{2024 + at // 12}-{at % 12 + 1:02d}" for at in range(24)]
SHARE = next(m for m in report_content.MEASURES if m.kind == "proportion" and m.better == "higher")
HARM = next(m for m in report_content.MEASURES if m.kind == "noted")
MEDIAN = next(m for m in report_content.MEASURES if m.kind == "days")
WAIT = next(m for m in report_content.MEASURES if m.kind == "time_to_event" and m.better == "shorter")


def monthly(met: list[int], of: int | list[int] = 25, **more) -> Monthly:
    cases = np.broadcast_to(np.array(of), (len(met),)).copy()
    return judge(MONTHS[: len(met)], np.array(met), cases, **more)


QUIET = [15, 14, 16, 13, 17, 15, 15, 14, 16, 16, 14, 15]  # of 25: 60%
FALLEN = [*QUIET, 15, 14, 16, 8, 9, 10, 8, 9, 10, 8, 9, 10]


def test_months_begin_84_days_after_the_first_record_and_end_when_all_are_due() -> None:
    def months(first: date | None, last: date, closed_by: date) -> list[str]:
        return list(closed_months(first, last, closed_by))

    # 84 days from 2 January 2025 are 27 March; from 7 January the first of April itself.
    assert months(date(2025, 1, 2), date(2025, 6, 30), date(2026, 1, 1)) == ["2025-04", "2025-05", "2025-06"]
    assert months(date(2025, 1, 7), date(2025, 6, 30), date(2026, 1, 1))[0] == "2025-04"
    assert months(date(2025, 1, 8), date(2025, 6, 30), date(2026, 1, 1))[0] == "2025-05"
    assert months(date(2025, 1, 2), date(2025, 6, 30), date(2025, 5, 30)) == ["2025-04"]
    assert months(date(2025, 1, 2), date(2025, 6, 30), date(2025, 5, 31)) == ["2025-04", "2025-05"]
    assert months(date(2025, 10, 20), date(2026, 2, 28), date(2026, 2, 28)) == ["2026-02"]
    assert months(None, date(2025, 6, 30), date(2026, 1, 1)) == []
    assert months(date(2025, 6, 1), date(2025, 6, 30), date(2025, 6, 30)) == []


def test_rows_are_counted_by_month_and_a_harm_is_of_everyone() -> None:
    rows = [(SHARE.name, "2025-04", True), (SHARE.name, "2025-04", None), (SHARE.name, "2025-06", False)]
    rows += [(HARM.name, "2025-05", True), (HARM.name, "2025-05", None), (SHARE.name, "2025-03", True)]
    with duckdb.connect() as con:
        con.execute('CREATE TABLE broken_down (measure TEXT, month TEXT, met BOOLEAN, "all" TEXT)')
        con.executemany("INSERT INTO broken_down VALUES (?, ?, ?, 'all')", rows)
        chosen = [replace(SHARE, horizon=0), replace(HARM, horizon=28), MEDIAN]
        frame = by_month(con, chosen, date(2025, 1, 2), date(2025, 6, 30), date(2025, 7, 14))
    of_share = frame[frame["measure"] == SHARE.name].drop(columns="measure").to_numpy().tolist()
    assert of_share == [["2025-04", 2, 1, 1, 1], ["2025-05", 0, 0, 0, 0], ["2025-06", 1, 1, 0, 1]]
    of_harm = frame[frame["measure"] == HARM.name].drop(columns="measure").to_numpy().tolist()
    assert of_harm == [["2025-04", 0, 0, 0, 0], ["2025-05", 2, 1, 1, 2]]


@pytest.mark.parametrize("months", [0, 1, 11])
def test_fewer_than_twelve_months_are_not_judged(months: int) -> None:
    early = monthly(QUIET[:months])
    assert early.baseline is None
    assert np.isnan(early.centre).all()
    assert (early.outside, early.runs, early.sums, early.lasting) == ((), None, None, None)
    assert "too early" in monthly_words.over_time(SHARE, early)[0]


def test_a_month_without_cases_is_no_month_to_judge_by() -> None:
    assert monthly([*QUIET[:11], 0], [25] * 11 + [0]).baseline is None
    enough = monthly([*QUIET, 0], [25] * 12 + [0])
    assert enough.baseline == ("2024-01", "2025-01")
    assert math.isnan(enough.share[-1])
    assert enough.outside == ()


@pytest.mark.parametrize("met", [0, 25])
def test_none_and_all_every_month_say_nothing(met: int) -> None:
    said = monthly([met] * 24)
    assert (said.outside, said.runs, said.sums, said.lasting, said.by_chance) == ((), None, None, None, 0)
    assert np.isnan(said.lower).all()


def test_a_month_far_off_and_a_change_that_lasts() -> None:
    one = monthly([*QUIET[:6], 2, *QUIET[6:]])
    assert one.outside == ((6, BELOW),)
    assert one.lasting is None
    fallen = monthly(FALLEN, baseline=("2024-01", "2024-12"))
    assert fallen.centre[-1] == pytest.approx(sum(QUIET) / 300)
    assert fallen.lasting is not None
    assert (fallen.lasting.way, fallen.lasting.since) == (BELOW, "2025-04")
    assert "2025-04" <= fallen.lasting.passed <= "2025-07"
    risen = monthly([25 - met for met in FALLEN], baseline=("2024-01", "2024-12"))
    assert risen.lasting is not None
    assert (risen.lasting.way, risen.lasting.since) == (ABOVE, "2025-04")
    back = monthly([*FALLEN[:18], *QUIET[:6]], baseline=("2024-01", "2024-12"))
    assert back.sums is not None
    assert (back.sums.fall >= back.sums.fall_limit).any()
    back_for_long = monthly([*QUIET, 8, 9, 10, *QUIET[:9]], baseline=("2024-01", "2024-12"))
    assert back_for_long.lasting is None


def test_a_baseline_of_less_than_a_year_is_not_used() -> None:
    assert monthly(FALLEN, baseline=("2024-01", "2024-11")).baseline == ("2024-01", "2025-12")
    assert monthly(FALLEN, baseline=("2024-12", "2024-01")).baseline == ("2024-01", "2025-12")
    assert monthly(FALLEN, baseline=("2024-01", "2024-12")).baseline == ("2024-01", "2024-12")


def test_a_step_takes_what_is_usual_afresh() -> None:
    """Twelve months at 60%, twelve at 36%: with the step neither half holds anything."""
    given = [*QUIET, *[met - 6 for met in QUIET]]
    assert monthly(given, baseline=("2024-01", "2024-12")).lasting is not None
    step = monthly(given, step=("2025-01", "a second clinic"), baseline=("2024-01", "2024-12"))
    assert (step.begins, step.lasting, step.outside) == (12, None, ())
    assert step.centre[11] == pytest.approx(0.6)
    assert step.centre[12] == pytest.approx(0.36)
    assert any("a second clinic" in said for said in monthly_words.over_time(SHARE, step))
    late = monthly(given[:23], step=("2025-01", "a second clinic"))
    assert late.baseline is None
    assert not np.isnan(late.centre[:12]).any()
    assert np.isnan(late.centre[12:]).all()
    assert "since January 2025 (a second clinic)" in monthly_words.over_time(SHARE, late)[0]
    assert monthly(given, step=("2023-05", "before the records")).step is None


def test_what_is_only_noted_has_no_sum_of_its_own_few_events() -> None:
    harm = monthly([1, 0, 0, 2, 0, 1] * 4, 20, rare=True)
    assert harm.sums is None
    assert monthly([0] * 12 + [6] + [0] * 11, 20, rare=True).outside == ((12, ABOVE),)


def test_about_as_many_charts_say_something_by_chance_as_they_say() -> None:
    """Nothing changes; 25 a month at 60%, about the centre of their own months. Seeded."""
    rng = np.random.default_rng(31)
    said, expected = 0, 0.0
    for _ in range(120):
        chart = monthly(rng.binomial(25, 0.6, 24).tolist())
        said += bool(chart.outside or chart.lasting or (chart.runs and chart.runs.signal))
        expected += chart.by_chance
    assert 0.05 < expected / 120 < 0.15
    assert said / 120 == pytest.approx(expected / 120, abs=0.06)


def test_the_chance_of_a_month_outside_is_the_exact_one_of_every_month() -> None:
    """Twelve months of 25 at .05, run rules out of place, no sum: check value pchart.exact.p0.05.m25."""
    chart = monthly([1, 2, 1, 1, 2, 1, 1, 1, 1, 2, 1, 1], rare=True)
    assert (chart.centre[0], chart.runs) == (0.05, None)
    assert chart.by_chance == pytest.approx(0.01445882324656611, abs=1e-10)


def test_a_fall_of_15_points_is_said_within_six_months() -> None:
    rng = np.random.default_rng(32)
    series = [[*rng.binomial(25, 0.6, 18), *rng.binomial(25, 0.45, 6)] for _ in range(60)]
    fallen = [monthly(met, baseline=("2024-01", "2025-06")).lasting for met in series]
    assert np.mean([lasting is not None and lasting.way == BELOW for lasting in fallen]) > 0.75


def test_the_file_holds_what_the_chart_shows() -> None:
    frame = table({"b": monthly(FALLEN, baseline=("2024-01", "2024-12")), "a": monthly(QUIET[:3])})
    assert tuple(frame.columns) == OVER_TIME_COLUMNS
    assert frame["measure"].tolist() == ["a"] * 3 + ["b"] * 24
    assert frame["centre"].isna().tolist() == [True] * 3 + [False] * 24
    assert frame["sum_fall"].isna().sum() == 3
    assert frame["sum_fall"].iloc[-1] >= frame["sum_fall_limit"].iloc[-1]
    stepped = table({"a": monthly(FALLEN, step=("2025-01", "a second clinic"))})
    assert stepped["since_step"].tolist() == ["no"] * 12 + ["yes"] * 12
    assert stepped["sum_rise"].isna().tolist() == [True] * 12 + [False] * 12
    assert table({}).columns.tolist() == list(OVER_TIME_COLUMNS)


def test_sentences_say_what_is_usual_what_is_not_and_how_often_chance_says_so() -> None:
    quiet = monthly_words.over_time(SHARE, monthly(QUIET))
    assert len(quiet) == 1
    assert quiet[0].startswith(
        "Month by month, usual is 60% (180 of 300 known, January 2024 to December 2024); no month"
    )
    fallen = monthly_words.over_time(SHARE, monthly(FALLEN, baseline=("2024-01", "2024-12")))
    assert "Since about April 2025 it has been lower than usual for longer than chance gives, which is worse" in fallen
    assert fallen[-1].startswith("By chance about 1 such chart in ")
    risen = monthly([25 - met for met in FALLEN], baseline=("2024-01", "2024-12"))
    assert any("higher than usual" in said and said.endswith("better") for said in monthly_words.over_time(WAIT, risen))
    assert any(said.endswith("gives") for said in monthly_words.over_time(replace(SHARE, better="none"), risen))
    one = monthly_words.over_time(SHARE, monthly([*QUIET[:6], 2, *QUIET[6:]]))
    assert "July 2024 (2 of 25) is lower than chance would take a month" in one


def test_none_noted_says_what_that_is_compatible_with() -> None:
    """0 of 41: the exact upper limit is 8.6%."""
    none = monthly([0] * 12, [4] * 7 + [3] * 3 + [2] * 2, rare=True)
    assert "usual is 0% (0 of 41 in all" in monthly_words.over_time(HARM, none)[0]
    assert monthly_words.over_time(HARM, none)[0].endswith("none of so many is compatible with up to 9%")


def test_six_months_far_off_are_not_all_named() -> None:
    wild = monthly([*[15] * 12, *[2, 24] * 6], 25)
    assert any("and 2 months before, are lower" in said for said in monthly_words.over_time(SHARE, wild))


@pytest.mark.parametrize("frame", [WIDE, NARROW], ids=lambda frame: frame.name)
@pytest.mark.parametrize("standard", [None, 0.7])
def test_the_chart_can_be_drawn_and_plotly_takes_it(frame, standard) -> None:
    for shown in (
        monthly([*FALLEN[:-1], 0], [25] * 23 + [0], baseline=("2024-01", "2024-12")),
        monthly([*QUIET[:6], 2, *QUIET[6:]]),
        monthly([0] * 24),
        monthly(FALLEN, step=("2025-01", "a second clinic")),
    ):
        figure = month_chart.by_month(shown, standard, frame)
        go.Figure(data=figure.data, layout=figure.layout)
        assert draw(figure, Words("k", "title", "said", frame.name))


def test_the_chart_leaves_a_gap_and_marks_what_is_outside() -> None:
    shown = monthly([*QUIET[:6], 2, 0, *QUIET[6:]], [25] * 7 + [0] + [25] * 6)
    dots = month_chart.by_month(shown, None, WIDE).data[-1]
    assert dots["y"][7] is None
    assert [at for at, colour in enumerate(dots["marker"]["color"]) if colour == ORANGE] == [6]
    assert dots["marker"]["symbol"][6] == "diamond"
    lower = month_chart.by_month(monthly([1, 2] * 6, 4), None, WIDE).data[0]
    assert set(lower["y"]) == {None}  # of four no count can be too low
    assert len(month_chart.by_month(replace(shown), None, WIDE).data[-1]["x"]) == 14


def test_a_page_shows_months_from_twelve_on_and_says_it_is_too_early_before() -> None:
    words = labels.read(places.REPORTS / "wording.toml")
    content = report_content.content()
    for met, title, said in ((FALLEN, "by month", "usual is"), (QUIET[:7], "by quarter", "There are 7 months whose")):
        shown = replace(content, over_time={SHARE.name: monthly(met)})
        view = measure_views.measure_view(SHARE, shown, words)
        assert f"{SHARE.title}, {title}" in view.chart.wide
        assert said in view.over_time[0]
    assert measure_views.measure_view(SHARE, content, words).over_time == ()


def days(count: int, apart: float) -> list[date]:
    return [date(2024, 1, 1) + timedelta(days=round(at * apart)) for at in range(count)]


def test_rare_harm_case_by_case() -> None:
    nobody, none = watch([], [], 0.05), watch(days(41, 4), [False] * 41, None)
    assert (nobody.cases, nobody.since_last, nobody.watched) == (0, None, None)
    assert (none.cases, none.events, none.since_last, none.third_close) == (41, 0, None, None)
    few = watch(days(30, 4), [at in (2, 6, 10, 25) for at in range(30)], None)
    assert (few.since_last, few.third_close, few.watched) == (4, days(30, 4)[10], None)
    assert watch(days(30, 4), [at in (2, 6, 11) for at in range(30)], None).third_close is None


def test_the_sum_against_an_accepted_rate_runs_150_months_of_this_service() -> None:
    """100 cases in 30 months: 500 cases are 150 months; check values cusum.bernoulli.p0.05.or2.arl500."""
    quiet = watch(days(100, 9.224), [at == 50 for at in range(100)], 0.05).watched
    assert quiet is not None
    assert (quiet.limit, quiet.passed, quiet.now) == (43, None, 0)  # 13 up, then down again
    assert quiet.false_alarm_months == pytest.approx(524.740808032793 / 500 * 150, rel=0.01)
    loud = watch(days(100, 9.224), [at in (80, 84, 88, 92, 95) for at in range(100)], 0.05).watched
    assert loud is not None
    # 13, then 3 down and 13 up: 23, 33, 43: the limit, with the fourth; 2 down and 13 up, 4 down.
    assert loud.now == 50
    assert loud.passed == days(100, 9.224)[92]
    assert 0 < loud.found_after_months < quiet.false_alarm_months / 3


def test_what_is_said_of_rare_harm() -> None:
    def said(noted: tuple[int, ...], accepted: float | None, last: date = date(2026, 9, 30)) -> tuple[str, ...]:
        harm = watch(days(100, 9.224), [at in noted for at in range(100)], accepted)
        return monthly_words.rare_harm(harm, "division", "divisions", last)

    assert said((), None) == ("None noted in all 100 divisions",)
    assert said((98,), None) == ("Since the last that was noted: 1 division",)
    close = said((80, 84, 88, 92, 99), 0.05)
    assert close[0] == "Since the last that was noted: no divisions"
    assert close[1].startswith("Three were noted within nine divisions or fewer, the third in April 2026")
    assert close[2].startswith("The running sum against the accepted 5% has warned since April 2026: more are noted")
    assert len(said((80, 84, 88, 92, 99), None, date(2027, 9, 30))) == 1
    assert said((50,), 0.05)[1].startswith("The running sum against the accepted 5% stands at 0, and warns from 43 on")
    assert monthly_words.rare_harm(watch([], [], 0.05), "division", "divisions", date(2026, 9, 30)) == ()


def test_cases_of_a_harm_come_in_order_and_unheard_ones_count_as_not_noted() -> None:
    with duckdb.connect() as con:
        con.execute("CREATE TABLE counted (measure TEXT, unit TEXT, index_date DATE, met BOOLEAN)")
        rows = [(HARM.name, "b", date(2026, 3, 2), True), (HARM.name, "a", date(2026, 3, 2), None)]
        rows += [(HARM.name, "c", date(2026, 1, 9), False), (HARM.name, "d", date(2026, 4, 1), True)]
        con.executemany("INSERT INTO counted VALUES (?, ?, ?, ?)", [*rows, (SHARE.name, "e", date(2026, 1, 1), True)])
        frame = noted_in_order(con, [HARM, SHARE], date(2026, 3, 31))
    assert frame["index_date"].tolist() == [date(2026, 1, 9), date(2026, 3, 2), date(2026, 3, 2)]
    assert frame["met"].tolist() == [False, False, True]
    harm = all_watched(frame, {})[HARM.name]
    assert (harm.cases, harm.events, harm.since_last) == (3, 1, 0)


def test_a_page_says_it_of_a_harm() -> None:
    words = labels.read(places.REPORTS / "wording.toml")
    harm = watch(days(41, 4), [False] * 41, None)
    shown = replace(report_content.content(), rare_harm={HARM.name: harm})
    assert measure_views.measure_view(HARM, shown, words).over_time == ("None noted in all 41 divisions",)


def test_the_methods_say_how_many_of_the_charts_would_say_something_by_chance() -> None:
    made = {
        name: replace(judge(MONTHS, np.array(FALLEN), np.full(24, 25)), by_chance=by)
        for name, by in (("a", 0.26), ("b", 0.21))
    }
    early = {"c": replace(made["a"], by_chance=0.0)}
    text = technical(replace(report_content.content(), over_time={**made, **early}))
    assert "of the 2 judged here 0.5 would" in text
    assert "judged here" not in technical(replace(report_content.content(), over_time=early))


KINDS = {SHARE.name: SHARE.kind, HARM.name: HARM.kind}
SETTINGS = '[service]\nname = "A"\n[measures]\nat_a_glance = []\n'


def test_a_baseline_and_a_step_are_read_and_used() -> None:
    written = f'{SETTINGS}[over_time]\nbaseline = "2024-01 to 2024-12"\n[steps]\n{SHARE.name} = "2025-01:  a clinic"\n'
    settings = parse_settings(written, Path("audit.toml"), KINDS)
    assert settings.baseline == ("2024-01", "2024-12")
    assert settings.steps == {SHARE.name: ("2025-01", "a clinic")}
    assert parse_settings(SETTINGS, Path("audit.toml"), {}).baseline is None
    counts = pd.DataFrame({"measure": SHARE.name, "month": MONTHS, "met": FALLEN, "of": 25})
    assert judged(counts, [SHARE], settings)[SHARE.name].step == ("2025-01", "a clinic")


@pytest.mark.parametrize(
    ("line", "found"),
    [
        ('[over_time]\nbaseline = "2024"', "baseline = '2024'"),
        ('[over_time]\nbaseline = "2024-13 to 2025-01"', "baseline = '2024-13 to 2025-01'"),
        ('[steps]\nno_such = "2025-01: a clinic"', "no_such is no measure"),
        (f'[steps]\n{SHARE.name} = "2025-01"', f"{SHARE.name} = '2025-01'"),
        (f"[steps]\n{SHARE.name} = 3", f"{SHARE.name} = 3"),
        ("[accepted_rates]\nno_such = 0.05", "no_such is no measure"),
        (f"[accepted_rates]\n{HARM.name} = 5", f"{HARM.name} = 5"),
        (f"[accepted_rates]\n{HARM.name} = 0.9", f"{HARM.name} = 0.9"),
        (f"[accepted_rates]\n{SHARE.name} = 0.05", f"{SHARE.name} is no harm that is noted"),
        ("[changed]\nno_such = 2026-04-01", "no_such is no measure"),
        (f'[changed]\n{SHARE.name} = "2026-04-01"', f"{SHARE.name} = '2026-04-01'"),
        (f"[changed]\n{SHARE.name} = 2026", f"{SHARE.name} = 2026"),
        (f"[changed]\n{SHARE.name} = true", f"{SHARE.name} = True"),
        (f"[changed]\n{SHARE.name} = 2026-04-01T09:00:00", f"{SHARE.name} = 2026-04-01 09:00:00"),
        ("[changed]\nchanged = 2026-04-01", "changed is no measure"),
    ],
)
def test_what_is_no_baseline_step_rate_or_day_is_refused(line: str, found: str) -> None:
    with pytest.raises(Refused) as refused:
        parse_settings(f"{SETTINGS}{line}\n", Path("audit.toml"), KINDS)
    assert [fault.found for fault in refused.value.faults] == [found]
    assert all(fault.where.startswith("audit.toml, line ") and fault.mend for fault in refused.value.faults)


def test_an_accepted_rate_and_a_day_of_change_are_read() -> None:
    written = f"{SETTINGS}[accepted_rates]\n{HARM.name} = 0.05\n[changed]\n{SHARE.name} = 2026-04-01\n"
    settings = parse_settings(written, Path("audit.toml"), KINDS)
    assert settings.accepted_rates == {HARM.name: 0.05}
    assert settings.changed == {SHARE.name: date(2026, 4, 1)}


def test_what_the_records_tell_by_month_and_case_by_case_reaches_the_report(audit: Path, tmp_path: Path) -> None:
    """Twelve divisions, a day apart; after the third, the sixth and the ninth a bleeding that was treated."""
    days = {f"C{number:02}": date(2026, 1, 10) + timedelta(days=number) for number in range(1, 13)}
    rows = {
        "cases": ["case_ref,site,first_contact_date,age_days", *(f"{ref},North,2026-01-05,10" for ref in days)],
        "procedures": ["case_ref,procedure_date,operator", *(f"{ref},{day},P1" for ref, day in days.items())],
        "complications": ["case_ref,noted_date,kind,severity"]
        + [f"{ref},{days[ref]},bleeding,treated" for ref in ("C03", "C06", "C09")],
    }
    export = write_export(tmp_path / "export", {name: "\n".join(lines) for name, lines in rows.items()})
    run.load(audit, export, date(2026, 6, 30), accept_anyway=INVENTED)
    with opened(audit, "2026Q1") as session:
        content = run.judged(session, run.worked_out(session, Progress()), Progress())
    harm = content.rare_harm["complication_needing_care_within_14_days"]
    assert (harm.cases, harm.events, harm.since_last, harm.third_close) == (12, 3, 3, days["C09"])


def test_the_months_of_the_demo_add_up_to_its_quarters(demo: tuple[Path, str]) -> None:
    """Of every quarter whose answers are all due, beginning with the first of which a month is judged."""
    place = demo[0] / "editions" / "2026Q3"
    months, quarters = pd.read_csv(place / "over_time.csv"), pd.read_csv(place / "results.csv")
    months["period"] = months["month"].map(lambda month: f"{month[:4]}Q{(int(month[5:]) + 2) // 3}")
    added = months.groupby(["measure", "period"])[["met", "of"]].sum()
    whole = quarters[(quarters["breakdown"] == "all") & (quarters["complete"] == "yes")].set_index(
        ["measure", "period"]
    )
    of = whole["known"].where(whole["kind"] != "noted", whole["eligible"])
    both = added.join(pd.DataFrame({"met_then": whole["met"], "of_then": of}), how="inner")
    assert len(both) > 150 and both.index.get_level_values("measure").nunique() > 20
    assert both[(both["met"] != both["met_then"]) | (both["of"] != both["of_then"])].empty
