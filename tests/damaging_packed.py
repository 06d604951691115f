"""Damage to what is packed: zips as wholes, the parts of a workbook, the columns of Parquet.

Each function takes a source of chance and the export, changes the export, and says in a few words what it did. The
lists at the end hold them all. Bombs are small on the disk, and what they unpack to is small enough for a test.
Damage that finds nothing to damage says so.
"""

from __future__ import annotations

import io
import random
import re
import struct
import warnings
import zipfile
import zlib

import pyarrow as pa
import pyarrow.parquet as pq

from tests.damaging_files import file_of, flipped
from tests.damaging_tables import NOTHING, Damage
from tests.small_exports import Drawn
from tests.writing_exports import pack

# Zips


def damage_zip(chance: random.Random, drawn: Drawn) -> str:
    """The bytes of the zip, once it is packed."""
    how = chance.choice(("cut short", "flipped", "forged size", "a password", "noise before it", "noise behind it"))
    body = drawn.packed
    if how == "cut short":
        body = body[: chance.randrange(len(body))]
    elif how == "flipped":
        body = flipped(chance, body)
    elif how in ("forged size", "a password"):
        changed = bytearray(body)
        # Of the first member, in the list of members and, half of the time, beside the member itself.
        places = [(b"PK\x01\x02", 24, 8)] + [(b"PK\x03\x04", 22, 6)] * (chance.random() < 0.5)
        size = chance.choice((0, 3, 5_000, 2_000_000_001, 2**32 - 1))
        for sign, of_size, of_flags in places:
            at = body.find(sign)
            if at < 0:
                return NOTHING
            if how == "forged size":
                struct.pack_into("<I", changed, at + of_size, size)
            else:
                changed[at + of_flags] |= 1
        body = bytes(changed)
    else:
        noise = chance.randbytes(chance.choice((1, 200)))
        body = noise + body if how == "noise before it" else body + noise
    drawn.packed = body
    return f"the zip: {how}"


def damage_members(chance: random.Random, drawn: Drawn) -> str:
    """What the zip holds, and under which names; packed again."""
    members = dict(drawn.files)
    packing, name = zipfile.ZIP_DEFLATED, next(iter(members), "cases.csv")
    how = chance.choice(("nested", "bomb", "a bomb of lines", "names", "packing", "in a folder", "macOS", "twice"))
    if how == "nested":
        inner = pack(members)
        for _ in range(chance.randint(0, 3)):
            inner = pack({"export.zip": inner})
        members = {"export.zip": inner} if chance.random() < 0.5 else {**members, "more.zip": inner}
    elif how == "bomb":
        members[chance.choice((name, "more.csv", "more.xlsx"))] = chance.choice((b"\0", b" ", b"x", b",")) * 5_000_000
    elif how == "a bomb of lines":
        members[chance.choice((name, "more.csv"))] = chance.choice((b"\n", b"\r", b"a\n", b'"\n')) * 100_000
    elif how == "names":
        odd = ("../../{}", "/{}", "C:\\{}", "a/b/{}", "..\\{}", "x\x1b[2J{}", "{} ", "\u202e{}", "con.{}")
        new = chance.choice((*(pattern.format(name) for pattern in odd), "a" * 300 + name))
        members = {new if member == name else member: body for member, body in members.items()}
    elif how == "packing":
        packing = chance.choice((zipfile.ZIP_STORED, zipfile.ZIP_BZIP2, zipfile.ZIP_LZMA))
    elif how == "in a folder":
        folder = chance.choice(("export/", "Export of June/", "a/b/"))
        members = {folder + member: body for member, body in members.items()}
    elif how == "macOS":
        members |= {f"__MACOSX/._{name}": b"x", ".DS_Store": b"x"}
    drawn.packed = pack(members, packing)
    if how == "twice":
        drawn.packed = _twice(drawn.packed, name, members.get(name, b""))
    return f"the zip's members: {how}"


def _twice(packed: bytes, name: str, body: bytes) -> bytes:
    again = io.BytesIO(packed)
    with warnings.catch_warnings(), zipfile.ZipFile(again, "a") as archive:
        warnings.simplefilter("ignore")
        archive.writestr(name, body)
    return again.getvalue()


# Workbooks

_ENTITIES = (
    b'<!DOCTYPE x [<!ENTITY a "ha ha ha ha ">'
    + b"".join(b'<!ENTITY %c "%s">' % (98 + at, (b"&%c;" % (97 + at)) * 10) for at in range(9))
    + b"]>"
)
_CELL = rb'<c r="[A-Z]+[0-9]+"[^>]*?(?:/>|>.*?</c>)'


def damage_parts(chance: random.Random, drawn: Drawn) -> str:
    """A part lost, cut, changed within, or made of much more than it seems."""
    name, parts = _parts(chance, drawn)
    if not parts:
        return NOTHING
    part = chance.choice(list(parts))
    how = chance.choice(("lost", "cut", "flipped", "a mark lost", "entities", "a bomb", "not UTF-8", "empty", "deep"))
    body = parts[part]
    if how == "lost":
        del parts[part]
    elif how == "cut":
        parts[part] = body[: chance.randrange(len(body) + 1)]
    elif how == "flipped" and body:
        parts[part] = flipped(chance, body)
    elif how == "a mark lost":
        marks = [found.start() for found in re.finditer(rb"[<>&\"=/]", body)]
        at = chance.choice(marks) if marks else 0
        parts[part] = body[:at] + body[at + 1 :]
    elif how == "entities":
        declared = body.find(b"?>") + 2
        parts[part] = body[:declared] + _ENTITIES + re.sub(rb"<v>", b"<v>&j;", body[declared:], count=1)
    elif how == "a bomb":
        parts[part] = body + b" " * 5_000_000
    elif how == "not UTF-8":
        parts[part] = body.replace(b"e", b"\xe9", 3)
    elif how == "empty":
        parts[part] = b""
    elif how == "deep":
        parts[part] = body.replace(b"<sheetData>", b"<a>" * 20_000 + b"<sheetData>", 1)
    drawn.files[name] = pack(parts)
    return f"the part {part} of {name} {how}"


def damage_cells(chance: random.Random, drawn: Drawn) -> str:
    """Cells of a kind that is seldom met, or in a place that cannot be."""
    name, parts = _parts(chance, drawn)
    sheets = [path for path in parts if path.startswith("xl/worksheets/sheet")]
    if not sheets:
        return NOTHING
    part = chance.choice(sheets)
    kinds = {
        "an error": rb'<c r="{}" t="e"><v>#N/A</v></c>',
        "an error without words": rb'<c r="{}" t="e"/>',
        "not calculated": rb'<c r="{}"><f>1+1</f></c>',
        "calculated": rb'<c r="{}" t="str"><f>"a"</f><v>a</v></c>',
        "a shared text that is not there": rb'<c r="{}" t="s"><v>99999</v></c>',
        "a shared text below nought": rb'<c r="{}" t="s"><v>-1</v></c>',
        "no number": rb'<c r="{}"><v>abc</v></c>',
        "a number without end": rb'<c r="{}"><v>1E400</v></c>',
        "a day": rb'<c r="{}" t="d"><v>2026-05-01T00:00:00</v></c>',
        "no day": rb'<c r="{}" t="d"><v>soon</v></c>',
        "yes": rb'<c r="{}" t="b"><v>1</v></c>',
        "neither yes nor no": rb'<c r="{}" t="b"><v>maybe</v></c>',
        "a kind nobody knows": rb'<c r="{}" t="zz"><v>1</v></c>',
        "a text in place": rb'<c r="{}" t="inlineStr"><is><r><t>a</t></r><r><t>b</t></r></is></c>',
        "white space": rb'<c r="{}" t="inlineStr"><is><t xml:space="preserve"> </t></is></c>',
        "no place": rb"<c><v>1</v></c>",
        "a far place": rb'<c r="XFD1048576"><v>1</v></c>',
        "a far place with nothing": rb'<c r="XFD1048576"/>',
        "a place beyond all": rb'<c r="ZZZZZZZ99999999999"><v>1</v></c>',
        "the place nought": rb'<c r="A0"><v>1</v></c>',
        "a place that is none": rb'<c r="12"><v>1</v></c>',
        "a style that is not there": rb'<c r="{}" s="999"><v>46204</v></c>',
        "a far day": rb'<c r="{}" s="1"><v>99999999</v></c>',
        "a day before all": rb'<c r="{}" s="1"><v>-5</v></c>',
    }
    what, number = chance.choice(list(kinds)), chance.choice((1, 1, 3))
    for _ in range(number):
        cells = list(re.finditer(_CELL, parts[part], re.DOTALL))
        if not cells:
            return NOTHING
        cell = chance.choice(cells)
        place = re.match(rb'<c r="([A-Z]+[0-9]+)"', cell[0])
        new = kinds[what].replace(b"{}", place[1] if place else b"A1")
        parts[part] = parts[part][: cell.start()] + new + parts[part][cell.end() :]
    drawn.files[name] = pack(parts)
    return f"{number} cells of {part}: {what}"


def damage_rows(chance: random.Random, drawn: Drawn) -> str:
    """Rows without numbers, in another order, twice; sheets hidden, lost from the list, or two of one name."""
    name, parts = _parts(chance, drawn)
    sheets = [path for path in parts if path.startswith("xl/worksheets/sheet")]
    if not sheets or "xl/workbook.xml" not in parts:
        return NOTHING
    part, book = chance.choice(sheets), "xl/workbook.xml"
    how = chance.choice(("no numbers", "another order", "twice", "far below", "hidden", "off the list", "one name"))
    rows = re.findall(rb"<row .*?</row>", parts[part], re.DOTALL)
    listed = re.findall(rb"<sheet [^>]*/>", parts[book])
    if how in ("hidden", "off the list", "one name"):
        if not listed:
            return NOTHING
        old = chance.choice(listed)
        new = {"hidden": old.replace(b"<sheet ", b'<sheet state="hidden" '), "off the list": b""}.get(how)
        if new is None:
            new = re.sub(rb'name="[^"]*"', re.search(rb'name="[^"]*"', chance.choice(listed))[0], old)
        parts[book] = parts[book].replace(old, new)
    elif rows:
        row = chance.choice(rows)
        if how == "no numbers":
            parts[part] = re.sub(rb'(<row|<c) r="[A-Z]*[0-9]+"', rb"\1", parts[part])
        elif how == "another order":
            parts[part] = parts[part].replace(row, b"", 1).replace(b"</sheetData>", row + b"</sheetData>")
        elif how == "twice":
            parts[part] = parts[part].replace(row, row + row, 1)
        else:
            below = re.sub(rb'r="([A-Z]*)[0-9]+"', rb'r="\g<1>5000"', row)
            parts[part] = parts[part].replace(b"</sheetData>", below + b"</sheetData>")
    drawn.files[name] = pack(parts)
    return f"rows or sheets of {name}: {how}"


def _parts(chance: random.Random, drawn: Drawn) -> tuple[str, dict[str, bytes]]:
    name = file_of(chance, drawn, ".xlsx")
    try:
        with zipfile.ZipFile(io.BytesIO(drawn.files.get(name, b""))) as archive:
            return name, {part: archive.read(part) for part in archive.namelist()}
    except (zipfile.BadZipFile, OSError, ValueError, NotImplementedError, EOFError, RuntimeError, zlib.error):
        return name, {}  # damaged already


# Parquet


def other_fields(chance: random.Random, drawn: Drawn) -> str:
    """A Parquet column of a kind that is seldom met, or no column, or no row."""
    name = file_of(chance, drawn, ".parquet")
    if not name:
        return NOTHING
    try:
        table = pq.read_table(io.BytesIO(drawn.files[name]))
    except (pa.ArrowException, OSError):
        return NOTHING  # damaged already
    rows, at = table.num_rows, chance.randrange(max(1, table.num_columns))
    kinds = {
        "dictionary": pa.array(["a"] * rows).dictionary_encode(),
        "lists": pa.array([[1, 2]] * rows),
        "structs": pa.array([{"a": 1}] * rows),
        "bytes": pa.array([b"\xff\x00"] * rows),
        "nothing": pa.nulls(rows),
        "moments": pa.array([2**62] * rows, pa.timestamp("ns", "Europe/London")),
        "far moments": pa.array([2**40] * rows, pa.timestamp("s")),
        "far days": pa.array([2**31 - 1] * rows, pa.int32()).cast(pa.date32()),
        "durations": pa.array([-1] * rows, pa.duration("us")),
        "half numbers": pa.array([1.5] * rows, pa.float32()),
        "no numbers": pa.array([float("nan")] * rows),
        "yes": pa.array([True] * rows),
        "no rows": None,
        "no columns": None,
    }
    what = chance.choice(list(kinds))
    if what == "no rows":
        table = table.slice(0, 0)
    elif what == "no columns" or not table.num_columns:
        table = table.select([])
    else:
        table = table.set_column(at, table.column_names[at], kinds[what])
    written = io.BytesIO()
    pq.write_table(table, written)
    drawn.files[name] = written.getvalue()
    return f"column {at + 1} of {name} holds {what}"


OF_ZIPS: tuple[Damage, ...] = (damage_members, damage_zip)
OF_WORKBOOKS: tuple[Damage, ...] = (damage_parts, damage_cells, damage_rows)
OF_PARQUET: tuple[Damage, ...] = (other_fields,)
