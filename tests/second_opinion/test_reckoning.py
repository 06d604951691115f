"""Small cases whose answers were worked out by hand from the definitions of the measures.

Days are counted from the first contact, 2025-01-01. Where no age is given the child is 10 days old on it, so birth is
day -10, the six-week date day 32, its window days 25 to 46, and 21 days of age day 11.
"""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path

import pytest

from .cases import Case
from .measures import measures_of
from .reckoning import reckon

FIRST = date(2025, 1, 1)
FIELDS = {
    "contacts": ("contact_date", "practitioner", "attachment_help", "problem_status", "pain_score", "weight_g"),
    "assessments": ("assessment_date", "practitioner", "tie_type", "extension", "cupping", "peristalsis"),
    "referrals": ("referral_date", "outcome", "outcome_date"),
    "procedures": (
        "procedure_date",
        "operator",
        "tie_type",
        "consent_recorded",
        "bleeding_history_asked",
        "vitamin_k",
        "minutes_to_first_feed",
        "aftercare_advice",
    ),
    "complications": ("noted_date", "kind", "severity"),
    "feeding_checks": ("check_date", "feeding", "at_breast"),
}


def written(value: object) -> str:
    return (FIRST + timedelta(days=value)).isoformat() if isinstance(value, int) else str(value)


def one_case(
    folder: Path, cut_off: int = 300, age: int = 10, closed: tuple[object, str] = ("", ""), **rows: list[object]
) -> Case:
    """A case with the rows given: a number is a day, everything else stands as it is, what is left out is empty."""
    case = ["a", "hub_a", FIRST.isoformat(), str(age), written(closed[0]), closed[1], "partial", "3000"]
    names = (
        "case_ref,site,first_contact_date,age_days,closed_date,closed_reason,feeding_at_first_contact,birth_weight_g"
    )
    (folder / "cases.csv").write_text(f"{names}\n{','.join(case)}\n", "utf-8")
    for table, fields in FIELDS.items():
        lines = [",".join(("case_ref", *fields))]
        for row in rows.pop(table, []):
            values = [written(value) for value in row] if isinstance(row, tuple) else [written(row)]
            lines.append(",".join(["a", *values, *[""] * (len(fields) - len(values))]))
        (folder / f"{table}.csv").write_text("\n".join(lines), "utf-8")
    assert not rows
    return reckon(folder, FIRST + timedelta(days=cut_off), "2025Q4").cases[0]


def ask(name: str, case: Case) -> list[object]:
    """What the measure says: for each answer met (True), not met (False), unknown (None), a number or a wait."""
    measure = next(measure for measure in measures_of(5) if measure.name == name)
    found: list[object] = []
    for answer in measure.answers(case):
        kinds = {"proportion": answer.result, "days": answer.days}
        found.append(kinds.get(measure.kind, (answer.days, answer.event)))
    return found


PLAIN = ("o", "", "", "", "")
HELP, RESOLVED = (0, "p", "yes"), (42, "p", "", "resolved")
DIVIDED = [(20, "o")]
STORIES: list[tuple[str, dict[str, object], list[object]]] = [
    ("resolved_by_attachment_help", {"contacts": [HELP, RESOLVED]}, [True]),
    ("resolved_by_attachment_help", {"contacts": [HELP, RESOLVED], "cut_off": 41}, []),
    ("resolved_by_attachment_help", {"contacts": [HELP, RESOLVED], "cut_off": 42}, [True]),
    ("resolved_by_attachment_help", {"contacts": [HELP, RESOLVED, (42, "p", "", "worse")]}, [False]),
    ("resolved_by_attachment_help", {"contacts": [HELP, (43, "p", "", "resolved")]}, [None]),
    ("resolved_by_attachment_help", {"contacts": [(43, "p", "yes"), RESOLVED]}, []),
    ("resolved_by_attachment_help", {"contacts": [HELP, RESOLVED], "referrals": [42]}, [False]),
    ("resolved_by_attachment_help", {"contacts": [HELP, RESOLVED], "referrals": [43]}, [True]),
    ("resolved_by_attachment_help", {"contacts": [HELP], "feeding_checks": [(42, "none")]}, [False]),
    ("resolved_by_attachment_help", {"contacts": [HELP, RESOLVED], "procedures": [(-1, "o")]}, [True]),
    ("resolved_by_attachment_help", {"contacts": [(42, "p", "yes", "resolved")]}, [True]),
    ("resolved_by_attachment_help", {"contacts": [HELP, RESOLVED], "feeding_checks": [(9, "partial")]}, [True]),
    ("attachment_help_before_referral", {"contacts": [(6, "p", "yes")], "referrals": [7, 9]}, [True]),
    ("attachment_help_before_referral", {"contacts": [(7, "p", "yes"), (6, "p")], "referrals": [7]}, [None]),
    ("attachment_help_before_referral", {"contacts": [(7, "p", "yes")], "referrals": [7]}, [False]),
    ("function_assessed_before_referral", {"assessments": [(7, "p", "none", "full", "full", "absent")]}, []),
    (
        "function_assessed_before_referral",
        {"assessments": [(7, "p", "none", "full", "full", "absent")], "referrals": [7]},
        [True],
    ),
    (
        "function_assessed_before_referral",
        {"assessments": [(7, "p", "none", "full", "full"), (7, "p", "", "full", "full", "full")], "referrals": [7]},
        [False],
    ),
    ("days_to_referral", {"referrals": [84]}, [(84, 1)]),
    ("days_to_referral", {"referrals": [85]}, [(84, 0)]),
    ("days_to_referral", {"contacts": [(5, "p", "", "resolved")], "referrals": [5]}, [(5, 1)]),
    ("days_to_referral", {"contacts": [(4, "p", "", "resolved")], "referrals": [5]}, [(4, 2)]),
    ("days_to_referral", {"referrals": [9], "closed": (9, "moved")}, [(9, 1)]),
    ("days_to_referral", {"referrals": [9], "closed": (8, "moved")}, [(8, 0)]),
    ("days_to_referral", {"referrals": [9], "closed": (8, "settled")}, [(9, 1)]),
    ("days_to_referral", {"cut_off": 30}, [(30, 0)]),
    ("days_from_referral_to_procedure", {"referrals": [5], "procedures": [(3, "o"), (25, "o")]}, [(20, 1)]),
    ("days_from_referral_to_procedure", {"referrals": [(5, "withdrawn", 9)], "procedures": [(25, "o")]}, [(4, 2)]),
    ("days_from_referral_to_procedure", {"referrals": [(5, "withdrawn", 9)], "procedures": [(3, "o")]}, [(84, 0)]),
    ("days_from_referral_to_procedure", {"referrals": [(5, "withdrawn", 9)], "procedures": [(-3, "o")]}, [(4, 2)]),
    ("days_from_referral_to_procedure", {"referrals": [(5, "withdrawn", 9), (6, "waiting")]}, [(84, 0)]),
    ("days_from_referral_to_procedure", {"referrals": [(5, "withdrawn", 9), (5, "waiting")]}, [(84, 0)]),
    ("days_from_referral_to_procedure", {"referrals": [(5, "withdrawn"), (5, "withdrawn", 9)]}, [(4, 2)]),
    ("days_from_referral_to_procedure", {"referrals": [5], "procedures": [(5, "o")]}, [(0, 1)]),
    (
        "days_from_referral_to_procedure",
        {"referrals": [9], "procedures": [(9, "o")], "closed": (8, "died")},
        [(-1, 0)],
    ),
    ("age_at_procedure", {"procedures": [(-1, "o"), (25, "o"), (20, "o")]}, [30]),
    ("checks_before_procedure", {"procedures": [(5, "o", "", "yes", "yes", "declined")]}, [True]),
    ("checks_before_procedure", {"procedures": [(5, "o", "", "yes", "no")]}, [False]),
    ("checks_before_procedure", {"procedures": [(5, "o", "", "yes", "yes", "not_known")]}, [None]),
    ("fed_within_30_minutes", {"procedures": [(5, *PLAIN, "30"), (5, *PLAIN, "31"), (5, *PLAIN)]}, [True, False, None]),
    ("aftercare_advice_given", {"procedures": [(5, *PLAIN, "", "yes"), (5, *PLAIN, "", "no")]}, [True, False]),
    ("aftercare_advice_given", {"procedures": [(5, "o")]}, [None]),
    ("attachment_help_after_division", {"procedures": DIVIDED, "contacts": [(27, "p", "yes")]}, [True]),
    ("attachment_help_after_division", {"procedures": DIVIDED, "cut_off": 27}, [False]),
    ("attachment_help_after_division", {"procedures": DIVIDED, "contacts": [(28, "p", "yes"), (20, "p")]}, [False]),
    ("attachment_help_after_division", {"procedures": DIVIDED, "contacts": [(21, "p")]}, [None]),
    ("attachment_help_after_division", {"procedures": DIVIDED, "cut_off": 26}, []),
    ("complication_within_14_days", {"procedures": DIVIDED, "complications": [(34, "other")]}, [True]),
    ("complication_within_14_days", {"procedures": DIVIDED, "complications": [(34, "reattachment")]}, [None]),
    ("complication_within_14_days", {"procedures": DIVIDED, "feeding_checks": [34]}, [False]),
    ("complication_within_14_days", {"procedures": DIVIDED, "contacts": [(20, "p"), (35, "p")]}, [None]),
    ("complication_within_14_days", {"procedures": DIVIDED, "cut_off": 33}, []),
    ("bleeding_needing_care", {"procedures": DIVIDED, "complications": [(20, "bleeding", "treated")]}, [True]),
    ("bleeding_needing_care", {"procedures": DIVIDED, "complications": [(20, "bleeding", "minor")]}, [False]),
    (
        "bleeding_needing_care",
        {"procedures": DIVIDED, "complications": [(20, "bleeding", "")], "contacts": [(21, "p")]},
        [None],
    ),
    ("infection_within_14_days", {"procedures": DIVIDED, "complications": [(35, "infection")]}, [None]),
    ("divided_again_within_84_days", {"procedures": [(20, "o"), (104, "o")]}, [True]),
    ("divided_again_within_84_days", {"procedures": [(20, "o"), (20, "x"), (105, "o")]}, [False]),
    ("divided_again_within_84_days", {"procedures": DIVIDED, "cut_off": 103}, []),
    ("divided_again_within_84_days", {"procedures": DIVIDED, "cut_off": 104}, [False]),
    ("division_without_visible_tie", {"procedures": DIVIDED}, []),
    ("division_without_visible_tie", {"procedures": DIVIDED, "assessments": [(99, "p", "submucosal")]}, [True]),
    ("division_without_visible_tie", {"procedures": [(20, "o", "anterior"), (20, "o", "none")]}, [False, True]),
    ("stopped_breastfeeding_while_waiting", {"referrals": [5], "feeding_checks": [(89, "none")]}, [True]),
    ("stopped_breastfeeding_while_waiting", {"referrals": [5], "feeding_checks": [(90, "none")]}, [None]),
    ("stopped_breastfeeding_while_waiting", {"referrals": [5], "feeding_checks": [(5, "none")]}, [True]),
    ("stopped_breastfeeding_while_waiting", {"referrals": [5], "feeding_checks": [(4, "none")]}, [None]),
    ("stopped_breastfeeding_while_waiting", {"referrals": [5], "cut_off": 88}, []),
    (
        "stopped_breastfeeding_while_waiting",
        {"referrals": [5], "cut_off": 30, "procedures": DIVIDED, "feeding_checks": [(20, "none"), (20, "partial")]},
        [False],
    ),
    ("breastfed_at_6_weeks", {"feeding_checks": [(25, "partial")]}, [True]),
    ("breastfed_at_6_weeks", {"feeding_checks": [(24, "partial"), (47, "partial")]}, [None]),
    ("breastfed_at_6_weeks", {"feeding_checks": [(31, "none"), (33, "exclusive")]}, [True]),
    ("breastfed_at_6_weeks", {"feeding_checks": [(32, "not_known"), (46, "none")]}, [False]),
    ("breastfed_at_6_weeks", {"cut_off": 45}, []),
    ("breastfed_at_6_weeks", {"closed": (5, "died")}, []),
    ("exclusively_breastfed_at_6_weeks", {"feeding_checks": [(32, "partial")]}, [False]),
    ("fed_at_the_breast_at_6_weeks", {"feeding_checks": [(32, "none")]}, [False]),
    ("fed_at_the_breast_at_6_weeks", {"feeding_checks": [(32, "partial")]}, [None]),
    ("fed_at_the_breast_at_6_weeks", {"feeding_checks": [(32, "partial", "no"), (32, "partial", "yes")]}, [True]),
    ("asked_at_6_weeks", {"feeding_checks": [(32, "not_known")]}, [False]),
    ("feeding_pain_eased", {"contacts": [(7, "p", "", "", "4"), (28, "p", "", "", "2")]}, [True]),
    ("feeding_pain_eased", {"contacts": [(7, "p", "", "", "4"), (7, "p", "", "", "0")]}, [None]),
    ("feeding_pain_eased", {"contacts": [(8, "p", "", "", "4"), (28, "p", "", "", "2")]}, []),
    (
        "feeding_pain_eased",
        {"contacts": [(0, "p", "", "", "5"), (9, "p", "", "", "3"), (9, "p", "", "", "4")]},
        [False],
    ),
    ("feeding_pain_eased", {"contacts": [(0, "p", "", "", "5"), (29, "p", "", "", "0")], "cut_off": 29}, [None]),
    ("feeding_pain_eased", {"contacts": [(0, "p", "", "", "5"), (9, "p", "", "", "0")], "cut_off": 28}, [True]),
    ("feeding_pain_eased", {"contacts": [(0, "p", "", "", "5")], "cut_off": 27}, []),
    ("feeding_pain_eased", {"contacts": [(0, "p", "", "", "3"), (1, "p", "", "", "9")]}, []),
    ("birth_weight_regained_by_21_days", {"contacts": [(11, "p", "", "", "", "3000")]}, [True]),
    ("birth_weight_regained_by_21_days", {"contacts": [(12, "p", "", "", "", "3000")]}, [None]),
    ("birth_weight_regained_by_21_days", {"contacts": [(4, "p", "", "", "", "2999")]}, [False]),
    ("birth_weight_regained_by_21_days", {"contacts": [(3, "p", "", "", "", "2999")]}, [None]),
    ("birth_weight_regained_by_21_days", {"cut_off": 10}, []),
    ("birth_weight_regained_by_21_days", {"age": 21, "contacts": [(0, "p", "", "", "", "2999")]}, [False]),
    ("birth_weight_regained_by_21_days", {"age": 22}, []),
    ("birth_weight_regained_by_21_days", {"age": 0, "contacts": [(5, "p", "", "", "", "3000")]}, [True]),
    ("birth_weight_regained_by_21_days", {"age": 0, "contacts": [(4, "p", "", "", "", "3000")]}, [None]),
    ("breastfed_at_6_weeks", {"age": 27}, [None]),
    ("breastfed_at_6_weeks", {"age": 28}, []),
]


@pytest.mark.parametrize(("measure", "rows", "expected"), STORIES)
def test_story(tmp_path: Path, measure: str, rows: dict[str, object], expected: list[object]) -> None:
    assert ask(measure, one_case(tmp_path, **rows)) == expected  # type: ignore[arg-type]
