"""The lines of a sheet that look like no rows: totals, the names over again, the beginning of another table.

Comes in: a sheet as it was read and shaped. Goes out: words, with numbers of lines and nothing that is written there.
Refuses to leave any of them out: only the mapping says so.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import pyarrow as pa
import pyarrow.compute as pc

from pipeline.intake.map.shapes.sheet_lines import first_texts, matching
from pipeline.intake.read.sheet import Sheet

_TOTALS = (
    *("total", "totals", "total:", "total *", "*subtotal*", "*sub-total*", "*grand total*"),
    *("sum", "sum:", "average", "average:", "mean", "mean:", "count", "count:"),
)
_MOST = 5


def odd_lines(sheet: Sheet) -> Iterator[str]:
    """A sentence for each kind of line, none where there is none."""
    if not sheet.records.num_rows:
        return
    first = first_texts(sheet)
    records = sheet.records.filter(pc.not_equal(first, ""))
    first = first.filter(pc.not_equal(first, ""))
    totals = records["line"].filter(matching(first, _TOTALS)).to_pylist()
    if totals:
        yield f'{_lines(totals)} like a total; if so, left_out_lines leaves it out: left_out_lines = ["Total*"]'
    name = next((name for name in sheet.header if name), "")
    alike = records.filter(pc.equal(first, name))
    again = [line for line, fields in _fields(alike) if _single_spaced(fields) == list(sheet.header)]
    if again:
        yield f"{_lines(again)} like the names of the columns over again; if so, left_out_lines leaves it out"
    gaps = pc.greater(pc.subtract(records["line"][1:], records["last_line"][:-1]), 1)
    behind = _fields(records.slice(1).filter(gaps))
    other = [line for line, fields in behind if line not in (*totals, *again) and not _holds_a_digit(fields)]
    if other:
        yield f"{_lines(other)} like the beginning of another table; if so, ends_before says where the rows end"


def merged_cells(sheet: Sheet, carried: Sequence[str]) -> Iterator[str]:
    """A sentence where cells are merged downwards in columns that nothing carries down."""
    names = [name for name in sheet.merged if name not in carried]
    if names:
        told = ", ".join(names)
        yield (
            f"{sheet.file}: {told}: merged cells stand there, and only their first line holds the value; "
            "if it counts for each of their lines, name the column in fill_down"
        )


def _fields(records: pa.Table) -> list[tuple[int, list[str]]]:
    return list(zip(records["line"].to_pylist(), records["fields"].to_pylist(), strict=True))


def _single_spaced(fields: Sequence[str]) -> list[str]:
    return [" ".join(field.split()) for field in fields]


def _holds_a_digit(fields: Sequence[str]) -> bool:
    """A row of a case holds one: a date, an age, a number."""
    return any(sign.isdigit() for field in fields for sign in field)


def _lines(lines: Sequence[int]) -> str:
    told = ", ".join(map(str, lines[:_MOST])) + (f" and {len(lines) - _MOST} more" if len(lines) > _MOST else "")
    return f"line {told} looks" if len(lines) == 1 else f"lines {told} look"
