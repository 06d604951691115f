"""What a service writes in a column, put into the layout's own writing: codes, dates, and numbers times a factor.

Comes in: where a layout column comes from, and the distinct texts written there. Goes out: the layout text of each, or
why there is none. Refuses to guess: a code that the mapping does not list, a text that two formats read as two days, a
number that would have to be rounded.
"""

from __future__ import annotations

import itertools
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from decimal import Context, Decimal, Inexact

from pipeline.contracts.layout import DATE, INTEGER, TEXT, Column
from pipeline.intake.map.mapping import Origin
from pipeline.intake.map.units.amounts import FORMS, amount

SERIAL = "serial"
FIRST_YEAR, LAST_YEAR = 1900, 2999
_YEARS, _MONTHS, _DAYS = ("%Y", "%y"), ("%m", "%b", "%B"), ("%d",)
# The rest of a moment is read and left out. Not here: what depends on the machine (%x, %c, %Z), and the day of the year
# (%j), of which strptime lets a 366th day of a short year run into the next.
_REST = ("%a", "%A", "%H", "%I", "%M", "%S", "%f", "%p", "%z", "%%")
_OF_DIGITS = ("%Y", "%y", "%m", "%d", "%H", "%I", "%M", "%S")
_SERIAL_START = date(1899, 12, 30)
_FIRST_SURE_SERIAL = 61  # below, spreadsheets differ: some count a 29 February 1900, which never was
_EXAMPLE = datetime(2026, 7, 31, 10, 15, tzinfo=UTC)
_LONGEST_DATE = 60  # characters, with a weekday and a time of day; what is longer is words
_DIGIT = re.compile(r"\d")
_ISO = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
_TIME_OF_DAY = re.compile(
    r"(?:T|,? )(?:[01]?[0-9]|2[0-3]):[0-5][0-9](?::[0-5][0-9](?:\.[0-9]+)?)?(?: ?[AaPp][Mm])?"
    r"(?:Z|[+-][0-9]{2}:?[0-9]{2})?$"
)
_ORDINAL = re.compile(r"\b([0-9]{1,2})(?:st|nd|rd|th)\b(?: of\b)?", re.IGNORECASE)
_NUMBER = re.compile(r"-?(?:[0-9]+(?:\.[0-9]+)?|\.[0-9]+)")
_EXACT = Context(prec=60, traps=[Inexact])
_MOST_DIGITS = 18


@dataclass(frozen=True)
class Translated:
    """Every text that was given stands in one of the two, as it was given."""

    texts: dict[str, str]  # text -> layout text; "" for nothing recorded
    refused: dict[str, str]  # text -> what is allowed instead


def parted(written: str, signs: Iterable[str]) -> list[str]:
    """The parts of a cell, without the white space around them and none that is empty; all of it without signs."""
    parts = [written]
    for sign in signs:
        parts = [part for longer in parts for part in longer.split(sign)]
    return [part.strip() for part in parts if part.strip()]


def needs_translation(origin: Origin, column: Column) -> bool:
    """Whether a text may become another one. A prefix is no translation: it is put before any text."""
    return (
        column.kind == DATE
        or origin.codes is not None
        or bool(origin.nothing)
        or _is_read_as_number(origin)
        or bool(origin.form)
    )


def translate(origin: Origin, column: Column, texts: Iterable[str]) -> Translated:
    """Translate each text. White space around it never counts, and what is blank is nothing recorded."""
    translated: dict[str, str] = {}
    refused: dict[str, str] = {}
    for text in texts:
        written = text.strip()
        if not written or says_nothing(origin, written):
            translated[text] = ""
        elif column.kind == DATE:
            days = dates_of(written, origin.dates)
            if len(days) == 1:
                translated[text] = next(iter(days)).isoformat()
            else:
                refused[text] = _allowed_dates(origin.dates, ambiguous=len(days) > 1)
        else:
            meant = (_any_part if origin.any_of else _coded_or_number)(origin, column, written)
            if meant is None:
                refused[text] = _allowed_texts(origin)
            else:
                translated[text] = meant
    return Translated(translated, refused)


def says_nothing(origin: Origin, written: str) -> bool:
    """Whether the mapping says of all columns that the text is nothing, and no code of this one gives it a meaning."""
    return folded(written) in origin.nothing and written not in (origin.codes or ())


def folded(text: str) -> str:
    """A text without what case and blanks alone make different."""
    return " ".join(text.split()).casefold()


def _any_part(origin: Origin, column: Column, written: str) -> str | None:
    """What a list says: yes if any part of it does, else no, else that it is not known; None where one is no code."""
    parts = [part for part in parted(written, origin.any_of) if not says_nothing(origin, part)]
    meant = [_coded_or_number(origin, column, part) for part in parts]
    return None if None in meant else next((says for says in ("yes", "no", "not_known") if says in meant), "")


def _coded_or_number(origin: Origin, column: Column, written: str) -> str | None:
    """The layout text, or None. In a column of numbers or texts codes are exceptions; what they do not list stays."""
    if origin.codes is not None and written in origin.codes:
        return origin.codes[written]
    if origin.codes is not None and column.kind not in (INTEGER, TEXT):
        return None
    if origin.form:
        number = amount(origin.form, _with_point(written, origin))
        return None if number is None else str(number)
    return _product(written, origin) if _is_read_as_number(origin) else written


def _with_point(written: str, origin: Origin) -> str:
    """An amount with the marks of its sheet, with the point that amounts are read with."""
    if origin.thousands:
        written = re.sub(rf"(?<=[0-9]){re.escape(origin.thousands)}(?=[0-9]{{3}}(?![0-9]))", "", written)
    return (
        re.sub(r"(?<=[0-9])[.,](?=[0-9])", lambda mark: {",": "."}.get(mark[0], "?"), written)
        if origin.decimal == ","
        else written
    )


def _is_read_as_number(origin: Origin) -> bool:
    return origin.times is not None or origin.decimal == "," or bool(origin.thousands)


def _product(written: str, origin: Origin) -> str | None:
    """The number times the factor, if that is whole. Marks stand where the column says, or it is no number."""
    whole, mark, decimals = written.partition(origin.decimal or ".")
    if origin.thousands and origin.thousands in whole:
        if not re.fullmatch(rf"-?[0-9]{{1,3}}(?:{re.escape(origin.thousands)}[0-9]{{3}})+", whole):
            return None
        whole = whole.replace(origin.thousands, "")
    if "." in whole + decimals or not _NUMBER.fullmatch(number := whole + ("." if mark else "") + decimals):
        return None
    try:
        product = _EXACT.multiply(Decimal(number), Decimal(1) if origin.times is None else origin.times)
    except Inexact:
        return None
    if product.adjusted() >= _MOST_DIGITS or product != product.to_integral_value():
        return None
    return str(int(product))


def dates_of(written: str, formats: Iterable[str]) -> set[date]:
    """The days that a text can mean: by each of the formats, and always by ISO 8601; its time of day is left out."""
    if len(written) > _LONGEST_DATE or not _DIGIT.search(written):
        return set()  # words, of which there may be a hundred megabytes
    day = without_time(written)
    ways = dict.fromkeys((written, day, _ORDINAL.sub(r"\1", written), _ORDINAL.sub(r"\1", day)))
    days = [_iso_day(day)]
    days += [_serial_day(way) if form == SERIAL else _format_day(way, form) for form in formats for way in ways]
    return {day for day in days if day is not None and FIRST_YEAR <= day.year <= LAST_YEAR}


def without_time(written: str) -> str:
    """A date without the time of day behind it, if one is."""
    return _TIME_OF_DAY.sub("", written)


def _iso_day(written: str) -> date | None:
    try:
        return date.fromisoformat(written) if _ISO.fullmatch(written) else None
    except ValueError:
        return None  # 30 February


def _serial_day(written: str) -> date | None:
    # Six digits reach the year 2999 and more; a longer number is no day, nor is one with noughts before it.
    if not re.fullmatch(r"[1-9][0-9]{0,5}(?:\.0+)?", written):
        return None
    days = int(written.partition(".")[0])
    return _SERIAL_START + timedelta(days) if days >= _FIRST_SURE_SERIAL else None


def _format_day(written: str, form: str) -> date | None:
    try:
        moment = datetime.strptime(written, form)
        # strptime reads the name of the weekday and does not look whether the day has it.
        weekdays = "".join(moment.strftime(token) if token in ("%a", "%A") else token for token in _tokens(form))
        datetime.strptime(written, weekdays)
    except ValueError:
        return None
    # With nothing between the numbers, a nought left out would move the others: 1072026 is not 10 July 2026.
    whole = all(moment.strftime(run) in written for run in _runs_of_digits(form))
    return moment.date() if whole else None


def _tokens(form: str) -> list[str]:
    return re.findall(r"%.|[^%]|%$", form, re.DOTALL)


def _runs_of_digits(form: str) -> Iterator[str]:
    """Parts of a format in which numbers follow each other with nothing between them."""
    for are_digits, run in itertools.groupby(_tokens(form), lambda token: token in _OF_DIGITS):
        together = list(run)
        if are_digits and len(together) > 1:
            yield "".join(together)


def format_fault(form: str) -> str:
    """What is wrong with a format of dates, in words; "" where it determines a whole day."""
    if form == SERIAL:
        return ""
    tokens = [token for token in _tokens(form) if token.startswith("%")]
    unknown = [token for token in tokens if token not in _YEARS + _MONTHS + _DAYS + _REST]
    if unknown:
        return f"{', '.join(unknown)} has no meaning here"
    faults = []
    for what, ways in (("year", _YEARS), ("month", _MONTHS), ("day", _DAYS)):
        times = sum(token in ways for token in tokens)
        if times != 1:
            faults.append(f"{'no' if times == 0 else 'more than one'} {what} ({' or '.join(ways)})")
    if any(tokens.count(part) > 1 for part in _REST[:-1]):
        faults.append("a part of it stands twice")
    return ", ".join(faults)


def _allowed_dates(formats: Iterable[str], ambiguous: bool) -> str:
    ways = []
    for form in formats:
        if form == SERIAL:
            number = (_EXAMPLE.date() - _SERIAL_START).days
            ways.append(f"a day number like {number} (serial, from {_FIRST_SURE_SERIAL})")
        else:
            ways.append(f"a date like {_EXAMPLE.strftime(form)} ({form})")
    words = " or ".join([*ways, f"a date like {_EXAMPLE.date()}"])
    if ambiguous:
        return f"{words}, and one day only: this can be read as two"
    return f"{words}, of the years {FIRST_YEAR} to {LAST_YEAR}"


def _allowed_texts(origin: Origin) -> str:
    code = "parts that are codes" if origin.any_of else "a code"
    ways = [] if origin.codes is None else [f"{code} of the mapping: {', '.join(origin.codes)}"]
    if origin.form:
        ways.append(f"written like {FORMS[origin.form][1]}")
    elif _is_read_as_number(origin):
        what = "a whole number" if origin.times is None else f"a number that times {origin.times:f} is whole"
        marks = f"thousands parted by {origin.thousands}" if origin.thousands else "no mark for thousands"
        ways.append(f"{what}, decimals after a {'comma' if origin.decimal == ',' else 'point'}, {marks}")
    return "; or ".join(ways)
