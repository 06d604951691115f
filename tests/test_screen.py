"""An export that names anyone is refused by the whole program: what is printed, and what is left on the disk."""

from __future__ import annotations

import os
import re
import subprocess
import sys
import tempfile
import textwrap
import zipfile
from collections.abc import Callable
from pathlib import Path

import openpyxl
import pytest

from pipeline import run
from pipeline.contracts import layout, places
from pipeline.errors import Refused
from pipeline.runs import run_store
from tests import conftest
from tests.conftest import INVENTED, write_export
from tests.test_mapped_exports import CASES, CUT_OFF, map_it

HEAD = "case_ref,site,first_contact_date,age_days"
# 999 000 0018 is of a range never issued; 07700 900 is a range of numbers for drama (Ofcom); example.org is reserved.
VALUES = ("Emma Jones", "9990000018", "SW1A 1AA", "e.jones@example.org", "07700 900123")


def feeding_audit(*words: str | Path, temporary: Path) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "pipeline", *map(str, words)],
        capture_output=True,
        text=True,
        env={**os.environ, "TMPDIR": str(temporary)},
        check=False,
    )


def holding(folder: Path, texts: tuple[str, ...]) -> list[str]:
    """The files below the folder in which one of the texts stands."""
    wanted = [text.encode() for text in texts]
    return [
        path.name for path in folder.rglob("*") if path.is_file() and any(text in path.read_bytes() for text in wanted)
    ]


def as_csv(folder: Path, value: str) -> Path:
    return write_export(folder / "export", {"cases": f"{HEAD},extra\nQZ-77,North,2026-01-10,10,{value}"})


def as_zip(folder: Path, value: str) -> Path:
    path = folder / "export.zip"
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("cases.csv", f"{HEAD},extra\nQZ-77,North,2026-01-10,10,{value}\n")
    return path


def as_hidden_sheet(folder: Path, value: str) -> Path:
    book = openpyxl.Workbook()
    book.active.title = "cases"
    for row in (HEAD.split(","), ["QZ-77", "North", "2026-01-10", "10"]):
        book.active.append(row)
    hidden = book.create_sheet("Lists")
    hidden.append(["what"])
    hidden.append([value])
    hidden.sheet_state = "hidden"
    path = folder / "export.xlsx"
    book.save(path)
    return path


@pytest.mark.parametrize("shape", [as_csv, as_zip, as_hidden_sheet])
@pytest.mark.parametrize("value", VALUES)
def test_nothing_of_it_is_said_or_left_on_the_disk(
    audit: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, shape: Callable[[Path, str], Path], value: str
):
    temporary, exports = tmp_path / "temporary", tmp_path / "exports"
    temporary.mkdir()
    exports.mkdir()
    monkeypatch.setattr(tempfile, "tempdir", str(temporary))
    export = shape(exports, value)
    before = {path: path.read_bytes() for path in audit.rglob("*") if path.is_file()}
    for refuse in (run.load, run.check):
        with pytest.raises(Refused, match="take the column out of the export") as refused:
            refuse(audit, export, CUT_OFF)
        assert all(part not in str(refused.value) for part in [value, *value.split(), "QZ-77"])
    assert {path: path.read_bytes() for path in audit.rglob("*") if path.is_file()} == before
    assert holding(temporary, (value, "QZ-77")) == []


def test_the_command_says_the_same_and_nothing_else(audit: Path, tmp_path: Path):
    export = as_csv(tmp_path, VALUES[0])
    ran = feeding_audit("load", export, "--extracted-on", "2026-06-30", "--folder", audit, temporary=tmp_path)
    assert ran.returncode == 1
    assert ran.stdout == ""
    assert "the column extra: 1 of 1 values look like names" in ran.stderr
    assert "Traceback" not in ran.stderr
    assert all(part not in ran.stderr for part in [*VALUES[0].split(), "QZ-77"])


def test_a_file_without_a_line_of_names_is_refused_without_printing_its_first_row(audit: Path, tmp_path: Path):
    (tmp_path / "caseload.csv").write_text("Emma Jones,SW1A 1AA,x\nOliver Patel,N1 9GU,y\n", "utf-8")
    with pytest.raises(Refused) as refused:
        run.load(audit, tmp_path / "caseload.csv", CUT_OFF)
    assert all(word not in str(refused.value) for word in ("Emma", "Jones", "SW1A", "Oliver", "N1"))


def test_a_suggestion_writes_no_value_of_such_a_column_and_says_which_it_is(audit: Path, tmp_path: Path):
    path = tmp_path / "caseload.csv"
    lines = [f"R{number},10/01/2026,{number},{value}" for number, value in enumerate(VALUES)]
    path.write_text("\n".join(["Ref,Seen,Age,Remarks", *lines]), encoding="utf-8")
    made = run.suggest(audit, path)
    assert any("Remarks" in words for words in made.first_look.identifiers)
    assert holding(audit, VALUES) == []
    assert '# "Remarks" = ' in made.path.read_text(encoding="utf-8")


FALSE_ALARM = '[not_identifiers]\n"Kit no" = "the number of a box of cups"\n'
KITS = "\n".join(f"R{number},10/01/2026,10,KT{1000003 + 7 * number}" for number in range(12))


def test_a_false_alarm_is_let_through_by_a_recorded_reason_and_only_that_column(
    audit: Path, tmp_path: Path, one_page: None
):
    path = tmp_path / "caseload.csv"
    path.write_text(f"Ref,Seen,Age,Kit no\n{KITS}\n", encoding="utf-8")
    map_it(audit, CASES)
    with pytest.raises(Refused, match="Kit no"):
        run.load(audit, path, CUT_OFF, accept_anyway=INVENTED)
    map_it(audit, FALSE_ALARM + CASES)
    loaded = run.load(audit, path, CUT_OFF, accept_anyway=INVENTED)
    assert loaded.examined is not None
    assert any(
        "Kit no let through the identifier screen: the number of a box" in r.text for r in loaded.examined.remarks
    )
    page = run.report(audit).page.with_name("technical.html").read_text(encoding="utf-8")
    assert "Kit no let through the identifier screen: the number of a box of cups" in page
    rows = [line + "," for line in KITS.splitlines()]
    text = "\n".join(["Ref,Seen,Age,Kit no,Mail", *rows, "X,10/01/2026,10,,a@example.org"])
    path.write_text(text, encoding="utf-8")
    with pytest.raises(Refused, match="Mail") as refused:
        run.load(audit, path, CUT_OFF, accept_anyway=INVENTED)
    assert "Kit no" not in str(refused.value)


def test_a_column_renamed_at_source_is_said_first_and_what_the_mapping_answers_is_not_asked_again(
    audit: Path, tmp_path: Path
):
    path = tmp_path / "caseload.csv"
    path.write_text(f"Ref,Seen on,Age,Kit no\n{KITS}\n", encoding="utf-8")
    map_it(audit, FALSE_ALARM + CASES)
    for mapping in (None, "own"):
        with pytest.raises(Refused) as refused:
            run.load(audit, path, CUT_OFF, mapping=mapping)
        assert [fault.found for fault in refused.value.faults] == ["the sheet caseload has no column Seen"]
        assert "most like it: Seen on" in refused.value.faults[0].allowed
    path.write_text(f"Ref,Seen on,Age,Kit no,Mail\n{KITS},a@example.org\n", encoding="utf-8")
    with pytest.raises(Refused) as refused:
        run.load(audit, path, CUT_OFF)
    first, second = refused.value.faults
    assert "no column Seen" in first.found
    assert "the column Mail: " in second.found


@pytest.mark.parametrize("name", ["Seen Emma Jones", "Seen 9990000018"])
def test_no_name_of_a_column_is_offered_of_which_one_names_someone(audit: Path, tmp_path: Path, name: str):
    path = tmp_path / "caseload.csv"
    path.write_text(f"Ref,{name},Seen on,Age\nR1,10/01/2026,x,10\n", encoding="utf-8")
    map_it(audit, CASES)
    with pytest.raises(Refused) as refused:
        run.load(audit, path, CUT_OFF)
    first, *rest = refused.value.faults
    assert (first.found, first.allowed) == ("the sheet caseload has no column Seen", "a column of that sheet")
    assert rest
    assert all(word not in str(refused.value) for word in (name, "Emma", "9990000018", "Seen on"))


def test_nor_the_name_of_a_sheet_that_names_someone(audit: Path, tmp_path: Path):
    map_it(audit, CASES)
    path = tmp_path / "Emma Jones.csv"
    path.write_text("Ref,Seen on,Age\nA,10/01/2026,10\n", encoding="utf-8")
    with pytest.raises(Refused, match="a sheet has no column Seen") as refused:
        run.load(audit, path, CUT_OFF)
    assert "Emma" not in str(refused.value)


def test_an_export_in_the_layout_that_lacks_a_column_says_so_beside_what_the_screen_finds(audit: Path, tmp_path: Path):
    rows = "\n".join(f"R{number},North,2026-01-10,KT{1000003 + 7 * number}" for number in range(12))
    export = write_export(tmp_path / "export", {"cases": f"case_ref,site,first_contact_date,Kit no\n{rows}"})
    with pytest.raises(Refused) as refused:
        run.load(audit, export, CUT_OFF)
    assert ["no column age_days" in fault.found for fault in refused.value.faults] == [True, False]
    assert "Kit no" in refused.value.faults[1].found


def test_the_settings_let_a_column_of_an_export_in_the_layout_through_by_table_and_column(
    audit: Path, tmp_path: Path, one_page: None
):
    export = write_export(
        tmp_path / "export",
        {
            "cases": f"{HEAD}\nR1,01234 567890,2026-01-10,10",
            "contacts": "case_ref,contact_date,practitioner\nR1,2026-01-11,a@example.org",
        },
    )
    with pytest.raises(Refused) as refused:
        run.check(audit, export, CUT_OFF)
    mends = [fault.mend for fault in refused.value.faults]
    assert [re.findall(r'in audit.toml: \[not_identifiers\] "([a-z._]+)" =', mend) for mend in mends] == [
        ["cases.site"],
        ["contacts.practitioner"],
    ]
    settings = audit / "audit.toml"
    start = settings.read_text("utf-8")
    settings.write_text(f'{start}"cases.site" = "the line that all call"\n', "utf-8")
    with pytest.raises(Refused) as refused:
        run.check(audit, export, CUT_OFF)
    assert all("the column practitioner" in fault.found for fault in refused.value.faults)
    export.joinpath("contacts.csv").unlink()
    loaded = run.load(audit, export, CUT_OFF, accept_anyway=INVENTED)
    assert loaded.examined is not None
    words = "column cases.site let through the identifier screen: the line that all call"
    assert words in [remark.text for remark in loaded.examined.remarks]
    assert words in run.report(audit).page.with_name("technical.html").read_text(encoding="utf-8")


WORDS = {
    "cases": f"{HEAD}\nQZ-0001,Dr Gray's,2026-01-10,10\nQZ-0002,12 Mill Lane,2026-01-10,10",
    "contacts": "case_ref,contact_date,practitioner\nQZ-0001,2026-01-10,P01\nQZ-0001,2026-01-11,Zorblatt",
}
ASKED = [
    "new practitioner, operator: 2 to be confirmed:\n    P01\n    Zorblatt (looks like a name of a person)\n",
    "12 Mill Lane (looks like an address)\n    Dr Gray's (looks like a name of a person)",
    "new case_ref: 1 to be confirmed:\n    AA-9999 (twice, first in cases.csv, line 2)\n",
]


def test_what_is_new_is_shown_and_held_back_until_it_is_confirmed_once(
    audit: Path, tmp_path: Path, nothing_is_confirmed: None
):
    export = write_export(tmp_path / "export", WORDS)
    typed = (export, "--extracted-on", "2026-01-31", "--folder", audit)
    checked = conftest.feeding_audit("check", *typed)
    assert (checked.returncode, [words for words in ASKED if words not in checked.stdout]) == (1, [])
    ran = conftest.feeding_audit("load", *typed, "--confirm-new")  # of what no load has shown
    assert (ran.returncode, ran.stdout, [words for words in ASKED if words not in ran.stderr]) == (1, "", [])
    assert run_store.loads(audit) == ()
    assert holding(audit, ("Gray", "Mill Lane", "Zorblatt", "QZ-00")) == []
    # Another file than the one that was shown brings more.
    write_export(export, {"cases": WORDS["cases"] + "\nQZ-0003,Moorend,2026-01-10,10"})
    ran = conftest.feeding_audit("load", *typed, "--confirm-new")
    assert (ran.returncode, "new site: 3 to be confirmed" in ran.stderr) == (1, True)
    write_export(export, WORDS)
    conftest.feeding_audit("load", *typed)
    ran = conftest.feeding_audit("load", *typed, "--confirm-new")
    assert (ran.returncode, ran.stderr) == (0, "")
    assert "new site, confirmed: 12 Mill Lane, Dr Gray's" in ran.stdout
    # Known now, however it is spelled; what is new is asked, and may be answered in writing.
    write_export(export, {"cases": f"{HEAD}\nQZ-0001,dr  GRAY'S,2026-01-10,10\nQZ-0003,Moorend,2026-01-10,10"})
    (export / "contacts.csv").unlink()
    ran = conftest.feeding_audit("load", *typed)
    assert (ran.returncode, ran.stderr.count("new "), "new site: 1 to be" in ran.stderr) == (1, 1, True)
    conftest.confirm(audit, site=["MOOREND"])
    assert conftest.feeding_audit("load", *typed).returncode == 0
    for load in (1, 2):
        run_store.withdraw(audit, load)
    asked = [(words.kind, *words.words) for words in run.check(audit, export, CUT_OFF).new]
    assert asked == [("site", "dr GRAY'S"), ("case_ref", "AA-9999")]


def test_a_load_that_is_held_back_says_why_its_lines_were_set_aside(audit: Path, tmp_path: Path):
    rows = "\n".join(f"QZ-{n:04d},North,2026-01-10,{'old' if n < 7 else 10}" for n in range(20))
    export = write_export(tmp_path / "export", {"cases": f"{HEAD}\n{rows}"})
    ran = conftest.feeding_audit("load", export, "--extracted-on", "2026-01-31", "--folder", audit)
    assert ran.returncode == 1
    assert "the export: 7 of 20 lines were set aside (35%)" in ran.stderr
    assert "7 times: cases.csv, age_days: old (line 2); allowed: a whole number" in ran.stderr


def test_a_column_that_is_used_otherwise_too_is_screened_as_that(audit: Path, tmp_path: Path):
    (tmp_path / "caseload.csv").write_text("Ref,Seen,Age,By\nR1,10/01/2026,10,Emma Jones\n", encoding="utf-8")
    site = textwrap.dedent(CASES).replace('{ constant = "Outreach" }', '"By"')
    map_it(audit, site)
    assert run.check(audit, tmp_path / "caseload.csv", CUT_OFF).export.mapping.name == "own"
    for place in ("start", "end"):  # whichever is named first
        source = 'referral_source = { column = "By", codes = { own = "self" } }\n'
        map_it(audit, f"{site}{source}" if place == "end" else site.replace("site =", f"{source}site ="))
        with pytest.raises(Refused, match="1 of 1 values look like names"):
            run.check(audit, tmp_path / "caseload.csv", CUT_OFF)


def test_every_column_of_text_is_asked_about():
    """Nothing but these can bring a word of the export's own into the tables of the layout."""
    asked = (places.SQL / "intake" / "new_words.sql").read_text(encoding="utf-8")
    for table in layout.tables():
        for column in table.columns:
            if column.kind == layout.TEXT and column.name != "case_ref":
                for rows in (f"accepted_{table.name}", f"store.{table.name} JOIN"):
                    assert re.search(rf"\b{column.name}\b[^,\n]* FROM {rows}", asked), (table.name, column.name)


def test_a_reference_that_may_be_none_is_taken_only_if_it_is_declared(
    audit: Path, tmp_path: Path, nothing_is_confirmed: None
):
    rows = "\n".join(f"{ref},North,2026-01-10,10" for ref in ("QZ-0001", "EmmaQuilla", "4711", "2026-01-02", "Total"))
    export = write_export(tmp_path / "export", {"cases": f"{HEAD}\n{rows}"})
    conftest.confirm(audit, site=["North"], case_ref=["AA-9999"])
    for confirm_new in (False, True):
        with pytest.raises(Refused) as refused:
            run.load(audit, export, CUT_OFF, accept_anyway=INVENTED, confirm_new=confirm_new)
        assert str(refused.value).splitlines()[1:4] == [
            "    AAAAAAAAAA (reads as a word or initials; once, first in cases.csv, line 3)",
            "    9999 (reads as a plain number; once, first in cases.csv, line 4)",
            "    9999-99-99 (reads as a date; once, first in cases.csv, line 5)",
        ]
        assert "Emma" not in str(refused.value)
    settings = audit / "audit.toml"
    written = settings.read_text("utf-8").replace('["AA-9999"]\n', '["AA-9999", "AAAAAAAAAA", "9999", "9999-99-99"]\n')
    settings.write_text(written, "utf-8")
    assert run.load(audit, export, CUT_OFF, accept_anyway=INVENTED).number == 1


def test_a_mapping_confirms_too_and_its_prefix_makes_no_pseudonym_of_a_number(
    audit: Path, tmp_path: Path, nothing_is_confirmed: None
):
    (tmp_path / "caseload.csv").write_text("Ref,Seen,Age\n201,10/01/2026,10\n", encoding="utf-8")
    prefixed = textwrap.dedent(CASES).replace('case_ref = "Ref"', 'case_ref = { column = "Ref", prefix = "OUT-" }')
    map_it(audit, prefixed)
    examined = run.check(audit, tmp_path / "caseload.csv", CUT_OFF)
    new = {words.kind: (list(words.words), words.to_declare) for words in examined.new}
    assert new == {"site": (["Outreach"], False), "case_ref": (["AAA-999"], True)}
    map_it(audit, f'[confirmed]\nsite = ["Outreach"]\ncase_ref = ["AAA-999"]\n{prefixed}')
    assert run.check(audit, tmp_path / "caseload.csv", CUT_OFF).new == ()


def test_the_settings_let_no_name_of_a_column_through(audit: Path, tmp_path: Path):
    export = write_export(tmp_path / "export", {"cases": f"{HEAD},Emma Jones\nR1,North,2026-01-10,10,x"})
    settings = audit / "audit.toml"
    settings.write_text(settings.read_text("utf-8") + '"cases.Emma Jones" = "a cup"\n', "utf-8")
    with pytest.raises(Refused, match="column 5") as refused:
        run.check(audit, export, CUT_OFF)
    assert "Emma" not in str(refused.value)


def test_a_mapping_without_rows_lets_a_column_of_an_export_in_the_layout_through(audit: Path, tmp_path: Path):
    rows = "\n".join(f"R{number},North,2026-01-10,10,KT{1000003 + 7 * number}" for number in range(12))
    export = write_export(tmp_path / "export", {"cases": f"{HEAD},Kit no\n{rows}"})
    with pytest.raises(Refused, match="Kit no"):
        run.load(audit, export, CUT_OFF, accept_anyway=INVENTED)
    map_it(audit, FALSE_ALARM, "allowed")
    loaded = run.load(audit, export, CUT_OFF, accept_anyway=INVENTED)
    assert loaded.examined is not None
    assert [sheet.accepted for sheet in loaded.examined.counts] == [12]


def test_a_birth_date_by_another_name_is_found_by_what_it_says(audit: Path, tmp_path: Path):
    """It is the day of first contact less the age, row by row, whatever the column is called."""
    rows = "\n".join(f"R{day},North,2026-01-{day:02},{day},2025-12-31" for day in range(1, 25))
    export = write_export(tmp_path / "export", {"cases": f"{HEAD},Key date\n{rows}"})
    with pytest.raises(Refused, match="Key date"):
        run.load(audit, export, CUT_OFF, accept_anyway=INVENTED)


def test_no_name_of_a_sheet_is_printed_of_which_one_is_no_name(audit: Path, tmp_path: Path):
    rows = "\n".join(f"R{day},North,2026-01-{day:02},{day},2025-12-31,x" for day in range(1, 25))
    export = write_export(tmp_path / "export", {"cases": f"{HEAD},Key date,Emma Jones\n{rows}"})
    with pytest.raises(Refused, match="column 5: in most rows it is the day of first contact") as refused:
        run.load(audit, export, CUT_OFF, accept_anyway=INVENTED)
    assert "Key date" not in str(refused.value)
    assert "Emma" not in str(refused.value)


@pytest.mark.parametrize("written", ["31/12/2025", "31 Dec 2025", "12/31/2025"])
def test_it_is_found_in_the_service_s_own_writing_too(audit: Path, tmp_path: Path, written: str):
    map_it(audit, CASES)
    rows = "\n".join(f"R{day},{day:02}/01/2026,{day},{written}" for day in range(1, 25))
    path = tmp_path / "caseload.csv"
    path.write_text(f"Ref,Seen,Age,Key date\n{rows}\n", encoding="utf-8")
    with pytest.raises(Refused, match="Key date: in most rows it is the day of first contact less the age"):
        run.load(audit, path, CUT_OFF, accept_anyway=INVENTED)
    path.write_text(f"Ref,Seen,Age,Key date\n{rows.replace(written, '30/12/2025')}\n", encoding="utf-8")
    assert run.load(audit, path, CUT_OFF, accept_anyway=INVENTED).number == 1


def test_a_file_named_after_someone_is_refused_without_its_name(audit: Path, tmp_path: Path):
    map_it(audit, CASES)
    path = tmp_path / "Emma Jones.csv"
    path.write_text("Ref,Seen,Age\nA,10/01/2026,10\n", encoding="utf-8")
    with pytest.raises(Refused, match="the name of file or sheet 1 looks like this: name") as refused:
        run.load(audit, path, CUT_OFF, accept_anyway=INVENTED)
    assert "Emma" not in str(refused.value)
