"""The mapping file: a whole one is read as it says, and each fault is told with its line, all of them at once."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest

from pipeline.errors import Fault, Refused
from pipeline.intake.choose_mapping import known_mappings
from pipeline.intake.map.mapping import Mapping, Origin, When, lines_of, reading_of
from pipeline.intake.map.mapping_file import read_mapping
from pipeline.intake.map.shapes.fits import fits
from pipeline.intake.map.standard_codes import STANDARDS
from pipeline.intake.read.sheet import Reading

WHOLE = """\
source = "Riverbank clinic "  # lines 1 and 2
cut_off = 2026-10-09
[sheets."Caseload"]
header = [2, 3]
encoding = "windows-1252"
delimiter = ";"
[sheets."Clinic *"]
header = 3
[not_identifiers]
"Unit  no" = "the number of the ward; four wards"
[codes.yes_no_marks]
" Y" = "yes"
N = "no"
"?" = "not_known"
[[rows]]
table = "cases"
sheet = "Caseload"
[rows.columns]
case_ref = { column = "Ref", prefix = "RB-" }
site = { constant = "Riverbank" }
age_days = "Age  (days)"
first_contact_date = { column = "1st seen", date = ["%d/%m/%Y", "serial"] }
first_baby = { column = "First baby?", codes = "yes_no_marks" }
sex = { column = "Sex", codes = "phenotypic_sex" }
birth_weight_g = { column = "Birth wt (kg)", times = 0.1, codes = "birth_weight_not_known" }
deprivation_decile = { constant = 3 }
help_requested_date = { constant = 2026-07-31 }
[[rows]]
table = "contacts"
sheet = "Case[1]?*"
when = { column = "Seen  2", is = ["Y ", "y"], leave_out = ["N "] }
[rows.columns]
case_ref = "Ref"
contact_date = { column = "2nd seen", date = "%d %b %y" }
practitioner = "Who"
mode = { constant = "phone" }
[[rows]]
table = "feeding_checks"
sheet = "Caseload"
when = "BF 6/52"
[rows.columns]
case_ref = { column = "Ref", prefix = "RB-" }
check_date = { days_old = 42 }
feeding = { column = "BF 6/52", codes = { BF = "exclusive", MIX = "partial", FF = "none", "not asked" = "" } }
"""
# Seven lines; what a test adds begins on line 8, and goes on with the columns of cases.
CASES = """\
[[rows]]
table = "cases"
[rows.columns]
case_ref = "Ref"
site = { constant = "North" }
first_contact_date = "Seen"
age_days = "Age"
"""
# Six lines more, so that what a test adds to both begins on line 14, with the columns of contacts.
CONTACTS = """\
[[rows]]
table = "contacts"
[rows.columns]
case_ref = "Ref"
contact_date = "Seen 2"
practitioner = "Who"
"""


def read(folder: Path, text: str, name: str = "riverbank") -> Mapping:
    path = folder / f"{name}.toml"
    path.write_text(text, encoding="utf-8")
    return read_mapping(path)


def faults_of(folder: Path, text: str) -> tuple[Fault, ...]:
    with pytest.raises(Refused) as refused:
        read(folder, text)
    return refused.value.faults


def only_fault(folder: Path, text: str, line: int, found: str) -> Fault:
    """The one fault, on that line and so found; returned for what else it says."""
    faults = faults_of(folder, text)
    assert [(fault.where, fault.found) for fault in faults] == [(f"riverbank.toml, line {line}", found)]
    assert faults[0].mend
    return faults[0]


# What a whole mapping says


def test_a_whole_mapping_is_read(tmp_path: Path):
    mapping = read(tmp_path, WHOLE)
    assert (mapping.name, mapping.source, mapping.cut_off) == ("riverbank", "Riverbank clinic", date(2026, 10, 9))
    assert mapping.readings == {
        "Caseload": Reading((2, 3), "windows-1252", ";"),
        "Clinic *": Reading((3,)),
    }
    assert mapping.not_identifiers == {"Unit no": "the number of the ward; four wards"}
    assert mapping.text == WHOLE
    cases, contacts, checks = mapping.rows
    assert (cases.table, cases.sheets, cases.when) == ("cases", ("Caseload",), ())
    assert cases.columns == {
        "case_ref": Origin(column="Ref", prefix="RB-"),
        "site": Origin(constant="Riverbank"),
        "age_days": Origin(column="Age (days)"),
        "first_contact_date": Origin(column="1st seen", dates=("%d/%m/%Y", "serial")),
        "first_baby": Origin(column="First baby?", codes={"Y": "yes", "N": "no", "?": "not_known"}),
        "sex": Origin(column="Sex", codes=STANDARDS["phenotypic_sex"]),
        "birth_weight_g": Origin(column="Birth wt (kg)", codes={"9999": ""}, times=Decimal("0.1")),
        "deprivation_decile": Origin(constant="3"),
        "help_requested_date": Origin(constant="2026-07-31"),
    }
    assert contacts.when == (When("Seen 2", ("Y", "y"), ("N",)),)
    assert contacts.columns["contact_date"] == Origin(column="2nd seen", dates=("%d %b %y",))
    assert checks.when == (When("BF 6/52"),)
    assert checks.columns["check_date"] == Origin(days_old=42)
    codes = {"BF": "exclusive", "MIX": "partial", "FF": "none", "not asked": ""}
    assert checks.columns["feeding"] == Origin(column="BF 6/52", codes=codes)


def test_only_the_star_of_a_sheet_is_a_pattern(tmp_path: Path):
    mapping = read(tmp_path, WHOLE)
    headers = {"Caseload": ["Ref"], "Case[1]? May": ["Ref"]}
    assert not [fault for fault in fits(mapping, headers) if "no sheet Case[1]" in fault.found]
    for other in ("Case1x May", "Case[1]x May"):
        found = [fault.found for fault in fits(mapping, {"Caseload": ["Ref"], other: ["Ref"]})]
        assert "the export has no sheet Case[1]?*" in found


def test_a_mapping_may_leave_out_everything_but_its_rows(tmp_path: Path):
    mapping = read(tmp_path, CASES)
    assert (mapping.source, mapping.cut_off, mapping.readings) == ("riverbank", None, {})
    assert mapping.rows[0].sheets == ("*",)


def test_a_mapping_without_rows_only_lets_columns_through(tmp_path: Path):
    mapping = read(tmp_path, '[not_identifiers]\nward = "four wards"\n')
    assert (mapping.rows, mapping.not_identifiers) == ((), {"ward": "four wards"})


def test_a_byte_order_mark_is_no_part_of_the_mapping(tmp_path: Path):
    (tmp_path / "riverbank.toml").write_bytes(b"\xef\xbb\xbf" + CASES.encode())
    assert read_mapping(tmp_path / "riverbank.toml").rows[0].table == "cases"


# Files that are none


def test_no_file(tmp_path: Path):
    with pytest.raises(Refused, match="there is no such file"):
        read_mapping(tmp_path / "none.toml")


def test_a_folder_is_no_file(tmp_path: Path):
    with pytest.raises(Refused, match="it is a folder"):
        read_mapping(tmp_path)


def test_a_file_that_is_not_utf_8(tmp_path: Path):
    (tmp_path / "riverbank.toml").write_bytes(b'source = "Caf\xe9"')
    with pytest.raises(Refused, match=r"not UTF-8 text \(from byte 14\)"):
        read_mapping(tmp_path / "riverbank.toml")


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ('source = "a"\nFirst baby = 1\n', 2),
        ('source = "a"\nsource = "b"\n', 2),
        ('source = "a"\ncut_off = 2026-02-30\n', 2),
        ("source = [\n", 1),
        (f"a = {'9' * 5000}", 1),
        ("a = 1e9999999999999999999", 1),
        ("a = " + "[" * 3000, 1),
    ],
    ids=["key", "twice", "day", "end", "long number", "large number", "deep"],
)
def test_a_file_that_is_not_toml(tmp_path: Path, text: str, line: int):
    (fault,) = faults_of(tmp_path, text)
    assert fault.where == f"riverbank.toml, line {line}"
    assert fault.found.startswith("cannot be read: ")


HEAD = 'source = "a"\n\n'  # so that what a test adds begins on line 3


@pytest.mark.parametrize(
    ("text", "line", "found", "mend"),
    [
        ("site = “North”\n", 3, "curly quotes stand in it", 'write " instead'),
        ('site = "North”\nage_days = "Age"\n', 3, "curly quotes stand in it", 'write " instead'),
        ("site = ‘North’\n", 3, "curly quotes stand in it", 'write " instead'),
        # Here they are letters of a text, and something else is wrong.
        ('site = "Mum’s room\n', 3, "curly quotes stand in it", 'write " instead'),
        ('"Mum’s age" = "x" "y"\n', 3, "a comma is missing", "put it in"),
        ('site = "North # the team\n', 3, "a quote is missing", 'put in the missing "'),
        ("x = 'North\ny = 1\n", 3, "a quote is missing", 'put in the missing "'),
        ('is = ["Y", "N]\n', 3, "a quote is missing", 'put in the missing "'),
        ('x = { column = "A"\ny = 1\n', 3, "a brace { is not closed", "put the missing }"),
        ('x = { codes = { Y = "yes" }  # }\ny = 1\n', 3, "a brace { is not closed", "put the missing }"),
        ('x = ["a",\n  "b"\ny = 1\n', 3, "a bracket [ is not closed", "put the missing ]"),
        ('[codes.x\nY = "a"\n', 3, "a name in brackets that is not closed", "put the bracket at its end"),
        ('[codes.x]\nY = "a"\nN = "b"\n"Y" = "c"\n', 6, '"Y" stands twice in one list or block (line 4 has it', "take"),
        ('x = { Y = "a", "Y" = "b" }\n', 3, '"Y" stands twice in one list', "take one of the two out"),
        ("[codes.x]\n[codes.y]\n[codes.x]  # again\n", 5, "[codes.x] stands twice", "put the two together"),
        ("[[rows]]\n[rows.columns]\na='b'\n[rows.columns]\n", 6, "[rows.columns] stands twice", "[[rows]] of its own"),
        ("site = North team\n", 3, "a text without quotes: North team", 'put a " before and behind it'),
        ('x = { column = "A", codes = marks }\n', 3, "a text without quotes: marks", 'put a " before'),
        ("cut_off = 12/10/2026\n", 3, "a date written like 12/10/2026", "write it so"),
        ("cut_off = 12.10.26  # drawn\n", 3, "a date written like 12.10.26", "write it so"),
        ("cut_off = 2026-02-30\n", 3, "there is no such day", "correct the day"),
        ('First baby = "x"\n', 3, "a name with spaces or signs in it without quotes: First baby", "the whole name"),
        ('? = "x"\n', 3, "a name with spaces or signs in it without quotes: ?", "the whole name"),
        ("this is a remark\n", 3, "a line that is no remark and says nothing", "put a # before it"),
        ("site =\n", 3, "nothing stands behind the =", "write what it stands for"),
        ('x = "C:\\x"\n', 3, "a \\ stands in a text", "write \\\\ for each \\"),
        ('x = { column = "A" date = "B" }\n', 3, "a comma is missing", "put it in"),
        ('x = { column = "A", }\n', 3, "a comma too many", "take the last comma out"),
    ],
)
def test_a_slip_is_told_in_plain_words(tmp_path: Path, text: str, line: int, found: str, mend: str):
    (fault,) = faults_of(tmp_path, HEAD + text)
    assert fault.where == f"riverbank.toml, line {line}"
    assert fault.found.startswith(f"cannot be read: {found}")
    assert mend in fault.mend
    for words in ("TOML", "Illegal", "Invalid", "inline table", "Unclosed", "Cannot", "array"):
        assert words not in str(fault)


# What is still to be decided


@pytest.mark.parametrize(
    ("text", "line", "found", "allowed"),
    [
        ('source = "???"\n', 1, "source", "what this source of exports is called"),
        ('cut_off = "???"\n', 1, "cut_off", "a day without quotes, such as 2026-10-09"),
        ('[not_identifiers]\nKit = "???"\n', 2, '"Kit"', "the reason why the column identifies nobody"),
        (CASES + 'sex = "???"\n', 8, "sex", "the name of a column of the sheet"),
        (
            CASES + 'sex = { constant = "???" }\n',
            8,
            "sex",
            'constant = "..." } for the same in every row: one of female',
        ),
        (CASES.replace('"Age"', '"???"'), 7, "age_days", "a whole number from 0 to 364"),
        (CASES.replace('"North"', '"???"'), 5, "site", "the name of a column of the sheet"),
        (
            CASES + 'sex = { column = "S", codes = { M = "male", x = "???" } }',
            8,
            '"x"',
            'one of female, male, not_known, or "" for nothing',
        ),
        (CASES + '[[rows]]\nwhen = "???"\n' + CONTACTS[9:], 9, "when", "the column of the sheet that decides"),
        (CASES + '[[rows]]\nwhen = { column = "A", is = ["???"] }\n' + CONTACTS[9:], 9, "when", "what it must say"),
    ],
)
def test_what_is_still_to_be_decided_is_refused(tmp_path: Path, text: str, line: int, found: str, allowed: str):
    fault = only_fault(tmp_path, text, line, f'{found} = "???" is still to be decided')
    assert allowed in fault.allowed
    assert fault.mend == "write it instead of the question marks, or put the # before the line again"


def test_an_undecided_code_of_a_list_that_two_columns_use_is_told_once(tmp_path: Path):
    lists = '[codes.marks]\nY = "yes"\n"All well" = "???"\n'
    columns = 'wind = { column = "A", codes = "marks" }\nfirst_baby = { column = "B", codes = "marks" }\n'
    fault = only_fault(tmp_path, CASES + columns + lists, 12, '"All well" = "???" is still to be decided')
    assert fault.allowed == 'one of yes, no, not_known, or "" for nothing recorded'


# One cause, one fault


def test_a_list_whose_name_is_mistyped_is_one_fault(tmp_path: Path):
    lists = '[codes.feeding]\nEBF = "exclusive"\n'
    columns = 'feeding_at_first_contact = { column = "A", codes = "feding" }\n'
    fault = only_fault(
        tmp_path, CASES + columns + lists, 8, 'feeding_at_first_contact: there is no list of codes "feding"'
    )
    assert "most like it: feeding" in fault.allowed
    twice = columns + 'sex = { column = "B", codes = "feding" }\n'
    found = 'feeding_at_first_contact: there is no list of codes "feding"; the same in line 9'
    only_fault(tmp_path, CASES + twice + lists, 8, found)
    # A list of quite another name is unused all the same.
    assert len(faults_of(tmp_path, CASES + columns + lists + '[codes.zzz]\nx = "y"\n')) == 2


def test_a_wrong_date_in_many_columns_is_one_fault(tmp_path: Path):
    names = ("help_requested_date", "closed_date")
    columns = "".join(f'{name} = {{ column = "{name}", date = "dd/mm/yyyy" }}\n' for name in names)
    (fault,) = faults_of(
        tmp_path, CASES + columns + CONTACTS.replace('"Seen 2"', '{ column = "S", date = "dd/mm/yyyy" }')
    )
    assert fault.found.startswith('help_requested_date has date = "dd/mm/yyyy": no year')
    assert fault.found.endswith("; the same in lines 9, 14")
    # Two formats are wrong for two reasons.
    assert len(faults_of(tmp_path, CASES + columns.replace("dd/mm", "mm/dd", 1))) == 2
    sexes = 'sex = { column = "S", date = "%d/%m/%Y" }\nethnic_group = { column = "E", date = "%d/%m/%Y" }\n'
    only_fault(tmp_path, CASES + sexes, 8, "sex holds codes and has date; the same in line 9")


def test_a_block_without_a_must_column_may_be_taken_out_but_not_that_of_the_cases(tmp_path: Path):
    fault = only_fault(
        tmp_path, CASES + CONTACTS.replace('practitioner = "Who"', ""), 10, "contacts without practitioner"
    )
    assert "or take the whole block out" in fault.mend
    (cases,) = faults_of(tmp_path, CASES.replace('age_days = "Age"', ""))
    assert "take the whole block out" not in cases.mend


# The head of the file


@pytest.mark.parametrize(
    ("text", "line", "found", "allowed"),
    [
        ('\nsorce = "a"\n', 2, "sorce is nothing the mapping can say", "rows; most like it: source"),
        ("[sheet.Caseload]\nheader = 1\n", 1, "sheet is nothing the mapping can say", "most like it: sheets"),
        ("source = 5\n", 1, "source = 5", "a text that is not empty"),
        ('source = " "\n', 1, 'source = " "', "a text that is not empty"),
        ('cut_off = "2026-10-09"\n', 1, 'cut_off = "2026-10-09"', "a day without quotes"),
        ("cut_off = 2026-10-09T10:15:00\n", 1, "cut_off = 2026-10-09 10:15:00", "a day without quotes"),
        ('not_identifiers = "none"\n', 1, 'not_identifiers = "none"', "names, each with what it stands for"),
        ('[not_identifiers]\nA = "why"\nB = ""\n', 3, 'B = ""', "the reason why the column identifies nobody"),
        ("[not_identifiers]\nB = true\n", 2, "B = true", "the reason why the column identifies nobody"),
        ("rows = 5\n", 1, "rows is no list of tables", "[[rows]]"),
        ('[rows]\ntable = "cases"\n', 1, "rows is no list of tables", "[[rows]]"),
        ('nothing = "-"\n', 1, 'nothing = "-"', "a list of texts that are not empty"),
        ('nothing = ["-", ""]\n', 1, 'nothing = ["-", ""]', "a list of texts that are not empty"),
        ("sheets = 5\n", 1, "sheets = 5", "names, each with what it stands for"),
    ],
)
def test_a_fault_in_the_head(tmp_path: Path, text: str, line: int, found: str, allowed: str):
    assert allowed in only_fault(tmp_path, text, line, found).allowed


@pytest.mark.parametrize(
    ("setting", "found", "allowed"),
    [
        ("header = 0", "header = 0", "[2, 3]"),
        ("header = -1", "header = -1", "[2, 3]"),
        ("header = true", "header = true", "[2, 3]"),
        ('header = "3"', 'header = "3"', "[2, 3]"),
        ("header = 1.5", "header = 1.5", "[2, 3]"),
        ("header = []", "header = []", "[2, 3]"),
        ("header = [3]", "header = [3]", "[2, 3]"),
        ("header = [2, 4]", "header = [2, 4]", "[2, 3]"),
        ("header = [3, 2]", "header = [3, 2]", "[2, 3]"),
        ("header = [2, 3, 4]", "header = [2, 3, 4]", "[2, 3]"),
        ('encoding = "windows-125"', 'encoding = "windows-125"', '"windows-1252"'),
        ('encoding = "base64"', 'encoding = "base64"', '"windows-1252"'),
        ('encoding = "utf\\u0000"', 'encoding = "utf\0"', '"windows-1252"'),
        ("encoding = 1252", "encoding = 1252", '"windows-1252"'),
        ('delimiter = ""', 'delimiter = ""', "one character"),
        ('delimiter = ";;"', 'delimiter = ";;"', "one character"),
        ("delimiter = '\"'", 'delimiter = """', "one character"),
        ("delimiter = 5", "delimiter = 5", "one character"),
        ("headr = 3", "headr is nothing a sheet can say", "thousands; most like it: header"),
        ('decimal = ";"', 'The caseload has decimal = ";"', 'one of "," "."'),
        ('thousands = "."', "The caseload has the same mark before decimals and between thousands", "two marks"),
        ("fill_down = []", "fill_down = []", "names of columns"),
        ('left_out_lines = ["Total", 5]', 'left_out_lines = ["Total", 5]', '"Subtotal *"'),
        ('ends_before = ""', 'ends_before = ""', '"Summary"'),
    ],
)
def test_a_fault_in_how_a_sheet_is_read(tmp_path: Path, setting: str, found: str, allowed: str):
    text = f'[sheets.First]\nheader = 3\n\n[sheets."The caseload"]\n{setting}\n'
    assert allowed in only_fault(tmp_path, text, 5, found).allowed


@pytest.mark.parametrize(
    "setting", ["header = 1", "header = [1, 2]", 'encoding = "utf-16"', 'encoding = "latin1"', 'delimiter = "\\t"']
)
def test_what_may_be_said_of_a_sheet(tmp_path: Path, setting: str):
    assert "A" in read(tmp_path, f"[sheets.A]\n{setting}\n").readings


# Rows


@pytest.mark.parametrize(
    ("text", "line", "found", "allowed"),
    [
        ('[[rows]]\ntable = "contact"\n', 9, '"contact" is no table of the layout', "most like it: contacts"),
        ("[[rows]]\ntable = 5\n", 9, "5 is no table of the layout", "cases, contacts"),
        ('[[rows]]\nsheet = "A"\n', 8, "[[rows]] without a table", "cases, contacts"),
        (CONTACTS + "mod = 'How'\n", 14, "contacts has no column mod", "most like it: mode"),
        (CONTACTS + "sex = 'Sex'\n", 14, "contacts has no column sex", "case_ref, contact_date, practitioner"),
        (
            CONTACTS.replace('practitioner = "Who"', ""),
            10,
            "contacts without practitioner",
            "every must-column: case_ref",
        ),
        (
            '[[rows]]\ntable = "contacts"\n',
            8,
            "contacts without case_ref, contact_date, practitioner",
            "every must-column",
        ),
        ('[[rows]]\ntables = "x"\n' + CONTACTS[9:], 9, "tables is nothing [[rows]] can say", "most like it: table"),
        ('[[rows]]\nsheet = ""\n' + CONTACTS[9:], 9, 'sheet = ""', "the name of a sheet"),
        ("[[rows]]\nsheet = 5\n" + CONTACTS[9:], 9, "sheet = 5", "the name of a sheet"),
        ('[[rows]]\nsheet = ["A", ""]\n' + CONTACTS[9:], 9, 'sheet = ["A", ""]', "a list of names"),
        ("[[rows]]\nsheet = []\n" + CONTACTS[9:], 9, "sheet = []", "a list of names"),
        ('[[rows]]\nrepeat = "Visit *"\n' + CONTACTS[9:], 9, 'repeat = "Visit *"', 'repeat = "*" or repeat = "#"'),
        ('[[rows]]\nrepeat = "*"\n' + CONTACTS[9:], 9, "repeat, and no column with * in its name", "each group"),
        ("[[rows]]\nwhen = 5\n" + CONTACTS[9:], 9, "when = 5", 'when = "a column"'),
        ('[[rows]]\nwhen = ""\n' + CONTACTS[9:], 9, 'when = ""', 'when = "a column"'),
        ('[[rows]]\nwhen = { is = ["Y"] }\n' + CONTACTS[9:], 9, 'when = {is = ["Y"]}', 'when = "a column"'),
        (
            '[[rows]]\nwhen = { column = "A", are = ["Y"] }\n' + CONTACTS[9:],
            9,
            "are is nothing when can say",
            "column, is",
        ),
        ('[[rows]]\nwhen = { column = "A", is = "Y" }\n' + CONTACTS[9:], 9, 'is = "Y"', "a list of texts"),
        (
            '[[rows]]\nwhen = { column = "A", is = ["Y"], leave_out = "N" }\n' + CONTACTS[9:],
            9,
            'leave_out = "N"',
            "a list",
        ),
        ('[[rows]]\nwhen = { column = "A", leave_out = ["N"] }\n' + CONTACTS[9:], 9, "leave_out without is", "is, the"),
        (
            '[[rows]]\nwhen = { column = "A", is = ["N "], leave_out = ["N"] }\n' + CONTACTS[9:],
            9,
            '"N" stands in is and in leave_out',
            "is, the values that make a row",
        ),
        ("[left_out]\nsheets = 1\n" + CONTACTS, 9, "sheets = 1", "a list of names"),
        ("[left_out]\nrows = []\n" + CONTACTS, 9, "rows is nothing [left_out] can say", "sheets, columns"),
        ('[[rows]]\nwhen = { column = "A", is = [] }\n' + CONTACTS[9:], 9, "is = []", "a list of texts"),
        ('[[rows]]\nwhen = { column = "A", is = ["Y", ""] }\n' + CONTACTS[9:], 9, 'is = ["Y", ""]', "a list of texts"),
        ('[[rows]]\nwhen = { column = "A", is = [1] }\n' + CONTACTS[9:], 9, "is = [1]", "a list of texts"),
        ("[[rows]]\nwhen = []\n" + CONTACTS[9:], 9, "when = []", "a list of such"),
        ('[[rows]]\nwhen = ["A", 5]\n' + CONTACTS[9:], 9, "when = 5", "a list of such"),
        ('[[rows]]\nwhen = { column = "A", is_not = [] }\n' + CONTACTS[9:], 9, "is_not = []", "a list of texts"),
        ('[[rows]]\nwhen = { column = "A", is_empty = false }\n' + CONTACTS[9:], 9, "is_empty = false", "is_empty = t"),
        (
            '[[rows]]\nwhen = { column = "A", is = ["Y"], is_not = ["N"] }\n' + CONTACTS[9:],
            9,
            "when has is and is_not",
            "one of is, is_not, is_empty in a condition",
        ),
        (
            '[[rows]]\nwhen = { column = "A", leave_out = ["Y"], is_not = ["N"] }\n' + CONTACTS[9:],
            9,
            "is_not and leave_out",
            "is_not leaves out what it lists",
        ),
        ('[[rows]]\nwhen = { column = "A", split = ";" }\n' + CONTACTS[9:], 9, "split without is", "split beside is"),
        (
            '[[rows]]\nwhen = { column = "A", split = "", is = ["Y"] }\n' + CONTACTS[9:],
            9,
            'split = ""',
            "the sign betw",
        ),
        (
            '[[rows]]\nwhen = { column = "A", split = [], is = ["Y"] }\n' + CONTACTS[9:],
            9,
            "split = []",
            "the sign betw",
        ),
        (
            '[[rows]]\nwhen = { column = "A", split = [";", ","], is = ["Y"], leave_out = ["a, b"] }\n' + CONTACTS[9:],
            9,
            '"a, b" holds a sign that its column is split at',
            "single parts",
        ),
        (
            '[[rows]]\nwhen = [{ column = "A", split = ";", is = ["Y"] }, { column = "A", is = ["Z"] }]\n'
            + CONTACTS[9:],
            9,
            "A is split otherwise than in the other condition on it",
            "the same split",
        ),
    ],
)
def test_a_fault_in_the_second_block_is_told_with_its_line(
    tmp_path: Path, text: str, line: int, found: str, allowed: str
):
    assert allowed in only_fault(tmp_path, CASES + text, line, found).allowed


def test_several_conditions_each_in_its_own_way(tmp_path: Path):
    when = 'when = ["On", { column = "A", is_not = ["DNA "] }, { column = "B", is_empty = true, leave_out = ["x"] }]\n'
    text = 'nothing = ["N/A"]\n' + CASES + "[[rows]]\n" + when + CONTACTS[9:]
    nothing = frozenset({"n/a"})
    assert read(tmp_path, text).rows[1].when == (
        When("On", nothing=nothing),
        When("A", is_not=("DNA",), nothing=nothing),
        When("B", is_empty=True, leave_out=("x",), nothing=nothing),
    )


def test_a_column_that_a_condition_names_and_a_sheet_lacks_is_told(tmp_path: Path):
    when = 'when = ["Seen", { column = "Came", is_empty = true }]\n'
    mapping = read(tmp_path, CASES + "[[rows]]\n" + when + CONTACTS[9:])
    (fault,) = fits(mapping, {"A": ["Ref", "Seen", "Age", "Seen 2", "Who", "Cmae"]})
    assert (fault.where, fault.found) == ("riverbank.toml, line 9", "the sheet A has no column Came")
    assert fault.allowed.endswith("most like it: Cmae")


COMPLICATIONS = """\
[[rows]]
table = "complications"
when = [{ column = "Noted", split = ";", is = ["bleed"], leave_out = ["well"] }, { column = "Noted", is_empty = true }]
[rows.columns]
case_ref = "Ref"
noted_date = "On"
kind = { column = "Noted", split = [";", "+"], codes = { bleed = "bleeding", well = "" } }
"""


def test_a_cell_that_is_a_list(tmp_path: Path):
    rows = read(tmp_path, CASES + COMPLICATIONS).rows[1]
    assert rows.when == (When("Noted", ("bleed",), ("well",), split=(";",)), When("Noted", is_empty=True))
    codes = {"bleed": "bleeding", "well": ""}
    assert rows.columns["kind"] == Origin(column="Noted", split=(";", "+"), codes=codes)


@pytest.mark.parametrize(
    ("column", "found"),
    [
        ('kind = { column = "Noted", split = ";" }', "kind has split without codes"),
        ('kind = { column = "Noted", split = 5, codes = { b = "bleeding" } }', "split = 5"),
        (
            'kind = { column = "Noted", split = "+", codes = { "b+" = "bleeding" } }',
            '"b+" holds a sign that its column',
        ),
        ('kind = "Noted"\nseverity = { column = "S", split = ";", codes = { m = "minor" } }', "severity has split"),
    ],
)
def test_a_fault_in_what_splits_a_cell(tmp_path: Path, column: str, found: str):
    (fault,) = faults_of(tmp_path, CASES + COMPLICATIONS.partition("kind =")[0] + column)
    assert fault.where == f"riverbank.toml, line {14 + column.count(chr(10))}"
    assert fault.found.startswith(found)
    assert fault.allowed
    assert fault.mend


def test_two_columns_that_are_split(tmp_path: Path):
    both = COMPLICATIONS.partition("noted_date =")[0] + 'noted_date = { column = "On", split = ";" }\n'
    both += 'kind = { column = "Noted", split = ";", codes = { b = "bleeding" } }\n'
    only_fault(
        tmp_path, CASES + both, 14, "noted_date and kind are both split, and nothing says which parts belong together"
    )


@pytest.mark.parametrize(
    ("column", "found"),
    [
        ("case_ref = { sheet_name = true }", "case_ref is the same in every row of a sheet"),
        ("site = { sheet_name = 1 }", "site has sheet_name = 1"),
        ('site = { sheet_name = true, prefix = "A" }', "site has sheet_name and prefix"),
        ('site = { sheet_name = true, column = "S" }', "site has column and sheet_name"),
        ("first_contact_date = { sheet_name = true }", "first_contact_date holds dates and has sheet_name"),
    ],
)
def test_a_fault_in_the_name_of_a_sheet(tmp_path: Path, column: str, found: str):
    name = column.partition(" =")[0]
    lines = [column if line.startswith(f"{name} =") else line for line in CASES.splitlines()]
    assert faults_of(tmp_path, "\n".join(lines) + "\n")[0].found.startswith(found)


def test_columns_that_are_no_table(tmp_path: Path):
    faults = faults_of(tmp_path, CASES + '[[rows]]\ntable = "contacts"\ncolumns = "all"\n')
    assert [(fault.where, fault.found) for fault in faults] == [
        ("riverbank.toml, line 10", 'columns = "all"'),
        ("riverbank.toml, line 10", "contacts without case_ref, contact_date, practitioner"),
    ]


def test_rows_without_cases(tmp_path: Path):
    only_fault(tmp_path, "\n" + CONTACTS, 2, "no rows of the table cases")


def test_rows_of_one_table_from_the_same_columns_twice(tmp_path: Path):
    found = "rows of contacts from the same sheet and the same columns a second time"
    only_fault(tmp_path, CASES + CONTACTS + CONTACTS, 14, found)
    # Copied for the second visit, and only half changed.
    only_fault(tmp_path, CASES + CONTACTS + CONTACTS.replace('acts"', 'acts"\nwhen = "Seen 3"'), 14, found)


def test_rows_of_one_table_from_another_column_or_sheet(tmp_path: Path):
    assert len(read(tmp_path, CASES + CONTACTS + CONTACTS.replace("Seen 2", "Seen 3")).rows) == 3
    assert len(read(tmp_path, CASES + CONTACTS + CONTACTS.replace('acts"', 'acts"\nsheet = "B"')).rows) == 3


# Columns: where they come from

ONCE = "exactly one of column, constant, sheet_name and days_old"


@pytest.mark.parametrize(
    ("column", "found", "allowed"),
    [
        ("sex = 5", "sex = 5", 'sex = "a column"'),
        ('sex = ""', 'sex = ""', 'sex = "a column"'),
        ("sex = {}", "sex has none of column, constant, sheet_name, days_old", ONCE),
        ('sex = { codes = { M = "male" } }', "sex has none of column, constant, sheet_name, days_old", ONCE),
        ('sex = { column = "S", constant = "male" }', "sex has column and constant", ONCE),
        ('closed_date = { column = "S", days_old = 3 }', "closed_date has column and days_old", ONCE),
        (
            'closed_date = { constant = "2026-07-31", date = "%d/%m/%Y" }',
            "closed_date has constant and date",
            "date beside column only",
        ),
        ("sex = { column = 5 }", "sex has column = 5", "the name of a column of the sheet"),
        ('sex = { column = " " }', 'sex has column = " "', "the name of a column of the sheet"),
        ('sex = { column = "S", code = "a" }', "code is nothing sex can say", "most like it: codes"),
        # Constants, by the kind of the column
        ('sex = { constant = "m" }', 'sex has constant = "m"', "one of female, male, not_known, or nothing"),
        ("sex = { constant = true }", "sex has constant = true", "one of female, male, not_known, or nothing"),
        ('sex = { constant = "" }', 'sex has constant = ""', "one of female, male, not_known, or nothing"),
        ("first_baby = { constant = true }", "first_baby has constant = true", "yes or no, or nothing"),
        ('first_baby = { constant = "Yes" }', 'first_baby has constant = "Yes"', "yes or no, or nothing"),
        ("gestation_weeks = { constant = 45 }", "gestation_weeks has constant = 45", "a whole number from 22 to 44"),
        ("gestation_weeks = { constant = 21 }", "gestation_weeks has constant = 21", "a whole number from 22 to 44"),
        ('gestation_weeks = { constant = "x" }', 'gestation_weeks has constant = "x"', "a whole number from 22 to 44"),
        (
            "gestation_weeks = { constant = 40.0 }",
            "gestation_weeks has constant = 40.0",
            "a whole number from 22 to 44",
        ),
        ('closed_date = { constant = "1/7/2026" }', 'closed_date has constant = "1/7/2026"', "a date written like"),
        ('closed_date = { constant = "2026-02-30" }', 'closed_date has constant = "2026-02-30"', "a date written like"),
        ('closed_date = { constant = "20260731" }', 'closed_date has constant = "20260731"', "a date written like"),
        # Ages
        ("sex = { days_old = 42 }", "sex holds codes and has days_old", "days_old on a column of dates"),
        ("closed_date = { days_old = 365 }", "closed_date has days_old = 365", "a whole number from 0 to 364"),
        ("closed_date = { days_old = -1 }", "closed_date has days_old = -1", "a whole number from 0 to 364"),
        ("closed_date = { days_old = 4.5 }", "closed_date has days_old = 4.5", "a whole number from 0 to 364"),
        ("closed_date = { days_old = true }", "closed_date has days_old = true", "a whole number from 0 to 364"),
        # Dates
        ('sex = { column = "S", date = "%d/%m/%Y" }', "sex holds codes and has date", "date on a column of dates"),
        (
            'closed_date = { column = "S", date = "%m/%Y" }',
            'closed_date has date = "%m/%Y": no day (%d)',
            "a format that gives year, month and day",
        ),
        (
            'closed_date = { column = "S", date = ["%d/%m/%Y", "%d/%Q/%Y"] }',
            'closed_date has date = "%d/%Q/%Y": %Q has no meaning here',
            "a format that gives year, month and day",
        ),
        (
            'closed_date = { column = "S", date = [5] }',
            "closed_date has date = 5: it is no text",
            "a format that gives year, month and day",
        ),
        ('closed_date = { column = "S", date = [] }', "closed_date has date = []", "one format at least"),
        # Factors and prefixes
        ('sex = { column = "S", times = 10 }', "sex holds codes and has times", "times on a column of whole numbers"),
        ('closed_date = { column = "S", times = 10 }', "closed_date holds dates and has times", "times on a column of"),
        ('birth_weight_g = { column = "S", times = 0 }', "birth_weight_g has times = 0", "a number above 0"),
        ('birth_weight_g = { column = "S", times = -1.5 }', "birth_weight_g has times = -1.5", "a number above 0"),
        ('birth_weight_g = { column = "S", times = "10" }', 'birth_weight_g has times = "10"', "a number above 0"),
        ('birth_weight_g = { column = "S", times = inf }', "birth_weight_g has times = Infinity", "a number above 0"),
        ('birth_weight_g = { column = "S", times = nan }', "birth_weight_g has times = NaN", "a number above 0"),
        ('birth_weight_g = { column = "S", times = true }', "birth_weight_g has times = true", "a number above 0"),
        ('sex = { column = "S", decimal = "," }', "sex holds codes and has decimal", "decimal on a column of whole"),
        ('birth_weight_g = { column = "S", decimal = ";" }', 'birth_weight_g has decimal = ";"', 'one of "," "."'),
        ('birth_weight_g = { column = "S", thousands = 5 }', "birth_weight_g has thousands = 5", 'one of ","'),
        (
            'birth_weight_g = { column = "S", thousands = "." }',
            "birth_weight_g has the same mark before decimals and between thousands",
            "two marks that differ",
        ),
        ('birth_weight_g = { column = "S", as = "age" }', 'birth_weight_g has as = "age"', 'as = "weight"'),
        ('deprivation_decile = { column = "S", as = "age" }', 'deprivation_decile has as = "age"', "ages, gestations"),
        ('birth_weight_g = { column = "S", as = "weight", times = 10 }', "birth_weight_g has as and times", "as alone"),
        ('sex = { column = "S", prefix = "a" }', "sex holds codes and has prefix", "prefix on a column of texts"),
    ],
)
def test_a_fault_in_a_column(tmp_path: Path, column: str, found: str, allowed: str):
    assert allowed in only_fault(tmp_path, CASES + column, 8, found).allowed


@pytest.mark.parametrize(
    ("column", "origin"),
    [
        ('sex = { constant = "female" }', Origin(constant="female")),
        ('sex = { constant = "not_known" }', Origin(constant="not_known")),
        ('first_baby = { constant = "yes" }', Origin(constant="yes")),
        ("gestation_weeks = { constant = 44 }", Origin(constant="44")),
        ('gestation_weeks = { constant = "22" }', Origin(constant="22")),
        ('closed_date = { constant = "2026-07-31" }', Origin(constant="2026-07-31")),
        ("closed_date = { days_old = 0 }", Origin(days_old=0)),
        ("closed_date = { days_old = 364 }", Origin(days_old=364)),
        ('birth_weight_g = { column = "S", times = 28.35 }', Origin(column="S", times=Decimal("28.35"))),
        ('gestation_weeks = { column = "S", as = "gestation" }', Origin(column="S", form="gestation")),
        (
            'birth_weight_g = { column = "S", decimal = ",", thousands = "." }',
            Origin(column="S", decimal=",", thousands="."),
        ),
    ],
)
def test_a_column_without_fault(tmp_path: Path, column: str, origin: Origin):
    (rows,) = read(tmp_path, CASES + column).rows
    assert rows.columns[column.split(" = ")[0]] == origin


def test_a_column_may_have_several_names(tmp_path: Path):
    text = CASES.replace('"Ref"', '{ column = ["Ref", "Ref  no"], prefix = "A-" }')
    when = 'when = { column = ["Came", "Attended"], is = ["Y"] }\n'
    cases, contacts = read(tmp_path, text + CONTACTS.replace("[rows.columns]", when + "[rows.columns]")).rows
    assert cases.columns["case_ref"] == Origin(column="Ref", or_column=("Ref no",), prefix="A-")
    assert contacts.when == (When("Came", ("Y",), or_column=("Attended",)),)


@pytest.mark.parametrize("names", ["[]", '["Ref", 5]', '["Ref", "Ref "]', '["Ref", ""]', "5"])
def test_the_names_of_a_column_are_texts_that_differ(tmp_path: Path, names: str):
    text = CASES.replace('"Ref"', f"{{ column = {names} }}")
    fault = only_fault(tmp_path, text, 4, f"case_ref has column = {names}")
    assert '["Ref", "Ref no"]' in fault.allowed
    decides = CONTACTS.replace("[rows.columns]", f"when = {{ column = {names}, is = ['Y'] }}\n[rows.columns]")
    (fault,) = faults_of(tmp_path, CASES + decides)
    assert fault.found.startswith("when = {column = ")


def test_a_list_in_a_column_of_yes_and_no(tmp_path: Path):
    codes = 'codes = { a = "yes", b = "no" }'
    rows = read(tmp_path, CASES + f'wind = {{ column = "P", split = [";", ","], {codes} }}').rows[0]
    assert rows.columns["wind"] == Origin(column="P", any_of=(";", ","), codes={"a": "yes", "b": "no"})
    only_fault(tmp_path, CASES + 'wind = { column = "P", split = ";" }', 8, "wind has split without codes")
    only_fault(tmp_path, CASES + f'wind = {{ column = "P", split = "", {codes} }}', 8, 'split = ""')
    only_fault(tmp_path, CASES + 'sex = { column = "P", split = ";", codes = { a = "male" } }', 8, "sex has split")


def test_a_case_ref_that_is_the_same_in_every_row(tmp_path: Path):
    text = CASES.replace('case_ref = "Ref"', 'case_ref = { constant = "A" }')
    only_fault(tmp_path, text, 4, "case_ref is the same in every row")


@pytest.mark.parametrize("constant", ["true", "2.5", '""'])
def test_a_constant_of_a_column_of_text_is_a_text(tmp_path: Path, constant: str):
    only_fault(tmp_path, CASES.replace('"North"', constant), 5, f"site has constant = {constant}")


@pytest.mark.parametrize("prefix", ['""', "5"])
def test_a_prefix_is_a_text(tmp_path: Path, prefix: str):
    text = CASES.replace('"Ref"', f'{{ column = "Ref", prefix = {prefix} }}')
    only_fault(tmp_path, text, 4, f"case_ref has prefix = {prefix}")


WITHOUT = "days_old without first_contact_date and age_days on the same line"


def test_an_age_needs_the_case_on_the_same_sheet(tmp_path: Path):
    aged = CONTACTS.replace('"Seen 2"', "{ days_old = 42 }")
    on_a, on_b = ('acts"', 'acts"\nsheet = "A"'), ('acts"', 'acts"\nsheet = "B"')
    cases_on_a = CASES.replace('ses"', 'ses"\nsheet = "A*"')
    assert len(read(tmp_path, cases_on_a + aged.replace(*on_a)).rows) == 2
    assert len(read(tmp_path, CASES + aged.replace(*on_b)).rows) == 2, "cases come from every sheet"
    only_fault(tmp_path, cases_on_a + aged.replace(*on_b), 14, f"contact_date: {WITHOUT}")
    only_fault(tmp_path, cases_on_a + aged, 13, f"contact_date: {WITHOUT}")


def test_a_first_contact_cannot_rest_on_itself(tmp_path: Path):
    text = CASES.replace('"Seen"', "{ days_old = 42 }")
    only_fault(tmp_path, text, 6, f"first_contact_date: {WITHOUT}")


# Columns: codes


@pytest.mark.parametrize(
    ("column", "found", "allowed"),
    [
        (
            'sex = { column = "S", codes = { M = "male", F = "f" } }',
            '"F" = "f" is not allowed in sex',
            'one of female, male, not_known, or nothing; "" for nothing',
        ),
        (
            'first_baby = { column = "S", codes = { Y = "Yes" } }',
            '"Y" = "Yes" is not allowed in first_baby',
            "yes or no, or nothing",
        ),
        (
            'birth_weight_g = { column = "S", codes = { LBW = "200" } }',
            '"LBW" = "200" is not allowed in birth_weight_g',
            "a whole number from 300 to 6500",
        ),
        ('sex = { column = "S", codes = { M = 1 } }', '"M" = 1', "a code of the layout in quotes"),
        ('sex = { column = "S", codes = {} }', "a list without a code", "one code at least"),
        (
            'sex = { column = "S", codes = { " " = "male" } }',
            "a code that is empty",
            "what is written in the sheet",
        ),
        (
            'sex = { column = "S", codes = { M = "male", "M " = "female" } }',
            '"M" for the second time',
            "each code once",
        ),
        ('sex = { column = "S", codes = 5 }', "codes = 5", "names, each with what it stands for"),
        (
            'sex = { column = "S", codes = "phenotypc_sex" }',
            'sex: there is no list of codes "phenotypc_sex"',
            "most like it: phenotypic_sex",
        ),
        (
            'sex = { column = "S", codes = { M = "", F = "" } }',
            "sex: no code of the list gives anything",
            "one code at least",
        ),
        (
            'sex = { column = "S", codes = "birth_weight_not_known" }',
            "sex: no code of the list gives anything",
            "one code at least",
        ),
        (
            'ethnic_group = { column = "S", codes = "phenotypic_sex" }',
            "ethnic_group cannot take the list phenotypic_sex, which gives male, female",
            "asian, black, mixed, white, other, not_stated, not_known",
        ),
        (
            'birth_weight_g = { column = "S", codes = "breastfeeding_status" }',
            "birth_weight_g cannot take the list breastfeeding_status, which gives exclusive, partial, none",
            "a whole number from 300 to 6500",
        ),
        (
            'closed_date = { column = "S", codes = { x = "" } }',
            "closed_date holds dates and has codes",
            "codes on a column of codes or yes or no or whole numbers",
        ),
    ],
)
def test_a_fault_in_the_codes_of_a_column(tmp_path: Path, column: str, found: str, allowed: str):
    assert allowed in only_fault(tmp_path, CASES + column, 8, found).allowed


def test_codes_on_a_column_of_text(tmp_path: Path):
    text = CASES.replace('{ constant = "North" }', '{ column = "Site", codes = { N = "North" } }')
    assert read(tmp_path, text).rows[0].columns["site"] == Origin(column="Site", codes={"N": "North"})


def test_a_must_column_of_codes_takes_nothing_but_not_not_known(tmp_path: Path):
    complications = """\
[[rows]]
table = "complications"
[rows.columns]
case_ref = "Ref"
noted_date = "When"
kind = { column = "What", codes = { B = "bleeding", "-" = "" } }
"""
    assert len(read(tmp_path, CASES + complications).rows) == 2
    text = CASES + complications.replace('""', '"not_known"')
    only_fault(tmp_path, text, 13, '"-" = "not_known" is not allowed in kind')


def test_a_code_of_an_own_list_is_told_once_on_its_line_with_every_column(tmp_path: Path):
    lists = '[codes.marks]\nY = "yes"\nJ = "ja"\n'
    columns = 'wind = { column = "A", codes = "marks" }\nfirst_baby = { column = "B", codes = "marks" }\n'
    only_fault(tmp_path, CASES + columns + lists, 12, '"J" = "ja" is not allowed in wind, first_baby')


def test_an_own_list_that_is_never_used(tmp_path: Path):
    used = 'wind = { column = "A", codes = "marks" }\n[codes.marks]\nY = "yes"\n'
    assert read(tmp_path, CASES + used).rows[0].columns["wind"].codes == {"Y": "yes"}
    only_fault(tmp_path, CASES + used + '[codes.others]\nN = "no"\n', 11, "no column uses the list others")


def test_a_list_that_a_faulty_part_names_is_not_called_unused_as_well(tmp_path: Path):
    lists = '[codes.marks]\nY = "yes"\n'
    only_fault(tmp_path, CASES + 'wint = { column = "A", codes = "marks" }\n' + lists, 8, "cases has no column wint")
    block = '[[rows]]\ntable = "contact"\n[rows.columns]\nmode = { column = "A", codes = "marks" }\n'
    only_fault(tmp_path, CASES + block + lists, 9, '"contact" is no table of the layout')


def test_an_own_list_named_like_a_standard(tmp_path: Path):
    lists = '[codes.phenotypic_sex]\nM = "male"\n'
    text = CASES + 'sex = { column = "A", codes = "phenotypic_sex" }\n' + lists
    only_fault(tmp_path, text, 9, "phenotypic_sex is the name of a standard list")


# Everything at once, on the right lines


def test_every_fault_is_told_at_once_in_the_order_of_the_lines(tmp_path: Path):
    text = (
        WHOLE.replace("2026-10-09", '"soon"')
        .replace("header = 3", "header = 0")
        .replace('"the number of the ward; four wards"', '""')
        .replace('N = "no"', 'N = "non"')
        .replace('"phone"', '"telephone"')
        .replace("days_old = 42", "days_old = 420")
        .replace('"partial"', '"partly"')
    )
    assert [(fault.where, fault.found) for fault in faults_of(tmp_path, text)] == [
        ("riverbank.toml, line 2", 'cut_off = "soon"'),
        ("riverbank.toml, line 8", "header = 0"),
        ("riverbank.toml, line 10", 'Unit  no = ""'),
        ("riverbank.toml, line 13", '"N" = "non" is not allowed in first_baby'),
        ("riverbank.toml, line 36", 'mode has constant = "telephone"'),
        ("riverbank.toml, line 43", "check_date has days_old = 420"),
        ("riverbank.toml, line 44", '"MIX" = "partly" is not allowed in feeding'),
    ]


def test_lines_are_found_however_a_mapping_is_written():
    text = '''\
# [[rows]] in a comment
source="a"   # 2
"not_identifiers".'Unit.no' = """
[[rows]]
table = "x"
"""
[ codes . "a b" ]   # 7
"Y = 1" = "yes"
[[ rows ]]
columns.site = { constant = "N" }
[rows.columns.case_ref]
column = "Ref"
[[rows]]
when = { column = "A", is = [
  "Y",
] }
  [ rows.columns ]
  site = "S"
'''
    lines = lines_of(text)
    expected = {
        ("source",): 2,
        ("not_identifiers",): 3,
        ("not_identifiers", "Unit.no"): 3,
        ("codes", "a b"): 7,
        ("codes", "a b", "Y = 1"): 8,
        ("rows",): 9,
        ("rows", 0): 9,
        ("rows", 0, "columns", "site"): 10,
        ("rows", 0, "columns", "case_ref"): 11,
        ("rows", 0, "columns", "case_ref", "column"): 12,
        ("rows", 1): 13,
        ("rows", 1, "when"): 14,
        ("rows", 1, "columns"): 17,
        ("rows", 1, "columns", "site"): 18,
    }
    assert {place: lines.get(place) for place in expected} == expected
    assert ("table",) not in lines


def test_a_line_that_only_looks_like_a_key_is_no_error():
    assert lines_of('a = "x"  # """\n"\\q" = 1\n[["\\q"]]\n') == {("a",): 1}


# All mappings of a folder


def test_the_mappings_of_a_folder_by_name(tmp_path: Path):
    assert known_mappings(tmp_path, None).mappings == ()
    folder = tmp_path / "mappings"
    folder.mkdir()
    read(folder, CASES, "b")
    read(folder, CASES, "a")
    (folder / "notes.txt").write_text("no mapping", encoding="utf-8")
    assert [mapping.name for mapping in known_mappings(tmp_path, None).mappings] == ["a", "b"]


def test_the_faults_of_all_mappings_are_kept_for_whoever_needs_one(tmp_path: Path):
    folder = tmp_path / "mappings"
    folder.mkdir()
    for name in ("b", "a"):
        (folder / f"{name}.toml").write_text("sorce = 1\n", encoding="utf-8")
    read(folder, CASES, "c")
    known = known_mappings(tmp_path, None)
    assert [mapping.name for mapping in known.mappings] == ["c"]
    assert [fault.where for refused in known.broken for fault in refused.faults] == ["a.toml, line 1", "b.toml, line 1"]
    assert [mapping.name for mapping in known_mappings(tmp_path, "c.toml").mappings] == ["c"]
    with pytest.raises(Refused, match=r"a\.toml, line 1"):
        known_mappings(tmp_path, "a")


# How a sheet is read


def test_a_sheet_is_read_by_its_own_name_then_by_the_first_pattern(tmp_path: Path):
    text = '[sheets."*"]\nheader = 1\n[sheets."Clinic *"]\nheader = 2\n[sheets."Clinic A"]\nheader = 3\n'
    mapping = read(tmp_path, text)
    assert reading_of(mapping, "Clinic A") == Reading((3,))
    assert reading_of(mapping, "Clinic B") == Reading((1,))
    starless = read(tmp_path, text.replace('"*"', '"C*"'))
    assert reading_of(starless, "Ward") == Reading()
    bracketed = read(tmp_path, '[sheets."A [1] *"]\nheader = 2\n')
    assert reading_of(bracketed, "A [1] May") == Reading((2,))
    assert reading_of(bracketed, "A 1 May") == Reading()


# Whether an export fits

HEADERS = {
    "Caseload": ["Ref", "Age (days)", "1st seen", "First baby?", "Sex", "Birth wt (kg)", "BF 6/52"],
    "Case[1]? May": ["Ref", "Seen 2", "2nd seen", "Who"],
    "Clinic A": ["anything"],
}


def test_an_export_with_every_sheet_and_column_fits(tmp_path: Path):
    assert fits(read(tmp_path, WHOLE), HEADERS) == ()


def test_a_sheet_that_is_missing(tmp_path: Path):
    headers = {"caseload": HEADERS["Caseload"], "Case[1]? May": HEADERS["Case[1]? May"], "Clinic A": []}
    faults = fits(read(tmp_path, WHOLE), headers)
    assert [(fault.where, fault.found) for fault in faults] == [
        ("riverbank.toml, line 3", "the export has no sheet Caseload")
    ]
    assert faults[0].allowed.endswith("most like it: caseload")


def test_a_sheet_of_rows_that_is_missing(tmp_path: Path):
    mapping = read(tmp_path, CASES + '[[rows]]\nsheet = "Visits*"\n' + CONTACTS[9:])
    faults = fits(mapping, {"Ward": ["Ref", "Seen", "Age"]})
    assert [(fault.where, fault.found) for fault in faults] == [
        ("riverbank.toml, line 9", "the export has no sheet Visits*")
    ]


def test_a_column_that_is_missing_is_told_once_a_sheet_with_the_names_most_like_it(tmp_path: Path):
    headers = {
        **HEADERS,
        "Case[1]? May": ["Reference", "seen 2", "2nd seen", "Who"],
        "Case[1]? June": ["Ref", "Seen 2", "2nd seen", "WHO"],
    }
    faults = fits(read(tmp_path, WHOLE), headers)
    assert [(fault.where, fault.found) for fault in faults] == [
        ("riverbank.toml, line 33", "the sheet Case[1]? May has no column Ref"),
        ("riverbank.toml, line 31", "the sheet Case[1]? May has no column Seen 2"),
        ("riverbank.toml, line 35", "the sheet Case[1]? June has no column Who"),
    ]
    assert "most like it: seen 2" in faults[1].allowed
    assert faults[2].allowed.endswith("most like it: WHO")
    without_ref = {**HEADERS, "Caseload": HEADERS["Caseload"][1:]}
    assert len(fits(read(tmp_path, WHOLE), without_ref)) == 1, "though two blocks read it"


VISITS = (
    CASES
    + """[[rows]]
table = "contacts"
repeat = "*"
sheet = ["Apr", "Clinic *"]
[rows.columns]
case_ref = "Ref"
contact_date = "Visit * / Date"
practitioner = "Who at visit *"
"""
)


def test_what_repeated_columns_and_several_sheets_lack_is_told(tmp_path: Path):
    mapping = read(tmp_path, VISITS)
    header = ["Ref", "Age", "Seen", "Visit 1 / Date", "Who at visit 1", "Visit 12 / Date", "Who at visit 12"]
    assert fits(mapping, {"Apr": header, "Clinic 2": header}) == ()
    (fault,) = fits(mapping, {"Apr": header})
    assert (fault.where, fault.found) == ("riverbank.toml, line 11", "the export has no sheet Clinic *")
    # A number that one column of the group has and another lacks is a group that is not whole.
    (fault,) = fits(mapping, {"Apr": [*header, "Who at visit 3"], "Clinic 2": header})
    assert fault.found == "the sheet Apr has no column Visit 3 / Date"
    assert "most like it: Visit 1 / Date" in fault.allowed
    (fault,) = fits(mapping, {"Apr": header, "Clinic 2": ["Ref", "Age", "Seen", "Visit one / Date"]})
    assert (fault.where, fault.allowed) == (
        "riverbank.toml, line 10",
        "one of them at least; most like it: Visit one / Date",
    )
    assert fault.found == "the sheet Clinic 2 has no column Visit * / Date or Who at visit *, * being a number"


def test_a_column_with_the_unit_stands_beside_a_form_and_on_the_sheet(tmp_path: Path):
    weight = 'birth_weight_g = { column = "Weight *", as = "weight", unit = "Unit *" }\n'
    mapping = read(tmp_path, CASES.replace('"cases"\n', '"cases"\nrepeat = "*"\n') + weight)
    header = ["Ref", "Age", "Seen", "Weight 1", "Unit"]
    assert [fault.found for fault in fits(mapping, {"A": header})] == ["the sheet A has no column Unit 1"]
    assert fits(mapping, {"A": [*header, "Unit 1"]}) == ()
    for wrong, found in (
        ('{ column = "W", unit = "Unit" }', '"Unit"'),
        ('{ column = "W", as = "weight", unit = 5 }', "5"),
    ):
        text = f"{CASES}birth_weight_g = {wrong}\n"
        allowed = only_fault(tmp_path, text, 8, f"birth_weight_g has unit = {found}").allowed
        assert allowed.startswith('unit = "the column with the unit" beside as')


def test_a_column_that_is_to_be_filled_and_a_sheet_lacks_is_told(tmp_path: Path):
    mapping = read(tmp_path, '[sheets."A"]\n[sheets."*"]\nfill_down = ["Ref", "Hub"]\n' + CASES)
    header = ["Ref", "Age", "Seen", "Hubs"]
    (fault,) = fits(mapping, {"A": header, "B": header})
    assert (fault.where, fault.found) == ("riverbank.toml, line 3", "the sheet B has no column Hub")
    assert "most like it: Hubs" in fault.allowed


def test_a_sheet_has_exactly_one_of_the_names_of_a_column(tmp_path: Path):
    mapping = read(tmp_path, CASES.replace('"Ref"', '{ column = ["Reference", "Ref no"] }'))
    headers = {"A": ["Reference", "Seen", "Age"], "B": ["Ref no", "Seen", "Age"]}
    assert fits(mapping, headers) == ()
    (fault,) = fits(mapping, {**headers, "C": ["Ref nr", "Seen", "Age"]})
    assert (fault.where, fault.found) == ("riverbank.toml, line 4", "the sheet C has no column Reference or Ref no")
    assert fault.allowed.endswith("most like it: Ref nr")
    both = {**headers, "C": ["Ref no", "Reference", "Seen", "Age"]}
    (fault,) = fits(mapping, both)
    assert fault.found == "the sheet C has several of the columns Reference or Ref no: Reference and Ref no"
    assert fault.allowed == "exactly one of them on a sheet: say which"
    assert "Ref no and" not in fits(mapping, both, {"Reference"})[0].found


def test_a_mapping_for_the_layout_may_speak_of_a_table_that_is_not_there_and_of_no_other_sheet(tmp_path: Path):
    mapping = read(tmp_path, "[sheets.complications]\nheader = 2\n[sheets.complicatoins]\nheader = 2\n")
    assert [fault.found for fault in fits(mapping, {"cases": ["case_ref"]})] == [
        "the export has no sheet complicatoins"
    ]
