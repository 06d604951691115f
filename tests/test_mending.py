"""The workbook for the person who mends the records, read back by two libraries that did not write it."""

from __future__ import annotations

import os
import re
import stat
import tempfile
import time
import unicodedata
import zipfile
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from python_calamine import CalamineWorkbook
from xlsxwriter.worksheet import Worksheet

from pipeline.errors import Refused
from pipeline.intake.account import mending_workbook
from pipeline.intake.account.mending_workbook import Row, write_workbook

SEX = "one of female, male, or nothing"
DAY = "a date written like 2026-07-31; it must be there"
CORRECT = "correct it in the record, or how the export writes it"
CASES = (
    Row("caseload.xlsx, sheet Babies", 4, "RB-7", "Sex", "value", "Boy", SEX, CORRECT),
    Row("caseload.xlsx, sheet Babies", 9, "RB-12", "1st seen", "row", "31/06/2026", DAY, CORRECT),
    Row("caseload.xlsx, sheet Babies", 11, "", "1st seen", "row", "(nothing)", DAY, CORRECT),
)
CONTACTS = (Row("visits.csv", 2, "RB-7", "Date", "row", "soon", DAY, CORRECT),)
DAMAGED = (Row("visits.csv", 30, "", "", "row", "3 fields", "4 fields, as many as the header", "mend the line"),)
HEADER = ["file", "line", "case", "column", "what is set aside", "found", "allowed", "how to mend"]


def write(path: Path, *tables: tuple[str, tuple[Row, ...]]) -> Path:
    write_workbook(path, tables, export="the export caseload.xlsx")
    return path


def cells(path: Path, sheet: str) -> list[list[Any]]:
    """What stands on a sheet, as calamine reads it; openpyxl must read the same."""
    rows = CalamineWorkbook.from_path(path).get_sheet_by_name(sheet).to_python()
    with_openpyxl = [[cell.value or "" for cell in row] for row in openpyxl.load_workbook(path)[sheet].iter_rows()]
    assert with_openpyxl == rows
    return rows


def found_in(path: Path) -> list[str]:
    """The column `found` of the sheet cases, read by calamine."""
    rows = CalamineWorkbook.from_path(path).get_sheet_by_name("cases").to_python(skip_empty_area=False)
    return [row[5] for row in rows[1:]]


def of_texts(*texts: str) -> tuple[str, tuple[Row, ...]]:
    return "cases", tuple(Row("cases.csv", 2, "A", "sex", "value", text, SEX, CORRECT) for text in texts)


def markup(path: Path) -> str:
    with zipfile.ZipFile(path) as book:
        return "\n".join(book.read(name).decode() for name in sorted(book.namelist()))


def test_a_sheet_a_table_says_what_was_found_where_and_how_to_mend_it(tmp_path: Path):
    path = write(tmp_path / "to-mend.xlsx", ("cases", CASES), ("contacts", CONTACTS), ("lines", DAMAGED))
    assert cells(path, "cases") == [
        HEADER,
        ["caseload.xlsx, sheet Babies", 4, "RB-7", "Sex", "the value", "Boy", SEX, CORRECT],
        ["caseload.xlsx, sheet Babies", 9, "RB-12", "1st seen", "the row", "31/06/2026", DAY, CORRECT],
        ["caseload.xlsx, sheet Babies", 11, "", "1st seen", "the row", "(nothing)", DAY, CORRECT],
    ]
    assert cells(path, "contacts")[1:] == [["visits.csv", 2, "RB-7", "Date", "the row", "soon", DAY, CORRECT]]
    assert cells(path, "lines")[1:] == [
        ["visits.csv", 30, "", "", "the row", "3 fields", "4 fields, as many as the header", "mend the line"]
    ]


def test_the_first_sheet_counts_by_table_and_reason_and_says_how_to_go_on(tmp_path: Path):
    path = write(tmp_path / "to-mend.xlsx", ("cases", CASES), ("contacts", CONTACTS), ("lines", DAMAGED))
    rows = cells(path, "What to do")
    assert rows[0][0] == "What was set aside of the export caseload.xlsx"
    at = rows.index(["table", "column", "what is set aside", "allowed", "how often"])
    assert rows[at + 1 :] == [
        ["cases", "1st seen", "the row", DAY, 2],
        ["cases", "Sex", "the value", SEX, 1],
        ["contacts", "Date", "the row", DAY, 1],
        ["lines", "", "the row", "4 fields, as many as the header", 1],
    ]
    words = [row[0] for row in rows[:at]]
    steps = [text for text in words if text[:2] in ("1.", "2.", "3.")]
    assert [text[:8] for text in steps] == ["1. Mend ", "2. Draw ", "3. Load "]
    assert "feeding-audit load EXPORT" in steps[2]
    # Words run over the empty cells beside them; nothing may stand in their way, nor run out of the page.
    assert all(set(row[1:]) <= {""} for row in rows[:at])
    assert max(map(len, words)) <= 110


def test_sheets_stand_in_the_order_of_the_layout_and_only_where_something_was_found(tmp_path: Path):
    tables = [("lines", DAMAGED), ("feeding_checks", ()), ("contacts", CONTACTS), ("cases", CASES)]
    path = write(tmp_path / "to-mend.xlsx", *tables)
    assert openpyxl.load_workbook(path).sheetnames == ["What to do", "cases", "contacts", "lines"]


def test_where_nothing_was_set_aside_it_says_so(tmp_path: Path):
    path = write(tmp_path / "to-mend.xlsx", ("cases", ()))
    assert [row[0] for row in cells(path, "What to do") if row[0]] == [
        "What was set aside of the export caseload.xlsx",
        "Nothing was set aside: there is nothing to mend.",
    ]
    assert openpyxl.load_workbook(path).sheetnames == ["What to do"]


def test_a_list_is_ready_to_filter_and_to_print(tmp_path: Path):
    sheet = openpyxl.load_workbook(write(tmp_path / "to-mend.xlsx", ("cases", CASES)))["cases"]
    assert sheet.freeze_panes == "A2"
    assert sheet.auto_filter.ref == "A1:H4"
    assert sheet.page_setup.orientation == "landscape"
    assert (sheet.page_setup.fitToWidth or 1, sheet.page_setup.fitToHeight) == (1, 0)
    assert sheet.sheet_properties.pageSetUpPr.fitToPage
    assert sheet.print_title_rows == "$1:$1"
    assert all(cell.alignment.wrap_text for row in sheet.iter_rows() for cell in row)
    widths = [sheet.column_dimensions[letter].width for letter in "ABCDEFGH"]
    assert all(8 <= width <= 50 for width in widths)


# Safe to open ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("=1+1", "'=1+1"),
        ("+44", "'+44"),
        ("-5", "'-5"),
        ("@SUM(A1)", "'@SUM(A1)"),
        ("\t=1", "'\t=1"),
        ("\r=1", "'\u240d=1"),
        ("a=1", "a=1"),
        ("12", "12"),
        ("2026-07-31", "2026-07-31"),
        ("https://example.org/?a=1", "https://example.org/?a=1"),
        ("internal:cases!A1", "internal:cases!A1"),
        ("{=SUM(A1)}", "{=SUM(A1)}"),
        ("<f>1</f>&amp;", "<f>1</f>&amp;"),
        (" two  spaces ", " two  spaces "),
        ("two\nlines", "two\nlines"),
        ("a\x00b\x07c\x1b\x7f", "a\u2400b\u2407c\u241b\u2421"),
        ("a\ud800b\ufffec\uffff", "a\ufffdb\ufffdc\ufffd"),
        # A cell's own way to write a character is a text like any other here.
        ("_x003D_1", "_x003D_1"),
        ("_x0041_x003D_x0000_", "_x0041\uff3fx003D_x0000_"),
        ("\U0001f37c 3 × 60 ml", "\U0001f37c 3 × 60 ml"),
    ],
)
def test_a_hostile_text_is_a_text_and_can_be_read(tmp_path: Path, text: str, expected: str):
    path = write(tmp_path / "to-mend.xlsx", of_texts(text))
    assert found_in(path) == [expected]
    cell = openpyxl.load_workbook(path)["cases"]["F2"]
    assert (cell.data_type, cell.hyperlink) == ("s", None)


def test_every_cell_that_may_be_hostile_is_guarded(tmp_path: Path):
    bad = "=1+1"
    write_workbook(tmp_path / "x.xlsx", [("cases", [Row(bad, 2, bad, bad, bad, bad, bad, bad)])], export=bad)
    texts = [
        value
        for sheet in openpyxl.load_workbook(tmp_path / "x.xlsx")
        for row in sheet.iter_rows(values_only=True)
        for value in row
        if isinstance(value, str)
    ]
    assert sum(bad in text for text in texts) == 7 + 1 + 3  # the row, the title, the reason
    assert not [text for text in texts if text.startswith("=")]
    assert not re.search("<f[ >]|hyperlink|externalLink|<c [^>]*t=.str", markup(tmp_path / "x.xlsx"))


TURNING = ("LRE", "RLE", "LRO", "RLO", "PDF", "LRI", "RLI", "FSI", "PDI")
HOSTILE = st.text(
    st.one_of(
        st.characters(),
        st.characters(min_codepoint=0, max_codepoint=0x1F),
        st.sampled_from("=+-@\t\r\n'\"<>&_x04D \ud800\udfff\ufffe\uffff\x7f\u2028"),
    ),
    max_size=30,
)


def stands_as(text: str) -> str:
    """What a cell may show of a text, told anew: every character itself if XML 1.0 has a place for it, else a mark.

    A mark too for what is not seen and turns the writing, breaks the line or moves a terminal's cursor.
    """
    shown = ""
    for character in text:
        code = ord(character)
        in_xml = code in (0x9, 0xA) or 0x20 <= code <= 0xD7FF or 0xE000 <= code <= 0xFFFD or code >= 0x10000
        turns = unicodedata.bidirectional(character) in TURNING or code in (0x200E, 0x200F, 0x61C, 0x2028, 0x2029)
        shown += character if in_xml and not 0x7F <= code < 0xA0 and not turns else "?"
    return "'" + shown if text[:1] in ("=", "+", "-", "@", "\t", "\r") else shown


def with_marks(text: str) -> str:
    return "".join(
        "?" if 0x2400 <= ord(character) <= 0x2421 or character == "\ufffd" else character for character in text
    )


@given(st.lists(HOSTILE, min_size=1, max_size=20))
@example(["_x003D_", "__x0041_", "_x0041__x0042_", "_x005F_x0041_"])
@settings(max_examples=60, deadline=None)
def test_whatever_is_found_it_comes_back_as_a_harmless_text(tmp_path_factory: pytest.TempPathFactory, texts: list[str]):
    path = write(tmp_path_factory.mktemp("book") / "to-mend.xlsx", of_texts(*texts))
    read = found_in(path)
    assert [with_marks(text).replace("\uff3f", "_") for text in read] == [
        with_marks(stands_as(text)).replace("\uff3f", "_") for text in texts
    ]
    assert not [text for text in read if text[:1] in ("=", "+", "-", "@", "\t", "\r")]
    for row in openpyxl.load_workbook(path)["cases"].iter_rows(min_row=2, min_col=6, max_col=6):
        assert row[0].data_type in ("s", "n") and (row[0].data_type == "s") == (row[0].value is not None)


@pytest.mark.parametrize(
    ("text", "kept"),
    [
        ("a" * 32_767, 32_767),
        ("a" * 32_768, 32_767 - len(" … (cut here; 32,768 characters)")),
        # Each counts twice for a cell, and is never parted: 32,735 units are 16,367 of them and a half.
        ("\U0001f37c" * 20_000, 16_367),
    ],
)
def test_a_text_too_long_for_a_cell_is_cut_and_says_so(tmp_path: Path, text: str, kept: int):
    (read,) = found_in(write(tmp_path / "to-mend.xlsx", of_texts(text)))
    mark = "" if len(text) == kept else f" … (cut here; {len(text):,} characters)"
    assert read == text[:kept] + mark
    assert len(read.encode("utf-16-le")) // 2 <= 32_767


def test_a_list_too_long_for_a_sheet_goes_on_and_the_first_sheet_says_so(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
):
    assert mending_workbook.ROWS_OF_A_SHEET == 2**20 - 1
    monkeypatch.setattr(mending_workbook, "ROWS_OF_A_SHEET", 3)
    rows = tuple(Row("visits.csv", line, "A", "Date", "row", "soon", DAY, CORRECT) for line in range(2, 9))
    path = write(tmp_path / "to-mend.xlsx", ("cases", CASES), ("contacts", rows))
    assert openpyxl.load_workbook(path).sheetnames == ["What to do", "cases", "contacts", "contacts 2", "contacts 3"]
    on_sheets = [[row[1] for row in cells(path, name)] for name in ("contacts", "contacts 2", "contacts 3")]
    assert on_sheets == [["line", 2, 3, 4], ["line", 5, 6, 7], ["line", 8]]
    first = cells(path, "What to do")
    assert [row[0] for row in first if "more than one sheet" in row[0]] == [
        "contacts: 7 findings are more than one sheet holds; they stand on contacts, contacts 2, contacts 3."
    ]
    assert ["contacts", "Date", "the row", DAY, 7] in first


def test_a_cell_that_was_not_written_stops_it(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(Worksheet, "write_string", lambda *_: -1)
    with pytest.raises(RuntimeError, match="not written"):
        write(tmp_path / "to-mend.xlsx", ("cases", CASES))
    assert list(tmp_path.iterdir()) == []


# The file -------------------------------------------------------------------------------------------------------------


def test_the_same_findings_give_the_same_bytes(tmp_path: Path):
    first = write(tmp_path / "one.xlsx", ("cases", CASES), ("lines", DAMAGED)).read_bytes()
    time.sleep(2.1)  # past the seconds of the properties, and the two seconds of a zip
    assert write(tmp_path / "two.xlsx", ("cases", CASES), ("lines", DAMAGED)).read_bytes() == first


def test_it_is_made_nowhere_but_in_its_own_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path / "nowhere"))
    (tmp_path / "lists").mkdir()
    write(tmp_path / "lists" / "to-mend.xlsx", ("cases", CASES))
    assert [path.name for path in tmp_path.rglob("*")] == ["lists", "to-mend.xlsx"]


def test_what_cannot_be_written_is_told_and_leaves_the_older_workbook(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    older = write(tmp_path / "to-mend.xlsx", ("cases", CASES)).read_bytes()

    def held_open(self: Path, target: Path) -> Path:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "replace", held_open)
    with pytest.raises(Refused, match="close the workbook"):
        write(tmp_path / "to-mend.xlsx", ("contacts", CONTACTS))
    assert (tmp_path / "to-mend.xlsx").read_bytes() == older
    assert [path.name for path in tmp_path.iterdir()] == ["to-mend.xlsx"]


@pytest.mark.skipif(os.name != "posix", reason="file modes are those of POSIX")
def test_who_may_read_it_is_the_callers_to_say(tmp_path: Path):
    before = os.umask(0o077)
    try:
        path = write(tmp_path / "to-mend.xlsx", ("cases", CASES))
    finally:
        os.umask(before)
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
