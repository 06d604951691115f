"""One practitioner's caseload beside the rest of the service taken together, counted from the rows of the measures.

Comes in: the table `broken_down` of an outcome, and a practitioner's code. Goes out: an OwnAndRest, whose results have
two levels, own and rest. Refuses: a code that leads no case and did no procedure up to the quarter.

Both are counted anew, so that waits and medians are right. A row without a recorded practitioner belongs to the rest.
"""

from __future__ import annotations

from dataclasses import dataclass

import duckdb
import pandas as pd

from pipeline.contracts.measure_files import DAYS, PROPORTION, TIME_TO_EVENT, Breakdown
from pipeline.errors import Fault, Refused
from pipeline.outcomes import counting, results
from pipeline.outcomes.outcome import Outcome
from pipeline.privacy.fit_to_show import MET, NOT_MET, UNKNOWN, Row, fit_to_show
from pipeline.settings import Settings

WHOSE, OWN, REST = "whose", "own", "rest"  # the breakdown, and its two levels
_NOT_RECORDED = "not_recorded"  # the level that stands for no practitioner


@dataclass(frozen=True)
class OwnAndRest:
    """What a practitioner's edition counts."""

    code: str
    results: pd.DataFrame
    waits: pd.DataFrame
    rest_shown: frozenset[tuple[str, str]]  # measure and quarter
    first_seen: int  # cases of the quarter that the practitioner leads
    procedures: int  # of the quarter, with the practitioner as operator


def own_and_rest(con: duckdb.DuckDBPyConnection, outcome: Outcome, settings: Settings, code: str) -> OwnAndRest:
    """Count a practitioner's own rows, and all others together."""
    codes = practitioners(con, outcome.quarter)
    if code not in codes:
        allowed = "one of: " + ", ".join(map(_plain, codes)) if codes else "there is none: no practitioner is recorded"
        found = f"{_plain(code)}: leads no case and did no procedure up to {outcome.quarter}"
        raise Refused(Fault("CODE", found, allowed, "ask for one of those, written as in the records"))
    con.execute(
        "CREATE OR REPLACE TEMP TABLE broken_down AS "
        f"SELECT *, CASE WHEN practitioner = $1 THEN '{OWN}' ELSE '{REST}' END AS {WHOSE} FROM broken_down",
        [code],
    )
    whose = (Breakdown(WHOSE, "Own caseload, and the rest of the service", for_every_measure=True),)
    counts = counting.count(con, outcome.measures, whose)
    day_counts = counting.count_days(con, outcome.measures, whose)
    first = str(outcome.results["quarter"].min())
    found, waits = results.work_out(counts, day_counts, outcome.measures, first, outcome.quarter, outcome.cut_off)
    return OwnAndRest(code, found, waits, _rest_shown(con, outcome, settings), *_caseload(con, outcome.quarter, code))


def practitioners(con: duckdb.DuckDBPyConnection, quarter: str) -> tuple[str, ...]:
    """The codes with any row up to the quarter."""
    rows = con.execute(
        "SELECT DISTINCT practitioner FROM broken_down WHERE practitioner <> $1 AND quarter <= $2 ORDER BY 1",
        [_NOT_RECORDED, quarter],
    ).fetchall()
    return tuple(code for (code,) in rows)


def _plain(code: str) -> str:
    """A code for the terminal: what stands in a record may hold signs that move its cursor."""
    return "".join(sign if sign.isprintable() else "?" for sign in code)


def _rest_shown(con: duckdb.DuckDBPyConnection, outcome: Outcome, settings: Settings) -> frozenset[tuple[str, str]]:
    kinds = {measure.name: measure.kind for measure in outcome.measures}
    rows = con.execute(
        "SELECT measure, quarter, coalesce('procedure ' || procedure_id, 'case ' || case_ref), "
        "nullif(practitioner, $1), met, event FROM broken_down WHERE quarter <= $2 ORDER BY ALL",
        [_NOT_RECORDED, outcome.quarter],
    ).fetchall()
    return fit_to_show(
        (
            Row(measure, quarter, unit, code, _answer(kinds[measure], met, event))
            for measure, quarter, unit, code, met, event in rows
        ),
        kinds,
        settings.at_a_glance,
    )


def _answer(kind: str, met: bool | None, event: int | None) -> str:
    """What a row adds to eligible, known and met, as results.py counts them."""
    said = {PROPORTION: met, TIME_TO_EVENT: {1: True, 2: False}.get(event or 0), DAYS: True}[kind]
    return UNKNOWN if said is None else MET if said else NOT_MET


def _caseload(con: duckdb.DuckDBPyConnection, quarter: str, code: str) -> tuple[int, int]:
    ((cases, procedures),) = con.execute(
        "SELECT (SELECT count(*) FROM cases WHERE lead_practitioner = $1 AND quarter_of(first_contact_date) = $2), "
        "(SELECT count(*) FROM procedures WHERE operator = $1 AND quarter_of(procedure_date) = $2)",
        [code, quarter],
    ).fetchall()
    return int(cases), int(procedures)
