"""The service edition as a file: what is in it, that it adds up, and what it must never hold."""

from __future__ import annotations

import base64
import hashlib
import re
from collections import Counter
from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from pipeline import report
from pipeline.contracts import places
from pipeline.contracts.query_files import ROUTES, SIX_WEEKS
from pipeline.judgement.judged import EQUITY, SERVICE, SITES
from pipeline.outcomes import lookup
from pipeline.report.charts import looks
from pipeline.report.commentary import commentary_view
from pipeline.report.opening import this_quarter
from pipeline.report.pages import html_page
from pipeline.report.pages.service_page import page, technical, write_service_edition
from pipeline.report.views import measure_tables, quality_tables
from pipeline.report.views.finding_lists import Listed
from pipeline.report.words import labels, sentences
from pipeline.report.words.table import Group, Row, Table
from tests import report_content
from tests.reading_pages import read
from tests.report_content import PERIOD

content = report_content.content()
WORDS = labels.read(places.REPORTS / "wording.toml")


@pytest.fixture(scope="module")
def text():
    return page(content)


@pytest.fixture(scope="module")
def reader(text):
    return read(text)


def test_same_content_same_bytes(text, tmp_path):
    write_service_edition(content, tmp_path / "service.html")
    assert (tmp_path / "service.html").read_bytes() == text.encode("utf-8")


def test_it_is_small_enough_to_send(text):
    assert len(text.encode("utf-8")) < 430_000


def test_nothing_in_it_runs_or_loads(reader):
    tags = {tag for tag, _ in reader.tags}
    assert not tags & {"script", "img", "link", "iframe", "object", "embed", "form", "image", "use", "base"}
    assert not [name for _, named in reader.tags for name in named if name == "style" or name.startswith("on")]
    assert not reader.values("src")
    # What lies beside the page is linked to, and nothing farther away.
    beside = {href.split("#")[0] for href in reader.values("href") if not href.startswith("#")}
    assert beside == {"explore.html", "technical.html", "trace.html", "cases_to_look_at_again.html"}


def test_the_policy_names_the_one_style_block(text):
    (style,) = re.findall(r"<style>(.*?)</style>", text, re.DOTALL)
    (policy,) = re.findall(r'<meta http-equiv="Content-Security-Policy" content="([^"]*)"', text)
    digest = base64.b64encode(hashlib.sha256(style.encode("utf-8")).digest()).decode("ascii")
    rules = policy.split("; ")
    assert rules[0] == "default-src 'none'"
    assert rules[1] == f"style-src 'sha256-{digest}'"
    assert "url(" not in style
    assert "@import" not in style


def test_the_style_sets_the_font_the_figures_state():
    style = (places.REPORTS / "style.css").read_text(encoding="utf-8")
    assert f"--sans: {looks.FONT};" in style
    assert re.search(r"^svg \{[^}]*font-family: var\(--sans\)", style, re.MULTILINE)
    assert f"--paper: {looks.PAPER.lower()};" in style


@pytest.mark.parametrize("path", sorted(places.REPORTS.glob("*.css")), ids=lambda path: path.name)
def test_every_block_of_a_style_is_closed_before_the_next_part_begins(path):
    depth = 0
    for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1):
        assert depth == 0 or line.startswith((" ", "}")) or not line, f"line {number} stands in a block left open"
        depth += line.count("{") - line.count("}")
    assert depth == 0


def test_every_id_stands_once_and_every_reference_finds_one(reader):
    ids = Counter(reader.values("id"))
    assert [name for name, count in ids.items() if count > 1] == []
    referred = [href[1:] for href in reader.values("href") if href.startswith("#")]
    referred += [name for names in reader.values("aria-labelledby") for name in names.split()]
    assert len(referred) > 200
    assert [name for name in referred if name not in ids] == []


def test_headings_are_ordered(reader):
    assert reader.headings[0] == 1
    assert reader.headings.count(1) == 1
    steps = [(high, low) for high, low in zip(reader.headings, reader.headings[1:], strict=False) if low > high + 1]
    assert steps == []


@pytest.mark.parametrize("drawn", [page, technical])
def test_every_table_has_a_caption_and_scopes(drawn):
    reader = read(drawn(content))
    assert len(reader.tables) == sum(tag == "table" for tag, _ in reader.tags)
    assert all(named.get("scope") in ("col", "row", "rowgroup") for tag, named in reader.tags if tag == "th")
    scrolling = [named for tag, named in reader.tags if tag == "div" and named.get("class") == "scroll"]
    assert len(scrolling) == len(reader.tables) + (drawn is technical)  # the settings file scrolls too
    assert all(named.get("tabindex") == "0" and named.get("role") == "region" for named in scrolling)


def test_the_flow_accounts_for_every_case(reader):
    head, *rows, total = reader.tables["flow-caption"]
    assert len(head) == len(SIX_WEEKS) + 2
    assert len(rows) == len(ROUTES)
    numbers = [[int(cell) for cell in row[1:]] for row in (*rows, total)]
    first_seen = int(content.flow["cases"].sum())
    for row in numbers:
        assert row[-1] == sum(row[:-1])
    for column in zip(*numbers, strict=True):
        assert column[-1] == sum(column[:-1])
    assert numbers[-1][-1] == first_seen
    # By hand: divided went 13, 9, 4, 4, 6 and 5.
    assert rows[-1] == ["Divided", "13", "9", "4", "4", "6", "5", "41"]


def test_the_lines_add_up_in_one_line_and_in_full_on_the_technical_page(text):
    rows = [row for row in read(technical(content)).tables["lines-caption"][1:] if len(row) == 8]
    for row in rows:
        received, *parts = (int(cell) for cell in row[1:])
        assert received == sum(parts)
    assert rows[-1][:4] == ["All files", "11504", "11420", "72"]
    (line,) = re.findall(r"[\d,]+ lines received = [^.]*", text)
    received, *parts = (int(number.replace(",", "")) for number in re.findall(r"[\d,]+", line))
    # By hand: 2101 + 2366 + 6953 used, 11 + 12 + 49 not, 1 + 3 repeats, 4 left out, 3 headings, 1 blank.
    assert (received, parts) == (11504, [11420, 72, 4, 4, 3, 1])
    assert received == sum(parts)


def test_nothing_of_what_a_board_is_spared_is_lost(text):
    """What the service page sums up stands in full on the technical page; nothing technical is left on the other."""
    board, full = read(text), read(technical(content))
    # Its long tables fold on a phone, and only there.
    assert [named.get("class") for tag, named in full.tags if tag == "details"] == ["unfolds"] * 3
    assert board.tables["why-caption"][1:] == [
        ["a date that is missing or cannot be read", "49", "0"],
        ["a line that is damaged", "12", "0"],
        ["something that must be there is missing", "7", "0"],
        ["a number that is missing or cannot be right", "0", "4"],
        ["of a case whose own row could not be used", "2", "0"],
        ["In all", "70", "4"],
    ]
    assert ["contacts, Seen on", "the row", "on or before the cut-off", "49"] in full.tables["reasons-caption"]
    assert sum(int(row[-1]) for row in full.tables["reasons-caption"][1:] if len(row) == 4) == 70 + 4
    # By hand: 33 missing at three sites with rows, of 90, 60 and 40; then 9; then 2.
    shares = [(row[0], row[1]) for row in board.tables["most-often-caption"][1:]]
    assert shares == [
        ("Contacts: pain score", "99 of 190 (52%)"),
        ("Cases: deprivation decile", "27 of 190 (14%)"),
        ("Cases: sex", "6 of 190 (3%)"),
    ]
    assert [row[0] for row in full.tables["not-recorded-caption"][1:]] == [
        "cases", "sex", "deprivation_decile", "contacts", "pain_score",
    ]  # fmt: skip
    assert "ab" * 32 in "".join(full.texts)
    assert "SHA-256" not in text
    assert "ab" * 32 not in text
    assert "Wilson" not in text
    assert "Wilson" in technical(content)


def test_with_many_sites_only_the_technical_page_has_the_gaps_of_each(reader):
    gaps = content.quality.not_recorded
    many = pd.concat([gaps.assign(site=f"S{number:02}") for number in range(60)])
    drawn = page(replace(content, quality=replace(content.quality, not_recorded=many)))
    assert len(read(drawn).tables["most-often-caption"][0]) == 2
    assert len(reader.tables["most-often-caption"][0]) == 3


def test_levels_of_a_breakdown_add_up_to_everyone(reader):
    *groups, everyone = reader.tables["breastfed_at_6_weeks-breakdowns-caption"][1:]
    added = {}
    for row in groups:
        if len(row) == 1:
            title = row[0]
        else:
            met, known = (int(part) for part in row[1].split(" (")[0].split(" of "))
            before = added.get(title, (0, 0, 0))
            added[title] = before[0] + met, before[1] + known, before[2] + int(row[3])
    met, known = (int(part) for part in everyone[1].split(" (")[0].split(" of "))
    assert len(added) == len(content.breakdowns) - 1  # every breakdown but `all`, route among them
    assert set(added.values()) == {(met, known, int(everyone[3]))}


def test_groups_without_a_case_and_breakdowns_of_one_group_are_a_line():
    results, waits = report_content.frames()
    own = (results["measure"] == "breastfed_at_6_weeks") & (results["period"] == PERIOD)
    gone = own & (results["breakdown"] == "site") & (results["level"].isin(report_content.SITES[:2]))
    # Of the sexes one is left; of the sites two are not: those two were there the quarter before.
    alike = own & (results["breakdown"] == "sex") & (results["level"] != "female")
    few = replace(content, lookup=lookup.read(results[~gone & ~alike], waits))
    rows = read(page(few)).tables["breastfed_at_6_weeks-breakdowns-caption"]
    assert ["None to count: Harbour hub, Mill Lane clinic"] in rows
    assert ["All in one group: Sex: girl"] in rows
    assert not [row for row in rows if row[0] in ("girl", "Harbour hub")]


def test_every_measure_is_there_under_its_question(text):
    for measure in content.measures:
        assert text.count(f'<article id="{measure.name}" class="measure"') == 1
    order = [text.index(f'id="section-{name}"') for name in ("help_first", "waiting", "division", "feeding")]
    assert order == sorted(order)


def test_a_measure_of_an_unknown_section_gets_one_of_its_own_at_the_end(reader, text):
    moved = replace(content.measures[-1], section="sleep_and_rest")
    drawn = page(replace(content, measures=(*content.measures[:-1], moved)))
    assert '<h2 id="section-sleep_and_rest-head">Sleep and rest</h2>' in drawn
    found = [drawn.index(mark) for mark in ("section-feeding-head", "section-sleep_and_rest-head", 'id="quality"')]
    assert found == sorted(found)
    assert "sleep_and_rest" not in text


def test_no_template_or_module_names_a_measure():
    # The plain words of the published report belong to measures; one without words is shown by its title.
    pages = [path for path in places.REPORTS.rglob("*.*") if path.suffix != ".png" and path.name != "published.toml"]
    sources = [*pages, *Path(report.__file__).parent.glob("*.py")]
    texts = {path.name: path.read_text(encoding="utf-8") for path in sources}
    named = [
        (name, measure.name) for name, source in texts.items() for measure in content.measures if measure.name in source
    ]
    assert len(texts) > 20
    assert named == []


def test_the_awkward_cases_are_worded(text):
    assert "No divisions to count, so no figure" in text
    assert re.search(r"None of \d+ known, so no figure; \d+ not known", text)
    none = r"Noted after 0 of \d+ \(0%, 95% interval 0 to \d+%; exact interval 0 to \d+%\); heard from \d+ of"
    assert re.search(none, text)
    assert re.search(r"(\d+) of \1 whose answer we know \(100%", text)
    assert re.search(r"Only \d known: a small number", text)
    assert text.count("<em>(so far)</em>") == len(report_content.SO_FAR)
    few = replace(content.settings, at_a_glance=("stopped_breastfeeding_while_waiting",))
    summary, _ = page(replace(content, settings=few)).split('class="question-part"', 1)
    assert re.search(r"Only \d known: a small number", summary)
    assert "Jul-Sep<tspan" in text
    assert ">so far</tspan>" in text


def test_groups_counted_apart_stand_under_their_measure(text):
    first = text.index('<article id="seen_promptly"')
    apart = text.index("<li>No date of the request for help, so not in this measure: <b>17</b>")
    assert first < apart < text.index("<article", first + 1)


def test_a_figure_of_requests_says_so_where_no_export_tells_of_families_never_seen():
    said = "No export says who asked and was never seen: those families are not in this figure"
    of_requests = [
        replace(measure, grain="request") if measure.name == "seen_promptly" else measure
        for measure in report_content.content().measures
    ]
    content = replace(report_content.content(), measures=tuple(of_requests))
    assert said not in page(content)
    without = page(replace(content, requests_held={"": False, "Outreach": False})).split('<article id="')
    saying = [part.split('"')[0] for part in without[1:] if said in part.split("</article>")[0]]
    assert saying == ["seen_promptly"]


@pytest.mark.parametrize(
    ("held", "which"),
    [
        ({"": True, "Outreach": False}, " of Outreach"),
        ({"": False, "Outreach": True}, " in the layout"),
        ({"": True, "Hill": False, "Outreach": False}, " of Hill or of Outreach"),
        ({"": False}, ""),
        ({"Hill": False, "Outreach": False}, ""),
    ],
)
def test_the_source_that_does_not_tell_of_families_never_seen_is_named(held: dict[str, bool], which: str):
    said = f"No export{which} says who asked and was never seen: those families are not in this figure"
    assert sentences.only_seen(held) == said
    assert sentences.only_seen(dict.fromkeys(held, True)) == ""


@pytest.mark.parametrize("name", [report_content.ALL_UNKNOWN, "infection_within_14_days"])
def test_a_measure_of_which_nothing_is_known_in_any_period_has_one_line(name: str):
    results, waits = report_content.frames()
    results = results.copy()
    rows = results["measure"] == name
    before = rows & (results["period"] != report_content.PERIOD)
    assert results.loc[before, "known"].max() > 0  # of the reported quarter nothing is known, of others something is
    assert f'<article id="{name}"' in page(report_content.content())
    results.loc[rows, "unknown"] = results.loc[rows, "eligible"]
    results.loc[rows, ["known", "met"]] = 0
    # Of what is only noted a share of all stands in the file all the same; the line does not say it.
    of_all = results.loc[rows, "kind"].iloc[0] == "noted"
    results.loc[rows, ["value", "lower", "upper"]] = (0, 0, 0.5) if of_all else np.nan
    apart = pd.DataFrame([(name, "Not asked about", report_content.PERIOD, 3)], columns=content.apart.columns)
    few = replace(content, lookup=lookup.read(results, waits), apart=apart)
    text = page(few)
    (line,) = re.findall(rf'.*<b id="{name}".*', text)
    eligible = results.loc[rows & (results["period"] == report_content.PERIOD), "eligible"].max()
    said = (
        f"None of {eligible} known, so no figure; {eligible} not known. Nothing is known in any quarter up to this one"
    )
    assert said in line and "(Not asked about: 3)." in line
    assert f'<article id="{name}"' not in text and f'"definition-{name}"' not in text
    assert text.count("Nothing is known in any") == 1
    # Among the primary measures it stands all the same, and leads to its line.
    glance = page(replace(few, settings=replace(content.settings, at_a_glance=(name,))))
    assert f'id="glance-{name}"><a href="#{name}">' in glance


def test_a_route_that_nobody_took_is_in_a_line_under_the_flow():
    few = content.flow.assign(cases=content.flow["cases"].where(content.flow["route"].isin(["settled", "divided"]), 0))
    table = read(page(replace(content, flow=few))).tables["flow-caption"]
    assert [row[0] for row in table] == [
        *("Route", "Settled", "Divided"),
        "None: In support, Closed, Waiting, Not going ahead, Divided elsewhere",
        "All",
    ]
    assert table[-1][-1] == str(41 + 18 + 6 + 8 + 14 + 9 + 13 + 9 + 4 + 4 + 6 + 5)


def section(text, name):
    return text.split(f'<section id="{name}"')[1].split("</section>")[0]


def test_this_quarter_opens_the_page_with_three_of_a_kind_and_says_where_more_stand():
    measure = content.measures[0]
    listed = [
        Listed(*of, measure, "Seen", f"figure {place}")
        for place, of in enumerate(
            [(SERVICE, ""), (SITES, "Hill"), (SITES, "Vale"), (SITES, "Quay"), (EQUITY, "Sex, girls"), (SITES, "Moor")]
        )
    ]
    told = this_quarter.told(listed)
    assert [one.text for one in told.first] == ["figure 0", "figure 1", "figure 2"]
    assert told.more == ((SITES, 2), (EQUITY, 1))
    assert this_quarter.told(listed[:3]).more == ()


def test_what_is_worse_comes_by_family_with_a_missed_standard_after_the_service(text):
    # Planted: one clinic that sees so few promptly that all do worse; one standard of four far above its figure.
    opens = section(text, "this-quarter")
    worse = opens.split("<h3>Better</h3>")[0]
    named = ["seen_promptly", "days_from_referral_to_procedure", "seen_promptly"]
    assert re.findall(r'"mark worse".*?<a href="#(\w+)">', worse) == named
    assert re.search(r">: \d+% \(of \d+\), \d+ not known; standard 80%: missed", worse)
    assert "<b>Mill Lane clinic</b>" in worse
    assert "Of " in worse and "chance alone would list about" in worse
    assert opens.count('<a href="cases_to_look_at_again.html">') == 1 and "3 to <a" in opens
    assert "It was <strong>busy</strong>" in opens and "2 open, 1 overdue on 14 October 2026" in opens
    # By 14 October 2026, July had passed, and October 2026 had not.
    assert "Overdue: Look at Fridays (Team’s lead, July 2026)" in opens.replace("&#39;", "’")
    assert text.count("It was <strong>busy</strong>") == 1  # and not again further down


def test_where_nothing_is_worse_it_says_so_with_what_chance_alone_would_list():
    quiet = replace(content, settings=replace(content.settings, at_a_glance=("asked_at_6_weeks",), standards={}))
    opens = section(page(quiet), "this-quarter")
    assert re.search(
        r"Nothing is worse by more than chance gives; of \d+ comparisons judged, chance alone would", opens
    )
    assert "Nothing is better by more than chance gives." in opens
    # A standard of which nothing can be said is none that is known to be met.
    for share, said in ((0.01, ", and no standard is missed; of"), (0.9, None)):
        standards = {"asked_at_6_weeks": share}
        opens = this_quarter.opening(replace(quiet, settings=replace(quiet.settings, standards=standards)), WORDS)
        assert opens.worse.first or said in opens.by_chance


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        (
            {"commentary": commentary_view.view("", "", PERIOD)},
            ("No commentary was written for this quarter.", "None is open."),
        ),
        ({"again": 0}, ("None is listed to look at again.",)),
        (
            {"settings": replace(content.settings, at_a_glance=(), standards={})},
            ("the settings name no measure at a glance",),
        ),
    ],
)
def test_what_is_not_there_is_said_in_a_line(changed, said):
    text = page(replace(content, **changed))
    for words in said:
        assert words in section(text, "this-quarter")


def test_of_many_warnings_the_first_open_the_page_and_all_stand_under_data_quality():
    warnings = tuple(f"Warning {number}" for number in range(1, 6))
    text = page(replace(content, quality=replace(content.quality, warnings=warnings)))
    opens = section(text, "this-quarter")
    assert [name for name in warnings if f"<li>{name}." in opens] == list(warnings[:3])
    assert '<a href="#warnings">and 2 more, under Data quality</a>' in opens
    assert [name for name in warnings if f"<li>{name}." in section(text, "quality")] == list(warnings)


def test_a_long_opening_leaves_the_chart_of_the_glance_off_the_paper():
    assert not this_quarter.opening(content, WORDS).long
    warnings = tuple(
        "Load 1, complications.csv: so many lines were set aside that it takes " + "long " * 30 for _ in "123"
    )
    words = commentary_view.view("## What we saw\n\n" + "Families waited longer than before. " * 30, "", PERIOD)
    long = replace(content, commentary=words, quality=replace(content.quality, warnings=warnings))
    assert '<section id="glance" class="without-chart"' in page(long)
    assert 'id="glance-wide' in page(long)  # on a screen it stays


def test_the_glance_is_one_table_in_the_order_of_the_settings(reader, text):
    head, *rows = reader.tables["glance-caption"]
    assert head == ["Measure", "Figure, 95% interval", "Not known", "Standard", "Changes"]
    titles = {measure.name: measure.title for measure in content.measures}
    assert [row[0] for row in rows] == [titles[name] for name in content.settings.at_a_glance]
    for row in rows:  # every share with its interval, and how many of how many are not known
        assert re.match(r"\d+ of \d+ \(\d+%, \d+ to \d+%\)|\d+% \(of \d+\), \d+ to \d+%", row[1])
        assert re.fullmatch(r"\d+ of \d+", row[2])
    assert [bool(row[3]) for row in rows] == [
        name in content.settings.standards for name in content.settings.at_a_glance
    ]
    assert "within chance: " in rows[1][4]
    # One primary measure of days has its middle, and no table stands where none is primary.
    days = page(replace(content, settings=replace(content.settings, at_a_glance=("age_at_procedure",), standards={})))
    assert re.search(r"<b>\d+ days \(of \d+\), the middle half \d+ to \d+</b>", section(days, "glance"))
    none = page(replace(content, settings=replace(content.settings, at_a_glance=(), standards={})))
    assert "glance-caption" not in none and "has named no measures at a glance" in section(none, "glance")


def test_names_from_the_records_are_escaped(text):
    assert "Quay &lt;north&gt; &amp; south" in text
    assert "<north>" not in text
    assert "a &lt; b &amp; c" in technical(content)  # the settings file


def test_a_period_without_cases_is_a_page(reader):
    empty = page(report_content.without_cases())
    quiet = read(empty)
    assert "No case was first seen in this quarter." in empty
    assert "flow-caption" not in quiet.tables and 'id="glance-wide' not in empty  # nothing to tabulate or to draw
    assert "Nothing could be compared: too few are known, or the records had only begun." in section(
        empty, "this-quarter"
    )
    # What is the same of many is said once: in each section by what is counted, at a glance of every change.
    assert quiet.tables["glance-caption"][0] == ["Measure", "Figure, 95% interval", "Not known", "Standard"]
    assert section(empty, "glance").count("no figure") == 1
    assert {measure.name for measure in content.measures} <= set(quiet.values("id"))
    assert empty.count("<p>There is nothing to compare.</p>") == 2  # groups, the missing; no site has a part
    assert undefined(quiet) == set()


def undefined(reader):
    """What Python prints for a number that is not there. `None` begins a sentence of ours, so it is sought in cells."""
    words = set(re.findall(r"[\w.]+", " ".join(reader.texts))) & {"nan", "NaN", "NaT", "inf"}
    return words | {
        cell
        for rows in reader.tables.values()
        for row in rows
        for cell in row
        if "None" in cell.removeprefix("None to count")
    }


def test_what_is_undefined_is_never_printed(reader):
    assert undefined(reader) == set()


@pytest.mark.parametrize(
    ("fault", "broken"),
    [
        ("flow: 'lost' is not a route", {"flow": content.flow.replace({"route": {"closed": "lost"}})}),
        ("flow: 'later' is not a state", {"flow": content.flow.replace({"six_weeks": {"none": "later"}})}),
        (
            "flow: divided, outside stands twice",
            {"flow": content.flow.iloc[[*range(len(content.flow)), len(content.flow) - 1]]},
        ),
        (
            "there is no measure 'sung_to'",
            {"settings": replace(content.settings, at_a_glance=("sung_to",))},
        ),
    ],
)
def test_content_that_does_not_hang_together_is_refused(fault, broken):
    with pytest.raises(ValueError, match=re.escape(fault)):
        page(replace(content, **broken))


def test_results_that_do_not_hang_together_are_refused():
    results, waits = report_content.frames()
    keyless = results.assign(level=results["level"].where(results.index > 0))
    for fault, broken in (
        ("results: column bound_low is missing", results.drop(columns="bound_low")),
        ("results: ('aftercare_advice_given', '2024Q1', 'all', 'all') stands twice", results.iloc[[0, 0]]),
        ("results: a row without measure, quarter, breakdown or level", keyless),
    ):
        with pytest.raises(ValueError, match=re.escape(fault)):
            lookup.read(broken, waits)
    with pytest.raises(ValueError, match="waits: column day is missing"):
        lookup.read(results, waits.drop(columns="day"))


def test_lines_that_do_not_add_up_are_refused():
    lines = content.quality.lines.copy()
    lines.loc[2, "repeats"] += 1
    with pytest.raises(ValueError, match=r"load 2, contacts.csv: 7010 lines received, but the parts add up to 7011"):
        page(replace(content, quality=replace(content.quality, lines=lines)))


def test_the_reported_period_is_the_last_of_nine(reader):
    rows = reader.tables["breastfed_at_6_weeks-quarters-caption"][1:]
    assert [row[0] for row in rows] == [
        "Jul-Sep 24",
        "Oct-Dec 24",
        "Jan-Mar 25",
        "Apr-Jun 25",
        "Jul-Sep 25",
        "Oct-Dec 25",
        "Jan-Mar 26",
        "Apr-Jun 26",
        "Jul-Sep 26",
    ]
    kept = report_content.frames()[0].set_index(["measure", "period", "breakdown", "level"])
    last = kept.loc[("breastfed_at_6_weeks", PERIOD, "all", "all")]
    assert rows[-1][1].split(" (")[0] == f"{int(last['met'])} of {int(last['known'])}"


def test_what_settled_means_of_a_route_and_of_a_measure_is_told_apart(text):
    assert "in the flow, “settled” is where a case stands on the last day of the data" in text


def test_of_more_sites_than_stand_side_by_side_each_is_a_row_and_what_nobody_lacks_is_left_out():
    columns = {f"column_{number}": number for number in range(9)}  # of ten rows a site so many are empty, or none
    sites = [f"Hub {number}" for number in range(7)]
    cells = [("cases", name, site, 10, missing) for name, missing in columns.items() for site in sites]
    cells += [("referrals", "outcome", "Hub 3", 4, 1)]
    frame = pd.DataFrame(cells, columns=["table", "column", "site", "rows", "not_recorded"])
    quality = replace(content.quality, not_recorded=frame)
    whole = quality_tables.not_recorded(quality)
    assert whole is not None
    assert whole.heads == ("Column", "All sites")
    assert whole.groups[0].rows[8].cells == ("56 of 70 (80%)",)
    first, second, referrals = quality_tables.not_recorded_by_site(quality)
    assert first.heads == ("Site", "Rows", *(f"column {number}" for number in range(1, 8)))
    assert second.heads == ("Site", "Rows", "column 8")
    assert [row.head for row in second.groups[0].rows] == sites
    assert second.groups[0].rows[0].cells == ("10", "8 (80%)")
    assert [(row.head, row.cells) for row in referrals.groups[0].rows] == [("Hub 3", ("4", "1 (25%)"))]
    few = replace(quality, not_recorded=frame[frame["site"] != "Hub 6"])
    assert quality_tables.not_recorded_by_site(few) == ()
    made = technical(replace(content, quality=quality))
    assert made.count("<summary>cases: not recorded, by site, part") == 2


def test_of_the_time_before_the_first_record_nothing_is_drawn_and_one_line_is_said():
    results, waits = report_content.frames()
    first = replace(
        content,
        lookup=lookup.read(results[results["period"] == PERIOD], waits[waits["period"] == PERIOD]),
        activity=content.activity[content.activity["period"] == PERIOD],
    )
    begun = page(replace(first, settings=replace(content.settings, standards={})))
    (key,) = re.findall(r"<figcaption>(Dot: this quarter.*)</figcaption>", begun)
    assert "Diamond" not in key and "Upright stroke" not in key and "Pale band: what the unknown answers" in key
    (counts,) = (table for name, table in read(begun).tables.items() if name.startswith("activity"))
    assert counts[0] == ["", "Jul-Sep 26"]
    assert "Nothing is on record in Apr-Jun 26 or Jul-Sep 25." in begun
    # Two times of which the same is to be said have one line.
    assert "<dt>Last quarter, a year before<dd>" in begun


def test_periods_with_nobody_to_count_share_a_line():
    measure = content.measures[0]
    known = content.lookup.everyone(measure.name, PERIOD)
    series = [("2025Q4", None), ("2026Q1", None), ("2026Q2", known), (PERIOD, known)]
    (group,) = measure_tables.periods(measure, series).groups
    assert [row.head[:10] for row in group.rows] == ["Apr-Jun 26", "Jul-Sep 26"]
    assert group.note == "None to count: Oct-Dec 25, Jan-Mar 26"
    (group,) = measure_tables.periods(measure, series[1:]).groups  # one stands in its row
    assert len(group.rows) == 3 and group.note == ""


@pytest.mark.parametrize(("practitioners", "opening"), [(20, "<details open>"), (21, "<details>")])
def test_many_practitioners_fold_and_a_link_unfolds_them(practitioners: int, opening: str):
    rows = tuple(Row(f"P{number:03}", ("1 of 2",)) for number in range(practitioners))
    figures = Table("seen-figures", "Seen", ("Practitioner", "Of those known"), (Group("", rows),))
    measure = content.measures[0]
    whole = html_page.render(
        "by_practitioner.html", measures=[(measure, figures, "")], which="quarter", period="", service="", cut_off=""
    )
    folded = whole.partition(opening)[2].partition("</details>")[0]
    # What the contents lead to stands in the folded part, and so unfolds it.
    assert f'href="#{measure.name}"' in whole and f'id="{measure.name}"' in folded
    assert folded.count("1 of 2") == practitioners
