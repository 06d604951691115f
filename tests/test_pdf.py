"""The PDF of the service edition: every table is in its text, it is tagged, and what is missing is said."""

from __future__ import annotations

import html
import json
import re
import subprocess
import sys
from dataclasses import replace
from pathlib import Path
from typing import Any

import pypdf
import pytest

from pipeline.errors import Refused
from pipeline.report.pages import pdf
from pipeline.report.pages.service_page import write_service_edition
from tests import report_content
from tests.conftest import made_once
from tests.reading_pages import broken_rows, read, together

FOOT = 45.0  # points; below stand the service, where it may go and the number of the sheet


def said_and_placed(sheet: pypdf.PageObject) -> tuple[str, list[tuple[float, float, str]]]:
    """The text of a sheet; what stands above its foot: how high, its size in points, its words; drawings left out."""
    seen: list[tuple[float, float, str]] = []

    def see(text: str, moved: list[float], placed_at: list[float], _font: object, size: float) -> None:
        if text.strip() and moved[0] != 1:  # in a drawing nothing is moved, for it has measures of its own
            seen.append((placed_at[5] * moved[3] + moved[5], abs(size * placed_at[3] * moved[3]), text.strip()))

    said = sheet.extract_text(visitor_text=see)
    return said, [text for text in seen if text[0] > FOOT]


def written_and_read(folder: Path) -> str:
    """Write a page and its document; the text of each page of the document, as JSON, which takes seconds to read."""
    folder.mkdir()
    page = write_service_edition(report_content.content(), folder / "service.html")
    document = pdf.write(page, folder / "service.pdf")
    sheets = [said_and_placed(sheet) for sheet in pypdf.PdfReader(document).pages]
    return json.dumps([[said for said, _ in sheets], [placed for _, placed in sheets]])


@pytest.fixture(scope="module")
def made(drawn_by_pango: None, tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    """A page and its document."""
    folder, _ = made_once(tmp_path_factory, "pdf", written_and_read)
    return folder / "service.html", folder / "service.pdf"


@pytest.fixture(scope="module")
def texts(drawn_by_pango: None, tmp_path_factory: pytest.TempPathFactory) -> list[str]:
    """The text of each page of the document."""
    return list(json.loads(made_once(tmp_path_factory, "pdf", written_and_read)[1])[0])


@pytest.fixture(scope="module")
def sheets(drawn_by_pango: None, tmp_path_factory: pytest.TempPathFactory) -> list[list[tuple[float, float, str]]]:
    """The texts of each page with their places."""
    return list(json.loads(made_once(tmp_path_factory, "pdf", written_and_read)[1])[1])


def test_every_row_of_every_table_is_in_the_text(made: tuple[Path, Path], texts: list[str]):
    page, _ = made
    text = together("".join(texts))
    tables = read(page.read_text(encoding="utf-8")).tables
    assert len(tables) > 50
    rows = [together("".join(row)) for table in tables.values() for row in table]
    assert len(rows) > 1000
    assert broken_rows(page.read_text(encoding="utf-8"), texts) == []
    # A row that breaks over two lines comes in pieces.
    assert sum(row not in text for row in rows) < len(rows) / 20


def test_it_is_tagged_in_english_and_has_a_title(made: tuple[Path, Path]):
    """PDF/UA-1 (ISO 14289-1): marked content, a language, a title that is shown, the part it claims to keep to."""
    reader = pypdf.PdfReader(made[1])
    root = reader.trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"]
    assert root["/Lang"] == "en-GB"
    assert root["/ViewerPreferences"]["/DisplayDocTitle"]
    assert reader.metadata.title == "Invented Feeding Service: service edition, July to September 2026, Q2 2026/27"
    assert "pdfuaid:part" in root["/Metadata"].get_data().decode("utf-8")
    kinds = set()
    waiting = [root["/StructTreeRoot"]]
    while waiting:
        node = waiting.pop().get_object()
        if isinstance(node, pypdf.generic.DictionaryObject):
            kinds.add(str(node.get("/S")))
            waiting += [node["/K"]] if "/K" in node else []
        elif isinstance(node, pypdf.generic.ArrayObject):
            waiting += list(node)
    assert {"/H1", "/H2", "/H3", "/Table", "/TR", "/TH", "/TD", "/Figure", "/L"} <= kinds


def test_its_pages_are_a4_and_numbered_and_the_summary_is_two_of_them(made: tuple[Path, Path], texts: list[str]):
    pages = pypdf.PdfReader(made[1]).pages
    # ISO 216: A4 is 210 by 297 mm.
    assert {tuple(round(float(side) * 25.4 / 72) for side in page.mediabox[2:]) for page in pages} == {(210, 297)}
    assert [f"{number} / {len(pages)}" in text for number, text in enumerate(texts, 1)] == [True] * len(pages)
    assert "What happened to everyone" in texts[0]
    assert "At a glance" in texts[1]
    assert ["Contents" in text for text in texts[:3]] == [False, False, True]


def test_no_sheet_is_nearly_empty_and_none_ends_with_a_heading(made: tuple[Path, Path], sheets: list[list[list[Any]]]):
    """Under a quarter filled, the last apart; the heading of a part, a measure or a table alone at a foot."""
    page = made[0].read_text(encoding="utf-8")
    titles = re.findall(r"<(h[2-4]|caption)\b[^>]*>(.*?)</\1>", page, re.DOTALL)
    headings = {together(html.unescape(re.sub("<[^>]*>", "", words))) for _, words in titles}
    assert len(headings) > 40
    assert len(sheets) > 5
    top = 842 - 40  # points of an A4 sheet below its upper margin
    for number, texts in enumerate(sheets, 1):
        lowest = min(at for at, _, _ in texts)
        line = together("".join(words for at, _, words in texts if at < lowest + 1))
        assert line not in headings, f"sheet {number} ends with a heading: {line}"
        assert number == len(sheets) or (top - lowest) / (top - FOOT) > 0.25, f"sheet {number} is nearly empty"


def test_a_verdict_is_printed_in_eight_and_a_half_points_or_more(sheets: list[list[list[Any]]]):
    endings = ("within chance", "more than chance gives", "cannot be said")
    sizes = [(size, words) for texts in sheets for _, size, words in texts if any(end in words for end in endings)]
    assert len(sizes) > 20
    assert [words for size, words in sizes if size < 8.4 and "now," in words] == []


def test_the_same_page_gives_the_same_bytes_in_another_process(drawn_by_pango: None, tmp_path: Path):
    # Every kind of table and drawing, but a measure of each kind, by site and deprivation: all take twenty seconds.
    content = report_content.content()
    kinds = {measure.kind: measure for measure in content.measures}
    glance = tuple(measure.name for measure in kinds.values())
    few = replace(
        content,
        measures=tuple(kinds.values()),
        breakdowns=tuple(split for split in content.breakdowns if split.name in ("all", "site", "deprivation_fifth")),
        settings=replace(content.settings, at_a_glance=glance, standards={}),
    )
    page = write_service_edition(few, tmp_path / "service.html")
    document = pdf.write(page, tmp_path / "service.pdf")
    code = (
        "import sys; from pathlib import Path; from pipeline.report.pages import pdf; "
        "pdf.write(*map(Path, sys.argv[1:]))"
    )
    again = tmp_path / "again.pdf"
    subprocess.run([sys.executable, "-c", code, page, again], check=True, env={"PYTHONHASHSEED": "7"})
    assert again.read_bytes() == document.read_bytes()


def test_a_page_that_asks_for_something_gets_nothing(drawn_by_pango: None, tmp_path: Path):
    # A picture that WeasyPrint would embed, where it may read files.
    (tmp_path / "dot.svg").write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="9" height="9"><text y="9">behind</text></svg>', encoding="utf-8"
    )
    page = tmp_path / "page.html"
    page.write_text(f'<p>the page</p><img alt="" src="{(tmp_path / "dot.svg").as_uri()}">', encoding="utf-8")
    document = pdf.write(page, tmp_path / "page.pdf")
    assert pypdf.PdfReader(document).pages[0].extract_text().strip() == "the page"


@pytest.mark.parametrize(
    ("raised", "found", "mend"),
    [
        (ImportError("no module"), "WeasyPrint is not installed", "pip install -e '.[pdf]'"),
        (OSError("cannot load library 'libpango-1.0-0'\nmore"), "cannot load Pango (cannot load", "libpango-1.0-0"),
    ],
)
def test_what_is_missing_is_said_before_any_work(monkeypatch: pytest.MonkeyPatch, raised, found, mend):
    class Missing:
        def find_spec(self, name, path=None, target=None):
            if name == "weasyprint":
                raise raised

    for name in [module for module in sys.modules if module.split(".")[0] == "weasyprint"]:
        monkeypatch.delitem(sys.modules, name)
    monkeypatch.setattr(sys, "meta_path", [Missing(), *sys.meta_path])
    with pytest.raises(Refused) as refused:
        pdf.see_that_it_can_be_made()
    (fault,) = refused.value.faults
    assert found in fault.found
    assert mend in fault.mend
    assert "open service.html in a browser and print it" in fault.mend
