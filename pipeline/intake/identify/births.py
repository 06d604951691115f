"""Dates of birth, by their values.

Comes in: the texts of every column; or a column of dates beside first contact and age. Goes out: which columns are
dates of birth. Refuses to be led by one mistyped year: the newest dates of each column are left out.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from datetime import date, timedelta

from pipeline.intake.identify.column_texts import Texts

YEARS = 10  # no date of a baby's care lies further back; the birth dates of their mothers do
_MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
_MONTH = rf"(?:{'|'.join(_MONTHS)})[a-z]*"
_TIME = r"(?:[ T,]+[0-9]{1,2}:[0-9]{2}.{0,20})?"
_SHAPES = (
    re.compile(rf"(?P<y>[12][0-9]{{3}})[-/.](?P<m>[0-9]{{1,2}})[-/.](?P<d>[0-9]{{1,2}}){_TIME}"),
    re.compile(rf"(?P<d>[0-9]{{1,2}})[-/. ](?P<m>[0-9]{{1,2}})[-/. ](?P<y>[12][0-9]{{3}}|[0-9]{{2}}){_TIME}"),
    re.compile(
        rf"(?i)(?:[a-z]{{3,9}},? )?(?P<d>[0-9]{{1,2}})(?:st|nd|rd|th)?[-/. ]*(?P<m>{_MONTH})[-/., ]*"
        rf"(?P<y>[12][0-9]{{3}}|[0-9]{{2}}){_TIME}"
    ),
    re.compile(rf"(?i)(?P<m>{_MONTH}) (?P<d>[0-9]{{1,2}})(?:st|nd|rd|th)?,? (?P<y>[12][0-9]{{3}}){_TIME}"),
    re.compile(r"(?P<y>19[0-9]{2}|20[0-9]{2})(?P<m>0[1-9]|1[0-2])(?P<d>0[1-9]|[12][0-9]|3[01])"),
)
_FIRST_LOOK = (
    rf"(?i)^[^\n]{{0,12}}[0-9]{{1,4}}(?:[-/. ]|st|nd|rd|th|{_MONTH}).{{2,40}}$|^[12][0-9]{{7}}$|^{_MONTH} [0-9]"
)
_SERIAL = r"^[1-5][0-9]{4}(?:\.[0-9]+)?$"  # a spreadsheet's day number, 1927 to 2064
_DAY_NOUGHT = date(1899, 12, 30)
_WRITTEN = (
    r"[0-9]{1,2}[-/. ][0-9]{1,2}[-/. ](?:[0-9]{4}|[0-9]{2})\b|[12][0-9]{3}-[0-9]{2}-[0-9]{2}|"
    rf"[0-9]{{1,2}}(?:st|nd|rd|th)?[-/. ](?:of )?{_MONTH}\b"
)
_SAID = rf"(?i)\b(?:d\.?o\.?b|date of birth|birth date|born)\b[^0-9]{{0,15}}(?:{_WRITTEN})"


def said_births(texts: Texts) -> set[int]:
    """Texts that say of a date that it is one of birth; one is enough."""
    return set(texts.matching(_SAID)) if texts.with_digits else set()


def dates_of(texts: Texts, *, serial: bool) -> dict[int, date]:
    """Where the texts are dates, and which. `serial`: whole numbers may be a spreadsheet's day numbers."""
    if not texts.with_digits:
        return {}
    dates = {index: day for index in texts.matching(_FIRST_LOOK) if (day := written_date(texts.texts[index]))}
    if serial:
        dates |= {index: _DAY_NOUGHT + timedelta(int(texts.texts[index][:5])) for index in texts.matching(_SERIAL)}
    return dates


def written_date(text: str) -> date | None:
    """The date a text is; day before month where both can be (here no more than the year matters)."""
    for shape in _SHAPES:
        if parts := shape.fullmatch(text):
            year, day = int(parts["y"]), int(parts["d"])
            month = int(parts["m"]) if parts["m"].isdigit() else _MONTHS.index(parts["m"][:3].lower()) + 1
            if year < 100:
                year += 2000 if year < 50 else 1900
            if month > 12:
                day, month = month, day
            try:
                return date(year, month, day)
            except ValueError:
                return None
    return None


def newest_date(columns: Sequence[tuple[Texts, Mapping[int, date]]]) -> date | None:
    """The newest date of the export, but for the newest fiftieth of each column; of a few dates, their middle one."""
    newest = None
    for texts, dates in columns:
        days = sorted((day, texts.times[index]) for index, day in dates.items())
        total = sum(times for _, times in days)
        rest: float = total * 98 // 100 if total >= 20 else total / 2
        for day, times in days:
            rest -= times
            if rest <= 0:
                newest = day if newest is None else max(newest, day)
                break
    return newest


def births(texts: Texts, dates: Mapping[int, date], newest: date | None) -> set[int]:
    """The dates more than YEARS before the newest, where most of the column's dates are, and dates its values."""
    if newest is None or 2 * texts.rows(dates) <= texts.total:
        return set()
    before = (newest.year - YEARS, newest.month, newest.day)
    old = {index for index, day in dates.items() if (day.year, day.month, day.day) < before}
    return old if 2 * texts.rows(old) > texts.rows(dates) else set()


def is_birth_date(
    first_contact: Sequence[date | None], age_days: Sequence[int | None], candidate: Sequence[date | None]
) -> bool:
    """Whether a column is the babies' birth date: first contact less the age, in most rows that hold all three.

    Rows of age 0 say nothing (there every date of first contact is the birth date), unless all rows are so.
    """
    known = [
        (contact, age, day)
        for contact, age, day in zip(first_contact, age_days, candidate, strict=True)
        if contact is not None and age is not None and day is not None
    ]
    telling = [row for row in known if row[1] > 0] or known
    same = sum(contact - timedelta(age) == day for contact, age, day in telling)
    return 2 * same > len(telling)
