"""The words teams use, and what the name of a column says by them.

Comes in: the words of known_words.toml, and a column's or a sheet's name. Goes out: the layout columns that name may
mean, strongest first. Refuses to weigh values: that is for values/fit.py.
"""

from __future__ import annotations

import functools
import re
import tomllib
import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

FULL, VAGUE, DOUBTFUL = "full", "vague", "doubtful"
FOLLOW_UP = "followup"  # the label of a contact that is called so: in a sheet of babies it is not the first
Words = frozenset[str]

_COUNTED = {"one": "1", "two": "2", "three": "3", "four": "4", "five": "5", "six": "6", "seven": "7", "eight": "8"}
_ORDINALS = {"1st": "first", "2nd": "2", "second": "2", "3rd": "3", "third": "3", "fourth": "4", "fifth": "5"}
_DAYS_IN = {"day": 1, "week": 7}
_BEFORE_NUMBER = {
    "id",
    "case",
    "unit",
    "audit",
    "log",
    "reference",
    "ref",
    "serial",
    "unique",
    "hospital",
    "phone",
    "bab",
    "family",
    "client",
    "patient",
    "pt",
    "infant",
    "dyad",
    "episode",
}


@dataclass(frozen=True)
class Match:
    """A layout column that a name may mean. `label` tells the groups of one table apart: "2" of session 2, "week6"."""

    table: str
    column: str
    strength: str
    score: float
    label: str = ""


@functools.cache
def known() -> dict[str, Any]:
    """All the words, as the file has them."""
    with (Path(__file__).parent / "known_words.toml").open("rb") as file:
        return tomllib.load(file)


def tidy(text: str) -> str:
    """A written code as the lists have it: small letters, single spaces, no full stop at the end."""
    return re.sub(r"\s+", " ", unicodedata.normalize("NFKC", text).casefold()).strip().rstrip(".").strip()


@functools.lru_cache(maxsize=4096)
def words_of(name: str) -> tuple[str, ...]:
    """The words of a name, each put into the one word used for it; fillers are kept.

    Two lines of names are joined by " / ", and no word reaches over that: "After division / By" is no "division by".
    """
    return _ages([word for part in re.split(r"\s/\s", name) for word in _one_words(part)])


def _one_words(name: str) -> list[str]:
    text = unicodedata.normalize("NFKC", name)
    text = re.sub(r"(?<=[a-z])(?=[A-Z][a-z])|(?<=[a-z]{2})(?=[A-Z]{2,}$)", " ", text)
    text = re.sub(r"(?<=[A-Z]{2})(?=[A-Z][a-z]{2})", " ", text).casefold()
    text = re.sub(r"\bv(?=\d)", "visit ", text)
    text = re.sub(r"(\d+)\s*[/-]\s*52\b", r" \1 week ", text)
    text = re.sub(r"(\d+)\s*/\s*12\b", r" \1 month ", text)
    text = re.sub(r"(\d+)\s*/\s*7\b", r" \1 day ", text)
    text = re.sub(r"\b(\d)(st|nd|rd|th)\b", lambda ordinal: f" {_ORDINALS.get(ordinal[0], ordinal[1])} ", text)
    text = re.sub(r"[’'`]", "", text)
    text = re.sub(r"(?<=\d)(?=[a-z])|(?<=[a-z])(?=\d)", " ", text)
    plain = [_ORDINALS.get(word, _COUNTED.get(word, word)) for word in re.findall(r"[^\W_]+", text)]
    plain = ["number"] if plain == ["no"] else plain
    plain = ["number" if _is_number(plain, at) else word for at, word in enumerate(plain)]
    return _replaced([_short().get(word, word) for word in plain])


def _is_number(plain: Sequence[str], at: int) -> bool:
    """“Case no”: a number. “No complications”: a denial."""
    return plain[at] == "no" and at > 0 and (plain[at - 1] in _BEFORE_NUMBER or plain[at - 1] in ("baby", "study"))


@functools.cache
def _spellings() -> dict[tuple[str, ...], str]:
    return {tuple(spelt.split()): word for word, spellings in known()["words"].items() for spelt in (*spellings, word)}


@functools.cache
def _short() -> dict[str, str]:
    return {spelt: word for word, spellings in known()["short"].items() for spelt in spellings}


def _replaced(plain: Sequence[str]) -> list[str]:
    """The longest spelling that begins at each word gives way to its one word."""
    spellings = _spellings()
    longest = max(map(len, spellings))
    words: list[str] = []
    at = 0
    while at < len(plain):
        for length in range(min(longest, len(plain) - at), 0, -1):
            if (spelt := tuple(plain[at : at + length])) in spellings:
                words.append(spellings[spelt])
                at += length
                break
        else:
            words.append(plain[at])
            at += 1
    return words


def _ages(words: Sequence[str]) -> tuple[str, ...]:
    """“6 week”, “week 6” and “6-8 week” become “week6”."""
    text = " ".join(words)
    text = re.sub(r"\b(\d{1,2}) (?:\d{1,2} )?(week|month|day|hour|minute)\b", r"\2\1", text)
    text = re.sub(r"\b(week|month) (\d{1,2})\b", r"\1\2", text)
    return tuple(text.split())


@functools.cache
def _fillers() -> Words:
    return frozenset(word for word in known()["fillers"]["names"] if " " not in word)


def meaning(name: str) -> Words:
    """The words of a name without the fillers; the order does not matter."""
    words = words_of(name)
    kept = frozenset(words) - _fillers() - {"hour24", "case"}
    return kept or frozenset(words)


@functools.cache
def _phrases() -> tuple[tuple[str, str, str, Words], ...]:
    """Table, column, list (names, vague, doubtful, within, likely_within), and the words."""
    return tuple(
        (table, column, kind, meaning(phrase))
        for table, columns in known().items()
        if table
        not in ("short", "words", "fillers", "turning", "sheets", "groups", "complication_columns", "kept", "codes")
        for column, lists in columns.items()
        for kind, phrases in lists.items()
        for phrase in phrases
    )


@functools.cache
def _doubtful() -> frozenset[tuple[str, str, Words]]:
    return frozenset((table, column, phrase) for table, column, kind, phrase in _phrases() if kind == "doubtful")


def table_of_sheet(name: str) -> str:
    """The table a sheet's name says, or nothing."""
    said = frozenset(word for word in meaning(name) if not word.isdigit()) - {"list", "log"}
    whole = [table for table, names in known()["sheets"].items() if said in map(meaning, names)]
    groups = {
        **{word: table for table, words in known()["groups"].items() for word in words},
        "week6": "feeding_checks",
    }
    return next(iter([*whole, *(groups[word] for word in groups if word in said)]), "")


def complication_of(header: str) -> tuple[str, bool]:
    """The kind of complication a yes/no column says, or nothing; and whether it is that one's date."""
    said = meaning(header)
    for kind, names in known()["complication_columns"].items():
        if any(said in (meaning(name), meaning(name) | {"date"}) for name in names):
            return kind, "date" in said
    return "", False


@functools.cache
def matches(name: str, context: str) -> tuple[Match, ...]:
    """What a name may mean in a sheet of the table `context`, strongest first."""
    said = meaning(name)
    group_table, label, rest = group_of(name)
    label = "" if label == FOLLOW_UP and context != "cases" else label
    turning = frozenset(known()["turning"]["names"])
    possible: list[Match] = []
    for table, column, kind, phrase in _phrases():
        elsewhere = 0.0 if table == context else 0.05 if context == "cases" else 0.2
        if kind in ("within", "likely_within"):
            if table == group_table and rest == phrase:
                if not label and table != context and (table, column, said) in _doubtful():
                    continue
                strength = FULL if kind == "within" and (label or phrase) else VAGUE
                far = 0.2 if context not in ("cases", table) else 0.0
                possible.append(Match(table, column, strength, 0.98 - 0.1 * (not phrase) - far, label))
            elif table == group_table and label and phrase < rest and not (rest - phrase) & turning:
                if len(phrase) > 0.5 * len(rest):
                    possible.append(Match(table, column, VAGUE, 0.6 * len(phrase) / len(rest), label))
            elif table == context != "cases" and said == phrase:
                possible.append(Match(table, column, FULL if kind == "within" else VAGUE, 0.97))
            continue
        label_here = label if table == group_table else ""
        if said == phrase:
            strength, score = {"names": (FULL, 1.0), "vague": (VAGUE, 0.75), "doubtful": (DOUBTFUL, 0.3)}[kind]
            possible.append(Match(table, column, strength, score - elsewhere))
        elif kind == "names" and phrase < said and not (said - phrase) & turning and not label_here:
            share = len(phrase) / len(said)
            if share >= 0.5 and not any(word[-1:].isdigit() for word in said - phrase):
                possible.append(Match(table, column, VAGUE, 0.6 * share - elsewhere))
    best: dict[tuple[str, str, str], Match] = {}
    for match in sorted(possible, key=lambda match: (-match.score, match.table, match.column)):
        best.setdefault((match.table, match.column, match.label), match)
    return tuple(best.values())


def group_of(name: str) -> tuple[str, str, Words]:
    """The table, the label of the group and the other words of “Session 2 date”; no table where there is none."""
    words = [word for word in words_of(name) if word not in _fillers() and word not in ("hour24", "case")]
    asked = next((word for word in words if re.fullmatch(r"(week|month)\d+", word)), "")
    if asked:
        rest = [word for word in words if word != asked]
        return ("feeding_checks", asked, frozenset(rest))
    if "after" in words[:-1] and words[words.index("after") + 1] == "division":
        return ("contacts", "after", frozenset(word for word in words if word not in ("after", "division")))
    if "redivision" in words:
        return ("procedures", "2", frozenset(word for word in words if word != "redivision"))
    for table, group_words in known()["groups"].items():
        for at, word in enumerate(words):
            if word in group_words:
                near = [other for other in (at + 1, at - 1) if 0 <= other < len(words)]
                number = next((other for other in near if re.fullmatch(r"\d{1,2}|first", words[other])), None)
                if number is None and len(words) > 1 and re.fullmatch(r"\d{1,2}", words[-1]) and name.endswith(")"):
                    number = len(words) - 1
                label = FOLLOW_UP if word == FOLLOW_UP else ""
                label = label if number is None else words[number].replace("first", "1")
                return table, label, frozenset(word for place, word in enumerate(words) if place not in (at, number))
    return "", "", frozenset(words)


def days_old_of(label: str) -> int | None:
    """42 of “week6”; nothing of a month, which is no number of days."""
    unit, number = re.fullmatch(r"([a-z]*)(\d*)", label).groups()  # type: ignore[union-attr]
    return _DAYS_IN[unit] * int(number) if unit in _DAYS_IN and number else None
