"""Thirteen awkward babies (tests/awkward_babies), each with the answer of every measure, written by hand.

Loaded once. The answers are read from the table of cases and from where a reader looks for them, a trace.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from pipeline import run
from pipeline.contracts import measure_files
from pipeline.progress import Progress
from pipeline.session import opened
from tests.awkward_babies import told
from tests.stories.tiny import NOT
from tests.test_stories import answers_of, loaded

BY_HAND = (Path(told.__file__).parent / "answers.md").read_text(encoding="utf-8")
BABIES = re.findall(r"^## (b\d\d\w+)", BY_HAND, re.MULTILINE)
TITLES = {"Yes": "yes", "No": "no", "Not known": "unknown"}


def cells(lines: str) -> Iterator[list[str]]:
    """The rows of the tables among the lines, without their heads."""
    for line in lines.splitlines():
        if line.startswith("| ") and not line.startswith(("| measure", "| baby", "| ---")):
            yield [cell.strip() for cell in line.strip("|").split("|")]


def by_hand() -> dict[tuple[str, str], str]:
    """The answer of every measure of every baby."""
    answers = {(measure.name, ref): NOT for measure in measure_files.measures() for ref in BABIES}
    for ref, lines in zip(BABIES, re.split(r"^## b.*$", BY_HAND, flags=re.MULTILINE)[1:], strict=True):
        for measures, answer, _ in cells(lines):
            for measure in measures.split(", "):
                assert (measure, ref) in answers, f"{measure} of {ref} is no measure"
                answers[measure, ref] = answer
    return answers


@pytest.fixture(scope="module")
def audit(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return loaded(tmp_path_factory.mktemp("awkward"), told.rows)


def test_every_measure_says_of_every_baby_what_was_written_by_hand(audit: Path) -> None:
    wanted = by_hand()
    assert len(wanted) == 13 * 28
    with opened(audit, None) as session:
        run.worked_out(session, Progress())
        answers = answers_of(session.con)
        facts = session.con.execute(
            """
            SELECT
                case_ref, birth_date::VARCHAR, coalesce(attachment_help_date::VARCHAR, 'none'),
                coalesce(referral_date::VARCHAR, 'none'), coalesce(lead_practitioner, 'not_recorded'),
                coalesce(tie_type, 'not_recorded'), route
            FROM cases ORDER BY case_ref
            """
        ).fetchall()
    assert answers == {key: answer for key, answer in wanted.items() if answer != NOT}
    assert list(map(list, facts)) == list(cells(BY_HAND.partition("## Facts")[2].partition("## b01")[0]))


@pytest.mark.parametrize(
    ("measure", "periods"),
    [
        ("breastfed_at_6_weeks", ["2026Q2"]),
        ("complication_needing_care_within_14_days", ["2026Q1", "2026Q2"]),
        ("seen_promptly", ["2026Q1", "2026Q2"]),
    ],
)
def test_a_trace_lists_each_baby_under_its_answer(audit: Path, measure: str, periods: list[str]) -> None:
    listed = []
    for period in periods:
        for group in run.trace(audit, measure, period).groups:
            listed += [(case.case_ref, TITLES[group.title]) for case in group.cases]
    wanted = [
        (ref, part)
        for (of, ref), answer in by_hand().items()
        for part in answer.split("; ")
        if of == measure and answer != NOT
    ]
    assert sorted(listed) == sorted(wanted)
