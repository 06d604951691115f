"""The page to explore in a browser: the edition's own figures, by keyboard, from a file, asking for nothing."""

from __future__ import annotations

import csv
import html
import itertools
import json
import re
import shlex
import struct
from dataclasses import replace
from decimal import ROUND_HALF_UP, Decimal
from pathlib import Path
from urllib.parse import urlencode
from xml.etree import ElementTree

import pandas as pd
import pytest

from pipeline.contracts.measure_files import NOTED, PROPORTION, TIME_TO_EVENT
from pipeline.lineage import figure_asked
from pipeline.outcomes import lookup
from pipeline.report.charts import over_time
from pipeline.report.charts.looks import WIDE
from pipeline.report.pages.explore_page import page, write_explorer
from pipeline.report.pages.trace_page import write_trace
from pipeline.report.views import measure_tables
from pipeline.report.views.behind.traced import Group, Traced
from pipeline.report.views.behind.traced_case import TracedCase
from pipeline.report.views.behind.traced_levels import Answered, TracedLevel, TracedMeasure, level_key
from pipeline.report.views.measure_views import PERIODS_SHOWN
from pipeline.report.views.whom import waiting
from pipeline.report.words import sentences
from pipeline.report.words.dates import run_up_to, short_label
from tests import report_content
from tests.asking_axe import violations
from tests.report_content import PERIOD, PERIODS

content = report_content.content()
BOXES = """() => {
  const [paper] = document.querySelectorAll('#chart .main-svg');
  return [paper, ...document.querySelectorAll('#chart .annotation-text')].map(part => {
    const {left, right, top, bottom} = part.getBoundingClientRect();
    return [left, right, top, bottom, part.textContent];
  });
}"""
CENTRES = """selector => [...document.querySelectorAll(selector)].map(part => {
  const {left, right, top, bottom} = part.getBoundingClientRect();
  return [(left + right) / 2, (top + bottom) / 2];
})"""
HOSTILE = "</script><img src=x onerror=document.title='broken'><b>"
DRAWN = """() => {
  const chart = document.getElementById('chart');
  return {
    traces: chart.data.map(each => ({x: each.x, y: each.y, error: each.error_y, fill: each.marker?.color})),
    curve: !document.getElementById('curve').hidden, xaxis: chart.layout.xaxis, yaxis: chart.layout.yaxis,
    labels: (chart.layout.annotations ?? []).map(each => [each.text, each.y, each.font?.color]),
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


@pytest.fixture(scope="module")
def window(browser):
    """A window beside it: a page that one has read before opens in a quarter of the time."""
    context = browser.new_context(viewport={"width": 1280, "height": 900})
    yield context
    context.close()


@pytest.fixture(scope="module")
def spare(window):
    return window.new_page()


@pytest.fixture
def anew(spare):
    """Opens an address in the window beside it, as if it had not been open there."""

    def at(address: str):
        spare.goto("about:blank")  # else another choice of the same page is no new page
        spare.goto(address)
        return spare

    return at


@pytest.fixture(scope="module", params=[320, 390, 1280])
def sized(window, path: Path, request: pytest.FixtureRequest):
    """The page opened at a width, and that width: it takes seconds to open, so for several tests."""
    opened = window.new_page()
    opened.set_viewport_size({"width": request.param, "height": 900})
    opened.goto(path.as_uri())
    yield opened, request.param
    opened.close()


def said_of(measure: str, cells: list[str]) -> str:
    """What a point says: each cell of a figure after the head of its column."""
    heads = measure_tables.columns(next(own for own in content.measures if own.name == measure))
    return "; ".join(f"{head}: {cell}" for head, cell in zip(heads, cells, strict=True) if cell)


def go(view, **choice: str | list[str]) -> None:
    """What a choice in the address shows."""
    said = urlencode(choice, doseq=True)
    view.evaluate("said => { location.hash = ''; location.hash = said; }", said)
    shown = "([measure, split]) => [['measure', measure], ['split', split]].every(pair =>"
    shown += " document.getElementById(pair[0]).value === pair[1])"
    view.wait_for_function(shown, arg=[choice["measure"], choice.get("split", "all")])
    view.wait_for_timeout(30)  # the address changes a moment before the page


def as_near(ours, theirs) -> bool:
    """The same to six places, gaps where there are gaps."""
    return [None if number is None else pytest.approx(number, abs=1e-6) for number in ours] == theirs


def texts(view, selector: str) -> list[str]:
    """The text of every element found."""
    found: list[str] = view.eval_on_selector_all(selector, "found => found.map(each => each.textContent)")
    return found


def test_every_chart_of_everyone_is_the_editions_own_and_waits_alone_have_a_curve(view):
    found = content.lookup
    for measure in content.measures:
        go(view, measure=measure.name)
        drawn = view.evaluate(DRAWN)
        assert drawn["curve"] == (measure.kind == TIME_TO_EVENT), measure.name
        series = [
            (name, found.everyone(measure.name, name)) for name in run_up_to(content.period, PERIODS_SHOWN, found.first)
        ]
        figure = over_time.over_periods(measure, series, content.settings.standards.get(measure.name), WIDE)
        for ours, theirs in zip(figure.data, drawn["traces"], strict=True):
            assert list(ours["x"]) == theirs["x"], measure.name
            assert as_near(ours["y"], theirs["y"]), measure.name
        main, last = figure.data[-1], drawn["traces"][-1]
        assert as_near(main["error_y"]["array"], last["error"]["array"])
        assert as_near(main["error_y"]["arrayminus"], last["error"]["arrayminus"])
        assert last["fill"] == list(main["marker"]["color"])
        for axis in ("xaxis", "yaxis"):
            for key in ("range", "tickvals", "ticktext"):
                assert drawn[axis][key] == list(figure.layout[axis][key]), (measure.name, axis, key)
        labels = [(note["text"], note["y"], note["font"]["color"]) for note in figure.layout["annotations"]]
        assert [tuple(label) for label in drawn["labels"]] == labels, measure.name


def test_every_curve_is_the_editions_own(view):
    found = content.lookup
    waits = [measure for measure in content.measures if measure.kind == TIME_TO_EVENT]
    assert waits
    for measure in waits:
        go(view, measure=measure.name)
        curves = [(name, found.curves[measure.name, name, "all", "all"]) for name in (PERIOD, "2025Q3")]
        figure = over_time.wait_curve(curves, WIDE)
        drawn = view.evaluate("document.getElementById('curve').data")
        for ours, theirs in zip(figure.data, drawn, strict=True):  # the year before, then this one
            assert list(ours["x"]) == theirs["x"]
            assert as_near(ours["y"], theirs["y"])
            assert (ours["line"]["dash"], ours["line"]["color"]) == (theirs["line"]["dash"], theirs["line"]["color"])
        assert drawn[1]["customdata"][1:] == [
            f"Jul-Sep 26<br>by day {step.day}: {sentences.percent(step.incidence)}"
            for step in curves[0][1]
            if step.incidence is not None
        ]
        assert [
            text
            for *_, text in view.evaluate(BOXES.replace("#chart", "#curve"))
            if text in ("Jul-Sep 26", "Jul-Sep 25")
        ]
        rows = waiting.curve(measure, curves).groups[0].rows
        watched = "Waiting and watched as the day began"
        assert texts(view, "#days thead th") == ["Day", "Jul-Sep 26", watched, "Jul-Sep 25"]
        assert texts(view, "#days tbody th") == [row.head for row in rows]
        # The share, how many were watched, the year before; the edition says in between how many ended another way.
        assert texts(view, "#days tbody td") == [row.cells[place] for row in rows for place in (0, 2, 3)]


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
        shown = table_of(view)
        assert [row[0].removesuffix(" so far") for row in shown] == [short_label(period) for period in periods]
        for period, (_, figure, limits, unknown, _) in zip(periods, shown, strict=True):
            row = rows[measure.name, period, "all", "all"]
            met, known, missing = (int(float(row[name] or 0)) for name in ("met", "known", "unknown"))
            if not known:
                assert figure in ("none to count", "0 of 0")
                continue
            assert figure == f"{met} of {known} ({half_up(met / known * 100)}%)"
            assert limits == f"{half_up(float(row['lower']) * 100)} to {half_up(float(row['upper']) * 100)}%"
            assert unknown == f"{missing}"
            compared += 1
    assert compared > 150
    for measure in content.measures:
        if measure.kind == PROPORTION:
            continue
        go(view, measure=measure.name, **{"from": periods[0]})
        for period, cells in zip(periods, table_of(view), strict=True):
            row = rows[measure.name, period, "all", "all"]
            told = " | ".join(cells)
            if measure.kind == TIME_TO_EVENT:
                assert f"{half_up(float(row['value']) * 100)}% of {row['eligible']}" in told
                assert f"{int(float(row['met']))} of {row['known']}" in told
            elif measure.kind == NOTED:
                share = half_up(float(row["value"]) * 100)
                assert f"{int(float(row['met']))} of {row['eligible']} ({share}%)" in told
                assert f"{int(float(row['known']))} of {row['eligible']} (" in told
            elif int(row["eligible"]) > 1:
                middle, low, high = (half_up(float(row[name]), "0.1") for name in ("value", "lower", "upper"))
                assert f" | {middle} | " in told
                assert f"{low} to {high}" in told


def table_of(view) -> list[list[str]]:
    """The rows of figures shown, cell by cell."""
    told: list[list[str]] = view.eval_on_selector_all(
        "#figures tbody tr", "rows => rows.map(row => [...row.cells].map(cell => cell.textContent))"
    )
    return told


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
    before = len(view.query_selector_all("#groups input:checked"))
    assert before > 1
    view.keyboard.press("Space")
    assert len(view.query_selector_all("#groups input:checked")) == before - 1
    assert view.evaluate("document.activeElement.type") == "checkbox"


def test_the_choice_is_kept_in_the_address(anew, view):
    go(view, measure="breastfed_at_6_weeks", split="first_baby", group=["no"], **{"from": "2025Q1", "to": "2026Q1"})
    view.locator("#from").select_option(label="April to June 2025")
    address = view.url
    words = view.inner_text("#said")
    assert "first baby: " in words
    assert "April to June 2025 up to January to March 2026" in words
    again = anew(address)
    assert again.inner_text("#said") == words
    assert again.evaluate(DRAWN) == view.evaluate(DRAWN)


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
    assert re.search(r": \d+ of \d+ \(\d+%\); 95% interval: \d+ to \d+%; ", hover)
    assert hover == f"Jul-Sep 26: {said_of('breastfed_at_6_weeks', table_of(view)[-1][1:])}"
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
    assert hover == f"Jul-Sep 26, {HOSTILE}: {said_of('breastfed_at_6_weeks', table_of(view)[-1][1:])}"
    assert view.query_selector("#chart .hoverlayer a, #chart .hoverlayer [style*=bold]") is None
    view.mouse.move(0, 0)


def test_the_skip_link_leaves_the_choice_as_it_is(anew, path: Path):
    address = f"{path.as_uri()}#measure=breastfed_at_6_weeks&split=all&from=2025Q1&to=2026Q1"
    opened = anew(address)
    words = opened.inner_text("#said")
    opened.keyboard.press("Tab")
    opened.keyboard.press("Enter")
    opened.wait_for_function("document.activeElement.id === 'main'")
    opened.wait_for_function("address => location.href === address", arg=address)
    assert opened.inner_text("#said") == words


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


def test_groups_stand_side_by_side_in_order_of_name_on_one_scale(sized):
    opened, width = sized
    for split in ("site", "deprivation_fifth", "ethnic_group"):
        go(opened, measure="breastfed_at_6_weeks", split=split)
        names = [name.strip() for name in texts(opened, "#boxes label")]
        titles = opened.evaluate(
            "document.getElementById('chart').layout.annotations.filter((_, place) => place % 2 == 0)"
        )
        starts = [re.sub("<br>.*|\u2026", "", html.unescape(title["text"])) for title in titles]
        assert len(starts) == len(names) >= 3
        assert all(name.startswith(start) for name, start in zip(names, starts, strict=True))
        places = [(-title["y"], title["x"]) for title in titles]
        assert places == sorted(places), "row by row"
        axes = opened.evaluate(
            "Object.entries(document.getElementById('chart').layout).filter(([name]) => /^yaxis/.test(name))"
            ".map(([_, axis]) => axis.range.join())"
        )
        assert len(axes) == len(names)
        assert len(set(axes)) == 1
        paper, *labels = opened.evaluate(BOXES)
        labels = [label for label in labels if label[-1]]
        assert all(paper[0] <= left and right <= paper[1] + 1 for left, right, *_ in labels), split
        for one, other in itertools.combinations(labels, 2):
            beside = one[1] <= other[0] + 1 or other[1] <= one[0] + 1
            assert beside or one[3] <= other[2] + 4 or other[3] <= one[2] + 4, (width, one, other)


def test_groups_are_in_order_of_name_and_not_of_their_figures(view):
    go(view, measure="seen_promptly", split="site")
    names = [name.strip() for name in texts(view, "#boxes label")]
    assert names == sorted(names)
    ends = view.evaluate("document.getElementById('chart').data.filter(line => line.meta).map(line => line.y.at(-1))")
    ends = [end for end in ends if end is not None]
    assert len(ends) > 2
    assert ends not in (sorted(ends), sorted(ends, reverse=True))


def test_the_scale_is_the_lowest_that_holds_all_that_is_shown(view):
    name = "infection_within_14_days"
    for split, levels in (("all", ["all"]), ("sex", ["female"])):
        go(view, measure=name, split=split, group=levels, **{"from": "2025Q3"})
        keys = [("all", "all"), *((split, level) for level in levels)]
        shown = [content.lookup.results.get((name, period, *key)) for key in keys for period in PERIODS[-5:]]
        highest = max(max(result.upper, result.bound_high or 0) for result in shown if result)
        top = next(top for top in (0.1, 0.2, 0.5, 1.0) if top >= max(highest, content.settings.standards.get(name, 0)))
        assert view.evaluate("document.getElementById('chart').layout.yaxis.range") == [0, top]


def test_everyone_stands_in_each_of_them(view):
    go(view, measure="seen_promptly", split="site")
    whole = [content.lookup.everyone("seen_promptly", name) for name in run_up_to(PERIOD, PERIODS_SHOWN, "2024Q1")]
    dotted = view.evaluate(
        "document.getElementById('chart').data.filter(line => line.line?.dash === 'dot').map(line => line.y)"
    )
    assert len(dotted) == len(texts(view, "#boxes label"))
    for line in dotted:
        assert as_near([result.value for result in whole], line)
    assert "Dotted line: everyone (" in view.inner_text("#key")


def test_groups_are_compared_or_none_and_everyone_stays(view):
    go(view, measure="seen_promptly", split="site", group=["Harbour hub", "Mill Lane clinic"])
    heads = ["Everyone", "Harbour hub", "Mill Lane clinic"]
    assert texts(view, "#figures [scope=rowgroup]") == heads
    assert len(view.query_selector_all("#points > div")) == 2
    for box in view.query_selector_all("#boxes input:checked"):
        view.evaluate(
            "box => [...document.querySelectorAll('#boxes input')].find(one => one.value === box).click()",
            box.get_attribute("value"),
        )
    assert "everyone" in view.inner_text("#said")
    assert texts(view, "#figures [scope=rowgroup]") == []
    assert "group=&" in view.url
    again = view.url
    view.evaluate("location.hash = ''")
    view.goto(again)
    assert view.query_selector_all("#boxes input:checked") == []


def test_a_point_stands_where_it_is_drawn_and_opens_its_records(anew, path: Path):
    write_trace(*records("breastfed_at_6_weeks", "site", HOSTILE), content, path.parent / "trace.html")
    opened = anew(f"{path.as_uri()}#measure=breastfed_at_6_weeks")
    over = opened.evaluate(CENTRES, "#points a, #points button")
    drawn = opened.evaluate(CENTRES, "#chart .scatterlayer .trace:last-child .point")
    assert len(over) == len(drawn) == PERIODS_SHOWN
    for one, other in zip(over, drawn, strict=True):
        assert one == pytest.approx(other, abs=0.5)
    opened.focus("#to")
    opened.keyboard.press("Tab")
    label = opened.evaluate("document.activeElement.ariaLabel")
    told = said_of("breastfed_at_6_weeks", table_of(opened)[-1][1:])
    assert label == f"Jul-Sep 26, everyone: {told}. Open the cases behind it"
    opened.wait_for_selector("#chart .hoverlayer text")  # whoever sees is told too
    opened.keyboard.press("Enter")
    opened.wait_for_url("**/trace.html#breastfed_at_6_weeks")
    # The first of its cases are unfolded, and the answer stands in sight above them.
    assert opened.get_by_text("case-of-everyone").is_visible()
    assert not opened.get_by_text("case-of-no-interest").is_visible()
    opened.wait_for_function("document.querySelector('.figure').getBoundingClientRect().top > 0")
    opened.go_back()
    opened.wait_for_selector("#chart .point", state="attached")
    assert opened.evaluate("document.activeElement.ariaLabel") == label  # back at the point
    x, y = opened.evaluate(CENTRES, "#chart .scatterlayer .trace:last-child .point")[-1]
    opened.mouse.move(x - 3, y)
    opened.mouse.click(x, y)
    opened.wait_for_url("**/trace.html#breastfed_at_6_weeks")
    opened.goto(f"{path.as_uri()}#{urlencode({'measure': 'breastfed_at_6_weeks', 'split': 'site', 'group': HOSTILE})}")
    opened.focus("#to")
    opened.keyboard.press("Tab")
    assert opened.evaluate("document.activeElement.ariaLabel").startswith(f"Jul-Sep 26, {HOSTILE}: ")
    opened.keyboard.press("Enter")
    opened.wait_for_url("**/trace.html#breastfed_at_6_weeks-site-*")
    assert opened.get_by_text("case-of-the-group").is_visible()


def records(name: str, split: str, level: str) -> tuple[list[Traced], list[TracedMeasure]]:
    """A figure with its lines, and a group of it by reference."""
    measure = next(own for own in content.measures if own.name == name)
    case = TracedCase("case-of-everyone", "six weeks old on 1 July 2026", "", (), "", ())
    answers = (
        Group("not_met", "No", 1, (case,)),
        Group("met", "Yes", 1, (replace(case, case_ref="case-of-no-interest"),)),
    )
    figure = figure_asked.of_measure(measure, PERIOD)
    whole = Traced(figure, measure.title, measure.question, "1 of 2", "the day", "2 cases", "cases", "", answers, ())
    group = TracedLevel(
        level_key(name, split, level), level, "0 of 1", "", (Answered("No", 1, ("case-of-the-group",)),)
    )
    return [whole], [TracedMeasure(name, measure.title, (("Site", (group,)),))]


def test_a_point_without_records_says_how_to_list_them(view):
    go(view, measure="breastfed_at_6_weeks", split="site", group=["Harbour hub", HOSTILE])
    view.focus("#to")
    view.keyboard.press("Tab")
    view.keyboard.press("ArrowDown")
    view.keyboard.press("ArrowLeft")
    assert view.evaluate("document.activeElement.ariaLabel").startswith("Apr-Jun 26, Harbour hub: ")
    view.keyboard.press("Home")
    view.keyboard.press("ArrowUp")
    assert view.evaluate("document.activeElement.ariaLabel").startswith(f"Jul-Sep 25, {HOSTILE}: ")
    assert len(view.query_selector_all("#points [tabindex='0']")) == 1, "one stop for them all"
    view.keyboard.press("ArrowDown")
    view.keyboard.press("Enter")
    typed = shlex.split(view.inner_text("#behind-command"))
    asked = "feeding-audit trace breastfed_at_6_weeks 2025Q3 --breakdown site --level"
    assert typed == [*asked.split(), "Harbour hub"]
    assert view.evaluate("document.activeElement.id") == "behind"
    assert not view.is_visible("#behind-link")
    view.keyboard.press("Escape")
    assert view.evaluate("document.activeElement.ariaLabel").startswith("Jul-Sep 25, Harbour hub: ")
    assert not view.is_visible("#behind")
    view.keyboard.press("Enter")
    told = said_of("breastfed_at_6_weeks", [row for row in table_of(view) if row[0] == "Jul-Sep 25"][2][1:])
    assert view.inner_text("#behind-said") == f"Breastfed at 6 weeks, July to September 2025, {typed[-1]}. {told}."
    go(view, measure="seen_promptly")
    assert not view.is_visible("#behind")


def test_a_name_cannot_end_its_quotation(view):
    for name in ("it's", "$(rm -rf .)", "`x`", '"; x', "Mill Lane", "north-1", "a\\", "Zoë’s"):
        assert shlex.split(view.evaluate("quoted", name)) == [name]


def test_by_thumb_a_point_is_told_before_its_records_open(browser, path: Path):
    context = browser.new_context(viewport={"width": 390, "height": 844}, has_touch=True, is_mobile=True)
    opened = context.new_page()
    opened.goto(f"{path.as_uri()}#measure=breastfed_at_6_weeks")
    opened.locator("#chart").scroll_into_view_if_needed()
    x, y = opened.evaluate(CENTRES, "#chart .scatterlayer .trace:last-child .point")[-1]
    opened.touchscreen.tap(x, y)
    opened.wait_for_selector("#behind-link", state="visible")
    assert "July to September 2026, everyone" in opened.inner_text("#behind-said")
    assert opened.get_attribute("#behind-link", "href") == "trace.html#breastfed_at_6_weeks"
    context.close()


def saved(view, button: str) -> tuple[str, bytes]:
    """The name and content of the file that a button saves."""
    with view.expect_download() as download:
        view.click(f"#save button[data-format={button}]")
    assert view.inner_text("#saved") == f"Saved as {download.value.suggested_filename}"
    return download.value.suggested_filename, Path(download.value.path()).read_bytes()


def test_the_figures_are_saved_as_a_table(view):
    go(view, measure="breastfed_at_6_weeks", split="site", group=["Harbour hub", HOSTILE], **{"from": "2026Q1"})
    name, written = saved(view, "csv")
    assert name == "breastfed-at-6-weeks_site-script-img-src-x-onerror-document-title-harbour-hub_2026Q1-to-2026Q3.csv"
    assert written.startswith(b"\xef\xbb\xbf")
    rows = list(csv.reader(written.decode("utf-8-sig").splitlines()))
    told = dict(row for row in rows[:7])
    assert told["Measure"] == "Breastfed at 6 weeks"
    assert told["Data up to"] == "14 October 2026"
    assert told["Use"] == "Stays inside the service: numbers are small."
    assert told["Key"].startswith("Dot: share of those known")
    assert rows[7] == []
    heads, *figures = rows[8:]
    assert {row[0] for row in figures} == {"Everyone", "Harbour hub", HOSTILE}
    assert len(figures) == 9
    for row in (dict(zip(heads, cells, strict=True)) for cells in figures):
        if row["group"] != "Everyone" and row["period"] == "2026Q1":  # there is nothing of groups
            assert (row["eligible"], row["share"]) == ("0", "")
            continue
        level = (
            ("all", "all") if row["group"] == "Everyone" else ("site", row["group"].replace(HOSTILE, "Hilltop team"))
        )
        result = content.lookup.results["breastfed_at_6_weeks", row["period"], *level]
        counted = (result.eligible, result.known, result.met, result.unknown)
        assert counted == tuple(int(row[name]) for name in ("eligible", "known", "met", "not known"))
        assert float(row["share"]) == pytest.approx(result.value, abs=1e-6)
        assert row["so far"] == ("no" if result.complete else "yes")


def test_a_saved_wait_has_its_days(view):
    go(view, measure="days_to_referral")
    _, written = saved(view, "csv")
    rows = list(csv.reader(written.decode("utf-8-sig").splitlines()))
    start = rows.index(["group", "day", "Jul-Sep 26", "Waiting and watched as the day began", "Jul-Sep 25"])
    assert [row[2] for row in rows[start + 1 :]] == texts(view, "#days tbody td:nth-child(2)")


@pytest.mark.parametrize("text", ["=1+1", "+1", "-1", "@x", "\t=1", 'a "b", c', "plain"])
def test_no_saved_cell_is_a_formula(view, text: str):
    (row,) = csv.reader([view.evaluate("cellOf", text)])
    assert row == ["'" + text if text[0] in "=+-@\t" else text]


def test_the_chart_is_saved_as_a_drawing_with_its_words(view):
    go(view, measure="seen_promptly", split="site")
    name, written = saved(view, "svg")
    assert name == "seen-promptly_site-4-groups_2024Q3-to-2026Q3.svg"
    drawing = ElementTree.fromstring(written)
    words = " ".join("".join(part.itertext()) for part in drawing.iter("{http://www.w3.org/2000/svg}text"))
    assert drawing.find("{http://www.w3.org/2000/svg}title").text.startswith("Seen promptly, site: ")
    shown = ("Seen promptly", "Harbour hub", "Mill Lane clinic", "July to September 2024", "Dotted line: everyone")
    for text in (*shown, "Data up to 14 October 2026", "Stays inside the service", "Invented Feeding Service"):
        assert text in words, text
    assert not list(drawing.iter("{http://www.w3.org/2000/svg}image"))


def test_the_chart_is_saved_as_a_picture(view):
    go(view, measure="days_to_referral")
    for button, name in (
        ("png][data-what=''", "days-to-referral_everyone_2024Q3-to-2026Q3.png"),
        ("png][data-what='curve'", "days-to-referral_curve_everyone_2026Q3.png"),
    ):
        called, written = saved(view, button)
        assert called == name
        assert written.startswith(b"\x89PNG")
        width, height = struct.unpack(">II", written[16:24])
        assert width == 2000  # for a slide, whatever the screen
        assert 500 < height < 1200
        assert len(written) > 15_000, "there is something on it"


def test_long_lists_are_shortened_by_what_is_typed(view):
    go(view, measure="seen_promptly")
    every = texts(view, "#measure option")
    view.fill("#measure-find", "WEEKS breastfed")
    fitting = [name for name in every if "weeks" in name.lower() and "breastfed" in name.lower()]
    assert 0 < len(fitting) < len(every)
    # The one that is chosen stays: a list does not choose by itself.
    assert texts(view, "#measure option") == [view.inner_text("#said").split(": ")[1].split(",")[0], *fitting]
    assert view.inner_text("#found") == f"{len(fitting)} found."
    view.press("#measure-find", "Enter")
    assert f"Shown: {fitting[0]}, everyone," in view.inner_text("#said")
    assert view.evaluate("document.activeElement.id") == "measure-find"
    view.fill("#measure-find", "no such measure")
    assert texts(view, "#measure option") == [fitting[0]]
    assert view.inner_text("#found") == "0 found."
    view.fill("#measure-find", "")


@pytest.fixture(scope="module")
def large(window, tmp_path_factory: pytest.TempPathFactory):
    """Sixty sites and six years: the same figures under sixty names and further names of quarters."""
    results, waits = report_content.frames()
    one = results[(results["breakdown"] == "site") & (results["level"] == "Harbour hub")]
    few = results[results["breakdown"].isin(["all"])]
    sites = [one.assign(level=f"Clinic {number:02}") for number in range(60)]
    older = [few.assign(period=few["period"].str.replace(r"^\d+", lambda year: str(int(year[0]) - 3), regex=True))]
    many = lookup.read(pd.concat([few, *older, *sites]), waits)
    large = write_explorer(replace(content, lookup=many), tmp_path_factory.mktemp("large") / "explore.html")
    opened = window.new_page()
    opened.set_viewport_size({"width": 390, "height": 844})
    opened.goto(large.as_uri())
    yield opened
    opened.close()


def test_sixty_groups_are_found_and_shown(large):
    go(large, measure="seen_promptly", split="site")
    assert len(large.query_selector_all("#boxes input:checked")) == 12
    large.click("#none")
    large.fill("#groups-find", "clinic 4")
    assert (
        len([box for box in large.query_selector_all("#boxes label") if box.is_visible()]) == 15
    )  # 04, 14, 24, 34, 54 too
    assert large.inner_text("#found") == "15 found."
    large.press("#groups-find", "Enter")
    assert "site: Clinic 04, " in large.inner_text("#said")
    large.click("#every")
    assert "site: 15 of 60 groups, " in large.inner_text("#said")
    large.fill("#groups-find", "")
    large.click("#every")
    assert "site: all 60 groups, " in large.inner_text("#said")
    assert len(table_of(large)) == 9 + 60 + 2, "everyone's quarters, each group's last one, two titles"
    assert "Of so many groups the tables hold Jul-Sep 26 only; the CSV holds all." in large.inner_text(
        "#figures caption"
    )
    assert large.evaluate("csvOf(current)").count("Clinic 59,") == 9
    assert len(large.query_selector_all("#chart .subplot.xy, #chart [class*='subplot x']")) == 60
    assert large.evaluate("document.documentElement.scrollWidth") <= 390


def test_a_quarter_among_many_is_found(large):
    go(large, measure="seen_promptly")
    assert len(large.query_selector_all("#to option, #from option")) > 20
    large.fill("#from-find", "2022 october")
    assert texts(large, "#from option") == ["October to December 2022", "July to September 2024"]


def test_axe_finds_nothing_in_what_is_chosen(sized):
    opened, _ = sized
    go(opened, measure="days_to_referral", split="site")
    opened.locator("#points button").first.evaluate("point => point.click()")
    assert opened.is_visible("#behind-command")
    assert violations(opened) == []


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
        inside = "found => found.every(table => table.getBoundingClientRect().right <= innerWidth)"
        assert opened.eval_on_selector_all("table", inside), choice


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
