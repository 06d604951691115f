"""Everything a practitioner edition shows, gathered from the store as it stands at an event.

Comes in: a working connection with the case tables and the measures' rows, what it is made with, the outcome, a code.
Goes out: a PractitionerContent. Refuses: a code without a figure; and it takes no text of the store along but that code
and the practitioner's own cases, since export and file names, remarks and settings may hold another code.
"""

from __future__ import annotations

from dataclasses import replace

import duckdb

from pipeline import __version__, store
from pipeline.outcomes import accounts
from pipeline.outcomes.look_again import Reason, look_again
from pipeline.outcomes.outcome import Outcome
from pipeline.outcomes.own_and_rest import own_and_rest
from pipeline.report.content.edition import PractitionerContent
from pipeline.report.content.inputs import Basis


def gather_practitioner(
    con: duckdb.DuckDBPyConnection, basis: Basis, outcome: Outcome, code: str
) -> PractitionerContent:
    """The content of the edition of one practitioner, for the outcome's quarter."""
    loads = con.execute("SELECT load, extracted_on FROM loads_in_force ORDER BY load").fetchall()
    return PractitionerContent(
        settings=basis.settings,
        period=outcome.period,
        cut_off=outcome.cut_off,
        version=__version__,
        loads=tuple(loads),
        warned=bool(basis.said or store.remarks(con, serious=True) or accounts.not_followed_on(con)),
        measures=outcome.measures,
        counted=own_and_rest(con, outcome, basis.settings, code),
        reasons=_own(look_again(con, outcome.period), code),
    )


def _own(reasons: tuple[Reason, ...], code: str) -> tuple[Reason, ...]:
    """The reasons that list a case of the practitioner's own, with those cases only."""
    own = (
        replace(reason, cases=tuple(case for case in reason.cases if case.practitioner == code)) for reason in reasons
    )
    return tuple(reason for reason in own if reason.cases)
