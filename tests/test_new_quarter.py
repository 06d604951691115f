"""The file that new-quarter lays: what stands in it, what is carried in, and that nothing is written over."""

from __future__ import annotations

import dataclasses
import os
import re
import shutil
import stat
from datetime import date
from pathlib import Path

import pytest
from click.testing import CliRunner
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline import run
from pipeline.console.cli import commands
from pipeline.errors import Refused
from pipeline.outcomes import lookup
from pipeline.report.commentary import commentary_view, markdown, plan
from pipeline.report.opening.attention import attention
from pipeline.report.pages import commentary_to_write
from tests import report_content
from tests.conftest import INVENTED, write_export

HEAD = "| Finding | Action | Owner | By when | Done |\n| --- | --- | --- | --- | --- |\n"
LAID = HEAD.replace(" Done |", " Done | Publish |").replace("--- |\n", "--- | --- |\n")
# Three families who asked for help on 1 January: seen after 2, 3 and 20 days; of the third site nothing else is known.
TABLES = {
    "cases": """
        case_ref,site,help_requested_date,first_contact_date,age_days
        A,North,2026-01-01,2026-01-03,10
        B,North,2026-01-01,2026-01-04,10
        C,South,2026-01-01,2026-01-21,10
    """
}


@pytest.fixture(scope="module")
def loaded_once(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An audit folder with the export above, one measure at a glance and its standard."""
    audit = run.new(tmp_path_factory.mktemp("period") / "audit").parent
    settings = audit / "audit.toml"
    text = settings.read_text(encoding="utf-8")
    text = re.sub(r"(?s)at_a_glance = \[.*?\]", 'at_a_glance = ["seen_promptly"]', text)
    settings.write_text(re.sub(r"^\[standards\]$", r"\g<0>\nseen_promptly = 0.9", text, flags=re.M), encoding="utf-8")
    run.load(audit, write_export(audit.parent / "export", TABLES), date(2026, 3, 31), accept_anyway=INVENTED)
    return audit


@pytest.fixture
def loaded(loaded_once: Path, tmp_path: Path) -> Path:
    """A copy of it."""
    return Path(shutil.copytree(loaded_once, tmp_path / "audit"))


def test_the_first_period_is_laid_before_there_is_any_commentary(loaded: Path):
    (loaded / "commentary").rmdir()
    laid = run.new_quarter(loaded)
    assert laid == commentary_to_write.Laid(
        loaded / "commentary" / "2026Q1.md", "2026Q1", 0
    )  # the latest that had ended
    text = laid.path.read_text(encoding="utf-8")
    assert [line for line in text.split("\n") if line.startswith("#")] == [
        "# Commentary, January to March 2026",
        "## What we saw",
        "## What we are unsure of",
        "## What we will do",
    ]
    saw = text.split("## What we saw")[1].split("## What we are")[0]
    # By hand: 2 of 3 within 5 days; Wilson's interval of 2 in 3 is 20.8 to 93.9%.
    assert (
        "<!-- Seen promptly: 2 of 3 whose answer we know (67%, 95% interval 21 to 94%); 0 not known (so far). -->"
        in saw
    )
    assert "Our own standard" not in saw  # 2 of 3 is within what chance gives where 90% are
    # Nobody was asked at six weeks, so that all three are not known; nothing else is asked of so many.
    assert "not known: Asked at six weeks" not in saw  # not having been asked is an answer
    assert text.endswith(f"{LAID}|  |  |  |  |  |  |\n")


@pytest.mark.skipif(os.name != "posix", reason="file modes are those of POSIX")
def test_it_is_readable_by_its_owner_only(loaded: Path):
    assert stat.S_IMODE(run.new_quarter(loaded).path.stat().st_mode) & 0o077 == 0


def test_a_file_that_is_there_is_never_written_over(loaded: Path):
    path = loaded / "commentary" / "2026Q1.md"
    path.write_text("", encoding="utf-8")
    with pytest.raises(Refused, match=r"2026Q1\.md: it is there already\n.*\n.*write in it; or move it away"):
        run.new_quarter(loaded, "2026Q1")
    assert path.read_text(encoding="utf-8") == ""
    assert list(path.parent.iterdir()) == [path]


def test_a_period_of_which_nothing_is_known_is_refused(loaded: Path):
    with pytest.raises(Refused, match="2026Q2: nothing is known of it"):
        run.new_quarter(loaded, "2026Q2")
    assert list((loaded / "commentary").iterdir()) == []


def test_what_was_laid_and_not_written_in_is_no_commentary(loaded: Path, one_page: None):
    run.new_quarter(loaded)
    page = run.report(loaded).page.read_text(encoding="utf-8")
    part = page.split('<section id="commentary"')[1].split("</section>")[0]
    assert "commentary/2026Q1.md is there, and waits for the lead’s words" in part
    assert "Our own standard" not in part
    assert "<h3>What we" not in part
    assert "&lt;!--" not in part
    assert "No action was written down for this quarter." in part


def test_without_a_file_the_page_says_how_to_begin_one(loaded: Path, one_page: None):
    page = run.report(loaded).page.read_text(encoding="utf-8")
    assert "No commentary was written for this quarter. To begin one: feeding-audit new-quarter 2026Q1" in page


def test_what_was_open_a_period_before_is_carried_in_with_its_period(loaded: Path):
    before = loaded / "commentary" / "2025Q4.md"
    rows = (
        "| Waits | Ring every family | Hub | soon | no |\n"
        "| Few asked (from April to June 2025) | Ask A \\| B | Lead | May | begun |\n"
        "| Calm | Rest | Lead | May | yes |\n"
    )
    before.write_text(HEAD + rows, encoding="utf-8")
    laid = run.new_quarter(loaded)
    assert laid.carried == 2
    text = laid.path.read_text(encoding="utf-8")
    assert "<!-- Still open in earlier plans, carried in: 2. -->" in text
    assert text.split(LAID)[1] == (
        "| Waits (from October to December 2025) | Ring every family | Hub | soon | no | no |\n"
        "| Few asked (from April to June 2025) | Ask A \\| B | Lead | May | begun | no |\n"
        "|  |  |  |  |  |  |\n"
    )
    view = commentary_view.view(text, before.read_text(encoding="utf-8"), "2026Q1")
    assert view.brought_forward is None
    assert view.of_before == "Every action still open in an earlier plan is in this one."


def test_a_year_is_called_a_year_and_its_plan_carries_what_its_quarters_left_open(loaded: Path):
    for quarter, rows in {"2025Q2": "| f | Ring | o | w | no |\n", "2026Q1": "| g | Look | o | w | no |\n"}.items():
        (loaded / "commentary" / f"{quarter}.md").write_text(HEAD + rows, encoding="utf-8")
    laid = run.new_quarter(loaded, "2025-26")
    text = laid.path.read_text(encoding="utf-8")
    assert laid.carried == 2
    assert text.split(LAID)[1].split("\n")[:2] == [
        "| f (from April to June 2025) | Ring | o | w | no | no |",
        "| g (from January to March 2026) | Look | o | w | no | no |",
    ]
    assert "quarter" not in text
    with pytest.raises(Refused, match="allowed: a year without one"):
        run.new_quarter(loaded, "2025-26")


def test_a_years_page_shows_what_was_open_long_before_and_so_does_the_page_made_again(loaded: Path, one_page: None):
    (loaded / "commentary" / "2024Q4.md").write_text(f"{HEAD}| f | Ring | o | w | no |\n", encoding="utf-8")
    first = run.report(loaded, "2025-26").page
    (loaded / "commentary" / "2024Q4.md").unlink()
    words = run.report(loaded, "2025-26", as_loaded=1).page.read_text(encoding="utf-8")
    assert words == first.read_text(encoding="utf-8")
    table = words.split('id="commentary-before-caption"')[1].split("</table>")[0]
    assert re.findall(r"<td[^>]*>([^<\n]*)", table) == ["Ring", "o", "w", "no", "October to December 2024"]


def test_the_mark_of_a_year_stays_the_first(loaded: Path):
    (action,) = plan.read(markdown.read(f"{HEAD}| f (from 2024/25) | Ring | o | w | no |\n"), "x").actions
    assert commentary_to_write._carried(action, "January to March 2026")[0] == "f (from 2024/25)"


def test_words_of_other_columns_are_carried_too():
    text = "| Action | Who |\n| --- | --- |\n| Ring | Hub |\n"
    (action,) = plan.read(markdown.read(text), "x").actions
    assert commentary_to_write._carried(action, "May to June 2026")[:2] == ("Who: Hub (from May to June 2026)", "Ring")


def test_the_figures_are_those_of_the_page():
    content = report_content.content()
    text = commentary_to_write.text(content, ())
    page_says = commentary_view.view(text, "", content.period)
    assert page_says.parts == ()  # all of it is notes
    assert page_says.warnings == ()
    notes = re.findall(r"^<!-- (.*) -->$", text, flags=re.M)
    assert sum(note.startswith("Much is not known: ") for note in notes) == 3
    missed = [note for note in notes if note.startswith("Our own standard: ")]
    said = [text.removeprefix("Worse: ") for text in attention(content) if ": missed" in text]
    own = re.fullmatch(r"Our own standard: (.*), (\d+%: missed.*)\.", missed[0])
    assert len(missed) == len(said) == 1 and own  # the others are within what chance gives
    assert said[0].startswith(f"{own[1]}: ") and said[0].endswith(f"; standard {own[2]}")
    titles = {measure.name: measure.title for measure in content.measures}
    begun = [
        next(note for note in notes if note.startswith(f"{titles[name]}: ")) for name in content.settings.at_a_glance
    ]
    assert [notes.index(note) for note in begun] == sorted(notes.index(note) for note in begun)
    assert any(note.startswith("Worse: Mill Lane clinic, ") for note in notes)


def test_the_largest_unknowns_come_in_order():
    """By hand: 2 of 4 before 3 of 9 before 1 of 5; one with nothing unknown is never named."""
    content = report_content.content()
    results, waits = report_content.frames()
    results = results.copy()
    here = (results["period"] == content.period) & (results["breakdown"] == "all")
    results.loc[here, ["unknown"]] = 0
    chosen = {"seen_promptly": (5, 1), "fed_within_30_minutes": (9, 3), "asked_at_6_weeks": (4, 2)}
    for name, (eligible, unknown) in chosen.items():
        row = here & (results["measure"] == name)
        results.loc[row, ["eligible", "unknown", "known"]] = eligible, unknown, eligible - unknown
    notes = commentary_to_write._unknowns(dataclasses.replace(content, lookup=lookup.read(results, waits)))
    assert [re.search(r", (\d+ of \d+) \(", note)[1] for note in notes] == ["2 of 4", "3 of 9", "1 of 5"]  # type: ignore[index]
    assert notes[0].endswith("2 of 4 (50%) not known.")


def test_a_name_from_the_records_cannot_end_a_note():
    assert commentary_to_write._note("a --> <b> \n## c \u202e --!> d") == "<!-- a –> <b> ## c –!> d -->"


@settings(deadline=None)
@given(st.lists(st.text("ab |\\*_`[]<>!-:\n\t#&;", max_size=12), min_size=5, max_size=5))
def test_a_carried_action_is_known_again_whatever_stands_in_it(texts: list[str]):
    row = "| " + " | ".join(" ".join(text.split()).replace("|", "\\|") for text in texts) + " |\n"
    (*_, action) = plan.read(markdown.read(f"{HEAD}| f | a | o | w | no |\n{row}"), "x").actions
    carried = HEAD + commentary_to_write._row(commentary_to_write._carried(action, "April to June 2026"))
    (again,) = plan.read(markdown.read(carried), "x").actions
    assert again.named == action.named or not action.action.written
    assert again.open == action.open


def test_the_command_says_where_it_is_and_how_to_go_on(loaded: Path):
    # Of a quarter long before: the ones in between were skipped.
    (loaded / "commentary" / "2024Q4.md").write_text(f"{HEAD}| a | b | c | d | no |\n", encoding="utf-8")
    outcome = CliRunner().invoke(commands, ["new-quarter", "--folder", str(loaded)], catch_exceptions=False)
    assert outcome.exit_code == 0
    assert f"January to March 2026: {loaded / 'commentary' / '2026Q1.md'}" in outcome.output
    assert "In its plan: 1 action still open in earlier plans." in outcome.output
    assert f"feeding-audit report 2026Q1 --folder {loaded}" in outcome.output


def test_a_plan_that_cannot_be_read_whole_is_said_on_the_terminal_and_on_the_page(loaded: Path, one_page: None):
    (loaded / "commentary" / "2026Q1.md").write_text(f"{HEAD}| a | b | c | d | half |\n", encoding="utf-8")
    made = run.report(loaded)
    said = "commentary/2026Q1.md, line 3: Done says “half”, which is read as not done; write yes, no or a date"
    assert said in made.attention
    part = made.page.read_text(encoding="utf-8").split('<section id="commentary"')[1].split("</section>")[0]
    assert f"<li>{said}." in part
