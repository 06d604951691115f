"""The bytes of a zip in, the bytes of the members that are wanted out, all in memory; nothing is unpacked to disk.

A workbook is a zip too and comes through here. Refuses: a broken zip, one with a password, more members or more bytes
unpacked than the limits allow, a member twice or larger than it says, a packing whose size cannot be held in check.
"""

from __future__ import annotations

import io
import zipfile
import zlib
from collections.abc import Collection, Iterator
from contextlib import contextmanager

from pipeline.errors import Fault, Refused
from pipeline.intake.read.limits import MOST_BYTES, MOST_MEMBERS

_UNPACK = "unpack it yourself and give the folder, if you know where it comes from"


def names(body: bytes, where: str) -> tuple[str, ...]:
    """What the zip holds, folders left out. Raises Refused where it cannot be unpacked safely."""
    with _opened(body, where) as archive:
        return tuple(_members(archive, where))


def unpack(body: bytes, where: str, wanted: Collection[str]) -> dict[str, bytes]:
    """The members of those names. Raises Refused."""
    with _opened(body, where) as archive:
        # No more of a member comes out than its declared size, which was counted; one that holds more is broken.
        return {name: archive.read(member) for name, member in _members(archive, where).items() if name in wanted}


@contextmanager
def _opened(body: bytes, where: str) -> Iterator[zipfile.ZipFile]:
    try:
        with zipfile.ZipFile(io.BytesIO(body)) as archive:
            yield archive
    except (zipfile.BadZipFile, zlib.error, EOFError, OSError, ValueError, NotImplementedError) as error:
        # Nothing here touches a disk, so an OSError is about the bytes as well.
        broken = f"it is broken and cannot be unpacked ({type(error).__name__})"
        raise Refused(Fault(where, broken, "a whole file", "copy or export it again")) from error


def _members(archive: zipfile.ZipFile, where: str) -> dict[str, zipfile.ZipInfo]:
    files = [member for member in archive.infolist() if not member.is_dir()]
    _check(archive.infolist(), where)
    members = {file.filename.replace("\\", "/").removeprefix("/"): file for file in files}
    if len(members) < len(files):
        raise Refused(Fault(where, "it holds two files of one name", "each file once", "pack it again"))
    return members


def _check(infolist: list[zipfile.ZipInfo], where: str) -> None:
    """What the list of members says of itself."""
    if len(infolist) > MOST_MEMBERS:
        raise Refused(Fault(where, f"it holds {len(infolist):,} files", f"at most {MOST_MEMBERS:,}", _UNPACK))
    size = sum(member.file_size for member in infolist)
    if size > MOST_BYTES:
        found = f"unpacked it would have {size:,} bytes"
        raise Refused(Fault(where, found, f"at most {MOST_BYTES:,} bytes unpacked", _UNPACK))
    if any(member.flag_bits & 0x1 for member in infolist):
        mend = "unpack it with the password, and give the folder"
        raise Refused(Fault(where, "it is protected by a password", "a zip without one", mend))
    # Of other packings a few bytes come out as gigabytes in one step, before they can be counted.
    if any(member.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED) for member in infolist):
        mend = "pack it again as a plain zip, or give the folder"
        raise Refused(Fault(where, "it is packed in a way that is not read", "a plain zip (stored or deflate)", mend))
