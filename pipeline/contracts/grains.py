"""What a row of a measure stands for: a case, a request, or a referral or division of a case; and its columns.

Goes out: each grain with the column that tells its rows apart and the case table that holds each of them once.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Grain:
    """One grain. The column of its id is `case_ref`, or the number of a referral or a division."""

    name: str
    id_column: str
    table: str  # the case table with one row for each


_ALL = (Grain("case", "case_ref", "cases"), Grain("request", "case_ref", "requests"),
        Grain("referral", "referral_id", "referrals"), Grain("division", "division_id", "divisions"))  # fmt: skip
GRAINS = {grain.name: grain for grain in _ALL}
WITHIN_A_CASE = tuple(grain for grain in _ALL if grain.id_column != "case_ref")

# The table `counted`: a row for each measure and each case, request, referral or division it is about, with the id of
# its own grain only. `unit` names what the row stands for, the same in every measure that has it.
COUNTED = {
    "measure": "VARCHAR",
    "case_ref": "VARCHAR",
    **{grain.id_column: "BIGINT" for grain in WITHIN_A_CASE},
    "unit": "VARCHAR",
    "index_date": "DATE",
    "met": "BOOLEAN",
    "days": "INTEGER",
    "event": "INTEGER",
}
