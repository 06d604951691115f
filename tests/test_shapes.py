"""From a path to sheets: folders, zips, workbooks, Parquet, and what is refused of each. Lines are counted apart."""

from __future__ import annotations

import hashlib
import io
import struct
import zipfile
from collections.abc import Callable
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from pathlib import Path

import openpyxl
import pyarrow as pa
import pyarrow.parquet as pq
import pytest
import xlsxwriter

from pipeline.errors import Refused
from pipeline.intake.read import limits, parquet, workbook, worksheet_xml, zipped
from pipeline.intake.read.contents import Contents, open_contents
from pipeline.intake.read.sheet import Reading, Sheet
from pipeline.intake.read.sheet_reader import read_sheet

CSV = b"case_ref,site\nA,North\n"


def rows(sheet: Sheet) -> dict[int, list[str]]:
    assert sheet.records["line"].to_pylist() == sheet.records["last_line"].to_pylist()
    return dict(zip(sheet.records["line"].to_pylist(), sheet.records["fields"].to_pylist(), strict=True))


def adds_up(sheet: Sheet) -> bool:
    return sheet.physical_lines == sheet.header_lines + sheet.blank_lines + sheet.records.num_rows


def zip_of(files: dict[str, bytes], packing: int = zipfile.ZIP_DEFLATED) -> bytes:
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", packing) as archive:
        for name, body in files.items():
            archive.writestr(name, body)
    return packed.getvalue()


def book(write: Callable[[xlsxwriter.Workbook], None], **options: object) -> bytes:
    packed = io.BytesIO()
    with xlsxwriter.Workbook(packed, {"in_memory": True, **options}) as opened:
        write(opened)
    return packed.getvalue()


def sheet_of(*lines: list[object]) -> bytes:
    """A workbook of one sheet named Babies."""

    def write(opened: xlsxwriter.Workbook) -> None:
        sheet = opened.add_worksheet("Babies")
        for number, line in enumerate(lines):
            sheet.write_row(number, 0, line)

    return book(write)


def opened(tmp_path: Path, name: str, body: bytes) -> Contents:
    (tmp_path / name).write_bytes(body)
    return open_contents(tmp_path / name)


def read(tmp_path: Path, name: str, body: bytes, reading: Reading | None = None) -> Sheet:
    (content,) = opened(tmp_path, name, body).contents
    return read_sheet(content, reading or Reading())


def last_row_with_text(body: bytes, name: str) -> int:
    """The last row that holds more than white space, by another reader."""
    sheet = openpyxl.load_workbook(io.BytesIO(body), data_only=True)[name]
    lines = sheet.iter_rows(values_only=True)
    return max(number for number, line in enumerate(lines, 1) if any(str(cell or "").strip() for cell in line))


# Folders, zips and single files


def test_a_folder_gives_its_files_and_tells_what_it_leaves(tmp_path: Path):
    (tmp_path / "deeper").mkdir()
    (tmp_path / "deeper" / "cases.csv").write_bytes(CSV)
    for name, body in {
        "cases.CSV": CSV,
        "contacts.tsv": b"a\tb\n",
        "caseload.xlsx": sheet_of(["a"]),
        "datapackage.json": b'{"created": "2026-10-12"}',
        "old.xls": b"x",
        "sheet.ods": b"x",
        "more.zip": zip_of({"cases.csv": CSV}),
        "~$caseload.xlsx": b"x",
        ".hidden.csv": CSV,
        "README.md": b"x",
    }.items():
        (tmp_path / name).write_bytes(body)
    found = open_contents(tmp_path)
    assert found.name == tmp_path.name
    assert [(content.file, content.name) for content in found.contents] == [
        ("caseload.xlsx, sheet Babies", "Babies"),
        ("cases.CSV", "cases"),
        ("contacts.tsv", "contacts"),
    ]
    assert found.contents[1].sha256 == hashlib.sha256(CSV).hexdigest()
    assert found.created == b'{"created": "2026-10-12"}'
    assert found.not_read == (
        ".hidden.csv: a hidden file, not read",
        "README.md: no file of an export, not read",
        "deeper: a folder within the folder, not read",
        "more.zip: a zip within, not read",
        "old.xls: an old workbook, not read; save it as .xlsx",
        "sheet.ods: an OpenDocument sheet, not read; save it as .xlsx",
        "~$caseload.xlsx: a mark that the file of that name is open somewhere, not read",
    )


def test_two_files_of_one_name_are_left_for_the_caller(tmp_path: Path):
    for name in ("cases.csv", "CASES.csv", "cases.txt"):
        (tmp_path / name).write_bytes(CSV)
    assert sorted(content.name for content in open_contents(tmp_path).contents) == ["CASES", "cases", "cases"]


@pytest.mark.parametrize("folder", ["", "export/", "export\\"], ids=["at the top", "in one folder", "backslash"])
def test_a_zip_is_read_at_its_top_or_in_its_one_folder(tmp_path: Path, folder: str):
    files = {
        "cases.csv": CSV,
        "datapackage.json": b"{}",
        "deeper/contacts.csv": CSV,
        "inner.zip": zip_of({"a.csv": CSV}),
    }
    found = opened(tmp_path, "export.zip", zip_of({folder + name: body for name, body in files.items()}))
    assert [(content.file, content.name) for content in found.contents] == [("export.zip: cases.csv", "cases")]
    assert found.contents[0].sha256 == hashlib.sha256(CSV).hexdigest()
    assert found.created == b"{}"
    assert found.not_read == (
        "export.zip: deeper: a folder within the zip, not read",
        "export.zip: inner.zip: a zip within, not read",
    )
    assert read_sheet(found.contents[0]).header == ("case_ref", "site")
    assert [path.name for path in tmp_path.iterdir()] == ["export.zip"], "nothing is unpacked to disk"


def test_what_macos_adds_to_a_zip_hides_no_folder(tmp_path: Path):
    body = zip_of({"export/cases.csv": CSV, "__MACOSX/export/._cases.csv": b"x", "export/._cases.csv": b"x"})
    found = opened(tmp_path, "export.zip", body)
    assert [content.file for content in found.contents] == ["export.zip: cases.csv"]
    assert found.not_read == (
        "export.zip: ._cases.csv: a hidden file, not read",
        "export.zip: __MACOSX: a folder within the zip, not read",
    )


def test_a_workbook_in_a_zip_is_read(tmp_path: Path):
    found = opened(tmp_path, "export.zip", zip_of({"caseload.xlsx": sheet_of(["a", "b"], [1, 2])}))
    assert [content.file for content in found.contents] == ["export.zip: caseload.xlsx, sheet Babies"]
    assert rows(read_sheet(found.contents[0])) == {2: ["1", "2"]}


def test_a_name_that_would_move_the_cursor_is_not_shown(tmp_path: Path):
    (content,) = opened(tmp_path, "export.zip", zip_of({"ca\x1b[2Jses.csv": CSV})).contents
    assert content.file == "export.zip: ca?[2Jses.csv"


def test_a_path_that_is_not_there_is_refused(tmp_path: Path):
    with pytest.raises(Refused, match="there is no such file or folder"):
        open_contents(tmp_path / "gone.csv")


@pytest.mark.parametrize("name", ["old.xls", "sheet.ods", "notes.docx", "cases"])
def test_a_file_of_no_readable_shape_is_refused(tmp_path: Path, name: str):
    with pytest.raises(Refused, match=r"not read.*\n  allowed: a folder or a \.zip of files, or one file: \.csv"):
        opened(tmp_path, name, CSV)


def test_where_nothing_can_be_read_it_is_refused(tmp_path: Path):
    with pytest.raises(Refused, match="nothing is in it"):
        open_contents(tmp_path)
    (tmp_path / "old.xls").write_bytes(b"x")
    with pytest.raises(Refused, match=r"it holds nothing that can be read: old\.xls: an old workbook"):
        open_contents(tmp_path)
    with pytest.raises(Refused, match=r"it holds nothing that can be read: export\.zip: inner\.zip: a zip within"):
        opened(tmp_path, "export.zip", zip_of({"inner.zip": zip_of({"cases.csv": CSV})}))
    with pytest.raises(Refused, match=r"it holds nothing that can be read: b\.xlsx, sheet Babies: empty, not read"):
        opened(tmp_path, "b.xlsx", sheet_of())


OLD = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(600)


@pytest.mark.parametrize(
    ("name", "body", "words"),
    [
        ("cases.csv", sheet_of(["a"]), "says text with columns, such as CSV, but it is a zip or a workbook"),
        ("cases.txt", OLD, "but it is an old workbook"),
        ("cases.csv", b"\n <!DOCTYPE html><table>", "but it is a web page or XML"),
        ("cases.csv", b"PAR1xxxx", "but it is Parquet"),
        ("cases.csv", b"%PDF-1.7", "but it is a PDF"),
        ("caseload.xlsx", CSV, r"says a workbook \(.xlsx or .xlsm\), but it is text"),
        ("caseload.xlsx", b"<html><table>", "but it is a web page or XML"),
        ("caseload.xlsx", OLD, "but it is an old workbook"),
        ("caseload.xlsx", OLD + "EncryptedPackage".encode("utf-16-le"), "a workbook protected by a password"),
        ("caseload.xlsx", b"", "but it is empty"),
        ("caseload.xlsx", zip_of({"cases.csv": CSV}), "it is a zip, but not an .xlsx workbook within"),
        ("cases.parquet", CSV, "says Parquet, but it is text"),
        ("cases.parquet", b"PARExxxx", "Parquet that is encrypted"),
        ("export.zip", CSV, "says a zip, but it is text"),
        ("export.zip", sheet_of(["a"]), "it is an office file, not a zip of files"),
        ("export.zip", b"7z\xbc\xaf\x27\x1c", "but it is a 7z archive"),
    ],
)
def test_an_ending_that_is_not_what_the_bytes_say_is_refused(tmp_path: Path, name: str, body: bytes, words: str):
    with pytest.raises(Refused, match=words):
        opened(tmp_path, name, body)


def test_all_faults_of_a_folder_are_told_at_once(tmp_path: Path):
    (tmp_path / "a.csv").write_bytes(b"PK\x03\x04")
    (tmp_path / "b.xlsx").write_bytes(CSV)
    with pytest.raises(Refused) as refused:
        open_contents(tmp_path)
    assert [fault.where for fault in refused.value.faults] == ["a.csv", "b.xlsx"]


# Zips that must not be unpacked


def forged(body: bytes, declared: int) -> bytes:
    """The same zip, declaring another unpacked size of its first member, in both places that say so."""
    changed = bytearray(body)
    struct.pack_into("<I", changed, 22, declared)
    struct.pack_into("<I", changed, body.index(b"PK\x01\x02") + 24, declared)
    return bytes(changed)


@pytest.mark.parametrize("name", ["export.zip", "caseload.xlsx"])
def test_a_zip_that_would_unpack_to_more_than_is_read_is_refused(tmp_path: Path, name: str):
    with pytest.raises(Refused, match="unpacked it would have 500,000,001 bytes\n  allowed: at most 500,000,000 bytes"):
        opened(tmp_path, name, forged(zip_of({"cases.csv": CSV}), 500_000_001))


@pytest.mark.parametrize("name", ["export.zip", "caseload.xlsx"])
def test_a_real_bomb_is_not_unpacked(tmp_path: Path, name: str, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(zipped, "MOST_BYTES", 1_000_000)
    with pytest.raises(Refused, match="unpacked it would have 1,200,000 bytes"):
        opened(tmp_path, name, zip_of({"cases.csv": bytes(600_000), "xl/workbook.xml": bytes(600_000)}))


def test_a_member_that_holds_more_than_it_says_is_refused(tmp_path: Path):
    with pytest.raises(Refused, match=r"export\.zip: it is broken and cannot be unpacked"):
        opened(tmp_path, "export.zip", forged(zip_of({"cases.csv": CSV * 100_000}), 10))


def test_a_zip_of_more_than_10_000_files_is_refused(tmp_path: Path):
    many = {f"{number}.csv": b"" for number in range(10_001)}
    with pytest.raises(Refused, match="it holds 10,001 files"):
        opened(tmp_path, "export.zip", zip_of(many, zipfile.ZIP_STORED))


def test_a_zip_with_a_password_is_refused(tmp_path: Path):
    body = zip_of({"cases.csv": CSV})
    changed = bytearray(body)
    changed[6] |= 1
    changed[body.index(b"PK\x01\x02") + 8] |= 1
    with pytest.raises(Refused, match="protected by a password"):
        opened(tmp_path, "export.zip", bytes(changed))


@pytest.mark.parametrize("packing", [zipfile.ZIP_BZIP2, zipfile.ZIP_LZMA])
def test_other_packings_are_refused(tmp_path: Path, packing: int):
    with pytest.raises(Refused, match="packed in a way that is not read"):
        opened(tmp_path, "export.zip", zip_of({"cases.csv": CSV}, packing))


@pytest.mark.filterwarnings("ignore:Duplicate name")
def test_a_zip_with_one_file_twice_is_refused(tmp_path: Path):
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w") as archive:
        archive.writestr("cases.csv", CSV)
        archive.writestr("cases.csv", CSV)
    with pytest.raises(Refused, match="two files of one name"):
        opened(tmp_path, "export.zip", packed.getvalue())


@pytest.mark.parametrize("name", ["export.zip", "caseload.xlsx"])
def test_a_zip_that_is_cut_off_is_refused(tmp_path: Path, name: str):
    with pytest.raises(Refused, match="it is broken"):
        opened(tmp_path, name, sheet_of(["a"])[:-30])


# Workbooks


def typed(opened: xlsxwriter.Workbook) -> None:
    day, moment, clock, spell = (
        opened.add_format({"num_format": style})
        for style in ("dd/mm/yyyy", "yyyy-mm-dd hh:mm:ss", "hh:mm:ss", "[h]:mm:ss")
    )
    sheet = opened.add_worksheet("Babies")
    sheet.write_row(0, 0, ["what", "value"])
    sheet.write_datetime(1, 1, datetime(2026, 7, 31), day)
    sheet.write_datetime(2, 1, datetime(2026, 7, 31, 10, 15), moment)
    sheet.write_datetime(3, 1, datetime(2026, 7, 31, 10, 15), day)
    sheet.write_datetime(4, 1, datetime(2026, 7, 31), moment)
    sheet.write_datetime(5, 1, time(10, 15), clock)
    sheet.write_number(6, 1, 26.5 / 24, spell)
    sheet.write_number(7, 1, 3.1)
    sheet.write_number(8, 1, 7)
    sheet.write_number(9, 1, 9990000018)
    sheet.write_number(10, 1, 1e22)
    sheet.write_number(11, 1, 0.0000012)
    sheet.write_boolean(12, 1, True)
    sheet.write_boolean(13, 1, False)
    sheet.write_string(14, 1, " 007 ")
    sheet.write_number(15, 1, -0.5)


TYPED = [
    "2026-07-31",
    "2026-07-31 10:15:00",
    "2026-07-31 10:15:00",
    "2026-07-31",
    "10:15:00",
    "26:30:00",
    "3.1",
    "7",
    "9990000018",
    "10000000000000000000000",
    "0.0000012",
    "TRUE",
    "FALSE",
    " 007 ",
    "-0.5",
]


@pytest.mark.parametrize("system", [False, True], ids=["1900", "1904"])
def test_cells_become_texts_in_either_date_system(tmp_path: Path, system: bool):
    body = book(typed, date_1904=system, default_date_format=None)
    sheet = read(tmp_path, "caseload.xlsx", body)
    assert [fields[1] for fields in rows(sheet).values()] == TYPED
    assert adds_up(sheet) and sheet.physical_lines == last_row_with_text(body, "Babies") == 16


def test_lines_are_row_numbers_and_empty_rows_are_blank(tmp_path: Path):
    body = sheet_of(
        [], ["Riverbank"], [], ["Ref", None, "Seen"], ["A", 1], [], [" ", "\u00a0"], [None, None, None, "x"]
    )
    sheet = read(tmp_path, "caseload.xlsx", body, Reading(header=(4,)))
    assert sheet.header == ("Ref", "column 2", "Seen", "column 4")
    assert rows(sheet) == {5: ["A", "1", "", ""], 8: ["", "", "", "x"]}
    assert (sheet.header_lines, sheet.blank_lines) == (2, 4)
    assert adds_up(sheet) and sheet.physical_lines == last_row_with_text(body, "Babies") == 8
    assert read(tmp_path, "caseload.xlsx", body).header[0] == "Riverbank"


def test_two_rows_of_names_under_merged_cells(tmp_path: Path):
    def write(opened: xlsxwriter.Workbook) -> None:
        sheet = opened.add_worksheet("Babies")
        sheet.merge_range(0, 1, 0, 2, "Session 1")
        sheet.merge_range(0, 3, 0, 4, "Session 2")
        sheet.write_row(1, 0, ["Ref", "Date", "Who", "Date", "Who"])
        sheet.write_row(2, 0, list("ABCDE"))

    sheet = read(tmp_path, "caseload.xlsx", book(write), Reading(header=(1, 2)))
    assert sheet.header == ("Ref", *(f"Session {one} / {two}" for one in (1, 2) for two in ("Date", "Who")))
    assert rows(sheet) == {3: list("ABCDE")}
    assert adds_up(sheet)


@pytest.mark.parametrize("header", [(4,), (2, 1)])
def test_rows_of_names_that_are_not_there_are_refused(tmp_path: Path, header: tuple[int, ...]):
    with pytest.raises(Refused, match="the names are said to stand in line"):
        read(tmp_path, "caseload.xlsx", sheet_of(["a"], [1], [2]), Reading(header=header))


def test_error_cells_and_formulas_never_calculated_are_text(tmp_path: Path):
    def write(opened: xlsxwriter.Workbook) -> None:
        opened.add_worksheet("First").write(0, 0, "x")  # so that the part read is not simply the first
        sheet = opened.add_worksheet("Babies")
        sheet.write_row(0, 0, ["a", "b", "c"])
        for row, error in enumerate(["#N/A", "#DIV/0!", "#REF!", "#VALUE!", "#NAME?"], start=1):
            sheet.write_formula(row, 2, "=A1", value=error)
        sheet.write_formula(6, 1, "=A1", value="fine")

    body = book(write)
    by_other = openpyxl.load_workbook(io.BytesIO(body), data_only=True)["Babies"]
    _, content = opened(tmp_path, "caseload.xlsx", body).contents
    sheet = read_sheet(content)
    assert [fields[2] for fields in rows(sheet).values()][:5] == [by_other.cell(row, 3).value for row in range(2, 7)]
    assert rows(sheet)[2] == ["", "", "#N/A"] and rows(sheet)[7] == ["", "fine", ""]
    assert adds_up(sheet)

    never = openpyxl.Workbook()
    never.active.append(["a", "b"])
    never.active.append([1, "=A2+1"])
    never.active.append([None, "=A2+1"])
    saved = io.BytesIO()
    never.save(saved)
    sheet = read(tmp_path, "never.xlsx", saved.getvalue())
    assert rows(sheet) == {2: ["1", worksheet_xml.NOT_CALCULATED], 3: ["", worksheet_xml.NOT_CALCULATED]}
    assert sheet.said[0].startswith("formulas whose result was not saved: 2;")
    assert adds_up(sheet)


def test_hidden_sheets_are_read_and_sheets_without_cells_are_told(tmp_path: Path):
    def write(opened: xlsxwriter.Workbook) -> None:
        opened.add_worksheet("Seen").write_row(0, 0, ["a"])
        hidden = opened.add_worksheet("Hidden")
        hidden.write_row(0, 0, ["b"])
        hidden.hide()
        very = opened.add_worksheet("Very & <hidden>")
        very.write_row(0, 0, ["c"])
        very.very_hidden()
        opened.add_worksheet("Empty")
        chart = opened.add_chart({"type": "line"})
        chart.add_series({"values": "=Seen!$A$1:$A$2"})
        opened.add_chartsheet("Chart").set_chart(chart)

    found = opened(tmp_path, "caseload.xlsx", book(write))
    assert [(content.file, content.name) for content in found.contents] == [
        ("caseload.xlsx, sheet Seen", "Seen"),
        ("caseload.xlsx, sheet Hidden (hidden)", "Hidden"),
        ("caseload.xlsx, sheet Very & <hidden> (hidden)", "Very & <hidden>"),
    ]
    assert [read_sheet(content).header for content in found.contents] == [("a",), ("b",), ("c",)]
    assert found.not_read == (
        "caseload.xlsx, sheet Empty: empty, not read",
        "caseload.xlsx, sheet Chart: a sheet without cells (chartsheet), not read",
    )


SPREADSHEET = 'xmlns:x="http://schemas.openxmlformats.org/spreadsheetml/2006/main"'


def test_a_sheet_written_in_another_hand_is_read(tmp_path: Path):
    # Prefixed elements, cells without an address, texts within cells, a text read aloud (rPh), empty texts behind.
    written = f"""<x:worksheet {SPREADSHEET}><x:sheetData>
        <x:row><x:c t="inlineStr"><x:is><x:t>Ref</x:t></x:is></x:c><x:c t="str"><x:v>Seen</x:v></x:c></x:row>
        <x:row><x:c t="inlineStr"><x:is><x:r><x:t>A</x:t></x:r><x:r><x:t>1</x:t></x:r></x:is></x:c>
            <x:c t="e"><x:v>#N/A</x:v></x:c></x:row>
        <x:row r="4"><x:c r="B4" t="s"><x:v>0</x:v></x:c></x:row>
        <x:row r="6"><x:c r="A6" t="str"><x:f>B1</x:f><x:v></x:v></x:c></x:row>
        <x:row r="7"><x:c r="B7" t="s"><x:v>1</x:v></x:c></x:row>
    </x:sheetData></x:worksheet>"""
    shared = f"""<x:sst {SPREADSHEET}><x:si><x:t>May</x:t><x:rPh sb="0" eb="1"><x:t>mei</x:t></x:rPh></x:si>
        <x:si><x:t> </x:t><x:rPh sb="0" eb="1"><x:t>ku</x:t></x:rPh></x:si></x:sst>"""
    with zipfile.ZipFile(io.BytesIO(sheet_of(["x"]))) as archive:
        parts = {name: archive.read(name) for name in archive.namelist()}
    parts |= {"xl/worksheets/sheet1.xml": written.encode(), "xl/sharedStrings.xml": shared.encode()}
    sheet = read(tmp_path, "caseload.xlsx", zip_of(parts))
    assert sheet.header == ("Ref", "Seen")
    assert rows(sheet) == {2: ["A1", "#N/A"], 4: ["", "May"]}
    assert sheet.physical_lines == 4 and adds_up(sheet)


def test_a_stray_cell_far_out_is_refused_before_room_is_made_for_it(tmp_path: Path):
    def write(opened: xlsxwriter.Workbook) -> None:
        sheet = opened.add_worksheet("Babies")
        sheet.write(0, 0, "a")
        sheet.write(1_048_575, 16_383, "SECRET")

    with pytest.raises(Refused, match="sheet Babies: its cells reach to row 1048576, column 16384") as refused:
        opened(tmp_path, "caseload.xlsx", book(write))
    assert "SECRET" not in str(refused.value)


def test_formats_without_a_value_make_no_sheet_larger(tmp_path: Path):
    def write(opened: xlsxwriter.Workbook) -> None:
        sheet = opened.add_worksheet("Babies")
        sheet.write(0, 0, "a")
        sheet.write_blank(1_048_575, 16_383, None, opened.add_format({"bold": True}))

    sheet = read(tmp_path, "caseload.xlsx", book(write))
    assert (sheet.header, sheet.physical_lines) == (("a",), 1)


@pytest.mark.parametrize("part", ["xl/workbook.xml", "xl/worksheets/sheet1.xml", "xl/sharedStrings.xml"])
@pytest.mark.parametrize("body", [b"", b"<a><b>", None], ids=["empty", "cut off", "gone"])
def test_a_broken_workbook_is_refused(tmp_path: Path, part: str, body: bytes | None):
    with zipfile.ZipFile(io.BytesIO(sheet_of(["x"]))) as archive:
        parts = {name: archive.read(name) for name in archive.namelist() if name != part}
    if body is not None:
        parts[part] = body
    with pytest.raises(Refused, match="the workbook is broken"):
        opened(tmp_path, "caseload.xlsx", zip_of(parts))


def test_a_cell_that_cannot_be_read_is_refused_and_not_printed(tmp_path: Path):
    with zipfile.ZipFile(io.BytesIO(sheet_of(["x", 2]))) as archive:
        parts = {name: archive.read(name) for name in archive.namelist()}
    parts["xl/worksheets/sheet1.xml"] = parts["xl/worksheets/sheet1.xml"].replace(b"><v>2<", b' t="n"><v>SECRET<')
    with pytest.raises(Refused, match="sheet Babies: the workbook is broken") as refused:
        read(tmp_path, "caseload.xlsx", zip_of(parts))
    assert "SECRET" not in str(refused.value)


def test_rows_are_joined_over_every_stretch(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(workbook, "_ROWS", 3)
    monkeypatch.setattr(parquet, "_ROWS", 3)
    sheet = read(tmp_path, "caseload.xlsx", sheet_of(["a", "b"], *([number, number * 2] for number in range(8))))
    assert rows(sheet) == {number + 2: [str(number), str(number * 2)] for number in range(8)}
    table = pa.table({"a": range(8), "b": range(0, 16, 2)})
    assert rows(read(tmp_path, "cases.parquet", parquet_of(table))) == rows(sheet)


def test_5_000_columns(tmp_path: Path):
    names = [f"name {place}" for place in range(5_000)]
    values = [str(place) for place in range(5_000)]
    in_text = read(tmp_path, "wide.csv", (",".join(names) + "\n" + ",".join(values) + "\n").encode())
    in_book = read(tmp_path, "wide.xlsx", sheet_of(names, values))
    in_parquet = read(
        tmp_path, "wide.parquet", parquet_of(pa.table({name: [v] for name, v in zip(names, values, strict=True)}))
    )
    for sheet in (in_text, in_book, in_parquet):
        assert sheet.header == tuple(names)
        assert rows(sheet) == {2: values}
        assert sheet.physical_lines == 2


# Parquet


def parquet_of(table: pa.Table) -> bytes:
    written = io.BytesIO()
    pq.write_table(table, written)
    return written.getvalue()


@pytest.mark.parametrize(
    ("values", "kind", "texts"),
    [
        ([1, None, -3], pa.int8(), ["1", "", "-3"]),
        ([2**63, 1, 2], pa.uint64(), ["9223372036854775808", "1", "2"]),
        ([1.5, 2.0, 1e22], pa.float64(), ["1.5", "2", "10000000000000000000000"]),
        ([3.1, None, 7.0], pa.float32(), ["3.1", "", "7"]),
        ([True, False, None], pa.bool_(), ["TRUE", "FALSE", ""]),
        ([date(2026, 7, 31), None, date(2024, 2, 29)], pa.date32(), ["2026-07-31", "", "2024-02-29"]),
        ([date(2026, 7, 31)] * 3, pa.date64(), ["2026-07-31"] * 3),
        (
            [datetime(2026, 7, 31), datetime(2026, 7, 31, 10, 15), None],
            pa.timestamp("ns"),
            ["2026-07-31", "2026-07-31 10:15:00", ""],
        ),
        # Midnight of British Summer Time: the moment is of the day before in UTC, and neither is cut to a day.
        ([datetime(2026, 7, 30, 23)] * 3, pa.timestamp("us", "Europe/London"), ["2026-07-30 23:00:00Z"] * 3),
        ([datetime(2026, 7, 31), None, None], pa.timestamp("s", "UTC"), ["2026-07-31 00:00:00Z", "", ""]),
        ([time(10, 15), None, time(0)], pa.time64("us"), ["10:15:00", "", "00:00:00"]),
        ([timedelta(hours=26.5), timedelta(seconds=-90), None], pa.duration("ns"), ["26:30:00", "-00:01:30", ""]),
        ([Decimal("3.10"), Decimal("300.00"), None], pa.decimal128(9, 2), ["3.1", "300", ""]),
        (["x", None, " y "], pa.dictionary(pa.int8(), pa.string()), ["x", "", " y "]),
        (["x", None, "é"], pa.large_string(), ["x", "", "é"]),
        ([b"x", None, "é".encode()], pa.binary(), ["x", "", "é"]),
        ([None, None, None], pa.null(), ["", "", ""]),
    ],
    ids=str,
)
def test_parquet_values_become_the_same_texts(
    tmp_path: Path, values: list[object], kind: pa.DataType, texts: list[str]
):
    table = pa.table({"a": ["p", "q", "r"], "b": pa.array(values, kind)})
    sheet = read(tmp_path, "cases.parquet", parquet_of(table))
    assert sheet.header == ("a", "b")
    # The names count as line 1.
    assert rows(sheet) == {line: [a, b] for line, a, b in zip((2, 3, 4), "pqr", texts, strict=True)}
    assert (sheet.physical_lines, sheet.header_lines, sheet.blank_lines) == (4, 1, 0)


def test_parquet_without_rows_and_in_several_row_groups(tmp_path: Path):
    table = pa.table({"a": [f"r{number}" for number in range(10)], "b": [float(number) for number in range(10)]})
    assert read(tmp_path, "cases.parquet", parquet_of(table.slice(0, 0))).physical_lines == 1
    written = io.BytesIO()
    pq.write_table(table, written, row_group_size=3)
    sheet = read(tmp_path, "cases.parquet", written.getvalue())
    assert rows(sheet) == {number + 2: [f"r{number}", str(number)] for number in range(10)}


@pytest.mark.parametrize(
    ("column", "words"),
    [
        (pa.array([[1, 2]]), "column 2: a nested column"),
        (pa.array([{"x": 1}]), "column 2: a nested column"),
        (pa.array([b"\xff"]), "column 2: values that cannot be read as text"),
    ],
    ids=["list", "struct", "bytes"],
)
def test_parquet_columns_that_are_no_text_are_refused_without_their_names(tmp_path: Path, column: pa.Array, words: str):
    with pytest.raises(Refused, match=words) as refused:
        read(tmp_path, "cases.parquet", parquet_of(pa.table({"a": ["x"], "SECRET": column})))
    assert "SECRET" not in str(refused.value)


def test_parquet_that_is_broken_or_too_large_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    body = parquet_of(pa.table({"a": ["x", "y"]}))
    with pytest.raises(Refused, match="the Parquet file cannot be read"):
        read(tmp_path, "cases.parquet", body[:-9])
    with pytest.raises(Refused, match="the names are said to stand in other lines"):
        read(tmp_path, "cases.parquet", body, Reading(header=(2,)))
    monkeypatch.setattr(parquet, "MOST_VALUES", 1)
    with pytest.raises(Refused, match="2 rows of 1 columns"):
        read(tmp_path, "cases.parquet", body)


def test_a_short_parquet_file_of_long_texts_is_refused_before_they_are_written_out(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
):
    texts = pa.DictionaryArray.from_arrays(pa.array([0] * 600), ["SECRET" * 150_000])
    body = parquet_of(pa.table({"a": ["x"] * 600, "b": texts}))
    assert len(body) < 1_000_000
    with pytest.raises(Refused, match=r"cases.parquet: 540,000,600 bytes\n  allowed: at most 500,000,000 bytes in all"):
        read(tmp_path, "cases.parquet", body)
    monkeypatch.setattr(parquet, "LONGEST_LINE", 899_999)
    with pytest.raises(
        Refused, match=r"cases.parquet, column 2: a value of 900,000 bytes\n  allowed: .*899,999"
    ) as refused:
        read(tmp_path, "cases.parquet", body)
    assert "SECRET" not in str(refused.value)


def test_parquet_with_more_columns_than_a_spreadsheet_has_is_refused(tmp_path: Path):
    wide = pa.schema([(f"c{place}", pa.int8()) for place in range(16_385)]).empty_table()
    with pytest.raises(Refused, match=r"cases.parquet: 16,385 columns\n  allowed: at most 16,384 columns"):
        read(tmp_path, "cases.parquet", parquet_of(wide))


# Limits


def test_more_files_or_bytes_than_are_read_are_told_together():
    limits.check_files(3, 10, "export", most=3, most_bytes=10)
    with pytest.raises(Refused) as refused:
        limits.check_files(4, 11, "export", most=3, most_bytes=10)
    assert [(fault.where, fault.found, fault.allowed) for fault in refused.value.faults] == [
        ("export", "4 files", "at most 3 files"),
        ("export", "11 bytes", "at most 10 bytes in all"),
    ]


@pytest.mark.parametrize("as_zip", [False, True])
def test_a_folder_or_zip_of_more_files_than_are_read_is_refused(tmp_path: Path, as_zip: bool):
    names = [f"{number}.csv" for number in range(1_001)]
    if as_zip:
        with pytest.raises(Refused, match=r"export.zip: 1,001 files"):
            opened(tmp_path, "export.zip", zip_of(dict.fromkeys(names, b"")))
        return
    for name in names:
        (tmp_path / name).touch()
    with pytest.raises(Refused, match=r"1,001 files\n  allowed: at most 1,000 files"):
        open_contents(tmp_path)


@pytest.mark.parametrize("in_folder", [False, True])
def test_a_file_that_is_too_large_is_refused_before_it_is_read(tmp_path: Path, in_folder: bool):
    path = tmp_path / "cases.csv"
    with path.open("wb") as file:
        file.truncate(500_000_001)  # takes no room on the disk
    with pytest.raises(Refused, match=r"500,000,001 bytes\n  allowed: at most 500,000,000 bytes in all"):
        open_contents(tmp_path if in_folder else path)


@pytest.mark.parametrize(
    ("body", "line", "length"),
    [
        (b"a,b\r\n1,2\r\n" + b"x" * 9 + b"\r\n1,2\r\n", 3, 9),
        (b"x" * 9, 1, 9),
        (b"a\rb\r" + b"x" * 9 + b"\ry", 3, 9),
        (b"a\nb\n\n" + b"x" * 20 + b"\n", 4, 20),
    ],
)
def test_a_line_that_is_too_long_is_named(body: bytes, line: int, length: int):
    with pytest.raises(Refused) as refused:
        limits.check_lines(body, "cases.csv", longest=8)
    (fault,) = refused.value.faults
    assert (fault.where, fault.found) == (f"cases.csv, line {line}", f"a line of {length} bytes")


@pytest.mark.parametrize("end", [b"\n", b"\r", b"\r\n"])
def test_lines_as_long_as_allowed_are_read(end: bytes):
    for body in (end.join([b"x" * 8] * 9), end.join([b"x" * 8, b"", b"x", b"x" * 7, b"x" * 8]) + end, b"", end * 20):
        limits.check_lines(body, "cases.csv", longest=8)


@pytest.mark.parametrize("inline", [True, False])
def test_a_cell_that_is_too_long_is_refused(tmp_path: Path, inline: bool, monkeypatch: pytest.MonkeyPatch):
    def write(opened: xlsxwriter.Workbook) -> None:
        sheet = opened.add_worksheet("Babies")
        sheet.write(0, 0, "a" * 10)
        sheet.write_formula(1, 0, "=A1", None, "SECRET" * 2) if inline else sheet.write(1, 0, "SECRET" * 2)

    monkeypatch.setattr(worksheet_xml, "LONGEST_LINE", 12)
    assert read(tmp_path, "caseload.xlsx", book(write)).records.num_rows == 1
    monkeypatch.setattr(worksheet_xml, "LONGEST_LINE", 11)
    with pytest.raises(Refused, match=r"caseload\.xlsx: a cell of 12 signs\n  allowed: cells of up to") as refused:
        opened(tmp_path, "caseload.xlsx", book(write))
    assert "SECRET" not in str(refused.value)


@pytest.mark.parametrize("encoding", ["utf-8", "utf-16"])
def test_a_field_of_a_million_bytes_is_refused_with_its_line(tmp_path: Path, encoding: str):
    with pytest.raises(Refused, match=r"cases.csv, line 2: a line of [0-9,]+ bytes\n  allowed: .* 1,000,000 bytes"):
        read(tmp_path, "cases.csv", ("a,b\n1," + "x" * 1_000_000 + "\n").encode(encoding))


def test_text_with_more_columns_than_a_spreadsheet_has_is_refused(tmp_path: Path):
    with pytest.raises(Refused, match=r"wide.csv: 16,385 columns\n  allowed: at most 16,384 columns"):
        read(tmp_path, "wide.csv", b"a," * 16_384 + b"a\n")
