"""Exports damaged by chance: whatever arrives, it is loaded with every line accounted for, or refused without a trace.

Each run draws a small export without a fault (tests/small_exports.py), damages it (tests/damaging_*.py), loads it, and
holds what came of it against lines counted apart (tests/counting_lines.py). A run is told by its number:

    FEEDING_AUDIT_DAMAGE=1234 python -m pytest tests/test_damage.py      that one run alone
    FEEDING_AUDIT_DAMAGES=5000 python -m pytest tests/test_damage.py     that many runs, one after the other

Without either it is the runs that are needed for each damage to be drawn three times, and each shape undamaged twice.
Of every ten runs one is not damaged, and must be accepted whole.
"""

from __future__ import annotations

import collections
import csv
import functools
import itertools
import os
import random
import re
import shutil
import tomllib
import traceback
import zipfile
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import duckdb
import pytest

from pipeline import run
from pipeline.contracts import layout
from pipeline.errors import Refused
from pipeline.store import LineCounts
from tests import counting_lines, damaging_files, damaging_packed, damaging_tables, small_exports, writing_exports
from tests.counting_lines import Counted
from tests.damaging_tables import NOTHING, Damage
from tests.small_exports import CUT_OFF, IN_LAYOUT, OF_CSV, OF_WORKBOOKS, PARQUET, ZIP, Drawn

ALONE, MANY = os.environ.get("FEEDING_AUDIT_DAMAGE"), os.environ.get("FEEDING_AUDIT_DAMAGES")
# How often each damage is drawn, and each shape without one; tests they are cut into.
TIMES, UNDAMAGED, BATCHES = 3, 2, 5
TABLES = tuple(table.name for table in layout.tables())
REASON = "damaged for a test"
csv.field_size_limit(1 << 26)

Stored = Mapping[str, list[tuple[Any, ...]]]  # table of the store -> its rows


@dataclass(frozen=True)
class Made:
    """One run before it is loaded."""

    drawn: Drawn
    path: Path
    damages: tuple[str, ...]
    audit: Path
    was: Path  # the folder that the audit folder is a copy of

    @property
    def is_damaged(self) -> bool:
        return any(damage != NOTHING for damage in self.damages)


# Drawing and damaging


def make(seed: int, folder: Path, audits: Mapping[str, Path]) -> Made:
    """Draw an export, damage it on its way to the disk, and set an audit folder beside it."""
    chance = random.Random(seed)
    drawn = small_exports.draw(chance)
    damages = draw_damages(chance, drawn.shape) if seed % 10 else []
    told = [apply(chance, drawn) for apply in damages if apply in damaging_tables.DAMAGES]
    writing_exports.write_files(chance, drawn)
    told += [apply(chance, drawn) for apply in damages if not (apply in damaging_tables.DAMAGES or apply in AT_THE_END)]
    drawn.packed = writing_exports.pack(drawn.files) if drawn.shape == ZIP else b""
    told += [apply(chance, drawn) for apply in AT_THE_END if apply in damages]
    folder.mkdir(parents=True)
    audit = folder / "audit"
    was = audits[chance.choice(list(audits))]
    shutil.copytree(was, audit)
    (audit / "mappings").mkdir(exist_ok=True)
    for name, text in drawn.mappings.items():
        (audit / "mappings" / name).write_bytes(text)
    return Made(drawn, writing_exports.put_down(drawn, folder / "export"), tuple(told), audit, was)


AT_THE_END = damaging_packed.OF_ZIPS


def draw_damages(chance: random.Random, shape: str) -> list[Damage]:
    """One to four; half of them of the kinds that only this shape can suffer."""
    of_shape: list[Damage] = []
    if shape in OF_CSV:
        of_shape += damaging_files.OF_TEXT
    if shape in OF_WORKBOOKS:
        of_shape += damaging_packed.OF_WORKBOOKS
    if shape == PARQUET:
        of_shape += damaging_packed.OF_PARQUET
    if shape == ZIP:
        of_shape += damaging_packed.OF_ZIPS * 2
    if shape not in IN_LAYOUT:
        of_shape += damaging_files.OF_MAPPINGS * 2
    of_tables = [damage for damage in damaging_tables.DAMAGES if damage not in damaging_tables.NOT_OF.get(shape, ())]
    kinds = (of_shape, of_tables, damaging_files.OF_ANY)
    number = chance.choice((1, 1, 1, 2, 2, 3, 4))
    return [chance.choice(chance.choices(kinds, (5, 4, 1))[0]) for _ in range(number)]


EVERY_DAMAGE = frozenset(
    damage
    for of_kind in (
        *(damaging_tables.DAMAGES, damaging_files.OF_ANY, damaging_files.OF_TEXT, damaging_files.OF_MAPPINGS),
        *(damaging_packed.OF_WORKBOOKS, damaging_packed.OF_PARQUET, damaging_packed.OF_ZIPS),
    )
    for damage in of_kind
)


def drawn_by(seed: int) -> tuple[str, list[Damage]]:
    """The shape and the damages of a run, before anything is made."""
    chance = random.Random(seed)
    shape = small_exports.draw(chance).shape
    return shape, draw_damages(chance, shape) if seed % 10 else []


def needed() -> list[int]:
    """The first runs that bring each damage TIMES and each shape undamaged UNDAMAGED times."""
    seeds: list[int] = []
    drawn = collections.Counter[Damage | str]()
    wanted = {**dict.fromkeys(EVERY_DAMAGE, TIMES), **dict.fromkeys(small_exports.SHAPES, UNDAMAGED)}
    for seed in itertools.count():
        shape, damages = drawn_by(seed)
        here = damages or [shape]
        if any(drawn[thing] < wanted[thing] for thing in here):
            seeds.append(seed)
            drawn.update(here)
        if all(drawn[thing] >= often for thing, often in wanted.items()):
            return seeds
    raise AssertionError("there is no last number")


def batches() -> list[list[int]]:
    """The runs, cut into tests that can run side by side."""
    if ALONE is not None:
        return [[int(ALONE)]]
    seeds = needed() if MANY is None else list(range(int(MANY)))
    return [seeds[place::BATCHES] for place in range(BATCHES)]


# What must hold


def try_out(seed: int, folder: Path, audits: Mapping[str, Path]) -> str:
    """One run; how it ended. Raises AssertionError, with all that is needed to do it again."""
    made = make(seed, folder, audits)
    try:
        return check(made)
    except (KeyboardInterrupt, SystemExit):
        raise
    except BaseException as error:  # a panic of a library is no Exception, and the command line would let it through
        told = "; ".join(made.damages) or "nothing"
        last = "".join(traceback.format_exception(error)[-3:])[-3_000:]
        raise AssertionError(f"run {seed}: {made.drawn.shape}; damaged: {told}\n  in {made.path}\n{last}") from error


def check(made: Made) -> str:
    """Load, and hold what came of it against what must be."""
    before, files = stored_before(made.was), files_of(made.audit)
    mapping = small_exports.MAPPING if made.drawn.named and made.drawn.mappings else None
    said = made.drawn.said_encoding
    try:
        loaded = run.load(made.audit, made.path, CUT_OFF, accept_anyway=REASON, mapping=mapping, encoding=said)
    except Refused as refused:
        if not made.is_damaged:
            raise
        check_refused(made, refused, before, files)
        return "refused"
    except OSError as error:
        if error.errno is None:  # not of the file system: a library's own word for bytes it cannot read
            raise
        check_refused(made, error, before, files)
        return "refused by the file system"
    check_loaded(made, loaded, before)
    if not made.is_damaged:
        check_accepted_whole(made, loaded)
    return "loaded"


def check_refused(made: Made, refused: Exception, before: Stored, files: set[Path]) -> None:
    stores = [folder / "store.duckdb" for folder in (made.was, made.audit)]
    untouched = all(store.exists() for store in stores) and stores[0].read_bytes() == stores[1].read_bytes()
    assert untouched or stored(made.audit) == before, "something was stored of an export that was refused"
    new = {path.name for path in files_of(made.audit) - files}
    assert new <= {"store.duckdb"}, f"left in the audit folder: {new}"
    assert not holding(made.audit, made.drawn.planted), "words of the export are left in the audit folder"
    told = str(refused).casefold()
    named = [value for value in made.drawn.identifiers if value.casefold() in told]
    assert not named, f"the message names {named}"


def check_loaded(made: Made, loaded: run.Loaded, before: Stored) -> None:
    after = stored(made.audit)
    assert loaded.examined is not None
    assert not (made.drawn.identifiers and len(made.damages) == 1), "an export that names someone was not refused"
    assert len(after["events"]) == len(before.get("events", ())) + 1
    for name, rows in before.items():
        assert [row for row in after[name] if name == "about" or row[0] != loaded.number] == rows, f"{name} was changed"
    assert not holding(made.audit, made.drawn.identifiers), "a value that names someone is in the audit folder"
    ours = {name: [row for row in rows if row[0] == loaded.number] for name, rows in after.items()}
    counts = {sheet.file: sheet for sheet in loaded.examined.counts}
    with_mapping = ours["loads"][0][5]
    counted = counting_lines.count(made.path, made.drawn.said_encoding or encoding_in(with_mapping))
    in_layout = "[[rows]]" not in with_mapping
    if in_layout:
        wanted = {label for label, sheet in counted.items() if sheet.name.lower() in TABLES}
        assert set(counts) == wanted, f"sheets of the layout {wanted}, counted {set(counts)}"
    assert sorted(ours["files"]) == sorted(
        (loaded.number, sheet.file, sheet.sha256, *numbers(sheet)) for sheet in counts.values()
    )
    assert {row["file"]: row for row in listed(loaded.lists / "lines.csv")} == {
        label: {"file": label, **{name: str(number) for name, number in zip(NUMBERS, numbers(sheet), strict=True)}}
        for label, sheet in counts.items()
    }
    found = listed(loaded.lists / "set_aside.csv")
    assert len(found) == len(ours["set_aside"])
    for row in found:
        assert row["file"] in counts and row["kind"] in ("row", "value"), row
        assert row["found"].strip() and row["allowed"].strip() and row["mend"].strip(), row
        assert 1 <= int(row["line"]) <= int(row["last_line"]) <= counts[row["file"]].lines, row
    repeats = listed(loaded.lists / "repeats.csv")
    assert sorted((row["file"], int(row["line"])) for row in repeats) == sorted(row[1:3] for row in ours["repeats"])
    for label, sheet in counts.items():
        check_sheet(sheet, counted[label], ours, [row for row in found if row["file"] == label], in_layout)


NUMBERS = ("lines", "header", "blank", "accepted", "set_aside", "repeats", "left_out")


def numbers(sheet: LineCounts) -> tuple[int, ...]:
    return sheet.lines, sheet.header, sheet.blank, sheet.accepted, sheet.set_aside, sheet.repeats, sheet.left_out


def check_sheet(
    sheet: LineCounts, counted: Counted, ours: Stored, found: list[dict[str, str]], in_layout: bool
) -> None:
    """The lines of one sheet, and the lists about it, against the lines counted apart."""
    assert sheet.lines == counted.lines, f"{sheet.lines} lines of {sheet.file}, counted apart {counted.lines}"
    assert (
        sheet.lines == sheet.header + sheet.blank + sheet.accepted + sheet.set_aside + sheet.repeats + sheet.left_out
    ), sheet
    assert sheet.header >= 1 and min(numbers(sheet)) >= 0, sheet
    rows = [(row[3], row[4]) for table in TABLES for row in ours[table] if row[2] == sheet.file]
    accepted = {line for line, _ in rows}
    repeats = {line: last for _, file, line, last in ours["repeats"] if file == sheet.file}
    aside = {int(row["line"]): int(row["last_line"]) for row in found if row["kind"] == "row"}
    if in_layout:
        assert not accepted & set(aside), "rows set aside are stored"
        assert len(rows) == len(accepted), "a line gave two rows of one table"
    assert not accepted & set(repeats), "lines are accepted and repeats"
    aside = {line: last for line, last in aside.items() if line not in accepted and line not in repeats}
    assert sheet.set_aside == covered(aside), f"{sheet}: the list covers {covered(aside)} lines set aside"
    assert sheet.repeats == covered(repeats), f"{sheet}: the list covers {covered(repeats)} repeats"
    assert covered(aside | repeats) == sheet.set_aside + sheet.repeats, "lists that overlap"
    assert all(1 <= line <= sheet.lines for line in accepted), "a stored row of a line that is not there"
    written = counted.written
    over_lines = written is not None and not sheet.file.endswith(")") and any('"' in line for line in written)
    if over_lines:
        assert sheet.accepted >= len(accepted)
        return
    assert sheet.accepted == len(accepted), f"{sheet}: rows of {len(accepted)} lines are stored"
    if counted.blank is not None and in_layout:
        assert sheet.blank == counted.blank, f"{sheet}: counted apart {counted.blank} blank lines"
    if written is not None:
        for line, ref in rows:
            wanted = (ref if in_layout else ref.removeprefix("OUT-")).casefold()
            # A workbook writes a control character as _x0007_, and openpyxl leaves it so.
            told = wanted in written[line - 1].casefold() or "_x" in written[line - 1]
            assert told, f"the row of line {line} is not of that line"
        texts = [written[line - 1] for line in accepted]
        assert len(texts) == len(set(texts)), "of lines that are equal more than one is accepted"


def covered(ranges: Mapping[int, int]) -> int:
    """The number of different lines."""
    return len({line for first, last in ranges.items() for line in range(first, last + 1)})


def check_accepted_whole(made: Made, loaded: run.Loaded) -> None:
    assert loaded.examined is not None
    counts = loaded.examined.counts
    assert sum(sheet.set_aside + sheet.repeats for sheet in counts) == 0, counts
    assert loaded.examined.findings.values == 0
    kept = {name: rows for name, rows in stored(made.audit).items() if name in TABLES}
    assert {name: sum(row[0] == loaded.number for row in rows) for name, rows in kept.items()} == made.drawn.rows
    refs = {row[4] for row in kept["cases"]}
    assert all({ref, f"OUT-{ref}"} & refs for ref in made.drawn.planted)


# What lies in an audit folder


def stored(audit: Path) -> Stored:
    """All rows of the store, read with nothing of the program; none where there is no store, or one without events."""
    path = audit / "store.duckdb"
    if not path.exists():
        return {}
    with duckdb.connect(str(path), read_only=True) as con:
        names = [name for (name,) in con.execute("SELECT table_name FROM duckdb_tables()").fetchall()]
        rows = {name: con.execute(f"SELECT * FROM {name} ORDER BY ALL").fetchall() for name in sorted(names)}
    return rows if any(rows for name, rows in rows.items() if name != "about") else {}


stored_before = functools.cache(stored)  # of a folder that is only copied


def files_of(audit: Path) -> set[Path]:
    return {path for path in audit.rglob("*") if not path.is_dir()}


def holding(audit: Path, words: Iterable[str]) -> list[str]:
    """The files in which one of the words stands, as UTF-8 or UTF-16, in a zip too."""
    signs = [word.encode(codec) for word in words for codec in ("utf-8", "utf-16-le")]
    return [str(path) for path in files_of(audit) if any(sign in body for body in bodies(path) for sign in signs)]


def bodies(path: Path) -> Iterator[bytes]:
    yield path.read_bytes()
    if zipfile.is_zipfile(path):
        with zipfile.ZipFile(path) as archive:
            yield from (archive.read(name) for name in archive.namelist())


def listed(path: Path) -> list[dict[str, str]]:
    """The rows of a list, without the apostrophe that keeps a spreadsheet from working a text out."""
    with path.open(encoding="utf-8", newline="") as file:
        names, *rows = csv.reader(file)
    assert {len(row) for row in rows} <= {len(names)}, f"{path.name} cannot be read back"
    plain = ([re.sub(r"\A'(?=[=+@\t\r-])", "", text) for text in row] for row in rows)
    return [dict(zip(names, row, strict=True)) for row in plain]


def encoding_in(mapping: str) -> str | None:
    """What a mapping says of the encoding of its sheet."""
    sheets = tomllib.loads(mapping).get("sheets", {}).values()
    return next((sheet["encoding"] for sheet in sheets if "encoding" in sheet), None)


# The tests


@pytest.fixture(scope="module")
def audits(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """A new audit folder, and one with a load of another export."""
    folder = tmp_path_factory.mktemp("audits")
    made = {name: run.new(folder / name).parent for name in ("new", "with a load")}
    chance = random.Random("another export")  # by no number: those below nought draw what those above do
    drawn = next(export for export in iter(lambda: small_exports.draw(chance), None) if export.shape == ZIP)
    writing_exports.write_files(chance, drawn)
    drawn.packed = writing_exports.pack(drawn.files)
    run.load(made["with a load"], writing_exports.put_down(drawn, folder / "export"), CUT_OFF, accept_anyway=REASON)
    return made


@pytest.mark.parametrize("seeds", batches(), ids=lambda seeds: f"{seeds[0]}-{seeds[-1]}")
def test_a_damaged_export_is_loaded_whole_or_refused(seeds: list[int], tmp_path: Path, audits: dict[str, Path]):
    failures, ends = [], collections.Counter[str]()
    for seed in seeds:
        folder = tmp_path / str(seed)
        try:
            ends[try_out(seed, folder, audits)] += 1
            shutil.rmtree(folder)
        except AssertionError as failure:
            failures.append(str(failure))
    print(dict(ends))
    assert not failures, f"{len(failures)} runs failed\n\n" + "\n\n".join(failures)
    if ALONE is None:
        # Else the damage is all of one kind, and half of what is demanded is never looked at.
        assert min(ends["loaded"], ends["refused"]) >= len(seeds) / 10, ends


def test_every_damage_is_drawn_and_every_shape_stays_whole_once():
    drawn = [drawn_by(seed) for seed in needed()]
    often = collections.Counter(damage for _, damages in drawn for damage in damages)
    assert {damage.__name__ for damage in EVERY_DAMAGE if often[damage] < TIMES} == set()
    whole = collections.Counter(shape for shape, damages in drawn if not damages)
    assert {shape for shape in small_exports.SHAPES if whole[shape] < UNDAMAGED} == set()


def test_the_search_of_an_audit_folder_finds_what_is_there(tmp_path: Path, audits: dict[str, Path]):
    word = "qzx7searched"
    for name, body in {
        "text.csv": f"a,{word}".encode(),
        "sixteen.txt": f"a,{word}".encode("utf-16"),
        "packed.zip": writing_exports.pack({"a": word.encode() * 9}),
        "nothing.txt": b"qzx7",
    }.items():
        (tmp_path / name).write_bytes(body)
    assert {Path(path).name for path in holding(tmp_path, [word])} == {"text.csv", "sixteen.txt", "packed.zip"}
    cases = stored(audits["with a load"])["cases"]
    assert holding(audits["with a load"], [cases[0][4]]), "a store packs its texts, and this search finds none of them"


@pytest.mark.parametrize(
    ("body", "encoding", "lines", "blank"),
    [
        (b"", None, 0, 0),
        (b"a\nb", None, 2, 0),
        (b"a\nb\n", None, 2, 0),
        (b"a\r\nb\rc\n\n", None, 4, 1),
        (b"\r\r\n\n", None, 3, 3),
        (b"a\x0bb\x0cc\x85d\n \n", None, 2, None),
        ("\ufeffa\nb\r\nc".encode("utf-16-le"), None, 3, 0),
        ("a\nb".encode("utf-16-le"), "utf-16-le", 2, 0),
        (b"\xef\xbb\xbfa\n", None, 1, 0),
        (b'"a\n\nb"', None, 3, None),
    ],
)
def test_lines_of_text_are_counted_as_by_hand(body: bytes, encoding: str | None, lines: int, blank: int | None):
    counted = counting_lines.count_text(body, encoding)
    assert (counted.lines, counted.blank) == (lines, blank)


def test_both_ways_of_counting_a_workbook_agree():
    chance = random.Random(5)
    drawn = next(export for export in iter(lambda: small_exports.draw(chance), None) if export.shape in OF_WORKBOOKS)
    writing_exports.write_files(chance, drawn)
    body = drawn.files["caseload.xlsx"]
    plain = {name: sheet.lines for name, sheet in counting_lines.count_by_openpyxl(body).items()}
    assert plain == {name: sheet.lines for name, sheet in counting_lines.count_by_xml(body).items()}
    assert plain == {name: len(drawn.above[name]) + len(lines) for name, lines in drawn.tables.items()}
