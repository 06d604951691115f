"""What the screen is given, what it gives back, and the texts of a column made ready to be searched.

Comes in: a column as it was read. Goes out: its texts in one alphabet (no accents, one kind of dash, digits 0 to 9),
in an Arrow array. Arrow searches with RE2, whose time grows with the length of the text only, whatever stands in it;
so every first look at a column is RE2, and Python looks closer at what that lets by.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import numpy.typing as npt
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
# Characters of a column, up to which setting up a pattern takes as long as looking for it, 0.1 ms.
_FEW = 10_000
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
class Searched:
    """Texts of one column or of several, in which each pattern is looked for once, when it is first asked for."""

    array: Any  # of Arrow
    found: dict[str, npt.NDArray[np.uint64]] = field(default_factory=dict)  # pattern -> where it is, in order

    def matching(self, pattern: str) -> npt.NDArray[np.uint64]:
        """Where the texts are in which RE2 finds the pattern."""
        if pattern not in self.found:
            self.found[pattern] = pc.indices_nonzero(pc.match_substring_regex(self.array, pattern)).to_numpy()
        return self.found[pattern]


@dataclass(frozen=True)
class Texts:
    """The distinct texts of a column, folded, with the number of times each is written."""

    texts: Sequence[str]
    times: Sequence[int]
    searched: Searched  # the same texts, from `first` on, perhaps beside those of other columns
    first: int
    total: int  # values
    longest: int  # characters

    @property
    def array(self) -> Any:
        """The texts as an Arrow array."""
        return self.searched.array.slice(self.first, len(self.texts))

    @property
    def with_digits(self) -> bool:
        """Whether any text has one."""
        return len(self._places("[0-9]")) > 0

    @property
    def with_space(self) -> bool:
        """Whether any text has one."""
        return len(self._places(r"\s")) > 0

    def matching(self, pattern: str) -> list[int]:
        """Where the texts are in which RE2 finds the pattern."""
        places: list[int] = (self._places(pattern) - np.uint64(self.first)).tolist()
        return places

    def _places(self, pattern: str) -> npt.NDArray[np.uint64]:
        found = self.searched.matching(pattern)
        begin, end = np.searchsorted(found, np.array([self.first, self.first + len(self.texts)], dtype=np.uint64))
        return found[begin:end]

    def rows(self, indices: Iterable[int]) -> int:
        """How many values those texts are."""
        return sum(self.times[index] for index in indices)


def word_list(words: str) -> frozenset[str]:
    """The words of a list written as one text."""
    return frozenset(words.split())


def texts_of(counts: Mapping[str, int]) -> Texts:
    """The texts of one column made ready to be searched."""
    return texts_of_each([counts])[0]


def texts_of_each(columns: Sequence[Mapping[str, int]]) -> list[Texts]:
    """The same of several columns. Those with few texts are searched together, for a pattern is dear to set up."""
    folded = [[text if text.isascii() else fold(text) for text in counts] for counts in columns]
    few = [sum(map(len, texts)) <= _FEW for texts in folded]
    together = [text for texts, are_few in zip(folded, few, strict=True) if are_few for text in texts]
    searched, first = Searched(pa.array(together, pa.large_string())), 0
    made = []
    for counts, texts, are_few in zip(columns, folded, few, strict=True):
        apart = None if are_few else Searched(pa.array(texts, pa.large_string()))
        beside = (apart, 0) if apart else (searched, first)
        made.append(Texts(texts, times := list(counts.values()), *beside, sum(times), max(map(len, texts), default=0)))
        first += len(texts) if are_few else 0
    return made


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
