"""Every sentence, table and chart of the demo's pages: what a reader can check with a pencil comes out right."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import pytest

from pipeline.contracts.measure_files import REPORTED_DAY
from pipeline.judgement.comparing import weigh
from pipeline.judgement.sides import Side
from pipeline.report.charts import captions, over_time
from pipeline.report.charts.looks import BAND, HALF, NARROW, ORANGE, PAPER
from pipeline.report.words import sentences, verdicts
from tests.reading_pages import read
from tests.test_report_wording import AGE, MEDIAN, RARE, SHARE, USUAL, WAIT, noted, result

PLACE = Path("editions") / "2026Q3"
PAGES = ("service.html", "technical.html", "trace.html", "cases_to_look_at_again.html")
# Two shares with nothing but words between them, and how far apart they are said to be.
APART = re.compile(r"([\d.]+)%[^%:]*?([\d.]+)%[^%:]*: ([\d.]+) percentage points?")
NOUNS = "lines|rows|cases|cells|days|weeks|months|quarters|values|columns|files|findings|actions|divisions|referrals"
MANY_OF_ONE = re.compile(rf"(?<![\d.,/])1 (?:{NOUNS}|requests|comparisons|events|repeats|things|reasons|times|years)\b")
NO_WIDTH = re.compile(r"(?<![\d.,−-])(\d+(?:\.\d+)?)%? to \1(?![\d.]|-)")
EMPTY = re.compile(r"\b\w+ ,| \.(?:\s|$)|\(\)|: ;|;;|,,")


def faults(text: str) -> list[str]:
    """What does not add up, or stumbles, in a text."""
    found = [
        match[0]
        for match in APART.finditer(text)
        if "." not in match[3] and abs(float(match[1]) - float(match[2])) != float(match[3])
    ]
    found += [match[0] for pattern in (MANY_OF_ONE, NO_WIDTH, EMPTY) for match in pattern.finditer(text)]
    return found + ["no difference"] * ("no difference" in text)


@pytest.mark.parametrize(
    "wrong",
    [
        "50% (of 54) now, 77% (of 99) then: 28 percentage points lower",
        "1 of 2 (50%) now, 0 of 3 (0%; 2 not known) then: 5 percentage points higher",
        "complications.csv, 1 lines",
        "5 cases in 1 cells",
        "95% interval 0 to 0%",
        "the middle half 5 to 5 days",
        "0 of 8 (0%) now, 0 of 9 (0%) then: no difference",
        "load of spring, source , cut-off",
        "aged ()",
    ],
)
def test_the_scan_finds_what_is_wrong(wrong: str):
    assert faults(wrong)


def test_nothing_on_the_demos_pages_or_terminal_is_wrong(demo: tuple[Path, str]):
    folder, said = demo
    assert faults(said) == []
    compared = 0
    for name in PAGES:
        reader = read((folder / PLACE / name).read_text(encoding="utf-8"))
        texts = [text for text in (" ".join(written.split()) for written in reader.texts) if text and "{" not in text]
        compared += sum(len(APART.findall(text)) for text in texts)
        assert [fault for text in texts for fault in faults(text)] == [], name
        cells = [cell for rows in reader.tables.values() for row in rows for cell in row]
        assert [fault for cell in cells for fault in faults(cell)] == [], name
    assert compared > 5


# Words of the records and of files: they stand in definitions and on the technical page.
INNER = re.compile(
    r"\beligible\b|\bcut-off\b|\bset aside\b|\bmet of\b|\bcompeting\b|\bSHA-256\b|%[dmY]|\bNUL\b", re.IGNORECASE
)


def test_a_board_reads_no_inner_words(demo: tuple[Path, str]):
    folder, said = demo
    page = (folder / PLACE / "service.html").read_text(encoding="utf-8")
    read_by_all = re.sub(r'<section id="(tables|commentary)".*?</section>', "", page.split("<main")[1], flags=re.DOTALL)
    assert len(read_by_all) > 100_000
    words = " ".join(" ".join(read(f"<main{read_by_all}").texts).split())
    assert [words[max(0, at.start() - 40) : at.end()] for at in INNER.finditer(words)] == []
    # The terminal says what a load did in the words of its lists; what it says of a report is read aloud too.
    assert INNER.findall(said[said.index("Report for") :]) == []


def test_every_key_names_what_its_charts_show_and_nothing_else(demo: tuple[Path, str]):
    """Charts that stand together have one key, so a section is asked as a whole."""
    page = (demo[0] / PLACE / "service.html").read_text(encoding="utf-8")
    keys = {"Pale band": BAND, "Broad bar": HALF, "Orange diamond": ORANGE, "Orange line": ORANGE}
    asked = 0
    for section in re.findall(r"<section.*?</section>", page, re.DOTALL):
        drawn = "".join(re.findall(r"<svg.*?</svg>", section, re.DOTALL))
        said = re.sub(r"<svg.*?</svg>", "", section, flags=re.DOTALL)
        for words, colour in keys.items():
            asked += words in said
            assert words not in said or colour in drawn, words
        assert BAND not in drawn or "Pale band" in said
        assert HALF not in drawn or "Broad bar" in said
        assert f'stroke="{PAPER}"' not in drawn or "ollow" in said
    assert asked > 5


def side(met: int, known: int, eligible: int) -> Side:
    return Side(eligible, known, met, known)


@pytest.mark.parametrize(
    ("first", "second", "said"),
    [
        # 12 of 35 is 34.3%, 15 of 64 is 23.4%: 34 less 23 is 11, and so is 10.85.
        ((12, 35, 35), (15, 64, 64), "11 percentage points higher"),
        # 45 of 99 is 45.5%, printed 45; 28 of 64 is 43.75%, printed 44: 1 on the page, 1.7 in truth.
        ((45, 99, 99), (28, 64, 64), "1.7 percentage points higher"),
        # 50 of 99 is 50.5%, printed 51; 50 of 100 is 50%: 1 on the page, 0.5 in truth, half up.
        ((50, 99, 99), (50, 100, 100), "1 percentage point higher"),
        # 49.4% and 50.6%: 2 on the page (49 and 51), 1.2 in truth.
        ((41, 83, 83), (42, 83, 83), "1.2 percentage points lower"),
        ((5, 10, 10), (6, 12, 12), "the same share"),
        ((0, 24, 24), (0, 21, 21), "none on either side"),
        # 33.33% and 33.56%, both printed 33 and 34: 0.2.
        ((30, 90, 90), (49, 146, 146), "0.2 percentage points lower"),
        ((30, 90, 90), (301, 900, 900), "less than 1 percentage point apart"),
    ],
)
def test_a_difference_is_that_of_the_printed_shares_or_has_a_decimal(
    first: tuple[int, int, int], second: tuple[int, int, int], said: str
):
    assert verdicts._moved(weigh(SHARE, side(*first), side(*second))) == said


def test_what_is_not_known_stands_beside_a_compared_share():
    assert verdicts._figure(weigh(SHARE, side(3, 4, 9), side(0, 0, 0)), side(3, 4, 9)) == "3 of 4 (75%; 5 not known)"
    heard = Side(9, 4, 3, 9)
    assert verdicts._figure(weigh(RARE, heard, heard), heard) == "3 of 9 (33%; 5 not heard from)"
    assert verdicts._figure(weigh(SHARE, side(3, 4, 4), side(0, 0, 0)), side(3, 4, 4)) == "3 of 4 (75%)"


@pytest.mark.parametrize(
    ("lower", "upper", "written"),
    [(0.42, 0.73, "42 to 73%"), (0.0, 0.004, "0 to 0.4%"), (0.451, 0.454, "45.1 to 45.4%"), (0.0, 0.0, "0%")],
)
def test_no_interval_is_without_width(lower: float, upper: float, written: str):
    assert sentences.interval(lower, upper) == written


def test_a_middle_half_without_width_is_said_as_one():
    flat = result(4, 4, None, 5.0, 5.0, 5.0)
    assert sentences.middle_half(flat) == "all 5 days"
    assert sentences.middle_half(MEDIAN) == "11 to 22 days"
    assert sentences.figure(AGE, flat, "divisions").endswith("the middle half all 5 days")


def test_the_middle_half_is_a_broad_bar_with_its_unit_and_a_share_a_line():
    ages = over_time.over_periods(AGE, [("2026Q3", MEDIAN)], None, NARROW)
    (dots,) = ages.data
    assert (dots["error_y"]["color"], dots["error_y"]["thickness"]) == (HALF, 5)
    assert ages.layout["yaxis"]["ticktext"][-1] == "28 days"
    shares = over_time.over_periods(SHARE, [("2026Q3", USUAL)], None, NARROW)
    assert shares.data[-1]["error_y"]["thickness"] == 1.5
    assert all(text.endswith("%") for text in shares.layout["yaxis"]["ticktext"])


def test_a_key_explains_only_the_marks_there_are():
    known = result(36, 36, 21, 21 / 36, 0.42, 0.73, 21 / 36, 21 / 36)
    assert captions.of_results(SHARE, [known]) == "Dot: share of those known. Line: 95% interval."
    assert captions.of_results(SHARE, [known, USUAL]).endswith("Pale band: what the unknown answers leave open.")
    assert captions.of_results(AGE, [MEDIAN]) == "Dot: the middle one. Broad bar: the middle half."
    assert captions.of_results(WAIT, [result(3, 0, 0)]) == ""
    still = noted(50, 44, 0, 0.0, 0.0, 0.07, 0.0, 0.12)
    assert captions.of_results(RARE, [replace(still, complete=False)]).endswith("leave open. Hollow: so far.")
    assert str(REPORTED_DAY) in captions.EVERYTHING[WAIT.kind]
