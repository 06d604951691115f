"""Every row of the results, and every line of the files, against a second computation.

The second one (tests/second_opinion) was written in plain Python from the definitions alone, by someone who had not
seen this program; its exports are dense in ties, boundary days and damage. Invented rows.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from datetime import date
from pathlib import Path
from typing import Any

import pandas as pd
import pytest

from pipeline import run
from pipeline.contracts.breakdown_file import breakdowns
from pipeline.outcomes import periods
from pipeline.outcomes.by_practitioner import by_practitioner
from pipeline.outcomes.outcome import Outcome
from pipeline.progress import Progress
from pipeline.session import opened
from tests.conftest import INVENTED
from tests.second_opinion.activity import make_activity
from tests.second_opinion.facts import Settings
from tests.second_opinion.nasty import write_export
from tests.second_opinion.reckoning import Reckoning, reckon
from tests.second_opinion.results import BREAKDOWNS, make_results, period_of

JANUARY, APRIL, OCTOBER = 1, 4, 10
NAMED = ("measure", "kind", "period", "breakdown", "level", "complete")
NUMBERS = ("eligible", "known", "met", "unknown", "value", "lower", "upper", "bound_low", "bound_high")
CURVE = ("at_risk", "events", "competing", "censored", "incidence", "lower", "upper")
Rows = Iterable[dict[Any, Any]]


def figure(value: Any) -> float | None:
    return None if value is None or pd.isna(value) else float(value)


def keyed(rows: Rows, named: tuple[str, ...], numbers: tuple[str, ...]) -> dict[Any, list[float | None]]:
    found = {tuple(row[name] for name in named): [figure(row.get(number)) for number in numbers] for row in rows}
    assert len(found) > 300
    return found


def differing(ours: dict[Any, list[float | None]], theirs: dict[Any, list[float | None]]) -> list[Any]:
    """What one side lacks, and where a number is not the same."""
    found: list[Any] = sorted(ours.keys() ^ theirs.keys())
    for key in ours.keys() & theirs.keys():
        for one, other in zip(ours[key], theirs[key], strict=True):
            if (one is None) != (other is None) or not math.isclose(one or 0, other or 0, rel_tol=1e-9, abs_tol=1e-12):
                found.append((key, ours[key], theirs[key]))
                break
    return found


def worked_out(audit: Path, period: str, year_starts: int) -> tuple[Outcome, pd.DataFrame]:
    """The outcome up to a period, and the rows by practitioner."""
    with opened(audit, period) as session:
        outcome = run.worked_out(session, Progress())
        (split,) = (split for split in breakdowns() if split.in_own_file)
        return outcome, by_practitioner(session.con, outcome, split, year_starts)[0]


def compare(audit: Path, theirs: Reckoning, cut_off: date, kind: str, year_starts: int) -> None:
    period = periods.of(cut_off, kind, year_starts)
    outcome, practitioners = worked_out(audit, period, year_starts)
    settings, kinds = Settings(year_starts), f"{kind}s"
    reported = period_of(cut_off, kinds, settings)
    results, own, waits = make_results(theirs.subjects, settings, kinds, reported)
    activity = make_activity(theirs.subjects, settings, kinds)
    if kind == periods.YEAR and year_starts == JANUARY:  # here 2026, there 2026-27
        activity = {(name[:4], *row): count for (name, *row), count in activity.items()}
        for line in (*results, *own, *waits):
            line["period"] = line["period"][:4]
    for ours, other in ((outcome.results, results), (practitioners, own)):
        found = ours.to_dict("records")
        assert differing(keyed(found, NAMED, NUMBERS), keyed(other, NAMED, NUMBERS)) == []
    assert {row["breakdown"] for row in results} == BREAKDOWNS.keys() - {"practitioner"}

    happened = [row for row in waits if row["events"] or row["competing"] or row["censored"]]
    days = ("measure", "period", "breakdown", "level", "day")
    assert differing(keyed(outcome.waits.to_dict("records"), days, CURVE), keyed(happened, days, CURVE)) == []
    counted = {tuple(row[:3]): row[3] for row in outcome.activity.itertuples(index=False)}
    assert counted == activity


@pytest.mark.parametrize(("seed", "year_starts"), [(20260701, APRIL), (20260702, JANUARY), (20260703, OCTOBER)])
def test_results_and_accounts_equal_an_independent_computation(
    audit: Path, tmp_path: Path, seed: int, year_starts: int
):
    settings = audit / "audit.toml"
    text = settings.read_text(encoding="utf-8")
    assert text.count("\nyear_starts = 4\n") == 1
    settings.write_text(text.replace("\nyear_starts = 4\n", f"\nyear_starts = {year_starts}\n"), encoding="utf-8")
    export = tmp_path / "export"
    export.mkdir()
    cut_off = write_export(export, seed, 200)
    loaded = run.load(audit, export, cut_off, accept_anyway=INVENTED)
    theirs = reckon(export, cut_off)

    parts = ("lines", "header", "blank", "accepted", "set_aside", "repeats")
    for counts in loaded.examined.counts:
        account = theirs.accounts[counts.file.removesuffix(".csv")]
        assert {part: getattr(counts, part) for part in parts} == {part: getattr(account, part) for part in parts}
    for kind in (periods.QUARTER, periods.YEAR):
        compare(audit, theirs, cut_off, kind, year_starts)
