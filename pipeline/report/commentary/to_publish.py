"""The actions of a plan that the lead marked for publication, and what keeps one from being published.

Comes in: a commentary. Goes out: the marked actions as plain text. Refuses, with the line, an action that holds a
number other than a year: a figure that is not released could stand there. A day may stand under By when and Done only.

It sees numbers in digits and in words. It cannot see a figure in words like most or hardly any: the lead must.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from pipeline.errors import Fault, Refused
from pipeline.privacy.release.public_frame import PublicAction
from pipeline.report.commentary import markdown, plan
from pipeline.report.commentary.plan import Action, folded

_MONTH = r"(?:jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec)[a-z]*"
_YEAR = r"\b(?:19|20)\d\d(?:[/-]\d\d(?![\d-])|Q[1-4])?\b"
_DAY = rf"\b\d{{4}}-\d\d-\d\d\b|\b\d\d?[/.]\d\d?[/.]\d{{2,4}}\b|\b\d\d?(?:st|nd|rd|th)?\s+(?={_MONTH}\b)"
# The name of a check and of a quarter, and somebody: no counts.
_NAMES = r"\b(?:six|6)[\s-]weeks?\b|\bsix to eight weeks\b|\bQ[1-4]\b|\bno one\b|\bone[\s-]to[\s-]one\b|\bone another\b"
_UNITS = "one|two|three|four|five|six|seven|eight|nine|ten|eleven|twelve|hundreds?|thousands?|zero|nought|dozens?"
_TENS = "(?:thir|four|fif|six|seven|eigh|nine)teen|(?:twen|thir|for|fif|six|seven|eigh|nine)ty"
_PARTS = "half|halves|halved|twice|thrice|doubled?|tripled?|couple|per ?cent|(?:third|quarter|fifth|tenth)s? of"
_NUMBER = re.compile(rf"\d[\d.,]*\s?%?|%|\b(?:{_UNITS}|{_TENS}|{_PARTS})\b", re.IGNORECASE)


def actions(commentary: str, where: str) -> tuple[PublicAction, ...]:
    """The marked actions, in their order; `where` is what a fault calls the file. Raises Refused with every fault."""
    marked = [action for action in plan.read(markdown.read(commentary), where).actions if action.marked]
    faults = [
        Fault(
            f"{where}, line {action.line}",
            f"an action to publish holds “{number}” under {column}, and a figure that is not released could stand so",
            "words, months and years; a day under By when and Done",
            "say it without the number, or write no under Publish",
        )
        for action in marked
        for column, number in numbers(action)
    ]
    if faults:
        raise Refused(faults)
    return tuple(PublicAction(*(text for _, text, _ in _texts(action))) for action in marked)


def numbers(action: Action) -> Iterator[tuple[str, str]]:
    """Each column with a number, and the first of its numbers."""
    for column, text, days in _texts(action):
        if number := first_number(text, *([_DAY] if days else [])):
            yield column, number


def first_number(text: str, *no_counts: str) -> str:
    """The first number of a text, in digits or in words, that is no year, no name of a check and none of `no_counts`.

    Those are patterns of what may stand there besides; empty where there is no number.
    """
    left = text
    for pattern in (*no_counts, _YEAR, _NAMES):
        left = re.sub(pattern, " ", left, flags=re.IGNORECASE)
    numeric = next((sign for sign in left if sign.isnumeric()), "")
    number = _NUMBER.search(left)
    return number[0].strip(" .,") if number else numeric


def _texts(action: Action) -> Iterator[tuple[str, str, bool]]:
    """Column, text as a page shows it, and whether a day may stand there; in the order of PublicAction."""
    cells = (action.finding, action.action, action.owner, action.by_when, action.done)
    for column, cell in zip(plan.COLUMNS, cells, strict=True):
        yield column, folded(cell.shown.striptags()), column in ("By when", "Done")
