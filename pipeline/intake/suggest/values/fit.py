"""Whether the values of a column fit a layout column, and how they would have to be read.

Comes in: a column's texts with their counts, and the layout column its name may mean. Goes out: the share that fits,
what the mapping must say about them, and what is to be asked. Refuses to weigh names: that is for look/trade_words.py.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from decimal import Decimal

from pipeline.contracts.layout import CODE, DATE, INTEGER, YES_NO, Column
from pipeline.intake.map.units.amounts import FORMS, amount
from pipeline.intake.suggest.look.trade_words import meaning
from pipeline.intake.suggest.values import code_meanings, date_styles, list_signs
from pipeline.intake.suggest.values.code_meanings import Code, CodeMeanings
from pipeline.intake.suggest.values.date_styles import DateStyles

Way = tuple[tuple[str, str | tuple[str, ...]], ...]  # keys and values of the line: (("date", ("%d/%m/%Y",)),)
_MOST_SITES = 30
NO_PLAIN_CODE = "no code of it is plain; say what each means"


@dataclass(frozen=True)
class Fit:
    """`ways`: one is how the column is read, more ask which. `asks` is a question that must be answered first."""

    share: float
    said: str
    ways: tuple[Way, ...] = ((),)
    sure: bool = True
    asks: str = ""
    codes: CodeMeanings | None = None
    dates: DateStyles | None = None


def fit_of(header: str, counts: Mapping[str, int], column: Column, in_cases: bool) -> Fit:
    """How the values fit; a column with nothing in it fits anything, and nothing is sure of it."""
    total = sum(counts.values())
    if not total:
        return Fit(1.0, "nothing is written in it", sure=False)
    if column.kind == DATE:
        return _fit_dates(counts, total)
    if column.kind == INTEGER:
        return _fit_numbers(header, counts, total, column)
    if column.kind in (CODE, YES_NO):
        return _fit_codes(header, counts, total, column)
    return _fit_text(counts, total, column, in_cases)


def _fit_dates(counts: Mapping[str, int], total: int) -> Fit:
    styles = date_styles.styles_of(counts)
    ways: tuple[Way, ...] = tuple((("date", forms),) if forms else () for forms in styles.ways)
    said = f"{styles.said}; {_of(total - styles.unread, total, 'dates')}"
    asks = ""
    if len(ways) > 1:
        asks = f"day first or month first? {styles.said} ({total})"
    elif styles.ways == (("serial",),):
        asks = f"are these days? {styles.said} ({total - styles.unread} of {total})"
    return Fit(styles.share, said, ways, styles.sure, asks, dates=styles)


def _of(fitting: int, total: int, what: str) -> str:
    return f"all {total} are {what}" if fitting == total else f"{fitting} of {total} are {what}"


def _number(text: str) -> Decimal | None:
    return Decimal(text) if re.fullmatch(r"-?\d{1,9}(?:\.\d{1,6})?", text, flags=re.ASCII) else None


def _share(counts: Mapping[str, int], total: int, column: Column, times: int) -> tuple[float, int]:
    """How many, multiplied, are whole and in range. As they are written where `times` is 0."""
    fitting = 0
    for text, count in counts.items():
        number = _number(text)
        if number is None or (times == 0 and "." in text):
            continue
        product = number * (times or 1)
        assert column.minimum is not None
        assert column.maximum is not None
        if product == product.to_integral_value() and column.minimum <= product <= column.maximum:
            fitting += count
    return fitting / total, fitting


def _fit_numbers(header: str, counts: Mapping[str, int], total: int, column: Column) -> Fit:
    commas = {text: count for text, count in counts.items() if re.fullmatch(r"\d{1,6},\d{1,6}", text, flags=re.ASCII)}
    if 2 * sum(commas.values()) > total and not any("." in text for text in counts):
        return _fit_commas(header, {text.replace(",", "."): count for text, count in counts.items()}, total, column)
    said_words = meaning(header)
    if (with_unit := _fit_amounts(counts, total, column)).share >= 0.5:
        return with_unit
    what = f"whole numbers from {column.minimum} to {column.maximum}"
    if column.name == "age_days":
        if said_words & {"week", "month"}:
            asks = "weeks or months are not completed days; the export needs the age in days"
            return Fit(_share(counts, total, column, 0)[0], "", asks=asks)
        # “Age (days)” is taken for the age at first contact; “Age at referral (days)” is another age.
        if not said_words & {"firstcontact", "day"} or said_words - {"age", "day", "firstcontact", "old", "session"}:
            share, fitting = _share(counts, total, column, 0)
            asks = "is this the age in completed days on the day of first contact?"
            return Fit(share, _of(fitting, total, what), asks=asks)
    if column.name == "gestation_weeks" and "day" in said_words:
        return Fit(0.0, "")
    if column.name in ("birth_weight_g", "weight_g"):
        kilograms, fitting = _share(counts, total, column, 1000)
        if kilograms >= 0.5 and "gram" not in said_words:
            return Fit(
                kilograms,
                _of(fitting, total, "kilograms"),
                ((("times", "1000"),),),
                sure="kilogram" in said_words,
            )
        if column.name == "birth_weight_g" and counts.get("9999"):
            rest = {text: count for text, count in counts.items() if text != "9999"}
            share = (_share(rest, total, column, 0)[1] + counts["9999"]) / total
            said = f"grams, and 9999 for not known {counts['9999']} times"
            return Fit(share, said, ((("codes", "birth_weight_not_known"),),))
    share, fitting = _share(counts, total, column, 0)
    if column.name == "deprivation_decile" and fitting and all((_number(text) or 0) <= 5 for text in counts):
        asks = f"are these fifths? nothing above 5 is written ({total}); tenths go to 10. Leave fifths out"
        return Fit(share, _of(fitting, total, what), asks=asks)
    with_points, fitting_with_points = _share(counts, total, column, 1)
    if with_points >= 0.5 and fitting_with_points > fitting:
        return Fit(with_points, _of(fitting_with_points, total, what), ((("times", "1"),),), sure=False)
    return Fit(share, _of(fitting, total, what))


def _fit_amounts(counts: Mapping[str, int], total: int, column: Column) -> Fit:
    """Ages, gestations and weights that say their unit; a column of bare numbers is none."""
    form = next((name for name, (columns, _) in FORMS.items() if column.name in columns), "")
    read = [text for text in counts if form and amount(form, text) is not None]
    if all(text.isdigit() for text in read):
        return Fit(0.0, "")
    fitting = sum(counts[text] for text in read)
    asks = ""
    if form == "age":
        asks = f"is this the age on the day of first contact? {_of(fitting, total, 'ages with their unit')}"
    said = _of(fitting, total, f"read as = {form}")
    return Fit(fitting / total, said, ((("as", form),),), fitting == total, asks)


def _fit_commas(header: str, counts: Mapping[str, int], total: int, column: Column) -> Fit:
    """Numbers with a comma, given with a point: decimals where not three digits stand behind each, else it asks."""
    fitting = _fit_numbers(header, counts, total, column)
    ways: tuple[Way, ...] = tuple((*way, ("decimal", ",")) for way in fitting.ways)
    said = f"{fitting.said}; decimals after a comma"
    if all(re.fullmatch(r"\d{1,3}(?:\.\d{3})?", text) for text in counts):
        asks = f"a comma before decimals, or between thousands? every one has three digits behind it ({total})"
        return replace(fitting, said=said, ways=(*ways, (("thousands", ","),)), sure=False, asks=asks)
    return replace(fitting, said=said, ways=ways)


def _fit_lists(header: str, counts: Mapping[str, int], signs: tuple[str, ...], column: Column) -> Fit:
    """Cells that are lists of codes, each part of which makes a row."""
    parts, hidden = list_signs.part_counts(counts, signs)
    codes = code_meanings.meanings_of(parts, column, meaning(header))
    if codes.as_they_are:
        own = tuple(Code(part, count, part, code_meanings.SURE, "") for part, count in parts.items())
        codes = CodeMeanings(1.0, own)
    codes = replace(codes, hidden=codes.hidden + hidden)
    plain = round(codes.share * sum(parts.values()))
    said = f"its cells are lists, and of their {sum(parts.values())} parts {plain} have a plain meaning"
    asks = "" if plain else NO_PLAIN_CODE
    return Fit(codes.share, said, ((("split", signs), ("codes", "?")),), sure=False, asks=asks, codes=codes)


def _fit_codes(header: str, counts: Mapping[str, int], total: int, column: Column) -> Fit:
    if column.kind == CODE and column.must and (signs := list_signs.list_signs(counts)):
        return _fit_lists(header, counts, signs, column)
    codes = code_meanings.meanings_of(counts, column, meaning(header))
    plain = round(codes.share * total)
    if codes.as_they_are:
        return Fit(1.0, "its codes are those of the layout", codes=codes)
    if codes.standard:
        # One and two may be anybody's codes; the standard shows itself by more than those.
        sure = codes.standard != "phenotypic_sex" or bool(set(counts) - {"1", "2"})
        return Fit(1.0, "its codes are those of the open standard", ((("codes", codes.standard),),), sure)
    if codes.too_many:
        return Fit(codes.share, f"{len(counts)} different texts", asks="it looks like free text, not a list of codes")
    asks = "" if plain else NO_PLAIN_CODE
    # Parity may be counted before or after this birth.
    sure = (
        meaning(header) != {"parity"}
        and all(code.mark == code_meanings.SURE for code in codes.codes)
        and not codes.hidden
    )
    said = f"{plain} of {total} have a plain meaning" if plain < total else f"all {total} have a plain meaning"
    return Fit(codes.share, said, ((("codes", "?"),),), sure, asks, codes)


def _fit_text(counts: Mapping[str, int], total: int, column: Column, in_cases: bool) -> Fit:
    longest = column.longest or 64
    share = sum(n for text, n in counts.items() if len(text) <= longest) / total
    if column.name == "case_ref":
        if in_cases:
            said = f"{len(counts)} different in {total}"
            return Fit(share * len(counts) / total, said, sure=len(counts) == total)
        return Fit(share, f"{len(counts)} different in {total}")
    if column.name == "site":
        few = len(counts) <= _MOST_SITES
        return Fit(share if few else 0.5, f"{len(counts)} different in {total}", sure=few)
    return Fit(share, f"{len(counts)} different in {total}")
