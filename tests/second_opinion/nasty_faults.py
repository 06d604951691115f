"""Faults put into rows: about one row in twenty, every kind the layout document speaks of.

In: the rows of a table. Out: the rows with some spoilt and some doubled. Refuses: to say what should become of them;
that is for the two readers to find out each on their own.
"""

from __future__ import annotations

from datetime import date, timedelta
from random import Random

from .layout import ROW_DATE, TABLES, Column
from .nasty_cases import Fields

FAULTY = 0.05
BAD_DATES = (
    "31/07/2025",
    "2025-02-29",
    "2025-2-03",
    "20250203",
    "2025-13-01",
    "2025-04-31",
    "2025-04-30T00:00",
    "soon",
)
BAD_NUMBERS = (
    "5.0",
    "+5",
    "1e1",
    "five",
    "\uff15",
    "٥",
    "5 5",
    "-1",
    *3 * ("-0000000000",),
    "00000000000000000005",
    "5-",
    "5_0",
)
BAD_CODES = (
    "Yes",
    "YES",
    "y",
    "true",
    "1",
    "Resolved",
    "EXCLUSIVE",
    "unknown",
    "not known",
    "not-known",
    "n/a",
    "none ?",
)
LONG = "case_" + 60 * "x"  # 65 characters, one too many


def bad_value(rng: Random, column: Column) -> str:
    """A value the column does not allow; for a must-column nothing at all is one, too."""
    if column.must and rng.random() < 0.4:
        return "" if column.kind == "text" else rng.choice(("", " ", "not_known"))
    if column.kind == "date":
        return rng.choice(BAD_DATES)
    if column.kind == "integer":
        return rng.choice((*BAD_NUMBERS, str(column.low - 1), str(column.high + 1)))
    if column.kind == "code":
        return rng.choice((*BAD_CODES, column.values[0].upper()))
    return LONG if column.name == "case_ref" else ""


def spoil_optional(rng: Random, table: str, row: Fields) -> Fields:
    columns = [column for column in TABLES[table] if not column.must and column.kind != "text"]
    column = rng.choice(columns)
    return row | {column.name: bad_value(rng, column)}


def spoil_must(rng: Random, table: str, row: Fields) -> Fields:
    column = rng.choice([column for column in TABLES[table] if column.must])
    return row | {column.name: bad_value(rng, column)}


def spoil_date(rng: Random, table: str, row: Fields, cut_off: date) -> Fields:
    """Some date of the row falls after the cut-off."""
    column = rng.choice([column for column in TABLES[table] if column.kind == "date"])
    return row | {column.name: (cut_off + timedelta(days=rng.choice((1, 1, 30, 3650)))).isoformat()}


def spoil_order(rng: Random, table: str, row: Fields) -> Fields:
    """Dates of the row, or of the row and its case, contradict each other (often; sometimes the day just fits)."""
    back = timedelta(days=rng.choice((1, 1, 2, 40)))
    if table == "cases":
        first = row["first_contact_date"]
        if rng.random() < 0.5:
            return row | {"help_requested_date": (date.fromisoformat(first) + back).isoformat()}
        return row | {"closed_date": (date.fromisoformat(first) - back).isoformat()}
    if table == "requests" or (table == "referrals" and rng.random() < 0.5):
        return row | {"outcome_date": (date.fromisoformat(row[ROW_DATE[table]]) - back).isoformat()}
    name = ROW_DATE[table]
    return row | {name: (date.fromisoformat(row[name]) - timedelta(days=rng.choice((1, 7, 90, 400)))).isoformat()}


def spoil_case_ref(rng: Random, table: str, row: Fields) -> Fields:
    """A row of a case that is not there; a case_ref in capitals is another case."""
    ref = row["case_ref"]
    strangers = [f"nobody_{rng.randint(1, 9)}", ref.upper(), ref + "_", LONG]
    return row | {"case_ref": rng.choice(strangers if table == "cases" else [*strangers, "not_known"])}


def spoilt(rng: Random, table: str, row: Fields, cut_off: date) -> Fields:
    kind = rng.choice(("optional", "optional", "must", "date", "order", "order", "case_ref"))
    if (kind == "optional" and table != "referrals") or (kind == "optional" and rng.random() < 0.5):
        return spoil_optional(rng, table, row)
    if kind == "date":
        return spoil_date(rng, table, row, cut_off)
    if kind == "order":
        return spoil_order(rng, table, row)
    return spoil_case_ref(rng, table, row) if kind == "case_ref" else spoil_must(rng, table, row)


def twin(rng: Random, table: str, row: Fields) -> tuple[Fields, Fields]:
    """The row, perhaps a little changed, and another that is equal to it, nearly equal, or different.

    Equal all the same: one side empty and the other not_known or not allowed. Not equal: not_recorded and empty.
    """
    column = rng.choice([column for column in TABLES[table] if not column.must])
    kind = rng.choice(("exact", "exact", "exact", "not_known", "bad", "differs", "differs", "must_differs"))
    if kind == "exact":
        return row, dict(row)
    if kind == "not_known":
        return row | {column.name: ""}, row | {column.name: "not_known"}
    if kind == "bad" and column.kind != "text":
        return row | {column.name: ""}, row | {column.name: bad_value(rng, column)}
    if kind == "must_differs":
        return row, spoil_must(rng, table, row)
    if column.kind == "code":
        return row | {column.name: rng.choice(("", column.values[0]))}, row | {column.name: column.values[-1]}
    if column.kind == "integer":
        return row | {column.name: str(column.low)}, row | {column.name: rng.choice(("", str(column.high)))}
    return row | {column.name: ""}, row | {column.name: "2024-02-29" if column.kind == "date" else "d9"}


def with_faults(rng: Random, table: str, rows: list[Fields], cut_off: date) -> list[Fields]:
    """The rows in another order, some spoilt, some doubled."""
    made = []
    for row in rows:
        chance = rng.random()
        if chance < FAULTY * 0.6:
            made.append(spoilt(rng, table, row, cut_off))
        elif chance < FAULTY:
            made += twin(rng, table, row)
        else:
            made.append(row)
    rng.shuffle(made)
    return made
