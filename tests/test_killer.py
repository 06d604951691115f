"""Killed at any moment, the store is whole: it holds what was being done, all of it or nothing, and works on.

FEEDING_AUDIT_KILLS says how many kills of a later load (12 without); a first load has a third as many, an erasure as
many. A fifth of the moments are spread over the measured time of one whole run, the others over the part of it that
writes, which is short. A true SIGKILL of a process, a fork of this one: that is POSIX, and the tests are run on Linux
and macOS. A later load or an erasure that was killed is done again in the same folder and killed again, until it is
there.
"""

from __future__ import annotations

import contextlib
import os
import random
import shutil
import signal
import time
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from pipeline import run, store
from pipeline.contracts import layout
from pipeline.runs import run_store
from tests.children import fork, outcome
from tests.conftest import INVENTED, some_of_the_demo, write_export

pytestmark = pytest.mark.skipif(os.name != "posix", reason="fork and SIGKILL are those of POSIX")
KILLS = int(os.environ.get("FEEDING_AUDIT_KILLS", "12"))
SEED = 20261012
FIRST = {"cases": "case_ref,site,first_contact_date,age_days\nK7-ZULU,North,2026-01-10,10"}


def counts(audit: Path) -> list[dict[str, int]]:
    """For each load, in order, the rows of every table; reads as a report would, right after the kill."""
    with contextlib.closing(store.work(audit)) as con:
        store.attach(con, audit, to_load=False)
        loads = [load for (load,) in con.execute("SELECT load FROM store.loads ORDER BY load").fetchall()]
        tables = [*(table.name for table in layout.tables()), "files", "set_aside", "repeats", "remarks"]
        strays = con.execute("SELECT count(*) FROM store.events WHERE kind = 'load'").fetchall()
        assert strays == [(len(loads),)]
        rows = {
            table: dict(con.execute(f"SELECT load, count(*) FROM store.{table} GROUP BY load").fetchall())
            for table in tables
        }
        assert all(set(of_table) <= set(loads) for of_table in rows.values()), "rows of no load"
        return [{table: of_table.get(load, 0) for table, of_table in rows.items()} for load in loads]


@dataclass(frozen=True)
class Moment:
    """So many seconds after the start, or after the writing began."""

    seconds: float
    of_writing: bool


def started(work: Callable[[], str], writes: str) -> tuple[int, int, int]:
    """The work in a child, in which store.<writes> tells when it begins: process, what it says, when it writes."""
    told, tells = os.pipe()

    def telling() -> str:
        writing = getattr(store, writes)

        def first_tell(*given: Any, **named: Any) -> Any:
            os.write(tells, b"x")
            return writing(*given, **named)

        setattr(store, writes, first_tell)  # the child is a process of its own: nobody else sees it
        return work()

    child, reader = fork(telling)
    os.close(tells)
    return child, reader, told


def moments(work: Callable[[], str], writes: str, kills: int) -> list[Moment]:
    """One at a random place in each of so many equal parts of the time and a little beyond, shuffled; works once."""
    began = time.monotonic()
    child, reader, told = started(work, writes)
    assert os.read(told, 1) == b"x"
    wrote = time.monotonic()
    os.close(told)
    said = outcome(child, reader)
    assert said.startswith("ok"), said
    ended = time.monotonic()
    generator = random.Random(SEED)
    of_all = max(1, kills // 5)
    drawn = [
        Moment(whole * 1.1 * (part + generator.random()) / parts, of_writing)
        for of_writing, whole, parts in ((False, ended - began, of_all), (True, ended - wrote, kills - of_all))
        for part in range(parts)
    ]
    return generator.sample(drawn, len(drawn))


def killed_at(moment: Moment, work: Callable[[], str], writes: str) -> str:
    """What the child said, empty if it was killed before it was done."""
    child, reader, told = started(work, writes)
    if moment.of_writing:
        os.read(told, 1)
    time.sleep(moment.seconds)
    with contextlib.suppress(ProcessLookupError):
        os.kill(child, signal.SIGKILL)
    os.close(told)
    said = outcome(child, reader)
    assert not said.startswith("failed"), said
    return said


def left_over(audit: Path) -> list[Path]:
    return [*(audit / ".spill").rglob("*"), *audit.glob("store.duckdb.*new*")]


@pytest.mark.parametrize("is_first", [True, False], ids=["the first load", "a later load"])
def test_a_load_killed_at_any_moment_is_there_whole_or_not_at_all(tmp_path: Path, is_first: bool, read_once: None):
    start = run.new(tmp_path / "start").parent
    if not is_first:
        run.load(start, write_export(tmp_path / "export", FIRST), date(2026, 6, 30), accept_anyway=INVENTED)
    # Each kill costs a load, and the statements of a load of the whole demo are the same.
    export = some_of_the_demo(tmp_path / "second", 40)

    def load(folder: Path) -> str:
        return str(run.load(folder, export, date(2026, 10, 12), accept_anyway=INVENTED).number)

    here, whole, audit = (shutil.copytree(start, tmp_path / name) for name in ("here", "whole", "killed"))
    load(here)  # also imports what a load needs: the children have it, and what was asked
    expected = counts(here)
    assert all(expected[-1].values()), "every table has rows"
    kills = KILLS // 3 if is_first else KILLS
    when = moments(lambda: load(whole), "add_load", kills)
    assert counts(whole) == expected
    outcomes = []
    for moment in when:
        said = killed_at(moment, lambda: load(audit), "add_load")
        held = counts(audit) if (audit / store.FILE_NAME).exists() else []
        outcomes.append(len(held))
        assert held in (expected[:-1], expected), (moment, held)
        if said:
            assert held == expected
        if is_first or held == expected or moment == when[-1]:  # a first load makes the store each time
            load(audit)
            assert counts(audit) == expected
            assert left_over(audit) == []
            shutil.rmtree(audit)
            shutil.copytree(start, audit)
    assert min(outcomes) == len(expected) - 1, "no kill came before the end: the test shows nothing"


def test_an_erasure_killed_at_any_moment_is_done_or_not_and_can_be_done_again(tmp_path: Path):
    start = run.new(tmp_path / "start").parent
    run.load(start, write_export(tmp_path / "export", FIRST), date(2026, 6, 30), accept_anyway=INVENTED)
    run.load(start, some_of_the_demo(tmp_path / "second", 40), date(2026, 10, 12), accept_anyway=INVENTED)
    whole, audit = (shutil.copytree(start, tmp_path / name) for name in ("whole", "killed"))
    when = moments(lambda: str(run_store.erase(whole, "K7-ZULU").event), "erase", KILLS)
    before, after = counts(start), counts(whole)
    assert before != after
    outcomes = []
    for moment in when:
        killed_at(moment, lambda: str(run_store.erase(audit, "K7-ZULU").event), "erase")
        held = counts(audit)
        outcomes.append(held)
        assert held in (before, after), moment
        if held == before and moment == when[-1]:
            run_store.erase(audit, "K7-ZULU")
        if held == after or moment == when[-1]:
            run_store.withdraw(audit, 2)  # cleared by whoever next holds it for writing
            assert counts(audit) == after
            assert left_over(audit) == []
            assert not any(b"K7-ZULU" in path.read_bytes() for path in audit.rglob("*") if path.is_file())
            shutil.rmtree(audit)
            shutil.copytree(start, audit)
    assert before in outcomes, "no kill came before the end: the test shows nothing"
