"""What must hold of any results: nested counts, levels that add up, no order, the same bytes twice. Invented rows."""

from __future__ import annotations

import random
from pathlib import Path

import pandas as pd
import pytest

from pipeline import run
from pipeline.contracts.breakdown_file import breakdowns, shown_to_all
from pipeline.outcomes.outcome import Outcome
from tests.conftest import INVENTED, work_out_folder
from tests.second_opinion.nasty import write_export


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An audit folder with one export that is dense in edge cases."""
    place = tmp_path_factory.mktemp("invariants")
    run.new(place / "audit")
    (place / "export").mkdir()
    cut_off = write_export(place / "export", 20260704, 400)
    run.load(place / "audit", place / "export", cut_off, accept_anyway=INVENTED)
    return place / "audit"


@pytest.fixture(scope="module")
def outcome(folder: Path) -> Outcome:
    return work_out_folder(folder)


def test_the_columns_are_those_of_the_design_in_their_order(outcome: Outcome):
    # As the design lists them.
    assert ",".join(outcome.results.columns) == (
        "measure,kind,period,breakdown,level,eligible,known,met,unknown,value,lower,upper,bound_low,bound_high,method,"
        "complete"
    )
    assert ",".join(outcome.waits.columns) == (
        "measure,period,breakdown,level,day,at_risk,events,competing,censored,incidence,lower,upper"
    )
    keys = outcome.results[["measure", "period", "breakdown", "level"]]
    assert keys.apply(tuple, axis=1).is_monotonic_increasing
    assert not keys.duplicated().any()


def test_met_is_within_known_within_eligible_and_unknown_is_the_rest(outcome: Outcome):
    rows = outcome.results[outcome.results["kind"] != "days"]
    assert len(rows) > 1000
    assert (rows["met"] <= rows["known"]).all()
    assert (rows["known"] <= rows["eligible"]).all()
    assert (rows["known"] + rows["unknown"] == rows["eligible"]).all()


def test_value_limits_and_bounds_are_in_order(outcome: Outcome):
    rows = outcome.results
    part = rows[(rows["kind"] == "proportion") & (rows["known"] > 0)]
    assert (part["lower"] <= part["value"]).all()
    assert (part["value"] <= part["upper"]).all()
    # The value of the known lies between what would hold if the unknown were all no, or all yes.
    assert (part["bound_low"] <= part["value"] + 1e-12).all()
    assert (part["value"] <= part["bound_high"] + 1e-12).all()
    shares = rows[rows["kind"] != "days"][["value", "lower", "upper", "bound_low", "bound_high"]]
    assert ((shares >= 0) | shares.isna()).all(axis=None)
    assert ((shares <= 1) | shares.isna()).all(axis=None)


def test_the_levels_of_every_breakdown_add_up_to_all(outcome: Outcome):
    counts = ["eligible", "known", "met", "unknown"]
    sums = outcome.results.fillna(dict.fromkeys(counts, 0)).groupby(["measure", "period", "breakdown"])[counts].sum()
    everyone = sums.xs("all", level="breakdown")
    others = sums.drop(index="all", level="breakdown").reset_index("breakdown")
    assert {"all", *others["breakdown"]} == {breakdown.name for breakdown in shown_to_all(breakdowns())}
    pd.testing.assert_frame_equal(others[counts], everyone.loc[others.index], check_dtype=False)


def test_the_curve_of_a_wait_agrees_with_its_row(outcome: Outcome):
    keys = ["measure", "period", "breakdown", "level"]
    curves = outcome.waits
    by_28 = curves[curves["day"] <= 28].groupby(keys)["events"].sum()
    lost = curves[curves["day"] < 28].groupby(keys)["censored"].sum()
    rows = outcome.results[outcome.results["kind"] == "time_to_event"].set_index(keys)
    assert len(by_28) > 100
    assert (rows.loc[by_28.index, "met"] == by_28).all()
    never_at_risk = rows["eligible"] - curves.groupby(keys)["at_risk"].max()
    unknown = lost.reindex(rows.index, fill_value=0) + never_at_risk.fillna(rows["eligible"])
    assert (rows["unknown"] == unknown).all()
    assert (rows["known"] == rows["eligible"] - unknown).all()
    assert outcome.waits["day"].between(0, 84).all()
    # What the page says of each wait: had the event, ended another way, still waiting after day 28, not known.
    beyond = curves[(curves["day"] > 28) | ((curves["day"] == 28) & (curves["censored"] > 0))]
    after = beyond["events"].where(beyond["day"] > 28, 0) + beyond["competing"].where(beyond["day"] > 28, 0)
    waiting = (after + beyond["censored"]).groupby([beyond[key] for key in keys]).sum()
    for key in rows.index:
        result = outcome.lookup.results[key]
        assert result.ended is not None and result.known - result.met - result.ended == waiting.get(key, 0), key


def test_shuffled_lines_change_nothing(folder: Path, outcome: Outcome, tmp_path: Path):
    """The accepted rows alone, written again in another order of lines and of columns."""
    mixed = tmp_path / "mixed"
    mixed.mkdir()
    _write_accepted(folder, mixed, random.Random(7))
    run.new(tmp_path / "audit")
    run.load(tmp_path / "audit", mixed, outcome.cut_off, accept_anyway=INVENTED)
    again = work_out_folder(tmp_path / "audit")
    pd.testing.assert_frame_equal(again.results, outcome.results)
    pd.testing.assert_frame_equal(again.waits, outcome.waits)


def _write_accepted(folder: Path, export: Path, mixing: random.Random) -> None:
    """The accepted rows of a store as an export of their own, mixed."""
    import contextlib

    from pipeline import store
    from pipeline.contracts import layout

    with contextlib.closing(store.work(folder)) as con:
        store.attach(con, folder, to_load=False)
        for table in layout.tables():
            names = [column.name for column in table.columns]
            rows = con.execute(f"SELECT {', '.join(names)} FROM store.{table.name} ORDER BY line").df().astype(object)
            rows = rows.map(_as_written)
            rows = rows.sample(frac=1, random_state=mixing.randrange(10**6))
            rows = rows[mixing.sample(names, len(names))]
            rows.to_csv(export / f"{table.name}.csv", index=False)


def _as_written(value: object) -> str:
    if value is None or value is pd.NaT or value is pd.NA or value != value:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, pd.Timestamp):
        return value.date().isoformat()
    return str(int(value)) if isinstance(value, float) else str(value)


def test_two_runs_give_the_same_bytes(folder: Path, outcome: Outcome):
    periods = outcome.results["period"].unique()
    period = periods[len(periods) // 2]  # as many periods before it as there are after, which take as long again
    first = run.report(folder, period)
    made = {path.name: path.read_bytes() for path in first.page.parent.iterdir()}
    assert {"results.csv", "waits.csv", "service.html"} <= set(made)
    again = run.report(folder, period)
    assert {path.name: path.read_bytes() for path in again.page.parent.iterdir()} == made
