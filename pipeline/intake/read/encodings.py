"""The bytes of a text file in, UTF-8 and its physical lines out; the lines that are no text are named, none is lost.

A byte-order mark is obeyed, else what reads strictly as UTF-8 is UTF-8. What does not is Windows-1252 as a whole and
said aloud, unless other letters in it are valid UTF-8: then it is UTF-8 with damaged lines. A line ends at LF, CRLF
or CR and nothing else, before and after. Refuses: an encoding Python does not know, a file that is no text, a line
longer than is read.
"""

from __future__ import annotations

import codecs
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from pipeline.errors import Fault, Refused
from pipeline.intake.read.limits import check_lines

Why = tuple[str, str]  # what was found, what is allowed
_MARKS = (  # UTF-32 first: its little-endian mark begins with that of UTF-16
    (codecs.BOM_UTF32_LE, "utf-32", "UTF-32"),
    (codecs.BOM_UTF32_BE, "utf-32", "UTF-32"),
    (codecs.BOM_UTF16_LE, "utf-16", "UTF-16"),
    (codecs.BOM_UTF16_BE, "utf-16", "UTF-16"),
)


@dataclass(frozen=True)
class Text:
    """A file as UTF-8, without a byte-order mark. Of an unreadable line it holds what can be read."""

    body: bytes
    starts: npt.NDArray[np.int64]  # where each line starts
    stops: npt.NDArray[np.int64]  # where it stops, its line end included
    physical_lines: int  # counted apart from the two above: a check on them, not a use of them
    unreadable: Mapping[int, Why]  # by line, counted from 1
    said: tuple[str, ...]

    def line(self, number: int) -> str:
        """A line with its line end."""
        return self.body[self.starts[number - 1] : self.stops[number - 1]].decode()


def to_text(body: bytes, encoding: str | None, where: str) -> Text:
    """Find out the encoding, or obey the one given, and bring the file to UTF-8. Raises Refused."""
    check_lines(body, where)
    codec, said = (_known(encoding, where), "") if encoding else _found_out(body, where)
    if codec == "utf-8":
        body = body.removeprefix(codecs.BOM_UTF8)
    if _keeps_ascii(codec):
        lines = _count(body)
        body, unreadable = _line_by_line(body, codec, encoding or {"cp1252": "Windows-1252"}.get(codec, "UTF-8"))
    else:
        if codec.startswith("utf-16") and len(body) % 2 and body[:-1].decode(codec, "replace").endswith(("\r", "\n")):
            body, half = body[:-1], "its last byte is half a sign behind the last line, and left out"
            said = f"{said}; {half}" if said else half
        body, damaged = _whole(body, codec)
        lines = _count(body)
        why = (f"bytes that are not {encoding or codec.upper()}", f"{encoding or codec.upper()} text")
        unreadable = dict.fromkeys(_lines_with(body, "\ufffd".encode()), why) if damaged else {}
    starts, stops = _line_bounds(body)
    nul = dict.fromkeys(_lines_with(body, b"\0"), ("the line holds a NUL byte", "text without NUL bytes"))
    if not encoding and codec == "utf-8" and unreadable:
        count = "1 line" if len(unreadable) == 1 else f"{len(unreadable)} lines"
        said = f"read as UTF-8, of which {count} cannot be read; --encoding overrides"
    return Text(body, starts, stops, lines, unreadable | nul, (said,) if said else ())


def _known(encoding: str, where: str) -> str:
    """The codec of that name, if bytes can be read as text by it."""
    try:
        codec = codecs.lookup(encoding).name
        b"a\xff".decode(encoding, "replace")
    except (LookupError, ValueError):
        allowed = "the name of a text encoding, such as utf-8, windows-1252 or utf-16"
        mend = "correct the encoding, or leave it out to have it found out"
        raise Refused(Fault(where, f"there is no text encoding “{encoding}”", allowed, mend)) from None
    return {"utf-8-sig": "utf-8"}.get(codec, codec)


def _found_out(body: bytes, where: str) -> tuple[str, str]:
    for mark, codec, name in _MARKS:
        if body.startswith(mark):
            return codec, f"read as {name}, as its byte-order mark says"
    if body[:4000].count(0) > len(body[:4000]) / 4:
        raise Refused(
            Fault(
                where,
                "the file is not UTF-8 text (it looks like UTF-16 without a byte-order mark, or no text at all)",
                "text in UTF-8, in Windows-1252, or in UTF-16 with a byte-order mark",
                "save it again as “CSV UTF-8”, or say --encoding utf-16-le",
            )
        )
    # What is valid beyond ASCII speaks for UTF-8, its byte-order mark too.
    if _is_utf_8(body) or not body.decode(errors="ignore").isascii():
        return "utf-8", ""
    return "cp1252", "read as Windows-1252, for it is not UTF-8; --encoding overrides"


def _is_utf_8(body: bytes) -> bool:
    try:
        body.decode()
    except UnicodeDecodeError:
        return False
    return True


def _keeps_ascii(codec: str) -> bool:
    """Whether a line of such a file can be told, and read, by itself: not so in UTF-16 or where bytes shift a state."""
    try:
        return bytes(range(128)).decode(codec) == bytes(range(128)).decode("ascii")
    except UnicodeError:
        return False


def _line_by_line(body: bytes, codec: str, name: str) -> tuple[bytes, dict[int, Why]]:
    """Every line in UTF-8, and the lines that are not what they should be. Lines of ASCII are what they were."""
    if body.isascii() or (codec == "utf-8" and _is_utf_8(body)):
        return body, {}
    starts, stops = _line_bounds(body)
    beyond = np.flatnonzero(np.frombuffer(body, dtype=np.uint8) >= 128)
    unreadable: dict[int, Why] = {}
    pieces, at = [], 0
    for index in np.unique(np.searchsorted(stops, beyond, side="right")).tolist():
        start, stop = int(starts[index]), int(stops[index])
        line = body[start:stop].rstrip(b"\r\n")
        try:
            piece = line.decode(codec).encode()
            readable = not (b"\n" in piece or b"\r" in piece)
            at_byte = 1
        except UnicodeError as error:
            readable, at_byte = False, getattr(error, "start", 0) + 1
        if not readable:
            unreadable[index + 1] = (f"bytes that are not {name}, from byte {at_byte} of the line", f"{name} text")
            piece = line.decode(codec, "replace").encode("utf-8", "replace")
            piece = piece.replace(b"\n", b" ").replace(b"\r", b" ")
        pieces += [body[at:start], piece, body[start + len(line) : stop]]
        at = stop
    return b"".join([*pieces, body[at:]]), unreadable


def _whole(body: bytes, codec: str) -> tuple[bytes, bool]:
    """The text in UTF-8, and whether something in it could not be read; what could not is U+FFFD."""
    damaged = False
    try:
        written = body.decode(codec)
        written.encode()
    except UnicodeError:
        damaged = True
        written = body.decode(codec, "replace").encode("utf-16", "surrogatepass").decode("utf-16", "replace")
    return written.removeprefix("\ufeff").encode(), damaged


def _count(body: bytes) -> int:
    ends = body.count(b"\n") + body.count(b"\r") - body.count(b"\r\n")
    return ends + (1 if body and body[-1:] not in (b"\n", b"\r") else 0)


def _line_bounds(body: bytes) -> tuple[npt.NDArray[np.int64], npt.NDArray[np.int64]]:
    """Where each line starts, and where it stops, its line end included."""
    written = np.frombuffer(body, dtype=np.uint8)
    feeds = np.flatnonzero(written == 10)
    returns = np.flatnonzero(written == 13)
    lone = returns[written[np.minimum(returns + 1, len(written) - 1)] != 10]  # the last byte follows itself: not 10
    stops = (np.sort(np.concatenate([feeds, lone])) if len(lone) else feeds) + 1
    if len(written) and (not len(stops) or stops[-1] != len(written)):
        stops = np.append(stops, len(written))
    return np.concatenate([np.zeros(1, np.int64), stops[:-1]])[: len(stops)], stops


def _lines_with(body: bytes, sign: bytes) -> list[int]:
    """The lines, counted from 1, that hold the sign."""
    if sign not in body:
        return []
    starts, stops = _line_bounds(body)
    bounds = zip(starts.tolist(), stops.tolist(), strict=True)
    return [number for number, (start, stop) in enumerate(bounds, start=1) if body.find(sign, start, stop) >= 0]
