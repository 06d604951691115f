"""Loading again, withdrawing, erasing, and reports made again as they were. Worked by hand."""

from __future__ import annotations

import contextlib
import os
import re
import shutil
from collections.abc import Mapping
from datetime import date
from pathlib import Path

import pandas as pd
import pytest
from click.testing import CliRunner

from pipeline import run, store
from pipeline.console.cli import commands
from pipeline.contracts import layout
from pipeline.errors import Refused
from pipeline.outcomes import accounts, cases
from pipeline.report.content import inputs
from pipeline.runs import run_store
from pipeline.store import opening, report_records
from tests.children import fork, outcome
from tests.conftest import INVENTED, Story, work_out_folder, write_export

HEAD = "case_ref,site,first_contact_date,age_days"
SPRING, SUMMER, AUTUMN = date(2026, 3, 31), date(2026, 6, 30), date(2026, 9, 30)


def load(audit: Path, rows: str, cut_off: date, others: Mapping[str, str] | None = None) -> int:
    """The number of the load of a tiny export, in a folder of its own."""
    export = audit.parent / f"export-{len(list(audit.parent.glob('export-*')))}"
    tables = {"cases": f"{HEAD}\n{rows}", **(others or {})}
    return run.load(audit, write_export(export, tables), cut_off, accept_anyway=INVENTED).number


def add(audit: Path, source: str, cut_off: date, held: Mapping[str, date], set_aside: tuple[str, ...] = ()) -> int:
    """A load of a source, straight into the store: cases by their first contact, and cases set aside."""
    with contextlib.closing(store.work(audit)) as con:
        store.attach(con, audit, to_load=True)
        for table in layout.tables():
            con.execute(f"CREATE TEMP TABLE accepted_{table.name} AS SELECT * FROM store.{table.name} LIMIT 0")
        for row_id, (case_ref, day) in enumerate(held.items()):
            con.execute(
                "INSERT INTO accepted_cases (row_id, file, line, case_ref, site, first_contact_date, age_days) "
                "VALUES ($1, 'cases.csv', $1, $2, $3, $4, 10)",
                [row_id, case_ref, source, day],
            )
        con.execute("CREATE TEMP TABLE sheets AS SELECT 0 AS sheet, 'cases.csv' AS file")
        con.execute("CREATE TEMP TABLE set_aside AS SELECT 0 AS sheet, * EXCLUDE (file) FROM store.set_aside LIMIT 0")
        con.execute("CREATE TEMP TABLE repeats AS SELECT 0 AS sheet, * EXCLUDE (file) FROM store.repeats LIMIT 0")
        for case_ref in set_aside:
            con.execute(
                "INSERT INTO set_aside (sheet, line, last_line, table_name, column_name, said_as, kind, found, "
                "allowed, mend, case_ref) "
                "VALUES (0, 1, 1, 'cases', 'age_days', 'age_days', 'row', 'ten', '0 to 364', 'mend', $1)",
                [case_ref],
            )
        return store.add_load(
            con, export=f"export of {source}", source=source, cut_off=cut_off, fingerprint=f"{source}{cut_off}",
            mapping="", accepted_anyway="", counts=(), remarks=(),
        )  # fmt: skip


def counting(audit: Path, as_loaded: int | None = None) -> dict[str, tuple[int, str]]:
    """case_ref: the load its version comes from, and its site there."""
    with contextlib.closing(store.work(audit)) as con:
        store.attach(con, audit, to_load=False)
        store.stand_at(con, as_loaded)
        cases.build(con, through="counting_cases")
        rows = con.execute("SELECT case_ref, load, site FROM counting_cases").fetchall()
    return {case_ref: (number, site) for case_ref, number, site in rows}


def judged(audit: Path) -> tuple[dict[str, int | None], tuple[str, ...]]:
    """case_ref: set_aside_in; and the warnings."""
    with contextlib.closing(store.work(audit)) as con:
        store.attach(con, audit, to_load=False)
        cases.build(con)
        flags = dict(con.execute("SELECT case_ref, set_aside_in FROM counting_cases").fetchall())
        return flags, accounts.not_followed_on(con)


def test_loads_and_withdrawals_share_one_numbering_and_what_was_replaced_counts_again(audit: Path):
    assert load(audit, "A,Old,2026-01-10,10\nB,Old,2026-01-10,10", SPRING) == 1
    assert load(audit, "A,New,2026-01-10,10\nC,New,2026-01-10,10", SUMMER) == 2
    assert counting(audit) == {"A": (2, "New"), "B": (1, "Old"), "C": (2, "New")}
    done = run_store.withdraw(audit, 2, "the wrong clinic")
    assert (done.event, done.counted_from_it, done.counting_again) == (3, 2, 1)
    assert counting(audit) == {"A": (1, "Old"), "B": (1, "Old")}
    # As it stood before, and before that.
    assert counting(audit, 2) == {"A": (2, "New"), "B": (1, "Old"), "C": (2, "New")}
    assert counting(audit, 1) == {"A": (1, "Old"), "B": (1, "Old")}
    assert load(audit, "D,New,2026-01-10,10", SUMMER) == 4


def test_a_withdrawal_is_undone_by_loading_the_same_files_again(audit: Path, tmp_path: Path):
    export = write_export(tmp_path / "export", {"cases": f"{HEAD}\nA,North,2026-01-10,10"})
    assert run.load(audit, export, SPRING, accept_anyway=INVENTED).number == 1
    run_store.withdraw(audit, 1)
    assert counting(audit) == {}
    again = run.load(audit, export, SPRING, accept_anyway=INVENTED)
    assert (again.number, again.examined is None) == (3, False)
    once_more = run.load(audit, export, SPRING, accept_anyway=INVENTED)
    assert (once_more.number, once_more.examined) == (3, None)
    assert counting(audit) == {"A": (3, "North")}


def test_only_a_load_in_force_can_be_withdrawn(audit: Path):
    load(audit, "A,North,2026-01-10,10", SPRING)
    run_store.withdraw(audit, 1)
    load(audit, "A,North,2026-01-10,10\nB,North,2026-01-10,10", SUMMER)
    run_store.erase(audit, "B")
    for number, words in (
        (1, "load 1 was withdrawn already, by event 2"),
        (2, "event 2 is a withdrawal, of load 1"),
        (4, "event 4 is an erasure"),
        (9, "there is no load 9"),
    ):
        with pytest.raises(Refused, match=words) as refused:
            run_store.withdraw(audit, number)
        assert "allowed: a load in force: 3" in str(refused.value)
        assert len(run_store.loads(audit)) == 4


def test_everything_that_happened_is_listed_with_what_became_of_it(audit: Path):
    load(audit, "A,North,2026-01-10,10\nB,North,2026-01-10,10\nB,North,2026-01-10,10", SPRING)
    load(audit, "A,North,2026-01-10,10\nX,North,2026-01-10,ten", SUMMER)
    load(audit, "Z,North,2026-01-10,10", AUTUMN)
    run_store.withdraw(audit, 3, "not ours")
    run_store.erase(audit, "B")
    found = [
        (
            event.event,
            event.kind,
            event.cut_off,
            event.lines,
            event.accepted,
            event.set_aside,
            event.repeats,
            event.cases,
        )
        for event in run_store.loads(audit)
    ]
    assert found == [
        (1, "load", SPRING, 4, 2, 0, 1, 1),  # two lines were accepted; one of the cases was erased since
        (2, "load", SUMMER, 3, 1, 1, 0, 1),
        (3, "load", AUTUMN, 2, 1, 0, 0, 1),
        (4, "withdrawal", None, 0, 0, 0, 0, 0),
        (5, "erasure", None, 0, 0, 0, 0, 0),
    ]
    assert [(event.withdrawn_by, event.counting, event.of_load, event.reason) for event in run_store.loads(audit)] == [
        (None, 0, None, ""),
        (None, 1, None, ""),
        (4, 0, None, ""),
        (None, 0, 3, "not ours"),
        (None, 0, None, "1 row and 0 findings removed"),
    ]
    said = CliRunner().invoke(commands, ["loads", "--folder", str(audit)], catch_exceptions=False).output
    assert "withdrawn by event 4" in said
    assert "in force; 1 case counts as it holds them" in said
    assert "4  withdrawal of load 3: not ours" in said


# 84 days before 31 March is 6 January: a case first seen on 7 January was still being watched then.
WATCHED, PAST = date(2026, 1, 7), date(2026, 1, 6)


def test_a_case_is_dropped_by_the_newest_load_of_its_own_source_only(audit: Path):
    add(audit, "Riverbank", SPRING, {"R1": WATCHED, "R2": WATCHED, "R3": PAST})
    add(audit, "Hillside", SUMMER, {"H1": WATCHED})
    assert judged(audit)[1] == ()  # Hillside's export never held what is Riverbank's
    number = add(audit, "Riverbank", SUMMER, {"R2": WATCHED})
    flags, (warning,) = judged(audit)
    assert warning.startswith("1 case is no longer in the newest export of the same source")
    assert "(2026-03-31 or later)" in warning
    assert flags == {"R1": None, "R2": None, "R3": None, "H1": None}
    run_store.withdraw(audit, number)
    assert judged(audit)[1] == ()


def test_a_case_that_a_newer_load_of_any_source_set_aside_keeps_its_older_version_flagged(audit: Path):
    add(audit, "Riverbank", SPRING, {"R1": WATCHED, "R2": PAST, "R3": WATCHED})
    second = add(audit, "Riverbank", SUMMER, {"R3": WATCHED}, set_aside=("R1", "R2", "R9"))
    flags, warnings = judged(audit)
    # However long ago they were first seen; R9 has no older version to keep.
    assert flags == {"R1": second, "R2": second, "R3": None}
    assert [warning[:44] for warning in warnings] == ["2 cases count as an older export had them, b"]
    assert f"(load {second})" in warnings[0]
    third = add(audit, "Hillside", AUTUMN, {}, set_aside=("R1", "R3"))
    flags, warnings = judged(audit)
    assert flags == {"R1": third, "R2": second, "R3": third}
    assert len(warnings) == 1
    assert warnings[0].startswith("3 cases count")
    assert f"(load {second}, {third})" in warnings[0]
    run_store.withdraw(audit, third)
    assert judged(audit)[0] == {"R1": second, "R2": second, "R3": None}
    # R2 is taken up again: no flag. R1 the newest neither carries nor set aside: dropped, which says more.
    # R3 it does not carry either, but by 30 June R3 had been followed for its 84 days.
    add(audit, "Riverbank", AUTUMN, {"R2": PAST})
    flags, warnings = judged(audit)
    assert flags == {"R1": second, "R2": None, "R3": None}
    assert [warning[:21] for warning in warnings] == ["1 case is no longer i"]


def test_what_seems_deleted_at_source_and_still_counts_is_named_and_listed(audit: Path, one_page: None):
    add(audit, "Riverbank", SPRING, {"R1": PAST, "R2": PAST, "R3": date(2026, 1, 5), "R4": WATCHED, "R5": WATCHED})
    add(audit, "Hillside", AUTUMN, {"R4": WATCHED})
    # The newest of Riverbank reaches back to 6 January: R3 was first seen before, R5 it set aside, R4 Hillside holds.
    number = add(audit, "Riverbank", SUMMER, {"R2": PAST, "R6": WATCHED}, set_aside=("R5",))
    with contextlib.closing(store.work(audit)) as con:
        store.attach(con, audit, to_load=False)
        cases.build(con)
        assert accounts.no_longer_there(con) == [("cases", 0, "R1", 1, "cases.csv", 0, number)]
        (words,) = accounts.list_no_longer_there(con, audit)
    assert words.startswith(
        "1 case still counts, of 1 row, that the newest export of the same source (load 3) no longer"
    )
    listed = audit / "loads" / "no_longer_there.csv"
    assert listed.read_text(encoding="utf-8") == "table,row_id,case_ref,load,file,line\ncases,0,R1,1,cases.csv,0\n"
    assert "still counts, of 1 row, that" in run.report(audit, "2026Q1").page.read_text(encoding="utf-8")
    assert listed in run_store.erase(audit, "R1").removed
    with contextlib.closing(store.work(audit)) as con:
        store.attach(con, audit, to_load=False)
        cases.build(con)
        assert accounts.no_longer_there_words(accounts.no_longer_there(con)) == ()


def test_a_load_says_first_what_it_should_hold_and_does_not(audit: Path, tmp_path: Path):
    load(audit, "A,North,2026-01-10,10\nB,North,2026-01-10,10", SPRING)
    newer = write_export(tmp_path / "newer", {"cases": f"{HEAD}\nA,North,2026-01-10,10"})
    asked = ["load", str(newer), "--extracted-on", "2026-06-30", "--folder", str(audit)]
    said = CliRunner().invoke(commands, [*asked, "--accept-anyway", INVENTED], catch_exceptions=False).output
    assert "LOOK AT THIS: 1 case still counts" in said.split("\n")[1]


def test_a_load_of_an_older_cut_off_flags_nothing(audit: Path):
    add(audit, "Riverbank", SUMMER, {"R1": WATCHED})
    add(audit, "Riverbank", SPRING, {}, set_aside=("R1",))
    assert judged(audit) == ({"R1": None}, ())


def test_a_case_set_aside_through_the_whole_way_is_flagged(audit: Path):
    load(audit, "A,North,2026-01-10,10", SPRING)
    load(audit, "A,North,2026-01-10,ten\nB,North,2026-01-10,10", SUMMER)
    flags, warnings = judged(audit)
    assert flags == {"A": 2, "B": None}
    assert [warning[:40] for warning in warnings] == ["1 case counts as an older export had the"]


def of_the_record(report):
    """What the lead is told of how a report is or was recorded."""
    return tuple(text for text in report.doubts if "recorded" in text)


def made(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.iterdir()}


FIRST = "A,North,2026-01-10,10\nB,North,2026-01-12,9\nX,North,2026-01-10,ten"
CONTACTS = {
    "contacts": "case_ref,contact_date,practitioner,attachment_help\nA,2026-01-10,P1,yes\nB,2026-01-12,P1,no",
    "referrals": "case_ref,referral_date\nA,2026-02-01",
}


PLAN = "| Finding | Action | Owner | By when | Done |\n| --- | --- | --- | --- | --- |\n"


def test_a_report_is_made_again_as_it_was_byte_for_byte(audit: Path):
    load(audit, FIRST, SPRING, CONTACTS)
    settings = audit / "audit.toml"
    words = audit / "commentary" / "2026Q1.md"
    words.write_text("We were short of staff.\n", encoding="utf-8")
    earlier = audit / "commentary" / "2025Q4.md"
    earlier.write_text(f"{PLAN}| Few asked | Ask every family | Lead | soon | no |\n", encoding="utf-8")
    before = made(run.report(audit, "2026Q1").page.parent)
    assert set(before) >= {"service.html", "explore.html", "cases_to_look_at_again.html", "results.csv", "waits.csv"}
    settings.write_text(settings.read_text(encoding="utf-8").replace("days = 5", "days = 9"), encoding="utf-8")
    assert "Ask every family" in (audit / "editions" / "2026Q1" / "service.html").read_text(encoding="utf-8")
    words.write_text("All was well.\n", encoding="utf-8")
    earlier.write_text(f"{PLAN}| Few asked | Ask every family | Lead | soon | yes |\n", encoding="utf-8")
    load(audit, "A,South,2026-01-10,11\nC,South,2026-02-10,10", SUMMER)
    now = made(run.report(audit, "2026Q1").page.parent)
    # Within 84 days of the first record no month is judged: over_time.csv is empty both times.
    assert [name for name in before if now[name] == before[name]] == ["over_time.csv"]
    run_store.withdraw(audit, 1)
    load(audit, "A,West,2026-01-10,11", AUTUMN)
    again = run.report(audit, as_loaded=1)
    assert again.page.parent == audit / "editions" / "2026Q1-as-loaded-1"
    assert of_the_record(again) == ()
    assert made(again.page.parent) == before
    assert made(run.report(audit, "2026Q1", as_loaded=2).page.parent) == now
    # Never over the current edition.
    assert made(audit / "editions" / "2026Q1") == now


def recorded(audit: Path) -> list[tuple[object, ...]]:
    with contextlib.closing(store.work(audit)) as con:
        store.attach(con, audit, to_load=False)
        return con.execute(
            "SELECT report, quarter, as_loaded, commentary, commentary_before FROM store.reports ORDER BY report"
        ).fetchall()


def test_a_report_is_recorded_once_for_what_it_was_made_with(
    audit: Path, monkeypatch: pytest.MonkeyPatch, one_page: None
):
    load(audit, FIRST, SPRING)
    run.report(audit, "2026Q1")
    run.report(audit, "2026Q1")
    assert recorded(audit) == [(1, "2026Q1", 1, "", "")]
    (audit / "commentary" / "2026Q1.md").write_text("Ours.", encoding="utf-8")
    run.report(audit, "2026Q1")
    run.report(audit, "2026Q1", as_loaded=1)  # made again: no new fact
    only_own = [(1, "2026Q1", 1, "", ""), (2, "2026Q1", 1, "Ours.", "")]
    assert recorded(audit) == only_own
    (audit / "commentary" / "2025Q4.md").write_text("Before.", encoding="utf-8")  # that of the quarter before
    run.report(audit, "2026Q1")
    assert recorded(audit) == [*only_own, (3, "2026Q1", 1, "Ours.", "\f2025Q4\nBefore.")]

    # What is recorded already does not open the store for writing; what is not says so where it cannot be.
    def not_yours(*_: object) -> None:
        raise PermissionError(1, "not yours", "s")

    monkeypatch.setattr(opening, "_tighten", not_yours)
    monkeypatch.setattr(report_records, "lay_beside", not_yours)
    assert of_the_record(run.report(audit, "2026Q1")) == ()
    (audit / "commentary" / "2026Q1.md").write_text("Ours too.", encoding="utf-8")
    (said,) = of_the_record(run.report(audit, "2026Q1"))
    assert "was not recorded in the store (s: not yours)" in said


def test_what_cannot_be_as_it_was_is_said(audit: Path, monkeypatch: pytest.MonkeyPatch, one_page: None):
    load(audit, FIRST, SPRING)
    run.report(audit, "2026Q1")
    load(audit, "C,South,2026-02-10,10", SUMMER)
    never = run.report(audit, as_loaded=2)
    assert never.page.parent.name == "2026Q2-as-loaded-2"  # the latest that had ended by that event's cut-off
    assert [text.split(";")[0] for text in of_the_record(never)] == [
        "No report of 2026Q2 was recorded as loaded at event 2"
    ]
    head = never.page.read_text(encoding="utf-8").split("Before reading on</h3>")[1][:300]
    assert "made with the settings, the commentary and the definitions of today" in head
    monkeypatch.setattr(inputs, "__version__", "9.9")
    (said,) = of_the_record(run.report(audit, as_loaded=1))
    assert re.search(r"made by version [\d.]+ of the program, this one by 9\.9; figures may differ", said)


def test_an_event_that_did_not_happen_or_at_which_no_load_counts_is_refused(audit: Path):
    load(audit, FIRST, SPRING)
    run_store.withdraw(audit, 1)
    load(audit, FIRST, SUMMER)
    with pytest.raises(Refused, match=r"there is no event 4\n.*an event from 1 to 3"):
        run.report(audit, as_loaded=4)
    with pytest.raises(Refused, match="no load counts as it stood at event 2"):
        run.report(audit, as_loaded=2)


REF = "K7-ZULU-99xq"
OTHER = "K7-ZULU-99xq-b"


def holding(folder: Path, text: str) -> set[str]:
    """The files that hold a text anywhere in their bytes."""
    return {
        str(path.relative_to(folder))
        for path in folder.rglob("*")
        if path.is_file() and text.encode() in path.read_bytes()
    }


@pytest.fixture(scope="module")
def with_the_case_once(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The case in three loads, one withdrawn, one in which it was set aside; beside others, one with a longer name."""
    audit = run.new(tmp_path_factory.mktemp("loads") / "audit").parent
    of_it = {
        "contacts": f"case_ref,contact_date,practitioner\n{REF},2026-01-10,P1\nB,2026-01-10,P1",
        "feeding_checks": f"case_ref,check_date,feeding\n{REF},2026-02-06,none",
    }
    load(audit, f"{REF},North,2026-01-10,10\nB,North,2026-01-10,10\n{OTHER}ee,North,2026-01-10,10", SPRING, of_it)
    load(audit, f"{REF},South,2026-01-10,10", SUMMER)
    run_store.withdraw(audit, 2)
    differ = f"{REF},East,2026-01-10,10\n{REF},West,2026-01-10,10\nB,North,2026-01-10,{REF}\nC,North,2026-01-10,10"
    load(audit, differ, AUTUMN)
    return audit


@pytest.fixture
def with_the_case(with_the_case_once: Path, tmp_path: Path) -> Path:
    """A copy of it."""
    return Path(shutil.copytree(with_the_case_once, tmp_path / "audit"))


def test_an_erased_case_leaves_no_trace_in_any_file(with_the_case: Path):
    audit = with_the_case
    (audit / "commentary" / "2026Q3.md").write_text(f"See {REF}, {REF} {REF}!", encoding="utf-8")
    (audit / "commentary" / "2026Q2.md").write_text(f"Then {REF}.", encoding="utf-8")
    run.report(audit, "2026Q3")
    before = {case_ref: found for case_ref, found in counting(audit).items() if case_ref != REF}
    own = ("commentary/2026Q2.md", "commentary/2026Q3.md")
    # The page of the quarter prints the lead's own words; the case with the longer name is not in load 4.
    lists = ("loads/0004/set_aside.csv", "loads/no_longer_there.csv")
    assert {"store.duckdb", *lists, "editions/2026Q3/service.html", *own} == holding(audit, REF)
    with pytest.raises(Refused, match="no load holds a case"):
        run_store.erase(audit, REF[:-1])
    done = run_store.erase(audit, REF)
    # Load 1: the case, a contact, a feeding check. Load 2: the case. Load 4: both rows of it, and the row of B.
    assert (done.event, done.rows, done.findings, done.loads) == (5, 4, 3, (1, 2, 4))
    assert done.still_written == tuple(audit / name for name in own)  # the lead's own text is the lead's to mend
    for name in own:
        (audit / name).unlink()
    (audit / "editions" / "2026Q3" / "service.html").unlink()
    with contextlib.closing(store.work(audit)) as con:
        store.attach(con, audit, to_load=False)
        assert con.execute("SELECT commentary, commentary_before FROM store.reports").fetchall() == [
            ("See [erased], [erased] [erased]!", "\f2026Q2\nThen [erased].")
        ]
    # The bytes that are left are those of the case with the longer name.
    assert holding(audit, REF) == holding(audit, OTHER)
    assert counting(audit) == before
    with pytest.raises(Refused, match="no load holds a case"):
        run_store.erase(audit, REF)
    assert done.still_written[0].exists() is False
    run_store.erase(audit, f"{OTHER}ee")
    assert holding(audit, REF) == set()
    assert {event.kind for event in run_store.loads(audit)} == {"load", "withdrawal", "erasure"}


def test_the_store_works_on_after_an_erasure(with_the_case: Path):
    audit = with_the_case
    run_store.erase(audit, REF)
    assert [path.name for path in audit.glob("store*")] == ["store.duckdb"]
    assert load(audit, f"{REF},North,2026-01-10,10", AUTUMN) == 6  # an export that still holds it brings it back
    assert REF in counting(audit)
    run_store.withdraw(audit, 6)
    results = Story(work_out_folder(audit))
    assert results.levels("days_to_referral", "2026Q1", "site") == {"North": 3}


def requests_counting(audit: Path) -> dict[str, int]:
    """case_ref of each request that is no case: the load its version comes from."""
    with contextlib.closing(store.work(audit)) as con:
        store.attach(con, audit, to_load=False)
        store.stand_at(con, None)
        cases.build(con, through="counting_requests")
        return dict(con.execute("SELECT case_ref, load FROM counting_requests").fetchall())


def test_the_newest_version_counts_be_it_a_request_or_a_case_and_all_of_them_are_erased(audit: Path):
    """R asked and was seen later; B was taken for seen, and by the second export still waits."""
    asked = "case_ref,site,request_date\n{},North,2026-01-05"
    load(audit, "A,North,2026-01-10,10\nB,North,2026-01-10,10", SPRING, {"requests": asked.format(REF)})
    load(audit, f"A,North,2026-01-10,10\n{REF},South,2026-04-10,95", SUMMER, {"requests": asked.format("B")})
    assert counting(audit) == {"A": (2, "North"), REF: (2, "South")}
    assert requests_counting(audit) == {"B": 2}
    assert counting(audit, 1) == {"A": (1, "North"), "B": (1, "North")}
    run_store.withdraw(audit, 2)
    assert counting(audit) == {"A": (1, "North"), "B": (1, "North")}
    assert requests_counting(audit) == {REF: 1}
    done = run_store.erase(audit, REF)
    assert (done.rows, done.findings, done.loads) == (2, 0, (1, 2))
    assert requests_counting(audit) == {}
    assert holding(audit, REF) == set()


def test_what_was_set_aside_of_a_request_is_mended_and_one_that_became_a_case_is_nothing_to_mend(audit: Path):
    head = "case_ref,site,request_date,outcome,outcome_date\n"
    of_them = {"requests": head + "R,North,2026-01-05,no_reply,2026-01-04\nA,North,2026-01-02,,"}
    load(audit, "A,North,2026-01-10,10", SPRING, of_them)
    of_them = {"requests": head + "R,North,2026-01-05,no_reply,2026-02-04\nB,North,2026-04-02,,"}
    export = write_export(
        audit.parent / "later", {"cases": f"{HEAD}\nA,North,2026-01-10,10\nB,North,2026-04-10,10", **of_them}
    )
    settled = run.load(audit, export, SUMMER, accept_anyway=INVENTED).settled
    assert settled is not None
    assert (settled.mended, settled.again, settled.gone, settled.anew) == (1, 0, 0, 0)


def test_a_short_reference_is_not_found_inside_other_words(audit: Path):
    load(audit, "31,North,2026-01-10,10\nB,North,2026-07-31,10\nC,North,2026-01-10,31x", SPRING)
    done = run_store.erase(audit, "31")
    assert (done.rows, done.findings) == (1, 0)


def test_erasing_is_asked_about_first(with_the_case: Path):
    words = ["erase", REF, "--folder", str(with_the_case)]
    said = CliRunner().invoke(commands, words, input="n\n")
    assert said.exit_code == 1
    assert REF in counting(with_the_case)
    said = CliRunner().invoke(commands, words, input="y\n", catch_exceptions=False)
    assert "or the next export brings it back" in " ".join(said.output.split())
    assert "only counts" in said.output
    assert REF not in counting(with_the_case)
    # Named where it asks, and not once it is erased.
    assert said.output.count(REF) == 1
    assert "4 rows and 3 findings" in said.output.splitlines()[0]


def test_a_kill_before_the_new_file_takes_its_place_leaves_the_old_one_whole(
    with_the_case: Path, monkeypatch: pytest.MonkeyPatch
):
    audit = with_the_case
    before = counting(audit)
    monkeypatch.setattr(Path, "replace", lambda *_: (_ for _ in ()).throw(KeyboardInterrupt))
    with pytest.raises(KeyboardInterrupt):
        run_store.erase(audit, REF)
    monkeypatch.undo()
    assert counting(audit) == before
    assert (audit / "store.duckdb.new").exists()
    assert run_store.erase(audit, REF).event == 5
    assert [path.name for path in audit.glob("store*")] == ["store.duckdb"]


def test_a_copy_of_the_folder_gives_the_same_pages(audit: Path, tmp_path: Path):
    load(audit, FIRST, SPRING, CONTACTS)
    first = made(run.report(audit, "2026Q1").page.parent)
    shutil.copytree(audit, tmp_path / "copy")
    assert made(run.report(tmp_path / "copy", "2026Q1", as_loaded=1).page.parent) == first


def test_two_orders_of_loading_give_the_same_results(tmp_path: Path):
    """The newest cut-off counts, whichever was loaded last; a withdrawn load in between leaves nothing behind."""
    rows = {SPRING: "A,Old,2026-01-10,10\nB,Old,2026-02-10,10", SUMMER: "A,New,2026-01-10,10\nC,New,2026-02-10,10"}
    found = []
    for name, order in (("one", (SPRING, SUMMER)), ("two", (SUMMER, AUTUMN, SPRING))):
        (tmp_path / name).mkdir()
        audit = run.new(tmp_path / name / "audit").parent
        for day in order:
            number = load(audit, rows.get(day, "Z,Far,2026-01-10,10"), day)
            if day is AUTUMN:
                run_store.withdraw(audit, number)
        found.append(work_out_folder(audit).results)
    pd.testing.assert_frame_equal(*found)


@pytest.mark.skipif(os.name != "posix", reason="forks are those of POSIX")
def test_what_a_killed_run_left_in_the_log_is_erased_too(with_the_case: Path):
    audit = with_the_case
    left_open = []

    def withdraw_and_die() -> str:
        con = store.work(audit)
        left_open.append(con)  # never closed: the withdrawal stays in the log
        store.attach(con, audit, to_load=True)
        return str(store.withdraw(con, 1, f"{REF} is in it"))

    assert outcome(*fork(withdraw_and_die)) == "ok: 5"
    assert "store.duckdb.wal" in holding(audit, REF)
    assert run_store.erase(audit, REF).event == 6
    assert run_store.loads(audit)[4].reason == "[erased] is in it"
    assert [path.name for path in audit.glob("store*")] == ["store.duckdb"]
