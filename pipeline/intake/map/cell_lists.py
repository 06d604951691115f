"""A cell that holds a list, such as "bleed; infection": the signs that a mapping splits it at, read from the file.

Refuses, with the line: signs that are none, a split where nothing says what each part means, a listed value that holds
such a sign and so could never be a part.
"""

from __future__ import annotations

from collections.abc import Collection
from typing import Any

from pipeline.contracts.layout import CODE, DATE, YES_NO, Column
from pipeline.intake.map.mapping import Place
from pipeline.intake.map.mapping_text import Written, shown


def read_signs(file: Written, place: Place, written: Any, listed: Collection[str]) -> tuple[str, ...]:
    """What stands behind `split`; `listed` are the values that a part may hold."""
    signs = written if isinstance(written, list) else [written]
    if not signs or not all(isinstance(sign, str) and sign for sign in signs):
        allowed = 'the sign between the parts, such as ";", or several: [";", ","]'
        file.fault((*place, "split"), f"split = {shown(written)}", allowed, "write it in quotes")
        return ()
    never = [value for value in listed if any(sign in value for sign in signs)]
    if never:
        allowed = "single parts, as they stand between the signs of split"
        found = f"{shown(never[0])} holds a sign that its column is split at"
        file.fault((*place, "split"), found, allowed, "write each part by itself")
    return tuple(signs)


def read_split(
    file: Written, place: Place, column: Column, written: Any, codes: Collection[str] | None
) -> dict[str, Any]:
    """The split of a layout column, as Origin has it: of the code or day that a row cannot lack, or of a yes or no."""
    is_fit = column.kind == YES_NO or (column.kind in (CODE, DATE) and column.must)
    if not is_fit or (codes is None and column.kind != DATE):
        found = f"{column.name} has split" + (" without codes" if is_fit else "")
        allowed = (
            "split on a must-column of dates or, with the codes of the parts, of codes (a row for each part), "
            "or on yes or no"
        )
        mend = 'remove it; for other rows: when = { column = "...", split = ";", is = ["..."], leave_out = ["..."] }'
        file.fault((*place, "split"), found, allowed, mend)
        return {}
    signs = read_signs(file, place, written, codes or ())
    return {"any_of" if column.kind == YES_NO else "split": signs}
