"""The practitioner edition in a browser: on a phone, printed, and with something typed into it."""

from __future__ import annotations

import re
import zlib
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page

from pipeline import run
from tests.asking_axe import violations
from tests.conftest import INVENTED
from tests.test_practitioner import CUT_OFF, OWN, PERIOD, export
from tests.test_report_browser import TABLES, VISIBLE


@pytest.fixture(scope="module")
def address(tmp_path_factory: pytest.TempPathFactory) -> str:
    folder = run.new(tmp_path_factory.mktemp("one") / "audit").parent
    run.load(folder, export(tmp_path_factory.mktemp("one") / "export"), CUT_OFF, accept_anyway=INVENTED)
    return run.practitioner(folder, OWN, PERIOD).page.as_uri()


def opened(browser: Browser, address: str, width: int, scripts: bool = True) -> Page:
    view = browser.new_context(viewport={"width": width, "height": 844}, java_script_enabled=scripts).new_page()
    view.goto(address)
    return view


@pytest.mark.parametrize("width", [1280, 390])
def test_axe_finds_nothing(browser: Browser, address: str, width: int) -> None:
    view = opened(browser, address, width)
    assert violations(view) == []
    view.context.close()


def test_the_first_screen_of_a_phone_says_whose_what_and_that_numbers_are_small(browser: Browser, address: str) -> None:
    view = opened(browser, address, 390)
    for words in ("Practitioner edition.", f"Practitioner {OWN}", "January to March 2026", "These numbers are small."):
        box = view.get_by_text(words, exact=False).first.bounding_box()
        assert box is not None
        assert box["y"] + box["height"] <= 844, words
    assert view.evaluate("document.documentElement.scrollWidth") <= 390
    # Nothing to push sideways either: every table fits.
    assert (
        view.evaluate("[...document.querySelectorAll('.scroll')].filter(e => e.scrollWidth > e.clientWidth).length")
        == 0
    )
    view.context.close()


def test_with_scripts_off_it_opens_asks_for_nothing_and_takes_what_is_typed(browser: Browser, address: str) -> None:
    context = browser.new_context(java_script_enabled=False)
    view = context.new_page()
    asked: list[str] = []
    said: list[str] = []
    context.on("request", lambda request: asked.append(request.url))
    view.on("console", lambda message: said.append(message.text))
    view.goto(address)
    box = view.get_by_role("textbox", name="What went well?")
    box.click()
    view.keyboard.type("A family who had nearly given up.")
    assert box.inner_text() == "A family who had nearly given up."
    assert view.get_by_role("textbox").count() == 8
    assert asked == [address]
    assert said == []
    context.close()


def test_what_is_typed_prints_whole(browser: Browser, address: str, tmp_path: Path) -> None:
    """However long: as high as it needs on the screen, and over the page's end in print."""
    view = opened(browser, address, 1280)
    before = pages(view.pdf(path=tmp_path / "before.pdf", prefer_css_page_size=True))
    box = view.get_by_role("textbox", name="What surprised me?")
    box.click()
    view.keyboard.insert_text("\n".join(f"line {number}" for number in range(300)))
    assert box.evaluate("e => e.scrollHeight <= e.clientHeight")
    after = pages(view.pdf(path=tmp_path / "after.pdf", prefer_css_page_size=True))
    # Three hundred lines of 15 points are 4500 points, and A4 has 842: at least five pages more.
    assert after >= before + 5
    view.context.close()


def pages(pdf: bytes) -> int:
    """How many pages a PDF has, by the objects in it, packed or not."""
    packed = re.findall(rb"stream\r?\n(.*?)\r?\nendstream", pdf, re.DOTALL)
    texts = [pdf]
    for stream in packed:
        try:
            texts.append(zlib.decompress(stream))
        except zlib.error:
            continue
    return sum(len(re.findall(rb"/Type\s*/Page\b", text)) for text in texts)


def test_in_print_every_table_is_there_and_there_is_room_to_write(browser: Browser, address: str) -> None:
    view = opened(browser, address, 700)
    view.emulate_media(media="print")
    assert view.evaluate(VISIBLE) == view.evaluate(f"{TABLES}.length") >= 5
    heights = view.evaluate("[...document.querySelectorAll('.room')].map(e => e.getBoundingClientRect().height)")
    assert len(heights) == 8
    assert min(heights) >= 60  # two lines of eight millimetres
    assert view.evaluate("getComputedStyle(document.querySelector('.room')).backgroundImage").startswith("linear-grad")
    view.context.close()
