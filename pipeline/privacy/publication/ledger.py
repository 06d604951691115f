"""The ledger of releases: one file a release, chained by hashes, kept in the service and never changed.

Comes in: an audit folder; an entry and what belongs to it. Goes out: the entries there are, in their order. Refuses: a
chain that does not hold, a file that is not as it was written, a second entry of one number.

    releases/0001.json          what was released, with the hash of the entry before and of every file below
    releases/0001.proof.npz     how the counts add up, the decoys: numbers only
    releases/2025Q2.csv         the frozen counts of a quarter
    published/2025-26/          what the world may see

The entry is the deed: once it is written the release has happened, and whoever opens the folder next finishes moving
the files, should the program have been killed in between. A folder is renamed only onto a name that is not there, which
Windows does too.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import shutil
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pipeline.errors import Fault, Refused
from pipeline.store.whole_files import write_whole

PRIVATE, PUBLIC = "releases", "published"
PUBLICATION, ELSEWHERE = "publication", "elsewhere"  # how figures went out
_LAST = "last.txt"  # the number and hash of the last entry, so that it cannot be taken away unseen
_MEND = "put back the folders releases and published from a copy; nothing may be published until they are whole"


@dataclass(frozen=True)
class Entry:
    """One release as the ledger has it; `said` is the content of its file."""

    number: int
    said: Mapping[str, Any]
    sha256: str

    @property
    def period(self) -> str:
        """The period released; of figures that went out elsewhere, what they were."""
        return str(self.said["period"])

    @property
    def is_publication(self) -> bool:
        """Whether the program made it."""
        return bool(self.said["kind"] == PUBLICATION)


def hashed(body: bytes) -> str:
    """SHA-256, as the ledger writes it."""
    return hashlib.sha256(body).hexdigest()


def entries(folder: Path) -> tuple[Entry, ...]:
    """Every release, the chain checked and the private files too. Raises Refused with all that is wrong."""
    private = folder / PRIVATE
    paths = sorted(private.glob("[0-9][0-9][0-9][0-9].json"))
    entries: list[Entry] = []
    faults: list[Fault] = []
    for number, path in enumerate(paths, 1):
        body = path.read_bytes()
        try:
            said = json.loads(body)
            if not isinstance(said, dict) or {"number", "before", "kind", "period", "files"} - said.keys():
                raise ValueError("it lacks what an entry holds")
        except ValueError as error:
            faults.append(Fault(f"{PRIVATE}/{path.name}", f"cannot be read: {error}", "as it was written", _MEND))
            break
        before = entries[-1].sha256 if entries else ""
        if said["number"] != number or path.stem != f"{number:04}":
            faults.append(Fault(f"{PRIVATE}/{path.name}", f"entry {said['number']}", f"entry {number:04}", _MEND))
        if said["before"] != before:
            what = "the hash of the entry before is another: one of the two was changed"
            faults.append(Fault(f"{PRIVATE}/{path.name}", what, "a chain that holds", _MEND))
        faults += _changed(private, said.get("private", {}), PRIVATE)
        entries.append(Entry(number, said, hashed(body)))
    # The hash of the last entry is written after it; killed in between, it is that of the one before.
    heads = ["", *(_head_of(entry) for entry in entries)][-2:]
    if not faults and _head(private) not in heads:
        what = "the last entry is not the one that was written last: one was changed or taken away"
        faults.append(Fault(f"{PRIVATE}/{_LAST}", what, "the number and hash of the last entry", _MEND))
    if faults:
        raise Refused(faults)
    return tuple(entries)


def opened(folder: Path) -> tuple[Entry, ...]:
    """Every release, after finishing what a kill may have left. Raises Refused where the ledger does not hold."""
    those = entries(folder)
    finish(folder, those)
    return those


def next_entry(those: tuple[Entry, ...], said: Mapping[str, Any]) -> Entry:
    """The entry that would come next, not written yet."""
    return Entry(len(those) + 1, {"files": {}, **said}, "")


def proof_name(entry: Entry) -> str:
    """The file of an entry's numbers."""
    return f"{entry.number:04}.proof.npz"


def proof_of(folder: Path, entry: Entry) -> bytes:
    """The numbers of an entry."""
    return (folder / PRIVATE / proof_name(entry)).read_bytes()


def frozen_of(folder: Path, those: tuple[Entry, ...], quarter: str) -> bytes | None:
    """The frozen counts of a quarter; None where no release rests on it yet."""
    name = f"{quarter}.csv"
    there = any(name in entry.said.get("private", {}) for entry in those)
    return (folder / PRIVATE / name).read_bytes() if there else None


def faults_of_published(folder: Path, those: tuple[Entry, ...]) -> list[Fault]:
    """What of the published files is not as it was released."""
    faults: list[Fault] = []
    for entry in those:
        place = folder / PUBLIC / entry.period
        if entry.is_publication:
            faults += _changed(place, entry.said["files"], f"{PUBLIC}/{entry.period}")
            there = {path.name for path in place.iterdir()} if place.is_dir() else set()
            for name in sorted(there - set(entry.said["files"])):
                what = "it is no part of the release"
                faults.append(Fault(f"{PUBLIC}/{entry.period}/{name}", what, "the released files only", "take it away"))
    return faults


def finish(folder: Path, those: tuple[Entry, ...]) -> None:
    """Move the files of the last release to their place, if the program was killed before it could."""
    public = folder / PUBLIC
    for entry in those[-1:]:
        ready, place = _ready(folder, entry.period), public / entry.period
        is_due = entry.is_publication and not place.exists() and ready.is_dir()
        if is_due and not _changed(ready, entry.said["files"], ""):
            ready.rename(place)
        if _head(folder / PRIVATE) != _head_of(entry):
            write_whole(folder / PRIVATE / _LAST, f"{_head_of(entry)}\n".encode())
    for left in public.glob(".*.new") if public.is_dir() else ():
        shutil.rmtree(left)


def append(
    folder: Path,
    those: tuple[Entry, ...],
    said: Mapping[str, Any],
    private: Mapping[str, bytes],
    public: Mapping[str, bytes],
) -> tuple[Entry, Path]:
    """Write a release, made in the knowledge of those before: what belongs to it, the entry, the files to their place.

    A `private` file that an entry names is frozen; one that none names was left by a run that was killed, and is
    written anew. Raises Refused where another program has written the entry meanwhile, where what is frozen is not
    what was given, and where something stands in the place of the published files.
    """
    before = entries(folder)
    number = len(before) + 1
    if before != those:
        raise Refused(_meanwhile(number - 1))
    place, period = folder / PRIVATE, str(said["period"])
    if public and (folder / PUBLIC / period).exists():
        what, mend = "there is such a folder, and no release of it in the ledger", "move it away, and publish again"
        raise Refused(Fault(f"{PUBLIC}/{period}", what, "a folder that a release makes", mend))
    frozen = {name for entry in before for name in entry.said.get("private", {})}
    place.mkdir(parents=True, exist_ok=True)
    for name, body in private.items():
        if name in frozen and (place / name).read_bytes() != body:
            raise Refused(Fault(f"{PRIVATE}/{name}", "it is not what this release rests on", "frozen counts", _MEND))
        write_whole(place / name, body)
    ready = _ready(folder, period)
    if public:
        shutil.rmtree(ready, ignore_errors=True)
        ready.mkdir(parents=True)
        for name, body in public.items():
            _onto_the_disk(ready / name, body)
    whole = {
        **said,
        "number": number,
        "before": before[-1].sha256 if before else "",
        "private": {name: hashed(body) for name, body in sorted(private.items())},
        "files": {name: hashed(body) for name, body in sorted(public.items())},
    }
    body = (json.dumps(whole, ensure_ascii=False, indent=1) + "\n").encode()
    _write_once(place / f"{number:04}.json", body)
    entry = Entry(number, whole, hashed(body))
    write_whole(place / _LAST, f"{_head_of(entry)}\n".encode())
    if public:
        ready.rename(folder / PUBLIC / period)
    return entry, folder / PUBLIC / period


def _ready(folder: Path, period: str) -> Path:
    return folder / PUBLIC / f".{period}.new"


def _head_of(entry: Entry) -> str:
    return f"{entry.number:04} {entry.sha256}"


def _head(private: Path) -> str:
    path = private / _LAST
    return path.read_text(encoding="utf-8").strip() if path.is_file() else ""


def _changed(place: Path, files: Mapping[str, str], shown: str) -> list[Fault]:
    """Files that are not there, or not as their hash says."""
    faults = []
    for name, sha256 in files.items():
        path = place / name
        if not path.is_file():
            faults.append(Fault(f"{shown}/{name}", "it is gone", "as it was written", _MEND))
        elif hashed(path.read_bytes()) != sha256:
            faults.append(Fault(f"{shown}/{name}", "it was changed", "as it was written", _MEND))
    return faults


def _meanwhile(number: int) -> Fault:
    mend = "see what it released: feeding-audit published; then publish again if it is still wanted"
    found = "another program wrote this entry meanwhile"
    return Fault(f"{PRIVATE}/{number:04}.json", found, "one release at a time", mend)


def _write_once(path: Path, body: bytes) -> None:
    """Write a file that must not be there yet, whole or not at all."""
    fresh = path.with_name(f".{path.name}.{os.getpid()}.new")
    try:
        _onto_the_disk(fresh, body)
        try:
            os.link(fresh, path)  # fails where it is there, which a rename does not
        except FileExistsError:
            raise Refused(_meanwhile(int(path.stem))) from None
    finally:
        fresh.unlink(missing_ok=True)


def _onto_the_disk(path: Path, body: bytes) -> None:
    with path.open("wb") as file:
        file.write(body)
        file.flush()
        with contextlib.suppress(OSError):
            os.fsync(file.fileno())
