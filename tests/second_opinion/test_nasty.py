"""The generator: the same bytes for one seed, mostly valid rows, and every level of every breakdown."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from .facts import Settings
from .layout import TABLES
from .nasty import write_export
from .reckoning import Reckoning, reckon
from .results import make_results

# what a breakdown may hold; sites, practitioners and operators are the generator's own
LEVELS = {
    "tie_type": {"none", "anterior", "posterior", "submucosal", "not_recorded"},
    "deprivation_fifth": {"1", "2", "3", "4", "5", "not_recorded"},
    "ethnic_group": {"asian", "black", "mixed", "white", "other", "not_stated", "not_recorded"},
    "sex": {"female", "male", "not_recorded"},
    "first_baby": {"yes", "no", "not_recorded"},
    "age_band": {"0-6", "7-13", "14-27", "28+", "not_recorded"},
    "divided_before": {"yes", "no", "not_recorded"},
    "gestation": {"under_37", "37_or_more", "not_recorded"},
    "referral_source": {"self", "midwife", "health_visitor", "gp", "hospital", "other", "not_recorded"},
    "interpreter_needed": {"yes", "no", "not_recorded"},
    "multiple_birth": {"yes", "no", "not_recorded"},
    "feeding_at_first_contact": {"exclusive", "partial", "none", "not_recorded"},
    "route": {"divided", "divided_elsewhere", "not_going_ahead", "waiting", "settled", "closed", "in_support"},
}


@pytest.fixture(scope="module")
def reckoned(tmp_path_factory: pytest.TempPathFactory) -> Reckoning:
    folder = tmp_path_factory.mktemp("nasty")
    return reckon(folder, write_export(folder, 5, 300))


@pytest.fixture(scope="module")
def yearly(reckoned: Reckoning) -> list[dict[str, Any]]:
    return make_results(reckoned.subjects, Settings(), "years")[0]


def test_same_seed_same_bytes(tmp_path: Path) -> None:
    first, second, other = (tmp_path / name for name in ("first", "second", "other"))
    assert write_export(first, 4, 20) == write_export(second, 4, 20)
    write_export(other, 5, 20)
    for path in sorted(first.iterdir()):
        assert path.read_bytes() == (second / path.name).read_bytes()
    assert (first / "cases.csv").read_bytes() != (other / "cases.csv").read_bytes()


def test_every_level_has_cases(yearly: list[dict[str, Any]]) -> None:
    for breakdown, wanted in LEVELS.items():
        assert {line["level"] for line in yearly if line["breakdown"] == breakdown} == wanted


def test_every_measure_is_met_missed_and_unknown(yearly: list[dict[str, Any]]) -> None:
    never_unknown = {
        "seen_promptly",
        "function_assessed_before_referral",
        "checks_before_procedure",
        "divided_again_within_84_days",
        "division_without_visible_tie",
        "asked_at_6_weeks",
    }
    for measure in sorted({line["measure"] for line in yearly} - {"age_at_procedure"}):
        rows = [line for line in yearly if line["measure"] == measure and line["breakdown"] == "all"]
        known, met, unknown = (sum(line[part] for line in rows) for part in ("known", "met", "unknown"))
        assert known > met > 0, measure
        assert (unknown > 0) == (measure not in never_unknown), measure


def test_levels_add_up_to_all(yearly: list[dict[str, Any]]) -> None:
    added: dict[tuple[str, str, str], int] = {}
    for line in yearly:
        key = line["measure"], line["period"], line["breakdown"]
        added[key] = added.get(key, 0) + line["eligible"]
    for (measure, period, _), eligible in added.items():
        assert eligible == added[measure, period, "all"]


def test_most_rows_are_valid_and_every_fate_occurs(reckoned: Reckoning) -> None:
    for table in TABLES:
        fates = [fate.fate for fate in reckoned.fates[table]]
        assert set(fates) == {"accepted", "set aside", "repeat"}, table
        low = 0.5 if table == "requests" else 0.75  # so few that one quote left open weighs much
        assert low < fates.count("accepted") / len(fates) < 0.98, table
