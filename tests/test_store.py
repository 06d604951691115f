"""Holding the store: other programs, older versions, damage, a full disk, and who may read what is left."""

from __future__ import annotations

import contextlib
import os
import re
import shutil
import stat
import sys
import tempfile
from datetime import date
from pathlib import Path

import duckdb
import pytest

from pipeline import __version__, run, store
from pipeline.console.cli import main
from pipeline.contracts import places
from pipeline.errors import Refused, why_not_written
from pipeline.report.pages import explore_page
from pipeline.runs import run_store
from pipeline.store import opening, report_records, schema
from pipeline.store.whole_files import write_new, write_whole
from tests.children import fork, held, outcome
from tests.conftest import INVENTED, write_export

CUT_OFF = date(2026, 6, 30)
CASES = "case_ref,site,first_contact_date,age_days\nA,North,2026-01-10,10"
posix = pytest.mark.skipif(os.name != "posix", reason="file modes, forks and limits are those of POSIX")


def load(audit: Path, cases: str = CASES, cut_off: date = CUT_OFF) -> run.Loaded:
    return run.load(audit, write_export(audit.parent / "export", {"cases": cases}), cut_off, accept_anyway=INVENTED)


@pytest.fixture(scope="module")
def one_load(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An audit folder with one load in it, to be copied."""
    audit = run.new(tmp_path_factory.mktemp("one_load") / "audit").parent
    load(audit)
    return audit


@pytest.fixture
def loaded(one_load: Path, tmp_path: Path) -> Path:
    return shutil.copytree(one_load, tmp_path / "audit")


def asked(audit: Path, query: str) -> list[tuple[object, ...]]:
    with contextlib.closing(store.work(audit)) as con:
        store.attach(con, audit, to_load=False)
        return con.execute(query).fetchall()


@pytest.mark.parametrize("to_load", [False, True])
def test_a_store_that_is_let_go_of_is_waited_for(loaded: Path, to_load: bool):
    said: list[str] = []
    with held(loaded / store.FILE_NAME, 1) as process, contextlib.closing(store.work(loaded)) as con:
        store.attach(con, loaded, to_load=to_load, say=said.append)
        assert con.execute("SELECT count(*) FROM store.cases").fetchall() == [(1,)]
    assert said == [f"waiting for another program (process {process}) to finish with the store"]


@pytest.mark.parametrize("to_load", [False, True])
def test_a_store_that_is_not_let_go_of_is_refused_naming_the_process(loaded: Path, to_load: bool):
    said: list[str] = []
    with (
        held(loaded / store.FILE_NAME, None) as process,
        contextlib.closing(store.work(loaded)) as con,
        pytest.raises(Refused, match=rf"another program \(process {process}\) holds it open"),
    ):
        store.attach(con, loaded, to_load=to_load, patience=0.5, say=said.append)
    assert len(said) == 1


def test_a_file_that_was_replaced_while_it_was_opened_is_not_kept(loaded: Path, monkeypatch: pytest.MonkeyPatch):
    """What would be added to it would be lost with it."""
    seen = iter([(1, 1), (1, 2), (1, 2), (1, 2)])
    monkeypatch.setattr(opening, "_identity", lambda path: next(seen))
    with contextlib.closing(store.work(loaded)) as con:
        store.attach(con, loaded, to_load=True)
        assert con.execute("SELECT count(*) FROM store.cases").fetchall() == [(1,)]
    assert list(seen) == []


@posix
def test_a_store_that_others_can_read_is_tightened_when_it_is_written_to(loaded: Path):
    path = loaded / store.FILE_NAME
    path.chmod(0o644)
    asked(loaded, "SELECT 1")
    assert stat.S_IMODE(path.stat().st_mode) == 0o644  # a reader changes nothing
    load(loaded)
    assert stat.S_IMODE(path.stat().st_mode) == 0o600


def spill(con: duckdb.DuckDBPyConnection) -> None:
    con.execute("SET memory_limit = '60MB'")
    con.execute("CREATE TEMP TABLE wide AS SELECT repeat('K7-ZULU' || range, 20) AS text FROM range(1500000)")


@posix
def test_what_spills_is_private_and_gone_when_the_connection_closes(audit: Path):
    with contextlib.closing(store.work(audit)) as con:
        spill(con)
        place = audit / ".spill"
        (own,) = place.iterdir()
        assert list(own.iterdir())
        assert stat.S_IMODE(place.stat().st_mode) == 0o700
    assert list(place.iterdir()) == []


def test_nothing_spills_outside_an_audit_folder(tmp_path: Path):
    with contextlib.closing(store.work(tmp_path)) as con:
        assert con.execute("SELECT current_setting('temp_directory')").fetchall() == [("",)]
        with pytest.raises(duckdb.OutOfMemoryException):
            spill(con)
    assert list(tmp_path.iterdir()) == []


def test_what_killed_runs_left_is_removed_when_the_store_is_held_for_writing(loaded: Path):
    left = loaded / ".spill" / "99-dead"
    left.mkdir()
    (left / "duckdb_temp_storage").write_text("K7-ZULU")
    unfinished = [
        loaded / f"{store.FILE_NAME}.new",
        loaded / f"{store.FILE_NAME}.new.wal",
        loaded / f"{store.FILE_NAME}.9.new",
    ]
    for path in unfinished:
        path.write_text("K7-ZULU")
    asked(loaded, "SELECT 1")
    assert left.exists()  # somebody may still be reading
    load(loaded)
    assert not left.exists()
    assert not any(path.exists() for path in unfinished)


def test_the_next_command_clears_what_killed_runs_left_but_not_while_another_program_has_the_store(loaded: Path):
    (loaded / ".spill" / "99-dead").mkdir()
    (loaded / "editions" / "2026Q1").mkdir(parents=True)
    names = (
        ".spill/99-dead/storage",
        "store.duckdb.new",
        "store.duckdb.new.wal",
        "editions/2026Q1/.service.html.9.new",
    )
    left = [loaded / name for name in names]
    yours = loaded / "editions" / "2026Q1" / ".draft.new"
    for path in (*left, yours):
        path.write_text("K7-ZULU")
    with held(loaded / store.FILE_NAME, None, to_read=True):
        assert len(run_store.loads(loaded)) == 1
        assert all(path.exists() for path in left)
    assert len(run_store.loads(loaded)) == 1
    assert [path for path in left if path.exists()] == []
    assert list((loaded / ".spill").iterdir()) == []
    assert yours.exists()


@pytest.mark.parametrize(
    ("said", "expected"),
    [
        # As DuckDB 1.x said it on a disk that was full, and where a file may not grow.
        (
            'Checkpoint failed for database "fresh". Could not write file "s": No space left on device',
            "the disk is full",
        ),
        ("Could not write file: Disk quota exceeded\nStack trace", "the disk is full"),
        ("Could not write file: File too large\nStack trace", "Could not write file: File too large"),
    ],
)
def test_a_full_disk_is_said_in_our_words(said: str, expected: str):
    assert why_not_written(duckdb.IOException(said)) == expected


def test_a_new_file_is_whole_or_not_there_and_never_over_another(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    path = write_new(tmp_path / "spring.toml", b"one")
    with pytest.raises(FileExistsError):
        write_new(path, b"two")
    assert path.read_bytes() == b"one"

    def full(_: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(OSError, match="No space"):
        write_new(tmp_path / "summer.toml", b"one")
    assert list(tmp_path.iterdir()) == [path]


DAMAGED = {
    "no DuckDB file": (lambda whole: b"GIF89a" * 1000, "not a valid DuckDB database file"),
    "empty": (lambda whole: b"", "not a valid DuckDB database file"),
    "cut in its header": (lambda whole: whole[:5000], "Could not read enough bytes"),
    "cut in the middle": (lambda whole: whole[: len(whole) // 2], "Could not read enough bytes"),
    "bytes changed": (lambda whole: whole[:20000] + b"\xff" * 300000 + whole[320000:], "orrupt|checksum"),
}


@pytest.mark.parametrize("command", ["report", "withdraw 1"])
@pytest.mark.parametrize("name", DAMAGED)
def test_a_damaged_store_is_told_not_shown_as_a_traceback(
    loaded: Path, name: str, command: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
):
    damage, expected = DAMAGED[name]
    path = loaded / store.FILE_NAME
    path.write_bytes(damage(path.read_bytes()))
    monkeypatch.setattr(sys, "argv", ["feeding-audit", *command.split(), "--folder", str(loaded)])
    with pytest.raises(SystemExit) as left:
        main()
    said = capsys.readouterr().err
    assert left.value.code == 1
    assert said.startswith(("Not done.", "Not done: "))
    assert re.search(expected, said), said
    assert "put back a copy" in said


def test_a_duckdb_file_that_is_no_store_is_refused(audit: Path):
    with duckdb.connect(str(audit / store.FILE_NAME)) as other:
        other.execute("CREATE TABLE mine AS SELECT 1")
    with pytest.raises(Refused, match="no store of this program"):
        load(audit)


def test_a_store_of_a_newer_version_names_the_program_that_made_it(loaded: Path):
    with duckdb.connect(str(loaded / store.FILE_NAME)) as newer:
        newer.execute("UPDATE about SET store_version = $1, made_by = '9.9'", [schema.STORE_VERSION + 1])
    said = rf"a store of version {schema.STORE_VERSION + 1}\n.*\n.*use feeding-audit 9\.9"
    with pytest.raises(Refused, match=said):
        run.report(loaded)


@posix
def test_a_full_disk_adds_nothing_and_leaves_the_store_whole(loaded: Path, read_once: None):
    import resource

    run.load(
        shutil.copytree(loaded, loaded.parent / "before"), places.DEMO_EXPORT, accept_anyway=INVENTED
    )  # what it asks, the forks know
    path = loaded / store.FILE_NAME

    def load_with_room(limit: int) -> str:
        # No file may grow beyond it: not the log that a commit is written to, nor the store that closing writes it to.
        resource.setrlimit(resource.RLIMIT_FSIZE, (limit, limit))
        return f"load {run.load(loaded, places.DEMO_EXPORT, accept_anyway=INVENTED).number}"

    said = []
    for limit in (0, 1_000, 50_000, 200_000, 400_000, 460_000, 1_000_000):
        said.append(outcome(*fork(lambda limit=limit: load_with_room(limit))))
        found = asked(loaded, "SELECT (SELECT count(*) FROM store.events), count(*) FROM store.contacts")
        if said[-1].startswith("ok"):
            break
        assert found == [(1, 0)], (limit, said[-1])
        assert "Refused" in said[-1], said[-1]
        assert "nothing was added" in said[-1]
    # The last one had room for its log and none for the checkpoint: it is in the log, whole.
    assert path.with_name(f"{path.name}.wal").exists()
    assert path.stat().st_size > 1_000_000
    assert len(said) == 7
    rows = sum(1 for _ in (places.DEMO_EXPORT / "contacts.csv").open(encoding="utf-8"))
    assert found[0][0] == 2
    assert rows - 30 < found[0][1] < rows
    assert run.load(loaded, places.DEMO_EXPORT).number == 2  # there already


@posix
def test_a_full_disk_erases_nothing_leaves_nothing_and_is_told_in_words(audit: Path):
    import resource

    load(audit)
    before = sorted(audit.rglob("*"))

    def erase_with_room() -> str:
        resource.setrlimit(resource.RLIMIT_FSIZE, (20_000, 20_000))
        return f"erased {run_store.erase(audit, 'A').event}"

    said = outcome(*fork(erase_with_room))
    assert "the store without the case could not be written" in said
    assert "nothing was changed" in said
    assert "MB" in said
    assert sorted(audit.rglob("*")) == before
    assert asked(audit, "SELECT count(*) FROM store.cases WHERE case_ref = 'A'") == [(1,)]


def test_two_programs_may_write_one_file_and_what_a_killed_one_left_is_cleared(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
):
    path = tmp_path / "service.html"
    others, left, elsewhere = (tmp_path / name for name in (".service.html.1.new", ".service.html.2.new", "a.new"))
    for other in (others, left, elsewhere):
        other.write_text("of another")
    for old in (left, elsewhere):
        os.utime(old, (0, 0))
    write_whole(path, b"one")
    assert path.read_bytes() == b"one"
    assert sorted(tmp_path.iterdir()) == [others, elsewhere, path]

    gone = tmp_path / ".service.html.3.new"
    gone.symlink_to(tmp_path / "nowhere")  # its status cannot be asked for: as one that was renamed meanwhile
    write_whole(path, b"one")
    gone.unlink()

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "replace", full)
    with pytest.raises(OSError, match="No space"):
        write_whole(path, b"two")
    assert path.read_bytes() == b"one"
    assert sorted(tmp_path.iterdir()) == [others, elsewhere, path]


def test_a_report_made_while_another_reads_waits_for_nothing_and_is_recorded_later(
    loaded: Path, monkeypatch: pytest.MonkeyPatch, one_page: None
):
    def made(commentary: str) -> store.MadeWith:
        return store.MadeWith("2026Q1", 1, "", commentary, "")

    def record(commentary: str) -> str:
        with contextlib.closing(store.work(loaded)) as con:
            store.attach(con, loaded, to_load=False)
            return store.record_report(con, loaded, made(commentary))

    with held(loaded / store.FILE_NAME, None, to_read=True), monkeypatch.context() as patch:
        patch.setattr(opening.time, "sleep", lambda seconds: pytest.fail("it waits"))
        assert [text for text in run.report(loaded, "2026Q2").doubts if "recorded" in text] == []
        assert [record(words) for words in ("As it was.", "As it was.", "As it is.")] == ["", "", ""]
        with contextlib.closing(store.work(loaded)) as con:
            store.attach(con, loaded, to_load=False)
            assert store.latest_report(con, loaded, 1, "2026Q1") == made("As it is.")
            assert store.latest_report(con, loaded, 1, "2026Q3") is None
    reports = "SELECT quarter, commentary FROM store.reports ORDER BY report"
    assert asked(loaded, reports) == []
    record("Now.")
    laid = [("2026Q2", ""), ("2026Q1", "As it was."), ("2026Q1", "As it is.")]
    assert asked(loaded, reports) == [*laid, ("2026Q1", "Now.")]
    assert list((loaded / ".reports").iterdir()) == []


def test_an_erasure_takes_the_case_out_of_what_lies_beside_the_store(loaded: Path):
    made = store.MadeWith("2026Q1", 1, "", "We lost touch with A in May.", "")
    report_records.lay_beside(loaded, made)
    run_store.erase(loaded, "A")
    assert asked(loaded, "SELECT commentary FROM store.reports") == [("We lost touch with [erased] in May.",)]
    assert list((loaded / ".reports").iterdir()) == []


def test_what_lies_beside_the_store_and_is_no_record_is_told(loaded: Path):
    (loaded / ".reports").mkdir()
    for body in (b"{", b"[]", b'{"period": 1}'):
        (loaded / ".reports" / "1.json").write_bytes(body)
        with pytest.raises(Refused, match="one of its files is no record of a report"):
            run_store.withdraw(loaded, 1)


@posix
def test_a_report_from_a_store_that_cannot_be_written_to_says_so(monkeypatch: pytest.MonkeyPatch):
    with tempfile.TemporaryDirectory() as place:
        top = Path(place)
        top.chmod(0o755)
        audit = run.new(top / "audit").parent
        load(audit)
        with_room = audit / "editions"
        with_room.mkdir()
        for path in [top, *top.rglob("*")]:
            path.chmod(0o755 if path.is_dir() else 0o444)
        with_room.chmod(0o777)
        audit.chmod(0o555)

        def as_nobody() -> run.Reported:
            if os.geteuid() == 0:
                os.setuid(65534)
            return run.report(audit)

        # Nobody may not read this environment's own files, where it lies in a folder of its owner's.
        plotly = explore_page.get_plotlyjs()
        monkeypatch.setattr(explore_page, "get_plotlyjs", lambda: plotly)
        said = outcome(*fork(lambda: " ".join(text for text in as_nobody().doubts if "recorded" in text)))
        assert said.startswith("ok: The report is made, but was not recorded in the store"), said
        assert list(with_room.rglob("service.html"))
        with_room.chmod(0o555)
        for path in with_room.rglob("*"):
            path.chmod(0o555)
        said = outcome(*fork(lambda: str(as_nobody())))
        assert "PermissionError" in said  # the command line says of it what to do
        audit.chmod(0o755)
        for path in with_room.rglob("*"):
            path.chmod(0o755)


def test_a_store_is_made_whole_or_not_at_all(audit: Path, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(schema, "onto_the_disk", lambda path: (_ for _ in ()).throw(KeyboardInterrupt))
    with pytest.raises(KeyboardInterrupt):
        load(audit)
    assert not (audit / store.FILE_NAME).exists()
    monkeypatch.undo()
    assert load(audit).number == 1
    assert [path.name for path in audit.glob("store*")] == [store.FILE_NAME]


def test_a_store_that_another_process_made_meanwhile_is_kept(loaded: Path):
    with contextlib.closing(store.work(loaded)) as con:
        schema.make(con, loaded / store.FILE_NAME)
    assert asked(loaded, "SELECT count(*) FROM store.loads") == [(1,)]


# Where the loads and events themselves are read or written; all else reads loads_in_force.
ABOUT_LOADS = {
    "loads_in_force.sql",
    "tables.sql",
    "from_1.sql",
    "from_2.sql",
    "from_3.sql",
    "from_4.sql",
    "events.sql",
    "adding.py",
    "in_force.py",
    "schema.py",
}


def test_only_one_query_says_which_loads_count():
    root = places.SQL.parent
    files = [
        path for folder in ("sql", "pipeline") for path in (root / folder).rglob("*") if path.suffix in (".sql", ".py")
    ]
    assert len(files) > 100
    reads = {path.name for path in files if re.search(r"\bstore\.(loads|events)\b(?!\()", _code(path), re.I)}
    assert reads == ABOUT_LOADS
    for folder in ("cases", "accounts", "measures", "apart", "look_again"):
        for path in [*(root / "sql" / folder).glob("*.sql"), root / "sql" / "due.sql"]:
            text = _code(path)
            if "store." in text:
                # A comparison of two loads is told which two.
                told = "$before" in text and "$now" in text
                assert re.search("loads_in_force|newest_loads|counting_cases", text) or told, path
    assert "FROM loads_in_force" in _code(root / "sql" / "store" / "newest_loads.sql")


def _code(path: Path) -> str:
    """Without its comments."""
    return re.sub(r"--.*|#.*", "", path.read_text(encoding="utf-8"))


def test_the_program_that_made_an_event_is_kept(loaded: Path):
    assert asked(loaded, "SELECT made_by FROM store.events") == [(__version__,)]
