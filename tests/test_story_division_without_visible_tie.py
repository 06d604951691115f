"""Division without a visible tie: the procedure's own tie type, else the case's, else not in the measure."""

from __future__ import annotations

from collections.abc import Callable

from tests.conftest import Story

MEASURE = "division_without_visible_tie"
MET, NOT_MET = (1, 1, 1, 0), (1, 1, 0, 0)  # eligible, known, met, unknown

# First contact on 1 January and procedure on 10 January unless the case says otherwise.
CUT_OFF = "2026-06-30"
EXPORT = {
    "cases": """
        case_ref,site,first_contact_date,age_days
        own_none,own_none,2026-01-01,10
        own_submucosal,own_submucosal,2026-01-01,10
        own_anterior,own_anterior,2026-01-01,10
        own_posterior,own_posterior,2026-01-01,10
        own_before_the_case,own_before_the_case,2026-01-01,10
        own_none_before_the_case,own_none_before_the_case,2026-01-01,10
        of_the_case,of_the_case,2026-01-01,10
        of_the_case_visible,of_the_case_visible,2026-01-01,10
        assessed_later,assessed_later,2026-01-01,10
        assessed_again_in_vain,assessed_again_in_vain,2026-01-01,10
        none_and_anterior_on_a_day,none_and_anterior_on_a_day,2026-01-01,10
        three_on_a_day,three_on_a_day,2026-01-01,10
        not_said,not_said,2026-01-01,10
        not_assessed,not_assessed,2026-01-01,10
        before,before,2026-01-20,29
        never,never,2026-01-01,10
        twice,twice,2026-01-01,10
    """,
    "assessments": """
        case_ref,assessment_date,practitioner,tie_type
        own_before_the_case,2026-01-05,P,submucosal
        own_none_before_the_case,2026-01-05,P,anterior
        of_the_case,2026-01-05,P,submucosal
        of_the_case_visible,2026-01-05,P,posterior
        assessed_later,2026-02-01,P,submucosal
        assessed_later,2026-01-05,P,anterior
        assessed_again_in_vain,2026-01-05,P,none
        assessed_again_in_vain,2026-01-08,P,not_recorded
        none_and_anterior_on_a_day,2026-01-05,P,anterior
        none_and_anterior_on_a_day,2026-01-05,Q,none
        not_said,2026-01-05,P,not_recorded
        never,2026-01-05,P,none
    """,
    "procedures": """
        case_ref,procedure_date,operator,tie_type
        own_none,2026-01-10,O,none
        own_submucosal,2026-01-10,O,submucosal
        own_anterior,2026-01-10,O,anterior
        own_posterior,2026-01-10,O,posterior
        own_before_the_case,2026-01-10,O,anterior
        own_none_before_the_case,2026-01-10,O,none
        of_the_case,2026-01-10,O,not_recorded
        of_the_case_visible,2026-01-10,O,
        assessed_later,2026-01-10,O,
        assessed_again_in_vain,2026-01-10,O,
        none_and_anterior_on_a_day,2026-01-10,O,
        three_on_a_day,2026-01-10,O,none
        three_on_a_day,2026-01-10,Q,none
        three_on_a_day,2026-01-10,O,anterior
        not_said,2026-01-10,O,not_recorded
        not_assessed,2026-01-10,O,
        before,2026-01-10,O,none
        twice,2026-03-31,O,submucosal
        twice,2026-04-01,O,posterior
    """,
}
STORIES = [(EXPORT, CUT_OFF)]


def test_the_procedures_own_tie_type_then_the_cases(tell: Callable[..., Story]) -> None:
    story = tell(EXPORT, CUT_OFF)
    found = {each: story.counts(MEASURE, "2026Q1", "site", each) for each in story.levels(MEASURE, "2026Q1", "site")}
    assert found == {
        "own_none": MET,  # none is an answer; taken for nothing recorded, the procedure would not be eligible
        "own_submucosal": MET,
        "own_anterior": NOT_MET,
        "own_posterior": NOT_MET,
        "own_before_the_case": NOT_MET,  # its own is anterior; the case's, submucosal, would count it
        "own_none_before_the_case": MET,
        "of_the_case": MET,  # its own says nothing, in so many words
        "of_the_case_visible": NOT_MET,
        "assessed_later": MET,  # the latest assessment of the whole case, after the procedure too
        "assessed_again_in_vain": MET,  # the latest that records one says none
        "none_and_anterior_on_a_day": NOT_MET,  # the last of none, anterior, ...; by alphabet it would be none
        "three_on_a_day": (3, 3, 2, 0),  # every procedure counts
        "twice": MET,  # the one of 31 March
    }  # not_said and not_assessed: no tie type, not eligible, and never unknown. before and never: no procedure.
    assert story.counts(MEASURE, "2026Q1") == (15, 15, 9, 0)
    assert story.levels(MEASURE, "2026Q2", "site") == {"twice": 1}  # the one of 1 April
    assert story.counts(MEASURE, "2026Q2") == NOT_MET
    assert story.row(MEASURE, "2026Q2")["complete"] == "yes"  # nothing to wait for

    # Beside the measure, each apart: submucosal are own_submucosal, of_the_case, assessed_later and twice; none are
    # own_none, own_none_before_the_case, assessed_again_in_vain and two of three_on_a_day; not recorded are two.
    apart = story.outcome.apart
    here = apart[(apart["measure"] == MEASURE) & (apart["period"] == "2026Q1")]
    counts = dict(zip(here["title"], here["count"], strict=True))
    assert sorted(counts.values()) == [2, 4, 5]
    assert [count for title, count in counts.items() if "submucosal" in title] == [4]
    assert [count for title, count in counts.items() if "not recorded" in title] == [2]
