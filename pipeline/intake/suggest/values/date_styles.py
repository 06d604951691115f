"""How the dates of a column are written, told from all of its values.

Comes in: the distinct texts of a column with their counts. Goes out: the formats, how many fit, and whether that is
sure. Refuses to decide between two readings that both fit: then it asks.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from pipeline.intake.map.translation import dates_of, without_time

_NUMERIC = re.compile(r"(\d{1,2})([/.\- ])(\d{1,2})\2(\d{4}|\d{2})")
_SERIAL = re.compile(r"(?:3|4|5)\d{4}(?:\.0+)?")
_WORDED = (
    *("%d %b %Y", "%d-%b-%Y", "%d/%b/%Y", "%d %B %Y", "%d-%B-%Y", "%d %b %y", "%d-%b-%y", "%d/%b/%y", "%d %B %y"),
    *("%b %d %Y", "%B %d %Y", "%b %d, %Y", "%B %d, %Y", "%a %d %b %Y", "%A %d %B %Y", "%Y/%m/%d", "%Y.%m.%d"),
)
ORDERS = DAY_FIRST, MONTH_FIRST = "day first", "month first"


@dataclass(frozen=True)
class DateStyles:
    """`share` of what is written is a date. `ways` are the formats: one way is decided, two ask which."""

    share: float
    ways: tuple[tuple[str, ...], ...] = ((),)
    sure: bool = True
    said: str = ""
    unread: int = 0
    orders: tuple[str, ...] = ()


def parsed(text: str, formats: tuple[str, ...]) -> date | None:
    """The day a text is, as translating reads it: nothing where the formats read it as two."""
    days = dates_of(text, formats)
    return days.pop() if len(days) == 1 else None


def styles_of(counts: Mapping[str, int]) -> DateStyles:
    """How the dates of a column are written."""
    total = sum(counts.values())
    iso = sum(n for text, n in counts.items() if parsed(text, ()))
    serial = sum(n for text, n in counts.items() if _SERIAL.fullmatch(text))
    if total and serial / total >= 0.5:
        said = "whole numbers as a spreadsheet keeps its days"
        return DateStyles(serial / total, (("serial",),), False, said, total - serial)
    worded, worded_count = _worded(counts)
    numeric = {text: parts for text in counts if (parts := _NUMERIC.fullmatch(without_time(text)))}
    families = sorted({_family(parts) for parts in numeric.values()}, key=lambda family: (-family[1], family))
    read = {
        order: {text for text, parts in numeric.items() if parsed(text, (_form(order, _family(parts)),))}
        for order in ORDERS
    }
    only = {order: sum(counts[text] for text in read[order] - read[_other(order)]) for order in ORDERS}
    readable = sum(counts[text] for text in read[DAY_FIRST] | read[MONTH_FIRST])
    share = (iso + worded_count + readable) / total if total else 0.0
    unread = total - iso - worded_count - readable
    if not readable:
        said = "ISO dates" if not worded else "dates with the month in letters"
        return DateStyles(share, (worded,), share >= 0.95, said, unread)
    forms = {order: (*(_form(order, family) for family in families), *worded) for order in read}
    orders = tuple(order for order in ORDERS if only[order])
    short = [parts for parts in numeric.values() if len(parts[4]) == 2]
    if len(short) > 5 and len({parts[1] for parts in short}) <= 3 and len({parts[4] for parts in short}) > 6:
        return DateStyles(share, tuple(forms.values()), False, "the year may stand first", unread, ())
    decided = next((order for order in orders if only[order] >= 0.9 * sum(only.values())), None)
    if decided is None:
        said = "some read day first only and some month first only" if orders else "every one reads both ways"
        return DateStyles(share, tuple(forms.values()), False, said, unread, orders)
    other = sum(only.values()) - only[decided]
    apart = {_family(numeric[text]) for text in read[decided] if text not in read[_other(decided)]}
    sure = not other and apart == set(families) and share >= 0.95
    said = f"{decided}: {only[decided]} cannot be read otherwise" + (
        f", {other} read only the other way" if other else ""
    )
    return DateStyles((share * total - other) / total, (forms[decided],), sure, said, unread + other, (decided,))


def _other(order: str) -> str:
    return MONTH_FIRST if order == DAY_FIRST else DAY_FIRST


def _family(parts: re.Match[str]) -> tuple[str, int]:
    """What stands between, how long the year is."""
    return parts[2], len(parts[4])


def _form(order: str, family: tuple[str, int]) -> str:
    between, year = family
    first, second = ("%d", "%m") if order == DAY_FIRST else ("%m", "%d")
    return f"{first}{between}{second}{between}{'%Y' if year == 4 else '%y'}"


def _worded(counts: Mapping[str, int]) -> tuple[tuple[str, ...], int]:
    """The fewest formats that read the texts with letters, those that read most first."""
    left = {
        text
        for text in counts
        if not parsed(text, ()) and not _NUMERIC.fullmatch(without_time(text)) and len(text) <= 48
    }
    chosen: list[str] = []
    read = 0
    while left:
        fits = {form: {text for text in left if parsed(text, (form,))} for form in _WORDED}
        best = max(_WORDED, key=lambda form: (sum(counts[text] for text in fits[form]), -_WORDED.index(form)))
        if not fits[best]:
            break
        chosen.append(best)
        read += sum(counts[text] for text in fits[best])
        left -= fits[best]
    return tuple(chosen), read
