"""What a report says beside its measures, worked by hand: the flow, what is not recorded, overlapping loads."""

from __future__ import annotations

import contextlib
from datetime import date, timedelta
from pathlib import Path

import pandas as pd

from pipeline import run, store
from pipeline.outcomes import accounts, cases, periods
from tests.conftest import INVENTED, Story, work_out_folder, write_export
from tests.second_opinion.nasty import write_export as write_nasty_export

EXPORT = {
    # All first seen 10 days old on 5 January 2026, so 56 days old on 20 February; L on 10 February, so on 28 March.
    "cases": """
        case_ref,site,first_contact_date,age_days,feeding_at_first_contact,closed_date,closed_reason,sex
        A,North,2026-01-05,10,exclusive,2026-02-01,settled,female
        B,North,2026-01-05,10,partial,,,
        C,North,2026-01-05,10,exclusive,2026-01-20,died,not_known
        D,South,2026-01-05,28,exclusive,,,male
        E,South,2026-01-05,27,exclusive,,,male
        F,South,2026-01-05,10,none,,,
        G,South,2026-01-05,10,,,,female
        L,South,2026-02-10,10,exclusive,,,female
        O,South,2025-12-31,10,exclusive,,,female
    """,
    "procedures": """
        case_ref,procedure_date,operator
        B,2026-01-20,P1
    """,
    "feeding_checks": """
        case_ref,check_date,feeding
        A,2026-02-06,exclusive
        B,2026-02-06,none
        C,2026-02-06,exclusive
        L,2026-03-14,exclusive
    """,
}


def test_every_case_of_the_period_stands_in_one_cell_of_the_flow(audit: Path, tmp_path: Path):
    run.load(audit, write_export(tmp_path / "export", EXPORT), date(2026, 3, 27), accept_anyway=INVENTED)
    with contextlib.closing(store.work(audit)) as con:
        store.attach(con, audit, to_load=False)
        periods.count_by(con, periods.QUARTER, 4)
        cases.build(con)
        flow = accounts.flow(con, "2026Q1")
        not_recorded = accounts.not_recorded(con, "2026Q1")
    cells = {(row.route, row.six_weeks): row.cases for row in flow.itertuples()}
    assert cells == {
        ("settled", "exclusive"): 1,  # A
        ("divided", "none"): 1,  # B
        # C died; D was first seen at 28 days; F was not breastfed and G's feeding is not recorded: not in the question.
        ("closed", "outside"): 1,  # C, with an answer that is not shown
        ("in_support", "outside"): 3,  # D, F, G
        ("in_support", "no_answer"): 1,  # E, 27 days old at first contact
        ("in_support", "not_yet_due"): 1,  # L is 8 weeks old the day after the cut-off; its answer waits for that
    }  # O was first seen the quarter before.
    sex = not_recorded[(not_recorded["table"] == "cases") & (not_recorded["column"] == "sex")]
    assert {row.site: (row.rows, row.not_recorded) for row in sex.itertuples()} == {"North": (3, 2), "South": (5, 1)}


def test_a_case_the_newest_export_dropped_has_no_answer_once_its_time_has_passed(audit: Path, tmp_path: Path):
    run.load(audit, write_export(tmp_path / "one", EXPORT), date(2026, 3, 27), accept_anyway=INVENTED)
    kept = {"cases": "case_ref,site,first_contact_date,age_days\nZ,North,2026-04-01,10"}
    run.load(audit, write_export(tmp_path / "two", kept), date(2026, 5, 1), accept_anyway=INVENTED)
    with contextlib.closing(store.work(audit)) as con:
        store.attach(con, audit, to_load=False)
        periods.count_by(con, periods.QUARTER, 4)
        cases.build(con)
        flow = accounts.flow(con, "2026Q1")
    cells = {(row.route, row.six_weeks): row.cases for row in flow.itertuples()}
    assert ("in_support", "not_yet_due") not in cells
    assert cells["in_support", "no_answer"] == 2  # E, and L whose answer its own export could not yet count


def test_an_export_loaded_twice_with_a_later_cut_off_counts_once(tmp_path: Path):
    """All tables, each row in both loads: the same as the later load alone."""
    export = tmp_path / "export"
    export.mkdir()
    cut_off = write_nasty_export(export, 20260705, 200)
    found = []
    for name, days in (("both", (cut_off, cut_off + timedelta(days=1))), ("later", (cut_off + timedelta(days=1),))):
        run.new(tmp_path / name)
        for day in days:
            run.load(tmp_path / name, export, day, accept_anyway=INVENTED)
        found.append(work_out_folder(tmp_path / name))
    # A row dated between the cut-offs is set aside in the first load only; none of this export is.
    pd.testing.assert_frame_equal(found[0].results, found[1].results)
    pd.testing.assert_frame_equal(found[0].waits, found[1].waits)


def test_rows_of_an_older_version_of_a_case_are_never_counted(audit: Path, tmp_path: Path):
    """The newer export holds the case and a procedure, and no longer what the older one held beside them."""
    cases_of_both = {
        "cases": """
            case_ref,site,first_contact_date,age_days,feeding_at_first_contact
            A,North,2026-01-05,10,exclusive
        """,
        "procedures": "case_ref,procedure_date,operator\nA,2026-01-20,P1",
    }
    older = {
        "contacts": "case_ref,contact_date,practitioner,attachment_help\nA,2026-01-05,P1,yes",
        "assessments": "case_ref,assessment_date,practitioner,tie_type\nA,2026-01-05,P1,anterior",
        "referrals": "case_ref,referral_date\nA,2026-01-06",
        "complications": "case_ref,noted_date,kind\nA,2026-01-20,infection",
        "feeding_checks": "case_ref,check_date,feeding\nA,2026-02-06,exclusive",
    }
    run.load(audit, write_export(tmp_path / "one", cases_of_both | older), date(2026, 4, 30), accept_anyway=INVENTED)
    run.load(audit, write_export(tmp_path / "two", cases_of_both), date(2026, 5, 31), accept_anyway=INVENTED)
    story = Story(work_out_folder(audit))
    assert story.counts("resolved_by_attachment_help", "2026Q1") == (0, 0, 0, 0)  # no contact gave help
    assert story.levels("days_to_referral", "2026Q1", "tie_type") == {"not_recorded": 1}  # no assessment
    assert story.counts("function_assessed_before_referral", "2026Q1") == (0, 0, 0, 0)  # no referral
    assert story.counts("infection_within_14_days", "2026Q1") == (1, 0, 0, 1)  # one procedure, not two; nobody looked
    assert story.counts("breastfed_at_6_weeks", "2026Q1") == (1, 0, 0, 1)  # no answer


def test_who_still_waits_is_counted_by_site_and_how_long(audit: Path, tmp_path: Path):
    cut_off = date(2026, 6, 30)
    days = {"A": 0, "B": 13, "C": 14, "D": 27, "E": 28, "F": 55, "G": 56, "H": 20, "I": 20, "J": 20, "K": 20}
    sites = {ref: "South" if ref in "CG" else "North" for ref in days}
    closed = {"J": f"{cut_off},settled", "K": ",died"}  # on a day nobody wrote down
    referred = {ref: cut_off - timedelta(days=since) for ref, since in days.items()}
    lines = {
        "cases": ["case_ref,site,first_contact_date,age_days,closed_date,closed_reason"]
        + [f"{ref},{sites[ref]},2026-03-01,10,{closed.get(ref, ',')}" for ref in days],
        "referrals": ["case_ref,referral_date,outcome", f"G,{cut_off},waiting"]  # the earliest counts
        + [f"{ref},{day},{'withdrawn' if ref == 'I' else 'waiting'}" for ref, day in referred.items()],
        "procedures": ["case_ref,procedure_date,operator", f"H,{cut_off},P1"],
        "requests": ["case_ref,site,request_date,outcome"]
        + [f"Q,South,{cut_off - timedelta(days=60)},", f"R,not_recorded,{cut_off},waiting", f"S,North,{cut_off},moved"],
    }
    tables = {name: "\n".join(rows) for name, rows in lines.items()}
    run.load(audit, write_export(tmp_path / "export", tables), cut_off, accept_anyway=INVENTED)
    with contextlib.closing(store.work(audit)) as con:
        store.attach(con, audit, to_load=False)
        periods.count_by(con, periods.QUARTER, 4)
        cases.build(con)
        rows = accounts.still_waiting(con).itertuples(index=False, name=None)
    assert list(rows) == [
        ("days_from_referral_to_procedure", "North", 2, 1, 2, 0, 55),  # A B, D, E F; divided, withdrawn, closed: not
        ("days_from_referral_to_procedure", "South", 0, 1, 0, 1, 56),  # C, G
        ("days_to_first_contact", "South", 0, 0, 0, 1, 60),
        ("days_to_first_contact", "not_recorded", 1, 0, 0, 0, 0),
    ]


def test_each_source_says_for_itself_whether_it_holds_requests():
    with contextlib.closing(store.work(None)) as con:
        con.execute("ATTACH ':memory:' AS store")
        con.execute("CREATE TABLE store.requests AS SELECT unnest([1, 1, 4]) AS load")
        # Of the layout the first load held some, of Hill none did; that of Vale did, and is withdrawn.
        con.execute(
            "CREATE VIEW loads_in_force AS SELECT * FROM (VALUES (1, ''), (2, ''), (3, 'Hill')) AS l (load, source)"
        )
        assert accounts.requests_held(con) == {"": True, "Hill": False}
