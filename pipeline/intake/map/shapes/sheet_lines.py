"""The lines of a sheet that are no rows, such as totals, taken out; cells left empty under one that is filled, filled.

Comes in: a sheet that was screened whole, and what the mapping says of its shape. Goes out: the sheet with fewer
records, and the lines left out, which are counted. Refuses to fill a cell on a line on which something new begins.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from pipeline.intake.read.distinct_texts import column_texts
from pipeline.intake.read.sheet import FIELDS, Shape, Sheet


def shaped(sheet: Sheet, shape: Shape) -> Sheet:
    """The sheet as the mapping says it is: left out first, so that a total is never carried down."""
    if shape.ends_before:
        sheet = _ended(sheet, shape.ends_before)
    if shape.left_out_lines and sheet.records.num_rows:
        out = matching(first_texts(sheet), shape.left_out_lines)
        sheet = _without(sheet, sheet.records.filter(out), sheet.records.filter(pc.invert(out)))
    columns = [sheet.header.index(name) for name in shape.fill_down if name in sheet.header]
    return _filled(sheet, columns) if columns and sheet.records.num_rows else sheet


def first_texts(sheet: Sheet) -> pa.ChunkedArray:
    """What stands first on each line: its first cell that is not blank, white space single; empty on a blank line."""
    first = _trimmed(sheet, 0)
    for place in range(1, len(sheet.header)):
        blank = pc.equal(first, "")
        if not pc.any(blank).as_py():
            break
        first = pc.if_else(blank, _trimmed(sheet, place), first)
    return pc.replace_substring_regex(first, r"\s+", " ")


def matching(texts: pa.ChunkedArray, patterns: Sequence[str]) -> pa.ChunkedArray:
    """Which texts are one of these, * standing for any text; case does not matter."""
    ways = "|".join(".*".join(map(re.escape, pattern.split("*"))) for pattern in patterns)
    return pc.match_substring_regex(texts, rf"^(?:{ways})$", ignore_case=True)


def _trimmed(sheet: Sheet, place: int) -> pa.ChunkedArray:
    return pc.utf8_trim_whitespace(column_texts(sheet, place))


def _ended(sheet: Sheet, patterns: Sequence[str]) -> Sheet:
    """The sheet without the line that ends it and all that follows, damaged lines too."""
    end = pc.index(matching(first_texts(sheet), patterns), True).as_py() if sheet.records.num_rows else -1
    if end < 0:
        return sheet
    line = sheet.records["line"][end].as_py()
    behind = tuple((damage.line, damage.last_line) for damage in sheet.damaged if damage.line > line)
    kept = tuple(damage for damage in sheet.damaged if damage.line < line)
    sheet = replace(sheet, damaged=kept, left_out=(*sheet.left_out, *behind))
    return _without(sheet, sheet.records.slice(end), sheet.records.slice(0, end))


def _without(sheet: Sheet, out: pa.Table, kept: pa.Table) -> Sheet:
    """Blank records among those left out are blank lines, as everywhere."""
    blank = pc.equal(first_texts(replace(sheet, records=out)), "") if out.num_rows else pa.array([], pa.bool_())
    held = out.filter(pc.invert(blank))
    lines = zip(held["line"].to_pylist(), held["last_line"].to_pylist(), strict=True)
    empty = out.filter(blank)
    blank_lines = sum(empty["last_line"].to_pylist()) - sum(empty["line"].to_pylist()) + empty.num_rows
    return replace(sheet, records=kept, left_out=(*sheet.left_out, *lines), blank_lines=sheet.blank_lines + blank_lines)


def _filled(sheet: Sheet, columns: Sequence[int]) -> Sheet:
    """On lines where the first of the columns is empty, each of them takes the value of the line above."""
    texts = [column_texts(sheet, place).combine_chunks() for place in range(len(sheet.header))]
    lead = pc.utf8_trim_whitespace(texts[columns[0]])
    takes = pc.and_(pc.equal(lead, ""), pc.not_equal(first_texts(sheet).combine_chunks(), ""))
    numbers = pa.array(range(len(lead)), pa.int64())
    wrote = pc.invert(takes)
    for place in columns:
        empty = pc.and_(takes, pc.equal(pc.utf8_trim_whitespace(texts[place]), ""))
        wrote = pc.or_(wrote, pc.invert(empty))
        # A line on which the first of them is filled begins something new, even where the others hold nothing.
        begun = pc.or_(pc.not_equal(lead, ""), pc.and_(takes, pc.invert(empty)))
        above = texts[place].take(pc.fill_null_forward(pc.if_else(begun, numbers, None)))
        texts[place] = pc.if_else(empty, pc.fill_null(above, ""), texts[place])
    order = np.arange(len(lead) * len(texts)).reshape(len(texts), len(lead)).T.ravel()
    fields = pa.ListArray.from_arrays(
        pa.array(np.arange(len(lead) + 1) * len(texts), pa.int32()), pa.concat_arrays(texts).take(pa.array(order))
    )
    filled = pc.and_(takes, pc.not_equal(pc.utf8_trim_whitespace(texts[columns[0]]), ""))
    lines = tuple(sheet.records["line"].filter(filled).to_pylist())
    whole = tuple(sheet.records["line"].filter(pc.and_(filled, pc.invert(wrote))).to_pylist())
    at = sheet.records.column_names.index("fields")
    records = sheet.records.set_column(at, "fields", pa.chunked_array([fields.cast(FIELDS)], type=FIELDS))
    names = tuple(sheet.header[place] for place in columns)
    many = f"{len(lines):,} line{'s' * (len(lines) != 1)}"
    said = f"{', '.join(names)}: on {many} read from a line above, as the mapping says (fill_down)"
    return replace(
        sheet,
        records=records,
        filled_lines=lines,
        filled_whole=whole,
        filled_columns=names,
        said=(*sheet.said, *((said,) if lines else ())),
    )
