"""What is added as a file stands in the results, on the page and in the lists, and nothing else needs a change.

One of each kind is put into a copy of the program, which then loads and reports a small export, in one process.
"""

from __future__ import annotations

import csv
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from pipeline import run
from pipeline.contracts import places
from tests.conftest import confirm, made_once, write_export

EXPORT = {
    "cases": """
        case_ref,site,first_contact_date,age_days,sex
        A,North,2026-01-05,10,female
        B,South,2026-01-12,20,male
        C,North,2026-01-19,30,
    """,
    "referrals": """
        case_ref,referral_date,outcome,outcome_date
        A,2026-01-10,accepted,2026-01-12
        A,2026-01-20,,
        B,2026-01-15,declined_by_parent,2026-01-16
    """,
    "procedures": """
        case_ref,procedure_date,operator,aftercare_advice
        A,2026-01-24,P1,yes
    """,
    "requests": """
        case_ref,site,request_date
        R,North,2026-02-01
    """,
}
MEASURE = """\
-- title: {title}
-- question: How many are there?
-- section: {section}
-- kind: proportion
-- eligible: Everyone
-- met: {met}
-- unknown: Nothing recorded
-- better: none
-- grain: {grain}
-- source: common practice, no published standard
"""
ADDED = {
    "measures/girls.sql": MEASURE.format(title="Girls", met="A girl", grain="case", section="newcomers")
    + "SELECT case_ref, first_contact_date AS index_date, sex = 'female' AS met\nFROM cases\n",
    "measures/referrals_answered.sql": MEASURE.format(
        title="Referrals answered", met="Answered", grain="referral", section="waiting"
    )
    + "SELECT case_ref, referral_id, referral_date AS index_date, outcome IS NOT NULL AS met\nFROM referrals\n",
    "measures/divisions_by_p1.sql": MEASURE.format(
        title="Divided by P1", met="P1", grain="division", section="division"
    )
    + "SELECT case_ref, division_id, division_date AS index_date, operator = 'P1' AS met\nFROM divisions\n",
    "measures/requests_seen.sql": MEASURE.format(title="Asked and seen", met="Seen", grain="request", section="waiting")
    + "SELECT case_ref, request_date AS index_date, first_contact_date IS NOT NULL AS met\nFROM requests\n",
    "apart/referred_twice.sql": "-- title: Second referrals of a case\n-- measure: referrals_answered\n"
    "SELECT case_ref, max(referral_id) AS referral_id, max(referral_date) AS index_date\nFROM referrals\n"
    "GROUP BY case_ref\nHAVING count(*) > 1\n",
    "look_again/99_older_than_three_weeks.sql": "-- title: Older than three weeks\n-- why: Invented for a test.\n"
    "SELECT case_ref, lead_practitioner AS practitioner, first_contact_date AS day, age_days || ' days' AS detail\n"
    "FROM cases\nWHERE age_days > 21 AND period_of(first_contact_date) = $period\nORDER BY day, case_ref\n",
    "activity/95_sites.sql": "-- title: Where they came\n"
    "SELECT first_contact_date AS index_date, site AS counted_as\nFROM cases\n",
    "cases/70_seen_on_a_monday.sql": "SELECT case_ref\nFROM cases\nWHERE dayofweek(first_contact_date) = 1\n",
    "checks/15_nobody_is_called_x.sql": "-- kind: row\n-- allowed: a reference other than X\n-- mend: x\n-- why: X\n"
    "SELECT 'cases' AS table_name, 'case_ref' AS column_name, row_id, case_ref AS found\nFROM staged_cases\n"
    "WHERE case_ref = 'X'\n",
}
BREAKDOWN = (
    "    CASE WHEN m.case_ref IS NULL THEN 'no' ELSE 'yes' END AS monday_1, -- title: Seen on a Monday (for equity)\n"
)
# Typed rather than written out: what a person would do, one command after another.
RUN = """
import sys
from datetime import date
from pathlib import Path
from pipeline import run
from pipeline.contracts import places
assert str(places.SQL).startswith(sys.argv[1]), places.SQL
audit = Path(sys.argv[1]) / "audit"
loaded = run.load(audit, Path(sys.argv[1]) / "export", date(2026, 6, 30), accept_anyway="rows invented for a test")
print([(count.accepted, count.set_aside) for count in loaded.examined.counts if count.file == "cases.csv"])
run.report(audit, "2026Q1")
for name in ("referrals_answered", "referred_twice", "girls", "divisions_by_p1"):
    for group in run.trace(audit, name, "2026Q1").groups:
        own = [(case.case_ref, [line.where for line in case.lines if line.own]) for case in group.cases]
        print(name, group.title, own)
print(len(run.practitioner(audit, "P1", "2026Q1").content.counted.results))
from pipeline.console.cli import commands
commands(["measures"], standalone_mode=False)
"""


def grow(place: Path) -> str:
    """Copy the program there, add a file of each kind and run it; what the run printed."""
    place.mkdir()
    root = places.SQL.parent
    for folder in ("pipeline", "sql", "reports"):
        shutil.copytree(root / folder, place / folder, ignore=shutil.ignore_patterns("*.pyc.*"))  # half written
    for name, text in ADDED.items():
        assert not (place / "sql" / name).exists()
        (place / "sql" / name).write_text(text, encoding="utf-8")
    by = place / "sql" / "breakdowns.sql"
    text = by.read_text(encoding="utf-8").replace("    level_of(c.route) AS", f"{BREAKDOWN}    level_of(c.route) AS")
    by.write_text(
        f"{text.rstrip()}\nLEFT JOIN seen_on_a_monday AS m ON m.case_ref = counted.case_ref\n", encoding="utf-8"
    )
    tables = dict(EXPORT, cases=EXPORT["cases"].rstrip() + "\n        X,North,2026-01-20,5,male\n")
    write_export(place / "export", tables)
    confirm(run.new(place / "audit").parent, site=["North", "South"], practitioner=["P1"], case_ref=["A"])
    ran = subprocess.run(
        [sys.executable, "-c", RUN, str(place)], capture_output=True, text=True, cwd=place, check=False
    )
    assert ran.returncode == 0, ran.stderr
    return ran.stdout


@pytest.fixture(scope="module")
def grown(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, list[str]]:
    """The audit folder of the grown program, and what the run printed."""
    place, said = made_once(tmp_path_factory, "grown", grow)
    return place / "audit", said.splitlines()


def results(audit: Path) -> dict[tuple[str, str, str], tuple[str, str, str]]:
    """(measure, breakdown, level) -> eligible, known, met of the quarter."""
    with (audit / "editions" / "2026Q1" / "results.csv").open(encoding="utf-8") as file:
        rows = [row for row in csv.DictReader(file) if row["period"] == "2026Q1"]
    return {
        (row["measure"], row["breakdown"], row["level"]): (row["eligible"], row["known"], row["met"]) for row in rows
    }


def test_a_measure_of_each_grain_and_a_breakdown_stand_in_the_results(grown: tuple[Path, list[str]]):
    told = results(grown[0])
    assert told["girls", "all", "all"] == ("3", "2", "1")
    assert told["referrals_answered", "all", "all"] == ("3", "3", "2")
    assert told["divisions_by_p1", "all", "all"] == ("1", "1", "1")
    # All three were first seen on a Monday.
    assert told["referrals_answered", "monday_1", "yes"] == ("3", "3", "2")
    assert told["referrals_answered", "site", "South"] == ("1", "1", "1")
    assert told["requests_seen", "all", "all"] == told["requests_seen", "site", "North"] == ("1", "1", "0")
    assert told["requests_seen", "monday_1", "no"] == ("1", "1", "0")  # it is no case, so it has none of the cases' own


def test_each_stands_on_the_page_and_the_list_beside_it(grown: tuple[Path, list[str]]):
    place = grown[0] / "editions" / "2026Q1"
    page = (place / "service.html").read_text(encoding="utf-8")
    for words in (
        "Girls",
        "Newcomers",
        "Referrals answered",
        "Divided by P1",
        "Asked and seen",
        "Second referrals of a case",
        "Monday",
    ):
        assert words in page, words
    with (place / "cases_to_look_at_again.csv").open(encoding="utf-8-sig") as file:
        listed = [row["case_ref"] for row in csv.DictReader(file) if row["reason"] == "older_than_three_weeks"]
    assert listed == ["C"]


def test_the_table_of_who_came_is_counted(grown: tuple[Path, list[str]]):
    with (grown[0] / "editions" / "2026Q1" / "activity.csv").open(encoding="utf-8") as file:
        counted = [(row["row"], row["count"]) for row in csv.DictReader(file) if row["section"] == "sites"]
    assert counted == [("North", "2"), ("South", "1")]


def test_what_the_check_refuses_is_set_aside(grown: tuple[Path, list[str]]):
    assert grown[1][0] == "[(3, 1)]"
    with (grown[0] / "loads" / "0001" / "set_aside.csv").open(encoding="utf-8-sig") as file:
        assert "a reference other than X" in [row["allowed"] for row in csv.DictReader(file)]


def test_figures_of_every_grain_are_traced_to_their_own_lines(grown: tuple[Path, list[str]]):
    assert grown[1][1:8] == [
        "referrals_answered Yes [('A', ['referrals.csv, line 2']), ('B', ['referrals.csv, line 4'])]",
        "referrals_answered No [('A', ['referrals.csv, line 3'])]",
        "referred_twice Counted [('A', ['referrals.csv, line 3'])]",
        "girls Yes [('A', [])]",
        "girls Not known [('C', [])]",
        "girls No [('B', [])]",
        "divisions_by_p1 Yes [('A', ['procedures.csv, line 2'])]",
    ]
    assert int(grown[1][8]) > 0


def test_the_list_of_measures_has_the_new_ones(grown: tuple[Path, list[str]]):
    listed = "\n".join(grown[1][9:])
    assert all(name in listed for name in ("girls", "referrals_answered", "divisions_by_p1", "requests_seen"))
