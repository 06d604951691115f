"""Rows of the published measures from exports dense in ties and boundary days, for what releases rest on.

The exports are those of the second computation, which knows nothing of releases; their rows are those of this program.
"""

from __future__ import annotations

import pickle
from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from pathlib import Path

import pandas as pd
import pytest

from pipeline import run
from pipeline.contracts.measure_files import Measure
from pipeline.privacy.publication.frozen_counts import EVERYONE, Key, frozen
from pipeline.progress import Progress
from pipeline.runs.publishing import release_counts
from pipeline.runs.publishing.prepare import Public, what_is_public
from pipeline.session import opened
from tests.conftest import INVENTED, made_once
from tests.second_opinion.nasty import write_export

FOLLOWED = timedelta(days=100)  # longer than any measure waits


@dataclass(frozen=True)
class Drawn:
    """One export's rows, of everyone followed to the end; and the frozen counts of all of them as one quarter."""

    measures: tuple[Measure, ...]
    what: Public
    rows: list[tuple[str, str, date, bool | None, int | None, int | None]]  # measure, unit, day, met, days, event
    counts: dict[Key, int]


def three_drawn(factory: pytest.TempPathFactory) -> list[Drawn]:
    """Three exports of 250 cases, loaded and counted by the worker that asks first, for all."""

    def draw(folder: Path) -> str:
        folder.mkdir()
        those = [drawn(folder, seed, 250) for seed in (20260711, 20260712, 20260713)]
        (folder / "drawn.pickle").write_bytes(pickle.dumps(those))
        return ""

    folder, _ = made_once(factory, "drawn", draw)
    those: list[Drawn] = pickle.loads((folder / "drawn.pickle").read_bytes())
    return those


def only(drew: Drawn, breakdowns: Collection[str]) -> Drawn:
    """The same of everyone and of so many breakdowns only."""
    kept = {EVERYONE, "", *breakdowns}
    return replace(drew, counts={key: count for key, count in drew.counts.items() if key.breakdown in kept})


def drawn(folder: Path, seed: int, cases: int) -> Drawn:
    """Load the export of a seed, and count everyone whose days are over as if it were one quarter."""
    audit = folder / f"audit{seed}"
    run.new(audit)
    cut_off = write_export(folder / f"export{seed}", seed, cases)
    run.load(audit, folder / f"export{seed}", cut_off, accept_anyway=INVENTED)
    with opened(audit, None) as session:
        what = what_is_public(session.measures)
        con = session.con
        parts, acts = release_counts.by_quarter(con, what.measures, session.basis.settings, "9999Q4", Progress())
        last = cut_off - FOLLOWED
        con.execute("DELETE FROM broken_down WHERE index_date > $1", [last])
        rows = con.execute("SELECT measure, unit, index_date, met, days, event FROM broken_down").fetchall()
        con.execute("UPDATE broken_down SET quarter = '2026Q1'")
        parts = release_counts.parts(con, what.measures)
        acts = pd.DataFrame(columns=acts.columns)  # of other days than the rows here
        return Drawn(session.measures, what, rows, frozen(parts, acts, "2026Q1", what.measures, what.files))


def together(those: Sequence[Drawn]) -> dict[tuple[str, str], set[tuple[int, str]]]:
    """Which rows are in each part of each measure."""
    found: dict[tuple[str, str], set[tuple[int, str]]] = {}
    for number, one in enumerate(those):
        for measure, unit, _, met, days, event in one.rows:
            parts = {"eligible", "unknown" if met is None else "known"}
            if met is not None:
                parts.add("met" if met else "not_met")
            if event is not None and days is not None:
                parts |= {f"by_{day}" for day in (7, 14) if event == 1 and days <= day}
                if met is False:
                    parts.add("ended" if event == 2 and days <= 28 else "waiting")
            for part in parts:
                found.setdefault((measure, part), set()).add((number, unit))
    return found
