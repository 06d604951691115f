"""One spelling of each site, practitioner and destination within an export: case and blanks alone make no second one.

Comes in: the written tables. Goes out: the same, each with its most frequent spelling (of equally frequent ones the
first in order), and a remark for each that had several. Refuses to say in a remark who a practitioner is.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import groupby

import duckdb

from pipeline.intake import statements
from pipeline.intake.map import field_sql

_COLUMNS = (
    ("site", "cases", "site"),
    ("site", "requests", "site"),
    ("practitioner", "contacts", "practitioner"),
    ("practitioner", "assessments", "practitioner"),
    ("practitioner", "procedures", "operator"),
    ("destination", "referrals", "destination"),
)
_SAME = "differ only in case and blanks, and count as one"


def unify(con: duckdb.DuckDBPyConnection) -> Iterator[str]:
    """Put each text into its most frequent spelling; what was done, in words."""
    statements.make_table(con, "spellings")
    spelled = con.execute("SELECT what, spelling, text, rows FROM spellings ORDER BY ALL").fetchall()
    for what, table, column in _COLUMNS if spelled else ():
        con.execute(field_sql.spelled(table, column), [what])
    for what, of_what in groupby(spelled, key=lambda row: row[0]):
        if what == "practitioner":
            rows = [count for *_, count in of_what]
            yield f"practitioner, operator: {len(rows):,} spellings in {sum(rows):,} rows and others {_SAME}"
            continue
        for spelling, others in groupby(of_what, key=lambda row: row[1]):
            told = ", ".join(f'"{text}" ({count:,})' for _, _, text, count in others)
            yield f'{what}: {told} and "{spelling}" {_SAME}: {spelling}'
