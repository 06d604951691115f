"""What leaves the service: the report, the figures and what describes them, made from frames made by hand."""

from __future__ import annotations

import csv
import html
import io
import json
import re
from collections import Counter
from dataclasses import replace
from decimal import ROUND_HALF_UP, Decimal
from pathlib import Path

import frictionless
import pandas as pd
import pypdf
import pytest

from pipeline.contracts import places
from pipeline.privacy.release.public_frame import PublicAction, PublicFrame
from pipeline.report.pages import pdf, published_page, safety_page
from pipeline.report.published import groups, plain_words
from pipeline.report.published.figures_package import FIGURES, PACKAGE, data_package, figures_csv
from tests import public_frames
from tests.asking_axe import violations
from tests.reading_pages import read, together
from tests.reading_paper import sheet_texts
from tests.test_editions import contrast_faults, faults
from tests.test_report_browser import LABELS

FRAMES = {
    "year": public_frames.year,
    "all withheld": public_frames.all_withheld,
    "activity only": public_frames.activity_only,
    "quarter": public_frames.quarter,
}


@pytest.fixture(scope="module", params=FRAMES)
def frame(request: pytest.FixtureRequest) -> PublicFrame:
    """Each kind of release."""
    return FRAMES[request.param]()


# ---- the figures and what describes them


def test_the_package_is_valid_and_describes_every_column(frame: PublicFrame, tmp_path: Path):
    (tmp_path / FIGURES).write_bytes(figures_csv(frame))
    (tmp_path / PACKAGE).write_bytes(data_package(frame, figures_csv(frame)))
    # frictionless validates the descriptor, the number of bytes, the hash, and every cell against its field.
    with frictionless.system.use_context(trusted=True):
        report = frictionless.Package(str(tmp_path / PACKAGE)).validate()
    assert report.valid, report.flatten(["type", "message"])
    assert report.tasks[0].stats["rows"] == len(frame.figures)
    described = json.loads(data_package(frame, figures_csv(frame)))
    fields = described["resources"][0]["schema"]["fields"]
    assert [field["name"] for field in fields] == list(frame.figures.columns)
    assert all(len(field["description"]) > 20 for field in fields)
    assert described["period"] == frame.period
    assert described["definitions_version"] == "0.4.0"
    assert described["licenses"] == [{"name": "other", "path": "https://creativecommons.org/licenses/by/4.0/"}]
    assert described["marks"].keys() == {"c", "low", "w"}


def test_the_figures_are_the_frames_own(frame: PublicFrame):
    read = list(csv.DictReader(io.StringIO(figures_csv(frame).decode("utf-8"))))
    held = frame.figures.to_dict("records")
    assert len(read) == len(held)
    for row, own in zip(read, held, strict=True):
        assert row == {name: "" if pd.isna(value) else str(value) for name, value in own.items()}
        assert (row["value"] == "") == (row["mark"] in ("c", "w"))


def test_a_withheld_value_is_an_empty_cell_and_a_mark():
    lines = figures_csv(public_frames.year()).decode("utf-8").split("\n")
    assert lines[0] == "period,block,table,name,breakdown,level,count,value,mark"
    assert "2025-26,,measure,complication_needing_care_within_14_days,all,all,met,,c" in lines
    assert "2025-26,2023-24 to 2025-26,measure,complication_needing_care_within_14_days,all,all,met,9," in lines
    assert "2025-26,,measure,breastfed_at_6_weeks,all,all,met,126,low" in lines


@pytest.mark.parametrize(
    ("licence", "said"),
    [
        ("", None),
        ("Open licence of the invented county", [{"name": "other", "title": "Open licence of the invented county"}]),
    ],
)
def test_a_licence_may_be_a_name_or_none(licence: str, said: object):
    frame = public_frames.year(licence=licence)
    assert json.loads(data_package(frame, figures_csv(frame))).get("licenses") == said


# ---- the page: only what is printed


def test_a_frame_holds_no_value_behind_a_mark_and_no_hole_without_one():
    frame = public_frames.year()
    for mark, value in (("c", 3), ("w", 3), ("", None), ("low", None)):
        figures = frame.figures.copy()
        figures.loc[0, ["mark", "value"]] = [mark, value]
        with pytest.raises(ValueError, match="a withheld figure has a value, or another has none"):
            replace(frame, figures=figures)
    with pytest.raises(ValueError, match="other columns or marks"):
        replace(frame, figures=frame.figures.assign(mark="*"))


def test_every_share_on_the_page_is_of_two_printed_counts(frame: PublicFrame):
    text = visible(frame)
    printed = {int(value) for value in frame.figures["value"].dropna()}
    # What all others have, beside a group, is two printed counts taken from two others.
    others = {a - b for a in printed for b in printed}
    shares = re.findall(r"(\d+) of (?:the )?(\d+)(?: we know about| answers)? \((under 1|over 99|\d+)%\)", text)
    shares += [
        (met, of, said) for of, met, said in re.findall(r"Of all (\d+), we know that (\d+) did \((\d+)%\)", text)
    ]
    # Nothing else in brackets is a percentage: not beside a mark, not beside one count alone.
    assert len(shares) == text.count("%)")
    for part, whole, said in shares:
        assert {int(part), int(whole)} <= printed | others, (part, whole)
        exact = (Decimal(part) * 100 / Decimal(whole)).quantize(Decimal(1), rounding=ROUND_HALF_UP)
        assert said == str(exact) or said.startswith(("under", "over"))
    assert bool(shares) == (frame.figures["value"].notna() & (frame.figures["table"] == "measure")).any()


def test_where_all_is_withheld_no_figure_is_on_the_page_at_all():
    text = visible(public_frames.all_withheld())
    assert "This year we cannot print any of our main figures." in text
    assert re.findall(r"\d+ of \d+", text.replace("9,434 of 21,380", "")) == []
    national = plain_words.read(places.REPORTS / "published.toml", 5).national
    percentages = Counter(re.findall(r"[\d.]+%", text))
    assert percentages - Counter(one["figure"] for one in national) == Counter({"95%": 2})  # the interval, and a source
    assert "<svg" not in published_page.page(public_frames.all_withheld())
    for key, table in read(published_page.page(public_frames.all_withheld())).tables.items():
        if key != "actions-caption":
            cells = [cell for row in table[1:] for cell in row[1:]]
            assert set(cells) <= {"[c]", ""}, key


def test_the_counts_in_the_tables_are_those_of_the_figures():
    frame = public_frames.year()
    tables = read(published_page.page(frame)).tables
    own = {
        (row["name"], row["breakdown"], row["level"], row["count"]): row["value"]
        for row in frame.figures[frame.figures["block"] == ""].to_dict("records")
    }
    titles = {measure.title: measure for measure in frame.measures}
    compared = 0
    for key in ("help_first-shares", "waiting-shares", "division-shares", "feeding-shares", "said-shares"):
        for title, cell, _, unknown, _ in tables[f"{key}-caption"][1:]:
            counts = [own[titles[title].name, "all", "all", count] for count in ("met", "known", "unknown")]
            low = " [low]" if titles[title].name in ("breastfed_at_6_weeks", "exclusively_breastfed_at_6_weeks") else ""
            assert (cell, unknown) == (as_printed(*counts[:2]) + low, "[c]" if pd.isna(counts[2]) else str(counts[2]))
            compared += 1
    assert compared == 10
    harm = {row[0]: row[1:] for row in tables["harm-shares-caption"]}
    assert harm[""] == ["2025/26", "Heard from", "2023/24 to 2025/26", "Heard from"]
    assert harm["Complication needing care"] == ["[c] of 64", "50 of 64 (78%)", "9 of 190 (5%)", "150 of 190 (79%)"]
    assert harm["Bleeding that needed care"] == ["0 of 64 (0%)", "58 of 64 (91%)", "", ""]
    waits = tables["waiting-waits-caption"]
    first = waits.index(["Families who asked for help: were first seen"])
    assert waits[first + 1 : first + 7] == [
        ["Within 7 days", "100 of 220 (45%)"],
        ["Within 14 days", "150 of 220 (68%)"],
        ["Within 28 days", "190 of 220 (86%)"],
        ["Ended another way by day 28", "15 of 220 (7%)"],
        ["Still waiting on day 28", "10 of 220 (5%)"],
        ["Not known", "5 of 220 (2%)"],
    ]
    assert tables["by-site-caption"][1:] == [
        ["North hub", "121 of 150 (81%)", "[c]"],
        ["South clinic", "39 of 50 (78%)", "[c]"],
    ]
    assert tables["activity-presenting_problems-caption"] == [
        ["", "Yes", "No", "Not recorded"],
        ["Nipple pain", "120", "70", "10"],
        ["Wind", "40", "[c]", "[c]"],
    ]


def test_activity_by_group_has_the_groups_own_words():
    rows = "first_seen deprivation_fifth:_5 20\nfirst_seen deprivation_fifth:_1 1234\nfirst_seen all 1254"
    frame = public_frames.year(
        figures=public_frames.figures(public_frames.activity(rows)),
        activity_titles={"first_seen": "Cases first seen"},
        breakdown_titles={"deprivation_fifth": "How deprived the place is"},
    )
    assert read(published_page.page(frame)).tables["activity-first_seen-caption"] == [
        ["", "How many"],
        ["How deprived the place is"],
        ["1 (most deprived)", "1,234"],
        ["5 (least deprived)", "20"],
        ["All", "1,254"],
    ]


def as_printed(met: object, of: object) -> str:
    """Two counts with their share in whole per cent, half up; a missing one leaves its mark."""
    if pd.isna(met) or pd.isna(of):
        return f"{'[c]' if pd.isna(met) else met} of {'[c]' if pd.isna(of) else of}"
    return (
        f"{met} of {of} ({(Decimal(int(met)) * 100 / Decimal(int(of))).quantize(Decimal(1), rounding=ROUND_HALF_UP)}%)"
    )


def test_a_withheld_figure_is_a_gap_in_the_drawing_and_the_axis_is_fixed():
    frame = public_frames.year()
    drawing = svg(published_page.page(frame), "glance-wide")
    # Five of the seven measures at a glance are printed: each is one stroke of no length.
    assert drawing.count("h0") == 5
    assert re.findall(r">(\d+%)<", drawing) == ["0%", "25%", "50%", "75%", "100%"]
    # Nobody seen promptly: the dot moves; the size, the grid and every other dot stay.
    nobody = frame.figures.copy()
    nobody.loc[(nobody["name"] == "seen_promptly") & (nobody["count"] == "met"), "value"] = 0
    other = svg(published_page.page(replace(frame, figures=nobody)), "glance-wide")
    assert drawing.split("viewBox")[1].split(" role")[0] == other.split("viewBox")[1].split(" role")[0]
    assert dots(drawing)[1:] == dots(other)[1:]
    # The plot begins 236 from the left and is 720 - 236 - 190 wide: 160 of 200 lies at four fifths of it.
    assert (dots(drawing)[0][0], dots(other)[0][0]) == (471.2, 236)  # 236 + 0.8 x 294


def test_nothing_is_ordered_by_its_figure():
    frame = public_frames.year()
    turned = frame.figures.copy()
    mine = (turned["name"] == "seen_promptly") & (turned["breakdown"] != "all") & (turned["count"] == "met")
    turned.loc[mine, "value"] = [60, 100, 110, 50]  # of 60, 140, 150, 50: each pair of shares the other way round
    heads = [
        [row[0] for table in read(published_page.page(one)).tables.values() for row in table]
        for one in (frame, replace(frame, figures=turned))
    ]
    assert heads[0] == heads[1]
    assert len(heads[0]) > 80


def test_nothing_of_the_page_is_hidden_in_it(frame: PublicFrame):
    """No comment, no data attribute, no script; and the page says no more of a frame than its copy does."""
    text = published_page.page(frame)
    assert "<!--" not in text
    assert [name for _, named in read(text).tags for name in named if name.startswith("data-")] == []
    assert "<script" not in text
    again = replace(frame, figures=frame.figures.copy(deep=True))
    assert published_page.page(again) == text


# ---- the page: what it says


@pytest.mark.parametrize(
    ("met", "of", "said"),
    [
        (0, 40, "none"), (40, 40, "all"), (160, 200, "four in five"), (159, 200, "about four in five"),
        (50, 80, "more than three in five"), (1, 3, "one in three"), (33, 100, "about one in three"),
        (1, 2, "half"), (1, 100, "fewer than one in twenty"), (39, 40, "more than nineteen in twenty"),
        (17, 20, "more than four in five"), (55, 100, "more than half"), (89, 100, "about nine in ten"),
    ],
)  # fmt: skip
def test_a_share_as_one_says_it(met: int, of: int, said: str):
    assert plain_words.in_words(met, of) == said


def test_plain_words_are_of_measures_there_are_and_one_without_is_shown_by_its_title():
    words = plain_words.read(places.REPORTS / "published.toml", 5)
    assert words.measures.keys() <= {measure.name for measure in public_frames.measures()}
    assert len(words.measures) > 20
    measure = replace(public_frames.measures()[0], name="quite_new", title="Quite new")
    figures = public_frames.year().figures
    own = figures[figures["name"] == "seen_promptly"].replace({"name": {"seen_promptly": "quite_new"}})
    frame = public_frames.year(figures=own, measures=(measure,), at_a_glance=("quite_new",))
    assert findings(frame) == ["Quite new: 160 of 200 (80%)."]


def test_both_names_of_the_period_and_who_approved_it():
    year, quarter = (visible(make()) for make in (public_frames.year, public_frames.quarter))
    assert "April 2025 to March 2026, the year 2025/26" in year
    assert "July to September 2026, Q2 2026/27" in quarter
    assert "From records up to 31 July 2026. Approved for publication by the information-governance lead." in year


def test_the_findings_are_one_of_each_question_and_only_of_printed_figures():
    """By hand: first of each section that is printed and not marked, in the order that was set before looking."""
    assert findings(public_frames.year()) == [
        "Four in five of the families who asked for help were first seen within 5 days: 160 of 200 (80%).",
        "More than three in five of the babies sent for a division were divided by us within 28 days: 50 of 80 (63%).",
        "About nine in ten of the babies breastfed when we met them have an answer on record at six weeks: "
        "168 of 190 (88%).",
    ]
    # Where nothing else is printed, a figure of which too few answers are known is one, and says so.
    frame = public_frames.year(at_a_glance=("complication_needing_care_within_14_days", "breastfed_at_6_weeks"))
    (only,) = findings(frame)
    assert only.startswith("Three in four of the babies breastfed when we met them still had some breast milk")
    assert (
        "Of all 190, we know that 126 did (66%). If all 22 we do not know about did too, it would be 78%. "
        "Read this with care: we know 168 of 190 answers (88%), and 95% is what we ask for."
    ) in visible(frame)


def test_a_figure_left_out_for_want_of_answers_says_why():
    those = public_frames.rows("breastfed_at_6_weeks 190 100 90 w")
    frame = public_frames.year(figures=public_frames.figures(those), at_a_glance=("breastfed_at_6_weeks",))
    text = visible(frame)
    assert (
        "We do not show how many babies breastfed when we met them still had some breast milk at six weeks: "
        "too few of the answers are known."
    ) in text
    assert "Read this with care: we know 100 of 190 answers (53%)" in text
    assert 'class="findings"' not in published_page.page(frame)


def test_groups_that_stand_apart_are_named_and_what_cannot_be_compared_is_counted():
    text = visible(public_frames.year())
    # 30 of 60 beside 130 of 140 differ far more than chance gives; 121 of 150 beside 39 of 50 do not.
    assert "Deprivation fifth: 1 (most deprived). Seen promptly: 30 of 60 (50%); all others 130 of 140 (93%)." in text
    assert "Site: North hub." not in text
    # Those of whom it is not recorded are no group to ask about.
    bare = "seen_promptly 200 200 0 160\nseen_promptly sex not_recorded 60 60 0 30"
    frame = public_frames.year(
        figures=public_frames.figures(public_frames.rows(bare)), breakdown_titles={"sex": "Sex of the baby"}
    )
    assert "Sex of the baby: not recorded. Seen promptly: 30 of 60 (50%)" in visible(frame)
    assert "differ by sex of the baby" not in visible(frame)
    thousands = "seen_promptly 4000 4000 0 2999\nseen_promptly site North_hub 1500 1500 0 999"
    many = public_frames.year(figures=public_frames.figures(public_frames.rows(thousands)))
    assert "Seen promptly: 999 of 1,500 (67%); all others 2,000 of 2,500 (80%)." in visible(many)
    # Six looks held together at one in ten: an eighth of a finding at the most, however the counts lie.
    assert "We compared 6 times. If only chance were at work, fewer than one would be listed" in text
    assert "In 2 places we could not compare, since a number is not shown." in text
    assert "Under “Seen promptly”, why do families differ by deprivation fifth, and what will change?" in text


def test_what_chance_would_list_is_said_in_words():
    said = [groups._by_chance(expected) for expected in (0.12, 1.0, 2.4)]
    assert said == [
        "fewer than one",
        "about 1",
        "about 2.4",
    ]


def test_a_year_on_few_cases_prints_activity_alone():
    page = read(published_page.page(public_frames.activity_only()))
    assert {key.split("-")[0] for key in page.tables} == {"activity", "actions"}
    assert "We saw fewer than 50 families." in visible(public_frames.activity_only())


def test_a_quarter_prints_headlines_alone():
    page = read(published_page.page(public_frames.quarter()))
    assert set(page.tables) == {"help_first-shares-caption", "feeding-shares-caption", "records-caption"}


def test_texts_of_the_service_are_shown_as_text():
    hostile = "<b>Quay</b> & \u202esouth"
    figures = public_frames.year().figures.replace({"level": {"North hub": hostile}})
    action = PublicAction(hostile, hostile, hostile, hostile, hostile)
    frame = public_frames.year(figures=figures, service=hostile, about=hostile, contact=hostile, actions=(action,))
    text = published_page.page(frame)
    assert "<b>Quay</b>" not in text
    assert "\u202e" not in text
    assert text.count("&lt;b&gt;Quay&lt;/b&gt; &amp; \ufffdsouth") > 9


# ---- the page: fit to read


def test_structure(frame: PublicFrame):
    page = read(published_page.page(frame))
    assert faults(page) == []
    assert contrast_faults(page) == []


@pytest.mark.parametrize(("kind", "width"), [("year", 1280), *((kind, 390) for kind in FRAMES)])
def test_in_a_browser(browser, kind: str, width: int, tmp_path: Path):
    (tmp_path / "report.html").write_text(published_page.page(FRAMES[kind]()), encoding="utf-8")
    context = browser.new_context(viewport={"width": width, "height": 900}, offline=True)
    view = context.new_page()
    said = []
    view.on("console", lambda message: said.append(message.text))
    view.goto((tmp_path / "report.html").as_uri())
    assert view.evaluate("document.documentElement.scrollWidth") <= width
    assert violations(view) == []
    labels = view.evaluate(LABELS)
    assert [one for one in labels if one[0] != "drawn"] == []
    assert labels or kind not in ("year", "quarter")
    assert said == []
    context.close()


def test_printed_the_plain_words_are_two_pages_of_a4(browser, tmp_path: Path):
    (tmp_path / "report.html").write_text(published_page.page(public_frames.year()), encoding="utf-8")
    view = browser.new_page()
    view.goto((tmp_path / "report.html").as_uri())
    printed = view.pdf(prefer_css_page_size=True)
    view.close()
    pages = pypdf.PdfReader(io.BytesIO(printed)).pages
    texts = [together(text) for text in sheet_texts(printed)[:3]]
    assert [round(float(side) * 25.4 / 72) for side in pages[0].mediabox[2:]] == [210, 297]  # ISO 216
    assert together("What we do, and what we found") in texts[0]
    assert together("The main figures") in texts[1]
    assert together("Speak to a midwife, a health visitor or a doctor today.") in texts[1]
    assert together("Contents") in texts[2]
    assert not any(together("Stays inside") in text for text in texts)


def visible(frame: PublicFrame) -> str:
    """The text of a page's main part, without its drawings, in one line."""
    text = re.sub(r"(?s)<svg.*?</svg>", " ", published_page.page(frame).split("</style>", 1)[1])
    return html.unescape(
        re.sub(r"\s+", " ", re.sub(r"<(?!/?b>|/?span)[^>]*>", " ", text).replace("<b>", "").replace("</b>", ""))
    )


def findings(frame: PublicFrame) -> list[str]:
    """The sentences of the findings."""
    listed = published_page.page(frame).split('<ol class="findings">')[1].split("</ol>")[0]
    return [html.unescape(text) for text in re.findall(r'<p class="figure">(.*?)</p>', listed)]


def svg(page: str, key: str) -> str:
    """One drawing."""
    (drawing,) = (text for text in re.findall(r"(?s)<svg.*?</svg>", page) if f'"{key}-title' in text)
    return drawing


def dots(drawing: str) -> list[tuple[float, float]]:
    """Where the dots are."""
    return [(float(x), float(y)) for x, y in re.findall(r"M([\d.]+) ([\d.]+)h0", drawing)]


# ---- how families are kept safe


def test_the_page_on_safety_says_what_follows_from_what_is_printed():
    frame = public_frames.year()
    page = safety_page.page(frame, 3, (0, 5), 4)
    assert read(page).tables["attack-caption"] == [
        ["", "This release"],
        ["Numbers in this release", "120"],
        ["of them printed", "105"],
        ["of them hidden, and marked", "15"],
        ["Numbers we call small", "1 to 4"],
        ["What each small number that is hidden could still be", "0, up to 5 or more"],
        ["Releases attacked together, this one among them", "3"],
    ]
    # Hidden counts decide how near the attack came, and whether it had anything to seek: the page is the same.
    assert safety_page.page(frame, 3, (0, 900), 4) == safety_page.page(frame, 3, None, 4) == page
    assert "The information-governance lead approved this release." in page


@pytest.mark.parametrize("narrowest", [(1, 9), (0, 4)])
def test_no_page_on_safety_is_made_of_an_attack_that_narrowed_a_count(narrowest: tuple[int, int]):
    with pytest.raises(ValueError, match="narrowed"):
        safety_page.page(public_frames.year(), 1, narrowest, 4)


def test_the_page_on_safety_is_fit_to_read_and_prints_on_one_page(browser, tmp_path: Path):
    page = safety_page.page(public_frames.year(), 3, (0, 5), 4)
    assert faults(read(page)) == []
    (tmp_path / "safety.html").write_text(page, encoding="utf-8")
    context = browser.new_context(viewport={"width": 390, "height": 900}, offline=True)
    view = context.new_page()
    view.goto((tmp_path / "safety.html").as_uri())
    assert view.evaluate("document.documentElement.scrollWidth") <= 390
    assert violations(view) == []
    printed = sheet_texts(view.pdf(prefer_css_page_size=True))
    context.close()
    assert len(printed) == 1


def test_as_a_document_it_has_the_same_bytes_and_no_time(drawn_by_pango: None, tmp_path: Path):
    page = tmp_path / "report.html"
    page.write_text(published_page.page(public_frames.quarter()), encoding="utf-8")
    first, second = (pdf.write(page, tmp_path / name).read_bytes() for name in ("report.pdf", "again.pdf"))
    assert first == second
    document = pypdf.PdfReader(io.BytesIO(first))
    assert set(document.metadata) == {"/Producer", "/Title"}
    assert "/ID" not in document.trailer
    assert b"Date" not in document.trailer["/Root"]["/Metadata"].get_data()
    assert not any("Stays inside" in text for text in sheet_texts(first))
