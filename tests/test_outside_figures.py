"""The whole way, held to published figures of the field. Each check names its source, from check_values/domain.json."""

from __future__ import annotations

import json
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest

from pipeline import run
from tests.conftest import INVENTED, Story, leave_out_pages_beside

CHECK_VALUES = Path(__file__).parent / "check_values"
DOMAIN: dict[str, Any] = json.loads((CHECK_VALUES / "domain.json").read_text(encoding="utf-8"))
WALES = DOMAIN["wales_2024_by_age"]


def wales_export(folder: Path, row: dict[str, Any]) -> Path:
    """Invented cases with the published counts: exclusive, other breast milk, none, not stated."""
    folder.mkdir()
    answers = (
        ["exclusive"] * row["exclusive"]
        + ["partial"] * (row["any"] - row["exclusive"])
        + ["none"] * row["not"]
        + ["not_known"] * row["not_stated"]
    )
    assert len(answers) == row["all"]
    first, cases, checks = date(2024, 7, 1), [], []
    for number, answer in enumerate(answers):
        # 5 days old at first contact, so six weeks old 37 days later: all of them from August to September.
        seen = first + timedelta(days=number % 50)
        cases.append(f"W{number},Everywhere,{seen},5,exclusive")
        # Half of those not stated were asked without an answer, the other half never asked.
        if answer != "not_known" or number % 2:
            checks.append(f"W{number},{seen + timedelta(days=37)},{answer}")
    (folder / "cases.csv").write_text(
        "case_ref,site,first_contact_date,age_days,feeding_at_first_contact\n" + "\n".join(cases), encoding="utf-8"
    )
    (folder / "feeding_checks.csv").write_text("case_ref,check_date,feeding\n" + "\n".join(checks), encoding="utf-8")
    return folder


@pytest.fixture(scope="module")
def wales(tmp_path_factory: pytest.TempPathFactory) -> run.Reported:
    place = tmp_path_factory.mktemp("wales")
    row = next(row for row in WALES["rows"] if row["age"] == "6 weeks")
    run.new(place / "audit")
    run.load(place / "audit", wales_export(place / "export", row), date(2024, 12, 31), accept_anyway=INVENTED)
    with pytest.MonkeyPatch.context() as patch:
        leave_out_pages_beside(patch)
        return run.report(place / "audit", "2024Q3")


def test_wales_2024_at_six_weeks_comes_out_as_published(wales: run.Reported):
    """StatsWales, breastfeeding data, Wales 2024: 44.1% of 21,380 known, 5,687 not stated, exclusive 30.7%."""
    story = Story(wales.outcome)
    assert story.counts("breastfed_at_6_weeks", "2024Q3") == (27067, 21380, 9434, 5687)
    any_milk = story.row("breastfed_at_6_weeks", "2024Q3")
    assert round(any_milk["value"], 3) == 0.441
    assert any_milk["value"] * 100 == pytest.approx(44.13, abs=0.005)
    # The interval was computed twice, by independent libraries (domain.json): 43.5 to 44.8.
    assert [any_milk["lower"], any_milk["upper"]] == pytest.approx(WALES["wilson95_computed"]["any_6_weeks"], abs=5e-7)
    exclusive = story.row("exclusively_breastfed_at_6_weeks", "2024Q3")
    assert exclusive["value"] * 100 == pytest.approx(30.65, abs=0.005)
    assert [exclusive["lower"], exclusive["upper"]] == pytest.approx(
        WALES["wilson95_computed"]["exclusive_6_weeks"], abs=5e-7
    )
    asked = story.row("asked_at_6_weeks", "2024Q3")
    assert asked["value"] * 100 == pytest.approx(78.99, abs=0.005)


def test_wales_2024_is_never_a_share_of_everyone(wales: run.Reported):
    """Over all 27,067, the unknown counted as no, it would be 34.9%: that is the lower bound, and never the figure."""
    row = Story(wales.outcome).row("breastfed_at_6_weeks", "2024Q3")
    assert row["bound_low"] * 100 == pytest.approx(WALES["wrong_denominator_any_6_weeks_pct"], abs=0.01)
    values = wales.outcome.results.loc[wales.outcome.results["measure"] == "breastfed_at_6_weeks", "value"].dropna()
    assert (abs(values - 0.3485) > 0.01).all()


def test_wales_2024_is_said_on_the_page_as_published(wales: run.Reported):
    page = wales.page.read_text(encoding="utf-8")
    assert "9,434 of 21,380 whose answer we know (44.1%, 95% interval 43.5 to 44.8%); 5,687 not known" in page
    assert "6,554 of 21,380 whose answer we know (30.7%" in page
    # The share of all due stands on the page only as the bound that it is, and where it is called the share of all due.
    of_all_due = page.count("Of all 27,067 due, 9,434 (34.9%) are known to be so")
    assert page.count("34.9%") == page.count("Between 34.9% and 55.9% whatever the unknown answers are") + of_all_due
    assert of_all_due > 0


def test_weight_regained_follows_nice_ng75(tell: Any):
    """NICE NG75: most regain birth weight by 3 weeks. Counts worked by hand; the day is the guideline's."""
    story = tell(
        {
            "cases": """
                case_ref,site,first_contact_date,age_days,birth_weight_g
                A,North,2026-01-10,10,3500
                B,North,2026-01-10,10,3500
            """,
            "contacts": """
                case_ref,contact_date,practitioner,weight_g
                A,2026-01-21,P1,3500
                B,2026-01-22,P1,3500
            """,
        },
        cut_off="2026-06-30",
    )
    # Born on 31 December: A is back at birth weight on day 21, B a day later, which is not known by day 21.
    assert story.counts("birth_weight_regained_by_21_days", "2026Q1") == (2, 1, 1, 1)
