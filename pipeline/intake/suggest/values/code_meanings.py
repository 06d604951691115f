"""What the written codes of a column mean, where that is plain.

Comes in: the distinct texts of a column with their counts, and a layout column. Goes out: each written code with its
layout code, or with none where a person must say. Refuses to guess, and to show a text that may say who someone is.
"""

from __future__ import annotations

import functools
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from pipeline.contracts.layout import YES_NO, Column
from pipeline.intake.map.standard_codes import STANDARDS
from pipeline.intake.suggest.look.trade_words import known, tidy

SURE, LIKELY, ASKS = "sure", "likely", "asks"
MOST_CODES = 25  # more different texts than that are no list of codes
LISTS = {
    "feeding_at_first_contact": "feeding",
    **dict.fromkeys(("extension", "elevation", "lateralisation", "cupping", "peristalsis"), "tongue"),
}
_INITIALS = set("ABMWO")  # of Asian, Black, Mixed, White, Other: alone they do not show that the standard is meant


@dataclass(frozen=True)
class Code:
    """A written code. `meant` is a layout code, "" nothing recorded, None where a person must say."""

    written: str
    count: int
    meant: str | None
    mark: str
    why: str


@dataclass(frozen=True)
class CodeMeanings:
    """`share` of what is written is plain. `standard` is the name of an open standard's list, where all are of it."""

    share: float
    codes: tuple[Code, ...] = ()
    hidden: int = 0  # different texts not shown: long, or like an identifier
    standard: str = ""
    as_they_are: bool = False  # every one is the layout's own code
    too_many: bool = False


def meanings_of(counts: Mapping[str, int], column: Column, name: frozenset[str] = frozenset()) -> CodeMeanings:
    """What the codes of a column mean in that layout column; `name` holds the words of its name."""
    total = sum(counts.values())
    if not total:
        return CodeMeanings(0.0)
    if set(counts) <= set(column.values):
        return CodeMeanings(1.0, as_they_are=True)
    if standard := _standard(counts, column):
        return CodeMeanings(1.0, standard=standard)
    known_here = [code for text, n in counts.items() if (code := _plain(text, n, counts, column, name))]
    share = sum(code.count for code in known_here) / total
    if len(counts) > MOST_CODES and share < 0.5:
        return CodeMeanings(share, too_many=True)
    plain = {code.written: code for code in known_here}
    # Among very many, what is written once is a remark and no code.
    few = len(counts) - len(plain) <= MOST_CODES
    shown = [text for text in counts if text in plain or (may_be_shown(text) and (few or counts[text] > 1))]
    codes = [plain.get(text) or Code(text, counts[text], None, ASKS, "") for text in shown]
    return CodeMeanings(share, tuple(codes), len(counts) - len(shown))


def may_be_shown(text: str) -> bool:
    """A code is short; what is long, or holds many digits or an @, may say who someone is."""
    return 0 < len(text) <= 40 and "@" not in text and sum(sign.isdigit() for sign in text) < 6


@dataclass(frozen=True)
class YesSays:
    """What the texts of a yes/no column say."""

    yes: tuple[str, ...]
    no: tuple[str, ...]
    nothing: tuple[str, ...]  # nothing recorded, or not known
    unclear: tuple[str, ...]  # a person must say
    hidden: int  # further different texts, not shown
    share: float  # of what is written is plain


def yes_values(counts: Mapping[str, int], column: Column) -> YesSays:
    """The texts of a column by what they say."""
    meanings = meanings_of(counts, column)
    meant = {code.written: code.meant for code in meanings.codes}
    if meanings.as_they_are:
        meant = {text: text for text in counts}
    yes, no, nothing, unclear = (
        tuple(text for text in meant if meant[text] in those)
        for those in (["yes"], ["no"], ["", "not_known", "not_recorded"], [None])
    )
    return YesSays(yes, no, nothing, unclear, meanings.hidden, meanings.share)


def merged(of_columns: Sequence[CodeMeanings]) -> tuple[Code, ...]:
    """One list of several columns' codes: the counts add up; what is not plain in one of them is plain in none."""
    together: dict[str, Code] = {}
    for code in (code for meanings in of_columns for code in meanings.codes):
        if (old := together.get(code.written)) is None:
            together[code.written] = code
        else:
            least = max(old, code, key=lambda other: (SURE, LIKELY, ASKS).index(other.mark))
            together[code.written] = Code(code.written, old.count + code.count, least.meant, least.mark, least.why)
    return tuple(together.values())


def _standard(counts: Mapping[str, int], column: Column) -> str:
    written = set(counts)
    name = {
        "feeding": "breastfeeding_status",
        "feeding_at_first_contact": "breastfeeding_status",
        "sex": "phenotypic_sex",
        "ethnic_group": "ethnic_category",
    }.get(column.name, "")
    return name if name and written <= set(STANDARDS[name]) and not written <= _INITIALS else ""


@functools.cache
def _lists(name: str) -> dict[str, tuple[str, str]]:
    """Tidy text -> layout code and mark. A code that is nothing recorded is "unknown" and one of nothing "nothing"."""
    marked: dict[str, tuple[str, str]] = {}
    lists = known()["codes"].get(name, {})
    for mark in (SURE, LIKELY):
        for meant, texts in lists.get(mark, {}).items():
            marked.update({tidy(text): (meant, mark) for text in texts})
    marked.update({tidy(text): ("unknown", SURE) for text in lists.get("unknown", ())})
    return marked


def _plain(text: str, count: int, counts: Mapping[str, int], column: Column, name: frozenset[str]) -> Code | None:
    words = tidy(text)
    lists = {**_lists("any"), **(_lists("yes_no") if column.kind == YES_NO else {})}
    lists.update(_lists(LISTS.get(column.name, column.name)))
    if column.kind == YES_NO and set(counts) <= {"0", "1"} and "parity" not in name:
        lists.update({"1": ("yes", LIKELY), "0": ("no", LIKELY)})
    if words in lists:
        meant, mark = lists[words]
        if meant == "nothing":
            return Code(text, count, "", mark, "")
        if meant == "unknown":
            return _unknown(text, count, column)
        if meant in column.values:  # two tables may have a column of one name with codes of their own
            return Code(text, count, meant, mark, "")
    as_code = re.sub(r"[\s-]+", "_", words)
    if as_code in column.values:
        return Code(text, count, as_code, SURE, "")
    return None


def _unknown(text: str, count: int, column: Column) -> Code | None:
    """A word for not known. Where the column has no such code, a person must say."""
    if "not_known" in column.values:
        return Code(text, count, "not_known", LIKELY, "")
    if "not_recorded" in column.values and any(sign.isalpha() for sign in text):  # “?” may be “not sure which”
        return Code(text, count, "not_recorded", SURE if tidy(text) == "not recorded" else LIKELY, "")
    return None
