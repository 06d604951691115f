"""The generator: the same bytes for one seed, mostly valid rows, and every level of every breakdown."""

from __future__ import annotations

from pathlib import Path

import pytest

from .counting import period_of
from .layout import TABLES
from .nasty import write_export
from .reckoning import Reckoning, reckon

# what a breakdown may hold; sites, practitioners and operators are the generator's own
LEVELS = {
    "tie_type": {"none", "anterior", "posterior", "submucosal", "not_recorded"},
    "deprivation_fifth": {"1", "2", "3", "4", "5", "not_recorded"},
    "ethnic_group": {"asian", "black", "mixed", "white", "other", "not_stated", "not_recorded"},
    "sex": {"female", "male", "not_recorded"},
    "first_baby": {"yes", "no", "not_recorded"},
    "age_band": {"0-6", "7-13", "14-27", "28+"},
    "divided_before": {"yes", "no"},
    "route": {"divided", "not_going_ahead", "waiting", "settled", "closed", "in_support"},
}


@pytest.fixture(scope="module", params=[5, 6])
def reckoned(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Reckoning:
    folder = tmp_path_factory.mktemp("nasty")
    cut_off = write_export(folder, int(request.param), 400)
    return reckon(folder, cut_off, period_of(cut_off))


def test_same_seed_same_bytes(tmp_path: Path) -> None:
    first, second, other = (tmp_path / name for name in ("first", "second", "other"))
    assert write_export(first, 4, 20) == write_export(second, 4, 20)
    write_export(other, 5, 20)
    for path in sorted(first.iterdir()):
        assert path.read_bytes() == (second / path.name).read_bytes()
    assert (first / "cases.csv").read_bytes() != (other / "cases.csv").read_bytes()


def test_every_level_has_cases(reckoned: Reckoning) -> None:
    for breakdown, wanted in LEVELS.items():
        assert {key[3] for key in reckoned.results if key[2] == breakdown} == wanted


def test_every_measure_is_met_missed_and_unknown(reckoned: Reckoning) -> None:
    never_unknown = {
        "seen_promptly",
        "function_assessed_before_referral",
        "divided_again_within_84_days",
        "division_without_visible_tie",
        "asked_at_6_weeks",
    }
    for measure in sorted({key[0] for key in reckoned.results} - {"age_at_procedure"}):
        rows = [row for key, row in reckoned.results.items() if key[0] == measure and key[2] == "all"]
        met, unknown = sum(row.met or 0 for row in rows), sum(row.unknown or 0 for row in rows)
        assert met > 0, measure
        assert sum(row.known for row in rows) > met, measure
        assert (unknown > 0) == (measure not in never_unknown), measure


def test_levels_add_up_to_all(reckoned: Reckoning) -> None:
    added: dict[tuple[str, str, str], int] = {}
    for (measure, period, breakdown, _), row in reckoned.results.items():
        added[measure, period, breakdown] = added.get((measure, period, breakdown), 0) + row.eligible
    for (measure, period, _), eligible in added.items():
        assert eligible == reckoned.results[measure, period, "all", "all"].eligible


def test_most_rows_are_valid_and_every_fate_occurs(reckoned: Reckoning) -> None:
    for table in TABLES:
        fates = [fate.fate for fate in reckoned.fates[table]]
        assert set(fates) == {"accepted", "set aside", "repeat"}, table
        assert 0.75 < fates.count("accepted") / len(fates) < 0.98, table
