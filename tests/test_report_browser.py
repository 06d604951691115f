"""The service edition in a browser: it asks for nothing, fits a phone, prints whole, and can be used by anyone."""

from __future__ import annotations

import io
import math
from dataclasses import replace

import pypdf
import pytest

from pipeline.report.pages.service_page import write_service_edition
from tests import report_content
from tests.asking_axe import violations
from tests.reading_pages import broken_rows, together
from tests.reading_paper import sheet_texts

# Every label of every drawing on show, with the drawing's own edges: what is cut off, and what lies over what.
LABELS = """() => {
  const found = [];
  const out = (box, edge) => box.left < edge.left - 0.5 || box.right > edge.right + 0.5
    || box.top < edge.top - 1 || box.bottom > edge.bottom + 1;
  const over = (box, other) => box.left < other.right - 1 && other.left < box.right - 1
    && box.top < other.bottom - 2 && other.top < box.bottom - 2;
  for (const svg of document.querySelectorAll('svg')) {
    const edge = svg.getBoundingClientRect();
    if (edge.width === 0) continue;
    const texts = [...svg.querySelectorAll('text')].map(text => [text.textContent, text.getBoundingClientRect()]);
    found.push(['drawn', svg.querySelector('title').textContent]);
    texts.forEach(([words, box], place) => {
      if (out(box, edge)) found.push(['cut off', words]);
      for (const [other, lies] of texts.slice(place + 1))
        if (over(box, lies)) found.push(['overlap', words + ' / ' + other]);
    });
  }
  return found;
}"""
HEADS = "[...document.querySelectorAll('h2, h3, h4, caption, thead tr, [scope=rowgroup]')]"
TABLES = "[...document.querySelectorAll('table')]"
VISIBLE = f"{TABLES}.filter(table => table.checkVisibility() && table.getBoundingClientRect().height > 20).length"


@pytest.fixture(scope="module")
def address(tmp_path_factory):
    path = tmp_path_factory.mktemp("edition") / "service.html"
    write_service_edition(report_content.content(), path)
    return path.as_uri()


def opened(browser, address, width, scripts=True):
    view = browser.new_context(viewport={"width": width, "height": 900}, java_script_enabled=scripts).new_page()
    view.goto(address)
    return view


@pytest.fixture(scope="module")
def views(browser, address):
    """The page at every width that was asked for: to lay it out takes longer than most that is looked at."""
    at = {}
    yield at
    for view in at.values():
        view.context.close()


@pytest.fixture
def shown(browser, address, views):
    """The page at a width, as it opens, for who changes nothing in it but the medium."""
    asked = []

    def at(width):
        view = views[width] if width in views else views.setdefault(width, opened(browser, address, width))
        asked.append(view)
        return view

    yield at
    for view in asked:
        view.emulate_media(media="null")  # as it was, not "screen": on paper that would stay
        assert view.evaluate("[scrollY, document.querySelectorAll('details[open]').length]") == [0, 0]


def test_with_scripts_off_it_opens_and_asks_for_nothing(browser, address):
    context = browser.new_context(java_script_enabled=False)
    view = context.new_page()
    asked, said = [], []
    context.on("request", lambda request: asked.append(request.url))
    view.on("console", lambda message: said.append(message.text))
    view.on("pageerror", lambda error: said.append(str(error)))
    view.goto(address)
    view.wait_for_timeout(300)
    assert view.get_by_role("heading", level=1).inner_text().endswith("July to September 2026, Q2 2026/27")
    assert asked == [address]
    assert said == []
    context.close()


def test_the_style_is_let_in_by_the_policy(shown):
    view = shown(1280)
    assert view.evaluate("getComputedStyle(document.body).backgroundColor") == "rgb(253, 252, 250)"


@pytest.mark.parametrize("width", [1280, 390])
def test_axe_finds_nothing(browser, tmp_path, width):
    # Every measure, everything unfolded, but one breakdown: axe looks at every cell, and has all of them in minutes.
    content = report_content.content()
    one = tuple(breakdown for breakdown in content.breakdowns if breakdown.name in ("all", "site"))
    write_service_edition(replace(content, breakdowns=one), tmp_path / "one_breakdown.html")
    view = opened(browser, (tmp_path / "one_breakdown.html").as_uri(), width)
    assert violations(view, contrast=width == 1280) == []
    view.context.close()


@pytest.mark.parametrize("width", [390, 320])
def test_a_phone_scrolls_down_only(shown, width):
    view = shown(width)
    assert view.evaluate("document.documentElement.scrollWidth") <= width
    assert view.evaluate("getComputedStyle(document.querySelector('svg.narrow')).display") == "block"
    assert view.evaluate("getComputedStyle(document.querySelector('svg.wide')).display") == "none"


def test_the_page_of_the_demo_is_as_long_as_a_board_reads(browser, demo):
    """Limits a little above what it takes on a screen, and the 30 sheets of A4 that were aimed at."""
    page = demo[0] / "editions" / "2026Q3" / "service.html"
    for width, most in ((1280, 37_500), (390, 47_500)):
        view = opened(browser, page.as_uri(), width)
        assert view.evaluate("document.documentElement.scrollHeight") < most
        if width == 1280:
            texts = sheet_texts(view.pdf(prefer_css_page_size=True))
            assert len(texts) <= 30
            assert [text for text in texts if "Stays inside the service" not in text] == []
            assert [number for number, text in enumerate(texts, 1) if len(text) < 300] == []  # none is nearly empty
            assert broken_rows(page.read_text(encoding="utf-8"), texts) == []
            heads = view.evaluate(f"{HEADS}.map(part => part.textContent)")
            last = [together(text.strip().splitlines()[-1]) for text in texts if "Contents\n" not in text]
            assert len(heads) > 100 and not set(last) & set(map(together, heads))
        view.context.close()


@pytest.mark.parametrize("width", [390, 320])
def test_what_opens_the_page_hides_nothing_on_a_phone(shown, width):
    view = shown(width)
    wider = "part => part.clientWidth && part.scrollWidth > part.clientWidth + 1"
    parts = "[...document.querySelectorAll('#this-quarter *, #everyone .scroll, #glance .scroll')]"
    assert view.evaluate(f"{parts}.filter({wider}).length") == 0
    # Cell under cell, and to who hears the page a table all the same.
    cells = "[...document.querySelectorAll('.at-a-glance tbody tr:first-child > *')]"
    assert len(set(view.evaluate(f"{cells}.map(cell => cell.getBoundingClientRect().left)"))) == 1
    assert view.get_by_role("table", name="The measures the service").get_by_role("columnheader").count() == 5


def test_a_phone_has_every_table_within_its_width_and_hears_its_rows(browser, address):
    view = opened(browser, address, 390)
    view.evaluate("document.querySelectorAll('details').forEach(part => { part.open = true; })")
    wider = "part => part.clientWidth && part.scrollWidth > part.clientWidth + 1"
    assert view.evaluate(f"[...document.querySelectorAll('.scroll')].filter({wider}).map(part => part.outerHTML)") == []
    # Cells under one another, each with its head, and a table all the same to who hears the page.
    plan = view.locator("#commentary table.stacks").last
    cells = "table => [...table.querySelectorAll('tbody tr')].at(-1).querySelectorAll('th, td')"
    assert (
        plan.evaluate(f"table => new Set([...({cells})(table)].map(cell => cell.getBoundingClientRect().left)).size")
        == 1
    )
    said = "cell => getComputedStyle(cell, '::before').content"
    assert plan.locator("td").first.evaluate(said) == '"Action: "'
    # Said in so many words: browsers forget what a part of a table is when it is laid out otherwise.
    assert plan.get_attribute("role") == "table"
    assert plan.locator("[role=row] > [role=columnheader]").count() == plan.locator("thead th").count() >= 5
    assert plan.locator("[role=row] > [role=cell]").count() == plan.locator("td").count() > 0
    view.context.close()


@pytest.mark.parametrize("width", [1280, 390])
def test_what_folds_on_a_phone_stands_open_beside_its_chart_where_there_is_room(browser, address, width):
    view = opened(browser, address, width, scripts=False)
    table = view.locator("#breastfed_at_6_weeks .unfolds table").first
    assert table.is_visible() == (width == 1280)
    if width == 390:
        view.locator("#breastfed_at_6_weeks .unfolds summary").click()
    else:
        chart = view.locator("#breastfed_at_6_weeks svg.narrow").bounding_box()
        assert table.bounding_box()["x"] > chart["x"] + chart["width"]
        assert table.bounding_box()["y"] < chart["y"] + chart["height"]
    assert table.is_visible()
    view.context.close()


def test_on_paper_two_sheets_hold_the_opening_and_nothing_makes_the_browser_shrink_the_page(shown):
    view = shown(1280)
    pages = pypdf.PdfReader(io.BytesIO(view.pdf(prefer_css_page_size=True))).pages
    sizes: dict[str, float] = {}
    for page in pages[:3]:
        page.extract_text(
            visitor_text=lambda text, cm, tm, font, size: sizes.setdefault(text.strip(), size * tm[0] * cm[0])
        )
    assert sizes["This quarter"] == pytest.approx(17, abs=0.1)  # as the style says
    texts = [page.extract_text() for page in pages[:3]]
    assert "What happened to everyone" in texts[0]
    assert "At a glance" in texts[1]
    assert "health professional on the day it arises." in texts[1]  # the last words of it
    # After the summary, which fills both sheets here.
    assert ["Contents\n" in text for text in texts] == [False, False, True]


def test_on_paper_verdicts_can_be_read(shown):
    view = shown(700)
    view.emulate_media(media="print")
    verdicts = "[...document.querySelectorAll('.at-a-glance td:last-child, .told li')]"
    sizes = view.evaluate(f"{verdicts}.map(part => parseFloat(getComputedStyle(part).fontSize))")
    assert len(sizes) > 6
    assert min(sizes) >= 8.5 / 0.75 - 0.01  # 8.5 pt: a point is 4/3 of a px


@pytest.mark.parametrize("width", [1280, 390])
def test_no_label_is_cut_off_or_lies_over_another(shown, width):
    view = shown(width)
    found = view.evaluate(LABELS)
    drawn = [words for kind, words in found if kind == "drawn"]
    # By group: one for each primary measure on a phone, else up to four of them abreast.
    primary = len(report_content.content().settings.at_a_glance)
    by_group = primary if width == 390 else math.ceil(primary / 4)
    # The flow, the summary, each site beside the others; one over time for each measure, one curve for each wait.
    assert len(drawn) == 1 + 2 + len(report_content.MEASURES) + 2 + by_group
    assert [finding for finding in found if finding[0] != "drawn"] == []


def test_every_table_is_there_in_print_though_folded_on_the_screen(shown):
    view = shown(700)
    tables = view.evaluate(f"{TABLES}.length")
    folds = view.evaluate("document.querySelectorAll('#tables details').length")
    assert tables > 50 and folds == len(report_content.MEASURES)
    assert view.evaluate(f"{VISIBLE}") < tables - folds
    view.emulate_media(media="print")
    assert view.evaluate(VISIBLE) == tables
    assert view.evaluate("document.querySelectorAll('details[open]').length") == 0
    assert view.evaluate("getComputedStyle(document.querySelector('nav')).display") == "none"
    assert view.evaluate("getComputedStyle(document.querySelector('#glance svg.wide')).display") == "block"
    # Beside its table a chart has half the paper's width: there the small drawing is the one that can be read.
    assert view.evaluate("getComputedStyle(document.querySelector('.drawn svg.narrow')).display") == "block"


def test_a_link_to_a_folded_part_unfolds_it_without_scripts(browser, address):
    view = opened(browser, address, 1280, scripts=False)
    name = "breastfed_at_6_weeks"
    table = view.locator(f"#definition-{name} table").last
    assert not table.is_visible()
    view.locator(f"#{name} a", has_text="Definition and breakdowns").click()
    table.wait_for(state="visible")
    # Its heading is on the screen, not above its edge.
    assert view.locator(f"#definition-{name}-head").bounding_box()["y"] >= 0
    assert view.locator("details[open]").count() == 1
    view.context.close()


def test_the_skip_link_comes_first_and_shows_when_it_has_the_focus(browser, address):
    view = opened(browser, address, 1280)
    view.keyboard.press("Tab")
    assert view.evaluate("document.activeElement.textContent") == "Skip to the figures"
    assert view.evaluate("document.activeElement.getBoundingClientRect().left") >= 0
    view.keyboard.press("Enter")
    assert view.evaluate("document.activeElement.id") == "main"
    view.context.close()
