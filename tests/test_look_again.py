"""The cases to look at again, worked by hand: a tiny export for each reason."""

from __future__ import annotations

import contextlib
import csv
import functools
import stat
from collections.abc import Mapping
from datetime import date
from pathlib import Path

import pytest

from pipeline import run, store
from pipeline.contracts.places import SQL
from pipeline.errors import Refused
from pipeline.outcomes import cases, look_again, measure_rows, periods
from pipeline.outcomes.look_again import CaseToLookAt, Reason
from pipeline.report.pages.look_again_page import page
from pipeline.session import settings_of
from tests.conftest import INVENTED, write_export
from tests.reading_pages import read

CUT_OFF = date(2026, 10, 12)
PERIOD = "2026Q3"
CASES = "case_ref,site,first_contact_date,age_days,feeding_at_first_contact,birth_weight_g,closed_date,closed_reason"
CONTACTS = "case_ref,contact_date,practitioner,attachment_help,weight_g"
PROCEDURES = "case_ref,procedure_date,operator,tie_type,consent_recorded,bleeding_history_asked,vitamin_k"


def load(audit: Path, tables: Mapping[str, list[str]], cut_off: date = CUT_OFF) -> None:
    written = {name: "\n".join(lines) for name, lines in tables.items()}
    place = audit.parent / f"export-{len(list(audit.parent.glob('export-*')))}"
    loaded = run.load(audit, write_export(place, written), cut_off, accept_anyway=INVENTED)
    assert loaded.examined is not None
    assert sum(sheet.set_aside for sheet in loaded.examined.counts) == 0


def reasons(audit: Path, period: str = PERIOD) -> dict[str, Reason]:
    changed = [(audit / name).stat().st_mtime_ns for name in (store.FILE_NAME, "audit.toml")]
    return _reasons(audit, period, tuple(changed))


@functools.cache
def _reasons(audit: Path, period: str, _changed: tuple[int, ...]) -> dict[str, Reason]:
    with contextlib.closing(store.work(audit)) as con:
        store.attach(con, audit, to_load=False)
        periods.count_by(con, periods.kind(period), 4)
        cases.build(con)
        measure_rows.hold_settings(con, settings_of(audit))
        return {reason.name: reason for reason in look_again.look_again(con, period)}


def listed(audit: Path, name: str) -> list[tuple[str, str | None, str, str]]:
    return [(case.case_ref, case.practitioner, str(case.day), case.detail) for case in reasons(audit)[name].cases]


def seen(ref: str, day: str = "2026-07-01", age: int = 10, rest: str = "exclusive,,,") -> str:
    return f"{ref},North,{day},{age},{rest}"


def test_the_folder_is_the_list(audit: Path):
    load(audit, {"cases": [CASES, seen("A")]})
    files = sorted(path.stem for path in (SQL / "look_again").glob("*.sql"))
    assert list(reasons(audit)) == [name.partition("_")[2] for name in files] != []
    assert all(reason.title and reason.why for reason in reasons(audit).values())


def test_complications_that_needed_care_or_may_have(audit: Path):
    refs = ["treated", "hospital", "minor", "blank", "blank-other", "again", "again-care", "early", "late", "before"]
    divided = [f"{ref},2026-06-20,P7,anterior,yes,yes,oral" for ref in refs if ref != "before"]
    load(
        audit,
        {
            "cases": [CASES, *(seen(ref, "2026-06-01") for ref in refs)],
            "contacts": [CONTACTS, "before,2026-06-01,P1,yes,"],
            # The latest division before it counts: two operators on one day made one division.
            "procedures": [
                PROCEDURES,
                *divided,
                "hospital,2026-08-01,P8,anterior,yes,yes,oral",
                "hospital,2026-08-01,P9,anterior,yes,yes,oral",
                "before,2026-05-20,P7,anterior,yes,yes,oral",
            ],
            "complications": [
                "case_ref,noted_date,kind,severity",
                "treated,2026-07-01,feeding_refusal,treated",  # the first day of the quarter
                "hospital,2026-08-01,bleeding,hospital",
                "minor,2026-07-02,bleeding,minor",
                "blank,2026-07-02,infection,",  # whether it needed care is not known
                "blank-other,2026-07-02,other,",
                "again,2026-07-02,reattachment,",
                "again-care,2026-07-02,reattachment,treated",
                "early,2026-06-30,bleeding,hospital",
                "late,2026-10-01,bleeding,hospital",
                "before,2026-09-30,injury,treated",  # the last day, after a division elsewhere
            ],
        },
    )
    assert listed(audit, "complication_needing_care") == [
        ("treated", "P7", "2026-07-01", "feeding refusal, treated, 11 days after the division"),
        ("again-care", "P7", "2026-07-02", "reattachment, treated, 12 days after the division"),
        ("blank", "P7", "2026-07-02", "infection, severity not recorded, 12 days after the division"),
        ("hospital", "several", "2026-08-01", "bleeding, in hospital, on the day of the division"),
        ("before", "P1", "2026-09-30", "injury, treated, after a division before this episode"),
    ]


def test_divisions_with_no_visible_tie(audit: Path):
    load(
        audit,
        {
            "cases": [CASES, *(seen(ref, "2026-06-01") for ref in "ABCDEF")],
            "assessments": [
                "case_ref,assessment_date,practitioner,tie_type",
                "A,2026-06-01,P1,anterior",
                "B,2026-06-01,P1,submucosal",
                "C,2026-06-01,P1,submucosal",
                "E,2026-06-01,P1,none",
            ],
            "procedures": [
                PROCEDURES,
                "A,2026-07-01,P7,none,yes,yes,oral",  # its own tie, not the assessment's
                "B,2026-09-30,P7,,yes,yes,oral",
                "C,2026-09-30,P7,anterior,yes,yes,oral",
                "D,2026-09-30,P7,,yes,yes,oral",  # no kind of tie anywhere
                "E,2026-10-01,P7,,yes,yes,oral",  # the next quarter
                "F,2026-06-30,P7,none,yes,yes,oral",  # the quarter before
            ],
        },
    )
    assert listed(audit, "division_without_visible_tie") == [
        ("A", "P7", "2026-07-01", "no tie found, by the record of the division"),
        ("B", "P7", "2026-09-30", "submucosal, by the assessment"),
    ]


def test_checks_not_made_or_not_recorded(audit: Path):
    load(
        audit,
        {
            "cases": [CASES, *(seen(ref, "2026-06-01") for ref in "ABCDEF")],
            "procedures": [
                PROCEDURES,
                "A,2026-07-01,P7,anterior,yes,yes,declined",  # declined is an answer
                "B,2026-07-02,P7,anterior,yes,yes,not_known",
                "C,2026-07-03,P7,anterior,,no,oral",
                "D,2026-07-04,not_known,anterior,no,yes,oral",
                "E,2026-06-30,P7,anterior,,,",
                "F,2026-10-01,P7,anterior,,,",
            ],
        },
    )
    assert listed(audit, "checks_not_recorded") == [
        ("B", "P7", "2026-07-02", "vitamin K: not recorded"),
        ("C", "P7", "2026-07-03", "consent: not recorded; bleeding history: not asked"),
        ("D", None, "2026-07-04", "consent: no"),
    ]


def test_no_six_week_answer_once_the_window_has_closed(audit: Path):
    # First seen on 1 July at 10 days old: born on 21 June, six weeks old on 2 August; asked from 26 July to 16 August.
    load(
        audit,
        {
            "cases": [
                CASES,
                *(seen(ref) for ref in ("never", "asked", "early", "answered")),
                seen("not-fed", rest="none,,,"),
                seen("moved", rest="exclusive,,2026-07-20,moved"),
                seen("died", rest="exclusive,,2026-07-20,died"),
                # Born on 17 August, so eight weeks old on 12 October, the cut-off; and a day later.
                seen("due", "2026-08-27"),
                seen("not-due", "2026-08-28"),
                # Six weeks old on 30 June and on 1 July.
                seen("before", "2026-05-29"),
                seen("first-day", "2026-05-30"),
                seen("older", age=28),
            ],
            "contacts": [CONTACTS, "never,2026-07-01,P1,yes,"],
            "feeding_checks": [
                "case_ref,check_date,feeding",
                "asked,2026-07-26,",
                "early,2026-07-25,exclusive",
                "answered,2026-08-16,none",
            ],
        },
    )
    assert listed(audit, "no_six_week_answer") == [
        ("first-day", None, "2026-07-01", "not asked from 5 to 8 weeks of age"),
        ("asked", None, "2026-08-02", "asked once, no answer recorded"),
        ("early", None, "2026-08-02", "not asked from 5 to 8 weeks of age"),
        ("moved", None, "2026-08-02", "not asked from 5 to 8 weeks of age; closed: moved"),
        ("never", "P1", "2026-08-02", "not asked from 5 to 8 weeks of age"),
        ("due", None, "2026-09-28", "not asked from 5 to 8 weeks of age"),
    ]


def test_the_five_longest_waits_that_ran_in_the_period(audit: Path):
    load(
        audit,
        {
            "cases": [
                CASES,
                *(
                    seen(ref, "2026-05-01")
                    for ref in ("running", "divided", "after", "stopped", "undated", "short", "tied", "over", "none")
                ),
                seen("moved", "2026-05-01", rest="exclusive,,2026-07-31,moved"),
                seen("died", "2026-05-01", rest="exclusive,,2026-09-30,died"),
            ],
            "contacts": [CONTACTS, "divided,2026-05-01,P1,yes,"],
            "referrals": [
                "case_ref,referral_date,outcome,outcome_date",
                "running,2026-05-03,,",  # 150 days by 30 September
                "divided,2026-05-01,,",  # 61 days
                "after,2026-07-02,,",  # 90 days by 30 September, though divided on 1 October
                "stopped,2026-05-01,declined_by_parent,2026-07-02",  # 62 days
                "undated,2026-05-01,declined_by_parent,",  # nobody knows since when it is not waited for
                "short,2026-09-10,,",  # 20 days: the sixth longest
                "tied,2026-05-02,,",  # 61 days too
                "over,2026-05-01,,",  # divided on the day before the quarter
                "moved,2026-05-01,,",  # 91 days
                "died,2026-05-01,,",
                "none,2026-10-01,,",  # after the quarter
            ],
            "procedures": [
                PROCEDURES,
                "divided,2026-07-01,P7,anterior,yes,yes,oral",
                "after,2026-10-01,P7,anterior,yes,yes,oral",
                "tied,2026-07-02,P7,anterior,yes,yes,oral",
                "over,2026-06-30,P7,anterior,yes,yes,oral",
            ],
        },
    )
    assert listed(audit, "waited_longest") == [
        ("running", None, "2026-05-03", "150 days, still waiting on 30 September 2026"),
        ("moved", None, "2026-05-01", "91 days, then closed here on 31 July 2026"),
        ("after", None, "2026-07-02", "90 days, still waiting on 30 September 2026"),
        ("stopped", None, "2026-05-01", "62 days, then not going ahead on 2 July 2026"),
        ("divided", "P1", "2026-05-01", "61 days, then divided on 1 July 2026"),
        ("tied", None, "2026-05-02", "61 days, then divided on 2 July 2026"),
    ]


def test_a_wait_belongs_to_the_periods_it_ran_in(audit: Path):
    load(
        audit,
        {
            "cases": [CASES, *(seen(ref, "2026-06-01") for ref in ("over", "ended", "begun", "later"))],
            "referrals": [
                "case_ref,referral_date",
                "over,2026-06-02",  # divided on the day before the quarter
                "ended,2026-06-02",  # divided on its first day
                "begun,2026-09-30",
                "later,2026-10-01",
            ],
            "procedures": [
                PROCEDURES,
                "over,2026-06-30,P7,anterior,yes,yes,oral",
                "ended,2026-07-01,P7,anterior,yes,yes,oral",
            ],
        },
    )
    assert listed(audit, "waited_longest") == [
        ("ended", None, "2026-06-02", "29 days, then divided on 1 July 2026"),
        ("begun", None, "2026-09-30", "0 days, still waiting on 30 September 2026"),
    ]


def test_a_wait_is_counted_as_far_as_the_case_was_followed(audit: Path):
    load(
        audit,
        {"cases": [CASES, seen("A", "2026-05-01")], "referrals": ["case_ref,referral_date", "A,2026-07-01"]},
        date(2026, 8, 1),
    )
    assert listed(audit, "waited_longest") == [("A", None, "2026-07-01", "31 days, still waiting on 1 August 2026")]


def test_weight_more_than_a_tenth_below_birth_weight(audit: Path):
    # Born with 3400 g, of which a tenth is 340 g.
    weights = {
        "a-tenth": ["2026-07-10,P1,yes,3060"],  # exactly 10%
        "over": ["2026-07-10,P1,yes,3059"],
        "lowest": ["2026-07-05,P1,yes,3000", "2026-07-08,P1,yes,2890", "2026-07-12,P1,yes,3230"],
        "back": ["2026-07-01,P1,yes,3000", "2026-07-20,P1,yes,3400"],
        "same-day": ["2026-09-30,P1,yes,3200", "2026-09-30,P2,yes,3000"],  # the lower of the day counts
        "before": ["2026-06-30,P1,yes,3000", "2026-07-02,P1,yes,3200"],
        "later": ["2026-10-01,P1,yes,3000"],
        "died": ["2026-07-10,P1,yes,3000"],
        "no-birth-weight": ["2026-07-10,P1,yes,1000"],
    }
    rest = {"no-birth-weight": "exclusive,,,", "died": "exclusive,3400,2026-07-12,died"}
    load(
        audit,
        {
            "cases": [
                CASES,
                *(seen(ref, "2026-06-28", 3, rest.get(ref, "exclusive,3400,,")) for ref in weights),
            ],
            "contacts": [CONTACTS, *(f"{ref},{line}" for ref, lines in weights.items() for line in lines)],
        },
    )
    assert listed(audit, "weight_loss_over_a_tenth") == [
        ("back", "P1", "2026-07-01", "11.8% below birth weight; next weighed 20 July 2026, back at birth weight"),
        ("lowest", "P1", "2026-07-08", "15.0% below birth weight; next weighed 12 July 2026, 5.0% below"),
        ("over", "P1", "2026-07-10", "10.0% below birth weight; not weighed again by 12 October 2026"),
        ("same-day", None, "2026-09-30", "11.8% below birth weight; not weighed again by 12 October 2026"),
    ]


DIVIDED = "case_ref,procedure_date,operator,provider,vitamin_k,minutes_to_first_feed"


def test_complications_of_divisions_elsewhere_have_a_list_of_their_own(audit: Path):
    load(
        audit,
        {
            "cases": [
                CASES,
                *(seen(ref, "2026-06-01") for ref in ("A", "blank", "first", "ours", "both", "early", "next")),
            ],
            "contacts": [CONTACTS, "A,2026-06-01,P1,yes,"],
            "procedures": [
                DIVIDED,
                *(f"{ref},2026-06-20,elsewhere,private,," for ref in ("A", "first", "ours", "early", "next")),
                "blank,2026-07-01,elsewhere,other_service,,",
                "ours,2026-06-25,P7,own,,",  # the latest before it counts
                "both,2026-06-20,elsewhere,private,,",  # a day with a row of ours is ours
                "both,2026-06-20,P7,,,",
            ],
            "complications": [
                "case_ref,noted_date,kind,severity",
                "A,2026-09-30,feeding_refusal,hospital",
                "blank,2026-07-02,bleeding,",
                "first,2026-07-01,infection,minor",
                "ours,2026-07-01,bleeding,treated",
                "both,2026-07-01,bleeding,treated",
                "early,2026-06-30,bleeding,treated",
                "next,2026-10-01,bleeding,treated",
            ],
        },
    )
    assert listed(audit, "complication_of_a_division_elsewhere") == [
        ("first", None, "2026-07-01", "infection, minor, 11 days after the division"),
        ("blank", None, "2026-07-02", "bleeding, severity not recorded, 1 day after the division"),
        ("A", "P1", "2026-09-30", "feeding refusal, in hospital, 102 days after the division"),
    ]
    assert [ref for ref, *_ in listed(audit, "complication_needing_care")] == ["both", "ours"]


def test_divided_without_vitamin_k_and_two_operators_on_one_day(audit: Path):
    refs = ("declined", "not-given", "oral", "blank", "better", "elsewhere", "early", "next", "two", "one", "days")
    load(
        audit,
        {
            "cases": [CASES, *(seen(ref, "2026-06-01") for ref in refs)],
            "contacts": [CONTACTS, "two,2026-06-01,P1,yes,"],
            "procedures": [
                DIVIDED,
                "declined,2026-07-01,P7,,declined,",
                "not-given,2026-09-30,P7,own,not_given,",
                "oral,2026-07-01,P7,,oral,",
                "blank,2026-07-01,P7,,,",
                "better,2026-07-01,P7,,declined,5",  # of two rows of a day the one that was given counts
                "better,2026-07-01,P7,,injection,6",
                "elsewhere,2026-07-01,P7,private,declined,",
                "elsewhere,2026-07-01,P8,private,declined,",
                "early,2026-06-30,P7,,declined,",
                "early,2026-06-30,P8,,declined,",
                "next,2026-10-01,P7,,declined,",
                "next,2026-10-01,P8,,declined,",
                "two,2026-07-02,P9,,oral,",
                "two,2026-07-02,P7,,oral,",
                "one,2026-07-02,P7,,oral,5",
                "one,2026-07-02,P7,,oral,6",
                "days,2026-07-02,P7,,oral,",
                "days,2026-07-03,P8,,oral,",
            ],
        },
    )
    assert listed(audit, "divided_without_vitamin_k") == [
        ("declined", "P7", "2026-07-01", "vitamin K declined"),
        ("not-given", "P7", "2026-09-30", "vitamin K not given"),
    ]
    assert listed(audit, "two_operators_on_one_day") == [("two", "P1", "2026-07-02", "operators P7, P9")]


REQUESTS = "case_ref,site,request_date,outcome,outcome_date"


def test_requests_that_wait_longer_than_the_limit_of_the_service(audit: Path):
    # 28 days before the last day of the quarter is 2 September.
    asked = {
        "at-the-limit": "2026-09-02,,",
        "over": "2026-09-01,waiting,",
        "longest": "2026-01-01,,",
        "ended": "2026-08-01,declined,2026-09-30",
        "ended-later": "2026-08-01,no_reply,2026-10-01",
        "undated": "2026-08-01,declined,",  # nobody knows since when it is not waited for
        "died": "2026-08-01,died,2026-10-02",
    }
    head, line = CASES.replace(",site,", ",site,help_requested_date,"), "North,2026-08-01,{},10,,,,"
    of_cases = [f"seen,{line.format('2026-09-30')}", f"seen-later,{line.format('2026-10-01')}"]
    requests = [REQUESTS, *(f"{ref},North,{rest}" for ref, rest in asked.items())]
    load(audit, {"cases": [head, *of_cases], "requests": requests})
    assert listed(audit, "request_waiting_too_long") == [
        ("longest", None, "2026-01-01", "272 days, still waiting on 30 September 2026"),
        ("ended-later", None, "2026-08-01", "60 days, still waiting on 30 September 2026"),
        ("seen-later", None, "2026-08-01", "60 days, still waiting on 30 September 2026"),
        ("over", None, "2026-09-01", "29 days, still waiting on 30 September 2026"),
    ]
    settings = audit / "audit.toml"
    text = settings.read_text(encoding="utf-8")
    settings.write_text(text.replace("longest_wait_days = 28", "longest_wait_days = 60"), encoding="utf-8")
    assert [ref for ref, *_ in listed(audit, "request_waiting_too_long")] == ["longest"]


def test_a_request_is_counted_as_far_as_its_export_goes_and_not_where_any_load_says_the_baby_died(audit: Path):
    nobody = {"cases": [CASES, seen("Z")]}
    load(audit, {**nobody, "requests": [REQUESTS, "A,North,2026-07-01,,", "B,North,2026-07-01,,"]}, date(2026, 8, 1))
    assert listed(audit, "request_waiting_too_long") == [
        ("A", None, "2026-07-01", "31 days, still waiting on 1 August 2026"),
        ("B", None, "2026-07-01", "31 days, still waiting on 1 August 2026"),
    ]
    load(audit, {**nobody, "requests": [REQUESTS, "B,North,2026-07-01,died,2026-07-20"]}, date(2026, 7, 31))
    assert [ref for ref, *_ in listed(audit, "request_waiting_too_long")] == ["A"]


def test_a_death_that_only_an_older_load_tells_of_keeps_a_case_off_the_lists_somebody_might_ring_from(audit: Path):
    """And off no other: a complication and a division are reviewed, without a word of the death."""
    rows = {
        "contacts": [CONTACTS, "A,2026-07-01,P1,yes,3400", "A,2026-07-12,P1,yes,2900"],
        "referrals": ["case_ref,referral_date", "A,2026-07-02"],
        "procedures": [PROCEDURES, "A,2026-07-12,P7,none,,yes,oral"],
        "complications": ["case_ref,noted_date,kind,severity", "A,2026-07-12,bleeding,hospital"],
    }
    load(audit, {"cases": [CASES, seen("A", rest="exclusive,3400,,")], **rows})
    might_ring = {"no_six_week_answer", "waited_longest", "weight_loss_over_a_tenth"}
    for_review = {"complication_needing_care", "division_without_visible_tie", "checks_not_recorded"}
    assert {name for name, reason in reasons(audit).items() if reason.cases} >= might_ring | for_review
    load(audit, {"cases": [CASES, seen("A", rest="exclusive,3400,2026-07-15,died")], **rows}, date(2026, 10, 11))
    still = reasons(audit)
    assert {name for name, reason in still.items() if reason.cases} & (might_ring | for_review) == for_review
    assert "died" not in page(tuple(still.values()), "Service", PERIOD, CUT_OFF)


def test_report_writes_the_page_and_the_list_for_their_owner_only(audit: Path):
    load(
        audit,
        {
            "cases": [CASES, *(seen(f'"{ref}"', "2026-06-01") for ref in ("=2+2", "<i>x", "A"))],
            "procedures": [
                PROCEDURES,
                *(f"{ref},2026-07-0{day},P7,anterior,,yes,oral" for day, ref in enumerate(("=2+2", "<i>x", "A"), 1)),
                "A,2026-07-04,@P8,anterior,,yes,oral",
            ],
        },
    )
    made = run.report(audit, PERIOD)
    html, listing = (path for path in made.files if path.stem == "cases_to_look_at_again")
    assert {stat.S_IMODE(path.stat().st_mode) for path in (html, listing)} == {0o600}
    text = html.read_text(encoding="utf-8")
    found = read(text)
    assert [row[0] for row in found.tables["checks_not_recorded-caption"][1:]] == ["=2+2", "<i>x", "A", "A"]
    assert "Checks not made or not recorded before a division: 3 cases in 4 lines" in text
    nobody = {name for name, reason in reasons(audit).items() if not reason.cases}  # three have no six-week answer
    expected = {"complication_needing_care", "division_without_visible_tie", "waited_longest"}
    assert nobody >= expected | {"weight_loss_over_a_tenth", "request_waiting_too_long"}
    assert text.count("None.") == len(nobody)
    assert "i" not in {tag for tag, _ in found.tags}
    for words in (
        "Not a safety net: a concern about a baby is acted on the day it arises.",
        "For the service’s own review. It holds case references: do not e-mail it.",
    ):
        assert words in text
    with listing.open(encoding="utf-8", newline="") as file:
        rows = [row for row in csv.DictReader(file) if row["reason"] == "checks_not_recorded"]
    assert [(row["case_ref"], row["practitioner"], row["day"]) for row in rows] == [
        ("'=2+2", "P7", "2026-07-01"),
        ("<i>x", "P7", "2026-07-02"),
        ("A", "P7", "2026-07-03"),
        ("A", "'@P8", "2026-07-04"),
    ]
    run.report(audit, PERIOD)
    assert html.read_text(encoding="utf-8") == text


@pytest.mark.parametrize(
    ("sql", "said"),
    [
        ("-- title: T\nSELECT 1", "no key why"),
        (
            "-- title: T\n-- why: W\nSELECT case_ref, case_ref AS practitioner FROM cases WHERE $period <> ''",
            "columns",
        ),
        ("-- title: T\n-- why: W\nSELECT nothing FROM cases\nWHERE $period <> ''", r"10_one.sql, line 3"),
    ],
)
def test_a_file_that_is_no_such_list_is_refused(audit: Path, tmp_path: Path, sql: str, said: str):
    load(audit, {"cases": [CASES, seen("A")]})
    (tmp_path / "look_again").mkdir()
    (tmp_path / "look_again" / "10_one.sql").write_text(sql, encoding="utf-8")
    with contextlib.closing(store.work(audit)) as con:
        store.attach(con, audit, to_load=False)
        periods.count_by(con, periods.QUARTER, 4)
        cases.build(con)
        measure_rows.hold_settings(con, settings_of(audit))
        with pytest.raises(Refused, match=said):
            look_again.look_again(con, PERIOD, tmp_path / "look_again")


def test_signs_that_cannot_be_seen_are_marked_on_the_page():
    case = CaseToLookAt("a\u202eb", None, date(2026, 7, 1), "<b>detail")
    text = page((Reason("one", "One", "Why.", (case,)),), "Service", PERIOD, CUT_OFF)
    assert read(text).tables["one-caption"][1] == ["a\ufffdb", "not recorded", "1\u00a0Jul\u00a02026", "<b>detail"]
    assert "\u202e" not in text
