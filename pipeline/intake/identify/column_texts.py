"""What the screen is given, what it gives back, and the texts of a column made ready to be searched.

Comes in: a column as it was read. Goes out: its texts in one alphabet (no accents, one kind of dash, digits 0 to 9),
in an Arrow array. Arrow searches with RE2, whose time grows with the length of the text only, whatever stands in it;
so every first look at a column is RE2, and Python looks closer at what that lets by.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import pyarrow as pa
import pyarrow.compute as pc

NHS_NUMBER, POSTCODE, EMAIL, PHONE = "NHS number", "postcode", "e-mail address", "phone number"
BIRTH_DATE, NAME, ADDRESS, RECORD_NUMBER, FREE_TEXT = (
    "date of birth",
    "name",
    "address",
    "hospital or record number",
    "free text",
)
# A letter for RE2: what is not ASCII counts as one here, for the whole of Unicode makes a pattern slow to set up.
LETTER = r"[A-Za-z\x{80}-\x{10FFFF}]"
KINDS = (NHS_NUMBER, POSTCODE, EMAIL, PHONE, BIRTH_DATE, NAME, ADDRESS, RECORD_NUMBER, FREE_TEXT)


@dataclass(frozen=True)
class SheetColumn:
    """One column of one sheet, before anything is made of it. `position` is counted from 1."""

    sheet: str
    header: str
    position: int
    counts: Mapping[str, int]  # distinct texts, trimmed and not empty -> the number of times each is written
    table: str | None  # the layout table and column it is mapped to, if any
    column: str | None


@dataclass(frozen=True)
class Identifier:
    """One kind of identifier in one column. Nothing in it is a value or a part of one."""

    sheet: str
    position: int
    header_is_safe_to_print: bool
    header: str  # "column 4" where the header is not safe to print
    kind: str  # one of KINDS
    words: str


@dataclass(frozen=True)
class Texts:
    """The distinct texts of a column, folded, with the number of times each is written."""

    texts: Sequence[str]
    times: Sequence[int]
    array: Any  # the same texts, as an Arrow array
    total: int
    longest: int  # characters
    with_digits: bool
    with_space: bool

    def matching(self, pattern: str) -> list[int]:
        """Where the texts are in which RE2 finds the pattern."""
        indices: list[int] = pc.indices_nonzero(pc.match_substring_regex(self.array, pattern)).to_pylist()
        return indices

    def rows(self, indices: Iterable[int]) -> int:
        """How many values those texts are."""
        return sum(self.times[index] for index in indices)


def word_list(words: str) -> frozenset[str]:
    """The words of a list written as one text."""
    return frozenset(words.split())


def texts_of(counts: Mapping[str, int]) -> Texts:
    """The texts made ready to be searched."""
    texts = [text if text.isascii() else fold(text) for text in counts]
    array = pa.array(texts, pa.large_string())
    return Texts(
        texts=texts,
        times=list(counts.values()),
        array=array,
        total=sum(counts.values()),
        longest=max(map(len, texts), default=0),
        with_digits=_any(array, "[0-9]"),
        with_space=_any(array, r"\s"),
    )


def _any(array: Any, pattern: str) -> bool:
    return bool(pc.any(pc.match_substring_regex(array, pattern)).as_py())


def fold(text: str) -> str:
    """The text without accents and unseen characters, with plain spaces, dashes, quotes and digits."""
    return "".join(_folded(character) for character in unicodedata.normalize("NFKD", text))


def _folded(character: str) -> str:
    category = unicodedata.category(character)
    if category in ("Mn", "Cf"):  # accents; soft hyphens, marks of zero width
        return ""
    if category == "Pd":
        return "-"
    if category in ("Zs", "Zl", "Zp", "Cs"):  # a lone surrogate cannot be searched at all
        return " "
    if category == "Nd":
        return str(unicodedata.digit(character))
    return "'" if character in "‘’ʼ`´" else character
