"""The command line as a person meets it: what it says, and what it says of mistakes."""

from __future__ import annotations

import csv
import os
import re
import shutil
import stat
import subprocess
import sys
from datetime import date
from pathlib import Path
from types import SimpleNamespace

import pytest
from click.testing import CliRunner

from pipeline import run
from pipeline.console import page_messages
from pipeline.console.cli import commands
from pipeline.contracts import measure_files, places
from pipeline.runs.run_results import Reported
from pipeline.settings import FILE_NAME
from tests import report_content
from tests.children import held
from tests.conftest import INVENTED, feeding_audit, write_export


def test_the_demo_ends_by_naming_a_page_that_is_there(demo: tuple[Path, str]):
    folder, said = demo
    last = said.strip().splitlines()[-1]
    assert last == f"Open this page: {folder / 'editions' / '2026Q3' / 'service.html'}"
    assert Path(last.removeprefix("Open this page: ")).is_file()


def one_line(ran: subprocess.CompletedProcess[str]) -> str:
    """What was printed, without the breaks of its lines."""
    return " ".join(ran.stdout.split())


def test_what_makes_figures_doubtful_is_said_first_and_whole_and_of_the_rest_five(capsys: pytest.CaptureFixture[str]):
    content = report_content.content()
    outcome = SimpleNamespace(
        **{name: getattr(content, name) for name in ("measures", "lookup", "period")}, cut_off=date(2026, 10, 14)
    )
    doubts, others = ([f"{kind} number {at}" for at in range(7)] for kind in ("doubt", "finding"))
    page_messages.reported(Reported((Path("service.html"),), content.settings, outcome, doubts, others), None)
    listed = [line.strip() for line in capsys.readouterr().out.splitlines() if "number" in line or "more:" in line]
    five = [f"- finding number {at}." for at in range(5)]
    assert listed == [*(f"- {doubt}." for doubt in doubts), *five, "and 2 more: read on in service.html."]


def test_a_report_says_what_it_made_how_long_it_took_and_what_to_look_at(demo: tuple[Path, str]):
    ran = feeding_audit("report", "--folder", demo[0])
    said = one_line(ran)
    assert re.search(
        r"^Report for July to September 2026, as known on 12 October 2026, made in \d+\.\d seconds: ", said
    )
    head, attention = said.split(" Needs your attention: ")
    head, doubts = head.split(" Before you rely on the figures (technical.html says more): ")
    settings = (demo[0] / "audit.toml").read_text(encoding="utf-8")
    primary = re.findall(r'^    "(\w+)",$', settings, re.MULTILINE)[:3]
    titles = [measure.title for name in primary for measure in measure_files.measures() if measure.name == name]
    assert len(titles) == 3
    assert [title for title in titles if f"{title}: " in head] == titles
    # Planted: the standard missed, one site that waits longer; faults: lines of complications that could not be used.
    assert "- The export of 12 October 2026 (load 1), complications.csv: 3 of 25 lines could not be used" in doubts
    assert "- Worse: Seen promptly: 72 of 95 (76%), 0 not known; standard 90%: missed." in attention
    assert "- Worse: Ottermoss hub, Divided within 28 days of referral:" in attention
    # What makes figures doubtful comes first and is never what is left out; then three that are worse, and the cases.
    assert ("- " + doubts).count("- The export of ") == 2
    assert ("- " + attention.split(" So far ")[0]).count("- Worse: ") == 3 and "read on in" not in attention
    with (demo[0] / "editions" / "2026Q3" / "cases_to_look_at_again.csv").open(encoding="utf-8", newline="") as file:
        again = {row["case_ref"] for row in csv.DictReader(file)}
    assert f"- Cases to look at again: {len(again)}, listed in a file of their own." in attention
    written = said.split("Written to ")[1].split(". Open this page")[0].split(": ")[1].split(", ")
    place = demo[0] / "editions" / "2026Q3"
    assert sorted(written) == sorted(path.name for path in place.iterdir() if path.is_file())


def test_a_report_says_which_measures_are_so_far(demo: tuple[Path, str]):
    # The cut-off is 12 days after the quarter: what watches for 14 days is so far, what watches for 7 is complete.
    said = " ".join(demo[1].split())
    _, so_far = said.split("So far (")
    assert "Bleeding that needed care" in so_far
    assert "Attachment help after division" not in so_far


def test_both_sources_of_the_demo_together_tell_the_planted_story_and_no_other(demo: tuple[Path, str]):
    """One site waits longer than a year before; the outreach team adds its cases and no news of its own."""
    page = (demo[0] / "editions" / "2026Q3" / "service.html").read_text(encoding="utf-8")
    story = page.split("Each site beside its own time before</h3>")[1].split("Comparisons judged")[0]
    sites = ("Ottermoss hub", "Outreach team", "Pennickfold hub", "Wrenstow clinic")
    assert all(site in page for site in sites)
    assert [site for site in sites if site in story] == ["Ottermoss hub"]
    assert story.count("<li") == 1
    assert "Divided within 28 days of referral" in story


def test_no_figure_by_practitioner_stands_where_it_was_not_asked_for(demo: tuple[Path, str], tmp_path: Path):
    """Nor any code of one, in any page or file of a report but the lists for the folder's owner."""
    codes: set[str] = set()
    for table, column in (("contacts", "practitioner"), ("assessments", "practitioner"), ("procedures", "operator")):
        with (places.DEMO_EXPORT / f"{table}.csv").open(encoding="utf-8", newline="") as file:
            codes |= {row[column].strip() for row in csv.DictReader(file)}
    codes = {code for code in codes if re.fullmatch(r"P\d+", code)}
    assert len(codes) >= 6
    code_of_one = re.compile(rf"(?<![\w#&-])(?:{'|'.join(sorted(codes))})(?!\w)")
    folder = tmp_path / "audit"
    shutil.copytree(demo[0], folder)
    place = folder / "editions" / "2026Q3"

    def codes_in(name: str) -> list[str]:
        return code_of_one.findall((place / name).read_text(encoding="utf-8"))

    names = ("service.html", "explore.html", "trace.html", "results.csv", "waits.csv", "activity.csv")
    assert not (place / "by_practitioner.csv").exists()
    assert {name: codes_in(name) for name in names} == {name: [] for name in names}
    assert feeding_audit("report", "--by-practitioner", "--folder", folder).returncode == 0
    own = (place / "by_practitioner.csv").read_text(encoding="utf-8")
    assert set(code_of_one.findall(own)) == codes
    assert not any(codes_in(name) for name in names)


@pytest.fixture
def few(audit: Path, tmp_path: Path) -> Path:
    """An audit folder with a case in each of two years."""
    cases = """
        case_ref,site,first_contact_date,age_days
        A,North,2025-02-10,10
        B,North,2025-10-10,10
        C,North,2026-10-10,10
    """
    export = write_export(tmp_path / "few", {"cases": cases})
    run.load(audit, export, date(2026, 10, 12), accept_anyway=INVENTED)
    return audit


def test_a_year_is_reported_as_it_is_named_or_with_a_slash(few: Path, one_page: None):
    for written in ("2025-26", "2025/26"):
        assert feeding_audit("report", written, "--folder", few).returncode == 0
        with (few / "editions" / "2025-26" / "results.csv").open(encoding="utf-8", newline="") as file:
            assert {row["period"] for row in csv.DictReader(file)} == {"2024-25", "2025-26"}
        shutil.rmtree(few / "editions" / "2025-26")


def test_the_demo_again_changes_nothing(demo: tuple[Path, str]):
    folder, _ = demo
    page = folder / "editions" / "2026Q3" / "service.html"
    before = page.read_bytes()
    again = feeding_audit("demo", "--out", folder)
    assert "in the store already, as load 1; nothing changed" in again.stdout
    assert page.read_bytes() == before


@pytest.mark.skipif(os.name != "posix", reason="file modes are those of POSIX")
def test_everything_made_is_readable_by_its_owner_only(demo: tuple[Path, str]):
    made = [path for path in demo[0].rglob("*") if path.is_file()]
    assert {"store.duckdb", "service.html", "results.csv", "set_aside.csv"} <= {path.name for path in made}
    for path in made:
        assert stat.S_IMODE(path.stat().st_mode) & 0o077 == 0, path


def test_the_page_opens_without_a_store_and_nothing_else_is_left_behind(demo: tuple[Path, str]):
    names = {path.name for path in demo[0].iterdir()}
    assert names <= {
        "audit.toml",
        "commentary",
        "due",
        "editions",
        "loads",
        "mappings",
        "store.duckdb",
        ".spill",
        ".gitignore",
    }


MISTAKES = {
    "an export that is not there": (["load", "nowhere"], "there is no such file or folder"),
    "an export without a cut-off": (["load", "export"], "--extracted-on YYYY-MM-DD"),
    "a report before any load": (["report"], "feeding-audit load EXPORT"),
    "a list of questions before any load": (["due"], "feeding-audit load EXPORT"),
    "a day to count from written another way": (["due", "--on", "12/10/2026"], "12 October 2026 is 2026-10-12"),
    "a measure there is not": (["measures", "breastfed"], "ask for one of those"),
    "a folder that is an audit folder": (["new", "."], "there is one already"),
    "a cut-off written another way": (
        ["load", "export", "--extracted-on", "12/10/2026"],
        "12 October 2026 is 2026-10-12",
    ),
    "a withdrawal before any load": (["withdraw", "1"], "nothing was loaded yet"),
    "an erasure before any load": (["erase", "A", "--yes"], "nothing was loaded yet"),
    "a list of what to mend over the export itself": (
        ["check", "own.csv", "--extracted-on", "2026-06-30", "--to-mend", "own.csv"],
        "a name that ends in .xlsx",
    ),
    "a list of what to mend over a workbook of one's own": (
        ["check", "export", "--extracted-on", "2026-06-30", "--to-mend", "own.xlsx"],
        "it is no list of ours",
    ),
    "a list of what to mend in a folder that is not there": (
        ["check", "export", "--extracted-on", "2026-06-30", "--to-mend", "nowhere/list.xlsx"],
        "there is no such folder",
    ),
}

ELSEWHERE = {
    "loads": ["loads"],
    "withdraw": ["withdraw", "1"],
    "erase": ["erase", "A", "--yes"],
    "report": ["report"],
    "due": ["due"],
    "load": ["load", "audit/export"],
    "check": ["check", "audit/export"],
    "suggest": ["suggest", "audit/export"],
}


@pytest.mark.parametrize("name", MISTAKES)
def test_a_mistake_is_told_without_a_traceback(tmp_path: Path, name: str):
    words, expected = MISTAKES[name]
    run.new(tmp_path / "audit")
    head = "case_ref,site,first_contact_date,age_days"
    write_export(tmp_path / "audit" / "export", {"cases": head})
    own = {"own.csv": f"{head}\n".encode(), "own.xlsx": (places.DEMO_WORKBOOK).read_bytes()}
    for name_of_own, content in own.items():
        (tmp_path / "audit" / name_of_own).write_bytes(content)
    ran = feeding_audit(*words, folder=tmp_path / "audit")
    assert {file: (tmp_path / "audit" / file).read_bytes() for file in own} == own
    assert ran.returncode == 1
    assert "Traceback" not in ran.stderr
    assert "Not done.\n" in ran.stderr
    assert expected in ran.stderr
    assert ran.stdout == ""


@pytest.mark.parametrize("name", ELSEWHERE)
def test_a_folder_that_is_no_audit_folder_is_told_and_left_as_it_is(tmp_path: Path, name: str):
    write_export(tmp_path / "audit" / "export", {"cases": "case_ref,site,first_contact_date,age_days"})
    (tmp_path / "elsewhere").mkdir()
    for folder in ("elsewhere", "nowhere"):
        ran = feeding_audit(*ELSEWHERE[name], "--folder", folder, folder=tmp_path)
        assert ran.returncode == 1
        assert "feeding-audit new FOLDER" in ran.stderr
    assert list((tmp_path / "elsewhere").iterdir()) == []
    assert not (tmp_path / "nowhere").exists()


@pytest.mark.parametrize(
    ("period", "expected"),
    [
        ("2026q3", "a calendar quarter such as 2026Q3"),
        ("2027Q1", "nothing is known of it"),
        ("2020Q1", "nothing is known of it"),
        ("2025", "a year such as 2025-26: year_starts is 4"),
        ("2025-27", "a year such as 2026-27"),
    ],
)
def test_a_period_that_cannot_be_reported_is_refused(demo: tuple[Path, str], period: str, expected: str):
    ran = feeding_audit("report", period, "--folder", demo[0])
    assert ran.returncode == 1
    assert expected in ran.stderr


def test_a_period_still_running_is_reported_as_so_far(few: Path, one_page: None):
    ran = feeding_audit("report", "2026Q4", "--folder", few)
    assert ran.returncode == 0
    assert (
        "The quarter ends on 31 December 2026, after the last day of the data: its figures are of a part of it."
        in one_line(ran)
    )
    page = (few / "editions" / "2026Q4" / "service.html").read_text(encoding="utf-8")
    assert "The quarter ends on 31 December 2026" in page.split("Before reading on</h3>")[1].split("</ul>")[0]


def test_a_store_that_another_process_holds_is_waited_for_and_told(demo: tuple[Path, str]):
    command = [sys.executable, "-m", "pipeline", "loads", "--folder", str(demo[0])]
    with held(demo[0] / "store.duckdb", None) as process:
        waiting = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
        assert waiting.stderr is not None
        assert (
            waiting.stderr.readline() == f"waiting for another program (process {process}) to finish with the store\n"
        )
    printed, said = waiting.communicate()
    assert waiting.returncode == 0, said
    assert said == ""
    assert "in force; 708 cases count" in printed


WRONG_SETTINGS = {
    'name = "Tellowdale"\nnmae = "x"': ("line 3", "nmae is no setting of [service]"),
    'name = ""': ("line 2", "name = ''"),
    'name = "x"\n[measures]\nseen_promptly_days = "five"': ("line 4", "seen_promptly_days = 'five'"),
    'name = "x"\n[measures]\nseen_promptly_days = 366': ("line 4", "seen_promptly_days = 366"),
    'name = "x"\n[requests]\nlongest_wait_days = 366': ("line 4", "longest_wait_days = 366"),
    **{
        f'name = "x"\n[report]\nyear_starts = {month}': ("line 4", f"year_starts = {month}")
        for month in (0, 2, 3, 5, 6, 8, 9, 11, 12, 13)
    },
    'name = "x"\n[report]\nyear_starts = true': ("line 4", "year_starts = True"),
    'name = "x"\n[measures]\nat_a_glance = ["seen_promtly"]': ("line 4", "at_a_glance"),
    'name = "x"\n[standards]\nseen_promptly = 90': ("line 4", "seen_promptly = 90"),
    'name = "x"\n[standards]\nseen = 0.9': ("line 4", "seen is no measure"),
    'name = "x"\n[known_enough]\nseen = 0.9': ("line 4", "seen is no measure"),
    'name = "x"\n[known_enough]\nseen_promptly = 90': ("line 4", "seen_promptly = 90"),
    'name = "x"\n[targets]\nseen = 0.9': ("line 3", "targets is no section"),
    'name = "x"\n[not_identifiers]\n"operator" = "codes"': ("line 4", "operator is no column of a table"),
    'name = "x"\n[not_identifiers]\nprocedures.operator = "codes"': ("line 4", "procedures is no column of a table"),
    'name = "x"\n[not_identifiers]\n"procedures.operator" = ""': ("line 4", "procedures.operator = ''"),
    'name = "x"\n[confirmed]\nsites = ["Hub"]': ("line 4", "sites = ['Hub']"),
    'name = "x"\n[confirmed]\nsite = "Hub"': ("line 4", "site = 'Hub'"),
    'name = "x"\n[confirmed]\ncase_ref = ["OUT-999"]': ("line 4", "A for a letter, 9 for a digit"),
    "name = x": ("audit.toml", "cannot be read"),
}


@pytest.mark.parametrize("text", WRONG_SETTINGS)
def test_a_wrong_setting_is_refused_with_its_line(tmp_path: Path, text: str):
    where, found = WRONG_SETTINGS[text]
    (tmp_path / FILE_NAME).write_text(f"[service]\n{text}\n", encoding="utf-8")
    ran = feeding_audit("report", "--folder", tmp_path)
    assert ran.returncode == 1
    assert where in ran.stderr
    assert found in ran.stderr


def test_help_imports_nothing_heavy():
    """So that it answers in about a tenth of a second."""
    code = (
        "import sys; from click.testing import CliRunner; from pipeline.console.cli import commands; "
        "CliRunner().invoke(commands, ['load', '--help']); "
        "print([name for name in ('duckdb', 'pandas', 'numpy', 'plotly', 'great_expectations') if name in sys.modules])"
    )
    ran = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert ran.stdout == "[]\n"


def test_the_demo_never_touches_an_audit_of_ones_own(tmp_path: Path):
    settings = run.new(tmp_path / "audit")
    before = settings.read_bytes()
    ran = feeding_audit("demo", "--out", tmp_path / "audit")
    assert ran.returncode == 1
    assert "something else is in it" in ran.stderr
    assert settings.read_bytes() == before
    assert not (tmp_path / "audit" / "store.duckdb").exists()


def test_where_the_demos_report_fails_it_says_that_its_loads_stand(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    def full(*_: object, **__: object) -> None:
        raise OSError(28, "No space left on device")

    loaded = run.Loaded(1, date(2026, 6, 30), None, tmp_path)
    monkeypatch.setattr(run, "demo", lambda *_: (loaded,))
    monkeypatch.setattr(run, "report", full)
    ran = CliRunner().invoke(commands, ["demo", "--out", "my audit"])
    assert "as load 1; nothing changed" in ran.stdout
    assert "The loads stand; only the report was not made. To make it: " in ran.stderr
    assert "feeding-audit report --folder 'my audit'" in ran.stderr
    assert isinstance(ran.exception, OSError)


def test_settings_that_are_not_utf_8_are_refused(tmp_path: Path):
    (tmp_path / FILE_NAME).write_bytes('[service]\nname = "Zo\u00eb"\n'.encode("cp1252"))
    ran = feeding_audit("report", "--folder", tmp_path)
    assert ran.returncode == 1
    assert "save it again in UTF-8" in ran.stderr


def test_an_audit_folder_keeps_itself_out_of_git(tmp_path: Path):
    run.new(tmp_path / "audit")
    subprocess.run(["git", "init", "--quiet", str(tmp_path)], check=True)
    said = subprocess.run(["git", "-C", str(tmp_path), "status", "--short"], check=True, capture_output=True, text=True)
    assert said.stdout == ""
