"""A figure followed to the lines of the exports: who is behind it, in which order, with which lines; worked by hand."""

from __future__ import annotations

import csv
import dataclasses
import re
import shutil
from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pytest
from click.testing import CliRunner
from python_calamine import CalamineWorkbook

from pipeline import run
from pipeline.console.cli import commands
from pipeline.contracts import measure_files, places
from pipeline.contracts.apart_files import aparts
from pipeline.errors import Refused
from pipeline.lineage import behind_figure, export_lines, figure_asked
from pipeline.outcomes import lookup
from pipeline.progress import Progress
from pipeline.report.views.behind.traced import Traced
from pipeline.report.views.behind.traced_levels import level_key
from pipeline.runs import run_store
from tests.conftest import INVENTED, worked_out_once, write_export
from tests.reading_pages import read

CUT_OFF = date(2026, 6, 30)
# All ten days old on 5 January, so six weeks old on 6 February. B has no answer; C and D are not met, C seen a day
# later. N was not breastfed. A's answer nearest to six weeks is that of the 7th (line 3).
EXPORT = {
    "cases": """
        case_ref,site,first_contact_date,age_days,feeding_at_first_contact,birth_weight_g
        A,North,2026-01-05,10,exclusive,3200
        B,North,2026-01-05,10,partial,3300
        D,South,2026-01-05,10,exclusive,3400
        C,South,2026-01-06,10,exclusive,99
        N,South,2026-01-05,10,none,3500
    """,
    "feeding_checks": """
        case_ref,check_date,feeding
        A,2026-01-30,none
        A,2026-02-07,partial
        C,2026-02-06,none
        D,2026-02-06,none
        D,2026-02-31,exclusive
        B,2026-02-06,yes
    """,
    "contacts": "case_ref,contact_date,practitioner\nA,2026-01-05,P1\nC,2026-01-25,P1",
    "procedures": """
        case_ref,procedure_date,operator
        A,2026-01-10,P1
        A,2026-01-24,P2
    """,
    "complications": "case_ref,noted_date,kind\nA,2026-01-25,infection",
}


@pytest.fixture(scope="module")
def loaded_once(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An audit folder with the export above."""
    place = tmp_path_factory.mktemp("trace")
    audit = run.new(place / "audit").parent
    run.load(audit, write_export(place / "export", EXPORT), CUT_OFF, accept_anyway=INVENTED)
    return audit


@pytest.fixture(scope="module")
def asked_of(loaded_once: Path) -> Iterator[Path]:
    """The same, which is only asked."""
    with worked_out_once(loaded_once, "2026Q1"):
        yield loaded_once


@pytest.fixture
def loaded(loaded_once: Path, tmp_path: Path) -> Path:
    """A copy of it."""
    return Path(shutil.copytree(loaded_once, tmp_path / "audit"))


def told(traced: Traced) -> list[tuple[str, list[str]]]:
    """Each group with its cases."""
    return [(group.title, [case.case_ref for case in group.cases]) for group in traced.groups]


def lines(traced: Traced, ref: str, place: int = 0) -> list[tuple[str, str]]:
    """File and line, and what it says, of one case; of the procedures of one case, the one at that place."""
    found = [case for group in traced.groups for case in group.cases if case.case_ref == ref]
    return [(line.where, line.says) for line in found[place].lines]


def test_cases_stand_in_the_order_of_a_review_with_every_line(asked_of: Path):
    traced = run.trace(asked_of, "breastfed_at_6_weeks", "2026Q1")
    # Not met first, then by the day that counts (C is a day younger), then by name.
    assert told(traced) == [("No", ["D", "C"]), ("Not known", ["B"]), ("Yes", ["A"])]
    assert traced.adds_up == "4 cases = 2 no + 1 not known + 1 yes, as in results.csv"
    assert traced.sentence.startswith("1 of 3 whose answer we know (33%")
    asked = "first_contact_date 2026-01-05, age_days 10, closed_reason not recorded, feeding_at_first_contact"
    assert lines(traced, "A") == [
        ("cases.csv, line 2", f"{asked} exclusive"),
        ("feeding_checks.csv, line 2", "check_date 2026-01-30, feeding none, at_breast not recorded"),
        ("feeding_checks.csv, line 3", "check_date 2026-02-07, feeding partial, at_breast not recorded"),
    ]
    (a,) = traced.groups[2].cases
    assert a.counted_on == "six weeks old on 6 February 2026"
    assert "six week date 2026-02-06, six week feeding partial" in a.worked_out
    assert "birth" not in str(traced.groups)  # a day of birth is worked with and never shown


def test_what_was_set_aside_stands_where_it_was_missed(asked_of: Path):
    traced = run.trace(asked_of, "breastfed_at_6_weeks", "2026Q1")
    assert lines(traced, "B")[1] == (
        "feeding_checks.csv, line 7",
        "check_date 2026-02-06, feeding not recorded (set aside: yes), at_breast not recorded",
    )
    assert lines(traced, "D")[2] == ("feeding_checks.csv, line 6", "set aside as a whole, not used: 2026-02-31")
    # Nobody was weighed. The birth weight of C was set aside, so C is not in the measure.
    weighed = run.trace(asked_of, "birth_weight_regained_by_21_days", "2026Q1")
    assert told(weighed) == [("Not known", ["A", "B", "D", "N"])]


def test_a_procedure_is_marked_among_those_of_its_case(asked_of: Path):
    traced = run.trace(asked_of, "infection_within_14_days", "2026Q1")
    # The infection of the 25th belongs to the second, the day before; feeding was asked about 20 days after the first.
    assert told(traced) == [("Yes", ["A"]), ("No", ["A"])]
    counted = [[line.where for line in case.lines if line.own] for group in traced.groups for case in group.cases]
    assert counted == [["procedures.csv, line 3"], ["procedures.csv, line 2"]]
    assert [line[0] for line in lines(traced, "A")] == [
        "cases.csv, line 2",
        "contacts.csv, line 2",
        "procedures.csv, line 2",
        "procedures.csv, line 3",
        "complications.csv, line 2",
        "feeding_checks.csv, line 2",
        "feeding_checks.csv, line 3",
    ]
    assert not any("worked out" in line for line in map(str, lines(traced, "A")))


def test_a_level_brings_the_lines_that_put_a_case_into_it(asked_of: Path):
    traced = run.trace(asked_of, "breastfed_at_6_weeks", "2026Q1", "site", "South")
    assert told(traced) == [("No", ["D", "C"])]
    assert lines(traced, "C")[0][1].startswith("site South, ")
    divided = run.trace(asked_of, "breastfed_at_6_weeks", "2026Q1", "route", "divided")
    assert told(divided) == [("Yes", ["A"])]
    assert {"procedures.csv, line 2", "procedures.csv, line 3"} <= {where for where, _ in lines(divided, "A")}
    plain = run.trace(asked_of, "breastfed_at_6_weeks", "2026Q1")
    assert not any("procedures" in where for where, _ in lines(plain, "A"))


def test_everyone_and_a_group_apart(asked_of: Path):
    traced = run.trace(asked_of, "everyone", "2026Q1")
    assert told(traced) == [
        ("In support; no breast milk", ["D", "C"]),
        ("In support; no answer recorded", ["B"]),
        ("In support; not in this question", ["N"]),
        ("Divided; breast and other milk", ["A"]),
    ]
    assert traced.adds_up == "5 cases in 4 cells, each as many as the flow says"
    assert traced.sentence == "5 cases: 4 in support, 1 divided"
    assert traced.groups[0].cases[0].counted_on.startswith("first contact on ")
    divided = run.trace(asked_of, "everyone", "2026Q1", "route", "divided")
    assert divided.adds_up == "1 case in 1 cell, each as many as the flow says"
    assert told(divided) == [("Divided; breast and other milk", ["A"])]
    apart = run.trace(asked_of, "division_tie_not_recorded", "2026Q1")
    assert told(apart) == [("Counted", ["A", "A"])]
    assert apart.adds_up == "2 divisions, as many as the page says"
    assert [[line.where for line in case.lines if line.own] for case in apart.groups[0].cases] == [
        ["procedures.csv, line 2"],
        ["procedures.csv, line 3"],
    ]


def test_a_wait_says_how_long_and_how_it_ended(audit: Path, tmp_path: Path):
    tables = {
        "cases": """
            case_ref,site,first_contact_date,age_days,closed_date,closed_reason
            A,North,2026-01-05,10,,
            B,North,2026-01-05,10,,
            C,North,2026-01-05,10,2026-01-15,moved
            D,North,2026-01-05,10,2026-01-06,moved
        """,
        "referrals": """
            case_ref,referral_date,outcome,outcome_date
            A,2026-01-07,,
            B,2026-01-07,declined_by_parent,2026-01-08
            C,2026-01-07,,
            D,2026-01-07,,
        """,
        "procedures": "case_ref,procedure_date,operator\nA,2026-01-19,P1",
    }
    run.load(audit, write_export(tmp_path / "export", tables), CUT_OFF, accept_anyway=INVENTED)
    names = ("days_from_referral_to_procedure", "age_at_procedure", "seen_promptly")
    with worked_out_once(audit, "2026Q1"):
        traced, ages, prompt = (run.trace(audit, name, "2026Q1") for name in names)
    said = [(group.title, [(case.case_ref, case.says) for case in group.cases]) for group in traced.groups]
    assert said == [
        ("Not known", [("C", "watched for 8 days"), ("D", "follow-up had ended before it began")]),
        ("Ended another way", [("B", "after 1 day")]),
        ("Yes", [("A", "after 12 days")]),
    ]
    assert [(case.case_ref, case.says) for case in ages.groups[0].cases] == [("A", "24 days")]
    assert (told(prompt), prompt.adds_up) == ([], "0 requests, as in results.csv")
    assert "the setting seen_promptly_days = 5" in prompt.rests_on


def test_a_case_that_counts_as_an_older_load_had_it_says_so(audit: Path, tmp_path: Path):
    first = {
        "cases": """
            case_ref,site,first_contact_date,age_days
            A,North,2026-01-05,10
            B,North,2026-01-05,10
            C,North,2026-01-05,10
        """,
        "referrals": "case_ref,referral_date\nA,2026-01-05\nC,2026-01-05",
    }
    second = {
        "cases": """
            case_ref,site,first_contact_date,age_days
            A,North,2026-01-05,ten
            C,North,2026-01-05,10
        """,
        "referrals": "case_ref,referral_date\nC,2026-01-08",
    }
    run.load(audit, write_export(tmp_path / "one", first), date(2026, 5, 31), accept_anyway=INVENTED)
    run.load(audit, write_export(tmp_path / "two", second), CUT_OFF, accept_anyway=INVENTED)
    traced = run.trace(audit, "days_to_referral", "2026Q1")
    notes = {case.case_ref: case.notes for group in traced.groups for case in group.cases}
    assert notes == {
        "A": ("counts as load 1 had it: a newer row of it, in load 2, was set aside",),
        "B": ("counts as load 1 had it: load 2 no longer holds it",),
        "C": ("load 2",),
    }
    # Lines of the load that counts, and of no other.
    assert lines(traced, "C")[1] == (
        "referrals.csv, line 2",
        "referral_date 2026-01-08, outcome not recorded, outcome_date not recorded",
    )
    assert len(lines(traced, "C")) == 2
    assert traced.loads == ("Load 1: one, drawn 31 May 2026", "Load 2: two, drawn 30 June 2026")


NOT_THERE = {
    ("breastfed_at_6_week", "2026Q1"): ("MEASURE", "most like it: breastfed_at_6_weeks", "everyone"),
    ("everyone", "2019Q1"): ("PERIOD", "nothing is known", "2026Q1"),
    # Figures by practitioner are in a file of their own.
    ("breastfed_at_6_weeks", "2026Q1", "practitioner", "P1"): ("--breakdown", "no such breakdown", "site"),
    ("seen_promptly", "2026Q1", "town", "x"): ("--breakdown", "no such breakdown", "site"),
    ("seen_promptly", "2026Q1", "route", "divided"): ("--breakdown", "only where a measure asks", "site"),
    ("everyone", "2026Q1", "site", "North"): ("--breakdown", "the flow has no other", "route, six_weeks"),
    ("no_request_date", "2026Q1", "site", "North"): ("--breakdown", "not broken down", "none"),
    ("breastfed_at_6_weeks", "2026Q1", "site", "East"): ("--level", "no such level", "North, South"),
    ("breastfed_at_6_weeks", "2026Q1", "site"): ("--breakdown", "without --level", "North, South"),
    ("breastfed_at_6_weeks", "2026Q1", None, "North"): ("--level", "without --breakdown", "both or neither"),
    ("everyone", "2026Q1", "route", "settled"): ("--level", "no such level", "divided, in_support"),
}


@pytest.mark.parametrize("asked", NOT_THERE)
def test_what_is_not_there_is_said_with_what_there_is(asked_of: Path, asked: tuple[str, ...]):
    where, found, allowed = NOT_THERE[asked]
    with pytest.raises(Refused) as refused:
        run.trace(asked_of, *asked)
    (fault,) = refused.value.faults
    assert fault.where == where
    assert found in fault.found
    assert allowed in fault.allowed


@pytest.mark.parametrize("part", ["results", "flow", "apart"])
def test_cases_that_do_not_add_up_are_a_defect(asked_of: Path, monkeypatch: pytest.MonkeyPatch, part: str):
    traced_of = run.traced_of

    def another_count(con, outcome, settings, figures):
        frame = getattr(outcome, part).copy()
        if part == "flow":  # the same total, in other cells
            frame["cases"] = list(reversed(frame["cases"]))
        else:
            frame[{"results": "met", "apart": "count"}[part]] += 1
        changed = {"lookup": lookup.read(frame, outcome.waits)} if part == "results" else {part: frame}
        return traced_of(con, dataclasses.replace(outcome, **changed), settings, figures)

    monkeypatch.setattr(run, "traced_of", another_count)
    name = {"results": "breastfed_at_6_weeks", "flow": "everyone", "apart": "no_request_date"}[part]
    with pytest.raises(ValueError, match=f"trace: {name}"):
        run.trace(asked_of, name, "2026Q1")


def test_what_the_terminal_says(loaded: Path):
    asked = ["trace", "breastfed_at_6_weeks", "2026Q1", "--folder", str(loaded)]
    said = CliRunner().invoke(commands, asked, catch_exceptions=False).output
    assert max(map(len, said.splitlines())) <= 100
    assert "4 cases = 2 no + 1 not known + 1 yes, as in results.csv." in said
    assert "\nNo: 2\n  D  six weeks old on 6 February 2026\n      worked out: " in said
    assert "      feeding_checks.csv, line 4: check_date 2026-02-06, feeding none" in said


def test_the_page_has_a_place_for_every_link(loaded: Path):
    page = run.report(loaded, "2026Q1").page.with_name("trace.html")
    reader = read(page.read_text(encoding="utf-8"))
    ids = set(reader.values("id"))
    assert {"everyone", "everyone-divided-partial", "everyone-in_support-no_answer", "breastfed_at_6_weeks"} <= ids
    # Both pages are of one folder: what the edition links to is there.
    links = read(page.with_name("service.html").read_text(encoding="utf-8")).values("href")
    linked = {link.partition("#")[2] for link in links if link.startswith("trace.html#")}
    assert linked >= {"everyone", "breastfed_at_6_weeks"}
    assert linked <= ids
    assert page.stat().st_mode & 0o077 == 0
    # Every other figure has a place too, with its cases by reference. By hand: C and D are of South, and not met.
    text = page.read_text(encoding="utf-8")
    (south,) = re.findall(r'<div id="breastfed_at_6_weeks-site-South">(.*?)</div>', text, re.DOTALL)
    assert "South: <span>0 of 2 whose answer we know" in south
    assert re.findall("<p>(.*?)\n<ul>(.*?)</ul>", south) == [("No: 2", "<li>D<li>C")]
    (ages,) = re.findall(r'<div id="age_at_procedure">(.*?)</div>', text, re.DOTALL)
    assert re.findall("<li>[^<]*", ages) == ["<li>A (15 days)"]
    with (page.with_name("results.csv")).open(encoding="utf-8", newline="") as file:
        rows = [row for row in csv.DictReader(file) if row["period"] == "2026Q1" and int(row["eligible"])]
    assert {level_key(row["measure"], row["breakdown"], row["level"]) for row in rows} <= ids
    # It opens with the question and the answer; names of columns come after, and how to read it last.
    texts = " ".join(" ".join(reader.texts).split())
    order = ["Where did each case stand", "5 cases: 4 in support, 1 divided", "Which columns of which exports"]
    places = [texts.index(words) for words in order]
    assert places == sorted(places)
    assert "first_contact_date" not in texts[: places[1]]
    assert list(reader.values("id")).index("reading") > list(reader.values("id")).index("breastfed_at_6_weeks")
    assert "never e-mail or share it" in page.read_text(encoding="utf-8")


def test_of_many_cases_the_page_lists_the_first_and_the_terminal_all(loaded: Path, monkeypatch: pytest.MonkeyPatch):
    every = dict(told(run.trace(loaded, "breastfed_at_6_weeks", "2026Q1")))
    settings = (loaded / "audit.toml").read_text(encoding="utf-8")
    most = settings.replace("traced_cases = 1000", "traced_cases = 1")
    (loaded / "audit.toml").write_text(most, encoding="utf-8")
    asked: list[set[str]] = []
    read_lines = export_lines.read
    monkeypatch.setattr(export_lines, "read", lambda con, refs: asked.append(set(refs)) or read_lines(con, refs))
    path = run.report(loaded, "2026Q1").page.with_name("trace.html")
    page = path.read_text(encoding="utf-8")
    part = page.split('aria-labelledby="breastfed_at_6_weeks-head"')[1].split("</section>")[0]
    # By hand: of D and C, then B, then A, the first is D.
    assert re.findall("<bdi>(.*?)</bdi>", part) == ["D"]
    assert (
        "Listed here: the first 1 of 4 cases, in the order of a review. All of them: <code>feeding-audit trace " in part
    )
    assert "<code>feeding-audit trace breastfed_at_6_weeks 2026Q1</code>" in part
    assert re.findall(r">([^<]*)</caption>", part) == [
        "No: 2, of which 1 listed",
        "Not known: 1, of which 0 listed",
        "Yes: 1, of which 0 listed",
    ]
    (north,) = re.findall(r'<div id="breastfed_at_6_weeks-site-North">(.*?)</div>', page, re.DOTALL)
    assert "Listed here: the first 1 of 2 cases" in north
    assert re.findall("<p>(.*?)\n<ul>(.*?)</ul>", north) == [("Not known: 1", "<li>B"), ("Yes: 1", "")]
    links = read(path.with_name("service.html").read_text(encoding="utf-8")).values("href")
    linked = {link.partition("#")[2] for link in links if link.startswith("trace.html#")}
    assert linked <= set(read(page).values("id"))  # a place for every link all the same
    assert asked == [set(re.findall("<bdi>(.*?)</bdi>", page))]  # only what is listed is read from the store
    assert dict(told(run.trace(loaded, "breastfed_at_6_weeks", "2026Q1"))) == every


def test_a_report_made_again_has_the_lines_of_then(loaded: Path, tmp_path: Path):
    newer = {"cases": "case_ref,site,first_contact_date,age_days,feeding_at_first_contact\nA,North,2026-01-05,10,none"}
    run.load(loaded, write_export(tmp_path / "newer", newer), date(2026, 7, 31), accept_anyway=INVENTED)
    then = run.report(loaded, "2026Q1", as_loaded=1).page.with_name("trace.html").read_text(encoding="utf-8")
    now = run.report(loaded, "2026Q1").page.with_name("trace.html").read_text(encoding="utf-8")
    assert "everyone-divided-partial" in then
    assert "everyone-divided-partial" not in now


def test_the_page_goes_with_an_erased_case(loaded: Path):
    page = run.report(loaded, "2026Q1").page.with_name("trace.html")
    assert "<bdi>N</bdi>" in page.read_text(encoding="utf-8")
    assert "<li>N<" in page.read_text(encoding="utf-8")
    assert page in run_store.erase(loaded, "N").removed
    assert not page.exists()
    run.report(loaded, "2026Q1")
    assert "<bdi>N</bdi>" not in page.read_text(encoding="utf-8")
    assert "<li>N<" not in page.read_text(encoding="utf-8")


# On the demo: every line that is printed, looked up in the export itself.


@pytest.fixture(scope="module")
def demo_asked(demo: tuple[Path, str]) -> Iterator[Path]:
    """The demo's audit folder, which is only asked."""
    with worked_out_once(demo[0], "2026Q3"):
        yield demo[0]


def test_every_line_of_the_demo_says_what_stands_there(demo_asked: Path):
    # Line by line: an open quote of the demo would swallow the rest of a file for a reader of CSV.
    files = {path.name: path.read_text(encoding="utf-8-sig").split("\n") for path in places.DEMO_EXPORT.glob("*.csv")}
    book = CalamineWorkbook.from_path(str(places.DEMO_WORKBOOK))
    sheets = {
        f"caseload.xlsx, sheet {name}": book.get_sheet_by_name(name).to_python(skip_empty_area=False)
        for name in ("Caseload", "Not seen yet")
    }
    looked_up = {"csv": 0, "workbook": 0}
    for name in ("everyone", "breastfed_at_6_weeks", "complication_within_14_days", "days_from_referral_to_procedure"):
        traced = run.trace(demo_asked, name, "2026Q3")
        for case in (case for group in traced.groups for case in group.cases):
            for line in case.lines:
                file, _, number = line.where.rpartition(", line ")
                if file in files:
                    head, fields = csv.reader([files[file][0], files[file][int(number) - 1]])
                    row = dict(zip(head, fields, strict=True))
                    assert row["case_ref"] == case.case_ref
                    if "set aside" not in line.says:
                        said = dict(pair.split(" ", 1) for pair in line.says.split(", "))
                        for column, value in said.items():
                            written = row.get(column, "").replace("not_known", "")
                            assert value == (written or "not recorded"), (line, column)
                    looked_up["csv"] += 1
                else:
                    assert f"OUT-{str(sheets[file][int(number) - 1][0]).removesuffix('.0').strip()}" == case.case_ref
                    looked_up["workbook"] += 1
    assert looked_up["csv"] > 500
    assert looked_up["workbook"] > 100


def test_every_figure_of_the_period_adds_up_to_its_cases(demo_asked: Path):
    """Each measure at each level, each group apart, each part of the flow: more than five hundred figures."""
    with run.opened(demo_asked, "2026Q3") as session:
        outcome = run.worked_out(session, Progress())
        results, flow = outcome.results, outcome.flow
        period = results[results["period"] == "2026Q3"]
        names = [tuple(row) for row in period[["measure", "breakdown", "level"]].itertuples(index=False)]
        names += [(group.name, None, None) for group in aparts(measure_files.measures())]
        names += [("everyone", split, level) for split in figure_asked.FLOW for level in set(flow[split])]
        asked = [figure_asked.asked(outcome, *name) for name in names]
        assert len(asked) > 500
        found = behind_figure.behind(session.con, asked, outcome)
        # The page reads them a measure at a time, and shows the same in the same order.
        read_at_once = {
            (measure.name, figure.breakdown, figure.level): entries
            for measure in outcome.measures
            for levels in behind_figure.behind_each_level(session.con, measure, outcome).values()
            for figure, entries in levels
        }
    assert sum(map(len, found)) > 10_000
    assert read_at_once == dict(zip(names[: len(read_at_once)], found, strict=False))
