"""A mapping file (TOML, in the audit folder's mappings/) in, a frozen Mapping out.

Refuses, all at once and with the line: what the format does not know, a table or column that is not in the layout, a
must-column that nothing gives, a code that the layout column does not allow, a date format that leaves the day open.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Sequence
from collections.abc import Mapping as Map
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any

from pipeline.contracts import layout
from pipeline.contracts.written_text import read_toml_text
from pipeline.errors import Fault, Refused, nearest
from pipeline.intake.map.conditions.what_decides import read_when, see_to_splits
from pipeline.intake.map.mapping import Mapping, Origin, Rows, lines_of, pattern_of
from pipeline.intake.map.mapping_text import UNDECIDED, Lists, Written, is_text, read_nothing, shown, single_spaced
from pipeline.intake.map.origin import read_origin, tell_unfit
from pipeline.intake.map.shapes.repeated_columns import repeated_names
from pipeline.intake.map.shapes.sheet_settings import read_settings
from pipeline.intake.map.standard_codes import STANDARDS
from pipeline.intake.map.toml_mistakes import slip
from pipeline.settings.confirmed import allowed_instead
from pipeline.store.audit_folder import MAPPINGS

ENDING = ".toml"
_SIGNS = ("*", "#")  # what may stand for the number of a group of columns


def read_mapping(path: Path) -> Mapping:
    """Read a mapping file. Raises Refused with every fault found in it."""
    mend = f"name a mapping that stands in {MAPPINGS}/ of the audit folder, or make one: feeding-audit suggest EXPORT"
    return parse_mapping(read_toml_text(path, "a mapping file", mend), path.name)


def parse_mapping(text: str, name: str) -> Mapping:
    """The mapping a text holds; `name` is that of its file. Raises Refused."""
    try:
        content = tomllib.loads(text, parse_float=Decimal)
    except (ValueError, ArithmeticError, RecursionError) as error:
        # ArithmeticError: a number too large to be one. RecursionError: brackets in brackets without end.
        likely = slip(text, error)
        where = f"{name}, line {likely.line}"
        raise Refused(Fault(where, f"cannot be read: {likely.found}", likely.allowed, likely.mend)) from error
    file = Written(name, lines_of(text), [])
    mapping = _mapping(file, content, name.removesuffix(ENDING), text)
    if file.faults:
        raise Refused(file.told())
    return mapping


def _mapping(file: Written, content: Map[str, Any], name: str, text: str) -> Mapping:
    keys = ("source", "cut_off", "nothing", "sheets", "not_identifiers", "confirmed", "left_out", "codes", "rows")
    file.know((), content, keys, "the mapping")
    source, cut_off = content.get("source", name), content.get("cut_off")
    if source == UNDECIDED:
        file.undecided(("source",), "source", "what this source of exports is called")
    elif not is_text(source):
        file.fault(("source",), f"source = {shown(source)}", "a text that is not empty", "name it, or leave it out")
    if cut_off is not None and type(cut_off) is not date:  # a moment is a date to Python, too
        allowed = "a day without quotes, such as 2026-10-09"
        if cut_off == UNDECIDED:
            file.undecided(("cut_off",), "cut_off", allowed)
        else:
            file.fault(("cut_off",), f"cut_off = {shown(cut_off)}", allowed, "correct it, or leave it out")
    readings = {
        sheet: read_settings(file, sheet, reading)
        for sheet, reading in file.table(("sheets",), content.get("sheets", {}))
    }
    lists = Lists(dict(_own_lists(file, content.get("codes", {}))), read_nothing(file, content.get("nothing", [])))
    rows = tuple(_all_rows(file, content.get("rows", []), lists))
    tell_unfit(file, lists)
    for unused in [listed for listed in lists.own if listed not in lists.used]:
        found, mend = f"no column uses the list {unused}", f'write codes = "{unused}"'
        file.fault(("codes", unused), found, "lists that are used", mend)
    left_out = _left_out(file, content.get("left_out", {}))
    return Mapping(
        name=name,
        source=str(source).strip(),
        rows=rows,
        readings=readings,
        not_identifiers=dict(_not_identifiers(file, content.get("not_identifiers", {}))),
        confirmed=dict(_confirmed(file, content.get("confirmed", {}))),
        cut_off=cut_off,
        text=text,
        left_out_sheets=tuple(pattern_of(sheet) for sheet in left_out["sheets"]),
        left_out_columns=tuple(pattern_of(single_spaced(column)) for column in left_out["columns"]),
    )


def _not_identifiers(file: Written, content: Any) -> Iterator[tuple[str, str]]:
    for column, reason in file.table(("not_identifiers",), content):
        allowed = "the reason why the column identifies nobody, in words"
        if reason == UNDECIDED:
            file.undecided(("not_identifiers", column), shown(column), allowed)
        elif not is_text(reason):
            file.fault(("not_identifiers", column), f"{column} = {shown(reason)}", allowed, "write it in quotes")
        yield single_spaced(column), str(reason)


def _left_out(file: Written, content: Any) -> Map[str, list[str]]:
    """Sheets and columns that nothing is to read. That one is not there is no fault: the next export may hold it."""
    lists = dict(file.table(("left_out",), content))
    file.know(("left_out",), lists, ("sheets", "columns"), "[left_out]")
    for key, listed in lists.items():
        if not (isinstance(listed, list) and all(is_text(name) for name in listed)):
            allowed = 'a list of names, such as ["Notes"]'
            file.fault(("left_out", key), f"{key} = {shown(listed)}", allowed, "write each in quotes")
            return {"sheets": [], "columns": []}
    return {"sheets": [], "columns": [], **lists}


def _confirmed(file: Written, content: Any) -> Iterator[tuple[str, tuple[str, ...]]]:
    for kind, words in file.table(("confirmed",), content):
        if allowed := allowed_instead(kind, words):
            file.fault(("confirmed", kind), f"{kind} = {shown(words)}", allowed, "correct or remove it")
        else:
            yield kind, tuple(words)


def _own_lists(file: Written, content: Any) -> Iterator[tuple[str, Map[str, str]]]:
    for name, codes in file.table(("codes",), content):
        if name in STANDARDS:
            found = f"{name} is the name of a standard list"
            file.fault(("codes", name), found, f"a name that is none of {', '.join(STANDARDS)}", "name it otherwise")
        yield name, file.codes(("codes", name), codes)


def _all_rows(file: Written, content: Any, lists: Lists) -> Iterator[Rows]:
    if not isinstance(content, list) or not all(isinstance(block, dict) for block in content):
        found = "rows is no list of tables"
        file.fault(("rows",), found, "[[rows]], once for each kind of row", "write it in two square brackets")
        return
    read = [(number, _rows(file, number, block, lists)) for number, block in enumerate(content)]
    known = [(number, rows) for number, rows in read if rows is not None]
    cases = [rows for _, rows in known if rows.table == "cases"]
    if content and not any(block.get("table") == "cases" for block in content):
        found = "no rows of the table cases"
        file.fault(("rows",), found, 'one [[rows]] with table = "cases" at least', "say where the cases come from")
    see_to_splits(file, known)
    earlier: list[tuple[str, tuple[str, ...], Map[str, Origin]]] = []
    for number, rows in known:
        # Whatever their `when` says: a block copied for the second visit still reads the first visit's columns.
        if (rows.table, rows.sheets, rows.columns) in earlier:
            found = f"rows of {rows.table} from the same sheet and the same columns a second time"
            allowed = "rows of one table that differ in their sheet or in a column"
            file.fault(("rows", number), found, allowed, "correct the columns, or take one of them out")
        earlier.append((rows.table, rows.sheets, rows.columns))
        if cases:
            _see_to_days_old(file, number, rows, cases)
        yield rows


def _see_to_days_old(file: Written, number: int, rows: Rows, cases: Sequence[Rows]) -> None:
    """A day reckoned from an age needs the case's first contact and age, on the line and not reckoned itself."""
    covered = all(any(pattern in giver.sheets or giver.is_of(pattern) for giver in cases) for pattern in rows.sheets)
    for name, origin in rows.columns.items():
        by_itself = rows.table == "cases" and name == "first_contact_date"
        if origin.days_old is not None and (by_itself or not covered):
            found = f"{name}: days_old without first_contact_date and age_days on the same line"
            allowed = "days_old where the same sheet gives the cases, with both"
            file.fault(("rows", number, "columns", name), found, allowed, "give the column the date stands in")


def _rows(file: Written, number: int, content: Map[str, Any], lists: Lists) -> Rows | None:
    """The rows of one block, or None where even its table is not known."""
    place = ("rows", number)
    file.know(place, content, ("table", "sheet", "repeat", "when", "columns"), "[[rows]]")
    tables = {table.name: table for table in layout.tables()}
    name, sheets = content.get("table"), content.get("sheet", "*")
    patterns = sheets if isinstance(sheets, list) else [sheets]
    if not (patterns and all(map(is_text, patterns))):
        found, allowed = f"sheet = {shown(sheets)}", "the name of a sheet, or a list of names; * for any text"
        file.fault((*place, "sheet"), found, allowed, "correct it, or leave it out")
        patterns = ["*"]
    when = read_when(file, place, content["when"], lists.nothing) if "when" in content else ()
    if not isinstance(name, str) or name not in tables:
        found = f"{shown(name)} is no table of the layout" if "table" in content else "[[rows]] without a table"
        hint = nearest(name, tables) if isinstance(name, str) else ""
        file.fault((*place, "table"), found, f"one of {', '.join(tables)}{hint}", "say which table the rows are of")
        lists.count_as_used(content.get("columns"))
        return None
    columns = _columns(file, place, tables[name], content.get("columns", {}), lists)
    repeat = content.get("repeat", "")
    rows = Rows(name, tuple(map(pattern_of, patterns)), columns, when, repeat if repeat in _SIGNS else "")
    if "repeat" in content and repeat not in _SIGNS:
        allowed = " or ".join(f"repeat = {shown(sign)}" for sign in _SIGNS)
        mend = 'write the sign that stands for the number in the names of its columns: "Visit * / Date"'
        file.fault((*place, "repeat"), f"repeat = {shown(repeat)}", allowed, mend)
    elif rows.repeat and not repeated_names(rows):
        found = f"repeat, and no column with {repeat} in its name"
        mend = f'write {repeat} for the number, such as "Visit {repeat} / Date", or take repeat out'
        file.fault((*place, "repeat"), found, "a column of each group at least", mend)
    return rows


def _columns(
    file: Written, place: tuple[str | int, ...], table: layout.Table, content: Any, lists: Lists
) -> Map[str, Origin]:
    columns = {column.name: column for column in table.columns}
    origins: dict[str, Origin] = {}
    given = dict(file.table((*place, "columns"), content))
    for name, written in given.items():
        if name not in columns:
            allowed = f"its columns: {', '.join(columns)}{nearest(name, columns)}"
            file.fault((*place, "columns", name), f"{table.name} has no column {name}", allowed, "correct the name")
            lists.count_as_used({name: written})
        elif origin := read_origin(file, (*place, "columns", name), columns[name], written, lists):
            origins[name] = origin
    splits = [name for name, origin in origins.items() if origin.split]
    if len(splits) > 1:
        found = f"{' and '.join(splits)} are both split, and nothing says which parts belong together"
        file.fault((*place, "columns", splits[1]), found, "one split in a block", "take one out, or write two blocks")
    missing = [column.name for column in table.columns if column.must and column.name not in given]
    if missing:
        found = f"{table.name} without {', '.join(missing)}"
        allowed = "every must-column: " + ", ".join(column.name for column in table.columns if column.must)
        mend = "say where it comes from"
        mend += "" if table.name == "cases" else ", or take the whole block out: from [[rows]] to the next one"
        file.fault((*place, "columns"), found, allowed, mend)
    return origins
