"""What a row of a measure stands for: a case, or a referral or procedure of one; and the columns that rows have.

Goes out: each grain with the column that tells its rows apart and the case table that holds each of them once.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Grain:
    """One grain. The column of its id is `case_ref`, or the number of a referral or a procedure."""

    name: str
    id_column: str
    table: str  # the case table with one row for each


_ALL = (Grain("case", "case_ref", "cases"), Grain("request", "case_ref", "requests"),
        Grain("referral", "referral_id", "referrals"), Grain("division", "division_id", "divisions"))  # fmt: skip
GRAINS = {grain.name: grain for grain in _ALL}
WITHIN_A_CASE = tuple(grain for grain in _ALL if grain.id_column != "case_ref")

# The table `counted`: a row for each measure and each case, referral or procedure it is about, with the id of its own
# grain only. `unit` names what the row stands for, the same in every measure that has it.
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
