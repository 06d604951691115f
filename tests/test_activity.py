"""Who came and what was done: every table counted by hand on a tiny export, and a faulty file refused."""

from __future__ import annotations

import contextlib
from collections.abc import Callable, Iterator
from datetime import date
from pathlib import Path

import duckdb
import pytest

from pipeline import run, store
from pipeline.contracts.places import REPORTS, SQL
from pipeline.errors import Refused
from pipeline.outcomes import cases
from pipeline.outcomes.activity import activity
from pipeline.report.views import activity_tables
from pipeline.report.words import labels
from tests.conftest import INVENTED, Story, work_out_folder, write_export

CUT_OFF = "2026-06-30"
EXPORT = {
    "cases": """
        case_ref,site,help_requested_date,first_contact_date,age_days,referral_source,family_history,birth_weight_g,nipple_pain,wind
        a,hub,2026-03-31,2026-03-31,10,midwife,yes,2499,yes,no
        b,hub,2025-12-31,2026-03-01,10,midwife,no,2500,yes,
        c,hub,,2026-03-01,10,not_known,,,no,yes
        next_quarter,hub,2026-04-01,2026-04-01,10,gp,yes,2499,yes,yes
    """,
    "contacts": """
        case_ref,contact_date,practitioner,mode,attachment_help
        a,2026-03-31,P01,in_person,yes
        a,2026-04-02,P01,phone,
        b,2026-03-02,P01,in_person,no
        c,2026-03-03,P02,,yes
    """,
    "assessments": """
        case_ref,assessment_date,practitioner,tie_type
        b,2026-03-02,P01,anterior
        b,2026-03-05,P01,not_recorded
        c,2026-03-05,P01,none
    """,
    "referrals": """
        case_ref,referral_date,destination,outcome
        b,2026-03-03,clinic,accepted
        c,2026-03-04,clinic,
        a,2026-04-04,,waiting
    """,
    "procedures": """
        case_ref,procedure_date,operator,provider,vitamin_k
        b,2026-03-10,P09,,oral
        b,2026-03-20,P09,own,not_known
        c,2026-03-10,P09,own,declined
        c,2026-03-10,P08,own,declined
        c,2026-03-20,P07,private,oral
    """,
    "requests": """
        case_ref,site,request_date,outcome
        x,hub,2026-01-01,declined
        y,hub,2026-03-31,
        z,hub,2026-04-01,moved
    """,
    "feeding_checks": """
        case_ref,check_date,feeding,reason_stopped
        a,2026-04-28,none,pain
        b,2026-03-28,none,
        c,2026-03-28,partial,choice
    """,
}
# Of the first quarter, counted on paper: a, b and c were first seen in it.
OF_THE_PERIOD = {
    "requests": {"seen": 1, "declined": 1, "not_recorded": 1},  # b asked the quarter before, and c nobody knows when
    "family_history": {"yes": 1, "no": 1, "not_recorded": 1},
    "divisions": {"own": 3, "elsewhere": 1},  # two operators on one day are one
    "presenting_problems": {
        "nipple_pain: yes": 2,
        "nipple_pain: no": 1,
        "wind: yes": 1,
        "wind: no": 1,
        "wind: not_recorded": 1,
        **{
            f"{problem}: not_recorded": 3
            for problem in (
                "nipple_damage",
                "poor_weight_gain",
                "very_frequent_feeds",
                "unsettled_at_breast",
                "bringing_up_milk",
            )
        },
    },
    "born_under_2500_g": {"yes": 1, "no": 1, "not_recorded": 1},  # 2,499 is under, 2,500 is not
    "referral_source": {"midwife": 2, "not_recorded": 1},
    "contacts": {  # the phone call of a is of the next quarter, though a was first seen in this one
        "mode: in_person": 2,
        "mode: not_recorded": 1,
        "attachment_help: yes": 2,
        "attachment_help: no": 1,
    },
    "assessments": {"tie_type: anterior": 1, "tie_type: none": 1, "tie_type: not_recorded": 1},
    "referrals": {"destination: clinic": 2, "outcome: accepted": 1, "outcome: not_recorded": 1},
    "vitamin_k": {"oral": 1, "declined": 1, "not_recorded": 1},
    "reasons_for_stopping": {"not_recorded": 1},  # c still has breast milk, whatever stands beside it
}


def test_every_table_is_counted_by_the_day_of_what_it_counts(tell: Callable[..., Story], audit: Path) -> None:
    counts = tell(EXPORT, CUT_OFF, "2026Q1").outcome.activity
    assert list(counts.columns) == ["period", "section", "row", "count"]
    assert set(counts["period"]) == {
        "2025Q4",
        "2026Q1",
    }  # b asked in the first, and nothing is later than the quarter of the report
    sections: dict[str, dict[str, int]] = {}
    for row in counts[counts["period"] == "2026Q1"].to_dict("records"):
        sections.setdefault(row["section"], {})[row["row"]] = row["count"]
    assert {name: sections[name] for name in OF_THE_PERIOD} == OF_THE_PERIOD
    assert list(sections) == [path.stem.split("_", 1)[1] for path in sorted((SQL / "activity").glob("*.sql"))]

    both = work_out_folder(audit, "2026Q2").activity
    later = both[both["period"] == "2026Q2"]
    assert later[later["section"] == "contacts"][["row", "count"]].values.tolist() == [
        ["attachment_help: not_recorded", 1],
        ["mode: phone", 1],
    ]


def test_the_page_says_yes_no_and_not_recorded_in_one_line(tell: Callable[..., Story]) -> None:
    """By hand from EXPORT: b and a have nipple pain, c has none; c alone has wind, a none, b is not recorded."""
    counts = tell(EXPORT, CUT_OFF, "2026Q1").outcome.activity
    halves = activity_tables.activity(counts, ["2026Q1", "2025Q4"], labels.read(REPORTS / "wording.toml"))
    rows = {group.title: {row.head: row.cells for row in group.rows} for half in halves for group in half.groups}
    assert rows["Why families came: yes/no/not recorded"] == {
        "bringing up milk": ("0/0/3", "0/0/0"),
        "nipple damage": ("0/0/3", "0/0/0"),
        "nipple pain": ("2/1/0", "0/0/0"),
        "poor weight gain": ("0/0/3", "0/0/0"),
        "unsettled at breast": ("0/0/3", "0/0/0"),
        "very frequent feeds": ("0/0/3", "0/0/0"),
        "wind": ("1/1/1", "0/0/0"),
    }
    assert rows["Tongue-tie in the family: yes/no/not recorded"] == {"all of them": ("1/1/1", "0/0/0")}
    assert rows["Who sent them"] == {"midwife": ("2", "0"), "not recorded": ("1", "0")}
    # Contacts: a of March and c with help, b without; two modes in person, one not recorded.
    assert rows["Contacts"]["attachment help: yes/no/not recorded"] == ("2/1/0", "0/0/0")
    assert [len(half.groups) > 0 for half in halves] == [True, True]


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> Iterator[duckdb.DuckDBPyConnection]:
    """The cases of the export above."""
    place = tmp_path_factory.mktemp("activity")
    audit = run.new(place / "audit").parent
    run.load(audit, write_export(place / "export", EXPORT), date.fromisoformat(CUT_OFF), accept_anyway=INVENTED)
    with contextlib.closing(store.work(audit)) as con:
        store.attach(con, audit, to_load=False)
        cases.build(con)
        yield con


@pytest.mark.parametrize(
    ("name", "text", "said"),
    [
        ("10_no_title.sql", "SELECT first_contact_date AS index_date, site AS counted_as FROM cases", "no key title"),
        (
            "10_columns.sql",
            "-- title: x\nSELECT first_contact_date, site AS counted_as FROM cases",
            "no column index_date",
        ),
        ("10_foreign.sql", "-- title: x\nSELECT index_date, counted_as FROM store.cases", "it reads store.cases"),
        (
            "10_null.sql",
            "-- title: x\nSELECT closed_date AS index_date, site AS counted_as FROM cases",
            "4 rows without an index_date",
        ),
        (
            "10_null.sql",
            "-- title: x\nSELECT first_contact_date AS index_date, closed_reason AS counted_as FROM cases",
            "4 rows without a word in counted_as",
        ),
        ("without_a_number.sql", "-- title: x\nSELECT 1", "the name without_a_number"),
    ],
)
def test_a_faulty_file_is_refused_with_its_place(
    built: duckdb.DuckDBPyConnection, tmp_path: Path, name: str, text: str, said: str
) -> None:
    folder = tmp_path / "activity"
    folder.mkdir()
    (folder / name).write_text(text, encoding="utf-8")
    with pytest.raises(Refused) as refused:
        activity(built, "2026Q2", folder)
    assert any(said in fault.found and f"activity/{name}, line" in fault.where for fault in refused.value.faults)
