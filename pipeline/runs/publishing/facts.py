"""What a release says beside its counts: on its pages, and in its entry of the ledger.

Comes in: a session, what is public, what was chosen. Goes out: the public frame without figures, the entry, how much is
shown.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

import pandas as pd

from pipeline import __version__, store
from pipeline.outcomes import periods
from pipeline.privacy.publication import release_record
from pipeline.privacy.publication.count_cells import Place
from pipeline.privacy.publication.count_system import CountSystem
from pipeline.privacy.publication.frozen_counts import ACTIVITY, EVERYONE, MEASURE, Counts, Key
from pipeline.privacy.publication.ledger import ELSEWHERE, PUBLICATION, Entry
from pipeline.privacy.publication.release_frame import FIRST_SEEN
from pipeline.privacy.publication.release_record import Recorded
from pipeline.privacy.publication.wanted import Wanted
from pipeline.privacy.release.public_frame import COLUMNS, PublicAction, PublicFrame
from pipeline.privacy.release.withholding import Chosen
from pipeline.runs.publishing.prepare import Public, few_cases
from pipeline.session import Session


@dataclass(frozen=True)
class HowMuch:
    """How much of what a release would like to print it prints."""

    headlines: int  # figures of everyone whose share can be read
    of_headlines: int
    rows: int  # rows of breakdowns whose share can be read
    of_rows: int
    activity: int  # counts
    of_activity: int
    withheld: tuple[str, ...]  # each count that is not printed
    for_size: int  # of these, small ones
    for_others: int  # and those that would give a small one away


def frame(
    session: Session,
    those: Sequence[Entry],
    what: Public,
    counts: Mapping[str, Counts],
    approved_by: str,
    actions: tuple[PublicAction, ...],
) -> PublicFrame:
    """All that the pages hold but the figures."""
    settings = session.basis.settings
    is_year = periods.kind(session.basis.period) == periods.YEAR
    few = few_cases(session, what, counts)
    return PublicFrame(
        figures=pd.DataFrame(columns=list(COLUMNS)),  # not yet
        period=session.basis.period,
        year_starts=settings.year_starts,
        service=settings.service,
        contact=settings.contact,
        about=settings.publish.about,
        approved_by=re.sub(r"(?i)^the\s+", "", approved_by.strip()),  # the pages say "by the"
        data_up_to=session.cut_off,
        k=settings.publish.withheld_up_to,
        known_enough=settings.publish.six_weeks_known,
        seen_promptly_days=settings.seen_promptly_days,
        licence=settings.publish.licence,
        activity_only=few,
        least_cases=settings.publish.least_cases,
        measures=() if few else what.shown,
        activity_titles=_titles(what) if is_year else {},
        breakdown_titles={split.name: split.title for split in what.splits} if is_year else {},
        at_a_glance=settings.at_a_glance,
        actions=actions,
        version=__version__,
        earlier=tuple(entry.period for entry in those if entry.is_publication),
    )


def _titles(what: Public) -> dict[str, str]:
    return {FIRST_SEEN: "Cases first seen", **{file.own_name: file.keys["title"] for file in what.files}}


def entry(
    session: Session,
    what: Public,
    want: Wanted,
    linked: CountSystem,
    chosen: Chosen,
    approved_by: str,
) -> dict[str, Any]:
    """What the ledger says of the release; its number, chain and files are the ledger's own."""
    choices = session.basis.settings.publish
    return {
        "kind": PUBLICATION,
        "period": session.basis.period,
        "made_on": date.today().isoformat(),
        "approved_by": approved_by,
        "version": __version__,
        "data_up_to": session.cut_off.isoformat(),
        "event": session.event,
        "loads": {str(load): mark for load, mark in sorted(store.fingerprints(session.con).items())},
        "k": choices.withheld_up_to,
        "unknown_counts": "no secret: they say how records are kept",
        "all_or_none": "rows of 5 to 9 people whose answer is known",
        "definitions": what.definitions,
        "block": want.block,
        "withheld_for_size": chosen.primary,
        "withheld_to_protect_others": chosen.helpers,
        "decoys": len(chosen.decoys),
        **release_record.cells_said(linked, chosen, want.places),
    }


def elsewhere(
    those: Sequence[Entry], kept: Mapping[int, Recorded], given: Mapping[Place, int], what: str, approved_by: str
) -> tuple[dict[str, Any], int]:
    """What the ledger says of figures that went out another way, and how many no release holds yet.

    Of a count that is frozen the frozen value is kept, with what was given beside it: the two may differ.
    """
    frozen = release_record.frozen_values(those, kept)
    listed = [[*release_record.written(place), frozen.get(place, given[place])] for place in sorted(given)]
    said = {
        "kind": ELSEWHERE,
        "period": ", ".join(sorted({period for period, _ in given})),
        "made_on": date.today().isoformat(),
        "approved_by": approved_by,
        "what": what,
        "version": __version__,
        "printed": listed,
        "given": [given[place] for place in sorted(given)],
    }
    return said, sum(place not in frozen for place in given)


def how_much(want: Wanted, linked: CountSystem, chosen: Chosen, what: Public) -> HowMuch:
    """How much of what was wanted is shown: headlines, and rows of breakdowns whose share can be read."""

    def out(place: Place) -> bool:
        return place in linked.at and bool(chosen.printed[linked.at[place]])

    noted = {measure.name for measure in what.shown if measure.kind == "noted"} | set(what.waits)
    headlines = rows = of_headlines = of_rows = 0
    withheld = []
    for period, key in want.places:
        if key.table == MEASURE and key.part == "met":
            whole = Key(key.table, key.name, key.breakdown, key.level, "eligible" if key.name in noted else "known")
            shown = out((period, key)) and out((period, whole))
            anybody = want.periods[period][whole] > 0  # of nobody there is no share
            if key.breakdown == EVERYONE:
                of_headlines, headlines = of_headlines + anybody, headlines + (shown and anybody)
            else:
                of_rows, rows = of_rows + anybody, rows + (shown and anybody)
        if not out((period, key)):
            withheld.append(_said(key) + (f" ({period})" if period == want.block else ""))
    activity = [place for place in want.places if place[1].table == ACTIVITY]
    return HowMuch(
        headlines, of_headlines, rows, of_rows, sum(map(out, activity)), len(activity), tuple(withheld),
        chosen.primary, chosen.helpers,
    )  # fmt: skip


def _said(key: Key) -> str:
    if key.table == ACTIVITY:
        return f"{key.name}: {'total' if key.level == EVERYONE else key.level}"
    where = "everyone" if key.breakdown == EVERYONE else f"{key.breakdown} {key.level}"
    return f"{key.name}, {where}: {key.part.replace('_', ' ')}"
