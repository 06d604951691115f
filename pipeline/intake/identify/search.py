"""The identifier screen itself: every kind looked for in every column, in its name and in its values.

Comes in: the columns of all sheets of an export. Goes out: the identifiers, ready to be printed. Refuses to print a
value, or a header that may be one: where a file begins without a line of column names, its first row is taken for it.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

from pipeline.contracts import layout
from pipeline.intake.identify import addresses, births, column_titles, free_text, numbers, people
from pipeline.intake.identify.column_texts import (
    ADDRESS,
    BIRTH_DATE,
    EMAIL,
    FREE_TEXT,
    KINDS,
    NAME,
    NHS_NUMBER,
    PHONE,
    POSTCODE,
    RECORD_NUMBER,
    Identifier,
    SheetColumn,
    Texts,
    texts_of,
    texts_of_each,
)

_PRACTITIONERS = frozenset({"practitioner", "operator"})
# A number, a date, or a code such as a pseudonym: no name of a column looks so.
_DATA = re.compile(r"[-+]?[0-9][0-9.,:/ -]*|(?=.*[0-9]{4})[A-Za-z]{0,4}[- ]?[0-9]{4,}[A-Za-z]{0,2}")
# Columns of which each new word is shown and confirmed (gate/new_words.py), and what is asked there, not refused: a
# site may be named after somebody or its road, and the code of a practitioner may look like a word or an area.
ASKED_ABOUT = frozenset({"site", "practitioner", "operator", "destination"})
_ASKED = {NAME: "a name of a person", ADDRESS: "an address", POSTCODE: "a postcode"}
_BORN = re.compile(r"\b(?:born|birth|d\.?o\.?b)\b", re.IGNORECASE)
_MARK = r"(?i)^(?:[0-9]{1,3}|[yn]|yes|no|true|false|not known|not_known|[?-])$"
_NEVER_MARKS = frozenset({NAME, POSTCODE, EMAIL, PHONE, ADDRESS})  # "Phone": y, n; "Baby": 1, 2
_RECORD_SHAPE = r"^[A-Za-z]{0,3}[- /]?[0-9]{6,10}[A-Za-z]?(?:\.0)?$"
_DAY_SHAPE = r"^(?:19|20)[0-9]{2}(?:0[1-9]|1[0-2])(?:0[1-9]|[12][0-9]|3[01])$"


def find(columns: Sequence[SheetColumn]) -> tuple[Identifier, ...]:
    """What looks like an identifier, by sheet and position in the order given: one Identifier a column and kind."""
    columns_texts = texts_of_each([column.counts for column in columns])
    dates = [
        births.dates_of(texts, serial=_kind(column) == layout.DATE or "date" in column_titles.words_of(column.header))
        for column, texts in zip(columns, columns_texts, strict=True)
    ]
    newest = births.newest_date(list(zip(columns_texts, dates, strict=True)))
    headers = list(dict.fromkeys(column.header for column in columns))
    kinds_of = dict(zip(headers, _kinds_of_each(headers), strict=True))
    in_header = [kinds_of[column.header] for column in columns]
    no_names = {column.sheet for column, kinds in zip(columns, in_header, strict=True) if kinds or _is_data(column)}
    cases = _distinct_cases(columns)
    identifiers = []
    for column, texts, its_dates, header_kinds in zip(columns, columns_texts, dates, in_header, strict=True):
        hits = _hits(column, texts, cases.get(column.sheet))
        if column.column in ASKED_ABOUT:
            hits = {kind: indices for kind, indices in hits.items() if kind not in _ASKED}
        hits[BIRTH_DATE] = births.said_births(texts) | births.births(texts, its_dates, newest)
        named = _named(column, texts)
        for kind in KINDS:
            words = _words(kind, texts, hits.get(kind, set()), in_name=kind in named, is_value=kind in header_kinds)
            if words:
                safe = column.sheet not in no_names and not _holds_a_value(column)
                header = column.header if safe else f"column {column.position}"
                identifiers.append(Identifier(column.sheet, column.position, safe, header, kind, words))
    return tuple(identifiers)


def kind_of_text(text: str) -> str | None:
    """The kind of identifier one text by itself looks like: for the names of sheets and files."""
    (kinds,) = _kinds_of_each([text])
    return next((kind for kind in KINDS if kind in kinds), None)


def kinds_of_texts(written: Sequence[str]) -> dict[str, str]:
    """Those of the distinct texts of a column that look like an identifier, with its kind. Where in doubt, they do."""
    texts = texts_of(dict.fromkeys(written, 1))
    born = {index for index, text in enumerate(texts.texts) if _BORN.search(text)}
    hits = {**_anywhere(texts), BIRTH_DATE: births.said_births(texts) | born}
    hits[NAME] |= people.written_as_names(texts)
    return {written[index]: kind for kind in reversed(KINDS) for index in hits.get(kind, ())}


def looks_like(word: str, *, is_practitioner: bool) -> str:
    """What a word looks like of all that is asked about, in words; nothing where it looks like none."""
    texts = texts_of({word: 1})
    hits = _anywhere(texts)
    if is_practitioner:
        hits[NAME] |= people.practitioner_names(texts)
    return " and ".join(words for kind, words in _ASKED.items() if hits[kind])


def _kinds_of_each(texts: Sequence[str]) -> list[set[str]]:
    """Of each text as a value by itself. A header may be a whole question, so its length says nothing."""
    return [
        {kind for kind, hits in {**_anywhere(alone), BIRTH_DATE: births.said_births(alone)}.items() if hits}
        for alone in texts_of_each([{text.strip(): 1} if text.strip() else {} for text in texts])
    ]


def _anywhere(texts: Texts) -> dict[str, set[int]]:
    """The kinds that need nothing but the texts."""
    return {
        NHS_NUMBER: numbers.nhs_numbers(texts),
        POSTCODE: addresses.postcodes(texts),
        EMAIL: numbers.email_addresses(texts),
        PHONE: numbers.phone_numbers(texts),
        NAME: people.names(texts),
        ADDRESS: addresses.addresses(texts),
    }


def _hits(column: SheetColumn, texts: Texts, cases: int | None) -> dict[str, set[int]]:
    hits = _anywhere(texts)
    # The layout's provider is a service, not a person.
    by_title = column.column != "provider" and column_titles.is_of_practitioners(column.header)
    if column.column in _PRACTITIONERS or by_title:
        hits[NAME] |= people.practitioner_names(texts)
    hits[FREE_TEXT] = free_text.free_texts(texts, is_code=_kind(column) in (layout.CODE, layout.YES_NO))
    if column.column is None and " ".join(column_titles.words_of(column.header)) not in column_titles.REFERENCES:
        hits[RECORD_NUMBER] = _record_numbers(texts, cases)
    return hits


def _record_numbers(texts: Texts, cases: int | None) -> set[int]:
    """Nearly all of one shape, up to 3 letters and 6 to 10 digits, and nearly one a row or one a case."""
    expected = min(texts.total, cases or texts.total)
    if len(texts.texts) < 2 or len(texts.texts) < 0.9 * expected:
        return set()
    shaped = set(texts.matching(_RECORD_SHAPE)).difference(texts.matching(_DAY_SHAPE))
    return shaped if texts.rows(shaped) >= 0.8 * texts.total else set()


def _named(column: SheetColumn, texts: Texts) -> set[str]:
    """The kinds the header names, less those that its values plainly are not."""
    kinds = column_titles.kinds_named(column.header)
    if kinds & _NEVER_MARKS and texts.texts and len(texts.matching(_MARK)) == len(texts.texts):
        kinds -= _NEVER_MARKS
    kind = _kind(column)
    coded = kind is not None and kind != layout.TEXT
    if FREE_TEXT in kinds and (coded or not free_text.wordy(texts)):
        kinds.discard(FREE_TEXT)
    return kinds


def _words(kind: str, texts: Texts, hits: set[int], *, in_name: bool, is_value: bool) -> str:
    """What was found, without any of it."""
    said = []
    if is_value:
        said.append(f"where the column's name should stand is something like a {kind}: is the line of names missing?")
    if in_name:
        said.append(f"the column's name says {kind}")
    if hits:
        said.append(f"{texts.rows(hits)} of {texts.total} values look like {_PLURAL.get(kind, kind + 's')}")
    return "; ".join(said)


_PLURAL = {BIRTH_DATE: "dates of birth", EMAIL: "e-mail addresses", ADDRESS: "addresses", FREE_TEXT: "free text"}


def _kind(column: SheetColumn) -> str | None:
    """The kind of layout column it is mapped to."""
    if column.table is None or column.column is None:
        return None
    return layout.table(column.table).column(column.column).kind


def _is_data(column: SheetColumn) -> bool:
    return _DATA.fullmatch(column.header.strip()) is not None or births.written_date(column.header.strip()) is not None


def _holds_a_value(column: SheetColumn) -> bool:
    """Whether the header is, or holds, one of the column's values: then it may be data itself."""
    header = column.header.casefold()
    return any(value.casefold() in header for value in column.counts if len(value) > 2 or value == column.header)


def _distinct_cases(columns: Sequence[SheetColumn]) -> Mapping[str, int]:
    """How many cases each sheet holds."""
    return {column.sheet: len(column.counts) for column in columns if column.column == "case_ref"}
