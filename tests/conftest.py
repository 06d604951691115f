"""What the tests share: an audit folder, and tiny exports written as text."""

from __future__ import annotations

import contextlib
import dataclasses
import io
import json
import os
import shutil
import subprocess
import sys
import textwrap
import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from datetime import date
from pathlib import Path
from typing import Any

import pandas as pd
import pytest
from playwright.sync_api import Browser, sync_playwright

from pipeline import run
from pipeline.console.cli import main
from pipeline.contracts import places
from pipeline.errors import Refused
from pipeline.intake import examination
from pipeline.intake.check import column_rules
from pipeline.intake.gate import gate
from pipeline.intake.gate.new_words import new_words
from pipeline.intake.map.export import Export
from pipeline.lineage import figure_asked
from pipeline.outcomes.outcome import Outcome
from pipeline.progress import Progress
from pipeline.report.pages import pdf
from pipeline.session import Session, opened
from pipeline.store import opening


def pytest_xdist_auto_num_workers() -> int:
    """One more than there are processors: a test that waits, for a browser or another process, leaves one idle."""
    return min(4, (os.cpu_count() or 1) + 1)


# The rows of these tests are few and made to be faulty: the batch gate would rightly hold them back.
INVENTED = "rows invented for a test"


def write_export(folder: Path, tables: Mapping[str, str]) -> Path:
    """One CSV file a table, from indented text."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, text in tables.items():
        (folder / f"{name}.csv").write_text(textwrap.dedent(text).strip() + "\n", encoding="utf-8")
    return folder


def some_of_the_demo(export: Path, of: int) -> Path:
    """The rows of one case in so many of the demo's, and of those with a complication; one of each table twice."""
    export.mkdir()
    shutil.copy(places.DEMO_EXPORT / "datapackage.json", export)
    files = {path.name: path.read_bytes().splitlines(keepends=True) for path in places.DEMO_EXPORT.glob("*.csv")}
    chosen = {line.split(b",")[0] for line in files["complications.csv"] + files["cases.csv"][1::of]}
    for name, (head, *lines) in files.items():
        kept = [line for line in lines if line.split(b",")[0] in chosen or name == "requests.csv"]
        (export / name).write_bytes(b"".join([head, *kept, kept[0]]))
    return export


def work_out_folder(folder: Path, period: str | None = None, as_loaded: int | None = None) -> Outcome:
    """The outcome of an audit folder, without a page."""
    with opened(folder, period, as_loaded) as session:
        return run.worked_out(session, Progress())


ARGUMENTS = ["--no-sandbox", "--disable-gpu", "--disable-background-networking", "--no-first-run"]


def feeding_audit(*words: str | Path, folder: Path | None = None) -> subprocess.CompletedProcess[str]:
    """The console command as typed in that folder: what it prints and how it ends.

    In this process, which has imported already what a process of its own takes seconds to import.
    """
    typed = ["feeding-audit", *map(str, words)]
    printed, told = io.StringIO(), io.StringIO()
    code = 0
    with pytest.MonkeyPatch.context() as patch, contextlib.redirect_stdout(printed), contextlib.redirect_stderr(told):
        patch.setattr(sys, "argv", typed)
        patch.chdir(folder or Path.cwd())
        try:
            main()
        except SystemExit as ended:
            code = int(ended.code or 0)
    return subprocess.CompletedProcess(typed, code, printed.getvalue(), told.getvalue())


def made_once(factory: pytest.TempPathFactory, name: str, make: Callable[[Path], str]) -> tuple[Path, str]:
    """A folder that `make` fills, and what it said: made by the worker that asks first, for all. It is only read."""
    own = factory.getbasetemp()
    shared = own.parent if "PYTEST_XDIST_WORKER" in os.environ else own
    folder, said = shared / name, shared / f"{name}.said"
    try:
        (shared / f"{name}.lock").touch(exist_ok=False)
    except FileExistsError:
        failed = shared / f"{name}.failed"
        while not said.exists():
            assert not failed.exists(), f"another worker could not make {name}"
            time.sleep(0.1)
    else:
        try:
            told = make(folder)
            fresh = shared / f"{name}.said.new"
            fresh.write_text(told, encoding="utf-8")
            fresh.replace(said)  # whole, for the others look for it
        except BaseException:
            (shared / f"{name}.failed").touch()
            raise
    return folder, said.read_text(encoding="utf-8")


def demo_made(folder: Path) -> str:
    """Make the demo there; what the command said."""
    ran = feeding_audit("demo", "--out", folder)
    assert ran.returncode == 0, ran.stderr
    return ran.stdout


@pytest.fixture(scope="session")
def demo(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, str]:
    """The demo's audit folder, a copy for each worker, and what the command said, of the copy."""
    made, said = made_once(tmp_path_factory, "demo", demo_made)
    folder = tmp_path_factory.mktemp("demo") / "audit"
    shutil.copytree(made, folder)
    return folder, said.replace(str(made), str(folder))


def chromium() -> str:
    """The browser to test in."""
    for name in (
        os.environ.get("CHROMIUM", ""),
        "chromium",
        "chromium-browser",
        "google-chrome",
        "google-chrome-stable",
    ):
        found = shutil.which(name)
        if found:
            return found
    return pytest.fail("no Chromium: set CHROMIUM to its path, or install it (tests/find_chromium.sh says how)")


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """A headless Chromium."""
    with sync_playwright() as playwright:
        launched = playwright.chromium.launch(executable_path=chromium(), args=ARGUMENTS)
        yield launched
        launched.close()


@pytest.fixture(scope="session")
def drawn_by_pango() -> None:
    """Skip, saying what to install, where a PDF cannot be made; on a machine that tests for all that is a failure."""
    try:
        pdf.see_that_it_can_be_made()
    except Refused as refused:
        if os.environ.get("CI"):
            raise
        pytest.skip(str(refused))


def confirm(folder: Path, **words: list[str]) -> None:
    """Confirm words in the settings of an audit folder, by their kind."""
    settings = folder / "audit.toml"
    lines = "".join(f"{kind} = {json.dumps(listed)}\n" for kind, listed in words.items())
    settings.write_text(settings.read_text("utf-8").replace("[confirmed]\n", f"[confirmed]\n{lines}"), "utf-8")


@pytest.fixture(scope="session", autouse=True)
def all_is_confirmed() -> Iterator[None]:
    """The sites, practitioners and references of the tests are invented, so a load does not ask about them."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(examination, "new_words", lambda *_: ())
        yield


@pytest.fixture
def nothing_is_confirmed(monkeypatch: pytest.MonkeyPatch) -> None:
    """A load asks about what is new, as it does outside the tests."""
    monkeypatch.setattr(examination, "new_words", new_words)


@pytest.fixture
def audit(tmp_path: Path) -> Path:
    """A new audit folder."""
    return run.new(tmp_path / "audit").parent


@pytest.fixture(scope="session", autouse=True)
def the_same_is_asked_once() -> Iterator[None]:
    """Great Expectations, a third of a small load's time, is asked about a value once a process: of each rule's own.

    Every rule is about one value at a time, so what it says of one does not hang on the others.
    """
    refused: dict[str, dict[Any, bool]] = {}
    validate = column_rules.validate

    def answered_before(
        frame: pd.DataFrame, rules: Sequence[tuple[str, dict[str, Any]]]
    ) -> list[tuple[str, list[int]]]:
        if not {how["column"] for _, how in rules} <= set(frame):
            return validate(frame, rules)  # which says so
        of_rule = {
            how["column"]: refused.setdefault(repr((kind, {**how, "column": ""}, frame[how["column"]].dtype)), {})
            for kind, how in rules
        }
        new = {name: list(dict.fromkeys(frame[name].dropna()).keys() - said.keys()) for name, said in of_rule.items()}
        asked = [rule for rule in rules if new[rule[1]["column"]] or not frame[rule[1]["column"]].notna().any()]
        if asked:
            columns = {how["column"]: frame[how["column"]].dtype for _, how in asked}
            fresh = {name: pd.Series(new[name], dtype=dtype) for name, dtype in columns.items()}
            broken = dict(validate(pd.DataFrame(fresh), asked))
            for name in columns:
                wrong = {new[name][place] for place in broken.get(name, ())}
                of_rule[name].update({value: value in wrong for value in new[name]})
        places = {
            name: [place for place, value in enumerate(frame[name]) if said.get(value)]
            for name, said in of_rule.items()
        }
        return [(name, wrong) for name, wrong in places.items() if wrong]

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(column_rules, "validate", answered_before)
        patch.setattr(gate, "validate", answered_before)
        yield


@pytest.fixture(scope="session", autouse=True)
def one_thread() -> Iterator[None]:
    """Tables of a few rows are read by one thread anyway, and a second costs a fifth of every command to wait for it.

    What runs in a process of its own (the demo of a wheel, the same bytes whatever the hash seed) has all of them.
    """
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(opening, "THREADS", 1)
        yield


def leave_out_pages_beside(patch: pytest.MonkeyPatch) -> None:
    """A report is its service page, the technical one and its lists from now on: the rest takes as long again."""
    patch.setattr(figure_asked, "headlines", lambda *given: ())
    patch.setattr(run, "traced_levels", lambda *given: ())
    for writes in ("write_trace", "write_explorer", "write_figures"):
        patch.setattr(run, writes, lambda *given: given[-1])


@pytest.fixture
def one_page(monkeypatch: pytest.MonkeyPatch) -> None:
    """For tests of what the service page, the technical one or the store says of a report."""
    leave_out_pages_beside(monkeypatch)


@pytest.fixture
def read_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """An export is read once: that touches no audit folder. For tests that load one many times, of how it is stored."""
    opened: dict[Path, Export] = {}
    open_export = run.open_export

    def opened_before(path: Path, *given: Any, **named: Any) -> Export:
        if path not in opened:
            opened[path] = open_export(path, *given, **named)
        return opened[path]

    monkeypatch.setattr(run, "open_export", opened_before)


@contextlib.contextmanager
def worked_out_once(folder: Path, period: str) -> Iterator[None]:
    """Whoever asks for that period of that folder, which nobody changes, is given one session, worked out once."""
    mask = os.umask(0o077)
    os.umask(mask)
    with opened(folder, period) as session, pytest.MonkeyPatch.context() as patch:
        os.umask(mask)  # tests of who may read a file run meanwhile
        outcome, worked_out, open_session = run.worked_out(session, Progress()), run.worked_out, run.opened
        session.con.execute("CREATE TEMP TABLE once_broken_down AS FROM broken_down")

        def opened_before(*asked: Any) -> contextlib.AbstractContextManager[Session]:
            if asked != (folder, period):
                return open_session(*asked)
            # The edition of a practitioner makes a table of its own of it.
            session.con.execute("CREATE OR REPLACE TEMP TABLE broken_down AS FROM once_broken_down")
            return contextlib.nullcontext(session)

        patch.setattr(run, "opened", opened_before)
        patch.setattr(run, "worked_out", lambda of, watch: outcome if of is session else worked_out(of, watch))
        yield


@dataclasses.dataclass(frozen=True)
class Story:
    """The outcome of a tiny export."""

    outcome: Outcome

    def row(self, measure: str, period: str, breakdown: str = "all", level: str = "all") -> dict[str, Any]:
        """One row of the results; a level without eligible cases has none, which is an error here."""
        found = self.outcome.results
        keys = {"measure": measure, "period": period, "breakdown": breakdown, "level": level}
        here = found[(found[list(keys)] == pd.Series(keys)).all(axis=1)]
        assert len(here) == 1, f"{len(here)} rows for {keys}"
        return dict(here.iloc[0])

    def counts(
        self, measure: str, period: str, breakdown: str = "all", level: str = "all"
    ) -> tuple[int, int, int, int]:
        """eligible, known, met, unknown."""
        row = self.row(measure, period, breakdown, level)
        return int(row["eligible"]), int(row["known"]), int(row["met"]), int(row["unknown"])

    def levels(self, measure: str, period: str, breakdown: str) -> dict[str, int]:
        """level: eligible."""
        found = self.outcome.results
        here = found[(found["measure"] == measure) & (found["period"] == period) & (found["breakdown"] == breakdown)]
        return {row["level"]: int(row["eligible"]) for row in here.to_dict("records")}


@pytest.fixture
def tell(audit: Path, tmp_path: Path) -> Callable[..., Story]:
    """Load a tiny export, given as indented text for each table, and work out its results."""

    def tell_story(tables: Mapping[str, str], cut_off: str, period: str | None = None) -> Story:
        export = write_export(tmp_path / "export", tables)
        loaded = run.load(audit, export, date.fromisoformat(cut_off), accept_anyway=INVENTED)
        assert loaded.examined is not None
        assert sum(sheet.set_aside for sheet in loaded.examined.counts) == 0, "a story's rows are all accepted"
        return Story(work_out_folder(audit, period))

    return tell_story
