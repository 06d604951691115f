"""The lines of an export's files, counted without the program that is being tested.

Comes in: the path of an export. Goes out: for each sheet in it, by the label a person would find it under, how many
physical lines it has and what stands in them. Nothing of pipeline/ is used here: only bytes, zipfile, openpyxl (and
plain XML where openpyxl gives up) and the footer of a Parquet file. Leaves out a sheet that nothing stands in.
"""

from __future__ import annotations

import codecs
import io
import posixpath
import re
import warnings
import zipfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path, PurePosixPath
from xml.etree import ElementTree

import openpyxl
import pyarrow as pa
import pyarrow.parquet as pq

TEXT, WORKBOOK, PARQUET = (".csv", ".tsv", ".txt"), (".xlsx", ".xlsm"), (".parquet",)
_MARKS = {
    codecs.BOM_UTF32_LE: "utf-32",
    codecs.BOM_UTF32_BE: "utf-32",
    codecs.BOM_UTF16_LE: "utf-16",
    codecs.BOM_UTF16_BE: "utf-16",
}


@dataclass(frozen=True)
class Counted:
    """The physical lines of one sheet."""

    name: str  # without the file's ending
    lines: int
    written: tuple[str, ...] | None = None  # what stands in each line, where that can be told
    blank: int | None = None  # lines without anything, where each line can be told by itself


def count(path: Path, encoding: str | None) -> dict[str, Counted]:
    """Every sheet of an export, by its label. `encoding` is what the one who loads it says of its text files."""
    found: dict[str, Counted] = {}
    for label, file, body in _files(path):
        ending, stem = PurePosixPath(file).suffix.lower(), PurePosixPath(file).stem
        if ending in TEXT:
            found[label] = count_text(body, encoding, stem)
        elif ending in PARQUET:
            found[label] = Counted(stem, _count_parquet(body))
        elif ending in WORKBOOK and zipfile.is_zipfile(io.BytesIO(body)):
            found |= {f"{label}, sheet {name}": counted for name, counted in _count_workbook(body).items()}
    return {label: counted for label, counted in found.items() if counted.lines}


def _files(path: Path) -> Iterator[tuple[str, str, bytes]]:
    """Label, name and bytes of each file; of a zip those at its top, or in the one folder it holds."""
    if path.suffix.lower() == ".zip":
        with zipfile.ZipFile(path) as archive:
            names = {name.replace("\\", "/").removeprefix("/"): name for name in archive.namelist()}
            inside = {short: name for short, name in names.items() if not short.endswith("/")}
            tops = {short.split("/")[0] for short in inside if not short.startswith("__MACOSX/")}
            folder = f"{tops.pop()}/" if len(tops) == 1 and all("/" in short for short in inside) else ""
            for short, name in inside.items():
                rest = short.removeprefix(folder)
                if short.startswith(folder) and "/" not in rest and _is_of_an_export(rest):
                    yield f"{path.name}: {_shown(rest)}", rest, archive.read(name)
        return
    for file in sorted(path.iterdir()) if path.is_dir() else [path]:
        if file.is_file() and _is_of_an_export(file.name):
            yield _shown(file.name), file.name, file.read_bytes()


def _is_of_an_export(name: str) -> bool:
    known = PurePosixPath(name).suffix.lower() in (*TEXT, *WORKBOOK, *PARQUET)
    return known and not name.startswith((".", "~$"))


def _shown(name: str) -> str:
    return "".join(sign if sign.isprintable() else "?" for sign in name)


def count_text(body: bytes, encoding: str | None, name: str = "") -> Counted:
    """A line ends at LF, CRLF or CR. Where ASCII stays ASCII they are counted on the bytes, else on the text."""
    codec = encoding or next((codec for mark, codec in _MARKS.items() if body.startswith(mark)), "utf-8")
    if _is_ascii_in(codec):
        body = body.removeprefix(codecs.BOM_UTF8)
        lines = re.split(rb"\r\n|\r|\n", body)
        written = [_decoded(line) for line in lines]
    else:
        if "16" in codec and len(body) % 2:
            whole = body[:-1].decode(codec, "replace")
            body = body[:-1] if whole.endswith(("\r", "\n")) else body  # half a sign behind the last line is none
        lines = re.split("\r\n|\r|\n", body.decode(codec, "replace").removeprefix("\ufeff"))
        written = list(lines)
    if not lines[-1]:
        del written[-1]
    # Within quotes a line without anything may be part of a field.
    told = all(line.isascii() and '"' not in line and "\0" not in line for line in written)
    blank = sum(not line.strip() for line in written) if told else None
    return Counted(name, len(written), tuple(written), blank)


def _is_ascii_in(codec: str) -> bool:
    signs = bytes(range(128))
    try:
        return signs.decode(codec) == signs.decode("ascii")
    except UnicodeError:
        return False


def _decoded(line: bytes) -> str:
    try:
        return line.decode()
    except UnicodeDecodeError:
        return line.decode("latin-1")


def _count_parquet(body: bytes) -> int:
    """The names are one line. -1, no number of lines there could be, where the footer cannot be read."""
    try:
        return int(pq.read_metadata(io.BytesIO(body)).num_rows) + 1
    except (pa.ArrowException, OSError):
        return -1


def _count_workbook(body: bytes) -> dict[str, Counted]:
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # of what it leaves out of a damaged workbook
            return count_by_openpyxl(body)
    except Exception:
        # A part that openpyxl needs and the counting does not is broken, such as the styles.
        return count_by_xml(body)


def count_by_openpyxl(body: bytes) -> dict[str, Counted]:
    """The last row of each sheet that holds a value, an error or a formula; white space is none."""
    book = openpyxl.load_workbook(io.BytesIO(body))
    found = {}
    for sheet in book.worksheets:
        lines: dict[int, str] = {}
        # The cells there are, not sheet.values: a stray cell far out would make rows without end of that.
        for (row, _), cell in sorted(sheet._cells.items()):
            lines[row] = lines.get(row, "") + ("" if cell.value is None else str(cell.value)) + "\t"
        last = max((row for row, line in lines.items() if line.strip()), default=0)
        written = tuple(lines.get(row, "") for row in range(1, last + 1))
        label = _shown(sheet.title) + ("" if sheet.sheet_state == "visible" else " (hidden)")
        # openpyxl leaves a form feed, which is white space, as _x000C_.
        blank = None if any("_x" in line for line in written) else sum(not line.strip() for line in written)
        found[label] = Counted(sheet.title, last, written, blank)
    return found


def count_by_xml(body: bytes) -> dict[str, Counted]:
    """The same from the parts themselves, with nothing told of what stands in the lines."""
    with zipfile.ZipFile(io.BytesIO(body)) as archive:
        parts = {name: archive.read(name) for name in archive.namelist()}
    root = ElementTree.fromstring(parts["xl/_rels/workbook.xml.rels"])
    targets = {relation.attrib["Id"]: posixpath.join("xl", relation.attrib["Target"]) for relation in root}
    texts = [""]
    if "xl/sharedStrings.xml" in parts:
        texts = ["".join(text.itertext()) for text in ElementTree.fromstring(parts["xl/sharedStrings.xml"])]
    found = {}
    for sheet in _elements(ElementTree.fromstring(parts["xl/workbook.xml"]), "sheet"):
        (target,) = (targets[value] for key, value in sheet.attrib.items() if key.endswith("}id"))
        last = row = 0
        for line in _elements(ElementTree.fromstring(parts[target]), "row"):
            row = int(line.attrib.get("r", row + 1))
            if any(_holds(cell, texts) for cell in _elements(line, "c")):
                last = row
        label = _shown(sheet.attrib["name"]) + (
            " (hidden)" if sheet.attrib.get("state", "visible") != "visible" else ""
        )
        found[label] = Counted(sheet.attrib["name"], last)
    return found


def _elements(root: ElementTree.Element, name: str) -> Iterator[ElementTree.Element]:
    return (element for element in root.iter() if element.tag.rpartition("}")[2] == name)


def _holds(cell: ElementTree.Element, texts: list[str]) -> bool:
    value = "".join(cell.itertext()).strip()
    if cell.attrib.get("t") == "s" and value:
        return bool(texts[int(value)].strip())
    return bool(value) or cell.attrib.get("t") == "e"
