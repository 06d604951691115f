"""What happens to every line of an export: accepted, set aside with a reason, or a repeat. Invented rows."""

from __future__ import annotations

import contextlib
import csv
import dataclasses
import itertools
import json
import sys
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import Any

import duckdb
import pandas as pd
import pyarrow as pa
import pytest

from pipeline import run, store
from pipeline.contracts import check_files, layout
from pipeline.contracts.layout import CODE, DATE, INTEGER, YES_NO, Column
from pipeline.contracts.places import SQL
from pipeline.contracts.query_files import query_file
from pipeline.errors import Refused
from pipeline.intake import choose_mapping, statements
from pipeline.intake.account import line_counts
from pipeline.intake.check import column_rules, staging
from pipeline.intake.check.quoted_texts import quotable
from pipeline.intake.map.field_sql import trimmed_records
from pipeline.intake.open_export import open_export
from pipeline.intake.read.contents import Content
from pipeline.intake.read.sheet import RECORDS, Reading, Sheet
from pipeline.intake.read.sheet_reader import read_sheet
from pipeline.runs import run_store
from pipeline.store import Remark
from tests.conftest import INVENTED, Story, work_out_folder, write_export

CUT_OFF = date(2026, 6, 30)
CASES = """
    case_ref,site,help_requested_date,first_contact_date,age_days,closed_date
    A,North,,2026-01-10,10,
"""
REQUESTS = "case_ref,site,request_date,outcome,outcome_date\n"
PROCEDURE = "case_ref,procedure_date,operator\nA,2026-02-01,P1"


def load(audit: Path, tables: dict[str, str]) -> run.Loaded:
    return run.load(audit, write_export(audit.parent / "export", tables), CUT_OFF, accept_anyway=INVENTED)


def counts_of(loaded: run.Loaded) -> tuple[line_counts.LineCounts, ...]:
    assert loaded.examined is not None
    return loaded.examined.counts


def remarks_of(loaded: run.Loaded) -> tuple[Remark, ...]:
    assert loaded.examined is not None
    return loaded.examined.remarks


def set_aside(loaded: run.Loaded) -> list[dict[str, str]]:
    with (loaded.lists / "set_aside.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def places(loaded: run.Loaded) -> set[tuple[str, int, str, str]]:
    return {(row["file"], int(row["line"]), row["column"], row["kind"]) for row in set_aside(loaded)}


# One export for each file of sql/checks, and the findings it must give.
BROKEN = {
    "10_no_date_after_the_cut_off": (
        {
            "cases": CASES + "    B,North,2026-07-01,2026-01-10,10,\n    C,North,,2026-01-10,10,2026-06-30\n",
            "contacts": "case_ref,contact_date,practitioner\nA,2026-07-01,P1\nA,2026-06-30,P1",
            "referrals": "case_ref,referral_date,outcome_date\nA,2026-02-01,2026-07-01",
        },
        {
            ("cases.csv", 3, "help_requested_date", "row"),
            # The date is after first contact too: what is said of the value stands beside what is said of the row.
            ("cases.csv", 3, "help_requested_date", "value"),
            ("contacts.csv", 2, "contact_date", "row"),
            ("referrals.csv", 2, "outcome_date", "row"),
        },
    ),
    "15_closed_on_or_after_first_contact": (
        {"cases": CASES + "    B,North,,2026-01-10,10,2026-01-09\n    C,North,,2026-01-10,10,2026-01-10\n"},
        {("cases.csv", 3, "closed_date", "value")},
    ),
    "15_help_requested_on_or_before_first_contact": (
        {"cases": CASES + "    B,North,2026-01-11,2026-01-10,10,\n    C,North,2026-01-10,2026-01-10,10,\n"},
        {("cases.csv", 3, "help_requested_date", "value")},
    ),
    "15_outcome_on_or_after_referral": (
        {
            "cases": CASES,
            "referrals": "case_ref,referral_date,outcome_date\nA,2026-02-01,2026-01-31\nA,2026-02-02,2026-02-02",
        },
        {("referrals.csv", 2, "outcome_date", "value")},
    ),
    "15_outcome_on_or_after_request": (
        {
            "cases": CASES,
            "requests": REQUESTS + "R,North,2026-02-01,no_reply,2026-01-31\nS,North,2026-02-01,died,2026-02-01",
        },
        {("requests.csv", 2, "outcome_date", "value")},
    ),
    "20_case_ref_is_given": (
        {
            "cases": CASES + f"    ,North,,2026-01-10,10,\n    {'x' * 65},North,,2026-01-10,10,\n"
            f"    {'y' * 64},North,,2026-01-10,10,\n    not_known,North,,2026-01-10,10,\n",
        },
        {("cases.csv", 3, "case_ref", "row"), ("cases.csv", 4, "case_ref", "row"), ("cases.csv", 6, "case_ref", "row")},
    ),
    "20_one_row_for_each_case_or_request": (
        # The same twice is a repeat, but not beside one that differs; not_known and nothing are the same.
        {
            "cases": CASES + "    B,North,,2026-01-10,10,\n    B,South,,2026-01-10,10,\n    B,North,,2026-01-10,10,\n",
            "requests": REQUESTS + "R,North,2026-02-01,,\nR,North,2026-02-01,waiting,\nR,North,2026-02-01,,\n"
            "S,South,2026-02-01,,\nS,South,2026-02-01,not_known,",
        },
        {("cases.csv", line, "case_ref", "row") for line in (3, 4, 5)}
        | {("requests.csv", line, "case_ref", "row") for line in (2, 3, 4)},
    ),
    "30_request_is_no_case": (
        {"cases": CASES, "requests": REQUESTS + "A,North,2026-01-02,,\nR,North,2026-02-01,,"},
        {("requests.csv", 2, "case_ref", "row")},
    ),
    "30_case_is_in_the_export": (
        {"cases": CASES, "contacts": "case_ref,contact_date,practitioner\nZ,2026-02-01,P1\nA,2026-02-01,P1"},
        {("contacts.csv", 2, "case_ref", "row")},
    ),
    "30_case_was_not_set_aside": (
        {
            "cases": CASES + "    B,North,,2026-01-10,,\n",
            "contacts": "case_ref,contact_date,practitioner\nB,2026-02-01,P1\nA,2026-02-01,P1",
        },
        {("cases.csv", 3, "age_days", "row"), ("contacts.csv", 2, "case_ref", "row")},
    ),
    "40_nothing_before_first_contact": (
        {
            "cases": CASES,
            "contacts": "case_ref,contact_date,practitioner\nA,2026-01-09,P1\nA,2026-01-10,P1",
            "assessments": "case_ref,assessment_date,practitioner\nA,2026-01-09,P1\nA,2026-01-10,P1",
            "referrals": "case_ref,referral_date\nA,2026-01-09\nA,2026-01-10",
            "feeding_checks": "case_ref,check_date\nA,2026-01-09\nA,2026-01-10",
            "family_views": "case_ref,answered_date\nA,2026-01-09\nA,2026-01-10",
            # A procedure before first contact is history, and is kept.
            "procedures": "case_ref,procedure_date,operator\nA,2026-01-09,P1",
        },
        {
            ("contacts.csv", 2, "contact_date", "row"),
            ("assessments.csv", 2, "assessment_date", "row"),
            ("referrals.csv", 2, "referral_date", "row"),
            ("feeding_checks.csv", 2, "check_date", "row"),
            ("family_views.csv", 2, "answered_date", "row"),
        },
    ),
    "50_complication_follows_a_procedure": (
        {
            "cases": CASES,
            "procedures": PROCEDURE,
            "complications": "case_ref,noted_date,kind\nA,2026-01-31,bleeding\nA,2026-02-01,bleeding",
        },
        {("complications.csv", 2, "noted_date", "row")},
    ),
}


def test_every_check_has_an_export_that_breaks_it():
    assert set(BROKEN) == {check.name for check in check_files.checks()}


@pytest.mark.parametrize("name", BROKEN)
def test_a_check_finds_what_breaks_it_and_nothing_else(audit: Path, name: str):
    tables, expected = BROKEN[name]
    loaded = load(audit, tables)
    assert places(loaded) == expected
    assert all(row["found"] and row["allowed"] and row["mend"] for row in set_aside(loaded))


def test_every_white_space_is_taken_off_both_ends_of_a_field_and_never_out_of_its_middle():
    spaces = [chr(code) for code in range(sys.maxunicode + 1) if chr(code).isspace()]
    assert len(spaces) == 29
    lines = [
        [
            space,
            space * 2,
            f"{space}a",
            f"a{space}",
            f"{space * 2}a{space * 2}",
            f"a{space}b",
            f" {space}a b{space} ",
            "",
        ]
        for space in spaces
    ]
    records = pa.table({"line": range(29), "last_line": range(29), "fields": lines}, RECORDS)
    # In parts, one of them cut from the middle of another, as readers make them.
    for rows in (records, pa.concat_tables([records.slice(3, 10), records.slice(13)]), records.slice(0, 0)):
        trimmed = trimmed_records(Sheet("a.csv", "a", "", tuple("abcdefgh"), 30, 1, 0, rows, ()))
        assert trimmed.schema == RECORDS
        assert trimmed["line"] == rows["line"]
        assert trimmed["fields"].to_pylist() == [[text.strip() for text in line] for line in rows["fields"].to_pylist()]
        in_sql = "SELECT list_transform(fields, lambda text: trim(text, $spaces)) FROM rows"
        by_duckdb = duckdb.execute(in_sql, {"spaces": "".join(spaces)}).fetchall()
        assert trimmed["fields"].to_pylist() == [line for (line,) in by_duckdb]


def test_every_statement_of_the_intake_is_one_select_that_is_asked_for_by_its_name():
    program = "".join(path.read_text(encoding="utf-8") for path in Path(statements.__file__).parent.rglob("*.py"))
    names = [query_file(f"intake/{path.stem}").name for path in (SQL / "intake").glob("*.sql")]
    assert names
    assert [name for name in names if f'"{name.removeprefix("list_of_")}"' not in program] == []


def wrong_and_right(column: Column) -> tuple[list[str], list[str]]:
    """Texts the layout does not allow in a column, and texts it does."""
    if column.kind == INTEGER:
        low, high = column.minimum, column.maximum
        assert low is not None
        assert high is not None
        return [str(low - 1), str(high + 1), f"{low}.0", "1e2", "ten"], [str(low), str(high)]
    if column.kind == DATE:
        return ["2026-02-30", "31/01/2026", "2026-1-31", "20260131", "2026-01-31T00:00", "２０２６-01-31"], [
            "2026-01-31"
        ]
    if column.kind in (CODE, YES_NO):
        return [column.values[0].upper(), "true", "1", "other thing"], list(column.values)
    return [], ["free text"]


@pytest.fixture
def judged() -> Iterator[duckdb.DuckDBPyConnection]:
    """The single-column rules, run on every wrong and every right text of every column."""
    con = store.work(None)
    con.execute(staging.SET_ASIDE)
    for table in layout.tables():
        texts = {column.name: [*itertools.chain(*wrong_and_right(column)), None] for column in table.columns}
        columns = ", ".join(f"unnest(CAST(${name} AS VARCHAR[])) AS {name}" for name in texts)
        con.execute(
            f"CREATE TEMP TABLE written_{table.name} AS SELECT row_number() OVER () AS row_id, 0 AS sheet_table, "
            f"row_id AS line, row_id AS last_line, "
            f"* "
            f"FROM (SELECT {columns})",
            texts,
        )
    staging.check_columns(con, layout.tables())
    yield con
    con.close()


def test_every_column_refuses_what_it_does_not_allow_and_nothing_else(judged: duckdb.DuckDBPyConnection):
    expected = {
        (table.name, column.name, "row" if column.must else "value", text)
        for table in layout.tables()
        for column in table.columns
        for text in wrong_and_right(column)[0]
    } | {
        (table.name, column.name, "row", "(nothing)")
        for table in layout.tables()
        for column in table.columns
        if column.must and column.name != "case_ref"
    }
    found = set(judged.execute("SELECT table_name, column_name, kind, found FROM set_aside").fetchall())
    assert found == expected


def test_a_bad_optional_value_counts_as_not_recorded_and_the_row_stays(audit: Path):
    loaded = load(audit, {"cases": "case_ref,site,first_contact_date,age_days,sex\nA,North,2026-01-10,10,Female"})
    assert places(loaded) == {("cases.csv", 2, "sex", "value")}
    assert [(sheet.accepted, sheet.set_aside) for sheet in counts_of(loaded)] == [(1, 0)]
    with contextlib.closing(store.work(audit)) as con:
        store.attach(con, audit, to_load=False)
        assert con.execute("SELECT sex FROM store.cases").fetchall() == [(None,)]


def test_nothing_and_not_known_are_not_recorded_and_no_finding(audit: Path):
    cases = """
        case_ref,site,first_contact_date,age_days,sex,first_baby,birth_weight_g,closed_date
        A,North,2026-01-10,10,,,,
        B,North,2026-01-10,10,not_known,not_known,not_known,not_known
    """
    assert set_aside(load(audit, {"cases": cases})) == []


def test_equal_rows_are_accepted_once_and_rows_that_differ_are_not_equal(audit: Path):
    contacts = """
        case_ref,contact_date,practitioner,pain_score,note
        A,2026-02-01,P1,5,x
        A,2026-02-01,P1, 5 ,y
        A,2026-02-01,P1,6,x
        A,2026-02-01,P1,5,x
    """
    loaded = load(audit, {"cases": CASES, "contacts": contacts})
    counts = {sheet.file: sheet for sheet in counts_of(loaded)}["contacts.csv"]
    # The extra column is left out, so the second row is equal to the first.
    assert (counts.lines, counts.header, counts.accepted, counts.repeats, counts.set_aside) == (5, 1, 2, 2, 0)
    assert any("extra column note" in remark.text for remark in remarks_of(loaded))


def test_what_an_export_in_the_layout_holds_beyond_it_is_said_first_and_held_back_if_it_is_new(audit: Path):
    cases = CASES.strip().splitlines()
    more = "\n".join([f"{cases[0].strip()},Visit 2", *(f"{line.strip()},x" for line in cases[1:])])
    first = load(audit, {"cases": more})
    said = store.Remark("cases.csv: extra column Visit 2, left out: the layout has none of that name", serious=True)
    assert said in remarks_of(first)
    export = write_export(
        audit.parent / "next", {"cases": more.replace("Visit 2", "Visit 2,Visit 3").replace(",x", ",x,y")}
    )
    (export / "extras.csv").write_text("a,b\n1,2\n", encoding="utf-8")
    doubts = [(doubt.where, doubt.found) for doubt in run.check(audit, export, CUT_OFF).doubts]
    assert doubts[:2] == [
        ("the sheet extras", "it was not in load 1, and nothing reads it"),
        ("the sheet cases", "column Visit 3 was not in load 1, and nothing reads it"),
    ]
    settings = audit / "audit.toml"
    text = settings.read_text("utf-8")
    out = '[left_out]\nsheets = ["ex*"]\ncolumns = ["Visit  *"]'
    settings.write_text(text.replace("[left_out]", out), "utf-8")
    examined = run.check(audit, export, CUT_OFF)
    assert "Visit 3" not in str(examined.doubts)
    assert store.Remark("cases.csv: extra column Visit 2, Visit 3, left out", serious=False) in examined.remarks
    for wrong in ("rows = []", 'columns = "Visit"'):
        settings.write_text(text.replace("[left_out]", f"[left_out]\n{wrong}"), "utf-8")
        with pytest.raises(Refused, match="sheets and columns, each with a list of names"):
            run.check(audit, export, CUT_OFF)


def test_what_was_set_aside_is_quoted_short_without_unseen_signs_and_never_if_it_names_anyone(audit: Path):
    # 999 000 0018 is of a range never issued.
    texts = ["F", "fem\u202eale", "Emma Jones", "999 000 0018", "e.jones@example.org", "baby born 3 May", "x" * 201]
    names = ["Kowalska Zdzisława", "Мария Иванова", "山田太郎", "EmmaJones"]
    assert set(quotable(names)) == {"(not shown: it looks like this: name)"}
    plain = [
        "lovely",
        "41+4",
        "Posterior Tie",
        "3,45 stone",
        "good movement; bleed+",
        "2026-02-30",
        "Y - A&E",
        "B on lines 3, 4",
    ]
    assert list(quotable(plain)) == plain
    assert list(quotable(texts)) == [
        "F",
        "fem\ufffdale",
        "(not shown: it looks like this: name)",
        "(not shown: it looks like this: NHS number)",
        "(not shown: it looks like this: e-mail address)",
        "(not shown: it looks like this: date of birth)",
        f"{'x' * 200} … (201 characters)",
    ]
    cases = (
        "case_ref,site,first_contact_date,age_days,sex\nA,North,2026-01-10,10,mum Emma Jones\nB,North,2026-01-10,10,F"
    )
    settings = audit / "audit.toml"
    answered = settings.read_text("utf-8").replace("[not_identifiers]", '[not_identifiers]\n"cases.sex" = "codes"')
    settings.write_text(answered, "utf-8")
    loaded = load(audit, {"cases": cases})
    found = [finding["found"] for finding in set_aside(loaded)]
    assert found == ["(not shown: it looks like this: name)", "F"]
    assert not any(b"Jones" in path.read_bytes() for path in audit.rglob("*") if path.is_file())


def test_a_bad_value_does_not_make_two_equal_rows_differ(audit: Path):
    cases = """
        case_ref,site,first_contact_date,age_days,sex
        A,North,2026-01-10,10,
        A,North,2026-01-10,10,F
    """
    loaded = load(audit, {"cases": cases})
    assert [(sheet.accepted, sheet.repeats, sheet.set_aside) for sheet in counts_of(loaded)] == [(1, 1, 0)]


def test_every_line_is_accounted_for(audit: Path):
    export = write_export(audit.parent / "export", {"cases": CASES})
    (export / "contacts.csv").write_bytes(
        b"\xef\xbb\xbfcase_ref,contact_date,practitioner,mode\r\n"
        b"A,2026-02-01,P1,phone\n"
        b"\r"
        b'A,2026-02-02,"P\n1",phone\r\n'
        b"A,2026-02-01,P1,phone\n"
        b"A,2026-02-03,P1\n"
        b'A,2026-02-04,"P1,phone\n'
        b"A,2026-02-05,P1,phone"
    )
    loaded = run.load(audit, export, CUT_OFF, accept_anyway=INVENTED)
    counts = {sheet.file: sheet for sheet in counts_of(loaded)}["contacts.csv"]
    assert (counts.lines, counts.header, counts.blank) == (9, 1, 1)
    assert (counts.accepted, counts.set_aside, counts.repeats) == (4, 2, 1)
    assert {(row["line"], row["found"]) for row in set_aside(loaded)} == {
        ("7", "3 fields"),
        ("8", "a quote is not closed"),
    }


def test_a_listed_cell_never_starts_a_formula(audit: Path):
    loaded = load(audit, {"cases": "case_ref,site,first_contact_date,age_days,sex\nA,North,2026-01-10,10,=1+1"})
    assert [row["found"] for row in set_aside(loaded)] == ["'=1+1"]


def test_the_same_files_again_change_nothing(audit: Path):
    first = load(audit, {"cases": CASES + "    A,North,,2026-01-10,10,\n"})
    made = {path.name: path.read_bytes() for path in first.lists.iterdir()}
    for path in first.lists.iterdir():
        path.unlink()
    again = load(audit, {"cases": CASES + "    A,North,,2026-01-10,10,\n"})
    # The lists are made again, in case the first load was cut off before it wrote them.
    assert {path.name: path.read_bytes() for path in again.lists.iterdir()} == made
    assert made["repeats.csv"] == b"file,line\ncases.csv,3\n"
    assert first.examined is not None
    assert (first.number, again.number, again.examined) == (1, 1, None)


def test_the_newest_cut_off_counts_and_an_old_export_loaded_late_does_not_overwrite(audit: Path):
    for number, (day, site) in enumerate((("2026-06-30", "New"), ("2026-03-31", "Old"))):
        cases = f"case_ref,site,first_contact_date,age_days\nA,{site},2026-01-10,10"
        run.load(
            audit,
            write_export(audit.parent / f"export{number}", {"cases": cases}),
            date.fromisoformat(day),
            accept_anyway=INVENTED,
        )
    story = Story(work_out_folder(audit))
    assert story.levels("days_to_referral", "2026Q1", "site") == {"New": 1}


REFUSED: dict[str, tuple[dict[str, Any], str]] = {
    "no must-column": ({"cases.csv": "case_ref,site,age_days\nA,North,1\n"}, "no column first_contact_date"),
    "a column twice": (
        {"cases.csv": "case_ref,site,first_contact_date,age_days,site\n"},
        "the column site stands twice",
    ),
    "no cases": ({"contacts.csv": "case_ref,contact_date,practitioner\n"}, "no cases; it holds contacts.csv"),
    "a broken descriptor": (
        {"cases.csv": "case_ref,site,first_contact_date,age_days\n", "datapackage.json": "{"},
        "cannot be read",
    ),
}


@pytest.mark.parametrize("name", REFUSED)
def test_an_export_that_cannot_be_used_is_refused_with_what_to_do(tmp_path: Path, name: str):
    files, words = REFUSED[name]
    for file, text in files.items():
        (tmp_path / file).write_text(text, encoding="utf-8")
    with pytest.raises(Refused, match=words):
        open_export(tmp_path, CUT_OFF)


def test_the_cut_off_is_the_date_part_of_created_as_written(tmp_path: Path):
    export = write_export(tmp_path, {"cases": CASES})
    # No time-zone conversion: half past midnight in the east is not the day before.
    (export / "datapackage.json").write_text(json.dumps({"created": "2026-06-30T00:30:00+02:00"}), encoding="utf-8")
    assert open_export(export).cut_off == CUT_OFF
    assert open_export(export, CUT_OFF).cut_off == CUT_OFF
    with pytest.raises(Refused, match="--extracted-on says 2026-07-01"):
        open_export(export, date(2026, 7, 1))


def test_without_a_cut_off_the_export_is_refused_naming_the_latest_date(tmp_path: Path):
    export = write_export(tmp_path, {"cases": CASES, "contacts": "case_ref,contact_date,practitioner\nA,2026-05-03,P"})
    with pytest.raises(Refused, match=r"--extracted-on YYYY-MM-DD; the latest date in it is 2026-05-03"):
        open_export(export)


def test_a_path_that_is_not_there_is_refused(tmp_path: Path):
    with pytest.raises(Refused, match="there is no such file or folder"):
        open_export(tmp_path / "nowhere", CUT_OFF)


def test_a_table_that_is_missing_is_said(tmp_path: Path):
    export = write_export(tmp_path, {"cases": CASES})
    (export / "notes.xlsx").write_bytes(b"")
    remarks = {remark.text.split(";")[0]: remark.serious for remark in open_export(export, CUT_OFF).remarks}
    assert remarks["complications: not in this export"] is True
    assert any(text.startswith("notes.xlsx: ") and not is_serious for text, is_serious in remarks.items())


def test_what_the_second_version_of_the_layout_added_and_an_export_lacks_is_said_once(tmp_path: Path):
    tables = {"cases": CASES, "procedures": PROCEDURE}
    said = [remark.text for remark in open_export(write_export(tmp_path / "first", tables), CUT_OFF).remarks]
    new = "interpreter_needed, multiple_birth, helped_elsewhere_before, provider count as not recorded throughout"
    assert [text for text in said if "never seen" in text or "felt" in text or "provider" in text] == [
        "an export of the first version of the layout: families who asked and were never seen are not in it; nothing "
        f"is known of what families felt; {new}"
    ]
    # One that holds a part of it: each of the rest by itself, and neither is a reason to distrust the other figures.
    tables["procedures"] = PROCEDURE.replace("operator", "operator,provider").replace("P1", "P1,own")
    remarks = open_export(write_export(tmp_path / "second", tables), CUT_OFF).remarks
    assert [remark for remark in remarks if remark.text.startswith(("requests", "family_views", "an export"))] == [
        Remark("requests: not in this export; families who asked and were never seen are not in it", serious=False),
        Remark("family_views: not in this export; nothing is known of what families felt", serious=False),
    ]


def test_requests_that_became_cases_are_set_aside_without_a_doubt_or_a_word_first(audit: Path):
    rows = [f"    C{number},North,2026-06-01,2026-06-10,10," for number in range(30)]
    asked = [f"C{number},North,2026-06-01,," for number in range(29)]
    tables = {"cases": CASES + "\n".join(rows), "requests": REQUESTS + "\n".join([*asked, "R,North,2026-06-01,,"])}
    loaded = run.load(audit, write_export(audit.parent / "export", tables), CUT_OFF)
    requests = counts_of(loaded)[1]
    assert (requests.set_aside, requests.became_cases, requests.amiss, requests.judged) == (29, 29, 0, 1)
    assert serious(loaded) == []
    # A line that is wrong in another way too is wrong.
    tables["requests"] += "\nC29,North,01/06/2026,,"
    again = load(audit, tables)
    assert (counts_of(again)[1].became_cases, counts_of(again)[1].amiss, counts_of(again)[1].judged) == (29, 1, 2)
    assert serious(again) == ["requests.csv: 1 of 2 lines could not be used; the lists say why"]
    assert [reason.count for reason in again.examined.findings.reasons] == [1, 30]  # what is in order comes last


def serious(loaded: run.Loaded) -> list[str]:
    """What the reader is told first, the missing tables of these tiny exports apart."""
    return [remark.text for remark in remarks_of(loaded) if remark.serious and "not in this export" not in remark.text]


def test_an_export_of_which_much_is_set_aside_is_said_first(audit: Path):
    rows = [f"    C{number},North,,10/01/2026,10," for number in range(2)]
    loaded = load(audit, {"cases": CASES + "\n".join([*rows, "    D,North,,2026-06-10,10,"])})
    assert serious(loaded) == ["cases.csv: 2 of 4 lines could not be used; the lists say why"]
    assert loaded.examined.findings.values == 0


def test_one_row_in_twenty_set_aside_is_not_much(audit: Path):
    good = [f"    C{number},North,,2026-06-10,10," for number in range(18)]
    loaded = load(audit, {"cases": CASES + "\n".join([*good, "    D,North,,10/01/2026,10,"])})
    assert [sheet.set_aside for sheet in counts_of(loaded)] == [1]
    assert serious(loaded) == []


def test_dates_that_stop_long_before_the_cut_off_hold_an_export_back(audit: Path):
    # The latest date is 10 January: 92 days before 12 April, 93 before the 13th.
    export = write_export(audit.parent / "export", {"cases": CASES})
    assert run.load(audit, export, date(2026, 4, 12)).examined
    with pytest.raises(Refused, match="the latest date is 2026-01-10, 93 days before the cut-off 2026-04-13"):
        run.load(audit, export, date(2026, 4, 13))
    assert [event.event for event in run_store.loads(audit)] == [1]


def test_an_export_that_is_accepted_anyway_says_so_at_the_head_of_the_page(audit: Path, one_page: None):
    export = write_export(audit.parent / "export", {"cases": CASES})
    run.load(audit, export, date(2026, 4, 13), accept_anyway="the clinic was closed in spring")
    page = run.report(audit).page.read_text(encoding="utf-8")
    head = page[page.index("Before reading on</h3>") : page.index("What happened to everyone</h2>")]
    assert "93 days before the cut-off 2026-04-13; accepted anyway: the clinic was closed in spring" in head
    assert run_store.loads(audit)[0].accepted_anyway == "the clinic was closed in spring"


def test_a_reason_that_was_not_needed_is_not_recorded(audit: Path):
    export = write_export(audit.parent / "export", {"cases": CASES})
    run.load(audit, export, date(2026, 4, 12), accept_anyway="to be sure")
    assert run_store.loads(audit)[0].accepted_anyway == ""


def test_an_export_without_cases_is_held_back(audit: Path):
    tables = {"cases": "case_ref,site,first_contact_date,age_days"}
    with pytest.raises(Refused, match="no case"):
        run.load(audit, write_export(audit.parent / "export", tables), CUT_OFF)


def test_a_case_that_the_newest_export_no_longer_holds_is_said_at_the_head_of_the_page(audit: Path, one_page: None):
    # A and B were first seen 80 and 84 days before the first cut-off: only A was still being watched.
    cases = """
        case_ref,site,first_contact_date,age_days
        A,North,2026-01-10,10
        B,North,2026-01-06,10
        C,North,2026-01-10,10
    """
    run.load(audit, write_export(audit.parent / "one", {"cases": cases}), date(2026, 3, 31), accept_anyway=INVENTED)
    later = "case_ref,site,first_contact_date,age_days\nC,North,2026-01-10,10"
    run.load(audit, write_export(audit.parent / "two", {"cases": later}), date(2026, 4, 30), accept_anyway=INVENTED)
    page = run.report(audit).page.read_text(encoding="utf-8")
    head = page[page.index("Before reading on</h3>") : page.index("What happened to everyone</h2>")]
    assert "1 case is no longer in the newest export of the same source" in head
    assert "2026-03-31 or later" in head
    assert "(load 2), complications: not in this export" in page


def test_a_line_that_nobody_accounts_for_stops_the_load(audit: Path, monkeypatch: pytest.MonkeyPatch):
    def one_line_more(content: Content, reading: Reading) -> Sheet:
        sheet = read_sheet(content, reading)
        return dataclasses.replace(sheet, physical_lines=sheet.physical_lines + 1)

    monkeypatch.setattr(choose_mapping, "read_sheet", one_line_more)
    with pytest.raises(RuntimeError, match=r"cases\.csv has 3 lines, but 2 are accounted for"):
        load(audit, {"cases": CASES})
    with contextlib.closing(store.work(audit)) as con:
        store.attach(con, audit, to_load=False)
        assert con.execute("SELECT count(*) FROM store.loads").fetchall() == [(0,)]


def test_no_rule_at_all_is_no_success():
    with pytest.raises(RuntimeError, match="no column to check"):
        column_rules.refused_values({}, {})


def test_a_rule_that_cannot_run_is_no_success():
    frame = pd.DataFrame({"cases.sex": ["female"]})
    with pytest.raises(RuntimeError, match=r"the rule about cases\.site did not run"):
        column_rules.validate(frame, [("ExpectColumnValuesToBeInSet", {"column": "cases.site", "value_set": ["x"]})])
