"""The lists of cases in a browser: they ask for nothing, fit a phone, print whole, and can be used by anyone."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from pipeline.outcomes.due import CLOSING, OPEN, OPENS, Due, HeldBack, Source, ToAsk
from pipeline.outcomes.look_again import CaseToLookAt, Reason
from pipeline.report.pages import due_page, look_again_page
from tests.asking_axe import violations
from tests.test_report_browser import TABLES, VISIBLE

ON = date(2026, 10, 12)
CASES = tuple(
    CaseToLookAt(f"case-{number:02}", None if number % 5 else "P1", ON, "words of the record, " * 3)
    for number in range(60)
)
REASONS = (Reason("many", "Many", "Why they stand here.", CASES), Reason("nobody", "Nobody", "Why.", ()))
TO_ASK = tuple(
    ToAsk(
        place, f"{place}-{number}-{'x' * 40}", "A site with a long name", "P1", ON, ON + timedelta(7),
        ON + timedelta(21), 21, "stopped_breastfeeding", ON - timedelta(9),
    )
    for place in (CLOSING, OPEN, OPENS)
    for number in range(20)
)  # fmt: skip
DUE = Due(ON, 14, TO_ASK, (HeldBack("held", "closed: care elsewhere"),), 3, (Source("", ON - timedelta(9), 0),))
PAGES = {
    "due": due_page.page(DUE, "The service"),
    "nobody due": due_page.page(Due(ON, 14, (), (), 0, (Source("", ON - timedelta(9), 1),)), "The service"),
    "look again": look_again_page.page(REASONS, "The service", "2026Q3", ON),
}


@pytest.mark.parametrize("width", [1280, 320])
@pytest.mark.parametrize("name", PAGES)
def test_a_list_can_be_used_by_anyone(browser, tmp_path, name, width):
    path = tmp_path / "page.html"
    path.write_text(PAGES[name], encoding="utf-8")
    context = browser.new_context(viewport={"width": width, "height": 900})
    view, asked, said = context.new_page(), [], []
    context.on("request", lambda request: asked.append(request.url))
    view.on("console", lambda message: said.append(message.text))
    view.goto(path.as_uri())
    assert view.evaluate("document.documentElement.scrollWidth") <= width
    assert view.evaluate("getComputedStyle(document.body).backgroundColor") == "rgb(253, 252, 250)"
    assert violations(view) == []
    assert (asked, said) == ([path.as_uri()], [])
    view.emulate_media(media="print")
    assert (
        view.evaluate(VISIBLE)
        == view.evaluate(f"{TABLES}.length")
        == {"due": 2, "nobody due": 0, "look again": 1}[name]
    )
    context.close()
