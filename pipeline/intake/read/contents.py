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
from pipeline.intake.read.file_kinds import printable
from pipeline.intake.read.limits import check_files
from pipeline.intake.read.workbook import Worksheet, label, open_workbook

DESCRIPTOR = "datapackage.json"
_ADDED_BY_MACOS = "__MACOSX"


@dataclass(frozen=True, eq=False)
class Content:
    """One sheet of an export, not yet read."""

    file: str  # as a person finds it: "contacts.csv", "export.zip: contacts.csv", "caseload.xlsx, sheet Babies"
    name: str  # the file's name without its ending, or the sheet's name
    kind: str  # one of file_kinds.TEXT, WORKBOOK and PARQUET
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
        why = file_kinds.why_not_read(path.name, path.suffix) if path.is_file() else "it is neither a file nor a folder"
        raise Refused(Fault(str(path), why, file_kinds.READABLE, "save it as one of these"))
    check_files(1, path.stat().st_size, printable(name))
    body = path.read_bytes()
    if kind == file_kinds.ZIP:
        return _zip(name, body)
    return _gathered(name, [(path.name, body)], None, [], path.name)


def _folder(folder: Path) -> Contents:
    paths, not_read = [], []
    created = None
    for path in sorted(folder.iterdir()):
        if path.is_dir():
            not_read.append(f"{printable(path.name)}: a folder within the folder, not read")
        elif path.name.lower() == DESCRIPTOR:
            created = path.read_bytes()
        elif _is_read(path.name) and path.is_file():
            paths.append(path)
        else:
            not_read.append(f"{printable(path.name)}: {_why_not(path.name)}")
    check_files(len(paths), sum(path.stat().st_size for path in paths), str(folder))
    files = [(path.name, path.read_bytes()) for path in paths]
    return _gathered(folder.resolve().name, files, created, not_read, str(folder))


def _zip(name: str, body: bytes) -> Contents:
    shown = printable(name)
    file_kinds.check_bytes(body, file_kinds.ZIP, shown)
    inside = zipped.names(body, shown)
    if "[Content_Types].xml" in inside:
        mend = "give it the ending .xlsx, if it is a workbook"
        raise Refused(Fault(shown, "it is an office file, not a zip of files", "a zip of files", mend))
    folder = _one_folder(inside)
    at_top = {member: member.removeprefix(folder) for member in inside if _is_at_top(member, folder)}
    wanted = {member for member, short in at_top.items() if _is_read(short) or short.lower() == DESCRIPTOR}
    check_files(len(wanted), 0, shown)  # their bytes were counted with all that the zip holds
    unpacked = {at_top[member]: part for member, part in zipped.unpack(body, shown, wanted).items()}
    created = next((part for short, part in unpacked.items() if short.lower() == DESCRIPTOR), None)
    files = [(short, part) for short, part in sorted(unpacked.items()) if short.lower() != DESCRIPTOR]
    not_read = [
        f"{shown}: {printable(short)}: {_why_not(short)}" for member, short in at_top.items() if member not in wanted
    ]
    deeper = dict.fromkeys(member.removeprefix(folder).split("/")[0] for member in inside if member not in at_top)
    not_read += [f"{shown}: {printable(within)}: a folder within the zip, not read" for within in deeper]
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
    is_zip = file_kinds.kind(ending) == file_kinds.ZIP
    return "a zip within, not read" if is_zip else file_kinds.why_not_read(name, ending)


def _gathered(
    name: str, files: list[tuple[str, bytes]], created: bytes | None, not_read: list[str], where: str, prefix: str = ""
) -> Contents:
    contents: list[Content] = []
    broken: list[tuple[str, Refused]] = []
    for file, body in files:
        try:
            sheets, remarks = _sheets(file, body, prefix + printable(file))
            contents += sheets
            not_read += remarks
        except Refused as refused:
            broken.append((PurePosixPath(file).stem, refused))
    if not contents and broken:
        raise Refused([fault for _, refused in broken for fault in refused.faults])
    if not contents:
        there = "; ".join(not_read[:12]) or "nothing is in it"
        nothing = f"it holds nothing that can be read: {there}"
        raise Refused(Fault(where, nothing, file_kinds.READABLE, "give the export"))
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
        Content(label(shown, sheet.name, sheet.hidden), sheet.name, kind, sha256, body, sheet) for sheet in worksheets
    ], not_read
