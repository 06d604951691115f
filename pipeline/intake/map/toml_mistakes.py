"""What is likely wrong with a mapping file that is no TOML, in words for a person who is no programmer.

Comes in: the text of the file and the parser's error. Goes out: the line, what is likely wrong with it, what is allowed
and what to do. Refuses to show more of a line than a name or a value.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

_CURLY = "“”„‟‘’‚‛«»"
_NAME = r"""(?:"[^"]*"|'[^']*'|[^\s="'#{}\[\],]+)"""
_DATE = re.compile(r"=\s*\[?\s*(\d{1,2}[/.\-]\d{1,2}[/.\-]\d{2,4})\b|=\s*\[?\s*(\d{4}[/.]\d{1,2}[/.]\d{1,2})\b")
_BARE = re.compile(r"(?:=|\[|,)\s*([^\W\d_][^\"'#{}\[\],=]*?)\s*(?=[,}\]#]|$)")
_BESIDE = re.compile(r"(?:\"\"|'')\s+[\w\"']")  # two texts, or a text and a name, with no comma between them
_TWICE = ("Cannot overwrite", "Duplicate inline table key", "Cannot declare", "Cannot mutate", "twice")
_A_LINE = 'NAME = "TEXT", or a name in brackets such as [rows.columns], or a remark behind a #'


@dataclass(frozen=True)
class Slip:
    """Where the file cannot be read, and why that is likely so."""

    line: int
    found: str
    allowed: str
    mend: str


def slip(text: str, error: Exception) -> Slip:
    """The likeliest reason for the error."""
    at = re.search(r"\(at line (\d+)", str(error))
    lines = text.split("\n")
    number = min(int(at[1]) if at else text.rstrip("\n").count("\n") + 1, len(lines))
    message = str(error)
    opened = _opened(lines[:number]) if at is None or _goes_on(message) else None
    if opened and opened[0] != number and not _is_curly(lines[number - 1]):
        number = opened[0]
    if at is None and not opened:
        number = next((place for place, line in enumerate(lines, 1) if _without_texts(line)[1]), number)
    line = lines[number - 1]
    plain, is_open = _without_texts(line)
    if _is_curly(line):
        return Slip(
            number,
            "curly quotes stand in it, as a word processor makes them",
            'straight quotes: "',
            'write " instead of each curly quote; a plain text editor leaves them straight',
        )
    if message.startswith(_TWICE):
        return _twice(lines, number, message)
    if "\\" in line and ("Unescaped" in message or "hex" in message):
        allowed = 'a text without \\, or with two of them: "\\\\"'
        return Slip(
            number, "a \\ stands in a text, where it has a meaning of its own", allowed, "write \\\\ for each \\"
        )
    if is_open:
        return Slip(
            number,
            "a quote is missing: they do not pair",
            'a " before and a " behind each text',
            'put in the missing "',
        )
    if opened and opened[0] == number and not _BESIDE.search(plain):
        return _not_closed(number, opened[1])
    return _unquoted(number, line, plain, message)


def _goes_on(message: str) -> bool:
    """Whether what is wrong may have begun on an earlier line."""
    return message.startswith(("Unclosed", "Invalid value", "Invalid initial"))


def _not_closed(number: int, bracket: str) -> Slip:
    close, what = {"{": ("}", "brace"), "[": ("]", "bracket")}[bracket]
    mend = f"put the missing {close} at its end" + ("; all of it must stand on one line" if bracket == "{" else "")
    return Slip(number, f"a {what} {bracket} is not closed", f"a {close} for each {bracket}", mend)


def _twice(lines: list[str], number: int, message: str) -> Slip:
    line = lines[number - 1].strip()
    if line.startswith("["):
        header = line.split("#")[0].strip()
        mend = (
            "each [rows.columns] needs a [[rows]] of its own above it" if "rows" in header else "put the two together"
        )
        return Slip(number, f"{header} stands twice", "each such name once", mend)
    inline = re.search(r"Duplicate inline table key '(.*)'", message)
    key = re.match(rf"\s*({_NAME})\s*=", line)
    name = inline[1] if inline else key[1].strip("\"'") if key else "a name"
    earlier = None if inline else _earlier(lines, number, name)
    where = f" (line {earlier} has it too)" if earlier else ""
    found = f'"{name}" stands twice in one list or block{where}'
    return Slip(number, found, "each name once", "take one of the two out, or put a # before it")


def _earlier(lines: list[str], number: int, name: str) -> int | None:
    for at in range(number - 1, 0, -1):
        line = lines[at - 1].strip()
        key = re.match(rf"({_NAME})\s*=", line)
        if key and key[1].strip("\"'") == name:
            return at
        if line.startswith("["):
            return None
    return None


def _unquoted(number: int, line: str, plain: str, message: str) -> Slip:
    if message.startswith("Invalid date"):
        return Slip(number, "there is no such day", "a day such as 2026-10-12", "correct the day")
    if day := _DATE.search(plain):
        found = f"a date written like {day[1] or day[2]}"
        allowed = "year, month, day with two strokes and without quotes, such as 2026-10-12"
        return Slip(number, found, allowed, "write it so")
    if re.match(r"\s*\[[^=]*$", plain):
        found = "a name in brackets that is not closed, or that something follows"
        return Slip(number, found, "a line such as [rows.columns] or [codes.marks]", "put the bracket at its end")
    if _BESIDE.search(plain):
        return Slip(number, "a comma is missing between two parts", "a comma between parts in brackets", "put it in")
    if re.search(r",\s*(?:\}|$)", plain):
        return Slip(
            number, "a comma too many, at the end of it", "commas only between parts", "take the last comma out"
        )
    name, equals, value = plain.partition("=")
    if not equals:
        found = "a line that is no remark and says nothing: there is no = in it"
        return Slip(number, found, _A_LINE, "put a # before it if it is a remark; else write what the name stands for")
    if not value.strip():
        return Slip(
            number, "nothing stands behind the =", _A_LINE, 'write what it stands for in quotes ("" is nothing)'
        )
    bare = next((match[1] for match in _BARE.finditer(plain) if match[1] not in ("true", "false")), "")
    if bare:
        return Slip(
            number, f"a text without quotes: {bare}", f'texts in quotes: "{bare}"', 'put a " before and behind it'
        )
    written = name.strip()
    if re.search(r"[^A-Za-z0-9_.\-\"']", written) and not written.startswith("["):
        found = f"a name with spaces or signs in it without quotes: {line.partition('=')[0].strip()}"
        return Slip(number, found, 'such names in quotes: "First baby" = ...', "put the whole name in quotes")
    mend = (
        "compare it with the lines around it: texts and names with spaces stand in quotes, parts are parted by commas"
    )
    return Slip(number, "it is not written as a mapping is", _A_LINE, mend)


def _is_curly(line: str) -> bool:
    """Whether curly quotes stand where straight ones should; in a whole text or a remark they are letters."""
    plain, is_open = _without_texts(line)
    return any(quote in (line if is_open else plain) for quote in _CURLY)


def _without_texts(line: str) -> tuple[str, bool]:
    """The line with its texts emptied and its remark cut off, and whether a text in it is not closed."""
    kept, quote, skip = [], "", False
    for character in line:
        if quote:
            if skip:
                skip = False
            elif character == "\\" and quote == '"':
                skip = True
            elif character == quote:
                quote = ""
                kept.append(character)
            continue
        if character == "#":
            break
        if character in "\"'":
            quote = character
        kept.append(character)
    return "".join(kept), bool(quote)


def _opened(lines: list[str]) -> tuple[int, str] | None:
    """The line and the kind of the bracket that is open last, where one is."""
    stack: list[tuple[int, str]] = []
    for number, line in enumerate(lines, 1):
        plain, _ = _without_texts(line)
        if re.match(r"\s*\[[^,]*\]\s*$", plain) and not stack:
            continue
        for character in plain:
            if character in "[{":
                stack.append((number, character))
            elif character in "]}" and stack:
                stack.pop()
        if stack and stack[-1][1] == "{":
            return stack[-1]  # it may not go on to the next line
    return stack[-1] if stack else None
