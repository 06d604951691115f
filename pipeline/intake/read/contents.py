"""A path in, the contents of an export out, all in memory: a folder, a zip, or one file, and the sheets each holds.

Of a folder or a zip only the top level counts, or the one folder a zip holds. What is not read is told, with the
reason. Refuses, all at once: a path that is not there, nothing readable, a file that is not what its ending says, a
zip or workbook that cannot be unpacked safely. Two files of one name are left for the caller to judge.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from dataclasses import dataclass, field
from pathlib import Path, PurePosixPath

from pipeline.errors import Fault, Refused
from pipeline.intake.read import file_kinds, zipped
from pipeline.intake.read.workbook import Worksheet, label, open_workbook

DESCRIPTOR = "datapackage.json"
_ADDED_BY_MACOS = "__MACOSX"


@dataclass(frozen=True, eq=False)
class Content:
    """One sheet of an export, not yet read."""

    file: str  # as a person finds it: "contacts.csv", "export.zip: contacts.csv", "caseload.xlsx, sheet Babies"
    name: str  # the file's name without its ending, or the sheet's name
    kind: str  # one of kinds.TEXT, WORKBOOK and PARQUET
    sha256: str  # of the file it stands in; of a file in a zip, not of the zip
    body: bytes = field(repr=False)  # of that file
    worksheet: Worksheet | None = field(default=None, repr=False)  # of a workbook only


@dataclass(frozen=True, eq=False)
class Contents:
    """Everything a path holds that can be read, and remarks on what cannot."""

    name: str  # of the folder or the file
    contents: tuple[Content, ...]  # in the order of the files' names, and of the sheets in a workbook
    created: bytes | None  # the datapackage.json beside the files
    not_read: tuple[str, ...]
    broken: tuple[tuple[str, Refused], ...] = ()  # name and why, of files beside others that cannot be read


def open_contents(path: Path) -> Contents:
    """Find what an export holds. Raises Refused with every fault found; an OSError passes through."""
    if path.is_dir():
        return _folder(path)
    name = path.resolve().name
    kind = file_kinds.kind(path.suffix)
    if not path.exists():
        mend = "correct the path"
        raise Refused(Fault(str(path), "there is no such file or folder", file_kinds.READABLE, mend))
    if not path.is_file() or kind is None:
        found = (
            file_kinds.why_not_read(path.name, path.suffix) if path.is_file() else "it is neither a file nor a folder"
        )
        raise Refused(Fault(str(path), found, file_kinds.READABLE, "save it as one of these"))
    body = path.read_bytes()
    if kind == file_kinds.ZIP:
        return _zip(name, body)
    return _gathered(name, [(path.name, body)], None, [], path.name)


def _folder(path: Path) -> Contents:
    files, not_read = [], []
    created = None
    for each in sorted(path.iterdir()):
        if each.is_dir():
            not_read.append(f"{_shown(each.name)}: a folder within the folder, not read")
        elif each.name.lower() == DESCRIPTOR:
            created = each.read_bytes()
        elif _is_read(each.name) and each.is_file():
            files.append((each.name, each.read_bytes()))
        else:
            not_read.append(f"{_shown(each.name)}: {_why_not(each.name)}")
    return _gathered(path.resolve().name, files, created, not_read, str(path))


def _zip(name: str, body: bytes) -> Contents:
    shown = _shown(name)
    file_kinds.check_bytes(body, file_kinds.ZIP, shown)
    inside = zipped.names(body, shown)
    if "[Content_Types].xml" in inside:
        mend = "give it the ending .xlsx, if it is a workbook"
        raise Refused(Fault(shown, "it is an office file, not a zip of files", "a zip of files", mend))
    folder = _one_folder(inside)
    at_top = {each: each.removeprefix(folder) for each in inside if _is_at_top(each, folder)}
    wanted = {each for each, short in at_top.items() if _is_read(short) or short.lower() == DESCRIPTOR}
    unpacked = zipped.unpack(body, shown, wanted)
    created = next((part for each, part in unpacked.items() if at_top[each].lower() == DESCRIPTOR), None)
    files = [(at_top[each], part) for each, part in sorted(unpacked.items()) if at_top[each].lower() != DESCRIPTOR]
    not_read = [f"{shown}: {_shown(at_top[each])}: {_why_not(at_top[each])}" for each in at_top if each not in wanted]
    deeper = dict.fromkeys(each.removeprefix(folder).split("/")[0] for each in inside if each not in at_top)
    not_read += [f"{shown}: {_shown(each)}: a folder within the zip, not read" for each in deeper]
    return _gathered(name, files, created, sorted(not_read), shown, f"{shown}: ")


def _one_folder(names: Iterable[str]) -> str:
    """The single folder everything stands in, with a slash behind it; nothing where there is none or several."""
    tops = {name.partition("/")[:2] for name in names if name.split("/")[0] != _ADDED_BY_MACOS}
    top, slash = tops.pop() if len(tops) == 1 else ("", "")
    return f"{top}/" if slash else ""


def _is_at_top(name: str, folder: str) -> bool:
    return name.startswith(folder) and "/" not in name.removeprefix(folder)


def _is_read(name: str) -> bool:
    hidden = name.startswith((".", "~$"))
    return not hidden and file_kinds.kind(PurePosixPath(name).suffix) not in (None, file_kinds.ZIP)


def _why_not(name: str) -> str:
    ending = PurePosixPath(name).suffix
    return (
        "a zip within, not read" if file_kinds.kind(ending) == file_kinds.ZIP else file_kinds.why_not_read(name, ending)
    )


def _shown(name: str) -> str:
    """A name that can be printed: none of its letters moves the cursor or breaks the line."""
    return "".join(letter if letter.isprintable() else "?" for letter in name)


def _gathered(
    name: str, files: list[tuple[str, bytes]], created: bytes | None, not_read: list[str], where: str, prefix: str = ""
) -> Contents:
    contents: list[Content] = []
    broken: list[tuple[str, Refused]] = []
    for file, body in files:
        try:
            found, remarks = _sheets(file, body, prefix + _shown(file))
            contents += found
            not_read += remarks
        except Refused as refused:
            broken.append((PurePosixPath(file).stem, refused))
    if not contents and broken:
        raise Refused([fault for _, refused in broken for fault in refused.faults])
    if not contents:
        there = "; ".join(not_read[:12]) or "nothing is in it"
        raise Refused(
            Fault(where, f"it holds nothing that can be read: {there}", file_kinds.READABLE, "give the export")
        )
    return Contents(name, tuple(contents), created, tuple(not_read), tuple(broken))


def _sheets(file: str, body: bytes, shown: str) -> tuple[list[Content], tuple[str, ...]]:
    """The sheets of one file, and remarks on those that are not read."""
    sha256 = hashlib.sha256(body).hexdigest()
    kind, stem = file_kinds.kind(PurePosixPath(file).suffix), PurePosixPath(file).stem
    assert kind is not None
    file_kinds.check_bytes(body, kind, shown)
    if kind != file_kinds.WORKBOOK:
        return [Content(shown, stem, kind, sha256, body)], ()
    worksheets, not_read = open_workbook(body, shown)
    return [
        Content(label(shown, each.name, each.hidden), each.name, kind, sha256, body, each) for each in worksheets
    ], not_read
