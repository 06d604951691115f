"""Physical lines grouped into records: RFC 4180, the layout's own words on damage, delimiters, names, encodings."""

from __future__ import annotations

import csv
import io
import time
from pathlib import Path

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from pipeline.errors import Refused
from pipeline.intake.read import column_names, csv_records, encodings
from pipeline.intake.read.contents import open_contents
from pipeline.intake.read.sheet import Reading, Sheet
from pipeline.intake.read.sheet_reader import read_sheet


def read(tmp_path: Path, content: bytes, **reading: object) -> Sheet:
    path = tmp_path / "cases.csv"
    path.write_bytes(content)
    return read_sheet(open_contents(path).contents[0], Reading(**reading))  # type: ignore[arg-type]


def records(sheet: Sheet) -> dict[int, tuple[int, list[str]]]:
    """First line: last line and fields, of all records."""
    return {row["line"]: (row["last_line"], row["fields"]) for row in sheet.records.to_pylist()}


def damage(sheet: Sheet) -> list[tuple[int, int]]:
    return [(fault.line, fault.last_line) for fault in sheet.damaged]


def accounted(sheet: Sheet) -> int:
    told = [
        line
        for first, last in [*((first, last) for first, (last, _) in records(sheet).items()), *damage(sheet)]
        for line in range(first, last + 1)
    ]
    assert len(told) == len(set(told)), "no line has two fates"
    return sheet.header_lines + sheet.blank_lines + len(told)


def lines_of(content: bytes) -> int:
    """Lines counted without the pipeline: by turning every line end into one sign."""
    feeds = content.replace(b"\r\n", b"\n").replace(b"\r", b"\n")
    return len(feeds.removesuffix(b"\n").split(b"\n")) if feeds else 0


@pytest.mark.parametrize("end", [b"\n", b"\r\n", b"\r"], ids=["LF", "CRLF", "CR"])
def test_a_line_ends_at_lf_crlf_or_cr(tmp_path: Path, end: bytes):
    sheet = read(tmp_path, end.join([b"a,b", b"1,2", b"3,4", b""]))
    assert sheet.header == ("a", "b")
    assert records(sheet) == {2: (2, ["1", "2"]), 3: (3, ["3", "4"])}
    assert sheet.physical_lines == 3
    assert sheet.said == ()


def test_mixed_line_ends_and_no_last_line_end(tmp_path: Path):
    sheet = read(tmp_path, b"a,b\r\n1,2\r3,4\n5,6")
    assert records(sheet) == {2: (2, ["1", "2"]), 3: (3, ["3", "4"]), 4: (4, ["5", "6"])}
    assert sheet.physical_lines == accounted(sheet) == 4


def test_a_byte_order_mark_is_no_part_of_the_first_column(tmp_path: Path):
    assert read(tmp_path, b"\xef\xbb\xbfa,b\n1,2\n").header == ("a", "b")


def test_blank_lines_are_counted_and_move_no_line_number(tmp_path: Path):
    sheet = read(tmp_path, b"\na,b\n\n  \t\n1,2\n")
    assert sheet.blank_lines == 3
    assert records(sheet) == {5: (5, ["1", "2"])}
    assert accounted(sheet) == sheet.physical_lines == 5


def test_a_line_of_bare_commas_is_a_record(tmp_path: Path):
    assert records(read(tmp_path, b"a,b\n,\n")) == {2: (2, ["", ""])}


def test_a_line_separator_of_unicode_ends_no_line(tmp_path: Path):
    sheet = read(tmp_path, "a,b\n1\u2028x,2\x0by\n".encode())
    assert records(sheet) == {2: (2, ["1\u2028x", "2\x0by"])}


def test_fields_are_not_trimmed(tmp_path: Path):
    assert records(read(tmp_path, b"a,b\n 1 ,\t2 \n")) == {2: (2, [" 1 ", "\t2 "])}


def test_a_quoted_field_may_hold_commas_quotes_and_line_ends(tmp_path: Path):
    # RFC 4180, section 2, rules 6 and 7.
    sheet = read(tmp_path, b'a,b\n"1,1","x\r\ny"\n3,"say ""so"""\n5,6\n')
    assert records(sheet) == {2: (3, ["1,1", "x\r\ny"]), 4: (4, ["3", 'say "so"']), 5: (5, ["5", "6"])}


def test_doubled_quotes_are_never_torn_apart_at_the_end_of_a_line(tmp_path: Path):
    sheet = read(tmp_path, b'a,b\n"a""b""c\nd",2\n')
    assert records(sheet) == {2: (3, ['a"b"c\nd', "2"])}


def test_a_quote_within_an_unquoted_field_is_a_character(tmp_path: Path):
    assert records(read(tmp_path, b'a,b\n5" tall,2\n')) == {2: (2, ['5" tall', "2"])}


def test_a_quote_open_for_50_lines_is_read_and_one_more_is_damage(tmp_path: Path):
    # "A quote still open after 50 lines is damage": closed on its 50th line it is none.
    fits = b'a,b\n1,"' + b"x\n" * 49 + b'x"\n7,8\n'
    assert records(read(tmp_path, fits))[2][0] == 51
    too_long = b'a,b\n1,"' + b"x,\n" * 50 + b'x"\n7,8\n'
    sheet = read(tmp_path, too_long)
    assert damage(sheet)[0] == (2, 2)
    # Reading goes on with the next line.
    assert records(sheet)[3] == (3, ["x", ""])
    assert records(sheet)[53] == (53, ["7", "8"])
    assert accounted(sheet) == sheet.physical_lines == 53


def test_a_quote_open_at_the_end_of_the_file_loses_its_own_line_only(tmp_path: Path):
    sheet = read(tmp_path, b'a,b\n1,"open\n3,4\n5,6\n')
    assert damage(sheet) == [(2, 2)]
    assert records(sheet) == {3: (3, ["3", "4"]), 4: (4, ["5", "6"])}


def test_each_quoted_field_of_a_record_may_run_over_50_lines(tmp_path: Path):
    field = b'"' + b"x\n" * 49 + b'x"'
    sheet = read(tmp_path, b"a,b\n" + field + b"," + field + b"\n7,8\n")
    assert records(sheet)[2][0] == 100
    assert not sheet.damaged


def test_text_behind_a_closing_quote_sets_aside_every_line_of_the_field(tmp_path: Path):
    sheet = read(tmp_path, b'a,b\n1,"x\ny"z\n5,6\n')
    assert damage(sheet) == [(2, 3)]
    assert records(sheet) == {4: (4, ["5", "6"])}


def test_a_long_chain_of_quotes_that_leads_nowhere_is_not_walked_again_from_every_line(tmp_path: Path):
    # Each line closes the quote of the line before and opens the next; the last one is never closed.
    started = time.monotonic()
    sheet = read(tmp_path, b"a,b\n" + b'x","\n' * 60_000)
    assert time.monotonic() - started < 20
    assert len(damage(sheet)) == 60_000
    assert accounted(sheet) == sheet.physical_lines == 60_001


def test_nul_bytes_and_bytes_that_are_not_utf_8_set_aside_their_line(tmp_path: Path):
    sheet = read(tmp_path, b"a,b\n1,\x00\n2,caf\xe9\n3,caf\xc3\xa9\n")
    assert damage(sheet) == [(2, 2), (3, 3)]
    assert sheet.damaged[1].found == "bytes that are not UTF-8, from byte 6 of the line"
    assert records(sheet) == {4: (4, ["3", "café"])}
    assert sheet.said == ("read as UTF-8, of which 1 line cannot be read; --encoding overrides",)


def test_an_unreadable_line_within_a_quoted_field_sets_aside_the_record(tmp_path: Path):
    sheet = read(tmp_path, b'a,b\n1,"x\n\x00\ny"\n5,6\n')
    assert damage(sheet) == [(2, 4)]
    assert records(sheet) == {5: (5, ["5", "6"])}


def test_a_record_with_another_number_of_fields_is_damage(tmp_path: Path):
    sheet = read(tmp_path, b'a,b\n1\n1,2,3\n"1\n",2,3\n4,5\n')
    assert [(fault.line, fault.last_line, fault.found) for fault in sheet.damaged] == [
        (2, 2, "1 field"),
        (3, 3, "3 fields"),
        (4, 5, "3 fields"),
    ]
    assert {fault.allowed for fault in sheet.damaged} == {"2 fields, as many as the header"}
    assert records(sheet) == {6: (6, ["4", "5"])}


def test_records_come_in_the_order_of_the_file_over_every_stretch(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(csv_records, "_CHUNK", 16)
    sheet = read(tmp_path, b'a,b\n"3",4\n1,2\n\n5,6\n"7\n8",9\n1,"2\n' + b"0,0\n" * 9)
    assert list(records(sheet)) == [2, 3, 5, 6, *range(9, 18)]
    assert records(sheet)[6] == (7, ["7\n8", "9"])
    assert accounted(sheet) == sheet.physical_lines == 17


# The names


def test_a_header_may_run_over_lines(tmp_path: Path):
    sheet = read(tmp_path, b'"a\n",b\n1,2\n')
    assert sheet.header == ("a", "b")
    assert sheet.header_lines == 2
    assert records(sheet) == {3: (3, ["1", "2"])}


def test_white_space_in_names_is_single_and_every_name_stands_once(tmp_path: Path):
    sheet = read(tmp_path, 'Date,"1st\u00a0\n seen",,Date,Date (2),Date\n1,2,3,4,5,6\n'.encode())
    assert sheet.header == ("Date", "1st seen", "column 3", "Date (3)", "Date (2)", "Date (4)")
    assert column_names.repeated(sheet.header) == ("Date",)
    assert column_names.repeated(("Date", "Seen (2)")) == ()


def test_lines_above_the_names_are_header_lines_or_blank_and_their_quotes_open_nothing(tmp_path: Path):
    sheet = read(tmp_path, b'"Riverbank clinic\n\nnot this; is\na,b\n1,2\n', header=(4,))
    assert sheet.header == ("a", "b")
    assert (sheet.header_lines, sheet.blank_lines) == (3, 1)
    assert records(sheet) == {5: (5, ["1", "2"])}
    assert accounted(sheet) == sheet.physical_lines == 5


def test_two_header_lines_are_joined_and_the_first_is_carried_on(tmp_path: Path):
    sheet = read(tmp_path, b"title\n,Session 1,,Session 2\nRef,Date,Who,Date,Note\n1,2,3,4,5\n", header=(2, 3))
    assert sheet.header == ("Ref", "Session 1 / Date", "Session 1 / Who", "Session 2 / Date", "Session 2 / Note")
    assert sheet.header_lines == 3
    two = read(tmp_path, b"Ref,Session 1\n,Date\n1,2\n", header=(1, 2))
    assert two.header == ("Ref", "Session 1 / Date")


@pytest.mark.parametrize("content", [b"", b"\n\n"], ids=["empty", "blank"])
def test_a_file_without_a_header_is_refused(tmp_path: Path, content: bytes):
    with pytest.raises(Refused, match=r"cases\.csv: it holds no header"):
        read(tmp_path, content)


@pytest.mark.parametrize(
    ("header", "words"),
    [
        ((4,), "said to stand in line 4, but it ends with line 3"),
        ((2, 1), "in line 2, 1"),
        ((0,), "in line 0"),
        ((1, 2, 3), "in line 1, 2, 3"),
        ((2,), "the header holds no name"),
    ],
)
def test_a_line_of_names_that_cannot_be_is_refused(tmp_path: Path, header: tuple[int, ...], words: str):
    with pytest.raises(Refused, match=words):
        read(tmp_path, b"a,b\n,\n1,2\n", header=header)


@pytest.mark.parametrize(
    "content",
    [b"a,caf\x81\xe9\nSECRET,2\n", b'a,"b\nSECRET,2\n', b"a\x00,b\nSECRET,2\n", b'"a"x,b\nSECRET,2\n'],
    ids=["bytes", "open quote", "NUL", "text behind a quote"],
)
def test_a_header_that_cannot_be_read_is_refused_and_no_row_is_printed(tmp_path: Path, content: bytes):
    with pytest.raises(Refused, match="line 1: the header cannot be read") as refused:
        read(tmp_path, content)
    assert "SECRET" not in str(refused.value)


# The delimiter


@pytest.mark.parametrize(
    ("delimiter", "word"),
    [(";", "semicolons"), ("\t", "tabs"), ("|", "vertical bars")],
    ids=["semicolon", "tab", "bar"],
)
def test_the_delimiter_that_splits_the_names_most_is_found_and_said(tmp_path: Path, delimiter: str, word: str):
    sheet = read(tmp_path, f'a{delimiter}"b, c"{delimiter}d\n1{delimiter}2,2{delimiter}"3{delimiter}"\n'.encode())
    assert sheet.header == ("a", "b, c", "d")
    assert records(sheet) == {2: (2, ["1", "2,2", f"3{delimiter}"])}
    assert sheet.said == (f"columns are divided by {word}",)


def test_a_comma_goes_before_others_that_split_as_often(tmp_path: Path):
    assert read(tmp_path, b"a,b;c\n1,2\n").header == ("a", "b;c")


@pytest.mark.parametrize("told", [";", "\t", "\\t", ".", "~"])
def test_a_delimiter_that_is_told_is_obeyed(tmp_path: Path, told: str):
    sign = told.replace("\\t", "\t")
    sheet = read(tmp_path, f"a,b,c{sign}d\n1,1{sign}2\n".encode(), delimiter=told)
    assert sheet.header == ("a,b,c", "d")
    assert records(sheet) == {2: (2, ["1,1", "2"])}


@pytest.mark.parametrize("told", ["", ";;", '"', "\n"])
def test_a_delimiter_that_cannot_be_is_refused(tmp_path: Path, told: str):
    with pytest.raises(Refused, match="the delimiter cannot be used"):
        read(tmp_path, b"a,b\n", delimiter=told)


@pytest.mark.parametrize("first", [b"sep=;\r\n", b'"sep=;"\n', b"SEP=;\n"])
def test_a_first_line_may_name_the_delimiter(tmp_path: Path, first: bytes):
    sheet = read(tmp_path, first + b"\na,b,c,d;e\n1;2\n")
    assert sheet.header == ("a,b,c,d", "e")
    assert records(sheet) == {4: (4, ["1", "2"])}
    assert (sheet.header_lines, sheet.blank_lines) == (2, 1)


# The encoding


def test_windows_1252_with_curly_quotes_is_read_as_a_whole_and_said(tmp_path: Path):
    content = "a,b\r\n1,‘café’\r\n2,3…4\r\n".encode("cp1252") + b"3,\x81\r\n4,\x00\r\n"
    sheet = read(tmp_path, content)
    # Byte 0x85 of Windows-1252 is an ellipsis; as a letter of Unicode it would be a line end to some readers.
    assert records(sheet) == {2: (2, ["1", "‘café’"]), 3: (3, ["2", "3…4"])}
    assert damage(sheet) == [(4, 4), (5, 5)]
    assert sheet.said == ("read as Windows-1252, for it is not UTF-8; --encoding overrides",)
    assert accounted(sheet) == sheet.physical_lines == lines_of(content) == 5


def test_a_byte_order_mark_of_utf_8_rules_windows_1252_out(tmp_path: Path):
    sheet = read(tmp_path, b"\xef\xbb\xbfa,b\n1,caf\xe9\n2,3\n")
    assert damage(sheet) == [(2, 2)]
    assert records(sheet) == {3: (3, ["2", "3"])}


@pytest.mark.parametrize("encoding", ["utf-16-le", "utf-16-be"])
def test_utf_16_with_a_byte_order_mark_is_read(tmp_path: Path, encoding: str):
    # U+0A0D and U+0D0A hold the bytes of line ends and are none.
    content = "\ufeffa,b\r\n1,é\u0a0d\u0d0a\r\n\r\n2,\U0001f37c".encode(encoding)
    sheet = read(tmp_path, content)
    assert sheet.header == ("a", "b")
    assert records(sheet) == {2: (2, ["1", "é\u0a0d\u0d0a"]), 4: (4, ["2", "\U0001f37c"])}
    assert sheet.said == ("read as UTF-16, as its byte-order mark says",)
    assert accounted(sheet) == sheet.physical_lines == len(content.decode("utf-16").split("\r\n")) == 4


def test_damaged_utf_16_loses_its_line_only(tmp_path: Path):
    lone, half = b"\x00\xd8", b"2"
    content = b"\xff\xfe" + "a,b\n1,".encode("utf-16-le") + lone + "\n3,4\n5,".encode("utf-16-le") + half
    sheet = read(tmp_path, content)
    assert damage(sheet) == [(2, 2), (4, 4)]
    assert records(sheet) == {3: (3, ["3", "4"])}


@pytest.mark.parametrize("cut", ["", "\n"])
def test_half_a_sign_behind_the_last_line_is_no_line(tmp_path: Path, cut: str):
    whole = f"\ufeffa,b\r\n1,2\r\n{cut}".removesuffix(cut).encode("utf-16-le")
    content = whole[:-1] if cut else whole + b"\n"
    sheet = read(tmp_path, content)
    assert records(sheet) == {2: (2, ["1", "2"])} and not damage(sheet)
    assert accounted(sheet) == sheet.physical_lines == 2
    assert "its last byte is half a sign behind the last line, and left out" in sheet.said[0]


def test_utf_16_without_a_mark_is_refused_with_what_to_do_and_read_where_it_is_told(tmp_path: Path):
    content = "case_ref,site\nA,North\n".encode("utf-16-le")
    with pytest.raises(Refused, match="it looks like UTF-16 without a byte-order mark") as refused:
        read(tmp_path, content)
    assert "CSV UTF-8" in str(refused.value)
    assert records(read(tmp_path, content, encoding="utf-16-le")) == {2: (2, ["A", "North"])}


def test_an_encoding_that_is_told_is_obeyed_line_by_line(tmp_path: Path):
    assert records(read(tmp_path, b"a,b\n1,\xd0\xd8\n", encoding="iso8859-5")) == {2: (2, ["1", "аи"])}
    sheet = read(tmp_path, b"a,b\n1,\xc3\xa9\n2,\xe9\n", encoding="utf-8")
    assert records(sheet) == {2: (2, ["1", "é"])}
    assert damage(sheet) == [(3, 3)]
    sheet = read(tmp_path, b"a,b\n1,\x83\x5c\n2,\xff\n3,4\n", encoding="shift_jis")
    assert records(sheet) == {2: (2, ["1", "ソ"]), 4: (4, ["3", "4"])}
    assert damage(sheet) == [(3, 3)]


@pytest.mark.parametrize("encoding", ["klingon", "rot13", "idna", "undefined"])
def test_an_encoding_that_is_none_is_refused(tmp_path: Path, encoding: str):
    with pytest.raises(Refused, match="there is no text encoding"):
        read(tmp_path, b"a,b\n1,2\n", encoding=encoding)


# Every line, whatever is in it

_PIECES = st.sampled_from(
    [b'"', b'""', b",", b";", b"\t", b"|", b"\n", b"\r", b"\r\n", b"a", b" ", b"\xe9", b"\xc3\xa9", b"\x81", b"\x00"]
)


@settings(max_examples=400, deadline=None)
@given(
    content=st.one_of(st.lists(_PIECES, max_size=120).map(b"".join), st.binary(max_size=200)),
    delimiter=st.sampled_from([None, ",", ";", "\t", "|", "a", "é"]),
    encoding=st.sampled_from([None, "utf-8", "windows-1252", "shift_jis"]),
    header=st.sampled_from([(), (1,), (2,), (1, 2)]),
)
def test_the_lines_add_up_for_any_bytes(
    content: bytes, delimiter: str | None, encoding: str | None, header: tuple[int, ...]
):
    assume(encoding or content[:2] not in (b"\xff\xfe", b"\xfe\xff"))
    try:
        text = encodings.to_text(content, encoding, "any.csv")
        sheet = csv_records.read_csv(text, "any.csv", "any", "", Reading(header, None, delimiter))
    except Refused:
        return
    assert accounted(sheet) == sheet.physical_lines == lines_of(content)
    assert {len(fields) for _, fields in records(sheet).values()} <= {len(sheet.header)}


@settings(max_examples=200, deadline=None)
@given(
    rows=st.lists(st.lists(st.text(st.sampled_from('a",;\n\r é\t'), max_size=6), min_size=3, max_size=3), max_size=8),
    delimiter=st.sampled_from([",", ";", "\t"]),
    quoting=st.sampled_from([csv.QUOTE_ALL, csv.QUOTE_MINIMAL]),
)
def test_what_another_writer_wrote_is_read_back(rows: list[list[str]], delimiter: str, quoting: int):
    # A row that holds white space only may be a blank line to us; the writer's first column is never empty here.
    written = io.StringIO(newline="")
    rows = [["r" + row[0], *row[1:]] for row in rows]
    csv.writer(written, delimiter=delimiter, quoting=quoting).writerows([["x", "y", "z"], *rows])
    sheet = csv_records.read_csv(encodings.to_text(written.getvalue().encode(), None, "x"), "x", "x", "", Reading())
    assert sheet.records["fields"].to_pylist() == rows
    assert sheet.damaged == ()
