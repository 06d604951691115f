"""Names of people, by their values.

Comes in: the texts of a column. Goes out: where the texts are that name someone. Refuses to call sites, codes and
ordinary words names: a name is known by the lists of forenames and surnames beside this file, or by its title.
"""

from __future__ import annotations

import functools
import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from pipeline.intake.identify.column_texts import LETTER, Texts, word_list

_HERE = Path(__file__).parent
_WORD = re.compile(r"[^\W\d_]+(?:['-][^\W\d_]+)*")
# A word of three letters or more, or two words of two: not the prefix of a reference (RB-0001).
_HAS_WORD = rf"(?:^|[^A-Za-z0-9]){LETTER}{LETTER}(?:{LETTER}+|[^A-Za-z0-9]+{LETTER}{LETTER}+)(?:[^A-Za-z0-9]|$)"
_ONE_WORD = rf"^{LETTER}{LETTER}+\.?$"
_UPPER_FIRST = re.compile(r"[A-Z][A-Z'-]+, ?[A-Z][a-z'-]+")  # JONES, Emma
_TWO_IN_ONE = re.compile(r"[A-Z][a-z]{2,}[A-Z][a-z]{2,}")
_LOOKED_AT = 2000  # characters; a longer text is found as free text
_A_NAME = 4  # words; more are a sentence
_FAMILY = word_list("mum mummy mother dad daddy father partner husband wife nan gran baby")
_TITLES = word_list("mr mrs miss ms mx dr prof professor mstr")
_BEFORE = word_list(
    "mum mums mother mummy dad father baby babies twin named called sister nurse midwife doctor infant to with by from "
    "told rang phoned saw"
)
_BETWEEN = word_list("girl boy of is called named one two")
_SAINTS = word_list("st saint our queen king royal prince princess lady")
# Behind a name in small letters, or behind a forename that is an ordinary word, these are places: Rose Hill.
_PLACES = word_list(
    "hill park ward hall lane mill mills wood woods cross church field green brook marsh heath banks bridge bank ford "
    "moss street well wells stone west north holt"
)
_AFTER_HOUSES = word_list(
    "hospital clinic centre center house ward unit wing building university infirmary school hub team suite surgery"
)

_SITES = word_list("hospital clinic clinics centre center ward infirmary hub school university")


@dataclass(frozen=True)
class _Names:
    forenames: frozenset[str]  # plain names
    any_forename: frozenset[str]  # with those that are ordinary words too
    surnames: frozenset[str]
    either: frozenset[str]  # plain forenames and surnames
    openings: frozenset[str]  # one of these stands wherever someone is named in a sentence
    any_surname: frozenset[str]
    ordinary: frozenset[str]


@functools.cache
def _names() -> _Names:
    forenames, surnames = _words("forenames.txt"), _words("surnames.txt")
    doubtful_forenames = {word.rstrip("?") for word in forenames if word.endswith("?")}
    doubtful_surnames = {word.rstrip("?") for word in surnames if word.endswith("?")}
    any_forename = {word.rstrip("?") for word in forenames}
    any_surname = {word.rstrip("?") for word in surnames}
    plain_forenames = frozenset(any_forename - doubtful_forenames)
    plain_surnames = frozenset(any_surname - doubtful_surnames - doubtful_forenames)
    return _Names(
        forenames=plain_forenames,
        any_forename=frozenset(any_forename),
        surnames=plain_surnames,
        either=plain_forenames | plain_surnames,
        openings=plain_forenames | _TITLES | _BEFORE | _FAMILY,
        any_surname=frozenset(any_surname),
        ordinary=_words("ordinary_words.txt"),
    )


def _words(file: str) -> frozenset[str]:
    lines = (_HERE / file).read_text(encoding="utf-8").splitlines()
    return frozenset(word for line in lines if not line.startswith("#") for word in line.split())


def names(texts: Texts) -> set[int]:
    """Where someone is named."""
    one_word = texts.matching(_ONE_WORD)
    several = set(texts.matching(_HAS_WORD)).difference(one_word)
    return _single_names(texts, one_word) | {
        index for index in several if _names_someone(texts.texts[index][:_LOOKED_AT])
    }


def _single_names(texts: Texts, one_word: Sequence[int]) -> set[int]:
    """Emma is a name by itself. Codes of letters can spell one by chance (IAN): in one case, they are weighed."""
    known = _names()
    spelled = [index for index in one_word if texts.texts[index].lower().rstrip(".") in known.either]
    titled = {index for index in spelled if texts.texts[index][:1].isupper() and texts.texts[index][1:2].islower()}
    rest = set(spelled) - titled
    short = {index for index in rest if len(texts.texts[index]) <= 4}
    # Of random codes of three letters one in six hundred is a name; of five, one in ten thousand.
    if 20 * len(short) <= len(one_word):
        rest -= short
    if 1000 * len(rest - short) <= len(one_word):
        rest &= short
    return titled | rest


def _names_someone(text: str) -> bool:
    written = _WORD.findall(text)
    words = [word.lower().removesuffix("'s").rstrip("'") for word in written]
    if len(words) < 2:
        return _one_among_marks(text, words)
    if len(words) > _A_NAME and "-" not in text and _names().openings.isdisjoint(words):
        return False  # what follows cannot say anything else, and takes its time over sentences
    if any(
        _titled(written, words, at) or _is_someone(words, at) or _of_family(written, at) for at in range(len(words) - 1)
    ):
        return True
    if any(_pair(written, words, at) for at in range(len(words) - 1)):
        return True
    return len(words) <= _A_NAME and not any(character.isdigit() for character in text) and _whole(text, written, words)


def _one_among_marks(text: str, words: Sequence[str]) -> bool:
    """One word among marks and digits ("Emma (2)", "1. Emma"): the word must stand by itself."""
    known = _names()
    if not words or len(words[0]) < 3 or not _in(words[0], known.either):
        return False
    alone = re.fullmatch(r"[\d\W_]*?(?:[\W_]|^)[^\W\d_]+(?:['-][^\W\d_]+)?(?:[\W_][\d\W_]*)?", text)
    return alone is not None


def _titled(written: Sequence[str], words: Sequence[str], at: int) -> bool:
    """Mrs Jones, Dr A Smith."""
    if words[at] not in _TITLES:
        return False
    behind = next((place for place in range(at + 1, min(at + 4, len(words))) if len(words[place]) > 1), None)
    if behind is None:
        return False
    known = _names()
    if words[behind] in known.either:
        return True
    capital = written[behind][0].isupper() and written[at][0].isupper()
    return capital and (words[behind] not in known.ordinary or words[behind] in known.any_surname)


def _is_someone(words: Sequence[str], at: int) -> bool:
    """Mum Emma, Baby of Jones, Baby Girl Smith, Nurse Jones, spoke to Sarah."""
    if words[at] not in _BEFORE or any(word in _AFTER_HOUSES for word in words[at + 1 : at + 5]):
        return False
    behind = next((word for word in words[at + 1 : at + 4] if word not in _BETWEEN), "")
    return behind in _names().forenames or behind in _names().surnames


def _of_family(written: Sequence[str], at: int) -> bool:
    """Mum and two words written as names are, though no list has them: "moved, mum Xanthia Vaskor"."""
    if written[at].lower() not in _FAMILY or len(written) < at + 3:
        return False
    ordinary = _names().ordinary
    return all(
        len(word) > 2 and word[0].isupper() and word[1:].islower() and word.lower() not in ordinary
        for word in written[at + 1 : at + 3]
    )


def _pair(written: Sequence[str], words: Sequence[str], at: int) -> bool:
    """A forename and a surname side by side, wherever in the text."""
    known, (first, last) = _names(), words[at : at + 2]
    if (at and words[at - 1] in _SAINTS) or (at + 2 < len(words) and words[at + 2] in _AFTER_HOUSES):
        return False
    if _in(first, known.forenames) and _in(last, known.surnames):
        return True
    if first in known.surnames and last in known.forenames:  # Jones Emma
        return True
    capital = written[at][0].isupper() and written[at + 1][0].isupper()
    return capital and _in(first, known.forenames) and _in(last, known.any_surname) and last not in known.ordinary


def _whole(text: str, written: Sequence[str], words: Sequence[str]) -> bool:
    """Two to four words that are a name and nothing else."""
    known = _names()
    if _SAINTS & set(words[:-1]) or any(word in known.ordinary and word not in known.any_surname for word in words):
        return False
    if any(word in _PLACES and as_written.islower() for word, as_written in zip(words, written, strict=True)):
        return False
    if _UPPER_FIRST.fullmatch(text):
        return True
    if "," in text:
        before = len(_WORD.findall(text.split(",")[0]))
        words, written = [*words[before:], *words[:before]], [*written[before:], *written[:before]]
        if words[0] in known.any_forename and words[-1] in known.any_surname:
            return True
    first, last = words[0], words[-1]
    if last in known.ordinary and last not in known.any_surname:
        return False
    if _in(first, known.forenames) and len(first) > 2:
        return True
    if _in(last, known.surnames) and written[0][0].isupper():
        return True
    if _in(first, known.surnames) and len(last) <= 2 and written[-1].isupper():
        return True
    return first in known.any_forename and _in(last, known.any_surname) and last not in _PLACES


def _in(word: str, listed: frozenset[str]) -> bool:
    """The word, or a part of a double one (Smith-Jones), is listed."""
    return word in listed or ("-" in word and any(part in listed for part in word.split("-")))


def written_as_names(texts: Texts) -> set[int]:
    """Two to four words written as names are, though no list has them, or one that is two (EmmaJones).

    For where little is lost if they are none.
    """
    return {index for index in texts.matching(LETTER + LETTER) if _as_a_name(texts.texts[index][:_LOOKED_AT])}


def _as_a_name(text: str) -> bool:
    words = _WORD.findall(text)
    if _TWO_IN_ONE.fullmatch(text) or any(word.lower() == word.upper() for word in words):  # a script without capitals
        return True
    one = [word for word in words if len(word) > 1 and word[0].isupper() and word.lower() not in _names().ordinary]
    return 2 <= len(words) <= _A_NAME and len(one) == len(words)


def practitioner_names(texts: Texts) -> set[int]:
    """In a column of practitioners everything that looks like a name: only codes may stand there."""
    return {index for index in texts.matching(LETTER + LETTER) if _no_code(texts.texts[index][:_LOOKED_AT])}


def _no_code(text: str) -> bool:
    known = _names()
    listed = known.any_forename | known.any_surname
    written = re.findall(r"[^\W\d_]+(?:'[^\W\d_]+)?", text)
    # "Moorend clinic": a word that no list has, before one for a site, names the site.
    is_plain = any(character.isdigit() for character in text) or bool(_SITES.intersection(map(str.lower, written[-1:])))
    for word in written:
        lower = word.lower()
        if lower in known.ordinary or len(word) < 3:
            continue
        if lower in listed or any(len(lower) > 5 and lower[cut:] in known.surnames for cut in (1, 2)):
            return True
        if not is_plain and (len(word) >= 4 or (word[0].isupper() and word[1].islower())):
            return True
    return False
