"""A first mapping: what it finds in untidy invented sheets, what it asks, and what it never writes down."""

from __future__ import annotations

import os
import re
import subprocess
import sys
import tempfile
import tomllib
from collections import Counter
from collections.abc import Mapping, Sequence
from datetime import date
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.contracts import layout
from pipeline.errors import Refused
from pipeline.intake.map.mapping_file import read_mapping
from pipeline.intake.read.column_names import names
from pipeline.intake.read.contents import open_contents
from pipeline.intake.suggest.look.first_look import first_look
from pipeline.intake.suggest.look.header_lines import header_lines
from pipeline.intake.suggest.look.sheet_seen import SeenColumn, SeenSheet
from pipeline.intake.suggest.look.trade_words import complication_of, matches
from pipeline.intake.suggest.suggestion import Suggestion, suggest
from pipeline.intake.suggest.toml.toml_lines import quoted
from pipeline.intake.suggest.values.code_meanings import meanings_of
from pipeline.intake.suggest.values.date_styles import styles_of
from pipeline.intake.suggest.values.list_signs import list_signs, part_counts
from tests.measuring_suggest import exports, measure

CUT_OFF = date(2026, 10, 9)


def grid(text: str) -> list[list[str]]:
    """Lines of cells between bars."""
    return [line.strip().split("|") if line.strip() else [] for line in text.strip("\n").splitlines()]


def seen(name: str, rows: Sequence[Sequence[str]], found: Mapping[int, str] | None = None) -> SeenSheet:
    """A sheet as the caller builds it, from its lines."""
    found = found or {}
    lines = header_lines(rows)
    header = names([rows[line - 1] for line in lines], name)
    body = [(*row, *[""] * (len(header) - len(row))) for row in rows[lines[-1] :] if any(row)]
    columns = tuple(
        SeenColumn(heading, {} if at in found else Counter(row[at] for row in body if row[at]), found.get(at, ""))
        for at, heading in enumerate(header)
    )
    kept = tuple(tuple("" if at in found else row[at] for at in range(len(header))) for row in body)
    return SeenSheet(name, f"{name}.csv", tuple(map(tuple, rows[:30])), columns, kept)


def in_effect(suggestion: Suggestion) -> dict[str, Any]:
    return tomllib.loads(suggestion.text)


def of_table(suggestion: Suggestion, table: str) -> list[dict[str, Any]]:
    return [rows["columns"] for rows in in_effect(suggestion)["rows"] if rows["table"] == table]


def line(suggestion: Suggestion, start: str) -> str:
    """The one line that begins so."""
    found = [written for written in suggestion.text.splitlines() if written.startswith(start)]
    assert len(found) == 1, (start, found)
    return found[0]


def mark(written: str) -> str:
    found = re.search(r"  (?:# )?(sure|likely|asks)(?:, must)?: .", written)
    assert found, written
    return found[1]


def answered(text: str, *answers: tuple[str, str]) -> str:
    """The text with lines that ask replaced by a person's answer."""
    for start, answer in answers:
        assert f"\n{start}" in text, start
        text = re.sub(rf"^{re.escape(start)}.*$", answer.replace("\\", "\\\\"), text, count=1, flags=re.M)
    return text


def read(folder: Path, text: str) -> Any:
    file = folder / "ours.toml"
    file.write_text(text, encoding="utf-8")
    return read_mapping(file)


def faults(folder: Path, text: str) -> list[str]:
    """What reading the file finds wrong with it."""
    try:
        read(folder, text)
    except Refused as refused:
        return [fault.found for fault in refused.faults]
    return []


# One sheet, a title above it, days first, Y/N/?.
CASELOAD = grid("""
Tongue tie clinic – caseload 2026

Ref|Clinic|Help requested|1st seen|Age (days)|Sex|First baby?|BW (kg)|Feeding at 1st contact|TT type|Help 1|\
Help 1 by|Help 2|Help 2 by|Date of division|Divided by|Bleeding|BF at 6 weeks|Notes|Ward
A1|North|28/02/2026|13/03/2026|10|M|Y|3.405|EBF|post|14/03/2026|P1|20/03/2026|P2|25/03/2026|Q1|N|EBF|xx|7
A2|North|02/03/2026|14/03/2026|12|F|N|2.9|Mixed|ant|15/03/2026|P1||||||Formula|yy|8

A3|South|04/03/2026|05/03/2026|3|F|?|4.1|none|?|||||29/03/2026|Q2|Y|mixed|zz|9
""")
DAY = "%d/%m/%Y"


def test_every_answer_about_a_complication_is_listed_and_what_is_not_plain_is_asked(tmp_path: Path):
    lines = ["Ref|1st seen|Age (days)|Date of division|Bleeding"]
    for at, answer in enumerate(["Y", "N", "-", "Y - A&E", "N", "N", "Y"], 1):
        lines.append(f"A{at}|1{at}/03/2026|10|2{at}/03/2026|{answer}")
    suggestion = suggest([seen("Caseload", grid("\n".join(lines)))], CUT_OFF)
    (bleeding,) = (rows for rows in in_effect(suggestion)["rows"] if rows["table"] == "complications")
    assert bleeding["when"] == {"column": "Bleeding", "is": ["Y"], "leave_out": ["N"]}
    assert '\n## not in these lists: "-" (1), "Y - A&E" (1)  asks: write each into is' in suggestion.text


def test_one_untidy_sheet(tmp_path: Path):
    suggestion = suggest([seen("Caseload", CASELOAD, {18: "free text"})], CUT_OFF)
    content = in_effect(suggestion)
    assert content["sheets"] == {"Caseload": {"header": 3}}
    assert of_table(suggestion, "cases") == [
        {
            "case_ref": "Ref",
            "site": "Clinic",
            "help_requested_date": {"column": "Help requested", "date": DAY},
            "first_contact_date": {"column": "1st seen", "date": DAY},
            "age_days": "Age (days)",
            "sex": {"column": "Sex", "codes": "sex"},
            "first_baby": {"column": "First baby?", "codes": "yes_no_marks"},
            "feeding_at_first_contact": {"column": "Feeding at 1st contact", "codes": "feeding"},
            "birth_weight_g": {"column": "BW (kg)", "times": 1000},
        }
    ]
    assert of_table(suggestion, "contacts") == [
        {"case_ref": "Ref", "contact_date": {"column": "Help *", "date": DAY}, "practitioner": "Help * by"}
    ]
    assert of_table(suggestion, "procedures") == [
        {"case_ref": "Ref", "procedure_date": {"column": "Date of division", "date": DAY}, "operator": "Divided by"}
    ]
    bleeding = next(rows for rows in content["rows"] if rows["table"] == "complications")
    assert bleeding["when"] == {"column": "Bleeding", "is": ["Y"], "leave_out": ["N"]}
    assert bleeding["columns"] == {"case_ref": "Ref", "kind": {"constant": "bleeding"}}
    assert of_table(suggestion, "feeding_checks") == [
        {"case_ref": "Ref", "feeding": {"column": "BF at 6 weeks", "codes": "feeding"}}
    ]
    assert content["codes"] == {
        "sex": {"M": "male", "F": "female"},
        "yes_no_marks": {"Y": "yes", "N": "no"},
        "feeding": {
            "EBF": "exclusive",
            "Mixed": "partial",
            "none": "none",
            "Formula": "none",
            "mixed": "partial",
        },
        "tie_type": {"post": "posterior", "ant": "anterior"},
    }
    assert mark(line(suggestion, "site = ")) == "sure"
    assert mark(line(suggestion, "first_baby = ")) == "likely"
    assert '\n# "?" = "???"  # asks: once; one of yes, no, not_known, or "" for nothing recorded\n' in suggestion.text
    tie = '# "?" = "???"  # asks: once; one of none, anterior, posterior, submucosal, not_recorded, or "" for'
    assert f"\n{tie}" in suggestion.text
    assert 'attachment_help = { constant = "???" }  # asks: ' in suggestion.text
    assert '\n## left out: "Ward" (3 different texts in 3)\n' in suggestion.text
    assert line(suggestion, '# "Notes" = ').startswith('# "Notes" = "???"  # asks: found: free text')


def test_it_is_valid_once_the_must_columns_are_answered(tmp_path: Path):
    text = suggest([seen("Caseload", CASELOAD, {18: "free text"})], CUT_OFF).text
    with pytest.raises(Refused, match="assessment_date"):
        read(tmp_path, text)
    mapping = read(
        tmp_path,
        answered(
            text,
            ("# assessment_date", f'assessment_date = {{ column = "1st seen", date = "{DAY}" }}'),
            ("# practitioner", 'practitioner = "Help 1 by"'),
            ("# noted_date", f'noted_date = {{ column = "Date of division", date = "{DAY}" }}'),
            ("# check_date", "check_date = { days_old = 42 }"),
        ),
    )
    assert Counter(rows.table for rows in mapping.rows) == {
        **{"cases": 1, "contacts": 1, "assessments": 1, "procedures": 1, "complications": 1, "feeding_checks": 1}
    }


TWO_LINES = grid("""
Baby||||Session 1|||Session 2|||6/52||
ID|Hub|Date of first contact|Age at 1st contact (days)|Date|Practitioner|P&A|Date|Practitioner|P&A|Date|\
Feeding|Direct BF
1|E|13 Mar 2026|3|13 Mar 2026|P1|Yes|20 Mar 2026|P1|No|21 Apr 2026|EBF|Yes
2|W|14 Mar 2026|4|14 Mar 2026|P2|Yes|21 Mar 2026|P1|No|22 Apr 2026|Formula|No
""")


def test_two_lines_of_names_are_valid_as_they_stand(tmp_path: Path):
    suggestion = suggest([seen("Sheet1", TWO_LINES)])
    form = {"date": "%d %b %Y"}
    marks = {"codes": "yes_no_marks"}
    assert in_effect(suggestion)["sheets"] == {"Sheet1": {"header": [1, 2]}}
    assert of_table(suggestion, "cases") == [
        {
            "case_ref": "Baby / ID",
            "site": "Baby / Hub",
            "first_contact_date": {"column": "Baby / Date of first contact", **form},
            "age_days": "Baby / Age at 1st contact (days)",
        }
    ]
    assert of_table(suggestion, "contacts") == [
        {
            "case_ref": "Baby / ID",
            "contact_date": {"column": "Session * / Date", **form},
            "practitioner": "Session * / Practitioner",
            "attachment_help": {"column": "Session * / P&A", **marks},
        }
    ]
    assert of_table(suggestion, "feeding_checks") == [
        {
            "case_ref": "Baby / ID",
            "check_date": {"column": "6/52 / Date", **form},
            "feeding": {"column": "6/52 / Feeding", "codes": "feeding"},
            "at_breast": {"column": "6/52 / Direct BF", **marks},
        }
    ]
    assert suggestion.asks == 0
    assert [rows.repeat for rows in read(tmp_path, suggestion.text).rows] == ["", "*", ""]


SEVEN = {
    "Babies": """
Baby ID|Team|Enquiry date|Seen first|Age (days)|Ethnicity|IMD decile|Referral source|Sex
B1|E|2026-01-02|2026-01-05|12|C|3|HV|1
B2|E|2026-01-03|2026-01-06|10|Z|4|Midwife|2
B3|W|2026-01-03|2026-01-07|11|99|10|GP|9
""",
    "Support sessions": """
Baby ID|Date|By|How|Latch help|Outcome|Weight (kg)
B1|2026-01-06|P1|F2F|Y|Improved|3.5
B2|2026-01-07|P2|Phone|N|Same|
""",
    "Tongue checks": "Baby ID|Date|Assessor|Finding|BTAT\nB1|2026-01-08|P1|Anterior|4",
    "Referrals out": "Baby ID|Date|To|Outcome|Outcome date\nB1|2026-01-09|X|Accepted|2026-01-12",
    "Snips": """
Baby ID|Date|Operator|Type|Consent|Bleeding history|Vit K|Mins to feed|Leaflet
B1|2026-01-20|Q1|Anterior|Y|Y|IM|10|Y
""",
    "Problems after": "Baby ID|Date|What|Severity\nB1|2026-01-21|Bleed|minor",
    "6-52 calls": "Baby ID|Date of call|Feeding|At breast|Reason stopped\nB1|2026-02-05|01|Y|\nB2|2026-02-06|03|N|Pain",
    "Key": "mark|meaning\nHV|zzqq",
}
MARKS = {"codes": "yes_no_marks"}
SEVEN_TRUTH = {
    "Babies": {
        "site": "Team",
        "help_requested_date": "Enquiry date",
        "first_contact_date": "Seen first",
        "age_days": "Age (days)",
        "sex": {"column": "Sex", "codes": "phenotypic_sex"},
        "deprivation_decile": "IMD decile",
        "ethnic_group": {"column": "Ethnicity", "codes": "ethnic_category"},
        "referral_source": {"column": "Referral source", "codes": "referral_source"},
    },
    "Support sessions": {
        "contact_date": "Date",
        "practitioner": "By",
        "mode": {"column": "How", "codes": "mode"},
        "attachment_help": {"column": "Latch help", **MARKS},
        "problem_status": {"column": "Outcome", "codes": "problem_status"},
        "weight_g": {"column": "Weight (kg)", "times": 1000},
    },
    "Tongue checks": {
        "assessment_date": "Date",
        "practitioner": "Assessor",
        "tie_type": {"column": "Finding", "codes": "tie_type"},
        "function_score": "BTAT",
    },
    "Referrals out": {
        "referral_date": "Date",
        "destination": "To",
        "outcome": {"column": "Outcome", "codes": "outcome"},
        "outcome_date": "Outcome date",
    },
    "Snips": {
        "procedure_date": "Date",
        "operator": "Operator",
        "tie_type": {"column": "Type", "codes": "tie_type"},
        "consent_recorded": {"column": "Consent", **MARKS},
        "bleeding_history_asked": {"column": "Bleeding history", **MARKS},
        "vitamin_k": {"column": "Vit K", "codes": "vitamin_k"},
        "minutes_to_first_feed": "Mins to feed",
        "aftercare_advice": {"column": "Leaflet", **MARKS},
    },
    "Problems after": {"noted_date": "Date", "kind": {"column": "What", "codes": "kind"}, "severity": "Severity"},
    "6-52 calls": {
        "check_date": "Date of call",
        "feeding": {"column": "Feeding", "codes": "breastfeeding_status"},
        "at_breast": {"column": "At breast", **MARKS},
        "reason_stopped": {"column": "Reason stopped", "codes": "reason_stopped"},
    },
}
TABLES = ("cases", "contacts", "assessments", "referrals", "procedures", "complications", "feeding_checks")


def test_a_workbook_of_seven_sheets_is_valid_as_it_stands(tmp_path: Path):
    suggestion = suggest([seen(name, grid(text)) for name, text in SEVEN.items()])
    assert {rows["sheet"]: rows["columns"] for rows in in_effect(suggestion)["rows"]} == {
        name: {"case_ref": "Baby ID", **columns} for name, columns in SEVEN_TRUTH.items()
    }
    assert [rows["table"] for rows in in_effect(suggestion)["rows"]] == list(TABLES)
    assert suggestion.asks == 0
    assert len(read(tmp_path, suggestion.text).rows) == 7
    assert '\n## left out: "mark" of "Key" (1 different texts in 1)\n' in suggestion.text
    assert "zzqq" not in suggestion.text


# As a service lead sent it: everything in the team's own words, and the first contact by the name "Seen".
OWN_WORDS = grid("""
Log no|Clinic|Rang us|Seen|Days old when seen|Fed then|Help 1|Help 1 by|Help 2|Help 2 by|Cut|Who cut|Bleed?|\
Still on breast 6wk|Why closed
7|North|03/03/2026|14/03/2026|10|EBF|14/03/2026|P1|20/03/2026|P2|30/03/2026|Q1|N|Y|Moved away
8|North|14/03/2026|16/03/2026|12|?|16/03/2026|P1|||||||Settled
9|South|15/03/2026|17/03/2026|3|N/K|17/03/2026|P2|25/03/2026|P1|||||Settled
10|South|16/03/2026|18/03/2026|3|mixed|||26/03/2026|P1|31/03/2026|Q1|Y|N|
11|South|16/03/2026|18/03/2026|3|mixed|18/03/2026|P1|26/03/2026|P1|31/03/2026|Q1|N|Y|
""")


def renamed(rows: Sequence[Sequence[str]], old: str, new: str) -> list[list[str]]:
    assert old in rows[0]
    return [[new if heading == old else heading for heading in rows[0]], *map(list, rows[1:])]


def test_a_sheet_in_a_teams_own_words():
    suggestion = suggest([seen("Sheet1", OWN_WORDS)])
    dated = {"date": DAY}
    (cases,) = of_table(suggestion, "cases")
    assert {name: cases[name] for name in ("case_ref", "site", "help_requested_date", "age_days")} == {
        "case_ref": "Log no",
        "site": "Clinic",
        "help_requested_date": {"column": "Rang us", **dated},
        "age_days": "Days old when seen",
    }
    assert of_table(suggestion, "procedures") == [
        {"case_ref": "Log no", "procedure_date": {"column": "Cut", **dated}, "operator": "Who cut"}
    ]
    assert of_table(suggestion, "complications") == [{"case_ref": "Log no", "kind": {"constant": "bleeding"}}]
    at_breast = line(suggestion, 'at_breast = { column = "Still on breast 6wk", codes = "yes_no_marks" }')
    assert mark(at_breast) == "likely"


def test_a_vague_date_where_the_first_contact_must_lie_is_likely_that_and_no_contact():
    suggestion = suggest([seen("Sheet1", OWN_WORDS)])
    first = line(suggestion, f'first_contact_date = {{ column = "Seen", date = "{DAY}" }}')
    assert mark(first) == "likely"
    assert 'on or after "Rang us" in 5 of 5, on or before "Help 1" in 4 of 4' in first
    assert [rows["contact_date"]["column"] for rows in of_table(suggestion, "contacts")] == ["Help *"]


def test_a_vague_date_out_of_order_is_not_the_first_contact_and_asks():
    rows = [[*row] for row in OWN_WORDS]
    for row in rows[1:]:
        row[3] = "21/05/2026"  # after everything else
    suggestion = suggest([seen("Sheet1", rows)])
    assert "first_contact_date" not in of_table(suggestion, "cases")[0]
    # It is offered nevertheless, and so is the first help session.
    offered = [line for line in suggestion.text.splitlines() if line.startswith("# first_contact_date = ")]
    assert ["Seen" in offered[0], "Help 1" in offered[1]] == [True, True]
    assert [rows["contact_date"]["column"] for rows in of_table(suggestion, "contacts")] == ["Help *"]


def test_a_contact_of_one_vague_date_is_out_of_effect():
    rows = renamed(OWN_WORDS, "Days old when seen", "1st seen")
    for row in rows[1:]:
        row[4], row[3] = row[3], "21/05/2026"
    suggestion = suggest([seen("Sheet1", rows)])
    assert of_table(suggestion, "cases")[0]["first_contact_date"]["column"] == "1st seen"
    assert [rows["contact_date"]["column"] for rows in of_table(suggestion, "contacts")] == ["Help *"]
    assert mark(line(suggestion, f'# contact_date = {{ column = "Seen", date = "{DAY}" }}')) == "asks"


def test_two_contacts_of_one_visit_are_not_both_in_effect():
    rows = grid("""
Ref|1st seen|Visit 1|Visit 1 by|Visit 2|Visit 2 by|Visit 2 mode
1|2026-01-01|2026-01-02|P|2026-01-02|P|phone
2|2026-01-01|2026-01-03|P|2026-01-03|P|phone
3|2026-01-01|2026-01-04|P|2026-01-09|P|phone
""")
    suggestion = suggest([seen("Sheet1", rows)])
    # The one that says more stays.
    assert [columns["contact_date"] for columns in of_table(suggestion, "contacts")] == ["Visit 2"]
    asked = line(suggestion, '# contact_date = "Visit 1"')
    assert 'likely the same visit: on the same day as "Visit 2" in 2 of 3 lines' in asked
    rows[1][4] = "2026-01-08"  # one of three is chance
    assert len(of_table(suggest([seen("Sheet1", rows)]), "contacts")) == 2


def test_every_left_over_column_of_the_kind_is_offered_for_a_must_column():
    rows = grid("""
Ref|Wotsit|Number of thing|Whatsit|Gizmo|Remark
1|2026-01-02|3|2026-01-03|North|ab 1
2|2026-01-02|9|2026-01-03|North|ab 2
3|2026-01-02|400|2026-01-05|South|ab 3
4|2026-01-02|5|2026-01-05|South|ab 4
""")
    text = suggest([seen("Sheet1", rows)]).text
    offered = re.findall(r"^# (\w+) = (?:{ constant = )?(\S+|\".*?\")(?: })?  # asks, must", text, flags=re.M)
    assert offered == [
        ("site", '"Gizmo"'),
        ("site", '"???"'),
        ("first_contact_date", '"Wotsit"'),
        ("first_contact_date", '"Whatsit"'),
        ("age_days", '"Number of thing"'),
    ]


def test_a_date_that_reads_two_ways_is_offered_both_ways():
    text = suggest([seen("Sheet1", grid("Ref|Wotsit\n1|03/04/2026\n2|05/06/2026"))]).text
    start = 'first_contact_date = { column = "Wotsit", date = '
    assert re.findall(rf'^# {start}"(.*?)" }}.*\((.*)\)$', text, flags=re.M) == [
        ("%d/%m/%Y", "day first"),
        ("%m/%d/%Y", "month first"),
    ]


@pytest.mark.parametrize(("second", "how_sure"), [("Ward", "likely"), ("Shelf no", "asks")])
def test_the_only_number_that_differs_in_each_line_is_likely_the_pseudonym(second: str, how_sure: str):
    rows = grid(f"Book no|{second}|Site|1st seen|Age (days)\nb1|w1|N|2026-01-02|3\nb2|w2|N|2026-01-02|3")
    text = suggest([seen("Book", rows)]).text
    (first, *_) = (written for written in text.splitlines() if 'case_ref = "' in written)
    assert (first.removeprefix("# ").split("  #")[0], mark(first)) == ('case_ref = "Book no"', how_sure)


@pytest.mark.parametrize("header", ["Where", "Where seen"])
def test_where_alone_is_no_destination(header: str):
    suggestion = case_sheet(f"{header}|TT type", "Hall|ant", "Library|post")
    assert "destination" not in suggestion.text.split("## NOT FOUND")[0]


def case_sheet(headings: str, *rows: str) -> Suggestion:
    """A sheet of cases with these further columns."""
    lines = [f"Ref|Clinic|1st seen|Age (days)|{headings}"]
    lines += [f"A{at}|North|1{at}/03/2026|10|{row}" for at, row in enumerate(rows, 3)]
    return suggest([seen("Caseload", grid("\n".join(lines)))])


@pytest.mark.parametrize(
    "header", ["Family history of bleeding", "FH bleeding", "Family bleeding hx", "Clotting disorder"]
)
def test_whether_a_family_bleeds_is_not_whether_it_was_asked(header: str):
    assert matches(header, "cases") == () == matches(header, "procedures")


def test_a_bleeding_history_may_be_one_that_there_is():
    suggestion = case_sheet("Date of division|Bleeding history", "20/03/2026|Y", "21/03/2026|N")
    assert mark(line(suggestion, "bleeding_history_asked = ")) == "likely"


def test_sheets_of_requests_and_of_what_families_said_give_their_rows():
    suggestion = suggest(
        [
            seen("Caseload", grid("Ref|Clinic|1st seen|Age (days)\nA1|North|13/03/2026|10")),
            seen(
                "Waiting list",
                grid("Ref|Clinic|Date of request|Source|Status|Interpreter?\nW1|North|13/03/2026|GP|no reply|N"),
            ),
            seen("Family feedback", grid("Ref|Date answered|Did we help?\nA1|21/05/2026|partly")),
        ]
    )
    assert of_table(suggestion, "requests") == [
        {
            "case_ref": "Ref",
            "site": "Clinic",
            "request_date": {"column": "Date of request", "date": DAY},
            "outcome": {"column": "Status", "codes": "outcome"},
            "referral_source": {"column": "Source", "codes": "referral_source"},
            "interpreter_needed": {"column": "Interpreter?", "codes": "yes_no_marks"},
        }
    ]
    assert in_effect(suggestion)["codes"]["outcome"] == {"no reply": "no_reply"}
    assert of_table(suggestion, "family_views") == [
        {"case_ref": "Ref", "answered_date": {"column": "Date answered", "date": DAY}, "helped": "Did we help?"}
    ]


def test_words_for_another_service_among_who_divided_are_asked_about_as_the_provider():
    rows = [f"2{at}/03/2026|{who}" for at, who in enumerate(("P1", "elsewhere", "hospital", "private", "P 2"))]
    asks = line(case_sheet("Date of division|Divided by", *rows), "# provider = ")
    assert mark(asks) == "asks"
    assert tomllib.loads(asks.removeprefix("# "))["provider"] == {
        "column": "Divided by",
        "codes": {
            "P1": "own",
            "elsewhere": "other_service",
            "hospital": "other_service",
            "private": "private",
            "P 2": "own",
        },
    }
    assert "# provider = " not in case_sheet("Date of division|Divided by", *rows[:1]).text


@pytest.mark.parametrize(("most", "how_sure"), [("5", "asks"), ("6", "sure")])
def test_a_decile_that_never_passes_five_may_be_fifths(most: str, how_sure: str):
    start = f'{"# " * (how_sure == "asks")}deprivation_decile = "IMD'
    assert mark(line(case_sheet("IMD decile", "1", "3", most), start)) == how_sure


@pytest.mark.parametrize(
    "header", ["6/52 asked on (date)", "Date asked 6 week question", "6 wk call - date spoken to mum"]
)
def test_the_day_the_question_was_asked_is_taken_before_the_day_the_baby_was_six_weeks(header: str):
    suggestion = case_sheet(f"BF at 6/52|{header}|Reason stopped", "EBF|20/04/2026|", "FF|21/04/2026|pain")
    (check,) = of_table(suggestion, "feeding_checks")
    assert check["check_date"] == {"column": header, "date": DAY}
    assert check["reason_stopped"] == "Reason stopped"
    assert "days_old" not in suggestion.text


def test_a_reason_makes_no_check_and_asks_which_of_two_it_belongs_to():
    assert of_table(case_sheet("Reason stopped", "pain", "choice"), "feeding_checks") == []
    suggestion = case_sheet("BF at 6/52|BF at 3/52|Reason stopped", "EBF|EBF|", "FF|EBF|pain")
    assert [set(check) for check in of_table(suggestion, "feeding_checks")] == [{"case_ref", "feeding"}] * 2
    assert suggestion.text.split('column = "BF at 6/52"')[1].strip().split("\n")[1].startswith("# reason_stopped = ")


APPOINTMENTS = "Ref|Appt date|Seen by|{}\n" + "\n".join(f"A{at}|1{at}/03/2026|P1|{{}}" for at in range(5))


@pytest.mark.parametrize(
    ("header", "texts", "when"),
    [
        ("Status", ["Attended", "DNA", "Cancelled by mum", "Attended", "Attended"], ["Attended"]),
        ("Attended?", ["Y", "N", "N", "Y", "Y"], ["Y"]),
        ("Outcome", ["Improved", "DNA - no reply", "WNB", "Resolved", "Same"], None),
        ("DNA", ["", "Y", "x", "", ""], None),
    ],
)
def test_an_appointment_that_was_not_kept_is_no_visit(header: str, texts: list[str], when: list[str] | None):
    suggestion = suggest([seen("Caseload", CASELOAD), seen("Appointments", grid(APPOINTMENTS.format(header, *texts)))])
    (rows,) = (rows for rows in in_effect(suggestion)["rows"] if rows["sheet"] == "Appointments")
    not_kept = list(dict.fromkeys(texts[1:3]))
    decides = {"is": when, "leave_out": not_kept} if when else {"is_not": not_kept}
    assert rows["when"] == {"column": header, **decides}
    assert mark(line(suggestion, f'when = {{ column = "{header}"')) == "likely"


def test_what_may_have_been_kept_is_asked_and_no_assessment_was_missed_for_a_still_tongue():
    texts = ["Attended", "DNA", "Left early", "Attended", ""]
    suggestion = suggest([seen("Caseload", CASELOAD), seen("Visits", grid(APPOINTMENTS.format("Status", *texts)))])
    assert '\n## not in these lists: "Left early" (1)  asks: was it kept?' in suggestion.text
    assert "\n## empty: 1  asks: were they kept?" in suggestion.text
    tongues = APPOINTMENTS.replace("Appt date", "Assessment date").format("Peristalsis", *["absent", "full"] * 3)
    assert "when = " not in suggest([seen("Assessments", grid(tongues))]).text


def test_a_pseudonym_the_screen_found_is_offered():
    text = suggest([seen("Sheet1", OWN_WORDS, {0: "hospital number"})]).text
    assert '\n# case_ref = "Log no"  # asks, must: ' in text
    assert "it looks like an identifier: see [not_identifiers]" in text


def test_not_known_is_likely_where_the_codes_hold_it_and_asked_elsewhere():
    suggestion = suggest([seen("Sheet1", renamed(OWN_WORDS, "Fed then", "Feeding at 1st contact"))])
    assert in_effect(suggestion)["codes"]["feeding"] == {
        "EBF": "exclusive",
        "?": "not_known",
        "N/K": "not_known",
        "mixed": "partial",
    }
    assert mark(line(suggestion, '"?" = "not_known"')) == "likely"
    for written in ("?", "N/K", "nk", "unknown", "Not known"):
        assert meant("feeding_checks", "feeding", written, "EBF")[written] == "not_known"
        assert meant("cases", "first_baby", written, "Y")[written] is None
        assert meant("cases", "closed_reason", written, "moved")[written] is None
        assert meant("complications", "kind", written, "bleed")[written] is None


def test_columns_with_cells_merged_downwards_are_likely_carried_down(tmp_path: Path):
    book = openpyxl.Workbook()
    page = book.worksheets[0]
    page.title = "Caseload"
    for row in (
        ("Ref", "Clinic", "Visit"),
        ("A", "N", "2026-01-11"),
        (None, None, "2026-01-12"),
        ("B", None, "2026-01-13"),
    ):
        page.append(row)
    page.merge_cells("A2:A3")
    page.merge_cells("B2:B4")
    page.row_dimensions[3].hidden = True
    book.save(tmp_path / "caseload.xlsx")
    look = first_look(open_contents(tmp_path / "caseload.xlsx"))
    assert look.marks.startswith("caseload.xlsx, sheet Caseload: 1 hidden row. None of this means anything here")
    suggestion = suggest(look.sheets)
    assert tomllib.loads(suggestion.text)["sheets"] == {"Caseload": {"fill_down": ["Clinic", "Ref"]}}
    assert "likely: cells are merged downwards" in line(suggestion, "fill_down")


def test_an_answer_is_never_made_up(tmp_path: Path):
    """Every # taken out without thinking: what was not decided is refused, each on its line."""
    rows = renamed(OWN_WORDS, "Fed then", "How it went")
    text = suggest([seen("Sheet1", [row[:4] + row[5:] for row in rows], {1: "free text"})]).text
    thoughtless = re.sub(r"^# ", "", text, flags=re.M)
    lines = thoughtless.splitlines()
    once = [line for at, line in enumerate(lines) if not re.match(r"site = \"|check_date|noted_date", line)]
    found = [fault for fault in faults(tmp_path, "\n".join(once)) if "still to be decided" in fault]
    assert [fault.split(" ")[0] for fault in found[:3]] == ["source", "cut_off", '"Clinic"']
    assert {"site", "age_days", "attachment_help"} <= {fault.split(" ")[0] for fault in found}


def test_cells_that_are_plainly_lists_are_split_and_their_parts_asked(tmp_path: Path):
    rows = grid("""
        Ref|Site|1st seen|Age (days)|Division date|Divided by|Complications
        1|Hub|2026-01-02|9|2026-01-05|P1|bleed; infection
        2|Hub|2026-01-02|9|2026-01-05|P1|bleed;weepy
        3|Hub|2026-01-02|9|2026-01-05|P1|weepy; infection
        4|Hub|2026-01-02|9|2026-01-05|P1|none
        5|Hub|2026-01-02|9|2026-01-05|P1|bleed
    """)
    suggestion = suggest([seen("Sheet1", rows)])
    written = line(suggestion, "kind = ")
    assert written.startswith('kind = { column = "Complications", split = ";", codes = "kind" }')
    assert mark(written) == "likely"
    # Three bleeds, two infections, one none are plain; what weepy is, a person says.
    assert "of their 8 parts 6 have a plain meaning" in written
    assert mark(line(suggestion, '# "weepy" = "???"')) == "asks"
    assert line(suggestion, "bleed = ").startswith('bleed = "bleeding"  # sure: 3 times')
    date_asked = next(row for row in suggestion.text.splitlines() if row.startswith("# noted_date = "))
    mapping = read(tmp_path, answered(suggestion.text, (date_asked, 'noted_date = "Division date"')))
    assert mapping.rows[-1].columns["kind"].split == (";",)


@pytest.mark.parametrize(
    ("cells", "signs"),
    [
        (("bleed; infection", "bleed;weepy", "infection"), (";",)),  # three of the four parts stand elsewhere too
        (("bleed, minor, settled", "slow, but fed", "A&E, home"), ()),
        (("n/a", "n/k", "none"), ()),
        (("a;b", "b,c", "c;a"), (";", ",")),
        (("a/b", "b/a"), ("/",)),
        (("a;b", "a", "b"), ()),
    ],
)
def test_a_sign_alone_makes_no_list(cells: tuple[str, ...], signs: tuple[str, ...]):
    assert list_signs(Counter(cells)) == signs


def test_a_part_of_a_long_text_that_stands_once_is_not_shown():
    long = "bleed; " + "seen again the day after by the same person at home"
    assert part_counts({"bleed": 1, "bleed; weepy": 1, long: 1}, (";",)) == ({"bleed": 3, "weepy": 1}, 1)


def test_what_cannot_be_counted_of_a_complication_is_said_at_its_block():
    text = suggest([seen("Sheet1", OWN_WORDS)]).text
    (block,) = [block for block in text.split("\n\n") if 'table = "complications"' in block]
    said = " ".join(line.removeprefix("## ") for line in block.splitlines() if line.startswith("## "))
    assert said.startswith('LOOK AT THIS: "Bleed?" says 2 times no, and a no cannot be counted')
    assert "1 to 14 days after the division" in said
    # The same of a column of kinds.
    kinds = grid("Ref|1st seen|Complications\n1|2026-01-02|none\n2|2026-01-02|bleed\n3|2026-01-02|None")
    assert '## LOOK AT THIS: 2 times "none" or "None", and a no' in suggest([seen("Sheet1", kinds)]).text
    bled = grid("Ref|1st seen|Bleed?\n1|2026-01-02|Y\n2|2026-01-02|")
    assert "LOOK AT THIS" not in suggest([seen("Sheet1", bled)]).text


def test_nothing_out_of_effect_is_called_sure_and_its_first_line_says_so(tmp_path: Path):
    rows = grid("Ref|Site|1st seen|Age (days)|Any complications?\n1|N|2026-01-02|3|No\n2|N|2026-01-02|3|No")
    suggestion = suggest([seen("Sheet1", rows)])
    parts = [block.splitlines() for block in suggestion.text.split("\n\n") if not block.startswith("## NOT FOUND")]
    out = [part for part in parts if any(line.startswith(("# [[rows]]", "# [codes.")) for line in part)]
    assert len(out) == 2
    for part in out:
        assert part[0].startswith("## OUT OF EFFECT, this whole ")
        assert all(line.startswith("#") for line in part)
        assert not any("# sure" in line or "# likely" in line for line in part)
    assert '# No = ""  # not in effect: 2 times; it says so' in suggestion.text
    assert suggestion.sure == suggestion.text.count("  # sure")
    assert suggestion.likely == suggestion.text.count("  # likely")
    # Every first # taken out, they are TOML and in effect; the remarks stay remarks.
    used = re.sub(r"^# ", "", "\n".join("\n".join(part) for part in out), flags=re.M)
    assert set(tomllib.loads(used.replace('"???"', '"x"'))) == {"codes", "rows"}


def test_every_table_that_was_not_placed_has_a_form_that_is_valid_once_it_is_filled_in(tmp_path: Path):
    rows = grid("Ref|Site|1st seen|Age (days)|Day it bled\n1|N|2026-01-02|3|03/01/2026\n2|N|2026-01-02|3|")
    text = suggest([seen("Sheet1", rows)]).text
    forms = text.split("\n## NOT FOUND: ")
    assert {"cases", *(form.split(",")[0] for form in forms[1:])} == {table.name for table in layout.tables()}
    for form in forms[1:]:
        table = layout.table(form.split(",")[0])
        keys = [line.split(" = ")[0].removeprefix("# ") for line in form.splitlines() if " = " in line]
        assert keys == ["table", *(column.name for column in table.columns)]
        assert form.count("  # must: ") == sum(column.must for column in table.columns)
    text = answered(
        text,
        ('# noted_date = { column = "???"', '# noted_date = { column = "Day it bled", date = "%d/%m/%Y" }'),
        ('# kind = { column = "???"', '# kind = { constant = "bleeding" }'),
        ('# severity = { column = "???"', "#"),
    )
    before, form = text.split("## NOT FOUND: complications", 1)
    form, after = form.split("\n\n", 1)
    filled_in = re.sub("^# ", "", form.split("\n", 1)[1], flags=re.M)
    mapping = read(tmp_path, f"{before}{filled_in}\n\n{after}")
    assert [rows.table for rows in mapping.rows] == ["cases", "complications"]


def test_the_head_says_what_a_person_must_know_and_no_curly_quote_stands_in_it():
    text = suggest([seen("Sheet1", OWN_WORDS)]).text
    head = text.split("[codes", 1)[0]
    assert '\n# source = "???"  # a name' in head
    assert '\n# cut_off = "???"  # the day the export was drawn, without quotes, such as 2026-10-12' in head
    for words in ("needs all its must-columns", "A table that nobody can fill is left out", "must be straight ones"):
        assert words in head
    assert not set("“”‘’") & set(text)
    assert text.count('\ncase_ref = "Log no"  # must, as above\n') == 4  # said once what speaks for it


AMBIGUOUS = grid("""
Case no|Site|Help requested|First contact|Age at first contact (days)|Discharged|Outcome|Referral date|IMD quintile
1|N|01/02/2026|03/02/2026|3|05/06/2026|Settled|03/04/2026|1
2|N|04/02/2026|03/03/2026|3|06/06/2026|moved||2
3|N|02/03/2026|04/05/2026|3|07/11/2026|DNA|04/05/2026|3
""")


def test_dates_that_read_two_ways_are_asked_with_a_hint_and_never_decided(tmp_path: Path):
    suggestion = suggest([seen("Sheet1", AMBIGUOUS)], CUT_OFF)
    assert of_table(suggestion, "cases") == [
        {
            "case_ref": "Case no",
            "site": "Site",
            "age_days": "Age at first contact (days)",
            "closed_reason": {"column": "Outcome", "codes": "closed_reason"},
        }
    ]
    day_first = line(suggestion, '# first_contact_date = { column = "First contact", date = "%d/%m/%Y" }')
    month_first = line(suggestion, '# first_contact_date = { column = "First contact", date = "%m/%d/%Y" }')
    assert mark(day_first) == mark(month_first) == "asks"
    # Day first, all three stand in order; month first, 1 Feb is 2 January and 3 Feb 2 March, 4 Feb is 2 April and
    # 3 March stays behind it at 3 March.
    assert 'hint: on or after "Help requested" are 3 of 3 day first and 2 month first' in day_first
    closed = line(suggestion, '# closed_date = { column = "Discharged", date = "%d/%m/%Y" }')
    assert "after 2026-10-09 are 1 day first and 0 month first" in closed  # 7 November, or 11 July
    assert '\n# "DNA" = "???"  # asks: once; one of settled, no_reply, ' in suggestion.text
    assert "IMD quintile" not in str(in_effect(suggestion))


def test_a_referral_date_that_may_be_either_is_asked_as_both():
    suggestion = suggest([seen("Sheet1", grid("Ref|Date referred|1st seen\n1|2026-01-02|2026-01-05"))])
    assert in_effect(suggestion)["rows"] == [
        {"table": "cases", "columns": {"case_ref": "Ref", "first_contact_date": "1st seen"}}
    ]
    assert "help requested of the service, or" in line(suggestion, '# help_requested_date = "Date referred"  # asks')
    assert mark(line(suggestion, '# referral_date = "Date referred"')) == "asks"


FULL_NAMES = {
    "Ref": "cases.case_ref",
    "Case no": "cases.case_ref",
    "ID": "cases.case_ref",
    "BabyRef": "cases.case_ref",
    "1st seen": "cases.first_contact_date",
    "First appt": "cases.first_contact_date",
    "Date first seen": "cases.first_contact_date",
    "DOFC": "cases.first_contact_date",
    "Age at 1st contact (days)": "cases.age_days",
    "TT type": "assessments.tie_type",
    "Date of division": "procedures.procedure_date",
    "Frenulotomy date": "procedures.procedure_date",
    "Snip date": "procedures.procedure_date",
    "Second division date": "procedures.procedure_date 2",
    "Redivision date": "procedures.procedure_date 2",
    "6/52 feeding": "feeding_checks.feeding week6",
    "BF at 6 weeks": "feeding_checks.feeding week6",
    "Feeding 6wk": "feeding_checks.feeding week6",
    "Feeding at 6-8 weeks": "feeding_checks.feeding week6",
    "Help 1": "contacts.contact_date 1",
    "Session 2 date": "contacts.contact_date 2",
    "2nd visit date": "contacts.contact_date 2",
    "Contact 3 - practitioner": "contacts.practitioner 3",
    "Session 1 pain (0-10)": "contacts.pain_score 1",
    "BW (g)": "cases.birth_weight_g",
    "Birth weight kg": "cases.birth_weight_g",
    "IMD decile": "cases.deprivation_decile",
    "Ethnicity": "cases.ethnic_group",
    "Parity/first baby": "cases.first_baby",
    "Feeding at referral/first contact": "cases.feeding_at_first_contact",
    "Discharged": "cases.closed_date",
    "Referred by": "cases.referral_source",
    "Ref received": "cases.help_requested_date",
    "Date referred for division": "referrals.referral_date",
    "Any complications?": "complications.kind",
    "Bleeding hx asked?": "procedures.bleeding_history_asked",
    "Time to first feed (mins)": "procedures.minutes_to_first_feed",
}


MORE_NAMES = {
    "Log no": "cases.case_ref",
    "Clinic": "cases.site",
    "Rang us": "cases.help_requested_date",
    "Days old when seen": "cases.age_days",
    "Who cut": "procedures.operator",
    "Division / By": "procedures.operator",
    "After division / By": "contacts.practitioner after",
    "6/52 rang": "feeding_checks.check_date week6",
}


@pytest.mark.parametrize(("name", "place"), {**FULL_NAMES, **MORE_NAMES}.items())
def test_names_teams_write(name: str, place: str):
    first = matches(name, "cases")[0]
    assert (f"{first.table}.{first.column} {first.label}".strip(), first.strength) == (place, "full")


@pytest.mark.parametrize(
    "name", ["No complications", "Weight at 6 weeks", "IMD quintile", "Day 5 weight", "Contact number", "Bleeding risk"]
)
def test_names_that_look_like_one_and_are_another(name: str):
    assert [match for match in matches(name, "cases") if match.strength == "full"] == []


def test_a_word_that_makes_it_another_question_speaks_against_a_part_of_a_name():
    assert [match.column for match in matches("Aftercare leaflet box", "cases")] == ["aftercare_advice"]
    assert matches("Aftercare leaflet declined", "cases") == ()


@pytest.mark.parametrize(
    ("name", "kind"),
    [
        ("Bleed", "bleeding"),
        ("Bleed?", "bleeding"),
        ("Bleeding (Y/N)", "bleeding"),
        ("Infection", "infection"),
        ("Reattached", "reattachment"),
    ]
    + [("Bleeding history", ""), ("Bleeding nipple", ""), ("No bleeding", "")],
)
def test_columns_of_one_complication(name: str, kind: str):
    assert complication_of(name)[0] == kind


def test_a_column_of_one_complication_is_not_a_column_of_kinds_too():
    suggestion = suggest([seen("Sheet1", grid("Ref|Bleeding complication\n1|Y\n2|N"))])
    assert of_table(suggestion, "complications") == [{"case_ref": "Ref", "kind": {"constant": "bleeding"}}]
    assert "codes.kind" not in suggestion.text


@pytest.mark.parametrize(
    ("rows", "lines"),
    [
        ("Ref|Seen|Age\n1|2026-01-02|3", (1,)),
        ("Caseload 2026\n\nRef|Seen|Age\n1|2026-01-02|3", (3,)),
        ("Caseload 2026\nNorth team|printed 9 October\n\nRef|Seen|Age|Sex\n1|2026-01-02|3|M", (4,)),
        ("Baby||Session 1||Session 2|\nID|Age|Date|By|Date|By\n1|3|a|b|c|d", (1, 2)),
        ("Caseload\nBaby||Session 1||Session 2|\nID|Age|Date|By|Date|By\n1|3|a|b|c|d", (2, 3)),
        # Nothing repeats, so the first line is the names and the second a record.
        ("Ref|Notes|Seen||\nA|b|c|d|e", (1,)),
        ("\nRef|Seen\n", (2,)),
        ("", (1,)),
        ("1|2026-01-02|3\n2|2026-01-03|4", (1,)),
        # Under a line of values no names come any more.
        ("1|2026-01-02|3\nRef|Seen|Age", (1,)),
    ],
)
def test_the_lines_of_the_names(rows: str, lines: tuple[int, ...]):
    assert header_lines([row.split("|") if row else [] for row in rows.split("\n")]) == lines


def meant(table: str, column: str, *written: str) -> dict[str, str | None]:
    of = layout.table(table).column(column)
    return {code.written: code.meant for code in meanings_of(dict.fromkeys(written, 3), of).codes}


@pytest.mark.parametrize(
    ("place", "written", "truth"),
    [
        # “None” is another thing in each of these.
        ("feeding_checks.feeding", ("None", "EBF"), {"None": "none", "EBF": "exclusive"}),
        ("assessments.tie_type", ("None", "Ant"), {"None": "none", "Ant": "anterior"}),
        ("complications.kind", ("None", "Bleed"), {"None": "", "Bleed": "bleeding"}),
        ("complications.kind", ("No", "Yes"), {"No": "", "Yes": None}),
        # F may be Formula or Fully, M may be Mixed; of the sex they are plain.
        ("cases.feeding_at_first_contact", ("M", "F", "EBF"), {"M": None, "F": None, "EBF": "exclusive"}),
        ("cases.sex", ("M", "F"), {"M": "male", "F": "female"}),
        ("cases.feeding_at_first_contact", ("BF", "Partial", "0"), {"BF": None, "Partial": "partial", "0": None}),
        ("assessments.tie_type", ("0", "-", "n/a", "?"), {"0": None, "-": None, "n/a": None, "?": None}),
        ("assessments.tie_type", ("50%", "NK"), {"50%": None, "NK": "not_recorded"}),
        ("assessments.extension", ("Partial", "Full"), {"Partial": "limited", "Full": "full"}),
        ("cases.first_baby", ("Y", "-"), {"Y": "yes", "-": None}),
        ("cases.first_baby", ("1", "0"), {"1": "yes", "0": "no"}),
        ("cases.first_baby", ("1", "0", "2"), {"1": None, "0": None, "2": None}),
        ("cases.ethnic_group", ("A", "B", "W"), {"A": None, "B": None, "W": None}),
        ("cases.ethnic_group", ("A", "B", "M"), {"A": None, "B": None, "M": None}),
    ],
)
def test_codes(place: str, written: tuple[str, ...], truth: dict[str, str | None]):
    assert meant(*place.split("."), *written) == truth


@pytest.mark.parametrize(
    ("place", "written", "standard"),
    [
        ("cases.ethnic_group", ("A", "Z", "99"), "ethnic_category"),
        ("cases.sex", ("1", "2"), "phenotypic_sex"),
        ("feeding_checks.feeding", ("01", "03"), "breastfeeding_status"),
        ("feeding_checks.feeding", ("1", "3"), ""),
        ("cases.ethnic_group", ("A", "I"), ""),
    ],
)
def test_codes_of_an_open_standard(place: str, written: tuple[str, ...], standard: str):
    table, column = place.split(".")
    seen_codes = meanings_of(dict.fromkeys(written, 1), layout.table(table).column(column))
    assert seen_codes.standard == standard


def test_a_parity_of_numbers_is_asked():
    suggestion = suggest([seen("Sheet1", grid("Ref|Parity\n1|0\n2|1"))])
    assert mark(line(suggestion, '# first_baby = { column = "Parity"')) == "asks"
    assert suggestion.text.count("asks: once; one of yes, no") == 2


def test_a_list_with_nothing_but_nothing_is_not_in_effect(tmp_path: Path):
    rows = grid("Ref|Site|1st seen|Age (days)|Any complications?\n1|N|2026-01-02|3|No\n2|N|2026-01-02|3|No")
    suggestion = suggest([seen("Sheet1", rows)])
    assert "codes" not in in_effect(suggestion)
    assert [rows.table for rows in read(tmp_path, suggestion.text).rows] == ["cases"]


@pytest.mark.parametrize(
    ("written", "ways", "sure"),
    [
        (("13/04/2026", "03/04/2026"), ((DAY,),), True),
        (("04/13/2026", "03/04/2026"), (("%m/%d/%Y",),), True),
        (("03/04/2026", "05/06/2026"), ((DAY,), ("%m/%d/%Y",)), False),
        (("13/04/2026", "04/13/2026"), ((DAY,), ("%m/%d/%Y",)), False),
        (("13.04.26", "03.04.26"), (("%d.%m.%y",),), True),
        (("2026-04-03", "2026-04-04 00:00:00"), ((),), True),
        (("3 Mar 2026", "14 March 2026"), (("%d %b %Y", "%d %B %Y"),), True),
        (("13/04/2026 09:30", "03/04/2026 10:00", "14/04/2026"), ((DAY,),), True),
        (("2026-07-31T09:00:00", "2026-07-31 14:30"), ((),), True),
        (("1st May 2026", "2ND MAY 2026", "3rd of may 2026 9:05 am"), (("%d %b %Y",),), True),
        (("46113", "46114"), (("serial",),), False),
    ],
)
def test_dates(written: tuple[str, ...], ways: tuple[tuple[str, ...], ...], sure: bool):
    found = styles_of(dict.fromkeys(written, 1))
    assert (found.ways, found.sure) == (ways, sure)


def test_a_family_without_its_own_evidence_is_not_sure():
    found = styles_of({"13/04/2026": 1, "03/04/26": 1})
    assert (found.ways, found.sure) == (((DAY, "%d/%m/%y"),), False)


def test_a_year_that_may_stand_first_is_asked():
    written = {f"26/0{month}/{day}": 1 for month in (3, 4) for day in range(13, 24)}
    assert len(styles_of(written).ways) == 2


@pytest.mark.parametrize(
    ("header", "value", "start"),
    [
        ("Age (weeks)", "3", '# age_days = "Age (weeks)"'),
        ("Age at referral (days)", "3", '# age_days = "Age at referral (days)"'),
        ("1st seen", "46113", '# first_contact_date = { column = "1st seen", date = "serial" }'),
        ("1st seen", "soon", '# first_contact_date = "1st seen"'),
        ("Age (days)", "5/52", '# age_days = { column = "Age (days)", as = "age" }'),
    ],
)
def test_values_that_do_not_fit_are_asked(header: str, value: str, start: str):
    suggestion = suggest([seen("Sheet1", grid(f"Ref|{header}\nA1|{value}\nA2|{value}"))])
    assert mark(line(suggestion, start)) == "asks"
    assert ("weeks or months are not completed days" in suggestion.text) == ("weeks" in header)


def test_words_for_nothing_are_said_once_and_leave_words_alone(tmp_path: Path):
    text = """
        Ref|Site|1st seen|Age (days)|Gestation|Feeding
        1|-|2026-01-02|3|N/A|-
        2|N|-|4|39|EBF
        3|N|2026-01-03|-|39|EBF
    """
    suggestion = suggest([seen("Sheet1", grid(text))])
    assert in_effect(suggestion)["nothing"] == ["-", "n/a"]
    assert mark(line(suggestion, "nothing = ")) == "likely"
    assert of_table(suggestion, "cases")[0]["gestation_weeks"] == "Gestation"
    assert '"-" = "???"' in suggestion.text, "a dash may be an answer where words are written"
    assert read(tmp_path, suggestion.text).rows[0].columns["age_days"].nothing == frozenset({"-", "n/a"})


@pytest.mark.parametrize(
    ("header", "texts", "says", "how_sure"),
    [
        ("Birth weight (kg)", ("3,45", "3,1", "4"), {"times": 1000, "decimal": ","}, "sure"),
        ("Birth weight", ("3,45", "3,450"), {"times": 1000, "decimal": ","}, "likely"),
        ("Birth weight", ("3,450", "2,998"), None, "asks"),
    ],
)
def test_commas_in_numbers(tmp_path: Path, header: str, texts: tuple[str, ...], says: Any, how_sure: str):
    rows = [["Ref", header], *([f"{at}", text] for at, text in enumerate(texts))]
    suggestion = suggest([seen("Sheet1", rows)])
    start = (
        "birth_weight_g = " if says else f'# birth_weight_g = {{ column = "{header}", times = 1000, decimal = "," }}'
    )
    assert mark(line(suggestion, start)) == how_sure
    assert of_table(suggestion, "cases")[0].get("birth_weight_g") == ({"column": header, **says} if says else None)
    if not says:
        line(suggestion, f'# birth_weight_g = {{ column = "{header}", thousands = "," }}')


def test_gestations_and_weights_that_say_their_unit():
    rows = grid("Ref|Gestation|Birth weight\n1|39+2|3.45 kg\n2|38|7lb 4oz")
    suggestion = suggest([seen("Sheet1", rows)])
    assert mark(line(suggestion, 'gestation_weeks = { column = "Gestation", as = "gestation" }')) == "sure"
    assert mark(line(suggestion, 'birth_weight_g = { column = "Birth weight", as = "weight" }')) == "sure"


@pytest.mark.parametrize(("units", "how_sure"), [(("kg", "lb"), "asks"), (("kg", "KG."), "asks"), (("a", "b"), "sure")])
def test_a_weight_whose_name_says_a_unit_beside_a_column_of_units_asks(units: tuple[str, str], how_sure: str):
    rows = grid(f"Ref|Birth weight (kg)|Unit\n1|3.4|{units[0]}\n2|2.9|{units[1]}")
    suggestion = suggest([seen("Sheet1", rows)])
    start = "birth_weight_g = " if how_sure == "sure" else "# birth_weight_g = "
    assert mark(line(suggestion, start)) == how_sure


def test_a_weight_is_read_with_the_column_of_units_beside_it(tmp_path: Path):
    suggestion = suggest([seen("Sheet1", grid("Ref|Birth weight|Unit\n1|3.4|kg\n2|7|lb"))])
    written = 'birth_weight_g = { column = "Birth weight", as = "weight", unit = "Unit" }'
    assert mark(line(suggestion, written)) == "likely"
    assert 'left out: "Unit"' not in suggestion.text


def test_weights():
    suggestion = suggest([seen("Sheet1", grid("Ref|Birth weight\n1|3400\n2|9999"))])
    assert of_table(suggestion, "cases")[0]["birth_weight_g"] == {
        "column": "Birth weight",
        "codes": "birth_weight_not_known",
    }
    unsaid = suggest([seen("Sheet1", grid("Ref|Birth weight\n1|3.4\n2|2.95"))])
    assert mark(line(unsaid, "birth_weight_g = ")) == "likely"


def test_names_that_repeat_without_a_group_are_likely_contacts():
    rows = grid("Ref|Date|By|Date|By\n1|2026-01-02|P|2026-01-03|Q")
    suggestion = suggest([seen("Sheet1", rows)])
    assert of_table(suggestion, "contacts") == [
        {"case_ref": "Ref", "contact_date": "Date", "practitioner": "By"},
        {"case_ref": "Ref", "contact_date": "Date (2)", "practitioner": "By (2)"},
    ]
    assert mark(line(suggestion, 'contact_date = "Date (2)"')) == "likely"


def test_groups_that_differ_in_more_than_their_number_keep_a_block_each(tmp_path: Path):
    head = "Ref|Visit 1 date|Visit 1 by|Visit 2 date|Visit 2 by|Visit 3 date"
    rows = grid(f"{head}\n1|03/04/2026|P|05/04/2026|Q|25/04/2026\n2|04/04/2026|P|13/04/2026|Q|26/04/2026")
    # "Visit * date" would read the third as well, which has nobody; what reads two ways alone is settled by the others.
    suggestion = suggest([seen("Sheet1", rows)])
    assert not any("repeat" in rows for rows in in_effect(suggestion)["rows"])
    repeated = suggest([seen("Sheet1", [[*rows[0], "Visit 3 by"], *([*row, "P"] for row in rows[1:])])])
    (block,) = [rows for rows in in_effect(repeated)["rows"] if rows["table"] == "contacts"]
    date = {"column": "Visit * date", "date": DAY}
    assert (block["repeat"], block["columns"]) == (
        "*",
        {"case_ref": "Ref", "contact_date": date, "practitioner": "Visit * by"},
    )
    assert "left out" not in repeated.text.partition("Columns that no line")[2]
    starred = [[name.replace("by", "by*") for name in rows[0][:5]], *(row[:5] for row in rows[1:])]
    assert [rows.get("repeat") for rows in in_effect(suggest([seen("Sheet1", starred)]))["rows"]] == [None, "#"]


MONTH = "Ref|Clinic|1st seen|Age (days)\n{0}|N|{1}/01/2026|3\n{0}0|N|12/01/2026|4"
KEY = seen("Key", grid("mark|meaning\nHV|zzqq"))


def months(*names: str) -> list[SeenSheet]:
    return [seen(name, grid(MONTH.format(at, 25 if at == 2 else 10))) for at, name in enumerate(names, 1)]


def test_sheets_with_the_same_headings_are_read_by_one_set_of_blocks(tmp_path: Path):
    day = {"column": "1st seen", "date": DAY}
    for alike, others, written in (
        (("Apr", "May", "Jun"), [], None),
        (("Apr", "May", "Jun"), [KEY], ["Apr", "May", "Jun"]),
        (("Clinic A", "Clinic B"), [KEY], "Clinic *"),
        (("Mar 2026", "May 2026"), [KEY], "* 2026"),
    ):
        suggestion = suggest([*months(*alike), *others])
        (block,) = in_effect(suggestion)["rows"]
        # What reads two ways on one sheet is settled by another.
        assert (block.get("sheet"), block["columns"]["first_contact_date"]) == (written, day)
        assert len(read(tmp_path, suggestion.text).rows) == 1


def test_where_no_column_says_the_site_the_name_of_the_sheet_may():
    alike = [
        seen(name, grid(MONTH.format(at, 10).replace("|Clinic", "").replace("|N|", "|")))
        for at, name in enumerate(("Hub", "Row"), 1)
    ]
    assert "# site = { sheet_name = true }" in suggest(alike).text
    assert "sheet_name" not in suggest(alike[:1]).text
    assert "sheet_name" not in suggest(months("Hub", "Row")).text


def test_lines_that_look_like_no_rows_are_told_of_the_sheet_they_stand_on(tmp_path: Path):
    (tmp_path / "a.csv").write_text("Ref,1st seen\nA,2026-01-02\nTotal,1\n", encoding="utf-8")
    text = suggest(first_look(open_contents(tmp_path / "a.csv")).sheets).text
    assert '\n## LOOK AT THIS: in "a" line 3 looks like a total; if so, left_out_lines leaves it out: ' in text


def test_how_alike_sheets_are_read_is_said_of_all_by_one_pattern():
    titled = [seen(name, grid("A title\n" + MONTH.format(at, 25))) for at, name in enumerate(("Apr", "May"), 1)]
    assert in_effect(suggest(titled))["sheets"] == {"*": {"header": 2}}
    assert in_effect(suggest([*titled, KEY]))["sheets"] == {"Apr": {"header": 2}, "May": {"header": 2}}


def test_a_sheet_that_differs_in_a_heading_has_its_own_blocks_and_is_told():
    odd = seen("Jul", grid(MONTH.format(7, 25).replace("1st seen", "First seen on")))
    found = seen("Jun", grid(MONTH.format(7, 25)), {1: "names"})
    suggestion = suggest([*months("Apr", "May"), found, odd])
    assert [rows["sheet"] for rows in in_effect(suggestion)["rows"]] == [["Apr", "May", "Jun"], "Jul"]
    words = '"Jul" has most headings of "Apr, May, Jun"; it has "First seen on" and lacks "1st seen".'
    assert f"## LOOK AT THIS: {words}" in suggestion.text
    # What the screen found in a column of one of them is kept of none.
    assert '"Clinic" = "???"  # asks: found: names' in suggestion.text
    assert '"N"' not in suggestion.text


def test_texts_that_may_say_who_someone_is_are_not_shown():
    long, mail, number = "x" * 41, "a@b", "1234 56"
    column = {"anterior": 9, long: 1, mail: 1, number: 1, "post ?": 4}
    suggestion = suggest([SeenSheet("Sheet1", "a.csv", (("TT type",),), (SeenColumn("TT type", column),))])
    assert all(text not in suggestion.text for text in (long, mail, number))
    assert "\n## 3 more texts are not shown: long, or like an identifier.  asks: " in suggestion.text
    asked = '# "post ?" = "???"  # asks: 4 times; one of none, anterior, posterior, submucosal, not_recorded'
    assert line(suggestion, asked)


def test_many_different_texts_are_no_codes():
    column = {f"said {letter}{other}": 1 for letter in "abcdef" for other in "abcdef"}
    suggestion = suggest([SeenSheet("Sheet1", "a.csv", (("TT type",),), (SeenColumn("TT type", column),))])
    assert "said" not in suggestion.text
    assert mark(line(suggestion, '# tie_type = "TT type"')) == "asks"


def test_an_unsafe_name_is_not_written():
    columns = (SeenColumn("Ref", {"A": 1}), SeenColumn("Jo Smith", {}, "a name", header_is_safe=False))
    suggestion = suggest([SeenSheet("Sheet1", "a.csv", (("Ref",),), columns)])
    assert "Smith" not in suggestion.text
    assert '\n## column 2 of "Sheet1":  asks: found in the name of the column: a name. ' in suggestion.text


def test_the_marks_are_counted_and_every_line_has_one():
    suggestion = suggest([seen("Caseload", CASELOAD, {18: "free text"})], CUT_OFF)
    body = suggestion.text.split("\n\n", 2)[2].split("\n## NOT FOUND: ")[0]
    unmarked = r"(# )?\[.*\]|## .*|table = .*|sheet = .*|case_ref = .*  # must, as above"
    counted = Counter(mark(line) for line in body.splitlines() if line and not re.fullmatch(unmarked, line))
    assert counted == {"sure": suggestion.sure, "likely": suggestion.likely, "asks": suggestion.asks}


def test_the_same_bytes_whatever_the_hash_seed():
    code = (
        "from tests.test_suggesting import *\n"
        "print(suggest([seen('Caseload', CASELOAD)]).text, suggest([seen(n, grid(t)) for n, t in SEVEN.items()]).text)"
    )
    texts = {
        subprocess.run(
            [sys.executable, "-c", code],
            capture_output=True,
            check=True,
            cwd=Path(__file__).parent.parent,
            env={**os.environ, "PYTHONHASHSEED": seed},
        ).stdout
        for seed in ("1", "2")
    }
    assert len(texts) == 1


def test_an_export_is_looked_at_from_its_file(tmp_path: Path):
    file = tmp_path / "Caseload.csv"
    file.write_text("\n".join(";".join(row) for row in CASELOAD), encoding="utf-8")
    (sheet,) = first_look(open_contents(file)).sheets
    assert [dict(column.counts) for column in sheet.columns if column.header == "TT type"] == [
        {"post": 1, "ant": 1, "?": 1}
    ]
    assert in_effect(suggest([sheet]))["sheets"] == {"Caseload": {"header": 3}}
    file.write_text("sep=;\nRef;E-mail;1st seen\nA;jo@example.org;2026-01-02\n", encoding="utf-8")
    (sheet,) = first_look(open_contents(file)).sheets
    assert [(bool(column.identifier), dict(column.counts)) for column in sheet.columns] == [
        (False, {"A": 1}),
        (True, {}),
        (False, {"2026-01-02": 1}),
    ]
    suggestion = suggest([sheet])
    assert "sheets" not in in_effect(suggestion)
    assert "example.org" not in suggestion.text
    file.write_text("A;jo@example.org;Wotsit\nB;li@example.org;x\n", encoding="utf-8")
    written = suggest(first_look(open_contents(file)).sheets).text
    assert "example.org" not in written and "Wotsit" not in written


def test_no_line_of_the_invented_exports_is_sure_and_wrong():
    names = ("first_dozen", "second_half_dozen")
    measured = {title: measure(sheets, truth) for name in names for title, sheets, truth in exports(name)}
    assert len(measured) == 18
    assert {title: figures.wrong for title, figures in measured.items() if figures.counts["sure wrong"]} == {}


def test_the_measure_finds_a_sure_line_a_code_and_a_question_that_are_wrong():
    _, sheets, truth = next(iter(exports("first_dozen")))
    truth.places["Sheet1", "M/F"] = ["-"]
    truth.codes["Ref'd by", "HV"] = "midwife"
    truth.asked.add("Gest")
    truth.asked.discard("IMD")
    figures = measure(sheets, truth)
    assert [written.split(" = ")[0] for written in figures.wrong] == ["HV", "sex", "gestation_weeks"]
    assert any(written.startswith("# deprivation_decile") for written in figures.needless)


ANY_NAME = st.one_of(
    st.sampled_from([*FULL_NAMES, "Bleeding", "Tie", "Outcome", "Date", "Feeding", "Practitioner", "Clinic"]),
    st.text(min_size=1, max_size=12).map(lambda text: " ".join(text.split())).filter(bool),
    st.sampled_from(['a "b"', "a\\b", "a\x00b", "a\x7fb", "a # b", "a\u2028b", "[x]", "x = 1", "'", '"""', "\ud7ff"]),
)
ANY_VALUE = st.one_of(
    st.sampled_from(["Y", "N", "?", "EBF", "none", "post", "13/04/2026", "03/04/2026", "3", "3.4", "2026-01-02", "01"]),
    st.text(min_size=1, max_size=45).map(str.strip).filter(bool),
)
COUNTS = st.dictionaries(ANY_VALUE, st.integers(1, 40), max_size=8)


@settings(deadline=None, max_examples=100)
@given(st.lists(st.tuples(ANY_NAME, COUNTS), min_size=1, max_size=10, unique_by=lambda column: column[0]), ANY_NAME)
def test_any_names_and_values_give_toml_that_gives_them_back(columns: list[tuple[str, dict[str, int]]], name: str):
    sheets = [SeenSheet(name, "a.csv", (("x",), ("a", "b")), tuple(SeenColumn(*column) for column in columns))]
    suggestion = suggest(sheets, CUT_OFF)
    headers = {header for header, _ in columns}
    content = in_effect(suggestion)
    for rows in content["rows"]:
        used = [origin if isinstance(origin, str) else origin.get("column") for origin in rows["columns"].values()]
        assert {header for header in used if header is not None} <= headers
    for header in headers:
        assert quoted(header) in suggestion.text
        assert tomllib.loads(f"x = {quoted(header)}")["x"] == header
    written = {value for _, counts in columns for value in counts}
    for codes in content.get("codes", {}).values():
        assert set(codes) <= written
    for line in suggestion.text.splitlines():
        if re.match(r"# [^#]", line):
            tomllib.loads(line[2:])  # what is asked is TOML, too, once its # is out
    # Nothing is wrong with it but must-columns that a person has to answer for.
    with tempfile.TemporaryDirectory() as folder:
        assert [found for found in faults(Path(folder), suggestion.text) if " without " not in found] == []


SECRET = "zq" + "xj"  # in no word of ours


@settings(deadline=None, max_examples=40)
@given(
    st.lists(st.tuples(ANY_NAME, st.booleans()), min_size=1, max_size=10, unique_by=lambda column: column[0]),
    st.lists(st.text(alphabet="abc 123", max_size=5), min_size=1, max_size=6, unique=True),
)
def test_no_value_of_a_column_with_identifiers_or_of_a_text_column_is_written(
    columns: list[tuple[str, bool]], endings: list[str]
):
    texts = ["Ref", "Practitioner", "Clinic", "Help 1 by", "Divided by", "Destination", "Notes", "Wotsit"]
    counts = {f"{SECRET}{ending}": 1 for ending in endings}
    flagged = [SeenColumn(name, counts, "free text") for name, _ in columns if name not in texts]
    plain = [SeenColumn(name, counts) for name in texts]
    suggestion = suggest([SeenSheet("Sheet1", "a.csv", (("a", "b"),), (*plain, *flagged))])
    tomllib.loads(suggestion.text)
    assert SECRET not in suggestion.text


def babies(heading: str, *lines: str) -> SeenSheet:
    """A sheet of babies with one row for each line, three of each, so that the order of the dates shows."""
    return seen("Babies", grid("\n".join([heading, *lines * 3])))


def test_who_saw_them_first_makes_a_contact_of_the_first_day_where_it_stands_behind_that_day():
    heading = "Ref|Hub|First seen|Age (days)|Seen by|2nd visit|2nd visit by"
    sheet = babies(heading, "A|N|2026-03-01|5|P1|2026-03-08|P2")
    contacts = of_table(suggest([sheet]), "contacts")
    assert [(rows["contact_date"], rows["practitioner"]) for rows in contacts] == [
        ("First seen", "Seen by"),
        ("2nd visit", "2nd visit by"),
    ]
    # Behind the day of the division it is who divided, or somebody else: nobody can tell.
    heading = "Ref|Hub|First seen|Age (days)|Division date|By whom"
    suggestion = suggest([babies(heading, "A|N|2026-03-01|5|2026-03-08|P1")])
    assert of_table(suggestion, "contacts") == []
    assert mark(line(suggestion, '# operator = "By whom"')) == "asks"


def test_the_day_of_a_follow_up_is_not_the_first_and_goes_with_its_own_practitioner():
    heading = "Ref|Hub|Date seen|Age in days|Seen by|Follow up date|Follow up by|Snip date|Snip by"
    suggestion = suggest([babies(heading, "A|N|2026-03-01|5|P1|2026-03-08|P2|2026-03-20|P3")])
    assert line(suggestion, 'first_contact_date = "Date seen"')
    contacts = of_table(suggestion, "contacts")
    assert [(rows["contact_date"], rows["practitioner"]) for rows in contacts] == [
        ("Date seen", "Seen by"),
        ("Follow up date", "Follow up by"),
    ]


def test_a_number_of_which_the_screen_dislikes_only_the_name_is_asked_about_once():
    rows = grid("Baby no|Hub|First seen|Age (days)|2nd visit|2nd visit by\nA1|N|2026-03-01|5|2026-03-08|P2")
    disliked = "the column's name says hospital or record number"
    suggestion = suggest([seen("Babies", rows, {0: disliked})])
    assert [rows["case_ref"] for rows in of_table(suggestion, "cases") + of_table(suggestion, "contacts")] == [
        "Baby no",
        "Baby no",
    ]
    assert mark(line(suggestion, '# "Baby no" = "???"')) == "asks"
    assert "case_ref = " not in "".join(re.findall(r"^# case_ref.*asks.*$", suggestion.text, flags=re.M))
    # Where its values are of that kind too, it stays what it was: no pseudonym.
    suggestion = suggest([seen("Babies", rows, {0: f"{disliked}; 3 NHS numbers"})])
    assert all("case_ref" not in rows for rows in of_table(suggestion, "cases"))


def test_titles_of_a_records_system_and_of_a_german_sheet():
    sheets = [
        seen(
            "EPISODES",
            grid("EPISODE_ID|CLINIC_CODE|FIRST_ATTENDED_DTTM|AGE_AT_FIRST_ATTENDANCE_DAYS\nE1|H|2026-03-01|5"),
        ),
        seen("REFERRALS", grid("REFERRAL_ID|EPISODE_ID|REFERRAL_DTTM|REFERRAL_STATUS\n9|E1|2026-03-02|Accepted")),
        seen("REVIEWS", grid("REVIEW_ID|EPISODE_ID|APPT_DTTM|CLINICIAN_ID\n9|E1|2026-03-02|C1")),
    ]
    found = [(rows["table"], rows["columns"]) for rows in in_effect(suggest(sheets))["rows"]]
    assert [table for table, _ in found] == ["cases", "referrals", "contacts"]
    assert found[1][1]["referral_date"] == "REFERRAL_DTTM"
    assert (found[2][1]["contact_date"], found[2][1]["practitioner"]) == ("APPT_DTTM", "CLINICIAN_ID")
    heading = "Fallnummer|Standort|Anfrage am|Erstkontakt|Alter (Tage)|Ernährung zu Beginn|Beraterin|"
    heading += "2. Termin|2. Termin Beraterin"
    suggestion = suggest([babies(heading, "F-1|Nord|2026-02-27|2026-03-01|5|voll gestillt|S1|2026-03-09|S2")])
    (cases,) = of_table(suggestion, "cases")
    assert (cases["help_requested_date"], cases["feeding_at_first_contact"]["column"]) == (
        "Anfrage am",
        "Ernährung zu Beginn",
    )
    assert [rows["practitioner"] for rows in of_table(suggestion, "contacts")] == ["Beraterin", "2. Termin Beraterin"]


def test_a_visit_with_its_own_practitioner_stays_a_contact_where_its_day_is_the_first():
    heading = "Ref|Hub|Referred to us|Age (days)|Visit date|Visit by|Latch help"
    suggestion = suggest([babies(heading, "A|N|2026-02-27|5|2026-03-01|P1|Y")])
    (contacts,) = of_table(suggestion, "contacts")
    assert (contacts["contact_date"], contacts["practitioner"]) == ("Visit date", "Visit by")
    assert line(suggestion, 'first_contact_date = "Visit date"')


def test_a_sheet_of_feeding_reviews_is_of_feeding_checks():
    rows = grid("EPISODE_ID|REVIEW_DTTM|FEEDING_METHOD\nE1|2026-03-02|Mixed feeding")
    cases = seen("EPISODES", grid("EPISODE_ID|SITE|FIRST_SEEN|AGE_DAYS\nE1|H|2026-03-01|5"))
    suggestion = suggest([cases, seen("FEEDING_REVIEWS", rows)])
    (checks,) = of_table(suggestion, "feeding_checks")
    assert (checks["check_date"], checks["feeding"]["column"]) == ("REVIEW_DTTM", "FEEDING_METHOD")
    assert of_table(suggestion, "contacts") == []
