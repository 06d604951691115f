"""What the columns that decide rows hold, and what of it makes no row.

Comes in: the records of one sheet, registered as `records`, and what it gives. Goes out: the table `deciding`, one row
for each written value of a line; findings in set_aside for values that no list of the mapping names, and for lines in
which a value that is to make a row makes none, because another condition does not hold; in left_out_lines those that
give none on purpose. Refuses to take any written value for a no in silence.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import duckdb
import pyarrow as pa

from pipeline.intake import statements
from pipeline.intake.map.mapping import When
from pipeline.intake.map.sheet_tables import SheetTable
from pipeline.intake.map.translation import folded, parted
from pipeline.intake.map.words.left_out import LeftOut

_PARTS = pa.schema({"written": pa.string(), "part": pa.string(), "is_left_out": pa.bool_()})
_LIST_IT = "correct it in the record, or list it in the mapping: in is if it makes a row, in leave_out if not"
_COMPLETE_IT = "complete it in the record, or say in the mapping what such a line means: is_empty, leave_out"
_NO = frozenset(("n", "no", "none", "nil", "0", "false", "-"))
_Deciding = Mapping[str, Sequence[tuple[SheetTable, When]]]  # by the column of the sheet


def _by_column(of_sheet: Sequence[SheetTable]) -> _Deciding:
    columns: dict[str, list[tuple[SheetTable, When]]] = {}
    for gives in of_sheet:
        for when in gives.rows.when:
            columns.setdefault(when.column, []).append((gives, when))
    return columns


def read_deciding(con: duckdb.DuckDBPyConnection, of_sheet: Sequence[SheetTable], left: LeftOut) -> None:
    """Make the table `deciding`; what stands for nothing, as the mapping says, is not in it."""
    columns = "line BIGINT, last_line BIGINT, header VARCHAR, part VARCHAR, is_left_out BOOLEAN"
    con.execute(f"CREATE OR REPLACE TEMP TABLE deciding ({columns})")
    for header, conditions in _by_column(of_sheet).items():
        place = conditions[0][0].place(header)
        counts = dict(statements.rows(con, "texts_at", {"place": place}))
        parts = {written: parts_of(written, [when for _, when in conditions]) for written in counts if written}
        left.see_words(header, {written: counts[written] for written in parts if not parts[written]})
        leaves = _left_out(conditions)
        pairs = [(written, part, part in leaves) for written in parts for part in parts[written]]
        con.register(
            "parts", pa.Table.from_pylist([dict(zip(_PARTS.names, pair, strict=True)) for pair in pairs], _PARTS)
        )
        statements.add(con, "deciding", "deciding", {"header": header, "place": place})
        con.unregister("parts")


def parts_of(written: str, conditions: Sequence[When]) -> list[str]:
    """What a cell says for the conditions on its column: a word for nothing says nothing, if none of them lists it."""
    listed = {value for when in conditions for value in when.listed}
    split = next((when.split for when in conditions if when.split), ())
    parts = dict.fromkeys(parted(written, split))
    return [part for part in parts if part in listed or folded(part) not in conditions[0].nothing]


def list_not_made(con: duckdb.DuckDBPyConnection, sheet: int, of_sheet: Sequence[SheetTable]) -> None:
    """Account for what decides and makes no row, column by column."""
    deciding = _by_column(of_sheet)
    for header, conditions in deciding.items():
        if all(when.values or when.is_empty for _, when in conditions):  # else any text makes a row
            _list_not_foreseen(con, sheet, header, conditions)
    values = {"sheet": sheet, "sheet_tables": [gives.number for gives in of_sheet]}
    statements.add(con, "left_out_lines", "left_out_lines", values)
    for header in deciding:
        _list_half_held(con, sheet, header, deciding)


def _list_not_foreseen(
    con: duckdb.DuckDBPyConnection, sheet: int, header: str, conditions: Sequence[tuple[SheetTable, When]]
) -> None:
    """What is written and in no list of the mapping, once a table."""
    makes = list(dict.fromkeys(value for _, when in conditions for value in when.values))
    leaves = _left_out(conditions)
    allowed = f"a value that the mapping lists: {', '.join(makes)}" if makes else "nothing"
    allowed += f"; left out on purpose: {', '.join(leaves)}" if leaves else ""
    for gives in {gives.table.name: gives for gives, _ in reversed(conditions)}.values():
        values = {"values": [*makes, *leaves], "is_other": True, "others": [], "sheet_tables": []}
        said = {"header": header, "allowed": allowed, "mend": _LIST_IT}
        statements.add(con, "set_aside", "values_without_rows", {**values, **said, **_whose(sheet, gives)})


def _list_half_held(con: duckdb.DuckDBPyConnection, sheet: int, header: str, deciding: _Deciding) -> None:
    """Values that are to make a row, in lines where the other conditions keep every part that they decide from it.

    Not where another column leaves the line out, nor where a part made a row by one of the same columns.
    """
    conditions = deciding[header]
    named = list(dict.fromkeys(value for _, when in conditions for value in when.values))
    for value in (*named, None):  # None is any that no `is` names
        naming = [gives for gives, when in conditions if _holds(when, value)]
        if any(len(gives.rows.when) == 1 for gives in naming):
            continue
        others = {when.column for gives in naming for when in gives.rows.when if when.column != header}
        sharing = [gives.number for column in (header, *others) for gives, _ in deciding[column]]
        for table in dict.fromkeys(gives.table.name for gives in naming):
            of_table = [gives for gives in naming if gives.table.name == table]
            asked = [
                [when for when in gives.rows.when if when.column != header or not _holds(when, value)]
                for gives in of_table
            ]
            ways = dict.fromkeys(" and ".join(when.words for when in whens) for whens in asked)
            values = {"values": named if value is None else [value], "is_other": value is None}
            rest = {"others": sorted(others), "sheet_tables": sharing}
            said = {"header": header, "allowed": f"where also {', or '.join(ways)}", "mend": _COMPLETE_IT}
            statements.add(
                con, "set_aside", "values_without_rows", {**values, **rest, **said, **_whose(sheet, of_table[0])}
            )


def _holds(when: When, value: str | None) -> bool:
    """Whether the condition holds by the written value."""
    return not when.is_empty and (value in when.values if when.values else value not in when.is_not)


def _left_out(conditions: Sequence[tuple[SheetTable, When]]) -> list[str]:
    """The values of a column that make no row on purpose."""
    return list(dict.fromkeys(value for _, when in conditions for value in (*when.leave_out, *when.is_not)))


def explaining(readers: Sequence[SheetTable]) -> list[list[str]]:
    """The columns and values that make no row on purpose and say more than no, such as an appointment not kept."""
    whens = [when for reader in readers for when in reader.rows.when]
    return [[when.column, value] for when in whens for value in when.leave_out if folded(value) not in _NO]


def _whose(sheet: int, gives: SheetTable) -> dict[str, Any]:
    """The sheet, the table, and where the case stands in a line that made no row."""
    case_ref = gives.rows.columns["case_ref"]
    place = gives.place(case_ref.column) if case_ref.column is not None else 0  # there is no field 0
    return {"sheet": sheet, "table": gives.table.name, "prefix": case_ref.prefix, "case_place": place}
