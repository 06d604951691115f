"""Exports read through a mapping: which rows a line gives, and what becomes of what gives none. Worked by hand."""

from __future__ import annotations

import contextlib
import csv
import textwrap
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from pipeline import run, store
from pipeline.contracts import layout
from pipeline.errors import Refused
from pipeline.intake.map.shapes.odd_lines import merged_cells
from pipeline.intake.map.shapes.sheet_lines import shaped
from pipeline.intake.open_export import open_export
from pipeline.intake.read.contents import open_contents
from pipeline.intake.read.sheet import Shape
from pipeline.intake.read.sheet_reader import read_sheet
from pipeline.lineage import export_lines
from tests.conftest import INVENTED

CUT_OFF = date(2026, 6, 30)
CASES = """
    [[rows]]
    table = "cases"
    [rows.columns]
    case_ref = "Ref"
    site = { constant = "Outreach" }
    first_contact_date = { column = "Seen", date = "%d/%m/%Y" }
    age_days = "Age"
"""


def map_it(audit: Path, text: str, name: str = "own") -> None:
    (audit / "mappings" / f"{name}.toml").write_text(textwrap.dedent(text), encoding="utf-8")


def sheet(audit: Path, text: str, name: str = "caseload.csv") -> Path:
    path = audit.parent / name
    path.write_text(textwrap.dedent(text).strip() + "\n", encoding="utf-8")
    return path


def load(audit: Path, path: Path, mapping: str | None = None) -> run.Loaded:
    return run.load(audit, path, CUT_OFF, mapping=mapping, accept_anyway=INVENTED)


def rows(audit: Path, table: str, columns: str) -> list[tuple[Any, ...]]:
    with contextlib.closing(store.work(audit)) as con:
        store.attach(con, audit, to_load=False)
        return con.execute(f"SELECT {columns} FROM store.{table} ORDER BY ALL").fetchall()


def found(loaded: run.Loaded) -> list[tuple[str, str, str, str]]:
    """line, column as the sheet calls it, kind, what was found."""
    with (loaded.lists / "set_aside.csv").open(encoding="utf-8", newline="") as file:
        return sorted((row["line"], row["column"], row["kind"], row["found"]) for row in csv.DictReader(file))


def counts(loaded: run.Loaded) -> tuple[int, ...]:
    """lines, header, blank, accepted, set aside, repeats of the only sheet, and left out if any."""
    assert loaded.examined is not None
    (counted,) = loaded.examined.counts
    left_out = (counted.left_out,) if counted.left_out else ()
    return counted.lines, counted.header, counted.blank, counted.accepted, counted.set_aside, counted.repeats, *left_out


def test_one_line_gives_rows_of_several_tables_and_each_part_only_where_it_tells_something(audit: Path):
    map_it(
        audit,
        CASES
        + """
        [[rows]]
        table = "contacts"
        [rows.columns]
        case_ref = "Ref"
        contact_date = { column = "Help 1", date = "%d/%m/%Y" }
        practitioner = "By"
        [[rows]]
        table = "contacts"
        [rows.columns]
        case_ref = "Ref"
        contact_date = { column = "Help 2", date = "%d/%m/%Y" }
        practitioner = "By"
        mode = { column = "How", codes = { tel = "phone" } }
        """,
    )
    loaded = load(
        audit,
        sheet(
            audit,
            """
            Ref;Seen;Age;By;Help 1;Help 2;How
            A;10/01/2026;10;P1;10/01/2026;17/01/2026;tel
            B;11/01/2026;11;P2;11/01/2026;;
            C;12/01/2026;12;P1;;;
            D;13/01/2026;13;P1;;;tel
            """,
        ),
    )
    assert rows(audit, "cases", "case_ref, site, first_contact_date, age_days") == [
        (ref, "Outreach", date(2026, 1, 9 + number), 9 + number) for number, ref in enumerate("ABCD", 1)
    ]
    # "By" is of both parts, so it alone makes no contact; "How" is of the second only, and D's day is missing.
    assert rows(audit, "contacts", "case_ref, contact_date, practitioner, mode") == [
        ("A", date(2026, 1, 10), "P1", None),
        ("A", date(2026, 1, 17), "P1", "phone"),
        ("B", date(2026, 1, 11), "P2", None),
    ]
    assert found(loaded) == [("5", "Help 2", "row", "(nothing)")]
    assert counts(loaded) == (5, 1, 0, 4, 0, 0)
    assert loaded.examined is not None
    assert loaded.examined.findings.rows == 1


def test_a_row_that_is_asked_for_is_made_and_a_date_whose_row_is_not_asked_for_is_listed(audit: Path):
    map_it(
        audit,
        CASES
        + """
        [[rows]]
        table = "procedures"
        when = { column = "Divided", is = ["Y"], leave_out = ["N"] }
        [rows.columns]
        case_ref = "Ref"
        procedure_date = { column = "On", date = "%d/%m/%Y" }
        operator = { constant = "P9" }
        """,
    )
    loaded = load(
        audit,
        sheet(
            audit,
            """
            Ref,Seen,Age,Divided,On
            A,10/01/2026,10,Y,20/01/2026
            B,10/01/2026,10,Y,
            C,10/01/2026,10,N,21/01/2026
            D,10/01/2026,10,N,
            """,
        ),
    )
    assert rows(audit, "procedures", "case_ref, procedure_date, operator") == [("A", date(2026, 1, 20), "P9")]
    assert found(loaded) == [("3", "On", "row", "(nothing)"), ("4", "On", "value", "21/01/2026")]
    assert counts(loaded) == (5, 1, 0, 4, 0, 0)


BLED = """
    [[rows]]
    table = "procedures"
    [rows.columns]
    case_ref = { column = "Ref", prefix = "X-" }
    procedure_date = { column = "On", date = "%d/%m/%Y" }
    operator = { constant = "P9" }
    [[rows]]
    table = "complications"
    when = { column = "Bleed", is = ["Y"], leave_out = ["N", "-"] }
    [rows.columns]
    case_ref = { column = "Ref", prefix = "X-" }
    noted_date = { column = "On", date = "%d/%m/%Y" }
    kind = { constant = "bleeding" }
    severity = { constant = "minor" }
    [[rows]]
    table = "complications"
    when = { column = "Bleed", is = ["A&E"] }
    [rows.columns]
    case_ref = { column = "Ref", prefix = "X-" }
    noted_date = { column = "On", date = "%d/%m/%Y" }
    kind = { constant = "bleeding" }
    severity = { constant = "treated" }
"""


def test_a_value_that_decides_and_that_the_mapping_lists_nowhere_is_set_aside_by_name(audit: Path):
    map_it(audit, CASES.replace('case_ref = "Ref"', 'case_ref = { column = "Ref", prefix = "X-" }') + BLED)
    lines = ["A,10/01/2026,10,Y,20/01/2026", "B,10/01/2026,10,Y - A&E,20/01/2026", "C,10/01/2026,10,N,20/01/2026"]
    lines += ["D,10/01/2026,10, - ,20/01/2026", "E,10/01/2026,10,,20/01/2026", "F,10/01/2026,10,A&E,20/01/2026"]
    lines += ["G,10/01/2026,10,y,"]
    loaded = load(audit, sheet(audit, "\n".join(["Ref,Seen,Age,Bleed,On", *lines])))
    # A is in the one list and F in another; C and D are left out on purpose; E says nothing. Capitals count.
    made = [("X-A", "minor"), ("X-F", "treated")]
    assert rows(audit, "complications", "case_ref, severity") == made
    assert found(loaded) == [("3", "Bleed", "row", "Y - A&E"), ("8", "Bleed", "row", "y")]
    assert counts(loaded) == (8, 1, 0, 7, 0, 0)
    assert loaded.examined is not None
    assert loaded.examined.findings.rows == 2
    (reason,) = loaded.examined.findings.reasons
    assert reason.allowed == "a value that the mapping lists: Y, A&E; left out on purpose: N, -"
    with contextlib.closing(store.work(audit)) as con:
        store.attach(con, audit, to_load=False)
        held = con.execute("SELECT table_name, case_ref FROM store.set_aside ORDER BY line").fetchall()
    assert held == [("complications", "X-B"), ("complications", "X-G")]


def test_a_line_left_out_on_purpose_is_a_count_of_its_own(audit: Path):
    (audit.parent / "log").mkdir()
    (audit.parent / "log" / "cases.csv").write_text("Ref,Seen,Age\nA,10/01/2026,10\n", encoding="utf-8")
    visits = (
        "Ref,Came,On\nA,Y,12/01/2026\nA,DNA,14/01/2026\n,,\nA,cancelled,\nA,moved,\nA,,13/01/2026\nA,Y,12/01/2026\n"
    )
    (audit.parent / "log" / "visits.csv").write_text(visits, encoding="utf-8")
    mapping = (
        CASES.replace('table = "cases"', 'table = "cases"\n    sheet = "cases"')
        + """
    [[rows]]
    table = "contacts"
    sheet = "visits"
    when = { column = "Came", is = ["Y"], leave_out = ["DNA", "cancelled"] }
    [rows.columns]
    case_ref = "Ref"
    contact_date = { column = "On", date = "%d/%m/%Y" }
    practitioner = { constant = "P1" }
    """
    )
    map_it(audit, mapping)
    loaded = load(audit, audit.parent / "log")
    # "moved" is in no list; the sixth line says nothing of whether they came, but gives a day.
    nothing = ("7", "", "row", "nothing in the line makes a row")
    assert found(loaded) == [("6", "Came", "row", "moved"), nothing, ("7", "On", "value", "13/01/2026")]
    with (loaded.lists / "lines.csv").open(encoding="utf-8", newline="") as file:
        assert list(csv.DictReader(file))[1] == {
            **{"file": "visits.csv", "lines": "8", "header": "1", "blank": "1", "accepted": "1"},
            **{"set_aside": "2", "repeats": "1", "left_out": "2"},
        }


def test_a_word_that_is_left_out_explains_its_day_and_a_plain_no_does_not(audit: Path):
    visit = """
        [[rows]]
        table = "contacts"
        when = { column = "Came", is = ["Y"], leave_out = ["DNA", "N"] }
        [rows.columns]
        case_ref = "Ref"
        contact_date = { column = "On", date = "%d/%m/%Y" }
        practitioner = { constant = "P1" }
        [[rows]]
        table = "requests"
        when = { column = "Asked", is = ["Y"] }
        [rows.columns]
        case_ref = "Ref"
        site = { constant = "North" }
        request_date = { column = "Asked on", date = "%d/%m/%Y" }
        """
    map_it(audit, CASES + visit)
    text = "Ref,Seen,Age,Came,On,Asked,Asked on\nA,10/01/2026,9,DNA,11/01/2026,,\nB,10/01/2026,9,N,12/01/2026,,\n"
    loaded = load(audit, sheet(audit, text))
    assert found(loaded) == [("3", "On", "value", "12/01/2026")]
    assert loaded.examined is not None
    empty = [remark.text for remark in loaded.examined.remarks if "made no row of it" in remark.text]
    why = (
        "nothing of the kind has happened, as far as the figures know",
        "families who asked and were never seen are not in it",
    )
    assert empty == [
        f"{table}: the mapping made no row of it, so {words}; see that it is right"
        for table, words in zip(("contacts", "requests"), why, strict=True)
    ]


def test_all_conditions_must_hold_and_no_written_value_is_taken_for_a_no_in_silence(audit: Path):
    (audit.parent / "log").mkdir()
    (audit.parent / "log" / "cases.csv").write_text("Ref,Seen,Age\nA,10/01/2026,10\n", encoding="utf-8")
    visits = """
        Ref,Type,Status,Outcome,On,Fed
        A,visit,came,,12/01/2026,
        A,visit,DNA,,,
        A,visit,,,13/01/2026,
        A,visit,-,,14/01/2026,
        A,note,DNA,,,
        A,call,,,20/02/2026,EBF
        A,call,, N/A ,21/02/2026,EBF
        A,call,,wrong no,,
        A,call,,engaged,,
        A,letter,,,,
        A,,came,,,
        A,visit,DNA,engaged,,
        """
    sheet(audit, visits, "log/visits.csv")
    mapping = (
        CASES.replace('table = "cases"', 'table = "cases"\n    sheet = "cases"')
        + """
    [[rows]]
    table = "contacts"
    sheet = "visits"
    when = [{ column = "Type", is = ["visit"], leave_out = ["note"] }, { column = "Status", is_not = ["DNA"] }]
    [rows.columns]
    case_ref = "Ref"
    contact_date = { column = "On", date = "%d/%m/%Y" }
    practitioner = { constant = "P1" }
    [[rows]]
    table = "feeding_checks"
    sheet = "visits"
    when = [{ column = "Type", is = ["call"] }, { column = "Outcome", is_empty = true, leave_out = ["wrong no"] }]
    [rows.columns]
    case_ref = "Ref"
    check_date = { column = "On", date = "%d/%m/%Y" }
    feeding = { column = "Fed", codes = { EBF = "exclusive" } }
    """
    )
    map_it(audit, '    nothing = ["-", "n/a"]\n' + mapping)
    loaded = load(audit, audit.parent / "log")
    # Lines 4 and 5: an empty status, and one that says nothing, is not DNA. Lines 3, 6 and 9 are left out on purpose.
    assert rows(audit, "contacts", "line") == [(2,), (4,), (5,)]
    assert rows(audit, "feeding_checks", "line") == [(7,), (8,)]
    assert found(loaded) == [
        ("10", "Outcome", "row", "engaged"),
        ("11", "Type", "row", "letter"),  # of contacts
        ("11", "Type", "row", "letter"),  # of feeding checks
        ("12", "Status", "row", "came"),
        ("13", "Outcome", "row", "engaged"),
    ]
    with (loaded.lists / "lines.csv").open(encoding="utf-8", newline="") as file:
        assert list(csv.DictReader(file))[1] == {
            **{"file": "visits.csv", "lines": "13", "header": "1", "blank": "0", "accepted": "5"},
            **{"set_aside": "4", "repeats": "0", "left_out": "3"},
        }
    assert loaded.examined is not None
    said = [remark.text for remark in loaded.examined.remarks if "taken as nothing" in remark.text]
    told = '"-" (1), "n/a" (1) in Status, Outcome'
    assert said == [f"visits.csv: taken as nothing recorded, as the mapping says: {told}"]
    assert {reason.allowed for reason in loaded.examined.findings.reasons} >= {
        "nothing; left out on purpose: wrong no",
        "a value that the mapping lists: visit, call; left out on purpose: note",
    }


def test_a_value_that_makes_no_row_because_another_condition_does_not_hold_is_set_aside_by_name(audit: Path):
    parts = BLED.replace(
        'when = { column = "Bleed", is = ["Y"], leave_out = ["N", "-"] }',
        'when = [{ column = "Bleed", is = ["Y"], leave_out = ["N"] }, { column = "Care", is = ["none"] }]',
    ).replace(
        'when = { column = "Bleed", is = ["A&E"] }',
        'when = [{ column = "Bleed", is = ["Y"] }, { column = "Care", is = ["A&E"], leave_out = ["n/a"] }]',
    )
    map_it(audit, CASES.replace('case_ref = "Ref"', 'case_ref = { column = "Ref", prefix = "X-" }') + parts)
    written = ["Y,A&E", "Y,none", "Y,", "N,", ",A&E", "Y,GP", "N,A&E", "Y,n/a", ","]
    lines = [f"{ref},10/01/2026,10,20/01/2026,{said}" for ref, said in zip("ABCDEFGHI", written, strict=True)]
    loaded = load(audit, sheet(audit, "\n".join(["Ref,Seen,Age,On,Bleed,Care", *lines])))
    assert rows(audit, "complications", "case_ref, severity") == [("X-A", "treated"), ("X-B", "minor")]
    # C bled, and nothing says what care it needed; E needed care, and nothing says why; F's care nobody foresaw.
    assert found(loaded) == [("4", "Bleed", "row", "Y"), ("6", "Care", "row", "A&E"), ("7", "Care", "row", "GP")]
    assert counts(loaded) == (10, 1, 0, 9, 0, 0)
    assert loaded.examined is not None
    allowed = {reason.column: reason.allowed for reason in loaded.examined.findings.reasons if reason.line < 7}
    assert allowed == {"Bleed": "where also Care holds none, or Care holds A&E", "Care": "where also Bleed holds Y"}


PROCEDURES = BLED.partition('[[rows]]\n    table = "complications"')[0].replace(', prefix = "X-"', "")


def test_a_list_in_the_cell_that_decides_holds_by_any_part_and_no_part_is_lost(audit: Path):
    """A cell "good movement; bleed+" once made a bleed that needed care count as none, in silence."""
    parts = """
    [[rows]]
    table = "complications"
    when = { column = "Noted", split = [";", ","], is = ["bleed+", "bleed"], leave_out = ["good movement", "fed well"] }
    [rows.columns]
    case_ref = "Ref"
    noted_date = { column = "On", date = "%d/%m/%Y" }
    kind = { constant = "bleeding" }
    [[rows]]
    table = "complications"
    when = { column = "Noted", split = [",", ";"], is = ["thrush"] }
    [rows.columns]
    case_ref = "Ref"
    noted_date = { column = "On", date = "%d/%m/%Y" }
    kind = { constant = "infection" }
"""
    map_it(audit, 'nothing = ["nil"]\n' + textwrap.dedent(CASES + PROCEDURES + parts))
    cells = ["good movement; bleed+", "good movement", "bleed,thrush; fed well", "good movement; bled a lot"]
    cells += ["Nil", "thrush; ooze; nil", "", "bleed; bleed"]
    lines = [f'{ref},10/01/2026,10,20/01/2026,"{cell}"' for ref, cell in zip("ABCDEFGH", cells, strict=True)]
    loaded = load(audit, sheet(audit, "\n".join(["Ref,Seen,Age,On,Noted", *lines])))
    made = [("A", "bleeding"), ("C", "bleeding"), ("C", "infection"), ("F", "infection"), ("H", "bleeding")]
    assert rows(audit, "complications", "case_ref, kind") == made
    assert found(loaded) == [("5", "Noted", "row", "bled a lot"), ("7", "Noted", "row", "ooze")]
    assert counts(loaded) == (9, 1, 0, 8, 0, 0)


def test_each_part_of_a_list_makes_a_row_and_only_the_part_nobody_knows_is_set_aside(audit: Path):
    parts = """
    [[rows]]
    table = "complications"
    when = "Noted"
    [rows.columns]
    case_ref = "Ref"
    noted_date = { column = "On", date = "%d/%m/%Y" }
    kind = { column = "Noted", split = ";", codes = { B = "bleeding", ooze = "bleeding", T = "infection", well = "" } }
"""
    map_it(audit, 'nothing = ["nil"]\n' + textwrap.dedent(CASES + PROCEDURES + parts))
    folder = audit.parent / "both"
    folder.mkdir()
    first = [
        "A,10/01/2026,10,20/01/2026,B; T",
        "B,10/01/2026,10,20/01/2026,B;lump;T",
        "C,10/01/2026,10,20/01/2026,well",
    ]
    first += ["D,10/01/2026,10,20/01/2026,nil; T", "E,10/01/2026,10,20/01/2026,B; ooze", "F,10/01/2026,10,20/01/2026,"]
    second = ["G,10/01/2026,10,20/01/2026,T;B", "H,10/01/2026,10,soon,T;B"]
    for name, lines in (("first", first), ("second", second)):
        text = "\n".join(["Ref,Seen,Age,On,Noted", *lines])
        (folder / f"{name}.csv").write_text(text + "\n", encoding="utf-8")
    loaded = load(audit, folder)
    assert rows(audit, "complications", "case_ref, kind, file, line") == [
        *(("A", kind, "first.csv", 2) for kind in ("bleeding", "infection")),
        *(("B", kind, "first.csv", 3) for kind in ("bleeding", "infection")),
        ("D", "infection", "first.csv", 5),
        ("E", "bleeding", "first.csv", 6),  # ooze is a bleed too: a repeat, and not two
        *(("G", kind, "second.csv", 2) for kind in ("bleeding", "infection")),
    ]
    assert {line for line in found(loaded) if line[2] == "row"} == {
        ("3", "Noted", "row", "lump"),
        ("3", "On", "row", "soon"),
    }
    assert loaded.examined is not None
    assert [
        (counted.file, counted.lines, counted.accepted, counted.set_aside) for counted in loaded.examined.counts
    ] == [
        ("first.csv", 7, 6, 0),
        ("second.csv", 3, 2, 0),
    ]
    told = str(run.trace(audit, "infection_within_14_days", "2026Q1"))
    assert "“Noted”" in told


def test_what_a_condition_takes_unnamed_is_not_lost_either_where_another_does_not_hold(audit: Path):
    parts = """
    [[rows]]
    table = "contacts"
    when = ["On", { column = "Status", is_not = ["DNA"] }, { column = "Did", split = ";", is = ["seen"] }]
    [rows.columns]
    case_ref = "Ref"
    contact_date = { column = "On", date = "%d/%m/%Y" }
    practitioner = { constant = "P1" }
"""
    map_it(audit, CASES + parts)
    written = ["12/01/2026,,seen", "13/01/2026,came,", ",came,", ",DNA,seen", ",,seen; well", ",,"]
    lines = [f"{ref},10/01/2026,10,{said}" for ref, said in zip("ABCDEF", written, strict=True)]
    loaded = load(audit, sheet(audit, "\n".join(["Ref,Seen,Age,On,Status,Did", *lines])))
    assert rows(audit, "contacts", "case_ref") == [("A",)]
    # One finding a line; E holds a part that nothing names, and one that makes no row without a day.
    assert found(loaded) == [
        ("3", "On", "row", "13/01/2026"),
        ("4", "Status", "row", "came"),
        ("6", "Did", "row", "seen"),
        ("6", "Did", "row", "well"),
    ]
    assert counts(loaded) == (7, 1, 0, 6, 0, 0)


def test_problems_in_one_cell_are_yes_and_no_in_several_columns(audit: Path):
    codes = {"nipple_pain": 'sore = "yes", wind = "no"', "wind": 'sore = "no", wind = "yes"'}
    columns = [f'{name} = {{ column = "Problems", split = ";", codes = {{ {codes[name]} }} }}' for name in codes]
    map_it(audit, textwrap.dedent(CASES) + "\n".join(columns))
    lines = ["A,10/01/2026,10,sore; wind", "B,10/01/2026,10,wind", "C,10/01/2026,10,", "D,10/01/2026,10,wind;latch"]
    loaded = load(audit, sheet(audit, "\n".join(["Ref,Seen,Age,Problems", *lines])))
    said = [("A", True, True), ("B", False, True), ("C", None, None), ("D", None, None)]
    assert rows(audit, "cases", "case_ref, nipple_pain, wind") == said
    assert found(loaded) == [("5", "Problems", "value", "wind;latch")] * 2
    assert counts(loaded) == (5, 1, 0, 4, 0, 0)


def test_a_code_the_mapping_does_not_know_is_set_aside_and_counted_never_guessed(audit: Path):
    map_it(
        audit,
        CASES.replace('age_days = "Age"', 'age_days = "Age"\n    sex = { column = "Sex", codes = { F = "female" } }'),
    )
    loaded = load(
        audit,
        sheet(
            audit, "Ref,Seen,Age,Sex\nA,10/01/2026,10,F\nB,10/01/2026,10,f\nC,10/01/2026,10,female\nD,10/01/2026,10,f\n"
        ),
    )
    # Not even a code of the layout, for a service may mean something else by it.
    assert rows(audit, "cases", "case_ref, sex") == [("A", "female"), ("B", None), ("C", None), ("D", None)]
    assert found(loaded) == [("3", "Sex", "value", "f"), ("4", "Sex", "value", "female"), ("5", "Sex", "value", "f")]
    assert loaded.examined is not None
    (reason,) = loaded.examined.findings.reasons
    assert (reason.count, reason.kinds_found, reason.found, reason.line) == (3, 2, "f", 3)


def test_a_must_value_that_cannot_be_read_sets_the_line_aside_once(audit: Path):
    map_it(audit, CASES)
    loaded = load(audit, sheet(audit, "Ref,Seen,Age\nA,10/01/2026,10\nB,2026/01/10,10\n"))
    assert found(loaded) == [("3", "Seen", "row", "2026/01/10")]
    assert counts(loaded) == (3, 1, 0, 1, 1, 0)


def test_a_day_that_nobody_wrote_down_is_the_day_the_baby_was_so_old(audit: Path):
    map_it(
        audit,
        CASES
        + """
        [[rows]]
        table = "feeding_checks"
        [rows.columns]
        case_ref = "Ref"
        check_date = { days_old = 42 }
        feeding = { column = "Fed", codes = { BF = "exclusive", "?" = "not_known" } }
        """,
    )
    loaded = load(audit, sheet(audit, "Ref,Seen,Age,Fed\nA,10/01/2026,10,BF\nB,10/01/2026,10,?\nC,10/01/2026,10,\n"))
    # Ten days old on 10 January: born on 31 December, 42 days old on 11 February. Not known tells nothing.
    assert rows(audit, "feeding_checks", "case_ref, check_date, feeding") == [("A", date(2026, 2, 11), "exclusive")]
    assert loaded.examined is not None
    assert any(
        "no recorded date but the day the baby was 42 days old" in remark.text for remark in loaded.examined.remarks
    )


def test_lines_with_nothing_are_blank_and_lines_that_make_no_row_are_listed(audit: Path):
    map_it(audit, CASES.replace('table = "cases"', 'table = "cases"\n    when = "Seen"'))
    loaded = load(audit, sheet(audit, "Ref,Seen,Age\nA,10/01/2026,10\n,,\nTotal,,1\n , ,\n"))
    assert counts(loaded) == (5, 1, 2, 1, 1, 0)
    assert found(loaded) == [("4", "", "row", "nothing in the line makes a row")]


def test_a_prefix_keeps_the_references_of_two_sources_apart(audit: Path):
    map_it(audit, CASES.replace('case_ref = "Ref"', 'case_ref = { column = "Ref", prefix = "X-" }'), "one")
    map_it(audit, CASES, "two")
    path = sheet(audit, "Ref,Seen,Age\n1,10/01/2026,10\n")
    load(audit, path, "one")
    load(audit, path, "two")
    assert rows(audit, "cases", "case_ref") == [("1",), ("X-1",)]
    map_it(audit, CASES, "three")
    with pytest.raises(Refused, match="1 references also stand in the loads of two") as refused:
        run.load(audit, path, CUT_OFF, mapping="three")
    mend = (
        'if this is an export of the same records as those, say so in the mapping: source = "two"; if not, give them '
        'a prefix of their own in the mapping: prefix = "X-"'
    )
    assert refused.value.faults[0].mend == mend
    map_it(audit, CASES.replace('"Ref"', '{ column = "Ref", prefix = "X-" }').replace('"Age"', '{ column = "Age" }'))
    with pytest.raises(Refused, match=r'in the mapping: source = "one"; if not, .*: prefix = "X-", in place of X-\n'):
        run.load(audit, path, CUT_OFF, mapping="own")
    text = (audit / "mappings" / "three.toml").read_text("utf-8")
    (audit / "mappings" / "three.toml").write_text(f'source = "two"\n{text}', "utf-8")
    assert load(audit, path, "three").number == 3


def test_two_sheets_of_one_pattern_give_rows_of_one_table(audit: Path):
    map_it(audit, CASES.replace('table = "cases"', 'table = "cases"\n    sheet = "Clinic *"'))
    folder = audit.parent / "both"
    folder.mkdir()
    (folder / "Clinic A.csv").write_text("Ref,Seen,Age\nA,10/01/2026,10\n\nC,10/01/2026,400\n", encoding="utf-8")
    (folder / "Clinic B.csv").write_text("Ref,Seen,Age\nB,10/01/2026,10\nA,10/01/2026,10\n", encoding="utf-8")
    (folder / "Other.csv").write_text("Ref,x\nA,1\n", encoding="utf-8")
    loaded = load(audit, folder)
    assert loaded.examined is not None
    assert [
        (counted.file, counted.accepted, counted.set_aside, counted.repeats) for counted in loaded.examined.counts
    ] == [
        ("Clinic A.csv", 1, 1, 0),
        ("Clinic B.csv", 1, 0, 1),
    ]
    assert rows(audit, "cases", "case_ref, file, line") == [("A", "Clinic A.csv", 2), ("B", "Clinic B.csv", 2)]
    assert any(remark.text.startswith("Other.csv: not a table") for remark in loaded.examined.remarks)


def test_a_column_is_read_by_the_name_it_has_on_each_sheet(audit: Path):
    cases = CASES.replace('"Ref"', '{ column = ["Ref", "Ref no"] }')
    contacts = SHARED.split('table = "assessments"')[0].rpartition("[[rows]]")[0]
    contacts = contacts.replace('"Ref"', '{ column = ["Ref no", "Ref"] }').replace(
        'table = "contacts"', 'table = "contacts"\n    when = { column = ["Came", "Attended"], is = ["Y"] }'
    )
    map_it(audit, cases + contacts)
    folder = audit.parent / "both"
    folder.mkdir()
    (folder / "Clinic A.csv").write_text("Ref,Seen,Age,By,Came\nA,10/01/2026,10,P1,Y\nB,10/01/2026,10,P1,\n")
    (folder / "Clinic B.csv").write_text("Seen,Attended,Age,By,Ref no\n10/01/2026,Y,400,P1,C\n11/01/2026,Y,9,P2,D\n")
    loaded = load(audit, folder)
    assert rows(audit, "contacts", "case_ref, practitioner, file, line") == [
        ("A", "P1", "Clinic A.csv", 2),
        ("D", "P2", "Clinic B.csv", 3),
    ]
    assert [line for line in found(loaded) if line[1] == "Age"] == [("2", "Age", "row", "400")]
    assert loaded.examined is not None
    assert not [remark for remark in loaded.examined.remarks if "extra column" in remark.text]
    lines = run.trace(audit, "everyone", "2026Q1")
    assert "“Ref” or “Ref no”" in str(lines)


def test_the_one_mapping_that_fits_is_used_and_said(audit: Path):
    map_it(audit, CASES, "fits")
    map_it(audit, CASES.replace('"Age"', '"Age in days"'), "fits-not")
    loaded = load(audit, sheet(audit, "Ref,Seen,Age\nA,10/01/2026,10\n"))
    assert loaded.examined is not None
    assert loaded.examined.remarks[0].text == "read through the mapping fits"
    assert loaded.examined.export.mapping.source == "fits"


CHOICES = {
    "none there": ({}, None, "feeding-audit suggest EXPORT"),
    "none fits": ({"own": CASES.replace('"Age"', '"Days"')}, None, "the sheet caseload has no column Days"),
    "two fit": ({"one": CASES, "two": CASES}, None, "several mappings fit it: one, two"),
    "the one named is not there": ({"one": CASES}, "ones", "a mapping of the audit folder"),
    "the one named does not fit": ({"own": CASES.replace('"Age"', '"Days"')}, "own", "Days"),
    "one is broken": ({"own": CASES + "\n[["}, None, "own.toml"),
}


@pytest.mark.parametrize("name", CHOICES)
def test_what_cannot_be_chosen_is_refused_with_what_to_do(audit: Path, name: str):
    mappings, named, words = CHOICES[name]
    for mapping, text in mappings.items():
        map_it(audit, text, mapping)
    with pytest.raises(Refused) as refused:
        load(audit, sheet(audit, "Ref,Seen,Age\nA,10/01/2026,10\n"), named)
    assert words in str(refused.value)


def test_the_mapping_that_is_named_is_used_and_must_fit_though_the_export_is_in_the_layout(audit: Path):
    named = CASES.replace('"Ref"', '"case_ref"').replace('"Seen"', '"seen"').replace('"Age"', '"age_days"')
    map_it(audit, named)
    text = "case_ref,site,first_contact_date,age_days\nA,North,2026-01-10,10\n"
    path = sheet(audit, text, "cases.csv")
    with pytest.raises(Refused, match="the sheet cases has no column seen"):
        load(audit, path, "own")
    map_it(audit, named.replace('"seen"', '"first_contact_date"'))
    load(audit, path, "own")
    assert rows(audit, "cases", "case_ref, site") == [("A", "Outreach")]


def test_an_export_in_the_layout_needs_no_mapping_though_one_would_fit(audit: Path):
    map_it(audit, CASES.replace('"Ref"', '"case_ref"').replace('"Seen"', '"site"').replace('"Age"', '"age_days"'))
    path = sheet(audit, "case_ref,site,first_contact_date,age_days\nA,North,2026-01-10,10\n", "cases.csv")
    loaded = load(audit, path)
    assert rows(audit, "cases", "case_ref, site") == [("A", "North")]
    assert loaded.examined is not None
    assert loaded.examined.export.mapping.name == ""


def test_what_was_set_aside_is_told_as_mended_again_or_gone(audit: Path, one_page: None):
    map_it(
        audit,
        CASES.replace('age_days = "Age"', 'age_days = "Age"\n    sex = { column = "Sex", codes = { F = "female" } }')
        # B's contact goes with B, and is no finding of its own to mend.
        + '[[rows]]\ntable = "contacts"\n[rows.columns]\ncase_ref = "Ref"\npractitioner = "Sex"\n'
        'contact_date = { column = "Seen", date = "%d/%m/%Y" }\n',
    )
    head = "Ref,Seen,Age,Sex\n"
    load(audit, sheet(audit, head + "A,10/01/2026,10,f\nB,10/01/2026,400,F\nC,10/01/2026,10,x\nD,10/01/2026,10,x\n"))
    again = sheet(audit, head + "A,10/01/2026,10,F\nB,10/01/2026,40,F\nC,10/01/2026,10,y\nE,10/01/2026,10,F\n", "q.csv")
    loaded = load(audit, again)
    # A's sex and B's age are mended, C's sex is still none that the mapping knows, D is no longer there.
    settled = loaded.settled
    assert settled is not None
    assert (settled.before, settled.mended, settled.again, settled.gone) == (1, 2, 1, 1)
    page = run.report(audit).page.with_name("technical.html").read_text(encoding="utf-8")
    assert "Of 4 findings of load 1, by load 2: 2 mended, 1 set aside again, 1 gone" in page


def test_the_same_sheet_with_a_corrected_mapping_is_a_new_load_and_counts(audit: Path):
    path = sheet(audit, "Ref,Seen,Age\nA,03/04/2026,10\n")
    map_it(audit, CASES.replace("%d/%m/%Y", "%m/%d/%Y"))
    assert load(audit, path).number == 1
    assert load(audit, path).examined is None
    map_it(audit, CASES)
    assert load(audit, path).number == 2
    with contextlib.closing(store.work(audit)) as con:
        store.attach(con, audit, to_load=False)
        from pipeline.outcomes import cases

        cases.build(con, through="counting_cases")
        assert con.execute("SELECT first_contact_date FROM counting_cases").fetchall() == [(date(2026, 4, 3),)]


def test_every_column_of_the_layout_can_come_from_a_mapping():
    """So that no table or kind is forgotten by the format."""
    assert {column.kind for table in layout.tables() for column in table.columns} == {
        layout.TEXT, layout.CODE, layout.INTEGER, layout.DATE, layout.YES_NO,
    }  # fmt: skip


SHARED = """
    [[rows]]
    table = "contacts"
    [rows.columns]
    case_ref = "Ref"
    contact_date = { column = "Seen", date = "%d/%m/%Y" }
    practitioner = "By"
    [[rows]]
    table = "assessments"
    [rows.columns]
    case_ref = "Ref"
    assessment_date = { column = "Seen", date = "%d/%m/%Y" }
    practitioner = "By"
"""


def test_a_part_without_a_column_of_its_own_is_made_where_its_date_is_written(audit: Path):
    """One visit: the baby was seen and the tongue looked at. No part may vanish for reading the same columns."""
    map_it(audit, CASES + SHARED)
    loaded = load(audit, sheet(audit, "Ref,Seen,Age,By\nA,10/01/2026,10,P1\nB,11/01/2026,10,\n"))
    assert rows(audit, "contacts", "case_ref, contact_date, practitioner") == [("A", date(2026, 1, 10), "P1")]
    assert rows(audit, "assessments", "case_ref, assessment_date") == [("A", date(2026, 1, 10))]
    assert {finding[:2] for finding in found(loaded)} == {("3", "By")}


def test_a_mapped_table_of_which_no_row_is_made_is_said_first(audit: Path):
    map_it(
        audit,
        CASES + SHARED.replace('table = "contacts"', 'table = "contacts"\n    when = { column = "By", is = ["P9"] }'),
    )
    loaded = load(audit, sheet(audit, "Ref,Seen,Age,By\nA,10/01/2026,10,P1\n"))
    assert loaded.examined is not None
    said = [remark.text for remark in loaded.examined.remarks if remark.serious]
    assert any(text.startswith("contacts: the mapping made no row of it") for text in said)
    assert not any(text.startswith("assessments: the mapping") for text in said)


def test_a_date_is_quoted_as_it_is_written_in_the_sheet(audit: Path):
    map_it(
        audit,
        CASES.replace('age_days = "Age"', 'age_days = "Age"\n    closed_date = { column = "End", date = "%d/%m/%Y" }'),
    )
    loaded = load(audit, sheet(audit, "Ref,Seen,Age,End\nA,10/01/2026,10,09/01/2026\n"))
    assert found(loaded) == [("2", "End", "value", "09/01/2026: 2026-01-09, before first_contact_date 2026-01-10")]


def test_a_half_written_mapping_stands_in_nobody_s_way_and_is_mentioned(audit: Path):
    map_it(audit, CASES, "own")
    map_it(audit, CASES + "\n[[", "other")
    path = sheet(audit, "Ref,Seen,Age\nA,10/01/2026,10\n")
    loaded = load(audit, path, "own")
    again = run.check(audit, path, CUT_OFF)
    assert loaded.number == 1
    assert any(remark.text.startswith("the mapping other.toml cannot be read yet") for remark in again.remarks)


def test_an_older_export_of_the_source_is_said_to_be_older(audit: Path):
    map_it(audit, CASES)
    load(audit, sheet(audit, "Ref,Seen,Age\nA,10/01/2026,10\n"))
    older = sheet(audit, "Ref,Seen,Age\nA,10/01/2026,11\n", "older.csv")
    examined = run.load(audit, older, date(2026, 3, 31), accept_anyway=INVENTED).examined
    assert examined is not None
    assert examined.remarks[0].text.startswith("load 1 of the same source was drawn later, on 2026-06-30")


def test_the_workbook_names_each_cell_once_and_not_what_goes_with_its_case(audit: Path):
    map_it(audit, CASES + SHARED)
    loaded = load(audit, sheet(audit, "Ref,Seen,Age,By\nA,10/01/2026,400,P1\nB,11/01/2026,10,P1\n"))
    import openpyxl

    book = openpyxl.load_workbook(loaded.lists / "to_mend.xlsx")
    assert book.sheetnames == ["What to do", "cases"]
    assert [row[1].value for row in book["cases"].iter_rows(min_row=2)] == [2]
    # Nothing is lost of it for whoever counts: the other list has every finding.
    assert len(found(loaded)) == 3


def test_a_load_says_which_cases_are_new_changed_and_as_before(audit: Path):
    map_it(audit, CASES + SHARED)
    head = "Ref,Seen,Age,By\n"
    first = load(
        audit, sheet(audit, head + "A,10/01/2026,10,P1\nB,10/01/2026,10,P1\nC,10/01/2026,10,P1\nD,10/01/2026,10,\n")
    )
    assert first.examined is not None
    assert first.examined.compared is None
    # The lines in another order; C was seen by someone else, which only its contact and assessment say; D has left.
    later = sheet(
        audit, head + "E,10/01/2026,10,P1\nC,10/01/2026,10,P2\nB,10/01/2026,10,P1\nA,10/01/2026,10,P1\n", "q.csv"
    )
    examined = load(audit, later).examined
    assert examined is not None
    assert examined.compared is not None
    assert examined.compared.words == "1 new case, 1 changed, 2 as before; 1 no longer there"


def test_a_time_of_day_and_words_for_nothing_are_left_out_and_said_once_a_sheet(audit: Path):
    columns = 'closed_date = "Closed"\ngestation_weeks = "Weeks"\n'
    map_it(audit, 'nothing = ["-", "n/a"]\n' + textwrap.dedent(CASES) + columns)
    text = """
        Ref,Seen,Age,Closed,Weeks
        A1,31/05/2026 14:30,9,2026-06-03T09:00:00,39
        A2,30/05/2026 9:05,-,N/A,38
        A3,30/05/2026,9,-,-
    """
    loaded = load(audit, sheet(audit, text))
    assert rows(audit, "cases", "case_ref, CAST(first_contact_date AS VARCHAR), CAST(closed_date AS VARCHAR)") == [
        ("A1", "2026-05-31", "2026-06-03"),
        ("A3", "2026-05-30", None),
    ]
    assert found(loaded) == [("3", "Age", "row", "(nothing)")]
    assert loaded.examined is not None
    said = [remark.text for remark in loaded.examined.remarks if remark.text.startswith("caseload.csv: ")]
    assert said[:-1] == [
        "caseload.csv: Seen: a time of day stands behind 2 of its dates; only the day is read",
        "caseload.csv: Closed: a time of day stands behind 1 of its dates; only the day is read",
        'caseload.csv: taken as nothing recorded, as the mapping says: "-" (3), "n/a" (1) in Age, Closed, Weeks',
    ]


def test_case_and_blanks_alone_make_no_second_site_or_practitioner(audit: Path):
    contacts = '[[rows]]\ntable = "contacts"\n[rows.columns]\ncase_ref = "Ref"\ncontact_date = "Next"\n'
    contacts += 'practitioner = "Who"\n'
    site = 'site = { column = "Site", codes = { "Moorend Ctr" = "moorend" } }'
    map_it(audit, textwrap.dedent(CASES).replace('site = { constant = "Outreach" }', site) + contacts)
    text = """
        Ref,Seen,Age,Site,Next,Who
        A1,30/05/2026,9,Moorend,2026-06-01,P1
        A2,30/05/2026,9,MOOREND,2026-06-01,p1
        A3,30/05/2026,9,Moor  end,2026-06-01,P 1
        A4,30/05/2026,9,Moorend,2026-06-01,P2
        A5,30/05/2026,9,Moorend Ctr,2026-06-01,P1
        A6,30/05/2026,9,hill top,2026-06-01,p2
        A7,30/05/2026,9,Hill Top,2026-06-01,P3
    """
    loaded = load(audit, sheet(audit, text))
    assert rows(audit, "cases", "site") == [("Hill Top",)] * 2 + [("Moorend",)] * 5
    assert rows(audit, "contacts", "practitioner") == [("P1",)] * 4 + [("P2",)] * 2 + [("P3",)]
    assert loaded.examined is not None
    said = [remark.text for remark in loaded.examined.remarks if "blanks" in remark.text]
    assert said == [
        "practitioner, operator: 3 spellings in 3 rows and others differ only in case and blanks, and count as one",
        'site: "hill top" (1) and "Hill Top" differ only in case and blanks, and count as one: Hill Top',
        'site: "MOOREND" (1), "Moor  end" (1), "moorend" (1) and "Moorend" differ only in case and blanks, '
        "and count as one: Moorend",
    ]


def test_a_group_of_columns_that_repeats_is_written_once_and_a_later_number_is_read_by_itself(audit: Path):
    map_it(
        audit,
        CASES
        + """
        [[rows]]
        table = "contacts"
        repeat = "#"
        [rows.columns]
        case_ref = "Ref"
        contact_date = { column = "Date #", date = "%d/%m/%Y" }
        practitioner = { column = ["By #", "By whom #"], codes = { X1 = "P1" } }
        """,
    )
    head = "Ref,Seen,Age,Date 1,By 1,Date 2,By whom 2"
    load(audit, sheet(audit, f"{head}\nA,10/01/2026,10,11/01/2026,X1,,\nB,10/01/2026,10,12/01/2026,P2,14/01/2026,P3\n"))
    contacts = [("A", "2026-01-11", "P1", 2), ("B", "2026-01-12", "P2", 3), ("B", "2026-01-14", "P3", 3)]
    columns = "case_ref, CAST(contact_date AS VARCHAR), practitioner, line"
    assert rows(audit, "contacts", columns) == contacts
    later = f"{head},Date 10,By 10\nC,10/02/2026,10,11/02/2026,P1,,,13/02/2026,X1\nD,10/02/2026,9,32/02/2026,P1,,,,\n"
    loaded = load(audit, sheet(audit, later, "later.csv"))
    newer = [("C", "2026-02-11", "P1", 2), ("C", "2026-02-13", "P1", 2)]
    assert rows(audit, "contacts", columns) == contacts + newer
    assert found(loaded) == [("3", "Date 1", "row", "32/02/2026")]
    assert counts(loaded) == (3, 1, 0, 2, 0, 0)


def test_a_block_for_several_sheets_reads_a_new_one_that_matches(audit: Path, tmp_path: Path):
    import openpyxl

    map_it(audit, CASES.replace('"cases"\n', '"cases"\n    sheet = ["Hub", "Clinic *"]\n'))
    for quarter, names in (("a", ("Hub", "Clinic 1")), ("b", ("Hub", "Clinic 1", "Clinic 2"))):
        book = openpyxl.Workbook()
        for name in names:
            page = book.create_sheet(name)
            page.append(["Ref", "Seen", "Age"])
            page.append([f"{quarter}{name[-1]}", "10/01/2026", 10])
        book.remove(book.worksheets[0])
        book.save(tmp_path / f"{quarter}.xlsx")
        load(audit, tmp_path / f"{quarter}.xlsx")
    assert rows(audit, "cases", "case_ref") == [("a1",), ("ab",), ("b1",), ("b2",), ("bb",)]


def test_cells_left_empty_under_a_filled_one_and_lines_that_are_no_rows(audit: Path):
    shape = """
        [sheets.caseload]
        fill_down = ["Ref", "Clinic"]
        left_out_lines = ["subtotal *", "Total"]
        ends_before = "Summary"
        """
    contacts = """
        [[rows]]
        table = "contacts"
        when = "Visit"
        [rows.columns]
        case_ref = "Ref"
        contact_date = "Visit"
        practitioner = { column = "Clinic", prefix = "P-" }
        """
    map_it(audit, shape + CASES + contacts)
    text = """
        Ref,Seen,Age,Clinic,Visit
        ,10/01/2026,9,,2026-01-11
        A,10/01/2026,9,N,2026-01-11
        ,,,,2026-01-12
        ,,,,
        ,,,S,2026-01-13
        ,,,,2026-01-14
         Subtotal   A,4,,,
        ,,,,2026-01-15
        B,,9,,2026-01-16
        ,,,,
        C,10/01/2026,9,N,
        TOTAL,9,,,
        ,Summary,,,
        ,,,,
        Z,10/01/2026,9,N,2026-01-11
        Z,10/01/2026,9,"N
        """
    loaded = load(audit, sheet(audit, text))
    assert rows(audit, "contacts", "line, case_ref, practitioner, CAST(contact_date AS VARCHAR)") == [
        (3, "A", "P-N", "2026-01-11"),
        (4, "A", "P-N", "2026-01-12"),
        (6, "A", "P-S", "2026-01-13"),
        (7, "A", "P-S", "2026-01-14"),
        (9, "A", "P-S", "2026-01-15"),
    ]
    # B begins a baby of its own: its clinic is not A's.
    assert rows(audit, "cases", "line, case_ref") == [(3, "A"), (12, "C")]
    assert {(row[0], row[1]) for row in found(loaded) if row[3] == "(nothing)"} == {
        *(("2", "Ref"), ("2", "Clinic"), ("10", "Clinic"), ("10", "Seen"))
    }
    assert {row[0] for row in found(loaded)} == {"2", "10"}
    # Header 1, blank 5, 11 and 15; lines 8, 13, 14 and 16 with what cannot be read behind it are left out.
    assert counts(loaded) == (17, 1, 3, 6, 2, 0, 5)
    assert loaded.examined is not None
    words = "caseload.csv: Ref, Clinic: on 4 lines read from a line above, as the mapping says (fill_down)"
    assert words in [remark.text for remark in loaded.examined.remarks]


def test_further_visits_beneath_a_baby_whose_first_day_is_the_first_visit_make_no_second_case(audit: Path):
    shape = '[sheets.caseload]\nfill_down = ["Ref", "Age", "Sex"]\n'
    cases = CASES.replace('"Seen"', '"Visit"') + '    sex = { column = "Sex", codes = { F = "female", M = "male" } }\n'
    contacts = """
        [[rows]]
        table = "contacts"
        [rows.columns]
        case_ref = "Ref"
        contact_date = { column = "Visit", date = "%d/%m/%Y" }
        practitioner = "By"
        """
    map_it(audit, shape + textwrap.dedent(cases) + textwrap.dedent(contacts))
    text = """
        Ref,Age,Sex,Visit,By
        A,9,F,10/01/2026,P1
        ,,,12/01/2026,P2
        ,,,15/01/2026,P1
        B,4,M,11/01/2026,P1
        ,,F,13/01/2026,P2
        """
    loaded = load(audit, sheet(audit, text))
    assert rows(audit, "cases", "line, case_ref, CAST(first_contact_date AS VARCHAR)") == [(2, "A", "2026-01-10")]
    assert rows(audit, "contacts", "line, case_ref") == [(2, "A"), (3, "A"), (4, "A")]
    # Under B another sex is written: nobody can say which is right, and it is not passed over.
    assert {row[0] for row in found(loaded)} == {"5", "6"}


def marked_workbook(path: Path) -> Path:
    """One sheet with whatever a spreadsheet shows beside its text, and cells merged over two lines and three."""
    import openpyxl
    from openpyxl.comments import Comment
    from openpyxl.styles import Font, PatternFill

    book = openpyxl.Workbook()
    page = book.worksheets[0]
    page.title = "Caseload"
    lines = [("A", "10/01/2026", 9, "N"), ("B", "11/01/2026", 8), ("C", "12/01/2026", 7), (None, "13/01/2026", 6)]
    for line in (("Ref", "Seen", "Age", "Clinic"), *lines):
        page.append(line)
    page.merge_cells("D2:D4")
    page.merge_cells("A4:A5")
    page.merge_cells("B2:C2")  # across: nothing is carried down
    page["A3"].fill = PatternFill("solid", fgColor="FFFF00")
    page["A2"].font = page["B3"].font = Font(strike=True)
    page["F9"].font = Font(strike=True)  # nothing stands in it
    page["B3"].comment = Comment("spoke to her sister", "x")
    page.row_dimensions[3].hidden = page.row_dimensions[4].hidden = page.row_dimensions[20].hidden = True
    page.column_dimensions["C"].hidden = True
    page.auto_filter.ref = "A1:D5"
    book.create_sheet("Plain").append(["Colour"])
    plain = book.worksheets[1]
    plain["A1"].fill = PatternFill("solid", fgColor="FFFF00")
    plain["A1"].font = Font(color="FF0000", bold=True)
    plain.append(["red"])
    book.save(path)
    return path


def test_colours_hidden_rows_and_merged_cells_are_told_and_change_nothing(audit: Path, tmp_path: Path):
    map_it(audit, CASES.replace('"cases"\n', '"cases"\n    sheet = "Caseload"\n'))
    loaded = load(audit, marked_workbook(tmp_path / "marked.xlsx"))
    # B is struck through and hidden, C hidden; the line below C has lost its Ref, and A its age, to merged cells.
    assert rows(audit, "cases", "line, case_ref") == [(3, "B"), (4, "C")]
    assert {row[:2] for row in found(loaded)} == {("5", "Ref"), ("2", "Age")}
    assert loaded.examined is not None
    said = [remark.text for remark in loaded.examined.remarks]
    marks = "coloured cells, 2 struck through, 2 hidden rows, 1 hidden column, a filter, 1 comment"
    assert [text for text in said if "hidden row" in text] == [
        f"marked.xlsx, sheet Caseload: {marks}. None of this means anything here: hidden and filtered rows are read "
        "like any other, a struck-through row counts, comments are not read"
    ]
    assert not any("sister" in text for text in said)
    merged = "marked.xlsx, sheet Caseload: Clinic, Ref: merged cells stand there, and only their first line"
    assert [text.startswith(merged) for text in said if "merged" in text] == [True]


def test_merged_cells_that_the_mapping_carries_down_are_not_told(tmp_path: Path):
    (content, _) = open_contents(marked_workbook(tmp_path / "marked.xlsx")).contents
    page = read_sheet(content)
    assert list(merged_cells(page, ["Ref", "Clinic"])) == []
    assert [text.split(": ")[1] for text in merged_cells(page, ["Ref"])] == ["Clinic"]
    filled = shaped(page, Shape(fill_down=page.merged)).records["fields"].to_pylist()
    assert [(line[0], line[3]) for line in filled] == [("A", "N"), ("B", "N"), ("C", "N"), ("C", "N")]


def test_tracing_says_that_a_value_may_stand_on_a_line_above():
    shape = '[sheets.caseload]\nfill_down = ["Ref"]\n'
    said = export_lines._said_as(shape + textwrap.dedent(CASES))
    assert said["cases", "case_ref"] == ("“Ref”, on this line or above",)
    assert said["cases", "age_days"] == ("“Age”",)


def test_what_is_left_out_of_a_sheet_is_screened_all_the_same(audit: Path):
    map_it(audit, '[sheets.caseload]\nends_before = "Summary"\n' + textwrap.dedent(CASES))
    text = "Ref,Seen,Age,Also\nA,10/01/2026,9,\nSummary,,,\nx,,,a.b@example.org\ny,,,c.d@example.org\n"
    with pytest.raises(Refused, match="e-mail"):
        load(audit, sheet(audit, text))


def test_what_is_new_since_the_load_before_and_read_by_nothing_holds_the_export_back(audit: Path):
    mapping = CASES.replace('table = "cases"', 'table = "cases"\n    sheet = "April"')
    map_it(audit, mapping)
    export = audit.parent / "log"
    export.mkdir()
    (export / "April.csv").write_text("Ref,Seen,Age,Ward\nA,10/06/2026,10,7\n", encoding="utf-8")
    (export / "Notes.csv").write_text("Ward,Beds\n7,2\n", encoding="utf-8")
    load(audit, export)
    assert run.check(audit, export, CUT_OFF).doubts == ()
    (export / "May.csv").write_text("Ref,Seen,Age\nB,11/06/2026,10\n", encoding="utf-8")
    (export / "April.csv").write_text("Ref,Seen,Age,Ward,Visit 2\nA,10/06/2026,10,7,\n", encoding="utf-8")
    (export / "Notes.csv").write_text("Ward,Beds,Staff\n7,2,3\n", encoding="utf-8")  # read by nothing, as before
    with pytest.raises(Refused) as refused:
        run.load(audit, export, CUT_OFF)
    assert [(fault.where, fault.found) for fault in refused.value.faults] == [
        ("the sheet May", "it was not in load 1, and nothing reads it"),
        ("the sheet April", "column Visit 2 was not in load 1, and nothing reads it"),
    ]
    left_out = '\n    [left_out]\n    sheets = ["M*", "Once"]\n    columns = ["Vis*  2", "Never"]\n'
    map_it(audit, mapping + left_out)
    assert run.check(audit, export, CUT_OFF).doubts == ()
    map_it(audit, mapping)
    with contextlib.closing(store.work(audit)) as con:  # as a load by an older program: it recorded none
        store.attach(con, audit, to_load=True)
        con.execute("DELETE FROM store.headings")
    examined = run.check(audit, export, CUT_OFF)
    assert examined.doubts == ()
    words = "load 1 did not keep the names of its sheets and columns: none is told to be new"
    assert store.Remark(words, serious=False) in examined.remarks


def test_the_marks_of_a_whole_sheet_and_a_unit_in_the_column_beside(audit: Path):
    columns = """
        birth_weight_g = { column = "Weight", as = "weight", unit = "Unit" }
        gestation_weeks = { column = "Weeks", times = 1, decimal = "." }
        """
    sheet_marks = '[sheets.caseload]\ndecimal = ","\nthousands = "."\n'
    map_it(audit, 'nothing = ["-"]\n' + sheet_marks + textwrap.dedent(CASES) + textwrap.dedent(columns))
    text = """
        Ref;Seen;Age;Weight;Unit;Weeks
        A;10/01/2026;9,0;3,45;kg;39.0
        B;10/01/2026;9;3.450;Grams;38.0
        C;10/01/2026;9;7;lb;40.0
        D;10/01/2026;9;120;oz;40.0
        E;10/01/2026;9;3,45;stone;40.0
        F;10/01/2026;9;3.45;kg;40.0
        G;10/01/2026;9;-;kg;40.0
        H;10/01/2026;9;3,45;;40.0
        I;10/01/2026;9;7,4;lb;40.0
        """
    loaded = load(audit, sheet(audit, text))
    # 7 lb are 3175.15 g and 120 oz 3401.94 g (453.59237 g a pound, 16 ounces).
    assert rows(audit, "cases", "case_ref, age_days, birth_weight_g, gestation_weeks") == [
        *(("A", 9, 3450, 39), ("B", 9, 3450, 38), ("C", 9, 3175, 40), ("D", 9, 3402, 40)),
        *((ref, 9, None, 40) for ref in "EFGHI"),
    ]
    assert sorted(found(loaded), key=lambda row: int(row[0])) == [
        ("6", "Weight", "value", "3,45 stone"),
        ("7", "Weight", "value", "3.45 kg"),
        ("9", "Weight", "value", "3,45"),
        ("10", "Weight", "value", "7,4 lb"),  # 7 lb 4 oz, or 7.4 lb: nobody can tell
    ]
    assert loaded.examined is not None
    assert not any("extra column" in remark.text for remark in loaded.examined.remarks)


def test_lines_that_look_like_no_rows_are_told_by_their_number_until_the_mapping_leaves_them_out(audit: Path):
    text = """
        Ref,Seen,Age
        A,10/01/2026,9
        Totally,11/01/2026,9
        ,Sub-total: 2,
        Ref ,Seen at,Age
        Ref,Seen, Age
        B,12/01/2026,9
        TOTAL,3,
        ,,
        C,12/01/2026,9

        Clinic,Lead,
        North,P,
        """
    path = sheet(audit, text)
    map_it(audit, CASES)
    said = [remark.text for remark in open_export(path, CUT_OFF, folder=audit).remarks if " like " in remark.text]
    assert said == [
        'caseload.csv: lines 4, 8 look like a total; if so, left_out_lines leaves it out: left_out_lines = ["Total*"]',
        "caseload.csv: line 6 looks like the names of the columns over again; if so, left_out_lines leaves it out",
        "caseload.csv: line 12 looks like the beginning of another table; if so, ends_before says where the rows end",
    ]
    shape = '[sheets.caseload]\nleft_out_lines = ["*total*", "ref"]\nends_before = "clinic"\n'
    map_it(audit, shape + textwrap.dedent(CASES))
    shaped = open_export(path, CUT_OFF, folder=audit)
    assert not [remark.text for remark in shaped.remarks if " like " in remark.text]
    # "Totally" fits the pattern of this mapping too: it is left out as the mapping says.
    assert shaped.sheets[0].left_out == ((12, 12), (13, 13), (3, 3), (4, 4), (5, 5), (6, 6), (8, 8))


@pytest.mark.usefixtures("nothing_is_confirmed")
def test_the_name_of_a_sheet_is_the_site_and_a_new_one_is_asked_about(audit: Path):
    by_sheet = '{ sheet_name = true, codes = { "Clinic B" = "Birch House" } }'
    map_it(audit, CASES.replace('{ constant = "Outreach" }', by_sheet))
    folder = audit.parent / "sheets"
    folder.mkdir()
    for name, ref in (("Clinic A", "BAB-0001"), ("Clinic B", "BAB-0002"), ("Hub", "BAB-0003")):
        (folder / f"{name}.csv").write_text(f"Ref,Seen,Age\n{ref},10/01/2026,10\n", encoding="utf-8")
    with pytest.raises(Refused) as refused:
        load(audit, folder)
    assert all(name in str(refused.value) for name in ("3 to be confirmed", "Clinic A", "Birch House", "Hub"))
    run.load(audit, folder, CUT_OFF, accept_anyway=INVENTED, confirm_new=True)
    assert rows(audit, "cases", "case_ref, site") == [
        ("BAB-0001", "Clinic A"),
        ("BAB-0002", "Birch House"),
        ("BAB-0003", "Hub"),
    ]


def test_each_day_of_a_list_of_days_makes_a_row(audit: Path):
    contacts = """
    [[rows]]
    table = "contacts"
    [rows.columns]
    case_ref = "Ref"
    contact_date = { column = "Visits", split = [";", "and"], date = "%d/%m/%Y" }
    practitioner = { constant = "P1" }
"""
    map_it(audit, CASES + contacts)
    text = """
    Ref,Seen,Age,Visits
    A,10/01/2026,10,12/01/2026; 19/01/2026 and 26/01/2026
    B,10/01/2026,10,
    C,10/01/2026,10,12/01/2026;31/02/2026
    D,10/01/2026,10,12/01/2026; 12/01/2026;
    """
    loaded = load(audit, sheet(audit, text))
    days = [("A", date(2026, 1, day)) for day in (12, 19, 26)] + [(ref, date(2026, 1, 12)) for ref in "CD"]
    assert rows(audit, "contacts", "case_ref, contact_date") == days
    assert found(loaded) == [("4", "Visits", "row", "12/01/2026;31/02/2026: 31/02/2026")]
    assert counts(loaded) == (5, 1, 0, 4, 0, 0)
