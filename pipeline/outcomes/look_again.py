"""Cases to look at again in a quarter, by the reason.

Comes in: the case tables and a quarter. Goes out: Reasons with their cases. Refuses nothing.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

import duckdb


@dataclass(frozen=True)
class CaseToLookAt:
    """One case under one reason."""

    case_ref: str
    practitioner: str | None
    day: date
    detail: str


@dataclass(frozen=True)
class Reason:
    """Why cases are worth another look, and which."""

    name: str
    title: str
    why: str
    cases: tuple[CaseToLookAt, ...]


def look_again(con: duckdb.DuckDBPyConnection, quarter: str) -> tuple[Reason, ...]:
    """The cases of a quarter to look at again."""
    return ()
