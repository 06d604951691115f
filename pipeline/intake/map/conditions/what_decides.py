"""What decides whether a line gives a row: the `when` of a mapping's [[rows]] in, the conditions out.

Refuses: a list that is none, a condition that says two things or none, a value that is to make a row and to be
left out, values left out where any text counts.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from pipeline.intake.map.cell_lists import read_signs
from pipeline.intake.map.mapping import Place, Rows, When
from pipeline.intake.map.mapping_text import UNDECIDED, Written, column_names, is_text, shown

_LISTS = ("is", "is_not", "leave_out")
_WAYS = ("is", "is_not", "is_empty")


def read_when(file: Written, place: Place, content: Any, nothing: frozenset[str]) -> tuple[When, ...]:
    """The conditions, all of which must hold, without those that are faulty; their faults are noted."""
    several = content if isinstance(content, list) and content else [content]
    read = [_read_one(file, (*place, "when"), one, nothing) for one in several]
    return tuple(when for when in read if when is not None)


def _read_one(file: Written, at: Place, content: Any, nothing: frozenset[str]) -> When | None:
    if is_text(content):
        content = {"column": content}
    lists = {key: content[key] for key in _LISTS if key in content} if isinstance(content, dict) else {}
    column = content.get("column") if isinstance(content, dict) else None
    if any(UNDECIDED in (got if isinstance(got, list) else [got]) for got in (column, *lists.values())):
        file.undecided(at, "when", "the column of the sheet that decides, and what it must say for a row to be made")
        return None
    names = column_names(column)
    if not names:
        allowed = (
            'when = "a column", or when = { column = "a column", is = ["Y"], leave_out = ["N"] }, or a list of such'
        )
        file.fault(at, f"when = {shown(content)}", allowed, "name the column of the sheet that decides")
        return None
    file.know(at, content, ("column", *_WAYS, "leave_out", "split"), "when")
    for key, listed in lists.items():
        if not (isinstance(listed, list) and listed and all(is_text(value) for value in listed)):
            allowed = 'a list of texts that are not empty, such as ["Y", "y"]'
            mend = "correct it, or leave it out" + (": then any text in the column counts" if key == "is" else "")
            file.fault((*at, key), f"{key} = {shown(listed)}", allowed, mend)
            return None
    if content.get("is_empty", True) is not True:
        mend = "write it so, or leave it out: then any text in the column counts"
        file.fault((*at, "is_empty"), f"is_empty = {shown(content['is_empty'])}", "is_empty = true", mend)
        return None
    ways = [way for way in _WAYS if way in content]
    if len(ways) > 1:
        found = f"when has {' and '.join(ways)}"
        file.fault(at, found, f"one of {', '.join(_WAYS)} in a condition", "make two of it: when = [{ ... }, { ... }]")
        return None
    values, is_not, leave_out = ([value.strip() for value in lists.get(key, ())] for key in _LISTS)
    both = [f"{shown(value)} stands in is and in leave_out" for value in values if value in leave_out]
    if both or (leave_out and ways not in (["is"], ["is_empty"])):
        found = both[0] if both else "is_not and leave_out" if ways else "leave_out without is"
        allowed = "is, the values that make a row, and leave_out, those that make none; is_not leaves out what it lists"
        file.fault((*at, "leave_out"), found, allowed, "say of each value which it is")
        return None
    split: tuple[str, ...] = ()
    if "split" in content and not lists:
        file.fault((*at, "split"), "split without is", "split beside is, is_not or leave_out", "say what a part may be")
    elif "split" in content:
        split = read_signs(file, at, content["split"], [*values, *is_not, *leave_out])
    return When(
        column=names[0],
        values=tuple(values),
        leave_out=tuple(leave_out),
        is_not=tuple(is_not),
        is_empty="is_empty" in ways,
        split=split,
        nothing=nothing,
        or_column=names[1:],
    )


def see_to_splits(file: Written, blocks: Sequence[tuple[int, Rows]]) -> None:
    """One column of a sheet is split in one way: else a part that one condition lists would be unknown to another."""
    seen: list[tuple[Rows, When]] = []
    for number, rows in blocks:
        for when in (when for when in rows.when if when.listed):
            for other_rows, other in seen:
                both = rows.sheets + other_rows.sheets
                of_one_sheet = len(set(both)) < len(both) or any("*" in pattern for pattern in both)
                same = {when.column, *when.or_column} & {other.column, *other.or_column}
                if of_one_sheet and same and set(when.split) != set(other.split):
                    found = f"{min(same)} is split otherwise than in the other condition on it"
                    allowed = "the same split wherever the column decides with a list"
                    file.fault(("rows", number, "when"), found, allowed, "write the same split in both")
                    return
            seen.append((rows, when))
