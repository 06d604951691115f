"""The second opinion's own figures, periods and levels, against values worked by hand or published."""

from __future__ import annotations

import json
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest

from tests.stories.tiny import Baby, Rows, add

from .accepting import read_value
from .facts import Settings, subjects_of
from .layout import TABLES
from .measures import CENSORED, COMPETING, EVENT, MEASURES, NEVER_AT_RISK, Row
from .results import make_results, period_name, period_of, quantile, wait_figures, wilson
from .waiting import curve, variance

RECORDS: dict[str, Any] = {
    record["id"]: record
    for record in json.loads((Path(__file__).parents[1] / "check_values" / "statistics.json").read_text("utf-8"))
}
SEEN = date(2026, 1, 10)


def waits(*pairs: tuple[int | None, str]) -> list[Row]:
    return [Row(None, SEEN, days=days, event=event) for days, event in pairs]


def test_a_curve_by_hand() -> None:
    """Four rows. Day 2: 1/4; day 5 competing leaves 1/2 waiting; day 10 the last one: 1/4 + 1/2."""
    four = waits((2, EVENT), (5, COMPETING), (6, CENSORED), (10, EVENT))
    lines = curve(four)
    assert [lines[day]["incidence"] for day in (2, 10)] == [0.25, 0.75]
    assert lines[5]["waiting"] == 0.5
    assert [lines[day]["at_risk"] for day in (6, 7, 10, 11)] == [2, 1, 1, 0]
    assert variance(lines[:6]) == pytest.approx(3 / 64)
    assert variance(lines[:11]) == pytest.approx(1 / 48 + 3 / 64 - 1 / 16 + 1 / 24)
    assert wait_figures(four)["value"] == 0.75  # nobody is at risk on day 28, but events ended it
    assert wait_figures(waits((84, CENSORED)))["value"] == 0.0
    for nothing in (waits((2, EVENT), (6, CENSORED)), waits((None, NEVER_AT_RISK))):
        assert wait_figures(nothing).get("value") is None


def test_limits_by_hand() -> None:
    """log(-log(.7)) = -1.03093, its error sqrt(.021) / (.7 * .356675) = .580416. At 0 and 1 the limits are exact."""
    plain = curve(waits((0, EVENT), (1, EVENT), (9, EVENT), *[(84, CENSORED)] * 7))
    assert [round(plain[28][side], 3) for side in ("incidence", "lower", "upper")] == [0.3, 0.108, 0.671]
    assert variance(plain[:29]) == pytest.approx(0.3 * 0.7 / 10)
    assert wait_figures(waits(*[(84, CENSORED)] * 10))["upper"] == pytest.approx(1 - 0.025**0.1)
    assert wait_figures(waits(*[(3, EVENT)] * 10))["lower"] == pytest.approx(0.025**0.1)
    ended = waits(*[(3, COMPETING)] * 4, (20, CENSORED), *[(84, CENSORED)] * 5)
    assert wait_figures(ended)["upper"] == pytest.approx(1 - 0.025 ** (1 / 9))
    assert [round(limit, 4) for limit in (*wilson(8, 10), *wilson(0, 10))] == [0.4902, 0.9433, 0.0, 0.2775]
    assert wilson(0, 0) == (None, None)
    assert [quantile([1, 2, 3, 4], part) for part in (0.25, 0.5, 0.75)] == [1.75, 2.5, 3.25]


@pytest.mark.parametrize("name", [name for name in RECORDS if name.startswith("prop.wilson95.")])
def test_wilson_as_published(name: str) -> None:
    given, expected = RECORDS[name]["inputs"], RECORDS[name]["expected"]
    assert wilson(given["x"], given["n"]) == pytest.approx((expected["lower"], expected["upper"]), abs=1e-9)


@pytest.mark.parametrize("name", ["aj.scrucca35", "aj.weekly400", "aj.three_causes", "aj.all_fail_at_last"])
def test_incidence_as_worked_out_elsewhere(name: str) -> None:
    given, expected = RECORDS[name]["inputs"], RECORDS[name]["expected"]
    counts = given.get("count", [1] * len(given["time"]))
    for cause in (1, 2):
        rows = []
        for time, ended, count in zip(given["time"], given["cause"], counts, strict=True):
            rows += waits((time, CENSORED if not ended else EVENT if ended == cause else COMPETING)) * count
        lines = curve(rows)
        for place, by in enumerate(expected.get("time") or given.get("at") or sorted(given["time"])):
            assert lines[by]["incidence"] == pytest.approx(expected[f"F{cause}"][place], abs=1e-9)
            assert variance(lines[: by + 1]) ** 0.5 == pytest.approx(expected[f"se{cause}"][place], abs=1e-9)


@pytest.mark.parametrize(
    ("day", "kind", "starts", "expected"),
    [
        ("2026-06-30", "quarters", 4, "2026Q2"),
        ("2026-07-01", "quarters", 4, "2026Q3"),
        ("2026-03-31", "years", 4, "2025-26"),
        ("2026-04-01", "years", 4, "2026-27"),
        ("2026-09-30", "years", 10, "2025-26"),
        ("2026-10-01", "years", 10, "2026-27"),
        ("2099-05-01", "years", 4, "2099-00"),
    ],
)
def test_the_period_of_a_day(day: str, kind: str, starts: int, expected: str) -> None:
    assert period_name(period_of(date.fromisoformat(day), kind, Settings(starts)), kind) == expected


def results(rows: Rows, cut_off: date, kind: str = "quarters", reported: date | None = None) -> list[dict[str, Any]]:
    """The lines of the results and by practitioner."""
    accepted = {
        table: [{column.name: read_value(column, row[column.name]) for column in TABLES[table]} for row in listed]
        for table, listed in rows.items()
    }
    by_level, by_practitioner, _ = make_results(subjects_of(accepted, cut_off), Settings(), kind, reported)
    return by_level + by_practitioner


def baby(age: int = 10, **values: Any) -> Baby:
    rows: Rows = {}
    asked = values.pop("asked", SEEN)
    add(rows, "cases", case_ref="a", site="Alder", first_contact_date=SEEN, age_days=age, **values,
        help_requested_date=asked, feeding_at_first_contact=values.get("feeding", "exclusive"))  # fmt: skip
    return Baby(rows, "a", SEEN)


def everything() -> Rows:
    """Birth 2025-12-31, asked that day, first contact 2026-01-10, referral 2026-02-01, division 2026-03-31."""
    case = baby(asked=date(2025, 12, 31), birth_weight_g=3000)
    return case.contact(0, help="yes", pain=6).assess(0, "anterior").refer(22).divide(80).rows


# By hand from the horizons: the days after 30 June 2026 on which the quarter is complete.
COMPLETE_AFTER = {
    **dict.fromkeys((measure.name for measure in MEASURES), 0),
    "seen_promptly": 5,
    "attachment_help_after_division": 7,
    **dict.fromkeys(("breastfed_at_6_weeks", "exclusively_breastfed_at_6_weeks"), 14),
    **dict.fromkeys(("fed_at_the_breast_at_6_weeks", "asked_at_6_weeks"), 14),
    **dict.fromkeys(("days_to_first_contact", "days_to_referral", "days_from_referral_to_procedure"), 28),
    **dict.fromkeys(("complication_needing_care_within_14_days", "complication_within_14_days"), 28),
    **dict.fromkeys(("bleeding_needing_care", "infection_within_14_days", "feeding_pain_eased"), 28),
    **dict.fromkeys(("resolved_by_attachment_help", "breastfed_6_weeks_after_division"), 56),
    **dict.fromkeys(("reattached_within_84_days", "divided_again_within_84_days", "family_felt_helped"), 84),
    "stopped_breastfeeding_while_waiting": 84,
}


@pytest.mark.parametrize("horizon", sorted(set(COMPLETE_AFTER.values())))
def test_a_quarter_is_complete_on_the_last_day_of_its_horizon(horizon: int) -> None:
    of_horizon = {name for name, days in COMPLETE_AFTER.items() if days == horizon}
    for days, expected in ((horizon, {"yes"}), (horizon - 1, {"no"})):
        lines = results(everything(), date(2026, 6, 30) + timedelta(days=days), reported=date(2026, 4, 1))
        assert {line["complete"] for line in lines if line["measure"] in of_horizon and line["period"] == "2026Q2"} == (
            expected
        )


def test_one_case_has_a_row_in_every_measure_and_every_period_a_row_of_all() -> None:
    lines = results(everything(), date(2026, 12, 31))
    quarters = {line["measure"]: line["period"] for line in lines if line["breakdown"] == "all" and line["eligible"]}
    assert {name for name, quarter in quarters.items() if quarter == "2025Q4"} == {
        "days_to_first_contact",
        "seen_promptly",
    }
    assert set(quarters) == set(COMPLETE_AFTER) and set(quarters.values()) == {"2025Q4", "2026Q1"}
    assert sum(line["breakdown"] == "all" for line in lines) == 28 * 5
    assert len({line["measure"] for line in lines if line["breakdown"] == "route"}) == 6
    years = results(everything(), date(2027, 4, 27), "years", date(2027, 4, 1))
    assert [
        (line["period"], line["eligible"], line["complete"])
        for line in years
        if line["measure"] == "days_to_referral" and line["breakdown"] == "all"
    ] == [("2025-26", 1, "yes"), ("2026-27", 0, "no"), ("2027-28", 0, "no")]


def levels(rows: Rows, measure: str = "days_to_first_contact") -> dict[str, str]:
    """{breakdown: level} of the one case or request in the rows."""
    lines = results(rows, date(2026, 12, 31))
    return {line["breakdown"]: line["level"] for line in lines if line["measure"] == measure and line["eligible"]}


def test_levels_by_hand() -> None:
    ages = [levels(baby(age).rows)["age_band"] for age in (6, 7, 13, 14, 27, 28)]
    assert ages == ["0-6", "7-13", "7-13", "14-27", "14-27", "28+"]
    deciles = [levels(baby(deprivation_decile=decile).rows)["deprivation_fifth"] for decile in (1, 2, 3, 10, "")]
    assert deciles == ["1", "1", "2", "5", "not_recorded"]
    weeks = [levels(baby(gestation_weeks=number).rows)["gestation"] for number in (36, 37, "")]
    assert weeks == ["under_37", "37_or_more", "not_recorded"]
    groups = [levels(baby(ethnic_group=group).rows)["ethnic_group"] for group in ("not_stated", "not_known", "")]
    assert groups == ["not_stated", "not_recorded", "not_recorded"]
    before = baby().divide(-1).contact(0, "P07").assess(9, "submucosal").divide(5, "P08").divide(5, "P09", tie="none")
    of_case, of_division = levels(before.rows), levels(before.rows, "age_at_procedure")
    assert [of_case[part] for part in ("divided_before", "practitioner", "tie_type")] == ["yes", "P07", "submucosal"]
    assert [of_division[part] for part in ("practitioner", "tie_type")] == ["several", "none"]
    assert levels(baby().rows)["divided_before"] == "no"


def test_levels_of_a_request() -> None:
    rows: Rows = {}
    told = {"ethnic_group": "white", "referral_source": "self", "interpreter_needed": "yes"}
    add(rows, "requests", case_ref="r", site="Birch", request_date=SEEN, deprivation_decile=3, **told)
    found = levels(rows)
    assert {name: level for name, level in found.items() if level != "not_recorded"} == {
        "all": "all",
        "site": "Birch",
        "deprivation_fifth": "2",
        **told,
    }
    assert len(found) == 14
