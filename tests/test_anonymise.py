"""A workbook with names in it, made into an export without: what goes, what takes its place, what is left on the disk.

Every name and number here is invented; 999 000 0018 and its like are of a range of NHS numbers that is never issued.
"""

from __future__ import annotations

import dataclasses
import io
import re
import zipfile
from collections.abc import Sequence
from datetime import date
from pathlib import Path

import pytest
from python_calamine import CalamineWorkbook
from xlsxwriter import Workbook

from pipeline import run
from pipeline.errors import Refused
from pipeline.intake.anonymise import pseudonyms
from pipeline.intake.anonymise.column_plan import KEPT, Asked
from pipeline.intake.anonymise.without_names import made
from pipeline.runs import run_anonymise
from tests.conftest import feeding_audit

KEY = bytes(range(32))
HEADER = ("Hospital no", "Baby's name", "Born", "1st seen", "Seen by", "Site", "Copy")
BABIES = [
    HEADER,
    ("H1230037", "Ada Example", "2026-01-31", "2026-02-05", "Jane Example", "Hub", "2026-01-31"),
    ("H1230074", "Ben Example", "2026-02-01", "2026-02-01", "Mary Example", "Hub", "2026-02-01"),
    ("H1230111", "Cleo Example", "2026-03-01", "2026-02-27", "Jane Example", "Hub", "2026-03-01"),
    ("", "Dan Example", "2026-03-01", "2026-03-30", "Jane Example", "Hub", "2026-03-01"),
]
VISITS = [("Hosp. No.", "Date", "Phone"), ("h 123-0074", "2026-02-09", "07700 900123")]
ASKED = Asked(("Hospital no", "Hosp. No."), "Born", "1st seen", ("Seen by",))
TYPED = ("--record-number", "Hospital no", "--record-number", "Hosp. No.", "--birth-date", "Born")
TYPED += ("--first-contact", "1st seen", "--code", "Seen by")


def workbook(path: Path, **sheets: Sequence[Sequence[str]]) -> Path:
    book = Workbook(path)
    for name, rows in sheets.items():
        worksheet = book.add_worksheet(name)
        for at, row in enumerate(rows):
            worksheet.write_row(at, 0, row)
    book.close()
    return path


def rows_of(path: Path, sheet: str) -> list[list[str]]:
    return CalamineWorkbook.from_path(path).get_sheet_by_name(sheet).to_python()


@pytest.fixture
def caseload(tmp_path: Path) -> Path:
    return workbook(tmp_path / "caseload.xlsx", Babies=BABIES, Visits=VISITS, Lists=[("Word",), ("x",)])


def anonymised(audit: Path, path: Path, out: Path, asked: Asked = ASKED) -> Path:
    return run_anonymise.anonymise(audit, run_anonymise.planned(audit, path, asked), out).path


def test_names_go_and_ages_and_pseudonyms_take_their_place(audit: Path, caseload: Path, tmp_path: Path):
    out = anonymised(audit, caseload, tmp_path / "out.xlsx")
    header, *babies = rows_of(out, "Babies")
    assert header == ["case_ref", "age_days", "1st seen", "Seen by", "Site"]
    # By hand: 31 January to 5 February is 5 days, the same day 0; a birth after the contact is no age.
    assert [row[1] for row in babies] == ["5", "0", "", ""]
    assert babies[0][3] == babies[2][3] != babies[1][3]
    assert babies[3][0] == ""
    references = [row[0] for row in babies[:3]]
    assert len(set(references)) == 3
    assert all(re.fullmatch("[a-z][a-z2-9]{11}", reference) for reference in references)
    assert rows_of(out, "Visits") == [["case_ref", "Date"], [references[1], "2026-02-09"]]
    assert CalamineWorkbook.from_path(out).sheet_names == ["Babies", "Visits"]


def test_nothing_of_who_they_are_is_in_the_file_nor_the_key(audit: Path, caseload: Path, tmp_path: Path):
    out = anonymised(audit, caseload, tmp_path / "out.xlsx")
    key = (audit / pseudonyms.KEY_FILE).read_text().strip()
    with zipfile.ZipFile(io.BytesIO(out.read_bytes())) as packed:
        body = b"".join(packed.read(name) for name in packed.namelist()).decode()
    for word in ("Example", "1230", "2026-01-31", "07700", "Word", key):
        assert word not in body
    assert out.stat().st_mode & 0o077 == (audit / pseudonyms.KEY_FILE).stat().st_mode & 0o077 == 0
    assert sorted(path.name for path in tmp_path.iterdir()) == ["audit", "caseload.xlsx", "out.xlsx"]


def test_a_baby_keeps_its_pseudonym_as_long_as_the_key_is_kept(audit: Path, caseload: Path, tmp_path: Path):
    first, second, third = (
        rows_of(anonymised(audit, caseload, tmp_path / name), "Babies")[1][0]
        for name in ("one.xlsx", "two.xlsx", "three.xlsx")
        if name != "three.xlsx" or (audit / pseudonyms.KEY_FILE).unlink() is None
    )
    assert first == second != third


def test_how_a_number_is_written_makes_no_difference():
    assert pseudonyms.pseudonym(KEY, "case", "999 000 0018") == pseudonyms.pseudonym(KEY, "case", " 999-000-0018")
    assert pseudonyms.pseudonym(KEY, "case", "h1") == pseudonyms.pseudonym(KEY, "case", "Ｈ1")
    assert pseudonyms.pseudonym(KEY, "case", "9990000018") != pseudonyms.pseudonym(KEY, "case", "9990000026")
    assert pseudonyms.pseudonym(KEY, "case", "h1") != pseudonyms.pseudonym(bytes(32), "case", "h1")
    assert pseudonyms.pseudonym(KEY, "case", " - ") == ""


@pytest.mark.parametrize(
    ("numbers", "is_refused"),
    [
        (("2026/1/11", "2026/11/1"), True),
        (("12-3", "1-23"), True),
        (("12-3", "12/3", "12 - 3", "123"), False),  # one number, written in four ways
        (("12-3", "12-4"), False),
    ],
)
def test_two_babies_whose_numbers_differ_in_their_marks_do_not_become_one(
    audit: Path, tmp_path: Path, numbers: tuple[str, ...], is_refused: bool
):
    path = workbook(tmp_path / "marks.xlsx", Babies=[("Ref", "Site"), *((number, "Hub") for number in numbers)])
    out = tmp_path / "out.xlsx"
    if is_refused:
        with pytest.raises(Refused, match="1 record numbers have the letters and digits of another") as refused:
            anonymised(audit, path, out, Asked(("Ref",)))
        assert not any(number in str(refused.value) for number in numbers)
        assert not out.exists()
        assert not (audit / pseudonyms.KEY_FILE).exists()
    else:
        made = [row[0] for row in rows_of(anonymised(audit, path, out, Asked(("Ref",))), "Babies")[1:]]
        assert len(set(made)) == (1 if len(numbers) == 4 else 2)


def test_many_numbers_have_many_pseudonyms():
    many = {pseudonyms.pseudonym(KEY, "case", f"{number:07}") for number in range(20_000)}
    assert len(many) == 20_000


@pytest.mark.parametrize("written", ["", "abc", "00" * 31], ids=["empty", "no key", "too short"])
def test_a_key_that_is_not_whole_is_refused_and_stays(audit: Path, caseload: Path, tmp_path: Path, written: str):
    (audit / pseudonyms.KEY_FILE).write_text(written)
    with pytest.raises(Refused, match="not whole"):
        anonymised(audit, caseload, tmp_path / "out.xlsx")
    assert (audit / pseudonyms.KEY_FILE).read_text() == written
    assert not (tmp_path / "out.xlsx").exists()


@pytest.mark.parametrize(
    ("asked", "found"),
    [
        (Asked(), "nobody said which column it is"),
        (Asked(("Hospital",)), "there is no column Hospital"),
        (Asked(("Hospital no",), "Born"), "an age in days needs it"),
        (Asked(("Hospital no", "Site")), "it has Hospital no and Site"),
    ],
)
def test_what_is_asked_must_be_there(audit: Path, caseload: Path, asked: Asked, found: str):
    with pytest.raises(Refused, match=found):
        run_anonymise.planned(audit, caseload, asked)


def test_dates_that_read_both_ways_are_asked_about(audit: Path, tmp_path: Path):
    rows = [("Ref", "Born", "Seen"), ("R-x1", "03/04/2026", "05/04/2026"), ("R-x2", "05/06/2026", "06/06/2026")]
    path = workbook(tmp_path / "both.xlsx", Babies=rows)
    with pytest.raises(Refused, match="two ways"):
        run_anonymise.planned(audit, path, Asked(("Ref",), "Born", "Seen"))
    for day_first, ages in ((True, ["2", "1"]), (False, ["61", "31"])):
        asked = Asked(("Ref",), "Born", "Seen", day_first=day_first)
        out = anonymised(audit, path, tmp_path / f"{day_first}.xlsx", asked)
        # By hand: 3 to 5 April, 5 to 6 June; or 4 March to 4 May is 61 days, 6 May to 6 June 31.
        assert [row[1] for row in rows_of(out, "Babies")[1:]] == ages


def test_a_birth_date_on_another_sheet_gives_the_age(audit: Path, tmp_path: Path):
    register = [("Hospital no", "Born"), ("H1230037", "2026-01-31"), ("H1230074", "2026-02-01")]
    seen = [("Hospital no", "1st seen"), ("H1230074", "2026-02-11"), ("H1230037", "2026-02-05")]
    path = workbook(tmp_path / "two.xlsx", Register=register, Seen=seen)
    out = anonymised(audit, path, tmp_path / "out.xlsx", Asked(("Hospital no",), "Born", "1st seen"))
    assert [row[1] for row in rows_of(out, "Seen")] == ["age_days", "10", "5"]
    assert rows_of(out, "Register")[0] == ["case_ref"]


def test_a_copy_of_the_birth_date_goes_though_nobody_named_one_and_on_another_sheet_too(audit: Path, tmp_path: Path):
    born = ("2026-01-31", "2026-02-01", "2026-02-02")
    babies = [("Ref", "Born", "1st seen"), *((f"R-{at}", day, day) for at, day in enumerate(born))]
    calls = [("Ref", "Day", "Called"), *((f"R-{at}", day, "2026-05-01") for at, day in enumerate(born))]
    path = workbook(tmp_path / "copies.xlsx", Babies=babies, Calls=calls)
    out = anonymised(audit, path, tmp_path / "out.xlsx", Asked(("Ref",)))
    assert rows_of(out, "Babies")[0] == ["case_ref"]
    assert rows_of(out, "Calls")[0] == ["case_ref", "Called"]
    # First seen on the day of birth: the column that was named stays.
    asked = Asked(("Ref",), "Born", "1st seen")
    assert rows_of(anonymised(audit, path, tmp_path / "named.xlsx", asked), "Babies")[0] == [
        "case_ref",
        "age_days",
        "1st seen",
    ]


def test_a_column_kept_by_name_stays_and_what_is_still_found_is_refused(audit: Path, caseload: Path, tmp_path: Path):
    kept = Asked(("Hospital no",), keep=("Seen by",))
    out = anonymised(audit, caseload, tmp_path / "kept.xlsx", kept)
    assert "Seen by" in rows_of(out, "Babies")[0]


def test_what_the_screen_still_finds_in_what_is_made_is_refused(audit: Path, caseload: Path):
    """A plan that keeps a column by mistake."""
    (sheet, *_) = run_anonymise.planned(audit, caseload, ASKED).sheets
    columns = [dataclasses.replace(column, becomes=KEPT, why="") for column in sheet.columns if column.shown == "Born"]
    wrong = dataclasses.replace(
        sheet, columns=(*columns, *(column for column in sheet.columns if column.position != 2))
    )
    with pytest.raises(Refused, match="the column Born"):
        made([wrong], KEY)


def test_no_answer_but_yes_writes_anything(audit: Path, caseload: Path, tmp_path: Path):
    out = tmp_path / "out.xlsx"
    asked = feeding_audit("anonymise", caseload, "--out", out, "--folder", audit, *TYPED)
    assert asked.returncode != 0
    assert not out.exists()
    assert not (audit / pseudonyms.KEY_FILE).exists()


def test_the_command_says_every_column_and_its_export_is_checked_without_a_word_of_identifiers(
    audit: Path, caseload: Path, tmp_path: Path
):
    out = tmp_path / "out.xlsx"
    ran = feeding_audit("anonymise", caseload, "--out", out, "--folder", audit, "--yes", *TYPED)
    assert ran.returncode == 0, ran.stderr
    for name in (*HEADER, *VISITS[0]):
        assert f"  {name}: " in ran.stdout
    assert "Lists: left out" in ran.stdout
    assert "no record number: 1 line;" in ran.stdout
    assert "no age: 2 lines," in ran.stdout
    assert "personal data" in ran.stdout
    assert "new key" in ran.stdout
    assert "Example" not in ran.stdout
    again = feeding_audit("anonymise", caseload, "--out", out, "--folder", audit, "--yes", *TYPED)
    assert "there is such a file already" in again.stderr
    feeding_audit("suggest", out, "--folder", audit, "--as", "mine")
    assert "not_identifiers" not in (audit / "mappings" / "mine.toml").read_text()
    with pytest.raises(Refused, match="like"):
        run.check(audit, caseload, date(2026, 10, 12))
