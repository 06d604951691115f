"""Settings and mappings that no person writes: refused at once, with the line, before a parser takes them."""

from __future__ import annotations

import os
import signal
from pathlib import Path

import pytest

from pipeline.contracts import written_text
from pipeline.contracts.written_text import DEEPEST, LARGEST, LONGEST_LINE, MOST_DIGITS
from pipeline.errors import Refused
from pipeline.intake.map.mapping_file import read_mapping
from pipeline.settings import read_settings

BEYOND = {
    "a number of 5,000 digits": ('[service]\nname = "x"\na = ' + "9" * 5_000, 3, "a number is longer"),
    "brackets in brackets": ("a = " + "[" * 4_000 + "]" * 4_000, 1, "brackets stand in brackets"),
    "braces over many lines": ("a = [\n" * (DEEPEST + 1), DEEPEST + 1, "brackets stand in brackets"),
    "a line without end": ("x." * 50_000 + "x = 1", 1, "the line is longer"),
}


@pytest.mark.parametrize("name", BEYOND)
def test_what_is_beyond_use_is_refused_with_its_line(tmp_path: Path, name: str):
    text, line, words = BEYOND[name]
    path = tmp_path / "mine.toml"
    path.write_text(text, encoding="utf-8")
    for read in (read_mapping, lambda path: read_settings(path, {})):
        with pytest.raises(Refused) as refused:
            read(path)
        (fault,) = refused.value.faults
        assert fault.where.endswith(f"mine.toml, line {line}")
        assert fault.found.startswith(f"cannot be read: {words}")
        assert len(str(fault)) < 300


def test_a_file_without_end_is_not_read_to_its_end(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    path = tmp_path / "mine.toml"
    path.write_bytes(b"#" * (LARGEST + 1))
    with pytest.raises(Refused, match="the file is longer"):
        read_settings(path, {})
    monkeypatch.setattr(written_text, "LARGEST", LARGEST + 1)
    monkeypatch.setattr(written_text, "LONGEST_LINE", LARGEST + 1)
    read_settings(path, {})


@pytest.mark.skipif(os.name != "posix", reason="pipes among files are those of POSIX")
def test_a_pipe_is_not_waited_for(tmp_path: Path):
    path = tmp_path / "mine.toml"
    os.mkfifo(path)
    signal.signal(signal.SIGALRM, lambda *_: pytest.fail("it waits for the pipe"))
    signal.alarm(5)
    try:
        for read in (read_mapping, lambda path: read_settings(path, {})):
            with pytest.raises(Refused, match="no ordinary file"):
                read(path)
    finally:
        signal.alarm(0)
        signal.signal(signal.SIGALRM, signal.SIG_DFL)


@pytest.mark.parametrize("text", ["[" * 99, "9" * 999, "# [[[" * 99, '"""\n[[[[' + "[" * 99 + '\n"""'])
def test_what_stands_in_a_text_or_a_remark_is_no_bracket_and_no_number(tmp_path: Path, text: str):
    path = tmp_path / "mine.toml"
    written = text if text.startswith(("#", '"')) else f'"{text}"'
    path.write_text(written if text.startswith("#") else f"[service]\nname = {written}\n", encoding="utf-8")
    read_settings(path, {})


def test_the_limits_themselves_are_allowed(tmp_path: Path):
    path = tmp_path / "mine.toml"
    path.write_text("# " + "-" * (LONGEST_LINE - 2), encoding="utf-8")
    read_settings(path, {})
    for text in ("9" * MOST_DIGITS, "[" * DEEPEST + "]" * DEEPEST):
        path.write_text(f"a = {text}\n", encoding="utf-8")
        with pytest.raises(Refused, match=r"mine\.toml") as refused:
            read_settings(path, {})
        assert "is longer" not in str(refused.value)
        assert "in brackets" not in str(refused.value)


@pytest.mark.parametrize("key", ["x." * 9_000 + "x"])
def test_a_name_of_many_parts_is_refused_in_words(tmp_path: Path, key: str):
    path = tmp_path / "mine.toml"
    path.write_text(f"{key} = 1\n", encoding="utf-8")
    for read in (read_mapping, lambda path: read_settings(path, {})):
        with pytest.raises(Refused):
            read(path)
