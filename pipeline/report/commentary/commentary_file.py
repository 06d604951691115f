"""The file of a period's commentary, as text.

Comes in: an audit folder and a period. Goes out: the text, its lines ending in line feeds; "" where there is no file.
Refuses: a folder in the file's place, a file far too long to be anybody's words on a period, text that is not UTF-8.
"""

from __future__ import annotations

from pathlib import Path

from pipeline.errors import Fault, Refused
from pipeline.store.audit_folder import COMMENTARY

LONGEST = 100_000  # bytes: thirty pages; the page it goes into should stay small enough to send


def place(folder: Path, period: str) -> Path:
    """Where the commentary on a period is written."""
    return folder / COMMENTARY / f"{period}.md"


def read(folder: Path, period: str) -> str:
    """The lead's own words on a period; "" where there are none."""
    path = place(folder, period)
    if path.is_dir():
        mend = "move the folder away, and write the commentary in a file of this name"
        raise Refused(Fault(str(path), "a folder", "a text file", mend))
    try:
        with path.open("rb") as file:
            written = file.read(LONGEST + 1)
    except FileNotFoundError:
        return ""
    if len(written) > LONGEST:
        mend = "take out what is no commentary; tables of figures stand in the report already"
        raise Refused(Fault(str(path), f"a file of {path.stat().st_size:,} bytes", f"up to {LONGEST:,} bytes", mend))
    try:
        text = written.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = written.count(b"\n", 0, error.start) + 1
        found = f"the file is not UTF-8 text (from byte {error.start + 1}, in line {line})"
        mend = "save it again in UTF-8 (in Notepad: Save as, Encoding: UTF-8)"
        raise Refused(Fault(str(path), found, "UTF-8 text", mend)) from error
    return text.replace("\r\n", "\n").replace("\r", "\n")
