"""One practitioner's caseload beside the rest of the service taken together, counted from the rows of the measures.

Comes in: the table `broken_down` of an outcome, and a practitioner's code. Goes out: an OwnAndRest, whose results have
two levels, own and rest. Refuses: a code that leads no case and made no division up to the quarter.

Both are counted anew, so that waits and medians are right. A row without a recorded practitioner belongs to the rest.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import duckdb
import pandas as pd

from pipeline.contracts.breakdown_file import Breakdown, breakdowns
from pipeline.contracts.measure_files import DAYS
from pipeline.contracts.query_files import answer, query_file
from pipeline.contracts.sql_contract import build
from pipeline.errors import Fault, Refused
from pipeline.outcomes import counting, periods, results
from pipeline.outcomes.by_practitioner import alike
from pipeline.outcomes.outcome import Outcome
from pipeline.privacy.fit_to_show import MET, NOT_MET, UNKNOWN, Row, fit_to_show
from pipeline.settings import Settings
from pipeline.statistics.units import Prior

WHOSE, OWN, REST = "whose", "own", "rest"  # the breakdown of sql/practitioner/whose.sql, and its two levels


@dataclass(frozen=True)
class OwnAndRest:
    """What a practitioner's edition counts."""

    code: str
    results: pd.DataFrame
    waits: pd.DataFrame
    rest_shown: frozenset[tuple[str, str]]  # measure and quarter
    first_seen: int  # cases of the quarter that the practitioner leads
    divisions: int  # of the quarter, with the practitioner as operator
    own_divisions: tuple[int, int]  # in the last twelve months, and in all
    own_file: Mapping[tuple[str, str], Sequence[int]]  # measure, year or all -> eligible, known, met
    alike: Mapping[str, Prior]  # measure of yes or no -> how alike all practitioners are, in the quarter


def own_and_rest(con: duckdb.DuckDBPyConnection, outcome: Outcome, settings: Settings, code: str) -> OwnAndRest:
    """Count a practitioner's own rows, and all others together. Raises Refused."""
    codes = practitioners(con, outcome.period)
    if code not in codes:
        allowed = "one of: " + ", ".join(map(_plain, codes)) if codes else "there is none: no practitioner is recorded"
        words = f"{_plain(code)}: leads no case and made no division up to {outcome.period}"
        raise Refused(Fault("CODE", words, allowed, "ask for one of those, written as in the records"))
    by_code = counting.count(con, outcome.measures, tuple(split for split in breakdowns() if split.in_own_file))
    build(con, "broken_down", query_file("practitioner/whose"), {"code": code})
    whose = (Breakdown(WHOSE, "Own caseload, and the rest of the service", for_every_measure=True),)
    counts = counting.count(con, outcome.measures, whose)
    day_counts = counting.count_days(con, outcome.measures, whose)
    wanted = sorted(outcome.results["period"].unique())
    year_starts = settings.year_starts
    figures, waits = results.work_out(counts, day_counts, outcome.measures, wanted, outcome.cut_off, year_starts)
    values = {"code": code, "period": outcome.period}
    ((first_seen, divisions),) = answer(con, "practitioner/caseload", values).fetchall()
    span = {
        "code": code,
        "last": periods.last_day(outcome.period, year_starts),
        "year_before": periods.last_day(periods.year_before(outcome.period), year_starts),
    }
    return OwnAndRest(
        code=code,
        results=figures,
        waits=waits,
        rest_shown=_rest_shown(con, outcome, settings),
        first_seen=first_seen,
        divisions=divisions,
        own_divisions=answer(con, "practitioner/own_divisions_made", span).fetchall()[0],
        alike=alike(by_code, outcome.measures, outcome.period),
        own_file={(name, of): numbers for name, of, *numbers in answer(con, "practitioner/own_file", span).fetchall()},
    )


def practitioners(con: duckdb.DuckDBPyConnection, period: str) -> tuple[str, ...]:
    """The codes with any row up to the quarter."""
    return tuple(code for (code,) in answer(con, "practitioner/codes", {"period": period}).fetchall())


def _plain(code: str) -> str:
    """A code for the terminal: what stands in a record may hold signs that move its cursor."""
    return "".join(sign if sign.isprintable() else "?" for sign in code)


def _rest_shown(con: duckdb.DuckDBPyConnection, outcome: Outcome, settings: Settings) -> frozenset[tuple[str, str]]:
    kinds = {measure.name: measure.kind for measure in outcome.measures}
    rows = answer(con, "practitioner/answers", {"period": outcome.period}).fetchall()
    return fit_to_show(
        (Row(measure, period, unit, code, _answer(kinds[measure], met)) for measure, period, unit, code, met in rows),
        kinds,
        settings.at_a_glance,
    )


def _answer(kind: str, met: bool | None) -> str:
    """What a row adds to eligible, known and met, as results.py counts them."""
    said = True if kind == DAYS else met
    return UNKNOWN if said is None else MET if said else NOT_MET
