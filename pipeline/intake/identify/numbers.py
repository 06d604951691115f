"""Numbers that name someone: NHS numbers and phone numbers; and e-mail addresses.

Comes in: the texts of a column. Goes out: where the texts are that hold one. Refuses to call a column of case
references NHS numbers or phone numbers because some of them happen to look so: bare digits are weighed.
"""

from __future__ import annotations

import re

import numpy as np
from scipy.special import bdtrc

from pipeline.intake.identify.column_texts import LETTER, Texts

# One random ten-digit string in eleven passes (one first-nine in eleven has no check digit at all, and then none does).
CHANCE_TO_PASS = 1 / 11
RARE = 0.001  # more passes than chance gives in one column of a thousand

_TEN_DIGITS = r"[0-9](?:[ -]?[0-9]){9}"
_PRINTED = re.compile(r"(?<![0-9])[0-9]{3}[ -][0-9]{3}[ -][0-9]{4}(?![0-9])")
_SAID = re.compile(r"(?i)nhs[^0-9]{0,20}([0-9]{10})(?![0-9])")
_BARE = re.compile(r"(?<![0-9.])[0-9]{10}(?![0-9])")
_GROUPED = re.compile(r"[0-9](?:[ -]?[0-9]){9}")
_DATE_FIRST = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}|[0-9]{2}[ -][0-9]{2}[ -][0-9]{4}")


def is_nhs_number(digits: str) -> bool:
    """Ten digits whose last is the modulus-11 check digit of the first nine (NHS Data Dictionary, NHS NUMBER).

    Not one digit ten times, and not from 00, where neither NHS numbers nor Scotland's (from 01) begin: those are case
    references padded with noughts.
    """
    if len(digits) != 10 or len(set(digits)) == 1 or digits.startswith("00"):
        return False
    return sum((10 - place) * int(digit) for place, digit in enumerate(digits)) % 11 == 0


def more_than_chance(passed: int, weighed: int) -> bool:
    """Whether more than half pass, or more than chance gives in one column of a thousand (exact binomial tail)."""
    return passed > 0 and (2 * passed > weighed or float(bdtrc(passed - 1, weighed, CHANCE_TO_PASS)) < RARE)


def nhs_numbers(texts: Texts) -> set[int]:
    """Those printed 3-3-4, or behind the letters NHS, always; bare ones where the column holds more than chance."""
    if texts.longest < 10 or not texts.with_digits:
        return set()
    bare = texts.matching(r"^[0-9]{10}$")
    alone: set[int] = set()
    passed = {index for index, valid in zip(bare, _valid([texts.texts[index] for index in bare]), strict=True) if valid}
    weighed = set(bare)
    for index in set(texts.matching(_TEN_DIGITS)).difference(bare):
        text = texts.texts[index]
        printed = [re.sub("[ -]", "", number) for number in _PRINTED.findall(text)]
        if any(is_nhs_number(digits) for digits in printed + _SAID.findall(text)):
            alone.add(index)
        numbers = _BARE.findall(text)
        if _GROUPED.fullmatch(text) and not _DATE_FIRST.match(text):
            numbers.append(re.sub("[ -]", "", text))
        if numbers:
            weighed.add(index)
            if any(is_nhs_number(digits) for digits in numbers):
                passed.add(index)
    return alone | passed if more_than_chance(len(passed), len(weighed)) else alone


def _valid(numbers: list[str]) -> list[bool]:
    """is_nhs_number, of many ten-digit texts at once."""
    digits = np.frombuffer("".join(numbers).encode("ascii"), dtype=np.uint8).reshape(-1, 10).astype(np.int64) - 48
    one_digit = (digits == digits[:, :1]).all(axis=1)
    padded = (digits[:, 0] == 0) & (digits[:, 1] == 0)
    valid: list[bool] = (((digits @ np.arange(10, 0, -1)) % 11 == 0) & ~one_digit & ~padded).tolist()
    return valid


_PHONE_FIRST_LOOK = r"(?:^|[^0-9])(?:\+|\(?0|44|7)[0-9 ()./-]{7,}[0-9]"
_ABROAD = re.compile(
    r"(?:\+44|(?<![0-9A-Za-z])0044)(?:[ ./()-]{0,2}[0-9]){9,11}(?![0-9A-Za-z])|"
    r"\+[1-9][0-9]{0,2}(?:[ ()-]{0,2}[0-9]){7,12}(?![0-9])"
)
# The first group is 020, 0117, 01234, 07700 or 016977: so a date (01-02-2026) is none. 07 may stand by itself.
_AT_HOME = re.compile(
    r"(?<![0-9A-Za-z])(?<![0-9A-Za-z]-)(?<![0-9][./])"
    r"(?:\(?0[12378][0-9]{1,4}\)?(?:[ ./()-]{0,2}[0-9]){5,9}|07(?: ?[0-9]){9})(?![0-9A-Za-z])"
)
_TEN_AT_HOME = re.compile(r"\(?01[0-9]{3}\)? ?[0-9]{5}")  # a few exchanges are a digit short; never as bare digits
_RUN = re.compile(r"(?<![0-9])(?:(?:0|44|0044)[1237][0-9]{9})(?![0-9])")
_NOUGHT_LOST = r"^7[1-57-9][0-9]{8}$"


def phone_numbers(texts: Texts) -> set[int]:
    """Those written as phone numbers are, always; bare digits where most long runs of digits in the column are so."""
    alone, bare = set[int](), set[int]()
    if texts.longest < 10 or not texts.with_digits:
        return alone
    for index in texts.matching(_PHONE_FIRST_LOOK):
        text = texts.texts[index]
        grouped = any(_is_grouped(number, text) for number in _ABROAD.findall(text))
        if grouped or any(_is_phone(number, text) for number in _AT_HOME.findall(text)):
            alone.add(index)
        elif _RUN.search(text):
            bare.add(index)
    if bare and 2 * len(bare) <= len(texts.matching(r"(?:^|[^0-9])[0-9]{11,14}(?:[^0-9]|$)")):
        bare = set()
    # A spreadsheet takes the nought off a mobile number: ten digits, nearly all from 71 to 79.
    lost = texts.matching(_NOUGHT_LOST)
    if len(lost) >= 3 and len(lost) > 0.8 * len(texts.matching(r"^[0-9]{10}$")):
        bare.update(lost)
    return alone | bare


def _is_phone(number: str, text: str) -> bool:
    """Eleven digits (or ten, written 01234 56789) in groups or in a sentence: not bare digits, which are weighed."""
    digits = sum(character.isdigit() for character in number)
    if digits == 11:
        return _is_grouped(number, text)
    return digits == 10 and digits < len(number) and _TEN_AT_HOME.fullmatch(number) is not None


def _is_grouped(number: str, text: str) -> bool:
    return not number.isdigit() or any(character.isspace() or character == ":" for character in text)


def email_addresses(texts: Texts) -> set[int]:
    """One is enough."""
    return set(texts.matching(rf"\S@[^\s@.]+\.[^\s@]*{LETTER}"))
