"""Damage to the files of a drawn export: to the bytes of any, to those of text, to a mapping or a descriptor.

Each function takes a source of chance and the export, changes the export, and says in a few words what it did. The
list at the end holds them all. Damage that finds nothing to damage says so.
"""

from __future__ import annotations

import codecs
import random
import re
from pathlib import PurePosixPath

from tests.damaging_tables import NOTHING, ODD_TEXTS, Damage
from tests.small_exports import Drawn
from tests.writing_exports import pack


def file_of(chance: random.Random, drawn: Drawn, ending: str = "") -> str:
    """The name of one file that holds something."""
    names = [name for name, body in drawn.files.items() if name.endswith(ending) and body]
    return chance.choice(names) if names else ""


def _lines(body: bytes) -> list[bytes]:
    return re.findall(rb"[^\r\n]*(?:\r\n|\r|\n)|[^\r\n]+$", body)


def flipped(chance: random.Random, body: bytes) -> bytes:
    changed = bytearray(body)
    for _ in range(chance.choice((1, 1, 2, 5, 20))):
        at = chance.randrange(len(changed))
        changed[at] = changed[at] ^ (1 << chance.randrange(8)) if chance.random() < 0.5 else chance.randrange(256)
    return bytes(changed)


def flip_bytes(chance: random.Random, drawn: Drawn) -> str:
    name = file_of(chance, drawn)
    if not name:
        return NOTHING
    drawn.files[name] = flipped(chance, drawn.files[name])
    return f"bytes of {name} flipped"


def cut_short(chance: random.Random, drawn: Drawn) -> str:
    name = file_of(chance, drawn)
    if not name:
        return NOTHING
    stop = chance.randrange(len(drawn.files[name]))
    drawn.files[name] = drawn.files[name][:stop]
    return f"{name} cut after {stop} bytes"


def cut_out(chance: random.Random, drawn: Drawn) -> str:
    name = file_of(chance, drawn)
    if not name:
        return NOTHING
    body = drawn.files[name]
    start, stop = sorted(chance.randrange(len(body) + 1) for _ in range(2))
    drawn.files[name] = body[:start] + body[stop:]
    return f"bytes {start} to {stop} of {name} cut out"


def empty(chance: random.Random, drawn: Drawn) -> str:
    name = file_of(chance, drawn)
    if not name:
        return NOTHING
    drawn.files[name] = chance.choice((b"", b"", b"\n", b" \r\n\r\n", codecs.BOM_UTF8, b"\xff\xfe"))
    return f"{name} is {drawn.files[name]!r}"


def other_kind(chance: random.Random, drawn: Drawn) -> str:
    """Another ending, or the bytes of something else."""
    name = file_of(chance, drawn)
    if not name:
        return NOTHING
    body = drawn.files.pop(name)
    if chance.random() < 0.5:
        endings = (".csv", ".tsv", ".txt", ".xlsx", ".parquet", ".zip", ".xls", ".CSV", "")
        new = PurePosixPath(name).stem + chance.choice(endings)
    else:
        new = name
        body = chance.choice((b"PK\x03\x04", b"%PDF-1.7 ", b"PAR1", b"<html><table>", b"\x1f\x8b", b"\0" * 50)) + body
    drawn.files[new] = body
    return f"{name} is now {new}, beginning {body[:6]!r}"


def another_file(chance: random.Random, drawn: Drawn) -> str:
    """A second file for one table, a file of nothing known, one that is hidden, a zip within."""
    name = file_of(chance, drawn)
    if not name:
        return NOTHING
    stem, ending = PurePosixPath(name).stem, PurePosixPath(name).suffix
    new = chance.choice(
        (f"{stem}.txt", f"{stem.upper()}{ending}", f"other{ending}", f".{name}", f"~${name}", "within.zip")
    )
    drawn.files[new] = pack({name: drawn.files[name]}) if new == "within.zip" else drawn.files[name]
    return f"{name} also as {new}"


def describe(chance: random.Random, drawn: Drawn) -> str:
    """A Data Package descriptor: right, of another day, broken, or deeper than a parser goes."""
    bodies = (
        b'{"created": "2026-06-30T08:00:00Z"}', b'{"created": "2026-07-01"}', b'{"created": 5}', b"{", b"[]", b"\xff",
        b"[" * 50_000, b'{"created": "2026-02-30"}', b'{"created": null}', b'{"created": "' + b"9" * 5_000 + b'"}',
    )  # fmt: skip
    drawn.files["datapackage.json"] = chance.choice(bodies)
    return f"datapackage.json {drawn.files['datapackage.json'][:40]!r}"


# Text


def _text(chance: random.Random, drawn: Drawn) -> tuple[str, list[bytes]]:
    name = file_of(chance, drawn, ".csv")
    return name, _lines(drawn.files[name]) if name else []


def other_delimiters(chance: random.Random, drawn: Drawn) -> str:
    name, lines = _text(chance, drawn)
    if not name:
        return NOTHING
    old, new = drawn.delimiter.encode(), chance.choice((b",", b";", b"\t", b"|", b":", b" ", b"", b"\0", b",,"))
    everywhere = chance.random() < 0.3
    changed = [line.replace(old, new) if everywhere or chance.random() < 0.3 else line for line in lines]
    drawn.files[name] = b"".join(changed)
    return f"delimiters of {name} {new!r} {'throughout' if everywhere else 'in some lines'}"


def insert(chance: random.Random, drawn: Drawn) -> str:
    """Something between two bytes: quotes above all."""
    name = file_of(chance, drawn, ".csv")
    if not name:
        return NOTHING
    odd = [text.encode() for text in ODD_TEXTS]
    what = chance.choice(
        (b'"', b'"', b'""', b"\0", b"\xef\xbb\xbf", b"\xed\xa0\x80", b"\x81", b"\xff", b"\n", b"\r", *odd)
    )
    body, number = drawn.files[name], chance.choice((1, 1, 2, 3, 10))
    for _ in range(number):
        # Often at the start of a field, where a quote opens one.
        starts = [found.end() for found in re.finditer(rb"[,;\t|\r\n]", body)]
        at = chance.choice(starts) if starts and chance.random() < 0.5 else chance.randrange(len(body) + 1)
        body = body[:at] + what + body[at:]
    drawn.files[name] = body
    return f"{what!r} inserted into {name}, {number} times"


def other_ends(chance: random.Random, drawn: Drawn) -> str:
    name, lines = _text(chance, drawn)
    if not name:
        return NOTHING
    ends = chance.choice(((b"\n", b"\r\n", b"\r"), (b"\r",), (b"\n\r",), (b"\r\r\n",), (b"\x0b", b"\n"), (b"", b"\n")))
    drawn.files[name] = b"".join(line.rstrip(b"\r\n") + chance.choice(ends) for line in lines)
    return f"lines of {name} end in {ends!r}"


def other_encoding(chance: random.Random, drawn: Drawn) -> str:
    name, lines = _text(chance, drawn)
    if not name:
        return NOTHING
    codec = chance.choice(("utf-16", "utf-16-le", "utf-16-be", "utf-32", "utf-7", "cp1252", "latin-1", "cp037"))
    start = chance.choice((0, chance.randrange(len(lines) + 1)))
    stop = chance.choice((len(lines), chance.randint(start, len(lines))))
    there = b"".join(lines[start:stop]).decode("utf-8", "replace") + chance.choice(("", "é\n"))
    drawn.files[name] = b"".join(lines[:start]) + there.encode(codec, "replace") + b"".join(lines[stop:])
    return f"lines {start + 1} to {stop} of {name} in {codec}"


def say_encoding(chance: random.Random, drawn: Drawn) -> str:
    drawn.said_encoding = chance.choice(
        ("utf-8", "windows-1252", "utf-16", "utf-7", "shift_jis", "rot13", "hz", "no such")
    )
    return f"said to be {drawn.said_encoding}"


def move_lines(chance: random.Random, drawn: Drawn) -> str:
    name, lines = _text(chance, drawn)
    if not name:
        return NOTHING
    how = chance.choice(("shuffled", "doubled", "lost", "joined"))
    at = chance.randrange(len(lines))
    if how == "shuffled":
        chance.shuffle(lines)
    elif how == "doubled":
        lines.insert(chance.randrange(len(lines) + 1), lines[at])
    elif how == "lost":
        del lines[at : at + chance.randint(1, 3)]
    else:
        lines[at] = lines[at].rstrip(b"\r\n")
    drawn.files[name] = b"".join(lines)
    return f"lines of {name} {how}"


def long_lines(chance: random.Random, drawn: Drawn) -> str:
    """A line of 300,000 fields, of 1 MB of nothing, or of noise; a field over many lines."""
    name, lines = _text(chance, drawn)
    if not name:
        return NOTHING
    kinds = (
        drawn.delimiter.encode() * 300_000, b" " * 1_000_000, b"x" * 1_000_000, chance.randbytes(3_000), b'"' * 100_001,
        b'"' + b"\n" * 30 + b'"', b'"' + b"\n" * 60 + b'"', b'"a\n' * 500, b"\n" * 3_000, b"sep=;", b'","' * 20_000,
    )  # fmt: skip
    line = chance.choice(kinds)
    lines.insert(chance.choice((0, chance.randrange(len(lines) + 1))), line + b"\n")
    drawn.files[name] = b"".join(lines)
    return f"{len(line)} bytes {line[:8]!r}... as a line of {name}"


# Mappings


def change_mapping(chance: random.Random, drawn: Drawn) -> str:
    name = next(iter(drawn.mappings), "")
    if not name or not drawn.mappings[name]:
        return NOTHING
    body = drawn.mappings[name]
    how = chance.choice(
        ("flipped", "flipped", "cut", "lines lost", "doubled", "taken away", "a letter lost", "in UTF-16")
    )
    if how == "flipped":
        body = flipped(chance, body)
    elif how == "cut":
        body = body[: chance.randrange(len(body))]
    elif how == "a line lost":
        lines = body.splitlines(keepends=True)
        del lines[chance.randrange(len(lines))]
        body = b"".join(lines)
    elif how == "a letter lost":
        at = chance.randrange(len(body))
        body = body[:at] + body[at + 1 :]
    elif how == "in UTF-16":
        body = body.decode("utf-8", "replace").encode("utf-16")
    drawn.mappings[name] = body
    if how == "doubled":
        drawn.mappings["second.toml"] = body
    elif how == "taken away":
        drawn.mappings.clear()
    return f"the mapping {how}"


OF_ANY: tuple[Damage, ...] = (flip_bytes, cut_short, cut_out, empty, other_kind, another_file, describe)
OF_TEXT: tuple[Damage, ...] = (
    flip_bytes, cut_short, cut_out, other_delimiters, insert, other_ends, other_encoding, say_encoding, move_lines,
    long_lines,
)  # fmt: skip
OF_MAPPINGS: tuple[Damage, ...] = (change_mapping,)
