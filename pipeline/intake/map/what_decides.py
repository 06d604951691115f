"""What decides whether a line gives a row: the `when` of a mapping's [[rows]] in, a When out.

Refuses: a list that is none, a value that is to make a row and to be left out, values left out where any text counts.
"""

from __future__ import annotations

from typing import Any

from pipeline.intake.map.mapping import Place, When
from pipeline.intake.map.mapping_text import UNDECIDED, Written, column_names, is_text, shown


def read_when(file: Written, place: Place, content: Any) -> When | None:
    """The condition, or None where it is faulty, with its faults noted."""
    at = (*place, "when")
    lists = {key: content[key] for key in ("is", "leave_out") if key in content} if isinstance(content, dict) else {}
    column = content.get("column") if isinstance(content, dict) else content
    if any(UNDECIDED in (got if isinstance(got, list) else [got]) for got in (column, *lists.values())):
        file.undecided(at, "when", "the column of the sheet that decides, and what it must say for a row to be made")
        return None
    names = column_names(column)
    if is_text(content):
        return When(names[0])
    if not isinstance(content, dict) or not names:
        allowed = 'when = "a column", or when = { column = "a column", is = ["Y"], leave_out = ["N"] }'
        file.fault(at, f"when = {shown(content)}", allowed, "name the column of the sheet that decides")
        return None
    file.know(at, content, ("column", "is", "leave_out"), "when")
    for key, listed in lists.items():
        if not (isinstance(listed, list) and listed and all(is_text(value) for value in listed)):
            allowed = 'a list of texts that are not empty, such as ["Y", "y"]'
            mend = "correct it, or leave it out" + (": then any text in the column counts" if key == "is" else "")
            file.fault((*at, key), f"{key} = {shown(listed)}", allowed, mend)
            return None
    values, leave_out = ([value.strip() for value in lists.get(key, ())] for key in ("is", "leave_out"))
    both = [value for value in values if value in leave_out]
    if both or (leave_out and not values):
        found = f"{shown(both[0])} stands in is and in leave_out" if both else "leave_out without is"
        allowed = "is, the values that make a row, and leave_out, those that make none"
        file.fault((*at, "leave_out"), found, allowed, "say of each value which it is")
        return None
    return When(names[0], tuple(values), tuple(leave_out), names[1:])
