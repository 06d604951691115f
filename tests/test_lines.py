"""Physical lines grouped into records: RFC 4180, and the layout's own words on damage."""

from __future__ import annotations

from pathlib import Path

import pytest

from pipeline.errors import Refused
from pipeline.intake.lines import CsvFile, read_csv


def read(tmp_path: Path, content: bytes) -> CsvFile:
    path = tmp_path / "cases.csv"
    path.write_bytes(content)
    return read_csv(path)


def records(file: CsvFile) -> dict[int, tuple[int, list[str]]]:
    """First line: last line and fields, of all records."""
    plain = {row["line"]: (row["last_line"], row["text"].rstrip("\r\n").split(",")) for row in file.plain.to_pylist()}
    quoted = {row["line"]: (row["last_line"], row["fields"]) for row in file.quoted.to_pylist()}
    return plain | quoted


def damage(file: CsvFile) -> list[tuple[int, int]]:
    return [(each.line, each.last_line) for each in file.damaged]


def accounted(file: CsvFile) -> int:
    told = sum(last - first + 1 for first, (last, _) in records(file).items())
    return file.header_lines + file.blank_lines + told + sum(last - first + 1 for first, last in damage(file))


@pytest.mark.parametrize("end", [b"\n", b"\r\n", b"\r"], ids=["LF", "CRLF", "CR"])
def test_a_line_ends_at_lf_crlf_or_cr(tmp_path: Path, end: bytes):
    file = read(tmp_path, end.join([b"a,b", b"1,2", b"3,4", b""]))
    assert file.header == ("a", "b")
    assert records(file) == {2: (2, ["1", "2"]), 3: (3, ["3", "4"])}
    assert file.physical_lines == 3


def test_mixed_line_ends_and_no_last_line_end(tmp_path: Path):
    file = read(tmp_path, b"a,b\r\n1,2\r3,4\n5,6")
    assert records(file) == {2: (2, ["1", "2"]), 3: (3, ["3", "4"]), 4: (4, ["5", "6"])}
    assert file.physical_lines == accounted(file) == 4


def test_a_byte_order_mark_is_no_part_of_the_first_column(tmp_path: Path):
    assert read(tmp_path, b"\xef\xbb\xbfa,b\n1,2\n").header == ("a", "b")


def test_blank_lines_are_counted_and_move_no_line_number(tmp_path: Path):
    file = read(tmp_path, b"\na,b\n\n  \t\n1,2\n")
    assert file.blank_lines == 3
    assert records(file) == {5: (5, ["1", "2"])}
    assert accounted(file) == file.physical_lines == 5


def test_a_line_separator_of_unicode_ends_no_line(tmp_path: Path):
    file = read(tmp_path, "a,b\n1\u2028x,2\x0by\n".encode())
    assert records(file) == {2: (2, ["1\u2028x", "2\x0by"])}


def test_a_quoted_field_may_hold_commas_quotes_and_line_ends(tmp_path: Path):
    # RFC 4180, section 2, rules 6 and 7.
    file = read(tmp_path, b'a,b\n"1,1","x\r\ny"\n3,"say ""so"""\n5,6\n')
    assert records(file) == {2: (3, ["1,1", "x\r\ny"]), 4: (4, ["3", 'say "so"']), 5: (5, ["5", "6"])}


def test_doubled_quotes_are_never_torn_apart_at_the_end_of_a_line(tmp_path: Path):
    file = read(tmp_path, b'a,b\n"a""b""c\nd",2\n')
    assert records(file) == {2: (3, ['a"b"c\nd', "2"])}


def test_a_quote_within_an_unquoted_field_is_a_character(tmp_path: Path):
    assert records(read(tmp_path, b'a,b\n5" tall,2\n')) == {2: (2, ['5" tall', "2"])}


def test_a_quote_open_for_50_lines_is_read_and_one_more_is_damage(tmp_path: Path):
    # "A quote still open after 50 lines is damage": closed on its 50th line it is none.
    fits = b'a,b\n1,"' + b"x\n" * 49 + b'x"\n7,8\n'
    assert records(read(tmp_path, fits))[2][0] == 51
    too_long = b'a,b\n1,"' + b"x\n" * 50 + b'x"\n7,8\n'
    file = read(tmp_path, too_long)
    assert damage(file)[0] == (2, 2)
    # Reading goes on with the next line.
    assert records(file)[3] == (3, ["x"])
    assert records(file)[53] == (53, ["7", "8"])
    assert accounted(file) == file.physical_lines == 53


def test_a_quote_open_at_the_end_of_the_file_loses_its_own_line_only(tmp_path: Path):
    file = read(tmp_path, b'a,b\n1,"open\n3,4\n5,6\n')
    assert damage(file) == [(2, 2)]
    assert records(file) == {3: (3, ["3", "4"]), 4: (4, ["5", "6"])}


def test_each_quoted_field_of_a_record_may_run_over_50_lines(tmp_path: Path):
    field = b'"' + b"x\n" * 49 + b'x"'
    file = read(tmp_path, b"a,b\n" + field + b"," + field + b"\n7,8\n")
    assert records(file)[2][0] == 100
    assert not file.damaged


def test_text_behind_a_closing_quote_sets_aside_every_line_of_the_field(tmp_path: Path):
    file = read(tmp_path, b'a,b\n1,"x\ny"z\n5,6\n')
    assert damage(file) == [(2, 3)]
    assert records(file) == {4: (4, ["5", "6"])}


def test_nul_bytes_and_bytes_that_are_not_utf_8_set_aside_their_line(tmp_path: Path):
    file = read(tmp_path, b"a,b\n1,\x00\n2,caf\xe9\n3,caf\xc3\xa9\n")
    assert damage(file) == [(2, 2), (3, 3)]
    assert records(file) == {4: (4, ["3", "café"])}


def test_an_unreadable_line_within_a_quoted_field_sets_aside_the_record(tmp_path: Path):
    file = read(tmp_path, b'a,b\n1,"x\n\x00\ny"\n5,6\n')
    assert damage(file) == [(2, 4)]
    assert records(file) == {5: (5, ["5", "6"])}


def test_a_header_may_run_over_lines(tmp_path: Path):
    file = read(tmp_path, b'"a\n",b\n1,2\n')
    assert file.header == ("a", "b")
    assert file.header_lines == 2
    assert records(file) == {3: (3, ["1", "2"])}


@pytest.mark.parametrize("content", [b"", b"\n\n"], ids=["empty", "blank"])
def test_a_file_without_a_header_is_refused(tmp_path: Path, content: bytes):
    with pytest.raises(Refused, match=r"cases\.csv: the file holds no header"):
        read(tmp_path, content)


@pytest.mark.parametrize("encoding", ["utf-16", "utf-16-le"])
def test_utf_16_is_refused_with_what_to_do(tmp_path: Path, encoding: str):
    with pytest.raises(Refused, match="CSV UTF-8"):
        read(tmp_path, "case_ref,site\nA,North\n".encode(encoding))


def test_a_header_that_cannot_be_read_is_refused_and_no_row_is_printed(tmp_path: Path):
    with pytest.raises(Refused, match="the header cannot be read") as refused:
        read(tmp_path, b"a,caf\xe9\nSECRET,2\n")
    assert "SECRET" not in str(refused.value)
