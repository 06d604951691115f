"""What a planted fault is, and which rows can bear one.

Comes in: a row and all rows of its case. Goes out: the shape of a fault, and whether a row suits it. Refuses: to
declare any; that is for faults.py alone.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

Values = Mapping[str, str]
Case = Mapping[str, Sequence[Values]]  # all rows of one case, by table

ROW, VALUE, REPEAT, BLANK = "row set aside", "value set aside", "repeat", "blank"
ACCEPTED, EXTRA = "accepted as it stands", "extra column, reported and left out"


def same(values: Values, case: Case) -> Values:
    """The row as it is."""
    return values


@dataclass(frozen=True)
class Fault:
    """One fault: the row it suits, what it does to it, and what should become of the line."""

    table: str  # where the row to spoil is looked for
    at: float  # how far down that file the looking begins
    wrong: str
    becomes: str
    fits: Callable[[Values, Case], bool]
    change: Callable[[Values, Case], Values] = same
    spoil: Callable[[str], str] | None = None  # what is done to the finished line
    into: str = ""  # the file that gets a further line; empty: the row found is changed itself
    last: bool = False  # the further line stands at the end of its file
    both: bool = False  # the row found shares the fate of the further one


def shifted(day: str, days: int) -> str:
    """The day so many days later, or earlier."""
    return (date.fromisoformat(day) + timedelta(days=days)).isoformat()


def first_contact(case: Case) -> str:
    """The case's first contact."""
    return case["cases"][0]["first_contact_date"]


def never_referred(values: Values, case: Case) -> bool:
    """A case of two contacts and nothing more: little hangs on it."""
    return not case["referrals"] and not case["procedures"] and len(case["contacts"]) == 2


def later_contact(values: Values, case: Case) -> bool:
    """The third contact of a case that was not referred: no figure of the report hangs on it."""
    days = sorted(row["contact_date"] for row in case["contacts"])
    return not case["referrals"] and len(days) > 2 and values["contact_date"] == days[2]


def divided_once(values: Values, case: Case) -> bool:
    """A case with one procedure of this service and no complication."""
    return (
        len(case["procedures"]) == 1
        and not case["complications"]
        and case["procedures"][0]["procedure_date"] > first_contact(case)
    )


def without_tie(values: Values, case: Case) -> bool:
    """An assessment that found no tie, of a case that was not referred."""
    return not case["referrals"] and values["tie_type"] == "none"


def late_check(values: Values, case: Case) -> bool:
    """A feeding check after the first contact, of a case that was not divided."""
    return values["check_date"] > first_contact(case) and not case["procedures"]


def noted(case_ref: str, day: str, kind: str) -> Values:
    """A row of `complications`."""
    return {"case_ref": case_ref, "noted_date": day, "kind": kind, "severity": "minor"}
