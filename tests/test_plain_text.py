"""No road to a reader lets a sign through that is not seen and changes how what follows is read."""

from __future__ import annotations

import contextlib
import io
import re
import sys
from pathlib import Path

import duckdb
import openpyxl
import pytest

from pipeline import run
from pipeline.console import cli
from pipeline.console.cli import main
from pipeline.console.terminal import say, say_wrapped
from pipeline.contracts import places
from pipeline.intake.account.mending_workbook import Row, write_workbook
from pipeline.plain_text import without_unseen_signs
from pipeline.progress import Progress
from pipeline.report.commentary import markdown
from pipeline.report.pages import html_page
from pipeline.store import csv_files
from tests.conftest import write_export

# An escape sequence, a line drawn over, a C1 control; a turn of the writing, the marks of it that are easily forgotten;
# a line separator; half of a pair.
UNSEEN = "\x1b\r\x7f\x9b\u202e\u200f\u061c\u2066\u2028\ud800"
HOSTILE = "a" + "b".join(UNSEEN) + "c"
SHOWN = "a␛b␍b␡b" + "b".join("�" * 7) + "c"


def test_each_sign_has_a_mark_and_what_is_seen_stays():
    assert without_unseen_signs(HOSTILE) == SHOWN
    seen = "tab\tline\nnaïve 日本 עברית \U0001f37c no\u00a0break \u200d soft\u00adhyphen"
    assert without_unseen_signs(seen) == seen


def test_a_page(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    (tmp_path / "style.css").write_text("", encoding="utf-8")
    (tmp_path / "one.html").write_text("{{ said }}", encoding="utf-8")
    monkeypatch.setattr(places, "REPORTS", tmp_path)
    html_page._environment.cache_clear()
    assert html_page.render("one.html", said=HOSTILE) == SHOWN
    monkeypatch.undo()
    html_page._environment.cache_clear()


@pytest.mark.parametrize(
    "written", ["{}", "# {}", "| {} |\n| --- |\n| {} |", "`{}`", "[{}](https://example.org)", "![{}](x)"]
)
def test_the_lead_s_words(written: str):
    one_line = HOSTILE.replace("\r", "")  # which ends a line in Markdown
    page = repr(markdown.read(written.replace("{}", one_line)))
    assert "a␛b" in page and "�" in page
    assert not re.search(r"\\x1b|\\x9b|\\u20|\\u061c|\\ud800|[\u200f\u202e\u2066]", page)


def test_a_sign_that_the_lead_s_words_name_by_its_number():
    assert "�" in repr(markdown.read("a &#x200f; b"))


def test_a_list(tmp_path: Path):
    text = csv_files.write(tmp_path / "list.csv", ["x"], [[HOSTILE], [3]]).read_bytes().decode("utf-8")
    assert text == f"x\n{SHOWN}\n3\n"


def test_the_workbook(tmp_path: Path):
    write_workbook(tmp_path / "x.xlsx", [("cases", [Row(HOSTILE, 2, *[HOSTILE] * 6)])], export=HOSTILE)
    cells = [cell.value for cell in openpyxl.load_workbook(tmp_path / "x.xlsx")["cases"][2]]
    assert cells == [SHOWN, 2, SHOWN, SHOWN, f"the {SHOWN}", SHOWN, SHOWN, SHOWN]


def test_the_terminal(capsys: pytest.CaptureFixture[str]):
    say(f"{HOSTILE}\n{HOSTILE}")
    say(HOSTILE, error=True)
    say_wrapped(HOSTILE)
    said = capsys.readouterr()
    assert (said.out, said.err) == (f"{SHOWN}\n{SHOWN}\n  {SHOWN.replace('␍', ' ')}\n", f"{SHOWN}\n")


SIGN = "x\x1b[2J\x07\u202ey"  # clears the screen, rings, turns the writing round


@pytest.mark.parametrize(
    "words",
    [
        [SIGN],
        ["loads", f"--{SIGN}"],
        ["loads", SIGN],
        ["loads", "--folder", f"audit.toml/{SIGN}"],
        ["loads", "--folder", SIGN],
        ["withdraw", SIGN],
        ["withdraw", "1", "--reason"],
        ["new", SIGN + "/a/b"],
        ["check", SIGN],
        ["check", "audit.toml", "--extracted-on", SIGN],
        ["check", "export", "--mapping", SIGN],
        ["check", "export", "--encoding", SIGN],
        ["check", "export", "--to-mend", f"{SIGN}.xlsx"],
        ["suggest", SIGN],
        ["suggest", f"{SIGN}.csv"],
        ["suggest", "export", "--as", SIGN],
        ["report", SIGN],
        ["measures", SIGN],
        ["practitioner", SIGN],
        ["trace", SIGN],
        ["due", "--on", SIGN],
        ["due", "--days", SIGN],
        ["erase", SIGN, "--yes"],
        ["erase", SIGN],
    ],
    ids=lambda words: " ".join(words).replace(SIGN, "SIGN"),
)
def test_nothing_that_was_typed_reaches_the_terminal_raw(
    words: list[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
):
    run.new(tmp_path / "audit")
    (tmp_path / "audit" / f"{SIGN}.csv").write_text(f"{SIGN},b\n{SIGN},{SIGN}\n", encoding="utf-8")
    monkeypatch.chdir(tmp_path / "audit")
    monkeypatch.setattr(sys, "argv", ["feeding-audit", *words])
    monkeypatch.setattr(sys, "stdin", io.StringIO("no\n"))
    with contextlib.suppress(SystemExit):
        main()
    said = capsys.readouterr()
    assert said.out + said.err
    assert not re.search("[\x1b\x07\u202e]", said.out + said.err)


def test_what_was_stored_or_named_before_is_printed_clean(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
):
    folder = tmp_path / "audit"
    run.new(folder)
    export = tmp_path / f"{SIGN}"
    write_export(export, {"cases": "case_ref,site,first_contact_date,age_days"})
    (folder / "mappings" / f"{SIGN}.toml").write_text("???", encoding="utf-8")
    for words in (
        ["load", str(export), "--extracted-on", "2026-06-30", "--accept-anyway", SIGN],
        ["loads"],
        ["check", str(export), "--extracted-on", "2026-06-30"],
        ["report", "2026Q2"],
    ):
        monkeypatch.setattr(sys, "argv", ["feeding-audit", *words, "--folder", str(folder)])
        with contextlib.suppress(SystemExit):
            main()
        said = capsys.readouterr()
        assert "␛" in said.out + said.err
        assert not re.search("[\x1b\x07\u202e]", said.out + said.err)


@pytest.mark.parametrize("cause", [ValueError(SIGN), MemoryError(SIGN), OSError(5, SIGN, SIGN), KeyError(SIGN)])
def test_a_traceback_is_printed_clean(
    cause: Exception, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
):
    def fail(**_: object) -> None:
        raise cause

    monkeypatch.setattr(cli, "commands", fail)
    with pytest.raises(SystemExit) as left:
        main()
    assert left.value.code == 1
    said = capsys.readouterr().err
    assert ("Not done" in said) is isinstance(cause, MemoryError | OSError)
    assert ("Traceback" in said) is not isinstance(cause, MemoryError | OSError)
    assert not re.search("[\x1b\x07\u202e]", said)


@pytest.mark.parametrize(
    "query", ["SELECT CAST('SECRET' AS INTEGER)", "SELECT error('SECRET')", "SELECT strptime('SECRET', '%Y')"]
)
def test_a_traceback_quotes_no_value_that_duckdb_quotes(
    query: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
):
    def fail(**_: object) -> None:
        try:
            duckdb.execute(query)
        except duckdb.Error as error:
            raise ValueError("a defect") from error

    monkeypatch.setattr(cli, "commands", fail)
    with pytest.raises(SystemExit):
        main()
    said = capsys.readouterr().err
    assert "ValueError: a defect" in said and " Error at a row or value" in said
    assert "SECRET" not in said


@pytest.mark.parametrize("words", [["check", "no\x1b[2J\u202efile.csv", "--folder", "."], ["measures", "n\x1b"]])
def test_what_the_command_line_says_of_an_error(
    audit: Path, words: list[str], monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
):
    monkeypatch.chdir(audit)
    monkeypatch.setattr(sys, "argv", ["feeding-audit", *words])
    with pytest.raises(SystemExit):
        main()
    said = capsys.readouterr()
    assert said.err.startswith("Not done.\n")
    assert "␛" in said.err
    assert "\x1b" not in said.out + said.err and "\u202e" not in said.out + said.err


def test_the_line_of_what_is_being_done():
    class Terminal(io.StringIO):
        def isatty(self) -> bool:
            return True

    stream = Terminal()
    with Progress(stream, delay=0) as progress:
        progress.stage("reading \x1b[2J\u202e.csv")
    assert "reading ␛[2J�.csv" in stream.getvalue()


def test_there_is_one_cleaner_and_one_place_that_prints():
    pipeline = places.SQL.parent / "pipeline"
    texts = {path.relative_to(pipeline).as_posix(): path.read_text(encoding="utf-8") for path in pipeline.rglob("*.py")}
    assert [name for name, text in texts.items() if r"\u202" in text] == ["plain_text.py"]
    prints = r"\bclick\.(echo|secho|confirm|prompt)\(|(?<!\w)print\("
    # The store waits before any command has something to say, and says so in words of its own.
    assert [name for name, text in sorted(texts.items()) if re.search(prints, text)] == [
        "console/terminal.py",
        "store/opening.py",
    ]
