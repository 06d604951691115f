"""What is being done is said at a terminal, and not in a pipe."""

from __future__ import annotations

import contextlib
import io
import os
import re
import signal
import sys
import threading
from pathlib import Path

import pytest
from tqdm import tqdm

from pipeline import run
from pipeline.console.cli import main
from pipeline.contracts import measure_files
from pipeline.progress import Progress
from pipeline.runs import run_store
from tests.children import fork, outcome
from tests.conftest import feeding_audit, write_export

EXPORT = {"cases": "case_ref,site,first_contact_date,age_days\nA,North,2026-06-10,10"}


class Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


def test_the_stage_the_number_done_and_the_time_left_are_said():
    terminal = Terminal()
    with Progress(terminal, delay=0) as progress:
        progress.stage("reading")
        progress.expect(1300, "rows")
        progress.stage("splitting")
        progress.done(650.4)
        progress.stage("storing")
    assert "reading" in terminal.getvalue()
    assert re.search(r"storing: 650 of 1,300 rows, about \S+ left", terminal.getvalue())
    # At the end the line is taken away.
    assert terminal.getvalue().rstrip(" ").endswith("\r")


def test_nothing_is_said_within_the_first_second():
    terminal = Terminal()
    with Progress(terminal) as progress:
        progress.expect(10, "rows")
        progress.stage("splitting")
        progress.done(5)
    assert "splitting" not in terminal.getvalue()


def test_nothing_is_said_where_there_is_no_terminal():
    pipe = io.StringIO()
    with Progress(pipe, delay=0) as progress:
        progress.expect(10, "rows")
        progress.stage("splitting")
        progress.done(5)
    assert pipe.getvalue() == ""


@pytest.mark.skipif(os.name != "posix", reason="a terminal of its own is POSIX's")
def test_a_load_says_at_a_terminal_how_far_it_is_and_in_a_pipe_nothing(audit: Path, tmp_path: Path):
    import pty

    export = write_export(tmp_path / "export", EXPORT)
    command = ["load", str(export), "--extracted-on", "2026-06-30"]
    other = run.new(tmp_path / "other").parent
    silent = feeding_audit(*command, "--folder", other)
    assert silent.stderr == ""
    assert silent.stdout.startswith("Load 1, ")

    main_end, end = pty.openpty()

    def at_a_terminal() -> str:
        sys.stderr, sys.argv = os.fdopen(end, "w"), ["feeding-audit", *command, "--folder", str(audit)]
        Progress.__init__.__defaults__ = None, 0  # a load of one row is done before a second
        with contextlib.suppress(SystemExit):
            main()
        return "done"

    child, reader = fork(at_a_terminal)
    os.close(end)
    said = b""
    with contextlib.suppress(OSError):  # the child has ended
        while read := os.read(main_end, 4096):
            said += read
    os.close(main_end)
    assert outcome(child, reader) == "ok: done"
    assert [event.kind for event in run_store.loads(audit)] == ["load"]
    assert re.search(rb"checking single columns|judging the export", said)
    assert re.search(rb"of 1 rows, about \S+ left", said)


@pytest.mark.skipif(os.name != "posix", reason="fork and SIGKILL are those of POSIX")
def test_a_process_killed_while_it_makes_its_line_stops_no_other():
    Progress()

    def killed_in_the_middle() -> str:
        with tqdm.get_lock():
            os.kill(os.getpid(), signal.SIGKILL)
        return "not killed"

    def another() -> str:
        signal.alarm(5)  # it is ended rather than waiting for ever
        Progress()
        return "made"

    try:
        assert outcome(*fork(killed_in_the_middle)) == ""
        assert outcome(*fork(another)) == "ok: made"
    finally:
        tqdm.set_lock(threading.RLock())  # if it stayed locked, the tests that follow would wait


def test_a_report_says_how_many_measures_are_counted(audit: Path, tmp_path: Path, one_page: None):
    from datetime import date

    run.load(audit, write_export(tmp_path / "export", EXPORT), date(2026, 6, 30))
    terminal = Terminal()
    with Progress(terminal, delay=0) as progress:
        run.report(audit, progress=progress)
    every = len(measure_files.measures())
    assert re.search(rf"counting \w+: {every - 1} of {every} measures, about \S+ left", terminal.getvalue())
    assert "writing the pages" in terminal.getvalue()
