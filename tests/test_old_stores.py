"""Stores that earlier versions of the program made, and a layout that grew since: all of it is read, and added to.

tests/old_stores/version_N.duckdb.gz is a store as the program of then left it, of the exports beside it: 0.1.0 (commit
7d6ab6f), 0.2.0 (the one before e9b4993) and 0.3.0 (b8dacc1), and 0.3.0 as it
stood at 4d742e6. Each loaded spring, reported 2026Q1, loaded summer and
reported 2026Q2; all but the first loaded spring once more under a wrong cut-off, and withdrew it. The exports hold a
column and a file that the layout of then did not know.
"""

from __future__ import annotations

import contextlib
import gzip
import json
import re
import shutil
from collections.abc import Iterator
from datetime import date
from pathlib import Path

import duckdb
import pytest
from click.testing import CliRunner

from pipeline import run, store
from pipeline.console.cli import commands
from pipeline.contracts import layout
from pipeline.outcomes.results import write_csv
from pipeline.runs import run_store
from tests.conftest import INVENTED, leave_out_pages_beside, work_out_folder

OLD = Path(__file__).parent / "old_stores"
SPRING, SUMMER = OLD / "spring", OLD / "summer"
VERSIONS = (1, 2, 3, 4)
CUT_OFF = {SPRING: date(2026, 3, 31), SUMMER: date(2026, 6, 30)}


def old(audit: Path, version: int) -> Path:
    """The audit folder, with the store of that version in it."""
    (audit / store.FILE_NAME).write_bytes(gzip.decompress((OLD / f"version_{version}.duckdb.gz").read_bytes()))
    return audit


def load(audit: Path, export: Path) -> run.Loaded:
    return run.load(audit, export, CUT_OFF[export], accept_anyway=INVENTED)


def asked(audit: Path, query: str) -> list[tuple[object, ...]]:
    with contextlib.closing(store.work(audit)) as con:
        store.attach(con, audit, to_load=False)
        return con.execute(query).fetchall()


def results(made: run.Reported) -> bytes:
    return (made.page.parent / "results.csv").read_bytes()


def worked_out(audit: Path, quarter: str, as_loaded: int | None = None) -> bytes:
    """What a report would write as results.csv, without its pages."""
    outcome = work_out_folder(audit, quarter, as_loaded)
    return write_csv(outcome.results, audit / "worked_out.csv").read_bytes()


@pytest.fixture(autouse=True)
def without_what_results_alone_decide(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    """Reports without the pages beside the service edition, but those from the oldest store and a layout grown."""
    parametrized = getattr(request.node, "callspec", None)
    if parametrized is None or parametrized.params.get("version", VERSIONS[0]) == VERSIONS[0]:
        return
    leave_out_pages_beside(monkeypatch)


@pytest.fixture(scope="module")
def as_today(tmp_path_factory: pytest.TempPathFactory) -> dict[str, bytes]:
    """The results of a quarter by a store that this version makes of the same exports."""
    audit = run.new(tmp_path_factory.mktemp("today") / "audit").parent
    load(audit, SPRING)
    first = worked_out(audit, "2026Q1")
    load(audit, SUMMER)
    return {"2026Q1": first, "2026Q2": worked_out(audit, "2026Q2")}


@contextlib.contextmanager
def a_layout_that_grew(place: Path) -> Iterator[None]:
    """The layout with one more column and one more table."""
    described = json.loads(layout.LAYOUT.read_text(encoding="utf-8"))
    cases, referrals = described["resources"][0], described["resources"][3]
    yes_no = next(field for field in cases["schema"]["fields"] if field["name"] == "nipple_pain")
    cases["schema"]["fields"].insert(2, {**yes_no, "name": "interpreter"})
    fields = [{**field, "name": field["name"].replace("referral_", "call_")} for field in referrals["schema"]["fields"]]
    calls = {**referrals, "name": "calls", "path": "calls.csv", "schema": {**referrals["schema"], "fields": fields[:3]}}
    described["resources"].append(calls)
    path = place / "grown.json"
    path.write_text(json.dumps(described), encoding="utf-8")
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(layout, "LAYOUT", path)
        layout.tables.cache_clear()
        yield
    layout.tables.cache_clear()


@pytest.fixture
def grown(tmp_path: Path) -> Iterator[None]:
    with a_layout_that_grew(tmp_path):
        yield


@pytest.mark.parametrize("version", VERSIONS)
def test_a_report_made_again_from_an_old_store_is_the_one_of_today(
    audit: Path, as_today: dict[str, bytes], version: int
):
    old(audit, version)
    first, second = run.report(audit, "2026Q1", as_loaded=1), run.report(audit, "2026Q2", as_loaded=2)
    assert (results(first), results(second)) == (as_today["2026Q1"], as_today["2026Q2"])
    assert worked_out(audit, "2026Q2") == as_today["2026Q2"]
    # Version 1 recorded no report: there the settings and the words are those of the day, and the page says so.
    assert ("Ours." in first.page.read_text(encoding="utf-8")) == (version > 1)
    assert ("The old clinic" in second.page.read_text(encoding="utf-8")) == (version > 1)
    then = (
        r"version 0\.[23]\.0 of the program, with the definitions of then, this one by [\d.]+, with the second version"
    )
    assert bool(re.search(then, second.page.read_text(encoding="utf-8"))) == (version > 1)
    assert version > 1 or "the definitions of today" in second.page.read_text(encoding="utf-8")


@pytest.mark.parametrize("version", VERSIONS)
def test_everything_in_an_old_store_is_kept(audit: Path, version: int):
    happened = run_store.loads(old(audit, version))
    told = [(event.event, event.kind, event.export, event.accepted_anyway, event.counting) for event in happened]
    assert (
        told
        == [
            (1, "load", "spring", "", 0),
            (2, "load", "summer", "", 12),
            (3, "load", "spring", "a slip", 0),
            (4, "withdrawal", "", "", 0),
        ][: len(told)]
    )
    assert len(told) == (2 if version == 1 else 4)
    assert version == 1 or (happened[3].of_load, happened[3].reason) == (3, "the wrong cut-off")
    made_by = {1: "0.1.0", 2: "0.2.0", 3: "0.3.0", 4: "0.3.0"}[version]
    assert asked(audit, "SELECT * FROM store.about") == [(store.STORE_VERSION, made_by)]
    assert {by for (by,) in asked(audit, "SELECT made_by FROM store.events")} == {made_by}
    row = (
        "SELECT load, file, line, site, age_days FROM store.cases WHERE case_ref = 'OLD-05' AND load < 3 ORDER BY load"
    )
    assert asked(audit, row) == [(1, "cases.csv", 6, "North", 13), (2, "cases.csv", 6, "North", 13)]
    assert asked(audit, "SELECT count(DISTINCT row_id) FROM store.contacts WHERE load = 2") == [(24,)]
    counted = {"cases": 12, "contacts": 24, "assessments": 4, "referrals": 4, "procedures": 4, "complications": 1,
               "feeding_checks": 6}  # fmt: skip
    for table, rows in counted.items():
        assert asked(audit, f"SELECT count(*) FROM store.{table} WHERE load = 2") == [(rows,)]
    assert asked(
        audit, "SELECT file, lines, accepted, set_aside FROM store.files WHERE load = 2 AND set_aside > 0"
    ) == [("referrals.csv", 6, 4, 1)]
    assert asked(audit, "SELECT line, column_name, said_as, kind, found, case_ref FROM store.set_aside") == [
        (6, "referral_date", "referral_date", "row", "2026-02-30", "" if version == 1 else "OLD-02")
    ]
    assert asked(audit, "SELECT file, line FROM store.repeats WHERE load = 1") == [("contacts.csv", 17)]
    assert asked(audit, "SELECT remark FROM store.remarks WHERE load = 1 AND remark LIKE '%extra%'") == [
        ("cases.csv: extra column interpreter, left out",)
    ]
    reports = asked(audit, "SELECT quarter, as_loaded, made_by, commentary, commentary_before FROM store.reports")
    before = "Ours.\n" if version > 2 else ""  # version 2 did not record it
    recorded = [("2026Q1", 1, made_by, "Ours.\n", ""), ("2026Q2", 2, made_by, "", before)]
    assert reports == ([] if version == 1 else recorded)


@pytest.mark.parametrize("version", VERSIONS)
def test_an_old_store_is_loaded_into_and_knows_the_files_it_holds(audit: Path, version: int):
    old(audit, version)
    happened = len(run_store.loads(audit))
    again = load(audit, SUMMER)
    # Version 1 told the files of an export by another number.
    assert (again.number, again.examined is None) == ((3, False) if version == 1 else (2, True))
    assert load(audit, SUMMER).number == again.number
    assert run_store.withdraw(audit, again.number).event == happened + (2 if version == 1 else 1)


@pytest.mark.parametrize("version", VERSIONS)
def test_every_command_works_where_the_layout_grew(audit: Path, grown: None, version: int, as_today: dict[str, bytes]):
    old(audit, version)

    def said(*words: str) -> str:
        ran = CliRunner().invoke(commands, [*words, "--folder", str(audit)], catch_exceptions=False)
        assert ran.exit_code == 0, ran.output
        return ran.output

    drawn = ("--extracted-on", "2026-06-30")
    before = (audit / store.FILE_NAME).read_bytes()
    assert "OLD-01" in said("trace", "everyone", "2026Q1")
    said("due", "--on", "2026-06-30")
    assert "load of summer" in said("loads")
    assert "calls.csv" in said("check", str(SUMMER), *drawn)
    if version == store.STORE_VERSION:
        assert (audit / store.FILE_NAME).read_bytes() == before  # a reader adds nothing
    if version == VERSIONS[0]:  # the others' reports by a layout grown: once there is something in it
        said("report", "2026Q2")
    told = said("load", str(SUMMER), *drawn, "--accept-anyway", INVENTED)
    number = 3 if version == 1 else 5
    assert f"Load {number}, summer" in told
    assert worked_out(audit, "2026Q1", as_loaded=1) == as_today["2026Q1"]
    assert "OLD-05" in said("trace", "everyone", "2026Q1")
    said("erase", "OLD-05", "--yes")
    said("report", "2026Q2")
    page = (audit / "editions" / "2026Q2" / "technical.html").read_text(encoding="utf-8")
    assert re.search(r"<th[^>]*>calls\s*<", page)  # its optional column is among what is not recorded
    said("withdraw", str(number))
    assert worked_out(audit, "2026Q2")
    assert "in force; 11 cases count" in said("loads")


@pytest.mark.parametrize("version", VERSIONS)
@pytest.mark.parametrize("left_out", ["calls.csv", "nothing"])
def test_the_same_files_are_loaded_again_for_what_the_layout_did_not_know(
    audit: Path, tmp_path: Path, grown: None, left_out: str, version: int
):
    old(audit, version)
    number = len(run_store.loads(audit)) + 1
    export = shutil.copytree(SUMMER, tmp_path / "summer", ignore=shutil.ignore_patterns(left_out))
    for examined in (True, False):
        again = run.load(audit, export, CUT_OFF[SUMMER], accept_anyway=INVENTED)
        assert (again.number, again.examined is not None) == (number, examined)
    assert asked(audit, "SELECT load, case_ref FROM store.cases WHERE interpreter") == [(number, "OLD-05")]
    calls = [] if left_out == "calls.csv" else [(number, 3)]
    assert asked(audit, "SELECT load, count(*) FROM store.calls GROUP BY load") == calls


def test_what_the_layout_lost_stays_is_not_read_and_is_erased_with_the_case(audit: Path, tmp_path: Path):
    with a_layout_that_grew(tmp_path):
        load(audit, SUMMER)
        held = run_store.held_of(audit, "OLD-01").rows
    with pytest.raises(duckdb.BinderException, match="interpreter"):
        asked(audit, "SELECT interpreter FROM store.cases")
    assert run.report(audit).page.exists()
    assert load(audit, SPRING).number == 2
    run_store.withdraw(audit, 2)
    assert run_store.held_of(audit, "OLD-01").rows == held + 7  # those of spring
    run_store.erase(audit, "OLD-01")
    with a_layout_that_grew(tmp_path):
        assert asked(audit, "SELECT case_ref FROM store.calls WHERE load = 1") == [("OLD-06",), ("OLD-11",)]
        assert asked(audit, "SELECT case_ref FROM store.cases WHERE interpreter") == [("OLD-05",)]
    assert b"OLD-01" not in (audit / store.FILE_NAME).read_bytes()


def test_a_store_is_brought_up_to_date_whole_or_not_at_all(audit: Path, monkeypatch: pytest.MonkeyPatch, grown: None):
    for version in VERSIONS:
        before = old(audit, version) / store.FILE_NAME
        monkeypatch.setattr(layout, "_STORED_AS", dict.fromkeys(("text", "code", "integer", "date"), "VARCHAR"))
        with pytest.raises(KeyError):  # on the way: the new column is yes or no
            run_store.withdraw(audit, 1)
        monkeypatch.undo()
        with duckdb.connect(str(before)) as con:
            assert con.execute("SELECT store_version FROM about").fetchall() == [(version,)]
            assert con.execute(
                "SELECT count(*) FROM duckdb_tables() WHERE table_name LIKE 'was_%' OR table_name = 'calls'"
            ).fetchall() == [(0,)]
        assert run_store.withdraw(audit, 1).load == 1
