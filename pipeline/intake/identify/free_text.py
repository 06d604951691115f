"""Free text: sentences about someone, which may hold anything.

Comes in: the texts of a column. Goes out: where the texts are that are no codes or labels. Refuses to call labels free
text because they are long: a label is written again and again.
"""

from __future__ import annotations

import pyarrow.compute as pc

from pipeline.intake.identify.column_texts import LETTER, Texts

LONG_TEXT, A_FEW_WORDS = 12, 5  # words
ONE_OFF = 2  # written no more than so often
LONGEST = 300  # characters; longer is no code, words or none
_WORD = rf"\S*{LETTER}{LETTER}\S*"
_SAYS_NOTHING = frozenset(
    {
        "not known", "not recorded", "not stated", "not asked", "not applicable", "not done", "not seen", "no answer",
        "no reply", "no data", "none known", "see above", "yes please", "to follow", "to be confirmed",
        "nothing recorded", "nil recorded", "nothing to note",
    }
)  # fmt: skip


def _of_words(texts: Texts, number: int) -> list[int]:
    """Where the texts are of at least so many words."""
    if not texts.with_space:
        return []
    counted = pc.count_substring_regex(texts.array, _WORD)
    indices: list[int] = pc.indices_nonzero(pc.greater_equal(counted, number)).to_pylist()
    return indices


def free_texts(texts: Texts, *, is_code: bool) -> set[int]:
    """One text of 12 words or more; or many one-off texts of 5 or more. In a column of codes, a one-off of 12."""
    long = set(_of_words(texts, LONG_TEXT))
    if texts.longest > LONGEST:
        long.update(index for index, text in enumerate(texts.texts) if len(text) > LONGEST)
    if is_code:
        return {index for index in long if texts.times[index] <= ONE_OFF}
    one_off = {index for index in _of_words(texts, A_FEW_WORDS) if texts.times[index] <= ONE_OFF}
    many = len(one_off) >= 3 and 10 * len(one_off) >= len(texts.texts)
    return long | one_off if many else long


def wordy(texts: Texts) -> set[int]:
    """In a column called notes: texts of two words or more that are no labels written again and again."""
    return {
        index
        for index in _of_words(texts, 2)
        if texts.times[index] <= ONE_OFF and texts.texts[index].lower().strip(" .") not in _SAYS_NOTHING
    }
