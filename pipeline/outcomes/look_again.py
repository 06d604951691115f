"""Cases whose records are worth looking at again, for each reason there is.

Comes in: a working connection with the case tables, a quarter. Goes out: a Reason for every file of sql/look_again, in
the order of their names, with its cases in the order of the file. Refuses, all files at once: what breaks the contract
of such a list, and a line without a case, a day or a word on it.

These lists are for reviewing records, not for contacting anyone: a reason for which somebody might ring a family leaves
out everyone of whom any load in force says that they died (the table died).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path

import duckdb

from pipeline.contracts.numbered_files import LOOK_AGAIN, look_again_contract, look_again_files
from pipeline.contracts.sql_contract import selected
from pipeline.contracts.sql_file import SqlFile
from pipeline.errors import Fault, Refused


@dataclass(frozen=True)
class CaseToLookAt:
    """One line of a list."""

    case_ref: str
    practitioner: str | None  # the operator for a division, else the lead practitioner; None: not recorded
    day: date
    detail: str


@dataclass(frozen=True)
class Reason:
    """One list: what it is called, who is on it and why, in words, and the cases."""

    name: str
    title: str
    why: str
    cases: tuple[CaseToLookAt, ...]


def look_again(con: duckdb.DuckDBPyConnection, period: str, folder: Path = LOOK_AGAIN) -> tuple[Reason, ...]:
    """Every reason with the cases of the quarter. Raises Refused with the faults of all files."""
    reasons: list[Reason] = []
    faults: list[Fault] = []
    for file in look_again_files(folder):
        try:
            reasons.append(Reason(file.own_name, file.keys["title"], file.keys["why"], _cases(con, period, file)))
        except Refused as refused:
            faults += refused.faults
    if faults:
        raise Refused(faults)
    return tuple(reasons)


def how_many(reasons: Sequence[Reason]) -> int:
    """How many cases stand on any list, each counted once."""
    return len({case.case_ref for reason in reasons for case in reason.cases})


def _cases(con: duckdb.DuckDBPyConnection, period: str, file: SqlFile) -> tuple[CaseToLookAt, ...]:
    rows = selected(con, file, look_again_contract(), {"period": period}).fetchall()
    cases = tuple(CaseToLookAt(*row) for row in rows)
    halves = sum(None in (case.case_ref, case.day, case.detail) for case in cases)
    if halves:
        allowed = "all three in every row; practitioner alone may be empty"
        words = f"{halves} rows without case_ref, day or detail"
        raise Refused(Fault(file.at_columns, words, allowed, "look at what may be NULL in the file"))
    return cases
