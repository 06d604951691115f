"""Where one layout column comes from, as a mapping file writes it, in; an Origin out.

Comes in: the value behind the column's name. Notes as faults what the layout column cannot take: codes, dates, factors
and prefixes on columns of another kind, codes and constants it does not allow, date formats that leave the day open.
"""

from __future__ import annotations

import re
from collections.abc import Mapping as Map
from collections.abc import Sequence
from datetime import date
from typing import Any

from pipeline.contracts.layout import CODE, DATE, INTEGER, TEXT, YES_NO, Column
from pipeline.errors import nearest
from pipeline.intake.map.cell_lists import read_split
from pipeline.intake.map.mapping import Origin, Place
from pipeline.intake.map.mapping_text import UNDECIDED, Lists, Written, column_names, is_text, shown
from pipeline.intake.map.shapes.number_settings import read_form, read_marks, read_times, read_unit
from pipeline.intake.map.standard_codes import STANDARDS
from pipeline.intake.map.translation import SERIAL, format_fault

_SOURCES = ("column", "constant", "sheet_name", "days_old")
_TRANSLATIONS = ("split", "codes", "date", "times", "decimal", "thousands", "as", "unit", "prefix")
_OLDEST_DAYS = 364
_KINDS = {
    "codes": (CODE, YES_NO, INTEGER, TEXT),
    "date": (DATE,),
    "times": (INTEGER,),
    "decimal": (INTEGER,),
    "thousands": (INTEGER,),
    "as": (INTEGER,),
    "unit": (INTEGER,),
    "prefix": (TEXT,),
    "sheet_name": (TEXT,),
    "days_old": (DATE,),
}
_KIND_WORDS = {CODE: "codes", YES_NO: "yes or no", INTEGER: "whole numbers", DATE: "dates", TEXT: "texts"}


def read_origin(file: Written, place: Place, column: Column, written: Any, lists: Lists) -> Origin | None:
    """The origin, or None where nothing says what it is; its faults are noted in the file."""
    if _is_undecided(written):
        named = written.get("codes") if isinstance(written, dict) else None
        lists.used.update({named} if isinstance(named, str) else ())
        allowed = (
            f'the name of a column of the sheet, or {{ constant = "..." }} for the same in every row: {column.allowed}'
        )
        file.undecided(place, column.name, allowed)
        return None
    if is_text(written):
        written = {"column": written}
    if not isinstance(written, dict):
        allowed = f'{column.name} = "a column", or {column.name} = {{ column = "a column", ... }}'
        file.fault(place, f"{column.name} = {shown(written)}", allowed, "name the column of the sheet")
        return None
    lists.count_as_used({column.name: written})
    file.know(place, written, _SOURCES + _TRANSLATIONS, column.name)
    given = [source for source in _SOURCES if source in written]
    if len(given) != 1:
        found = f"{column.name} has {' and '.join(given) or 'none of ' + ', '.join(_SOURCES)}"
        file.fault(
            place, found, "exactly one of column, constant, sheet_name and days_old", "say where it comes from, once"
        )
        return None
    translations = [way for way in _TRANSLATIONS if way in written]
    if "column" not in written and set(translations) - ({"codes"} if "sheet_name" in written else set()):
        found = f"{column.name} has {given[0]} and {', '.join(translations)}"
        file.fault(place, found, f"{', '.join(translations)} beside column only", "remove the one or the other")
    unfit = [way for way in (*translations, *given) if column.kind not in _KINDS.get(way, (column.kind,))]
    for way in unfit:
        of = " or ".join(_KIND_WORDS[kind] for kind in _KINDS[way])
        found = f"{column.name} holds {_KIND_WORDS[column.kind]} and has {way}"
        cause = f"{way} on {column.kind}: {shown(written[way])}"
        file.fault((*place, way), found, f"{way} on a column of {of}", f"remove {way}", cause)
    takes = {key: written[key] for key in written if key not in unfit}
    codes = _codes(file, place, column, takes["codes"], lists) if "codes" in takes else None
    return Origin(
        **(_column(file, place, column, takes["column"]) if "column" in takes else {}),
        constant=_constant(file, place, column, takes["constant"]) if "constant" in takes else None,
        sheet_name=_sheet_name(file, place, column, takes["sheet_name"]) if "sheet_name" in takes else False,
        days_old=_days_old(file, place, column, takes["days_old"]) if "days_old" in takes else None,
        **(read_split(file, place, column, takes["split"], codes) if "split" in takes else {}),
        codes=codes,
        dates=_dates(file, place, column, takes["date"]) if "date" in takes else (),
        times=read_times(file, place, column, takes["times"]) if "times" in takes else None,
        form=read_form(file, place, column, takes) if "as" in takes else "",
        unit=read_unit(file, place, column, takes) if "unit" in takes else "",
        **read_marks(file, place, column.name, takes),
        prefix=_prefix(file, place, column, takes["prefix"]) if "prefix" in takes else "",
        nothing=lists.nothing,
    )


def _is_undecided(written: Any) -> bool:
    if isinstance(written, dict):
        return any(UNDECIDED in (value if isinstance(value, list) else [value]) for value in written.values())
    return bool(written == UNDECIDED)


def _column(file: Written, place: Place, column: Column, written: Any) -> dict[str, Any]:
    if names := column_names(written):
        return {"column": names[0], "or_column": names[1:]}
    found = f"{column.name} has column = {shown(written)}"
    allowed = 'the name of a column of the sheet, or its names on several: ["Ref", "Ref no"]'
    file.fault((*place, "column"), found, allowed, "write each name once, in quotes")
    return {}


def _constant(file: Written, place: Place, column: Column, written: Any) -> str | None:
    """A constant may be written as what it is: 3 or "3", a day with or without quotes."""
    is_plain = type(written) in (str, int, date)
    constant = str(written).strip()
    if column.name == "case_ref":
        found = "case_ref is the same in every row"
        file.fault((*place, "constant"), found, "a column that tells the cases apart", "name that column")
    elif not is_plain or not constant or not allows(column, constant):
        found = f"{column.name} has constant = {shown(written)}"
        file.fault((*place, "constant"), found, column.allowed, "write an allowed value, or leave the column out")
    return constant


def _sheet_name(file: Written, place: Place, column: Column, written: Any) -> bool:
    if column.name == "case_ref":
        found = "case_ref is the same in every row of a sheet"
        file.fault((*place, "sheet_name"), found, "a column that tells the cases apart", "name that column")
    elif written is not True:
        found = f"{column.name} has sheet_name = {shown(written)}"
        file.fault((*place, "sheet_name"), found, "sheet_name = true", "write true, or take it out")
    return True


def allows(column: Column, text: str) -> bool:
    """Whether the layout allows a text in the column; not_known stands for nothing where nothing is allowed."""
    if text == "not_known" and not column.must:
        return True
    if column.kind in (CODE, YES_NO):
        return text in column.values
    if column.kind == INTEGER:
        assert column.minimum is not None, column.name
        assert column.maximum is not None, column.name
        return bool(re.fullmatch(r"-?[0-9]{1,9}", text)) and column.minimum <= int(text) <= column.maximum
    if column.kind == DATE:
        try:
            return bool(re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", text)) and bool(date.fromisoformat(text))
        except ValueError:
            return False  # 30 February
    return column.longest is None or len(text) <= column.longest


def _days_old(file: Written, place: Place, column: Column, written: Any) -> int:
    if type(written) is int and 0 <= written <= _OLDEST_DAYS:
        return written
    found = f"{column.name} has days_old = {shown(written)}"
    file.fault((*place, "days_old"), found, f"a whole number from 0 to {_OLDEST_DAYS}", "write the age in days")
    return 0


def _codes(file: Written, place: Place, column: Column, written: Any, lists: Lists) -> Map[str, str] | None:
    """The list, inline or by name. Each code of it must give what the column allows."""
    at: Place = (*place, "codes")
    if isinstance(written, str):
        known = {**STANDARDS, **lists.own}
        if written not in known:
            allowed = f"one of {', '.join(known)}{lists.like(written) or nearest(written, known)}"
            mend = f"correct the name, or write the list: [codes.{written}]"
            found = f"{column.name}: there is no list of codes {shown(written)}"
            file.fault(at, found, allowed, mend, f"no list {written}")
            return None
        codes = known[written]
    else:
        codes = file.codes(at, written)
    named = written if isinstance(written, str) else ""
    unfit = {code: meant for code, meant in codes.items() if meant and not allows(column, meant)}
    allowed = f'{column.allowed}; "" for nothing'
    if named in STANDARDS and unfit:
        found = f"{column.name} cannot take the list {named}, which gives {', '.join(dict.fromkeys(unfit.values()))}"
        file.fault(at, found, allowed, "use a list that is for this column")
        return codes
    for code, meant in unfit.items():
        if named:
            lists.unfit.setdefault((named, code), []).append(column)
        else:
            _tell_unfit(file, (*at, code), code, meant, [column])
    if column.kind not in (INTEGER, TEXT) and codes and not any(codes.values()):
        found = f"{column.name}: no code of the list gives anything"
        file.fault(at, found, f"a list with one code at least that gives {column.allowed}", "use another list")
    return codes


def tell_unfit(file: Written, lists: Lists) -> None:
    """The codes of lists that a column cannot take: each once, whatever many columns use the list."""
    for (name, code), columns in lists.unfit.items():
        _tell_unfit(file, ("codes", name, code), code, lists.own[name][code], columns)


def _tell_unfit(file: Written, place: Place, code: str, meant: str, columns: Sequence[Column]) -> None:
    if meant == UNDECIDED:
        choices = "; ".join(dict.fromkeys(_choices(column) for column in columns))
        file.undecided(place, shown(code), f'{choices}, or "" for nothing recorded')
        return
    allowed = "; ".join(dict.fromkeys(column.allowed for column in columns)) + '; "" for nothing'
    names = ", ".join(dict.fromkeys(column.name for column in columns))
    file.fault(place, f"{shown(code)} = {shown(meant)} is not allowed in {names}", allowed, "correct the code")


def _choices(column: Column) -> str:
    """What a code may be decided to mean; not_known stands for nothing wherever nothing is allowed."""
    if column.kind not in (CODE, YES_NO):
        return column.allowed.partition(", or nothing")[0]
    told = column.must or {"not_known", "not_recorded"} & set(column.values)
    return f"one of {', '.join(column.values if told else (*column.values, 'not_known'))}"


def _dates(file: Written, place: Place, column: Column, written: Any) -> tuple[str, ...]:
    formats = written if isinstance(written, list) else [written]
    for form in formats:
        fault = format_fault(form) if is_text(form) else "it is no text"
        if fault:
            allowed = f'a format that gives year, month and day, such as "%d/%m/%Y" or "%d %b %y", or "{SERIAL}"'
            found = f"{column.name} has date = {shown(form)}: {fault}"
            cause = f"date = {shown(form)}"
            file.fault((*place, "date"), found, allowed, "write how the dates stand in the sheet", cause)
    if not formats:
        file.fault((*place, "date"), f"{column.name} has date = []", "one format at least", "remove it, or write one")
    return tuple(form for form in formats if isinstance(form, str))


def _prefix(file: Written, place: Place, column: Column, written: Any) -> str:
    if is_text(written):
        return str(written)
    found = f"{column.name} has prefix = {shown(written)}"
    file.fault((*place, "prefix"), found, "a text that is not empty", "write it in quotes, or remove it")
    return ""
