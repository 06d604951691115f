"""What a reader takes away: figures.xlsx, read back by another program, and the charts as files."""

from __future__ import annotations

import csv
import io
import re
import struct
import sys
from dataclasses import replace
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import numpy as np
import openpyxl
import pandas as pd
import pytest

from pipeline import run
from pipeline.contracts import places
from pipeline.contracts.measure_files import PROPORTION, measures
from pipeline.errors import Refused
from pipeline.judgement.months import ABOVE, judge
from pipeline.outcomes.by_month import MONTH_COLUMNS
from pipeline.outcomes.lookup import ALL, Result
from pipeline.report.charts.looks import FONT
from pipeline.report.content.edition import EditionContent
from pipeline.report.pages.service_page import page
from pipeline.report.take_away import chart_slides, png
from pipeline.report.take_away.columns import SHARE, Column, Sheet
from pipeline.report.take_away.figure_sheets import sheet_name
from pipeline.report.take_away.figures_workbook import FIRST_SHEET, write_figures
from tests.report_content import PERIOD, content, without_cases

MEASURE = "seen_promptly"


def read_back(made: EditionContent, path: Path) -> Any:
    return openpyxl.load_workbook(io.BytesIO(write_figures(made, path).read_bytes()))


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Any:
    """The workbook of the invented content; it is only read."""
    return read_back(content(), tmp_path_factory.mktemp("figures") / "figures.xlsx")


def lines(sheet: Any) -> list[dict[str, Any]]:
    heads, *rows = sheet.iter_rows(values_only=True)
    return [dict(zip(heads, row, strict=True)) for row in rows]


def with_figure(result: Result) -> EditionContent:
    """The content with that figure for everyone."""
    lookup = content().lookup
    figures = {**lookup.results, (MEASURE, PERIOD, ALL, ALL): result}
    return replace(content(), lookup=replace(lookup, results=figures))


def test_a_share_stands_with_its_counts_its_interval_and_its_unknown_in_cells_of_their_own(tmp_path: Path):
    # The figure of the README: 21 of 36 known (58%, 95% interval 42 to 73%); 4 not known. Bounds: 21/40 and 25/40.
    told = Result(40, 36, 21, 4, 21 / 36, 0.422, 0.729, 21 / 40, 25 / 40, complete=False, of=36)
    sheet = read_back(with_figure(told), tmp_path / "figures.xlsx")["At a glance"]
    line = lines(sheet)[0]
    assert [line[head] for head in ("Met", "Of", "Eligible", "Known", "Not known")] == [21, 36, 40, 36, 4]
    assert line["Share"] == pytest.approx(0.58333, abs=1e-5)
    assert [line[head] for head in ("95% from", "95% to", "If none of these", "If all of these", "So far")] == [
        *(0.422, 0.729, 0.525, 0.625, "yes")
    ]
    assert sheet["D2"].number_format == "0%"
    assert sheet["G2"].number_format == "#,##0"


def test_a_share_that_is_nearly_nought_is_not_shown_as_nought(tmp_path: Path):
    rare = Result(400, 400, 1, 0, 1 / 400, 0.0004, 0.014, 1 / 400, 1 / 400, complete=True, of=400)
    sheet = read_back(with_figure(rare), tmp_path / "figures.xlsx")["At a glance"]
    assert sheet["D2"].number_format == "0.0%"


def test_every_sheet_can_be_read_printed_and_filtered(book: Any):
    assert book.sheetnames[0] == FIRST_SHEET
    told = [cell for row in book[FIRST_SHEET].iter_rows(values_only=True) for cell in row if cell]
    assert any("July to September 2026" in cell for cell in told)
    assert any("14 October 2026" in cell for cell in told)
    assert any("inside the service" in cell for cell in told)
    assert set(book.sheetnames[1:]) <= set(told)
    for sheet in book:
        setup = sheet.page_setup, sheet.sheet_properties.pageSetUpPr
        assert setup[0].orientation == "landscape"
        assert (setup[1].fitToPage, setup[0].fitToHeight) == (True, 0), sheet.title
        assert all(sheet.column_dimensions[cell.column_letter].width for cell in sheet[1] if cell.value), sheet.title
        if sheet.title != FIRST_SHEET:
            assert sheet.freeze_panes.endswith("2"), sheet.title
            assert sheet.auto_filter.ref == sheet.dimensions
            assert "inside the service" in sheet.oddFooter.center.text
            heads = [cell.value for cell in sheet[1]]
            assert all(heads), sheet.title
            assert len(heads) == len(set(heads)), sheet.title
            if "Share" in heads:  # its denominator and its unknown stand in the same line
                assert {"Of", "Not known"} <= set(heads), sheet.title


def test_there_is_a_sheet_for_every_question_and_a_line_for_every_measure_of_it(book: Any):
    for name, section in (("Did help come first", "help_first"), ("What happened at and after", "division")):
        titles = {measure.title for measure in content().measures if measure.section == section}
        assert {line["Measure"] for line in lines(book[name])} == titles


def test_the_flow_has_every_case_once(book: Any):
    """The counts are those of tests/report_content.py, added up there by hand: 96 settled, 260 in all."""
    flow = lines(book["Everyone"])
    assert (flow[0]["Route"], flow[0]["All"]) == ("Settled", 41 + 18 + 6 + 8 + 14 + 9)
    assert (flow[-1]["Route"], flow[-1]["All"]) == ("All", 96 + 38 + 42 + 16 + 10 + 4 + 41)


def test_the_months_of_the_charts_over_time_are_there_with_their_counts(tmp_path: Path):
    # Two months by hand: 3 of 4 known of 5, and nobody at all. Two months are too few for what is usual.
    frame = pd.DataFrame(
        [(MEASURE, "2026-05", 5, 4, 3, 4), (MEASURE, "2026-06", 0, 0, 0, 0)], columns=list(MONTH_COLUMNS)
    )
    monthly = judge(["2026-05", "2026-06"], np.array([3, 0]), np.array([4, 0]), None, None)
    made = replace(content(), months=frame, over_time={MEASURE: monthly})
    may, june = lines(read_back(made, tmp_path / "figures.xlsx")["Month by month"])
    assert list(may.values()) == ["Seen promptly", "May 2026", 0.75, 3, 4, 5, 1, None, None, None, ""]
    assert list(june.values()) == ["Seen promptly", "Jun 2026", None, 0, 0, 0, 0, None, None, None, ""]
    # One that is further away than chance takes it, of limits that are stated here.
    limits = {name: np.array([at, at]) for name, at in (("centre", 0.2), ("lower", 0.1), ("upper", 0.3))}
    judged = replace(made, over_time={MEASURE: replace(monthly, **limits, outside=((0, ABOVE),))})
    may = lines(read_back(judged, tmp_path / "figures.xlsx")["Month by month"])[0]
    assert list(may.values())[-4:] == [0.2, 0.1, 0.3, "above"]


def test_no_cell_is_a_formula_or_a_link_whatever_the_records_call_things(tmp_path: Path):
    titles = ("=1+1", "+1", "-1", "@SUM(A1)", "https://example.org/", "mailto:one@example.org")
    measures = [replace(one, title=title) for one, title in zip(content().measures, titles, strict=False)]
    settings = replace(content().settings, service='=HYPERLINK("https://example.org")')
    hostile = replace(content(), measures=(*measures, *content().measures[len(titles) :]), settings=settings)
    book = read_back(hostile, tmp_path / "figures.xlsx")
    cells = [cell for sheet in book for row in sheet.iter_rows() for cell in row if cell.value is not None]
    texts = {cell.value for cell in cells if isinstance(cell.value, str)}
    assert {"'=1+1", "'+1", "'-1", "'@SUM(A1)", "https://example.org/", "mailto:one@example.org"} <= texts
    assert {cell.data_type for cell in cells} <= {"s", "n"}
    assert not [text for text in texts if text.startswith(("=", "+", "-", "@"))]
    assert not [cell for cell in cells if cell.hyperlink]


def test_the_same_content_gives_the_same_bytes_and_no_cases_give_a_workbook_too(tmp_path: Path):
    first, second = (write_figures(content(), tmp_path / name).read_bytes() for name in ("a.xlsx", "b.xlsx"))
    assert first == second
    assert "At a glance" in read_back(without_cases(), tmp_path / "c.xlsx").sheetnames


def test_a_sheet_s_name_is_what_a_workbook_takes_and_ends_with_a_word():
    assert sheet_name("What happened at and after division?") == "What happened at and after"
    assert sheet_name("A/B: [one]*") == "AB one"


def test_a_row_that_has_not_one_cell_a_column_is_refused():
    with pytest.raises(ValueError, match="one cell a column"):
        Sheet("x", "y", (Column("a", SHARE, 9),), ((1, 2),))


def test_the_demo_s_figures_are_those_of_the_results_and_name_no_case(demo: tuple[Path, str]):
    place = demo[0] / "editions" / PERIOD
    with (place / "results.csv").open(encoding="utf-8", newline="") as file:
        results = {
            row["measure"]: row
            for row in csv.DictReader(file)
            if (row["period"], row["level"], row["kind"]) == (PERIOD, "all", PROPORTION)
        }
    book = openpyxl.load_workbook(place / "figures.xlsx")
    titles = {measure.title: measure.name for measure in measures()}
    compared = 0
    for sheet in book.worksheets[1:]:
        for line in lines(sheet) if "Group" in [cell.value for cell in sheet[1]] else ():
            row = results.get(titles.get(line["Measure"], ""))
            if row and line["Group"] == "Everyone" and line["Period"] == "Jul-Sep 26" and "Known" in line:
                assert [line[head] for head in ("Met", "Known", "Eligible", "Not known")] == [
                    int(row[name]) for name in ("met", "known", "eligible", "unknown")
                ]
                assert line["Share"] == pytest.approx(float(row["value"]))
                compared += 1
    assert compared > 10
    with (places.DEMO_EXPORT / "cases.csv").open(encoding="utf-8-sig", newline="") as file:
        cases = {row["case_ref"] for row in csv.DictReader(file)}
    texts = {cell for sheet in book for row in sheet.iter_rows(values_only=True) for cell in row}
    assert not cases & texts


SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(scope="module")
def drawings(tmp_path_factory: pytest.TempPathFactory) -> dict[str, ElementTree.Element]:
    """Every chart of the invented content, by its file's name, read as XML."""
    files = chart_slides.write_charts(content(), (), "svg", tmp_path_factory.mktemp("charts") / "new" / "folder")
    return {path.name: ElementTree.fromstring(path.read_text(encoding="utf-8")) for path in files}


def test_every_chart_of_the_page_has_a_file_and_no_other(drawings: dict[str, ElementTree.Element]):
    shown = page(content())
    named = re.findall(r'<title id="([\w-]+)-wide-title">', shown)
    assert len(named) == shown.count('<svg class="wide"')  # no chart goes by another name, and is missed here
    drawn = set(named)
    assert len(drawn) > 20
    assert set(drawings) == {f"2026Q3-{name}.svg" for name in drawn}


def test_a_drawing_says_what_it_is_and_can_be_read_across_a_room(drawings: dict[str, ElementTree.Element]):
    for name, drawing in drawings.items():
        words = " ".join(text.text or "" for text in drawing.findall(f"{SVG}text"))
        inner = drawing.find(f"{SVG}svg")
        assert "Invented Feeding Service, July to September 2026" in words, name
        assert "Data up to 14 October 2026. Stays inside the service" in words, name
        # Of how many, and how many are not known: in the heading, above the chart.
        beneath = " ".join(text.text or "" for text in drawing.findall(f"{SVG}text") if text.get("font-size") == "20")
        assert re.search("first seen in the period|[Nn]ot known|heard from|middle half|so no figure", beneath), name
        assert (inner.findtext(f"{SVG}title") or "?")[:12] in words, name  # the title of the page's chart
        assert re.search("Dot|A dot|Line|Each band", words), name  # its key
        width, height = float(drawing.get("width", 0)), float(drawing.get("height", 0))
        assert (width, height >= 720) == (1280, True), name
        # On a slide 13.33 inches wide 1280 units are 960 points: no type under 10 points.
        scale = float(inner.get("width", 0)) / float(inner.get("viewBox", "").split()[2])
        sizes = [float(one.get("font-size", 99)) * scale for one in inner.iter()]
        assert min(sizes) * 960 / 1280 >= 10, name
        top, high = (float(inner.get(of, 0)) for of in ("y", "height"))
        lines = [(float(text.get("y", 0)), float(text.get("font-size", 0))) for text in drawing.findall(f"{SVG}text")]
        assert [at for at, size in lines if at > top and at - size < top + high] == [], name  # none lies over the chart


def test_charts_are_taken_by_name_and_one_that_is_not_there_is_told_which_there_are(tmp_path: Path):
    files = chart_slides.write_charts(content(), ("flow", MEASURE), "svg", tmp_path)
    assert sorted(path.name for path in files) == ["2026Q3-flow.svg", f"2026Q3-{MEASURE}.svg"]
    with pytest.raises(Refused) as refused:
        chart_slides.write_charts(content(), ("flwo",), "svg", tmp_path)
    (fault,) = refused.value.faults
    assert (fault.where, fault.found) == ("--chart", "there is no chart flwo; most like it: flow")
    assert [f"    {name}" for name in ("flow", MEASURE)] == [
        line for line in fault.allowed.split("\n") if line.strip() in ("flow", MEASURE)
    ]


def test_a_drawing_has_the_counts_of_its_figure_above_it(tmp_path: Path):
    told = Result(40, 36, 21, 4, 21 / 36, 0.422, 0.729, 21 / 40, 25 / 40, complete=True, of=36)
    own, glance = chart_slides.write_charts(with_figure(told), (MEASURE, "glance"), "svg", tmp_path)
    sentence = "Everyone: 21 of 36 whose answer we know (58%, 95% interval 42 to 73%); 4 not known."
    written = {path: path.read_text(encoding="utf-8") for path in (own, glance)}
    assert any(sentence in text for text in written.values())
    assert "Not known, of everyone: " in "".join(written.values())
    assert any("Seen promptly 4 of 40" in text for text in written.values())


def test_a_picture_is_a_png_of_twice_the_size_with_letters_in_it(tmp_path: Path):
    (file,) = chart_slides.write_charts(content(), (MEASURE,), "png", tmp_path)
    written = file.read_bytes()
    assert (written[:8], struct.unpack(">II", written[16:24])) == (b"\x89PNG\r\n\x1a\n", (2560, 1440))
    svg = '<svg xmlns="http://www.w3.org/2000/svg" width="90" height="30">{}</svg>'
    family = f'font-family="{FONT}" y="20"'  # none of the families but the last need be on a machine
    assert png.picture(svg.format(f"<text {family}>words</text>")) != png.picture(svg.format(""))


def test_a_machine_without_the_families_of_a_drawing_draws_in_another_or_is_told_to_install_one(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
):
    """Left to itself resvg draws no letters there, and says nothing."""
    monkeypatch.setattr(png, "_drawn", lambda svg, name: svg.encode() if name == "Ubuntu" else b"the same")
    assert png.family("'Letters of another machine'") == "Ubuntu"
    monkeypatch.setattr(png, "_drawn", lambda svg, name: b"the same")
    monkeypatch.setattr(png, "FONT", "'No letters'")
    with pytest.raises(Refused) as refused:
        run.charts(tmp_path / "no audit folder", form="png")
    (fault,) = refused.value.faults
    assert "no letters are installed" in fault.found
    assert "fonts-liberation" in fault.mend and "--as svg" in fault.mend


def test_where_pictures_cannot_be_made_it_is_said_before_any_work(monkeypatch: pytest.MonkeyPatch, tmp_path: Path):
    monkeypatch.setitem(sys.modules, "resvg_py", None)
    with pytest.raises(Refused) as refused:
        run.charts(tmp_path / "no audit folder", form="png")
    (fault,) = refused.value.faults
    assert "resvg-py is not installed" in fault.found
    assert "pip install -e '.[png]'" in fault.mend
    assert "--as svg" in fault.mend
