"""The batch gate: what holds an export back as a whole, and what does not. Every number is worked out by hand."""

from __future__ import annotations

import contextlib
import dataclasses
from collections.abc import Iterator
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any

import duckdb
import pandas as pd
import pytest

from pipeline import run, store
from pipeline.contracts import layout, places
from pipeline.contracts.layout import CODE, DATE, INTEGER, TEXT, YES_NO
from pipeline.errors import Fault, Refused
from pipeline.intake.gate import gate, profile
from pipeline.intake.gate.reference_patterns import Pattern, is_known, merged
from pipeline.settings import FILE_NAME, Gate, first_settings, read_settings
from pipeline.store import LineCounts
from tests.conftest import write_export

CUT_OFF = date(2026, 10, 12)
LIMITS = Gate(rows_fall=0.5, recorded_fall=0.1, code_share=0.9, silent_days=92, set_aside_share=0.05)
TYPES = {TEXT: "VARCHAR", CODE: "VARCHAR", INTEGER: "INTEGER", DATE: "DATE", YES_NO: "BOOLEAN"}


# The profile ----------------------------------------------------------------------------------------------------------


@pytest.fixture
def con() -> Iterator[duckdb.DuckDBPyConnection]:
    """A working connection with the tables a profile reads, all empty."""
    made = duckdb.connect()
    made.execute((places.SQL / "macros.sql").read_text(encoding="utf-8"))
    made.execute("CREATE SCHEMA store")
    for table in layout.tables():
        columns = ", ".join(f"{column.name} {TYPES[column.kind]}" for column in table.columns)
        made.execute(f"CREATE TABLE accepted_{table.name} (line BIGINT, {columns})")
        made.execute(f"CREATE TABLE store.{table.name} (load INTEGER, line BIGINT, {columns})")
    made.execute("CREATE TABLE set_aside (table_name VARCHAR, column_name VARCHAR, kind VARCHAR)")
    made.execute("CREATE TABLE store.set_aside (load INTEGER, table_name VARCHAR, column_name VARCHAR, kind VARCHAR)")
    yield made
    made.close()


def row(frame: pd.DataFrame, table: str, column: str) -> dict[str, Any]:
    (found,) = frame[(frame["table"] == table) & (frame["column"] == column)].to_dict("records")
    return {name: found[name] for name in ("rows", "recorded", "bad", "answers")}


def test_a_profile_counts_what_is_recorded_in_each_column(con: duckdb.DuckDBPyConnection):
    con.execute(
        "INSERT INTO accepted_cases BY NAME SELECT * FROM (VALUES "
        "('A', DATE '2026-01-01', 'female', TRUE, 1, 3000, 'not_stated'), "
        "('B', DATE '2026-01-01', 'female', FALSE, 1, 3100, 'not_known'), "
        "('C', DATE '2026-01-02', 'male', TRUE, 1, 3000, 'asian'), "
        "('D', DATE '2026-01-03', 'not_known', NULL, 2, NULL, NULL), "
        "('E', DATE '2026-01-04', NULL, NULL, NULL, NULL, NULL)) "
        "AS t(case_ref, first_contact_date, sex, first_baby, deprivation_decile, birth_weight_g, ethnic_group)"
    )
    con.execute(
        "INSERT INTO accepted_contacts BY NAME "
        "SELECT unnest(['resolved', 'not_recorded', 'not_recorded']) AS problem_status, 'P1' AS practitioner"
    )
    con.execute(
        "INSERT INTO set_aside VALUES ('cases', 'sex', 'value'), ('cases', 'sex', 'value'), ('cases', '', 'row'), "
        "('contacts', 'practitioner', 'row')"
    )
    found = profile.profile(con)
    wanted = [(table.name, column.name) for table in layout.tables() for column in table.columns]
    assert list(zip(found["table"], found["column"], strict=True)) == wanted

    def of(rows: int, recorded: int, bad: int, answers: dict[str, int] | None) -> dict[str, Any]:
        return {"rows": rows, "recorded": recorded, "bad": bad, "answers": answers}

    assert row(found, "cases", "case_ref") == of(5, 5, 0, None)
    assert row(found, "cases", "first_contact_date") == of(5, 5, 0, None)
    # not_known is nothing recorded, not_stated is an answer.
    assert row(found, "cases", "sex") == of(5, 3, 2, {"female": 2, "male": 1})
    assert row(found, "cases", "ethnic_group") == of(5, 2, 0, {"asian": 1, "not_stated": 1})
    assert row(found, "cases", "first_baby") == of(5, 3, 0, {"yes": 2, "no": 1})
    # One of few whole numbers can stand out, a weight cannot.
    assert row(found, "cases", "deprivation_decile") == of(5, 4, 0, {"1": 3, "2": 1})
    assert row(found, "cases", "birth_weight_g") == of(5, 3, 0, None)
    assert row(found, "contacts", "problem_status") == of(3, 1, 0, {"resolved": 1})
    assert row(found, "contacts", "practitioner") == of(3, 3, 1, None)
    assert row(found, "procedures", "tie_type") == of(0, 0, 0, {})


def test_the_profile_of_a_load_is_of_that_load_only(con: duckdb.DuckDBPyConnection):
    con.execute(
        "INSERT INTO store.cases BY NAME SELECT * FROM (VALUES (1, 'A', 'female'), (1, 'B', NULL), (2, 'A', 'male')) "
        "AS t(load, case_ref, sex)"
    )
    con.execute("INSERT INTO store.set_aside VALUES (1, 'cases', 'sex', 'value'), (2, 'cases', 'site', 'row')")
    found = profile.profile_of_load(con, 1)
    assert row(found, "cases", "sex") == {"rows": 2, "recorded": 1, "bad": 1, "answers": {"female": 1}}
    assert row(found, "cases", "site")["bad"] == 0
    assert set(found["load"]) == {1}


def test_the_profile_of_what_was_really_loaded(audit: Path):
    cases = """
        case_ref,site,first_contact_date,age_days,sex,first_baby
        A,North,2026-09-10,10,female,yes
        B,North,2026-09-11,10,Female,no
        C,North,2026-09-12,10,not_known,yes
        D,North,2026-13-12,10,male,yes
    """
    number = run.load(audit, write_export(audit.parent / "export", {"cases": cases}), CUT_OFF).number
    with contextlib.closing(store.work(audit)) as con:
        store.attach(con, audit, to_load=False)
        found = profile.profile_of_load(con, number)
    assert row(found, "cases", "sex") == {"rows": 3, "recorded": 1, "bad": 1, "answers": {"female": 1}}
    assert row(found, "cases", "first_baby")["answers"] == {"no": 1, "yes": 2}
    assert row(found, "cases", "first_contact_date")["bad"] == 1


# The rules ------------------------------------------------------------------------------------------------------------


def healthy(load: int | None = None) -> pd.DataFrame:
    """A profile of 100 rows a table, all recorded, no answer more frequent than another."""
    rows = []
    for table in layout.tables():
        for column in table.columns:
            answers = {value: 100 // len(column.values) for value in column.values} if column.values else None
            rows.append((table.name, column.name, 100, 100, 0, answers))
    frame = pd.DataFrame(rows, columns=["table", "column", "rows", "recorded", "bad", "answers"])
    return frame if load is None else frame.assign(load=load)


def with_rows(frame: pd.DataFrame, table: str, rows: int) -> pd.DataFrame:
    """As many rows in a table, every column of it recorded throughout."""
    changed = frame.copy()
    changed.loc[changed["table"] == table, ["rows", "recorded"]] = rows
    return changed


def with_column(frame: pd.DataFrame, table: str, column: str, **values: Any) -> pd.DataFrame:
    changed = frame.copy()
    (at,) = changed.index[(changed["table"] == table) & (changed["column"] == column)]
    for name, value in values.items():
        changed.at[at, name] = value
    return changed


def sheet(rows: int, set_aside: int, file: str = "cases.csv") -> LineCounts:
    """A sheet of so many rows below three header lines and with two blank ones."""
    return LineCounts(
        file=file,
        sha256="",
        lines=rows + 5,
        header=3,
        blank=2,
        accepted=rows - set_aside,
        set_aside=set_aside,
        repeats=0,
        left_out=0,
    )


def judge(
    now: pd.DataFrame | None = None,
    before: pd.DataFrame | None = None,
    lines: tuple[LineCounts, ...] = (),
    latest_date: date | None = CUT_OFF,
    limits: Gate = LIMITS,
) -> tuple[Fault, ...]:
    return gate.judge(healthy() if now is None else now, before, lines, latest_date, CUT_OFF, limits)


def told(faults: tuple[Fault, ...]) -> list[str]:
    return [f"{fault.where}: {fault.found}" for fault in faults]


def test_an_export_like_the_one_before_it_passes():
    assert judge(healthy(), healthy(load=3), (sheet(700, 0), sheet(1900, 95, "contacts.csv"))) == ()


@pytest.mark.parametrize(
    ("table", "before", "now", "expected"),
    [
        ("contacts", 1912, 120, ["contacts: 120 rows, 1,912 in load 3"]),
        ("contacts", 1912, 956, []),  # half of them
        ("contacts", 1912, 955, ["contacts: 955 rows, 1,912 in load 3"]),
        ("procedures", 20, 0, ["procedures: 0 rows, 20 in load 3"]),
        ("procedures", 19, 0, []),  # too few to say
        ("requests", 60, 5, []),  # the others were seen
        ("requests", 60, 0, ["requests: 0 rows, 60 in load 3"]),
        ("cases", 690, 344, ["cases: 344 rows, 690 in load 3"]),
        ("contacts", 100, 5000, []),
    ],
)
def test_a_table_that_lost_rows_is_told(table: str, before: int, now: int, expected: list[str]):
    assert told(judge(with_rows(healthy(), table, now), with_rows(healthy(load=3), table, before))) == expected


@pytest.mark.parametrize(
    ("before", "now", "expected"),
    [
        ((640, 690), (0, 700), "recorded in 0 of 700 rows, in 640 of 690 in load 3"),
        # Exactly a tenth as often, 9% and 90%; in floating point 0.09 / 0.9 is less than 0.1.
        ((90, 100), (9, 100), None),
        ((90, 100), (8, 100), "recorded in 8 of 100 rows, in 90 of 100 in load 3"),
        ((50, 100), (4, 100), "recorded in 4 of 100 rows, in 50 of 100 in load 3"),
        ((49, 100), (0, 100), None),  # less than half before
        ((20, 20), (0, 20), "recorded in 0 of 20 rows, in 20 of 20 in load 3"),
        ((20, 20), (0, 19), None),  # too few rows now
        ((19, 19), (0, 20), None),  # too few before
    ],
)
def test_a_column_no_longer_recorded_is_told(before: tuple[int, int], now: tuple[int, int], expected: str | None):
    was = with_column(
        with_rows(healthy(load=3), "cases", before[1]), "cases", "help_requested_date", recorded=before[0]
    )
    is_now = with_column(with_rows(healthy(), "cases", now[1]), "cases", "help_requested_date", recorded=now[0])
    assert told(judge(is_now, was)) == ([f"cases, help_requested_date: {expected}"] if expected else [])


@pytest.mark.parametrize(
    ("column", "recorded", "bad", "is_told"),
    [("birth_weight_g", 0, 5, True), ("birth_weight_g", 0, 4, False), ("birth_weight_g", 1, 99, False)],
)
def test_a_column_that_is_written_and_wholly_unreadable_is_told(column: str, recorded: int, bad: int, is_told: bool):
    now = with_column(healthy(), "cases", column, recorded=recorded, bad=bad)
    words = f"cases, {column}: nothing in it could be used: {bad} times something was set aside because of it"
    assert told(judge(now)) == ([words] if is_told else [])


def test_a_column_whose_values_were_set_aside_says_how_often():
    now = with_column(healthy(), "cases", "help_requested_date", recorded=0, bad=1640)
    assert told(judge(now, healthy(load=3))) == [
        "cases, help_requested_date: recorded in 0 of 100 rows, in 100 of 100 in load 3; 1,640 times something was set "
        "aside because of it"
    ]


@pytest.mark.parametrize(
    ("before", "now", "expected"),
    [
        ((12, 100), (96, 100), "no_reply is 96 of 100 answers (96%), 12 of 100 in load 3 (12%)"),
        ((12, 100), (90, 100), "no_reply is 90 of 100 answers (90%), 12 of 100 in load 3 (12%)"),
        ((12, 100), (89, 100), None),
        ((49, 100), (90, 100), "no_reply is 90 of 100 answers (90%), 49 of 100 in load 3 (49%)"),
        ((50, 100), (100, 100), None),  # half of the answers before
        ((0, 100), (20, 20), "no_reply is 20 of 20 answers (100%), 0 of 100 in load 3 (0%)"),
        ((0, 100), (19, 19), None),  # too few answers now
        ((0, 20), (100, 100), "no_reply is 100 of 100 answers (100%), 0 of 20 in load 3 (0%)"),
        ((0, 19), (100, 100), None),  # too few before
    ],
)
def test_an_answer_that_crowds_out_the_others_is_told(
    before: tuple[int, int], now: tuple[int, int], expected: str | None
):
    def answers(count: int, of: int) -> dict[str, int]:
        return {value: n for value, n in {"settled": of - count, "no_reply": count}.items() if n}

    was = with_column(healthy(load=3), "cases", "closed_reason", recorded=before[1], answers=answers(*before))
    is_now = with_column(healthy(), "cases", "closed_reason", recorded=now[1], answers=answers(*now))
    assert told(judge(is_now, was)) == ([f"cases, closed_reason: {expected}"] if expected else [])


@pytest.mark.parametrize(
    ("table", "column", "before", "now"),
    [
        ("procedures", "consent_recorded", {"no": 60, "yes": 40}, {"yes": 100}),
        ("contacts", "pain_score", {"0": 40, "3": 60}, {"0": 100}),
    ],
)
def test_yes_no_and_small_numbers_are_answers_too(table: str, column: str, before: dict[str, int], now: dict[str, int]):
    (answer,) = now
    was = with_column(healthy(load=3), table, column, answers=before)
    assert told(judge(with_column(healthy(), table, column, answers=now), was)) == [
        f"{table}, {column}: {answer} is 100 of 100 answers (100%), 40 of 100 in load 3 (40%)"
    ]


def test_without_a_load_before_nothing_is_compared():
    now = with_column(with_rows(healthy(), "contacts", 0), "cases", "sex", recorded=0, answers={})
    now = with_column(now, "cases", "closed_reason", answers={"no_reply": 100})
    assert judge(now) == ()
    assert len(judge(now, healthy(load=3))) == 3


@pytest.mark.parametrize(
    ("days", "expected"),
    [
        (92, []),
        (93, ["the export: the latest date is 2026-07-11, 93 days before the cut-off 2026-10-12"]),
        (224, ["the export: the latest date is 2026-03-02, 224 days before the cut-off 2026-10-12"]),
    ],
)
def test_dates_that_stop_long_before_the_cut_off_are_told(days: int, expected: list[str]):
    assert told(judge(latest_date=CUT_OFF - timedelta(days))) == expected


def test_an_export_without_a_date_is_not_silent():
    assert judge(latest_date=None) == ()


@pytest.mark.parametrize(
    ("lines", "expected"),
    [
        ((sheet(700, 83),), ["the export: 83 of 700 lines were set aside (11.9%)"]),
        ((sheet(100, 5),), []),  # one in twenty
        ((sheet(100, 6),), ["the export: 6 of 100 lines were set aside (6%)"]),
        ((sheet(19, 19),), []),  # too few to say
        ((sheet(20, 2),), ["the export: 2 of 20 lines were set aside (10%)"]),
        # Sheets count together, and a sheet of 100 rows by itself.
        ((sheet(10, 1), sheet(10, 1, "contacts.csv")), ["the export: 2 of 20 lines were set aside (10%)"]),
        ((sheet(100, 6), sheet(900, 0, "contacts.csv")), ["cases.csv: 6 of 100 lines were set aside (6%)"]),
        ((sheet(99, 20), sheet(900, 0, "contacts.csv")), []),
        (
            (sheet(100, 10), sheet(100, 40, "contacts.csv"), sheet(0, 0, "procedures.csv")),
            [
                "the export: 50 of 200 lines were set aside (25%)",
                "cases.csv: 10 of 100 lines were set aside (10%)",
                "contacts.csv: 40 of 100 lines were set aside (40%)",
            ],
        ),
        # An empty sheet beside it does not make two of one.
        ((sheet(100, 6), sheet(0, 0, "procedures.csv")), ["the export: 6 of 100 lines were set aside (6%)"]),
        ((sheet(0, 0),), []),
    ],
)
def test_much_that_was_set_aside_is_told(lines: tuple[LineCounts, ...], expected: list[str]):
    assert told(judge(lines=lines)) == expected


def test_an_export_without_a_case_is_told_with_or_without_a_load_before():
    assert told(judge(with_rows(healthy(), "cases", 0))) == ["cases: no case was accepted"]
    assert judge(with_rows(healthy(), "cases", 1)) == ()


def wrong_in_every_way(limits: Gate = LIMITS) -> tuple[Fault, ...]:
    now = with_rows(with_rows(healthy(), "contacts", 40), "cases", 0)
    now = with_column(now, "assessments", "extension", recorded=9, answers={"full": 9})
    now = with_column(now, "referrals", "outcome", answers={"waiting": 95})
    lines = (sheet(700, 83), sheet(800, 41, "contacts.csv"))
    return judge(now, healthy(load=3), lines, CUT_OFF - timedelta(100), limits)


def test_all_reasons_are_given_at_once_and_say_what_to_do():
    faults = wrong_in_every_way()
    assert told(faults) == [
        "cases: no case was accepted",
        "cases: 0 rows, 100 in load 3",
        "contacts: 40 rows, 100 in load 3",
        "assessments, extension: recorded in 9 of 100 rows, in 100 of 100 in load 3",
        "referrals, outcome: waiting is 95 of 100 answers (95%), 14 of 100 in load 3 (14%)",
        "the export: the latest date is 2026-07-04, 100 days before the cut-off 2026-10-12",
        "the export: 124 of 1,500 lines were set aside (8.27%)",
        "cases.csv: 83 of 700 lines were set aside (11.9%)",
        "contacts.csv: 41 of 800 lines were set aside (5.12%)",
    ]
    assert [fault.allowed for fault in faults] == [
        "at least one",
        "at least 50% of the rows of load 3 ([gate] rows_fall = 0.5)",
        "at least 50% of the rows of load 3 ([gate] rows_fall = 0.5)",
        "at least 10% as often as in load 3 ([gate] recorded_fall = 0.1)",
        "less than 90% for an answer that was less than half before ([gate] code_share = 0.9)",
        "at most 92 days ([gate] silent_days = 92)",
        "at most 5% ([gate] set_aside_share = 0.05)",
        "at most 5% ([gate] set_aside_share = 0.05)",
        "at most 5% ([gate] set_aside_share = 0.05)",
    ]
    assert all(fault.mend.endswith('if it is right as it is, say why: --accept-anyway "REASON"') for fault in faults)


@pytest.mark.parametrize(
    ("changed", "gone"),
    [
        ({"rows_fall": 0.4}, "contacts: 40 rows"),
        ({"recorded_fall": 0.09}, "assessments, extension"),
        ({"code_share": 0.96}, "referrals, outcome"),
        ({"silent_days": 100}, "the export: the latest date"),
        ({"set_aside_share": 0.0828}, "the export: 124 of 1,500"),
    ],
)
def test_each_limit_is_a_setting(changed: dict[str, Any], gone: str):
    assert [text for text in told(wrong_in_every_way()) if text.startswith(gone)]
    assert not [
        text for text in told(wrong_in_every_way(dataclasses.replace(LIMITS, **changed))) if text.startswith(gone)
    ]


# The guards -----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("which", ["now", "before"])
def test_a_profile_without_one_of_the_columns_is_no_success(which: str):
    profiles = {"now": healthy(), "before": healthy(load=3)}
    profiles[which] = profiles[which].iloc[1:]
    with pytest.raises(RuntimeError, match="not one row for each column"):
        judge(**profiles)


def test_no_rules_at_all_are_no_success(monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(gate, "_rules", lambda limits: [])
    with pytest.raises(RuntimeError, match="has its rule"):
        judge()


def test_a_rule_that_cannot_run_is_no_success(monkeypatch: pytest.MonkeyPatch):
    days = [(kind, {"column": how["column"], "min_value": datetime(2026, 1, 1)}) for kind, how in gate._rules(LIMITS)]
    monkeypatch.setattr(gate, "_rules", lambda limits: days)  # no number is before or after a day
    with pytest.raises(RuntimeError, match="did not run"):
        judge()


# The settings ---------------------------------------------------------------------------------------------------------


def settings_of(folder: Path, text: str) -> Gate:
    (folder / FILE_NAME).write_text(text, encoding="utf-8")
    return read_settings(folder / FILE_NAME, {"seen_promptly": "proportion"}).gate


def test_without_a_gate_section_its_settings_are_those_of_a_new_folder(tmp_path: Path):
    start = Gate(rows_fall=0.5, recorded_fall=0.1, code_share=0.9, silent_days=92, set_aside_share=0.05)
    gate_only = first_settings().split("[gate]")[1].split("[standards]")[0]
    assert settings_of(tmp_path, f"[gate]{gate_only}") == start
    assert settings_of(tmp_path, "") == start


def test_a_setting_of_the_gate_is_read(tmp_path: Path):
    text = "[gate]\nrows_fall = 0\nrecorded_fall = 1\ncode_share = 0.5\nsilent_days = 3650\nset_aside_share = 0.125\n"
    assert settings_of(tmp_path, text) == Gate(0, 1, 0.5, 3650, 0.125)


@pytest.mark.parametrize(
    ("written", "allowed"),
    [
        ("rows_fall = 1.01", "a share from 0 to 1"),
        ("rows_fall = -0.01", "a share from 0 to 1"),
        ("recorded_fall = true", "a share from 0 to 1"),
        ("recorded_fall = 10", "a share from 0 to 1"),
        ("code_share = 0.49", "a share from 0.5 to 1"),
        ('set_aside_share = "5%"', "a share from 0 to 1"),
        ("set_aside_share = nan", "a share from 0 to 1"),
        ("silent_days = 0", "a whole number from 1 to 3650"),
        ("silent_days = 3651", "a whole number from 1 to 3650"),
        ("silent_days = 92.0", "a whole number from 1 to 3650"),
        ("silence = 92", "rows_fall, recorded_fall, code_share, silent_days, set_aside_share"),
    ],
)
def test_a_setting_of_the_gate_out_of_bounds_is_refused_with_its_line(tmp_path: Path, written: str, allowed: str):
    with pytest.raises(Refused) as refused:
        settings_of(tmp_path, f"[gate]\n{written}\n")
    assert [(fault.where, fault.allowed) for fault in refused.value.faults] == [(f"{FILE_NAME}, line 2", allowed)]


def shapes(*texts: str, reads_as: str = "") -> list[Pattern]:
    return [Pattern(text, reads_as, 1, f"line {place}") for place, text in enumerate(texts, 1)]


def test_random_references_have_one_pattern_and_few_shapes_are_told_one_by_one():
    assert [pattern.text for pattern in merged(shapes("AA-9", "AA-99", "AA-999"))] == ["AA-9", "AA-99", "AA-999"]
    mixed = merged(shapes("AA9A", "A9AA", "A999", "AAA9", "9-99"))
    assert mixed == (Pattern("AXXX", "", 4, "line 1"), Pattern("9-99", "", 1, "line 5"))
    # A name is never taken for one of them.
    of_both = merged([*shapes("AA9A", "A9AA", "A999", "AAA9"), *shapes("AAAA", reads_as="a word or initials")])
    assert [pattern.text for pattern in of_both] == ["AXXX", "AAAA"]


def test_a_pattern_is_known_by_what_is_held_or_declared():
    (plain, number, name) = (
        *shapes("A99A"),
        *shapes("99", reads_as="a plain number"),
        *shapes("AAAA", reads_as="a word"),
    )
    held = shapes("AXXX")
    assert is_known(plain, held, []) and is_known(plain, [], ["AXXX"]) and is_known(plain, [], ["A99A"])
    assert not is_known(plain, shapes("AXXXX", "9XXX", "A9-9"), ["A99", "A99A9"])
    assert is_known(number, [], ["99"]) and is_known(number, [number], [])
    assert not any(is_known(name, held, ["AXXX"]) for name in (number, name, *shapes("AAAA", reads_as="a word")))


@pytest.mark.parametrize(
    ("reference", "reads"),
    [
        *[
            (word, "a word or initials")
            for word in ("EmmaJones", "E.J.", "Emma Jones", "JS", "O'Quilla", "Zoë", "TTRKQ")
        ],
        *[(day, "a date") for day in ("2026-01-02", "02/01/26", "2 Jan 2026", "12JAN2026")],
        *[(number, "a plain number") for number in ("201", "20260102", "999 000 0018", "12-3456")],
        *[(code, "") for code in ("mmb7878g", "R1", "QZ-0001", "bcdfghjkmnpq", "b2dfghjkmnpq", "OUT-201", "12345A")],
    ],
)
def test_what_a_reference_reads_as(con: duckdb.DuckDBPyConnection, reference: str, reads: str):
    assert con.execute("SELECT reads_as($1)", [reference]).fetchall() == [(reads,)]
