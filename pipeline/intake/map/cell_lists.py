"""A cell that holds a list, such as "bleed; infection": the signs it is split at as a mapping says them, and its parts.

Refuses, with the line: signs that are none, a split where nothing says what each part means, a listed value that holds
such a sign and so could never be a part.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable
from typing import Any

from pipeline.contracts.layout import CODE, Column
from pipeline.intake.map.mapping import Place
from pipeline.intake.map.mapping_text import Written, shown


def parted(written: str, signs: Iterable[str]) -> list[str]:
    """The parts of a cell, without the white space around them and none that is empty; all of it without signs."""
    parts = [written]
    for sign in signs:
        parts = [part for longer in parts for part in longer.split(sign)]
    return [part.strip() for part in parts if part.strip()]


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
) -> tuple[str, ...]:
    """The split of a layout column, which makes a row for each part: so it must be the code that a row cannot lack."""
    if column.kind != CODE or not column.must or codes is None:
        found = f"{column.name} has split" + ("" if codes or column.kind != CODE else " without codes")
        allowed = "split on a must-column of codes, with the codes of its parts: each part makes a row"
        mend = 'remove it; for other rows: when = { column = "...", split = ";", is = ["..."], leave_out = ["..."] }'
        file.fault((*place, "split"), found, allowed, mend)
        return ()
    return read_signs(file, place, written, codes)
