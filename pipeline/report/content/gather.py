"""Everything an edition shows, gathered from the store as it stands at an event.

Comes in: a working connection with the case tables, what the report is made with, the outcome, its months and
rare harm judged. Goes out: an EditionContent.
"""

from __future__ import annotations

from collections.abc import Mapping

import duckdb

from pipeline import store
from pipeline.contracts.measure_files import NOTED
from pipeline.contracts.query_files import answer
from pipeline.judgement.mix import Cells, cells
from pipeline.judgement.months import Monthly
from pipeline.judgement.rare_harm import RareHarm
from pipeline.judgement.sides import span
from pipeline.outcomes import accounts
from pipeline.outcomes.look_again import how_many, look_again
from pipeline.outcomes.outcome import Outcome
from pipeline.report.commentary import commentary_view
from pipeline.report.content import provenance
from pipeline.report.content.edition import EditionContent, Quality
from pipeline.report.content.inputs import Basis
from pipeline.report.words.dates import day_label, still_running


def gather(
    con: duckdb.DuckDBPyConnection,
    basis: Basis,
    outcome: Outcome,
    over_time: Mapping[str, Monthly],
    rare_harm: Mapping[str, RareHarm],
) -> EditionContent:
    """The content of the edition of the outcome's quarter."""
    remarks = [
        f"The export of {day_label(drawn)} (load {load}), {said}"
        for load, drawn, said in store.remarks(con, serious=True)
    ]
    return EditionContent(
        settings=basis.settings,
        period=outcome.period,
        measures=outcome.measures,
        breakdowns=outcome.breakdowns,
        lookup=outcome.lookup,
        apart=outcome.apart,
        flow=outcome.flow,
        activity=outcome.activity,
        over_time=over_time,
        months=outcome.months,
        rare_harm=rare_harm,
        within=outcome.within,
        quality=Quality(
            accounts.lines(con),
            accounts.reasons(con),
            accounts.not_recorded(con, outcome.period),
            (
                *basis.said,
                *still_running(outcome.period, outcome.cut_off, basis.settings.year_starts),
                *(remark for remark in remarks if store.ANYWAY in remark),
                *accounts.not_followed_on(con),
                *accounts.no_longer_there_words(accounts.no_longer_there(con)),
                *(remark for remark in remarks if store.ANYWAY not in remark),
            ),
            (
                *accounts.settled_since(con),
                *(f"Load {load}, {said}" for load, _, said in store.remarks(con, serious=False)),
            ),
        ),
        provenance=provenance.of_store(con, outcome.cut_off, basis.settings),
        commentary=commentary_view.view(basis.commentary, basis.commentary_before, outcome.period),
        requests_held=accounts.requests_held(con),
        again=how_many(look_again(con, outcome.period)),
        began=accounts.began(con),
        still_waiting=accounts.still_waiting(con),
        mix=_mix(con, basis, outcome),
    )


def _mix(con: duckdb.DuckDBPyConnection, basis: Basis, outcome: Outcome) -> dict[tuple[str, str, str], Cells]:
    """The mix of families at each site, of the primary measures in the periods that are judged together."""
    asked = {"measures": list(basis.settings.at_a_glance), "periods": list(span(outcome.period))}
    counted = answer(con, "accounts/mix", asked).df()
    return cells(counted, {measure.name for measure in outcome.measures if measure.kind == NOTED})
