"""Whose six-week question is due: who is listed on which day, who is held back, and that nobody who died is anywhere.

Worked by hand: on the day counted from, 20 March 2026, a baby is as old as its name says where the name is a number.
"""

from __future__ import annotations

import csv
import random
import re
import stat
import textwrap
from collections.abc import Mapping
from datetime import date, timedelta
from pathlib import Path

import pytest
from click.testing import CliRunner

from pipeline import run
from pipeline.console.cli import commands
from pipeline.contracts import places
from pipeline.outcomes.due import CLOSING, OPEN, OPENS, Due
from pipeline.report.pages import due_page as due_page
from pipeline.runs import run_due, run_store
from tests.conftest import INVENTED, write_export
from tests.reading_pages import read

ON = date(2026, 3, 20)
HEAD = "case_ref,site,first_contact_date,age_days,feeding_at_first_contact,closed_date,closed_reason,birth_weight_g"


def aged(days: int, name: str = "", closed: str = "", weight: str = "", fed: str = "exclusive") -> str:
    """A line of cases: first seen at 10 days old, and that many days old on the day counted from."""
    seen = ON - timedelta(days - 10)
    date_and_reason = closed if "," in closed else f"{'2026-03-15' if closed else ''},{closed}"
    return f"{name or days},North,{seen},10,{fed},{date_and_reason},{weight}"


def load(audit: Path, lines: list[str], drawn: date = ON, more: Mapping[str, str] | None = None) -> int:
    tables = {"cases": "\n".join([HEAD, *lines]), **(more or {})}
    place = audit.parent / f"export-{len(list(audit.parent.glob('export-*')))}"
    return run.load(audit, write_export(place, tables), drawn, accept_anyway=INVENTED).number


def listed(audit: Path, days: int = 14, on: date = ON) -> Due:
    return run_due.due(audit, on, days).due


def names(found: Due) -> set[str]:
    return {case.case_ref for case in found.to_ask}


def held(found: Due) -> dict[str, str]:
    return {case.case_ref: case.why for case in found.held_back}


def everything(audit: Path) -> str:
    """All that was written, and all that is said."""
    said = CliRunner().invoke(commands, ["due", "--on", str(ON), "--folder", str(audit)], catch_exceptions=False).output
    return said + "".join(path.read_text(encoding="utf-8") for path in sorted((audit / "due").iterdir()))


def test_the_window_is_from_35_to_56_days_of_age_both_included(audit: Path):
    # Born on 20 March less the age: the one of 35 days on 13 February, whose 56th day is 10 April.
    load(audit, [aged(age) for age in (20, 21, 34, 35, 41, 42, 55, 56, 57)])
    found = listed(audit)
    assert [(case.case_ref, case.place, case.days_left) for case in found.to_ask] == [
        ("56", CLOSING, 0),  # the day itself is the last
        ("55", CLOSING, 1),
        ("42", CLOSING, 14),
        ("41", OPEN, 15),
        ("35", OPEN, 21),
        ("34", OPENS, 22),
        ("21", OPENS, 35),  # opens on 3 April, in 14 days
    ]  # the one of 20 days opens on 4 April, in 15 days; that of 57 days is past asking
    (of_35,) = [case for case in found.to_ask if case.case_ref == "35"]
    assert of_35.first_day == ON
    assert of_35.six_weeks_on == date(2026, 3, 27)
    assert of_35.last_day == date(2026, 4, 10)
    assert found.closed_unanswered == 1


def test_the_days_ahead_are_asked_for(audit: Path):
    load(audit, [aged(age) for age in (34, 35, 55, 56)])
    assert {case.case_ref: case.place for case in listed(audit, 0).to_ask} == {"35": OPEN, "55": OPEN, "56": CLOSING}
    assert {case.case_ref: case.place for case in listed(audit, 1).to_ask}["34"] == OPENS
    assert {case.place for case in listed(audit, 21).of(CLOSING)} == {CLOSING}
    assert {case.case_ref for case in listed(audit, 21).of(CLOSING)} == {"35", "55", "56"}


def test_windows_that_closed_are_counted_for_28_days(audit: Path):
    # The window of the one of 84 days closed on 20 February, 28 days before; that of 85 days the day before that.
    load(audit, [aged(age) for age in (57, 84, 85)])
    found = listed(audit)
    assert (names(found), found.closed_unanswered) == (set(), 2)


def test_only_those_the_measures_ask_about_are_listed(audit: Path):
    fed = [aged(40, f"fed-{fed or 'blank'}", fed=fed) for fed in ("exclusive", "partial", "none", "", "not_known")]
    # First seen at 27 and at 28 days old; both 40 days old on the day.
    seen = [
        "seen-27,North,2026-03-07,27,exclusive,,,",
        "seen-28,North,2026-03-08,28,exclusive,,,",
    ]
    load(audit, [*fed, *seen])
    assert names(listed(audit)) == {"fed-exclusive", "fed-partial", "seen-27"}


def test_an_answer_counts_in_the_window_and_nowhere_else(audit: Path):
    # All 56 days old on 20 March: born on 23 January, 34 days old on 26 February and 35 on the 27th.
    answers = """
        case_ref,check_date,feeding
        before,2026-02-26,exclusive
        first,2026-02-27,none
        last,2026-03-20,partial
        asked,2026-03-10,
        unknown,2026-03-10,not_known
        both,2026-03-01,partial
        both,2026-03-06,
    """
    load(
        audit,
        [aged(56, name) for name in ("before", "first", "last", "asked", "unknown", "both")],
        more={"feeding_checks": answers},
    )
    found = listed(audit)
    assert names(found) == {"before", "asked", "unknown"}
    assert found.held_back == ()


def test_an_answer_after_the_window_leaves_it_closed_unanswered(audit: Path):
    # 57 days old on 20 March: an answer of that day is a day late.
    load(audit, [aged(57)], more={"feeding_checks": "case_ref,check_date,feeding\n57,2026-03-20,exclusive"})
    assert listed(audit).closed_unanswered == 1


def test_the_closed_who_may_still_be_asked_are_listed_with_their_reason(audit: Path):
    load(audit, [aged(40, reason, reason) for reason in ("settled", "no_reply", "stopped_breastfeeding")])
    records = {case.case_ref: due_page.record(case) for case in listed(audit).to_ask}
    assert records == {
        "settled": "closed: settled",
        "no_reply": "closed: no reply",
        "stopped_breastfeeding": "closed: stopped breastfeeding",
    }


def test_who_died_or_moved_is_nowhere_not_even_counted(audit: Path):
    lines = [aged(40, "ref-died", "died"), aged(40, "ref-moved", "moved"), aged(40, "ref-here")]
    # Without a day, with an unreadable weight, and with a window that has closed.
    lines += [aged(40, "ref-died-no-day", ",died"), aged(40, "ref-died-odd", "died", weight="heavy")]
    lines += [aged(40, "ref-moved-no-day", ",moved"), aged(40, "ref-moved-odd", "moved", weight="heavy")]
    lines += [aged(60, "ref-died-past", "died"), aged(60, "ref-moved-past", "moved")]
    load(audit, lines)
    found = listed(audit)
    assert (names(found), held(found), found.closed_unanswered) == ({"ref-here"}, {}, 0)
    assert re.findall(r"ref-\w[\w-]*", everything(audit)) == ["ref-here"] * 2  # on the page and in the CSV


def test_a_death_that_any_load_in_force_tells_of_keeps_a_case_out(audit: Path):
    """Both count as a load of another source has them, which was drawn later and knows nothing of it."""
    load(audit, [aged(40, "ref-a", "died"), aged(40, "ref-b")], drawn=ON - timedelta(1))
    map_other(audit)
    sheet = audit.parent / "other.csv"
    sheet.write_text(f"Ref,Seen,Age\nref-a,{ON - timedelta(30)},10\nref-b,{ON - timedelta(30)},10\n", encoding="utf-8")
    run.load(audit, sheet, ON, accept_anyway=INVENTED)
    assert names(listed(audit)) == {"ref-b"}
    assert "ref-a" not in everything(audit)


def map_other(audit: Path) -> None:
    text = """
        source = "Other"
        [[rows]]
        table = "cases"
        [rows.columns]
        case_ref = "Ref"
        site = { constant = "South" }
        first_contact_date = { column = "Seen", date = "%Y-%m-%d" }
        age_days = "Age"
        feeding_at_first_contact = { constant = "exclusive" }
    """
    (audit / "mappings" / "other.toml").write_text(textwrap.dedent(text), encoding="utf-8")


def test_a_death_that_a_newer_export_took_back_keeps_a_case_out(audit: Path):
    load(audit, [aged(40, "A", "died"), aged(40, "B")], drawn=ON - timedelta(1))
    load(audit, [aged(40, "A"), aged(40, "B")])
    assert names(listed(audit)) == {"B"}
    assert held(listed(audit)) == {}


@pytest.mark.parametrize("reason", ["died", "moved", "care_elsewhere"])
def test_an_export_withdrawn_since_that_closed_a_case_holds_it_back(audit: Path, reason: str):
    load(audit, [aged(40, "A"), aged(40, "B"), aged(40, "C")], drawn=ON - timedelta(1))
    load(audit, [aged(40, "A", reason), aged(40, "B"), aged(40, "C", "settled")])
    run_store.withdraw(audit, 2)
    found = listed(audit)
    assert (names(found), held(found)) == (
        {"B", "C"},
        {"A": "an export that was withdrawn since had it closed (load 2)"},
    )
    assert not re.search(
        "died", (audit / "due" / "due.html").read_text(encoding="utf-8").split("Look at the record")[2]
    )


def test_a_newer_row_that_was_set_aside_holds_a_case_back(audit: Path):
    load(audit, [aged(40, "A"), aged(40, "B")], drawn=ON - timedelta(1))
    load(audit, ["A,North,never,10,exclusive,2026-03-15,died,", aged(40, "B")])
    found = listed(audit)
    assert (names(found), held(found)) == ({"B"}, {"A": "a newer row of it could not be used (load 2)"})


@pytest.mark.parametrize(
    ("closed", "weight", "column"),
    [
        ("2026-03-15,Died", "", "closed_reason"),
        ("20260315,settled", "", "closed_date"),
        (",", "heavy", "birth_weight_g"),
    ],
)
def test_a_value_that_was_set_aside_holds_a_case_back(audit: Path, closed: str, weight: str, column: str):
    load(audit, [aged(40, "A", closed, weight), aged(40, "B", weight="3500")])
    found = listed(audit)
    assert names(found) == {"B"}
    assert held(found)["A"].startswith(f"part of its row could not be used: {column} (load 1)")


def test_a_value_mended_in_a_newer_export_holds_nobody_back(audit: Path):
    load(audit, [aged(40, "A", weight="heavy")], drawn=ON - timedelta(1))
    load(audit, [aged(40, "A", weight="3500")])
    assert (names(listed(audit)), held(listed(audit))) == ({"A"}, {})


@pytest.mark.parametrize("later", [0, 1])
def test_a_case_the_newest_export_no_longer_carries_is_held_back(audit: Path, later: int):
    load(audit, [aged(40, "A"), aged(40, "B")], drawn=ON - timedelta(1))
    load(audit, [aged(40, "B")], drawn=ON - timedelta(1 - later))  # an export of the same day replaces one too
    found = listed(audit)
    assert (names(found), held(found)) == (
        {"B"},
        {"A": "the newest export of its source no longer carries it (load 2)"},
    )


def test_a_case_half_closed_or_cared_for_elsewhere_is_held_back(audit: Path):
    load(
        audit,
        [
            aged(40, "day-only", "2026-03-15,"),
            aged(40, "reason-only", ",settled"),
            aged(40, "elsewhere", "care_elsewhere"),
            aged(40, "elsewhere-no-day", ",care_elsewhere"),
            aged(40, "open"),
            aged(60, "past", ",settled"),  # its window has closed: in no list, and not counted
        ],
    )
    found = listed(audit)
    assert names(found) == {"open"}
    assert held(found) == {
        "day-only": "closed, without a reason",
        "reason-only": "a reason for closing, without a day",
        "elsewhere": "closed: care elsewhere",
        "elsewhere-no-day": "a reason for closing, without a day; closed: care elsewhere",
    }
    assert found.closed_unanswered == 0
    with (audit / "due" / "due.csv").open(encoding="utf-8", newline="") as file:
        assert [row["case_ref"] for row in csv.DictReader(file)] == ["open"]


@pytest.mark.parametrize(
    ("age", "said"),
    [
        (0, []),
        (1, ["1 day before", "a death included"]),
        (7, ["7 days before", "a death included"]),
        (8, ["8 days before", "a death included", "load a new one first"]),
        (-3, ["after the day counted from"]),
    ],
)
def test_the_age_of_the_export_is_said_at_the_head(audit: Path, age: int, said: list[str]):
    load(audit, [aged(40), aged(30, closed="2026-03-01,settled")], drawn=ON - timedelta(age))
    warned = due_page.warnings(listed(audit))
    assert len(warned) == (1 if said else 0)
    assert all(words in warned[0] for words in said)
    assert ("load a new one" in " ".join(warned)) == (age > 7)
    page = (audit / "due" / "due.html").read_text(encoding="utf-8")
    assert all(f"<b>{warning}.</b>" in page for warning in warned)


def test_an_export_that_never_says_why_a_case_was_closed_is_named(audit: Path):
    load(audit, [aged(40)])
    assert "would not show that a baby had died" in due_page.warnings(listed(audit))[0]


def test_an_old_export_says_why_nobody_is_listed_and_which_day_to_count_from(audit: Path):
    load(audit, [aged(40, closed="settled")], drawn=ON)
    found = listed(audit, on=ON + timedelta(60))
    assert names(found) == set()
    assert due_page.nobody(found).endswith("feeding-audit due --on 2026-03-20")
    assert "drawn on 20 March 2026, 60 days before" in due_page.nobody(found)
    assert names(listed(audit)) == {"40"}
    # On the day of a fresh export it is empty for want of babies, and there is no other day to name.
    assert "--on" not in due_page.nobody(listed(audit, 0, ON - timedelta(60)))


def test_the_list_is_safe_to_open_says_no_birth_date_and_is_its_owners(audit: Path):
    refs = ["=1+1", "+2", "-3", "@4", "<b>x", "tu\u202erned"]
    load(audit, [aged(40, ref).replace("North", "=cmd()") for ref in refs])
    files = run_due.due(audit, ON, 14).files
    with files[1].open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert {row["case_ref"] for row in rows} == {"'=1+1", "'+2", "'-3", "'@4", "<b>x", "tu\ufffdrned"}
    assert {row["site"] for row in rows} == {"'=cmd()"}
    page = files[0].read_text(encoding="utf-8")
    assert "<b>x" not in page
    assert "&lt;b&gt;x" in page
    assert "\u202e" not in page
    assert "tu\ufffdrned" in page
    born = ON - timedelta(40)
    assert str(born) not in files[1].read_text(encoding="utf-8")
    assert f"{born.day} Feb" not in page.replace("\u00a0", " ")
    assert {stat.S_IMODE(path.stat().st_mode) for path in files} == {0o600}
    assert stat.S_IMODE(files[0].parent.stat().st_mode) == 0o700


def test_the_page_says_what_the_list_says(audit: Path):
    load(audit, [aged(age) for age in (34, 35, 56)] + [aged(40, "odd", "care_elsewhere")])
    files = run_due.due(audit, ON, 14).files
    text = files[0].read_text(encoding="utf-8")
    page = read(text)
    rows = [[cell.replace("\u00a0", " ") for cell in row] for row in page.tables["to-ask-caption"]]
    assert rows[1:] == [
        ["Open now, closing within 14 days (1)"],
        ["56", "20 Mar 2026", "0", "not recorded", "North", "open", "27 Feb 2026", "6 Mar 2026"],
        ["Open now (1)"],
        ["35", "10 Apr 2026", "21", "not recorded", "North", "open", "20 Mar 2026", "27 Mar 2026"],
        ["Opens within 14 days (1)"],
        ["34", "11 Apr 2026", "22", "not recorded", "North", "open", "21 Mar 2026", "28 Mar 2026"],
    ]
    assert page.tables["held-back-caption"][1:] == [["odd", "closed: care elsewhere"]]
    assert text == run_due.due(audit, ON, 14).files[0].read_text(encoding="utf-8")
    for words in (
        "Check the record before you ring.",
        "Local policy and licensed practice come first",
        "not a safety net",
    ):
        assert words in text
    assert page.headings[0] == 1
    assert "script" not in {tag for tag, _ in page.tags}


def test_nothing_is_listed_of_a_folder_without_a_load(audit: Path):
    said = CliRunner().invoke(commands, ["due", "--folder", str(audit)])
    assert said.exit_code != 0


def test_today_is_the_day_where_none_is_given(audit: Path):
    load(audit, [aged(40)])
    said = CliRunner().invoke(commands, ["due", "--folder", str(audit)], catch_exceptions=False).output
    today = date.today()
    assert f"due from {today.day} " in said
    assert str(today.year) in said.splitlines()[0]


@pytest.mark.parametrize("ref", ["A-1", 'A&"1', "A\u202e1"])
def test_an_erasure_takes_away_the_lists_that_name_the_case(audit: Path, ref: str):
    quoted = '"' + ref.replace('"', '""') + '"'
    load(audit, [aged(40, quoted), aged(40, "A"), aged(90, "gone-9")])
    files = run_due.due(audit, ON, 14).files
    if ref.isprintable():
        assert run_store.erase(audit, "gone-9").removed == ()
        assert all(path.exists() for path in files)
    hidden = () if ref.isprintable() else (audit / "loads" / "no_longer_there.csv",)  # then every list of cases goes
    assert run_store.erase(audit, ref).removed == tuple(sorted((*files, *hidden)))
    assert names(listed(audit)) == {"A"}
    said = CliRunner().invoke(commands, ["erase", "A", "--yes", "--folder", str(audit)], catch_exceptions=False).output
    assert "Removed, because they named it" in said
    assert not any(path.exists() for path in files)


@pytest.mark.parametrize("seed", range(3))
def test_nobody_who_died_stands_anywhere_in_generated_exports(audit: Path, seed: int):
    """Three loads drawn by chance, a third of the cases dead in one of them, values and rows damaged at random."""
    chance = random.Random(seed)
    refs = [f"ref-{number:02}" for number in range(60)]
    ages = {ref: chance.randint(15, 90) for ref in refs}
    died = set()
    for drawn in sorted(chance.choices([ON - timedelta(days) for days in (0, 3, 5, 5)], k=3)):
        lines = []
        for ref in refs:
            if chance.random() < 0.15:
                continue
            closed = chance.choice(["", "", "", "settled", "moved", "died", ",died", "2026-03-15,Died", ",settled"])
            odd = chance.random() < 0.1
            if closed.endswith("died") and not odd:
                died.add(ref)
            line = aged(ages[ref], ref, closed, chance.choice(["", "3500", "heavy"]))
            lines.append(line.replace(",10,", ",ten,") if odd else line)
        # A case closed on 15 March must have been first seen by then, and not after the cut-off.
        load(audit, lines, drawn)
    assert len(died) > 10
    for on in (ON - timedelta(10), ON, ON + timedelta(14)):
        found = run_due.due(audit, on, 21)
        written = "".join(path.read_text(encoding="utf-8") for path in found.files)
        assert found.due.to_ask
        assert found.due.held_back
        assert {ref for ref in refs if ref in written} & died == set()
        assert {*names(found.due), *held(found.due)} & died == set()


def test_nobody_who_died_stands_anywhere_in_the_demo(audit: Path, tmp_path: Path):
    """Every third case of the demo, made to have died: most of its babies have a week in which they would be due."""
    export = tmp_path / "demo"
    export.mkdir()
    for path in places.DEMO_EXPORT.glob("*.csv"):
        (export / path.name).write_bytes(path.read_bytes())
    with (export / "cases.csv").open(encoding="utf-8-sig", newline="") as file:
        rows = list(csv.DictReader(file))
    died = {row["case_ref"] for row in rows[::3]}
    for row in rows:
        if row["case_ref"] in died:
            row["closed_reason"] = "died"
    with (export / "cases.csv").open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, list(rows[0]))
        writer.writeheader()
        writer.writerows(rows)
    run.load(audit, export, date(2026, 10, 12), accept_anyway=INVENTED)
    seen = set()
    for weeks in range(0, 80, 8):
        found = run_due.due(audit, date(2026, 10, 12) - timedelta(weeks=weeks), 28)
        seen |= names(found.due) | set(held(found.due))
        assert not {row.case_ref for row in found.due.to_ask} & died
        written = set(re.findall(r"[\w-]+", "".join(path.read_text(encoding="utf-8") for path in found.files)))
        assert written & died == set()
    assert len(seen) > 15
