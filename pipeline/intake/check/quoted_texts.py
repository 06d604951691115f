"""What the lists quote of an export: a few words, without signs that are not seen, and nothing that names anyone.

Comes in: the table set_aside, whole. Goes out: the same with each `found` fit to be kept and printed. A screen that
judges columns lets a single value pass that stands in a column of codes or dates; where it is set aside, file, line and
column tell where it stands.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import duckdb
import pyarrow as pa

from pipeline.intake import identify
from pipeline.plain_text import without_unseen_signs

LONGEST = 200  # characters
_QUOTED = pa.schema({"sheet": pa.int32(), "said_as": pa.string(), "found": pa.string(), "quoted": pa.string()})


def make_fit(con: duckdb.DuckDBPyConnection) -> None:
    """Put into `found` what may be quoted of it."""
    columns: dict[tuple[int, str], list[str]] = {}
    for sheet, said_as, found in con.execute("SELECT DISTINCT sheet, said_as, found FROM set_aside").fetchall():
        columns.setdefault((sheet, said_as), []).append(found)
    changed = [
        {"sheet": sheet, "said_as": said_as, "found": found, "quoted": quoted}
        for (sheet, said_as), texts in columns.items()
        for found, quoted in zip(texts, quotable(texts), strict=True)
        if quoted != found
    ]
    if changed:
        con.register("quoted_texts", pa.Table.from_pylist(changed, _QUOTED))
        con.execute(
            "UPDATE set_aside AS s SET found = q.quoted FROM quoted_texts AS q "
            "WHERE s.sheet = q.sheet AND s.said_as = q.said_as AND s.found = q.found"
        )
        con.unregister("quoted_texts")


def quotable(texts: Sequence[str]) -> Iterator[str]:
    """Each text as it may be quoted; they are those found in one column."""
    kinds = identify.kinds_of_texts(texts)
    for text in texts:
        shown = without_unseen_signs(text[:LONGEST])
        if text in kinds:
            yield f"(not shown: it looks like this: {kinds[text]})"
        else:
            yield f"{shown} … ({len(text):,} characters)" if len(text) > LONGEST else shown
