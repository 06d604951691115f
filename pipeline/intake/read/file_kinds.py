"""A file's name and bytes in, what can be read of it out: its kind by its ending, held against what the bytes say.

Refuses a file whose bytes are of another kind than its ending says, with what it seems to be.
"""

from __future__ import annotations

from pipeline.errors import Fault, Refused

TEXT = "text"
WORKBOOK = "workbook"
PARQUET = "parquet"
ZIP = "zip"
_KINDS = {
    ".csv": TEXT,
    ".tsv": TEXT,
    ".txt": TEXT,
    ".xlsx": WORKBOOK,
    ".xlsm": WORKBOOK,
    ".parquet": PARQUET,
    ".zip": ZIP,
}
READABLE = "a folder or a .zip of files, or one file: .csv, .tsv, .txt, .xlsx, .xlsm or .parquet"
_ZIPPED = "a zip or a workbook"
_OLD = "an old workbook (.xls) or another old office file"
_LOCKED = "a workbook protected by a password"
_MARKUP = "a web page or XML"
_SIGNS = (  # the first bytes of what people give another ending
    (b"PK\x03\x04", _ZIPPED),
    (b"PK\x05\x06", "an empty zip"),
    (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", _OLD),
    (b"PAR1", "Parquet"),
    (b"PARE", "Parquet that is encrypted"),
    (b"%PDF-", "a PDF"),
    (b"\x1f\x8b", "a file packed by gzip"),
    (b"7z\xbc\xaf\x27\x1c", "a 7z archive"),
    (b"Rar!", "a RAR archive"),
    (b"{\\rtf", "a rich text document"),
)
_MENDS = {
    _ZIPPED: "give it its own ending, .xlsx for a workbook or .zip",
    _OLD: "open it in a spreadsheet program and save it as .xlsx",
    _LOCKED: "open it, take the password off, and save it again",
    _MARKUP: "open it in a spreadsheet program and save it as .xlsx, or export it as CSV",
    "text": "give it the ending .csv, if it is CSV",
}
_WANTED = {
    TEXT: "text with columns, such as CSV",
    WORKBOOK: "a workbook (.xlsx or .xlsm)",
    PARQUET: "Parquet",
    ZIP: "a zip",
}


def kind(ending: str) -> str | None:
    """What files of that ending hold; None where they are not read."""
    return _KINDS.get(ending.lower())


def printable(name: str) -> str:
    """A name that can be printed: none of its letters moves the cursor or breaks the line."""
    return "".join(letter if letter.isprintable() else "?" for letter in name)


def why_not_read(name: str, ending: str) -> str:
    """In words, why a file of that ending is not read."""
    if name.startswith("~$") or name.startswith(".~lock"):
        return "a mark that the file of that name is open somewhere, not read"
    if name.startswith("."):
        return "a hidden file, not read"
    if ending.lower() == ".xls":
        return "an old workbook, not read; save it as .xlsx"
    if ending.lower() == ".ods":
        return "an OpenDocument sheet, not read; save it as .xlsx"
    if ending.lower() == ".xlsb":
        return "a binary workbook, not read; save it as .xlsx"
    return "no file of an export, not read"


def check_bytes(body: bytes, wanted: str, where: str) -> None:
    """Refuse bytes that are plainly of another kind than the ending says."""
    seems = _seems(body)
    fits = {TEXT: "text", WORKBOOK: _ZIPPED, PARQUET: "Parquet", ZIP: _ZIPPED}[wanted]
    if seems == fits or (wanted == TEXT and not body) or (wanted == ZIP and seems == "an empty zip"):
        return
    mend = _MENDS.get(seems, "export it again")
    raise Refused(Fault(where, f"its ending says {_WANTED[wanted]}, but it is {seems}", _WANTED[wanted], mend))


def _seems(body: bytes) -> str:
    if not body:
        return "empty"
    seems = next((words for sign, words in _SIGNS if body.startswith(sign)), "text")
    if seems == _OLD and "EncryptedPackage".encode("utf-16-le") in body:
        return _LOCKED
    start = body[:1024].removeprefix(b"\xef\xbb\xbf").lstrip().lower()
    if seems == "text" and start.startswith((b"<!doctype", b"<html", b"<table", b"<?xml", b"<head", b"<meta")):
        return _MARKUP
    return seems
