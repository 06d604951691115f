"""Every measure's story (tests/stories): each tiny case gets the answer that was written by hand.

The answers were written from the definitions by somebody who had not seen the SQL. All cases are one export, loaded
once; in any order of its lines it gives the same results.
"""

from __future__ import annotations

import csv
import importlib
import io
import random
from collections import defaultdict
from collections.abc import Callable, Iterator
from pathlib import Path

import duckdb
import pandas as pd
import pytest

from pipeline import run
from pipeline.contracts import layout, measure_files
from pipeline.outcomes.outcome import Outcome
from pipeline.progress import Progress
from pipeline.session import opened
from tests.conftest import INVENTED, write_export
from tests.stories.tiny import CUT_OFF, NOT, Rows, Situation, Story

FOLDER = Path(__file__).parent / "stories"
FACTS = {"lead_practitioner": "lead_practitioner", "route": "route", "tie_type_of_the_case": "tie_type"}
ANSWERS = {True: "yes", False: "no", None: "unknown"}
EVENTS = {0: "censored", 1: "event", 2: "competing"}


def stories() -> Iterator[Story]:
    """The folder is the list."""
    for path in sorted(FOLDER.glob("*.py")):
        if path.stem not in ("__init__", "tiny"):
            yield importlib.import_module(f"tests.stories.{path.stem}").told


def every_row() -> Rows:
    """The rows of all stories together."""
    together: Rows = defaultdict(list)
    for story in stories():
        for table, rows in story.rows.items():
            together[table] += rows
    return together


def loaded(folder: Path, together: Rows, order: Callable[[list[dict[str, str]]], list[dict[str, str]]] = list) -> Path:
    """An audit folder that holds the rows as one export, every line of it accepted."""
    texts = {}
    for table, rows in together.items():
        written = io.StringIO()
        writer = csv.DictWriter(written, [column.name for column in layout.table(table).columns], lineterminator="\n")
        writer.writeheader()
        writer.writerows(order(rows))
        texts[table] = written.getvalue()
    audit = run.new(folder / "audit").parent
    made = run.load(audit, write_export(folder / "export", texts), CUT_OFF, accept_anyway=INVENTED)
    assert sum(counts.set_aside + counts.repeats for counts in made.examined.counts) == 0
    return audit


def said(measure: str, met: bool | None, days: int | None, event: int | None) -> str:
    if event is not None:
        return f"{ANSWERS[met]}, " + ("never_at_risk" if days is None else f"{EVENTS[event]} day {days}")
    return ANSWERS[met] if days is None else f"{days} days"


def answers_of(con: duckdb.DuckDBPyConnection) -> dict[tuple[str, str], str]:
    """What was said of each case, by measure and case_ref; of two own divisions in order of date."""
    answers: dict[tuple[str, str], list[str]] = defaultdict(list)
    asked = "SELECT measure, case_ref, met, days, event FROM counted ORDER BY index_date"
    for measure, ref, *answer in con.execute(asked).fetchall():
        answers[measure, ref].append(said(measure, *answer))
    return {key: "; ".join(told) for key, told in answers.items()}


@pytest.fixture(scope="module")
def in_order(tmp_path_factory: pytest.TempPathFactory) -> tuple[Outcome, dict[tuple[str, str], str]]:
    """The outcome, and what was said of each case, by measure or fact and case_ref."""
    audit = loaded(tmp_path_factory.mktemp("in_order"), every_row())
    with opened(audit, None) as session:
        outcome = run.worked_out(session, Progress())
        answers = answers_of(session.con)
        for story, column in FACTS.items():
            rows = session.con.execute(f"SELECT case_ref, coalesce({column}, 'not_recorded') FROM cases").fetchall()
            answers |= {(story, ref): value for ref, value in rows}
    return outcome, answers


@pytest.mark.parametrize("story", list(stories()), ids=lambda story: story.name)
def test_every_case_gets_the_answer_written_by_hand(
    story: Story, in_order: tuple[Outcome, dict[tuple[str, str], str]]
) -> None:
    _, answers = in_order
    wrong: list[tuple[Situation, str]] = [
        (situation, answer)
        for situation in story.situations
        if (answer := answers.get((story.name, situation.case_ref), NOT)) != situation.expected
    ]
    assert wrong == []


def test_every_measure_has_a_story() -> None:
    assert {story.name for story in stories()} == {measure.name for measure in measure_files.measures()} | set(FACTS)


def backwards(rows: list[dict[str, str]]) -> list[dict[str, str]]:
    return rows[::-1]


def shuffled(rows: list[dict[str, str]]) -> list[dict[str, str]]:
    return random.Random(20260630).sample(rows, len(rows))


@pytest.mark.parametrize("order", [backwards, shuffled])
def test_the_order_of_lines_changes_nothing(
    in_order: tuple[Outcome, dict[tuple[str, str], str]],
    tmp_path: Path,
    order: Callable[[list[dict[str, str]]], list[dict[str, str]]],
) -> None:
    with opened(loaded(tmp_path, every_row(), order), None) as session:
        found = run.worked_out(session, Progress())
    for name in ("results", "waits", "apart", "activity"):
        pd.testing.assert_frame_equal(getattr(found, name), getattr(in_order[0], name), check_exact=True)
