"""Rows of the results, worked out by hand: breakdowns, quarters, the parts that are empty."""

from __future__ import annotations

from datetime import date
from pathlib import Path

from .counting import Result, age_band
from .measures import measures_of
from .reckoning import Key, reckon

CASES = """case_ref,site,help_requested_date,first_contact_date,age_days,deprivation_decile,ethnic_group,sex,first_baby
a,hub_a,2025-03-26,2025-03-31,6,1,not_stated,female,yes
b,hub_a,2025-03-25,2025-03-31,7,2,not_known,male,no
c,not_known,,2025-03-31,28,3,,,
d,hub_b,2025-07-01,2025-07-01,27,10,asian,not_known,
"""
PROCEDURES = """case_ref,procedure_date,operator,tie_type
a,2025-04-01,x,
a,2025-04-01,,
a,2025-04-01,not_recorded,anterior
b,2025-03-01,x,posterior
b,2025-04-30,Y,not_recorded
"""
ASSESSMENTS = """case_ref,assessment_date,practitioner,tie_type
a,2025-05-01,p,anterior
a,2025-05-01,p,posterior
a,2025-05-02,p,not_recorded
"""
CONTACTS = """case_ref,contact_date,practitioner,attachment_help
a,2025-03-31,p,
a,2025-04-02,q,yes
b,2025-03-31,p,
b,2025-03-31,q,no
c,2025-03-31,not_known,
"""


def results(folder: Path, cut_off: date = date(2025, 7, 10), reported: str = "2025Q3") -> dict[Key, Result]:
    for table, content in (
        ("cases", CASES),
        ("procedures", PROCEDURES),
        ("assessments", ASSESSMENTS),
        ("contacts", CONTACTS),
    ):
        (folder / f"{table}.csv").write_text(content, "utf-8")
    return reckon(folder, cut_off, reported).results


def counts(found: dict[Key, Result], measure: str, period: str) -> dict[tuple[str, str], int]:
    return {key[2:]: row.eligible for key, row in found.items() if key[:2] == (measure, period)}


def test_every_period_has_its_all_row_and_only_that_when_empty(tmp_path: Path) -> None:
    found = results(tmp_path)
    assert sorted({key[1] for key in found}) == ["2025Q1", "2025Q2", "2025Q3"]
    assert {key[0] for key in found} == {measure.name for measure in measures_of(5)}
    assert counts(found, "seen_promptly", "2025Q2") == {("all", "all"): 0}
    row = found["seen_promptly", "2025Q2", "all", "all"]
    assert row == Result(0, 0, 0, 0, None, None, None, None, None, "yes")
    assert {key[1] for key in results(tmp_path, reported="2025Q2")} == {"2025Q1", "2025Q2"}


def test_levels_of_a_measure_of_cases(tmp_path: Path) -> None:
    found = results(tmp_path)
    assert counts(found, "days_to_referral", "2025Q1") == {
        ("all", "all"): 3,
        ("site", "hub_a"): 2,
        ("site", "not_recorded"): 1,
        ("practitioner", "q"): 1,
        ("practitioner", "not_recorded"): 2,
        ("tie_type", "posterior"): 1,
        ("tie_type", "not_recorded"): 2,
        ("deprivation_fifth", "1"): 2,
        ("deprivation_fifth", "2"): 1,
        ("ethnic_group", "not_stated"): 1,
        ("ethnic_group", "not_recorded"): 2,
        ("sex", "female"): 1,
        ("sex", "male"): 1,
        ("sex", "not_recorded"): 1,
        ("first_baby", "yes"): 1,
        ("first_baby", "no"): 1,
        ("first_baby", "not_recorded"): 1,
        ("age_band", "0-6"): 1,
        ("age_band", "7-13"): 1,
        ("age_band", "28+"): 1,
        ("divided_before", "yes"): 1,
        ("divided_before", "no"): 2,
    }


def test_levels_of_measures_of_procedures(tmp_path: Path) -> None:
    """The second row of a has no operator and is set aside; its first procedure is that without a recorded operator."""
    found = results(tmp_path)
    rows = counts(found, "fed_within_30_minutes", "2025Q2")
    assert rows["all", "all"] == 3
    assert {key: n for key, n in rows.items() if key[0] in ("practitioner", "tie_type", "divided_before")} == {
        ("practitioner", "x"): 1,
        ("practitioner", "Y"): 1,
        ("practitioner", "not_recorded"): 1,
        ("tie_type", "posterior"): 1,
        ("tie_type", "anterior"): 1,
        ("tie_type", "not_recorded"): 1,
        ("divided_before", "yes"): 1,
        ("divided_before", "no"): 2,
    }
    assert found["age_at_procedure", "2025Q2", "practitioner", "not_recorded"].value == 7.0
    assert ("age_at_procedure", "2025Q2", "practitioner", "x") not in found
    assert found["age_at_procedure", "2025Q2", "all", "all"] == Result(
        2, 2, None, None, 22.0, 14.5, 29.5, None, None, "yes"
    )


def test_proportion_by_hand(tmp_path: Path) -> None:
    """Of a and b, seen after 5 and 6 days, one was prompt; the unknown of b after division shows in the bounds."""
    found = results(tmp_path)
    row = found["seen_promptly", "2025Q1", "all", "all"]
    assert (row.eligible, row.known, row.met, row.unknown, row.value) == (2, 2, 1, 0, 0.5)
    assert (row.bound_low, row.bound_high, row.complete) == (0.5, 0.5, "yes")
    row = found["complication_within_14_days", "2025Q2", "all", "all"]
    assert (row.eligible, row.known, row.met, row.unknown) == (3, 2, 0, 1)
    assert (row.value, row.bound_low, row.bound_high) == (0.0, 0.0, 1 / 3)


def test_waits_by_hand(tmp_path: Path) -> None:
    """Nobody was referred: three censored after day 28, so the incidence is 0 and has no interval; d is too recent."""
    found = results(tmp_path)
    row = found["days_to_referral", "2025Q1", "all", "all"]
    assert row == Result(3, 0, 0, 3, 0.0, None, None, None, None, "yes")
    row = found["days_to_referral", "2025Q3", "all", "all"]
    assert row == Result(1, 0, 0, 1, None, None, None, None, None, "no")


def test_age_bands() -> None:
    bands = [age_band(age) for age in (0, 6, 7, 13, 14, 27, 28, 364)]
    assert bands == ["0-6", "0-6", "7-13", "7-13", "14-27", "14-27", "28+", "28+"]


def test_incidence_is_read_on_day_28(tmp_path: Path) -> None:
    """Of two referred one was divided on day 28 and one on day 29: a half by day 28. Interval worked from S = 1/2."""
    dates = ("a,2025-01-01\nb,2025-01-01\n", "a,2025-01-29,x\nb,2025-01-30,x\n")
    cases = "case_ref,site,first_contact_date,age_days\na,h,2025-01-01,5\nb,h,2025-01-01,5\n"
    (tmp_path / "cases.csv").write_text(cases, "utf-8")
    (tmp_path / "referrals.csv").write_text("case_ref,referral_date\n" + dates[0], "utf-8")
    (tmp_path / "procedures.csv").write_text("case_ref,procedure_date,operator\n" + dates[1], "utf-8")
    found = reckon(tmp_path, date(2025, 12, 31), "2025Q1").results
    row = found["days_from_referral_to_procedure", "2025Q1", "all", "all"]
    assert (row.eligible, row.known, row.met, row.unknown, row.value) == (2, 2, 2, 0, 0.5)
    # variance 1/2 * 1/2 / 2 = 1/8; spread 1.959964 * 0.353553 / (0.5 * 0.693147) = 1.99944, and e^1.99944 = 7.3849;
    # 1 - 0.5^(1 / 7.3849) = 1 - e^-0.09386 = 0.0896 and 1 - 0.5^7.3849 = 1 - e^-5.11882 = 0.9940
    assert row.lower is not None and row.upper is not None
    assert round(row.lower, 4) == 0.0896 and round(row.upper, 4) == 0.9940


def test_complete_waits_for_the_horizon(tmp_path: Path) -> None:
    """The second quarter ends on 30 June; with 7 days more it ends on 7 July, with 14 on the 14th."""
    for cut_off, after_division, complications in ((7, "yes", "no"), (6, "no", "no"), (14, "yes", "yes")):
        found = results(tmp_path, date(2025, 7, cut_off))
        assert found["attachment_help_after_division", "2025Q2", "all", "all"].complete == after_division
        assert found["complication_within_14_days", "2025Q2", "all", "all"].complete == complications
