"""The columns of a sheet: the distinct texts of each with their numbers, drawn from its records by Arrow.

Comes in: a Sheet. Goes out: plain mappings, trimmed, nothing empty among them.
"""

from __future__ import annotations

from collections.abc import Mapping

import pyarrow as pa
import pyarrow.compute as pc

from pipeline.intake.read.sheet import Sheet


def distinct_texts(sheet: Sheet, position: int) -> Mapping[str, int]:
    """Distinct text of the column, trimmed of white space -> how many records hold it; the empty text is left out."""
    if not sheet.records.num_rows:
        return {}
    texts = pc.utf8_trim_whitespace(column_texts(sheet, position))
    counted = texts.combine_chunks().value_counts() if isinstance(texts, pa.ChunkedArray) else texts.value_counts()
    counts = zip(counted.field("values").to_pylist(), counted.field("counts").to_pylist(), strict=True)
    return {text: count for text, count in counts if text}


def column_texts(sheet: Sheet, position: int) -> pa.ChunkedArray:
    """The texts of the column, one for each record, as written."""
    return pc.list_element(sheet.records["fields"], position)
