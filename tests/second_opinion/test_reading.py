"""What becomes of every line, worked out by hand from the layout document."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from .facts import Case
from .layout import TABLES, Column
from .reading import read_file
from .reckoning import FileAccount, Reckoning, reckon

CUT_OFF = date(2025, 6, 30)
BOUNDS = (("minimum", "minLength"), ("maximum", "maxLength"))
DECLARATION = Path(__file__).parents[2] / "pipeline" / "contracts" / "export_layout.json"

CASES = b"case_ref,site,help_requested_date,first_contact_date,age_days,closed_date,first_baby\n"
A = b"a,hub_a,,2025-01-10,5,,\n"


def export(folder: Path, **files: bytes) -> Reckoning:
    for table, content in files.items():
        (folder / f"{table}.csv").write_bytes(content)
    return reckon(folder, CUT_OFF)


def fates(found: Reckoning, table: str) -> list[tuple[int, int, str]]:
    return [(fate.first, fate.last, fate.fate) for fate in found.fates[table]]


def declared(field: dict[str, Any]) -> Column:
    """A field of the declaration in the words of this package."""
    limits: dict[str, Any] = field.get("constraints", {})
    kind = str(field["type"])
    listed = [value for value in limits.get("enum", []) if value != "not_known"]
    if kind == "boolean":
        kind, listed = "code", ["yes", "no"]
    elif kind == "string":
        kind = "code" if listed else "text"
    low, high = (int(limits.get(number, limits.get(length, 0))) for number, length in BOUNDS)
    return Column(str(field["name"]), kind, bool(limits.get("required")), tuple(listed), low, high)


def test_columns_are_the_declared_ones() -> None:
    declaration = json.loads(DECLARATION.read_text(encoding="utf-8"))
    tables = {table["name"]: tuple(map(declared, table["schema"]["fields"])) for table in declaration["resources"]}
    assert tables == TABLES


@pytest.mark.parametrize(
    ("content", "expected"),
    [
        (b"x,y\n1,2\n", [(2, 2, ("1", "2"))]),
        (b"\xef\xbb\xbfx,y\r\n1,2\r3,4\n5,6", [(2, 2, ("1", "2")), (3, 3, ("3", "4")), (4, 4, ("5", "6"))]),
        (b'x,y\n"1\n\n2",3\n4,5\n', [(2, 4, ("1\n\n2", "3")), (5, 5, ("4", "5"))]),
        (b'x,y\r\n"1\r\n2","a""b"\r\n', [(2, 3, ("1\r\n2", 'a"b'))]),
        (b'x,y\n1"2,"3"\n', [(2, 2, ('1"2', "3"))]),
        (b'x,y\n "1",2\n', [(2, 2, (' "1"', "2"))]),
        ("x,y\n1\u20282,3\x0c4\n".encode(), [(2, 2, ("1\u20282", "3\x0c4"))]),
        (b"x,y\n1\n1,2,3\n1,\n", [(2, 2, None), (3, 3, None), (4, 4, ("1", ""))]),
        (b'x,y\n"1"2,3\n"1" ,3\n', [(2, 2, None), (3, 3, None)]),
        (b"x,y\n1,\x002\n1,\xff\n1,2\n", [(2, 2, None), (3, 3, None), (4, 4, ("1", "2"))]),
        (b'x,y\n"1\n2\0",3\n4,5\n', [(2, 3, None), (4, 4, ("4", "5"))]),
        (b'x,y\n1,"2\n3,4\n5,6\n', [(2, 2, None), (3, 3, ("3", "4")), (4, 4, ("5", "6"))]),
        (b'x,y\n1,"' + 49 * b"\n" + b'"\n5,6\n', [(2, 51, ("1", 49 * "\n")), (52, 52, ("5", "6"))]),
        (b'x,y\n1,"' + 50 * b"\n" + b'z",2\n5,6\n', [(2, 2, None), (52, 52, ('z"', "2")), (53, 53, ("5", "6"))]),
    ],
)
def test_records(content: bytes, expected: list[tuple[int, int, tuple[str, ...] | None]]) -> None:
    read = read_file(content)
    found = [(record.first, record.last, None if record.flaw else record.fields) for record in read.records]
    assert found == expected


def test_blank_lines_are_counted_and_may_stand_before_the_header() -> None:
    read = read_file("\n \t\r\nx,y\n\u00a0\n1,2\n\n".encode())
    assert (read.lines, read.blank, len(read.records)) == (6, 4, 1)
    assert read.header is not None and read.header.first == 3


def test_damaged_header_is_refused() -> None:
    for content in (b"x,x\n1,2\n", b"x,\0y\n", b'x,"y\n1,2\n'):
        with pytest.raises(ValueError, match="header on line 1"):
            read_file(content)


def test_lines_of_cases(tmp_path: Path) -> None:
    rows = [
        (A, "accepted"),
        (b" a ,hub_a,not_known,2025-01-10,05,,maybe\n", "repeat"),  # equal once read; maybe is not recorded
        (b"b,hub_a,,2025-01-10,5,,yes\n", "set aside"),  # the rows of b differ
        (b"b,hub_a,,2025-01-10,5,,no\n", "set aside"),
        (b"c,hub_a,,2025-01-10,5,,\n", "set aside"),  # the other row of c is no good, and still not equal
        (b"c,hub_a,,2025-01-10,365,,\n", "set aside"),
        (b"d,hub_a,,2025-02-29,5,,\n", "set aside"),
        (b"e,,,2025-01-10,5,,\n", "set aside"),
        (b"f,not_known,,2025-06-30,0,,\n", "accepted"),
        (b"g,hub_a,,2025-07-01,0,,\n", "set aside"),
        (b"h,hub_a,,2025-01-10,5,2025-07-01,\n", "set aside"),
        (b"i,hub_a,2025-07-01,2025-01-10,5,,\n", "set aside"),  # after first contact, but after the cut-off too
        (b"j,hub_a,2025-01-11,2025-01-10,5,2025-01-09,\n", "accepted"),
        (b"j,hub_a,,2025-01-10,5,,\n", "repeat"),  # both dates of the row above were dropped
        (b"A,hub_a,,2025-01-10,5,,\n", "accepted"),  # capitals: another case
        (64 * b"k" + b",hub_a,,2025-01-10,5,,\n", "accepted"),
        (65 * b"k" + b",hub_a,,2025-01-10,5,,\n", "set aside"),
        (b"l,hub_a,,10/01/2025,5,,\n", "set aside"),
        (b"m,hub_a,,2025-01-10,5.0,,\n", "set aside"),
        (b"n,hub_a,,2025-01-10,0000000005,,\n", "set aside"),  # ten digits
    ]
    found = export(tmp_path, cases=CASES + b"".join(row for row, _ in rows))
    assert fates(found, "cases") == [(line, line, fate) for line, (_, fate) in enumerate(rows, start=2)]
    assert found.accounts["cases"] == FileAccount(21, 1, 0, 5, 13, 2)
    kept = {case.ref: case.row for case in found.subjects}
    assert [kept[ref][column] for ref in "Ajf" for column in ("help_requested_date", "closed_date")] == [None] * 6


def test_lines_of_the_other_tables(tmp_path: Path) -> None:
    contacts = [
        (b"a,2025-01-10,p,not_recorded", "accepted"),
        (b"a,2025-01-10,p,", "accepted"),  # not_recorded is a code of the layout, an empty value is none
        (b"a,2025-01-10,p,Resolved", "repeat"),  # a bad code is not recorded, so equal to the one above
        (b"a,2025-01-09,p,", "set aside"),
        (b"a,2025-07-01,p,", "set aside"),
        (b"a,2025-01-10,,", "set aside"),
        (b"a,2025-01-10,not_known,", "accepted"),
        (b"nobody,2025-01-10,p,", "set aside"),
        (b"b,2025-01-10,p,", "set aside"),  # b was set aside
        (b"A,2025-01-10,p,", "set aside"),
    ]
    found = export(
        tmp_path,
        cases=CASES + A + b"b,hub_a,,2025-01-10,999,,\n",
        contacts=b"case_ref,contact_date,practitioner,problem_status\n" + b"\n".join(row for row, _ in contacts),
        procedures=b"operator,procedure_date,case_ref\nx,2025-01-05,a\nx,2025-03-01,a\nx,2025-07-01,a\n",
        complications=b"case_ref,noted_date,kind\na,2025-01-04,other\na,2025-01-05,other\na,2025-02-01,not_known\n",
        referrals=b"case_ref,referral_date,outcome_date\na,2025-02-01,2025-01-31\na,2025-02-01,\na,2025-02-01,2025-07-01",
    )
    assert [fate.fate for fate in found.fates["contacts"]] == [fate for _, fate in contacts]
    assert [fate.fate for fate in found.fates["procedures"]] == ["accepted", "accepted", "set aside"]
    assert [fate.fate for fate in found.fates["complications"]] == ["set aside", "accepted", "set aside"]
    assert [fate.fate for fate in found.fates["referrals"]] == ["accepted", "repeat", "set aside"]
    (case,) = found.subjects
    assert isinstance(case, Case)
    assert case.divided_before and [done.date for done in case.divisions] == [date(2025, 3, 1)]


def test_lines_of_requests_and_family_views(tmp_path: Path) -> None:
    requests = [
        (b"a,hub_a,2025-01-02,waiting,", "set aside"),  # a is a case
        (b"b,hub_a,2025-01-02,waiting,", "set aside"),  # b was set aside among the cases
        (b"r,hub_a,2025-01-02,,", "accepted"),
        (b"r,hub_a,2025-01-02,not_known,2025-01-01", "repeat"),  # the date is before the request: not recorded
        (b"s,hub_a,2025-01-02,declined,", "set aside"),  # the rows of s differ
        (b"s,hub_a,2025-01-02,moved,", "set aside"),
        (b"t,hub_a,2025-01-02,moved,2025-07-01", "set aside"),
        (b"u,,2025-01-02,moved,", "set aside"),
        (b"v,hub_a,2025-06-30,accepted,2025-06-30", "accepted"),  # accepted is no outcome of a request
    ]
    views = [
        (b"a,2025-01-10,yes", "accepted"),
        (b"a,2025-01-09,yes", "set aside"),
        (b"a,2025-01-10,yes", "repeat"),
        (b"a,2025-01-10,very", "accepted"),
        (b"b,2025-01-10,yes", "set aside"),
        (b"r,2025-01-10,yes", "set aside"),  # a request is no case
    ]
    found = export(
        tmp_path,
        cases=CASES + A + b"b,hub_a,,2025-01-10,999,,\n",
        requests=b"case_ref,site,request_date,outcome,outcome_date\n" + b"\n".join(row for row, _ in requests),
        family_views=b"case_ref,answered_date,helped\n" + b"\n".join(row for row, _ in views),
    )
    assert [fate.fate for fate in found.fates["requests"]] == [fate for _, fate in requests]
    assert [fate.fate for fate in found.fates["family_views"]] == [fate for _, fate in views]
    assert [subject.ref for subject in found.subjects] == ["a", "r", "v"]


def test_missing_must_column_sets_every_row_aside(tmp_path: Path) -> None:
    found = export(tmp_path, cases=CASES + A, contacts=b"case_ref,contact_date\na,2025-01-10\n")
    assert found.accounts["contacts"] == FileAccount(2, 1, 0, 0, 1, 0)
    assert found.accounts["procedures"] == FileAccount(0, 0, 0, 0, 0, 0)
