"""The page to explore in a browser: the edition's own figures, by keyboard, from a file, asking for nothing."""

from __future__ import annotations

import csv
import itertools
import json
import re
from dataclasses import replace
from decimal import ROUND_HALF_UP, Decimal
from pathlib import Path
from urllib.parse import urlencode

import pytest

from pipeline.contracts.measure_files import NOTED, PROPORTION, TIME_TO_EVENT
from pipeline.outcomes import lookup
from pipeline.report.charts import over_time
from pipeline.report.charts.looks import WIDE
from pipeline.report.pages.explore_page import page, write_explorer
from pipeline.report.views import measure_tables
from pipeline.report.views.measure_views import PERIODS_SHOWN
from pipeline.report.words import sentences
from pipeline.report.words.dates import run_up_to
from tests import report_content
from tests.report_content import PERIOD

content = report_content.content()
BOXES = """() => {
  const box = each => { const found = each.getBoundingClientRect(); return [found.top, found.bottom, found.right]; };
  return [box(document.querySelector('#chart .main-svg')),
    ...[...document.querySelectorAll('#chart .annotation-text')].map(box)];
}"""
HOSTILE = "</script><img src=x onerror=document.title='broken'><b>"
DRAWN = """() => {
  const chart = document.getElementById('chart');
  return {
    traces: chart.data.map(each => ({x: each.x, y: each.y, error: each.error_y, fill: each.marker?.color})),
    xaxis: chart.layout.xaxis, yaxis: chart.layout.yaxis,
    labels: (chart.layout.annotations ?? []).map(each => [each.text, each.y, each.font.color]),
  };
}"""


@pytest.fixture(scope="module")
def path(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The page of the invented content, one level of which tries to break out."""
    folder = tmp_path_factory.mktemp("explore")
    hostile = lookup.read(*(frame.replace({"level": {"Hilltop team": HOSTILE}}) for frame in report_content.frames()))
    return write_explorer(replace(content, lookup=hostile), folder / "explore.html")


@pytest.fixture(scope="module")
def view(browser, path: Path):
    """The page, opened wide, with what it asked for and what it said."""
    context = browser.new_context(viewport={"width": 1280, "height": 900}, offline=True, reduced_motion="reduce")
    opened = context.new_page()
    opened.asked, opened.said = [], []
    context.on("request", lambda request: opened.asked.append(request.url))
    opened.on("console", lambda message: opened.said.append(message.text))
    opened.on("pageerror", lambda error: opened.said.append(str(error)))
    opened.goto(path.as_uri())
    yield opened
    assert [url for url in opened.asked if not url.startswith(("data:", "blob:"))] == [path.as_uri()]
    assert opened.said == []
    context.close()


@pytest.fixture(scope="module", params=[320, 390, 1280])
def sized(browser, path: Path, request: pytest.FixtureRequest):
    """The page opened at a width, and that width: it takes seconds to open, so for several tests."""
    opened = browser.new_page(viewport={"width": request.param, "height": 900})
    opened.goto(path.as_uri())
    yield opened, request.param
    opened.close()


def go(view, **choice: str | list[str]) -> None:
    """What a choice in the address shows."""
    said = urlencode(choice, doseq=True)
    view.evaluate("said => { location.hash = ''; location.hash = said; }", said)
    shown = "([measure, split]) => [['measure', measure], ['split', split]].every(pair =>"
    shown += " document.getElementById(pair[0]).value === pair[1])"
    view.wait_for_function(shown, arg=[choice["measure"], choice.get("split", "all")])
    view.wait_for_timeout(30)  # the address changes a moment before the page


def texts(view, selector: str) -> list[str]:
    """The text of every element found."""
    found: list[str] = view.eval_on_selector_all(selector, "found => found.map(each => each.textContent)")
    return found


def test_every_chart_of_everyone_is_the_editions_own(view):
    found = content.lookup
    for measure in content.measures:
        go(view, measure=measure.name)
        drawn = view.evaluate(DRAWN)
        series = [
            (name, found.everyone(measure.name, name)) for name in run_up_to(content.period, PERIODS_SHOWN, found.first)
        ]
        figure = over_time.over_periods(measure, series, content.settings.standards.get(measure.name), WIDE)
        for ours, theirs in zip(figure.data, drawn["traces"], strict=True):
            assert list(ours["x"]) == theirs["x"], measure.name
            assert list(ours["y"]) == theirs["y"], measure.name
        main, last = figure.data[-1], drawn["traces"][-1]
        assert last["error"]["array"] == pytest.approx(list(main["error_y"]["array"]), nan_ok=True)
        assert last["error"]["arrayminus"] == pytest.approx(list(main["error_y"]["arrayminus"]), nan_ok=True)
        assert last["fill"] == list(main["marker"]["color"])
        for axis in ("xaxis", "yaxis"):
            for key in ("range", "tickvals", "ticktext"):
                assert drawn[axis][key] == list(figure.layout[axis][key]), (measure.name, axis, key)
        labels = [(note["text"], note["y"], note["font"]["color"]) for note in figure.layout["annotations"]]
        assert [tuple(each) for each in drawn["labels"]] == labels, measure.name


def test_every_curve_is_the_editions_own(view):
    found = content.lookup
    waits = [measure for measure in content.measures if measure.kind == TIME_TO_EVENT]
    assert waits
    for measure in waits:
        go(view, measure=measure.name)
        days = found.curves[measure.name, content.period, "all", "all"]
        figure = over_time.wait_curve([(content.period, days)], WIDE)
        (drawn,) = view.evaluate("document.getElementById('curve').data.map(each => ({x: each.x, y: each.y}))")
        assert (drawn["x"], drawn["y"]) == (figure.data[0]["x"], figure.data[0]["y"])
        said = view.evaluate("document.getElementById('curve').data[0].customdata")
        assert said[1:] == [
            f"by day {each.day}: {sentences.percent(each.incidence)}" for each in days if each.incidence is not None
        ]
        rows = measure_tables.curve(measure, [(content.period, days)]).groups[0].rows
        assert texts(view, "#days tbody th") == [row.head for row in rows]
        assert texts(view, "#days tbody td") == [row.cells[0] for row in rows]


def test_a_point_of_a_curve_says_its_share_as_the_edition_rounds(view):
    # 28.5% is a binary fraction under its half: by hand it is 29%, and a few in a thousand are never 0%.
    results, waits = report_content.frames()
    curve = waits[(waits["level"] == "all") & (waits["period"] == PERIOD)]
    name = curve["measure"].iloc[0]
    shares = iter([0.004, 0.285])
    changed = waits.copy()
    changed.loc[curve[curve["measure"] == name].index[:2], "incidence"] = list(shares)
    text = page(replace(content, lookup=lookup.read(results, changed)))
    (held,) = re.findall(r'<script type="application/json" id="held">(.*?)</script>', text, re.DOTALL)
    steps = json.loads(held)["curves"][name]["all"]["all"][PERIOD]["steps"]
    assert [step[2] for step in steps[:2]] == ["under 1%", "29%"]


def test_the_table_holds_the_results(view, tmp_path: Path):
    report_content.frames()[0].to_csv(tmp_path / "results.csv", index=False)
    with (tmp_path / "results.csv").open(encoding="utf-8", newline="") as file:
        rows = {(row["measure"], row["period"], row["breakdown"], row["level"]): row for row in csv.DictReader(file)}
    periods = sorted({period for _, period, _, _ in rows})
    compared = 0
    for measure in content.measures:
        if measure.kind != PROPORTION:
            continue
        go(view, measure=measure.name, **{"from": periods[0]})
        shown = view.eval_on_selector_all(
            "#figures tbody td:last-child", "cells => cells.map(each => each.textContent)"
        )
        assert len(shown) == len(periods)
        for period, text in zip(periods, shown, strict=True):
            row = rows[measure.name, period, "all", "all"]
            whole = [int(float(row[name] or 0)) for name in ("met", "known", "unknown")]
            counts = re.match(r"([\d,]+) of ([\d,]+) known .*; ([\d,]+) not known", text)
            if counts:
                assert [int(each.replace(",", "")) for each in counts.groups()] == whole
                compared += 1
            else:
                assert whole[1] == 0, text
    assert compared > 150
    for measure in content.measures:
        if measure.kind == PROPORTION:
            continue
        go(view, measure=measure.name, **{"from": periods[0]})
        for period, text in zip(periods, texts(view, "#figures tbody td:last-child"), strict=True):
            row = rows[measure.name, period, "all", "all"]
            if measure.kind == TIME_TO_EVENT:
                assert text.startswith(f"{half_up(float(row['value']) * 100)}% were "), text
                met, ended = int(float(row["met"])), int(float(row["known"])) - int(float(row["met"]))
                assert f"Of {row['eligible']}: {met} " in text
                assert f", {ended} not by then, {int(float(row['unknown']))} not known" in text
            elif measure.kind == NOTED:
                share = half_up(float(row["value"]) * 100)
                noted = f"Noted after {int(float(row['met']))} of {row['eligible']} ({share}%, "
                assert text.startswith(noted), text
                assert f"heard from {int(float(row['known']))} of {row['eligible']} (" in text
            elif int(row["eligible"]) > 1:
                middle, low, high = (half_up(float(row[name]), "0.1") for name in ("value", "lower", "upper"))
                assert text.startswith(f"Of {row['eligible']}, at least half were {middle} day"), text
                assert f"the middle half {low} to {high} day" in text


def half_up(number: float, step: str = "1") -> str:
    """As one rounds by hand, without a nought that says nothing."""
    return str(Decimal(repr(number)).quantize(Decimal(step), ROUND_HALF_UP)).removesuffix(".0")


def test_every_measure_is_chosen_by_keyboard(view):
    go(view, measure=content.measures[0].name)
    view.locator("#measure").focus()
    names = view.eval_on_selector_all("#measure option", "options => options.map(each => each.value)")
    assert sorted(names) == sorted(measure.name for measure in content.measures)
    view.keyboard.press("Home")
    for place, name in enumerate(names):
        if place:
            view.keyboard.press("ArrowDown")
        assert view.evaluate("document.getElementById('measure').value") == name
        title = next(measure.title for measure in content.measures if measure.name == name)
        assert f"Shown: {title}, everyone," in view.inner_text("#said")
        assert view.evaluate("document.activeElement.id") == "measure"
        assert f"#definition-{name}" in view.get_attribute("#definition", "href")
    view.keyboard.press("Tab")
    view.keyboard.press("ArrowDown")
    assert view.evaluate("document.activeElement.id") == "split"
    view.keyboard.press("Tab")
    view.keyboard.press("Tab")
    view.keyboard.press("Tab")
    before = len(view.query_selector_all("#groups input:checked"))
    assert before > 1
    view.keyboard.press("Space")
    assert len(view.query_selector_all("#groups input:checked")) == before - 1
    assert view.evaluate("document.activeElement.type") == "checkbox"


def test_the_choice_is_kept_in_the_address(browser, path: Path, view):
    go(view, measure="breastfed_at_6_weeks", split="first_baby", group=["no"], **{"from": "2025Q1", "to": "2026Q1"})
    view.locator("#from").select_option(label="April to June 2025")
    address = view.url
    words = view.inner_text("#said")
    assert "first baby: " in words
    assert "April to June 2025 up to January to March 2026" in words
    again = browser.new_page()
    again.goto(address)
    assert again.inner_text("#said") == words
    assert again.evaluate(DRAWN) == view.evaluate(DRAWN)
    again.close()


@pytest.mark.parametrize(
    ("address", "refused"),
    [
        ("measure=%F0%9F%92%A9", "measure"),
        ("measure=breastfed_at_6_weeks&split=nothing", "by group"),
        ("measure=seen_promptly&split=route", "by group"),
        ("split=site&group=Atlantis", "group"),
        ("from=2031Q1&to=1999Q1", "from, to"),
        ("to=%E0%A4%A&x=1", "to, something unknown"),
        ("constructor=1&__proto__=2", "something unknown"),
    ],
)
def test_a_damaged_address_is_said_and_something_is_shown(view, address: str, refused: str):
    view.evaluate("said => { location.hash = 'measure=seen_promptly'; location.hash = said; }", address)
    view.wait_for_function("document.getElementById('said').textContent.startsWith('The address')")
    assert f"({refused})" in view.inner_text("#said")
    assert view.evaluate("document.getElementById('chart').data.length") > 0


def test_a_level_that_tries_to_break_out_is_only_text(view):
    go(view, measure="seen_promptly", split="site")
    assert view.title().startswith("Invented Feeding Service")
    assert HOSTILE in view.inner_text("#said")
    assert HOSTILE in view.inner_text("#groups")
    # Plotly reads a few tags in the labels it draws: this name is drawn letter by letter.
    drawn = " ".join(texts(view, "#chart text"))
    assert "</script><img" in drawn  # the end of a long name is left out here
    assert HOSTILE in view.inner_text("#figures")
    assert view.query_selector("#chart image, #chart img, #chart a[href]") is None


def test_hovering_gives_counts_and_interval(view):
    go(view, measure="breastfed_at_6_weeks")
    point = view.locator("#chart .scatterlayer .trace:last-child .point").last
    point.scroll_into_view_if_needed()
    box = point.bounding_box()
    view.mouse.move(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
    view.wait_for_selector("#chart .hoverlayer text")
    hover = " ".join(
        view.eval_on_selector_all("#chart .hoverlayer tspan.line", "lines => lines.map(each => each.textContent)")
    )
    sentence = view.inner_text("#figures tbody tr:last-child td:last-child")
    assert re.search(r"\d+ of \d+ known \(\d+%, 95% interval \d+ to \d+%\); \d+ not known", hover)
    assert hover == f"Jul-Sep 26: {sentence}"
    view.mouse.move(0, 0)


def test_hovering_a_group_says_which_and_a_hostile_name_stays_text(view):
    go(view, measure="breastfed_at_6_weeks", split="site", group=[HOSTILE], **{"from": "2026Q3"})
    heads = view.evaluate("document.getElementById('chart').data.at(-1).customdata")
    assert len(heads) == 1
    point = view.locator("#chart .scatterlayer .trace:last-child .point").last
    point.scroll_into_view_if_needed()
    box = point.bounding_box()
    view.mouse.move(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
    view.wait_for_selector("#chart .hoverlayer text")
    hover = " ".join(texts(view, "#chart .hoverlayer tspan.line"))
    sentence = view.inner_text("#figures tbody td")
    assert hover == f"Jul-Sep 26, {HOSTILE}: {sentence}"
    assert view.query_selector("#chart .hoverlayer a, #chart .hoverlayer [style*=bold]") is None
    view.mouse.move(0, 0)


def test_the_skip_link_leaves_the_choice_as_it_is(browser, path: Path):
    opened = browser.new_page()
    address = f"{path.as_uri()}#measure=breastfed_at_6_weeks&split=all&from=2025Q1&to=2026Q1"
    opened.goto(address)
    words = opened.inner_text("#said")
    opened.keyboard.press("Tab")
    opened.keyboard.press("Enter")
    opened.wait_for_function("document.activeElement.id === 'main'")
    opened.wait_for_function("address => location.href === address", arg=address)
    assert opened.inner_text("#said") == words
    opened.close()


def test_the_drawing_has_one_name_and_its_layers_are_not_read(view):
    go(view, measure="breastfed_at_6_weeks")
    layers = view.eval_on_selector_all(
        "#chart .main-svg",
        "found => found.map(each => [each.role ?? '', each.ariaLabel ?? '', each.getAttribute('aria-hidden')])",
    )
    assert layers[0][0] == "img"
    assert "Breastfed at 6 weeks, everyone" in layers[0][1]
    assert len(layers) > 1
    assert all(hidden == "true" for _, _, hidden in layers[1:])


def test_small_numbers_are_said(view):
    go(view, measure="breastfed_at_6_weeks")
    least = report_content.frames()[0][report_content.frames()[0]["measure"] == "breastfed_at_6_weeks"]
    shown = least[(least["breakdown"] == "all") & (least["period"] >= "2024Q3")]
    assert (shown["known"] >= 10).all()
    assert not view.is_visible("#small")
    go(view, measure="breastfed_at_6_weeks", split="ethnic_group", group=["not_recorded", "not_stated", "other"])
    few = least[(least["breakdown"] == "ethnic_group") & (least["level"].isin(["not_stated", "other", "not_recorded"]))]
    assert (few["known"].between(1, 9)).any()
    assert view.is_visible("#small")


def test_names_at_the_ends_of_lines_stay_on_the_paper_and_apart(sized):
    opened, _ = sized
    for split in ("site", "deprivation_fifth", "ethnic_group"):
        go(opened, measure="breastfed_at_6_weeks", split=split)
        opened.wait_for_selector("#chart .annotation-text")
        edge, *labels = opened.evaluate(BOXES)
        assert len(labels) >= 3
        assert max(right for _, _, right in labels) <= edge[2] + 1, split
        labels.sort()
        for (_, bottom, _), (top, *_) in itertools.pairwise(labels):
            assert bottom <= top + 2, split


def test_the_buttons_send_nothing_anywhere(view):
    titles = view.eval_on_selector_all("#chart .modebar-btn", "buttons => buttons.map(each => each.dataset.title)")
    assert len(titles) == 4
    assert [title for title in titles if re.search("cloud|share|edit|plotly", title, re.IGNORECASE)] == []
    assert view.query_selector("#chart .modebar-btn--logo") is None


def test_a_wait_shows_its_curve_and_no_other_measure_does(view):
    for measure in content.measures:
        go(view, measure=measure.name)
        assert view.evaluate("!document.getElementById('curve').hidden") == (measure.kind == TIME_TO_EVENT), (
            measure.name
        )


def test_it_scrolls_down_only_and_its_labels_stay_on_the_paper(sized):
    opened, width = sized
    for choice in (
        {"measure": "breastfed_at_6_weeks", "split": "site"},
        {"measure": "days_to_referral"},
        {"measure": "age_at_procedure"},
    ):
        go(opened, **choice)
        opened.wait_for_selector("#chart .annotation-text")
        assert opened.evaluate("document.documentElement.scrollWidth") <= width


def test_with_scripts_blocked_it_points_to_the_edition(browser, path: Path):
    context = browser.new_context(java_script_enabled=False)
    opened = context.new_page()
    opened.goto(path.as_uri())
    assert "Every figure of the quarter stands in the service edition" in opened.inner_text("main")
    assert not opened.is_visible("#choice")
    context.close()


def test_the_data_cannot_end_their_own_element():
    text = page(replace(content, settings=replace(content.settings, service=HOSTILE)))
    (held,) = re.findall(r'<script type="application/json" id="held">(.*?)</script>', text, re.DOTALL)
    assert "<" not in held
    assert json.loads(held)["period"] == content.period
    assert text.count("<script") - text.count("<script type=") == len(re.findall(r"<script>", text))
