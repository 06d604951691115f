"""A measure file is held to its contract, and every error names file and line."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from pipeline import run
from pipeline.contracts import measure_files
from pipeline.errors import Refused
from pipeline.progress import Progress
from pipeline.session import opened
from tests.conftest import INVENTED, write_export

GOOD = """\
-- title: First contacts
-- question: How many first contacts were there?
-- section: help_first
-- kind: proportion
-- eligible: Every case
-- met: Always
-- unknown: Never
-- better: none
-- grain: case
-- horizon: 0
-- source: common practice, no source
SELECT
    case_ref,
    first_contact_date AS index_date,
    TRUE AS met
FROM cases
"""
DIVISIONS = (
    GOOD.replace("grain: case", "grain: division")
    .replace("    case_ref,\n", "    case_ref,\n    division_id,\n")
    .replace("first_contact_date", "division_date")
    .replace("FROM cases", "FROM divisions")
)
REQUESTS = (
    GOOD.replace("grain: case", "grain: request")
    .replace("first_contact_date", "request_date")
    .replace("FROM cases", "FROM requests")
)
NOTED = GOOD.replace("kind: proportion", "kind: noted")
DAYS = GOOD.replace("kind: proportion", "kind: days").replace("TRUE AS met", "age_days AS days")
EVENTS = (
    GOOD.replace("kind: proportion", "kind: time_to_event")
    .replace("TRUE AS met", "7 AS days,\n    1 AS event")
    .replace("-- source", "-- in_a_sentence: asked; helped; ended otherwise; still waiting\n-- source")
)


GOOD_ONES = {
    "case": GOOD,
    "request": REQUESTS,
    "division": DIVISIONS,
    "noted": NOTED,
    "days": DAYS,
    "events": EVENTS,
}


@pytest.fixture(scope="module")
def loaded(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An audit folder with a case with a division, another case, and a request that is no case."""
    place = tmp_path_factory.mktemp("contract")
    audit = run.new(place / "audit").parent
    tables = {
        "cases": """
            case_ref,site,first_contact_date,age_days
            A,North,2026-01-05,10
            B,North,2026-01-05,10
        """,
        "procedures": """
            case_ref,procedure_date,operator
            A,2026-01-20,P1
        """,
        "requests": """
            case_ref,site,request_date
            R,North,2026-02-01
        """,
    }
    run.load(audit, write_export(place / "export", tables), date(2026, 6, 30), accept_anyway=INVENTED)
    return audit


@pytest.fixture
def work(loaded: Path, tmp_path: Path) -> Callable[[str], None]:
    """Run one measure file on that folder, which is only read."""

    def work_on(text: str) -> None:
        folder = tmp_path / "measures"
        folder.mkdir(exist_ok=True)
        (folder / "mine.sql").write_text(text, encoding="utf-8")
        with opened(loaded, None) as session:
            run.worked_out(replace(session, measures=measure_files.measures(folder)), Progress())

    return work_on


@pytest.fixture(autouse=True)
def no_groups_apart(monkeypatch: pytest.MonkeyPatch) -> None:
    """The groups counted apart belong to measures that are not in the folders here."""
    monkeypatch.setattr(run, "aparts", lambda _: ())


@pytest.mark.parametrize("text", GOOD_ONES.values(), ids=GOOD_ONES)
def test_a_good_file_of_each_kind_is_accepted(work: Callable[[str], None], text: str):
    work(text)


def changed(text: str, old: str, new: str) -> str:
    assert old in text
    return text.replace(old, new)


# What was changed, and what the error must say; the line is that of measures/mine.sql.
WRONG = {
    "an unknown key": (changed(GOOD, "-- better", "-- colour: red\n-- better"), 8, "the key colour"),
    "a missing key": (changed(GOOD, "-- met: Always\n", ""), 1, "no key met"),
    "a key twice": (changed(GOOD, "-- better", "-- met: Never\n-- better"), 8, "the key met a second time"),
    "an empty key": (changed(GOOD, "met: Always", "met:"), 6, "the key met without a value"),
    "a kind there is not": (changed(GOOD, "kind: proportion", "kind: rate"), 4, "kind: rate"),
    "a direction there is not": (changed(GOOD, "better: none", "better: up"), 8, "better: up"),
    "a grain there is not": (changed(GOOD, "grain: case", "grain: family"), 9, "grain: family"),
    "a horizon that is no number": (changed(GOOD, "horizon: 0", "horizon: two weeks"), 10, "horizon: two weeks"),
    "a breakdown there is not": (changed(GOOD, "-- source", "-- also_by: moon\n-- source"), 11, "also_by: moon"),
    "a grain that is gone": (changed(GOOD, "grain: case", "grain: procedure"), 9, "grain: procedure"),
    "a change without a day": (changed(GOOD, "-- source", "-- changed: New.\n-- source"), 11, "changed: New."),
    "a change on no day": (
        changed(GOOD, "-- source", "-- changed: 2026-02-30 New.\n-- source"),
        11,
        "changed: 2026-02-30 New.",
    ),
    "a change that is not told": (
        changed(GOOD, "-- source", "-- changed: 2026-11-28\n-- source"),
        11,
        "changed: 2026-11-28",
    ),
    "neither yes nor no": (changed(GOOD, "-- source", "-- all_due: always\n-- source"), 11, "all_due: always"),
    "a horizon of another setting": (changed(GOOD, "horizon: 0", "horizon: {traced_cases}"), 10, "{traced_cases}"),
    "a second statement": (GOOD + ";\nSELECT 1\n", 18, "a second statement"),
    "no select": (changed(GOOD, "SELECT\n    case_ref,", "CREATE TABLE x AS SELECT\n    case_ref,"), 1, "CREATE"),
    "no statement": (GOOD[: GOOD.index("SELECT")], 1, "no statement"),
    "broken SQL": (changed(GOOD, "FROM cases", "FRM cases"), 16, "Parser Error"),
    "a column that is not in the table": (changed(GOOD, "TRUE AS met", "eased AS met"), 15, "eased"),
    "another measure": (
        changed(GOOD, "FROM cases", "FROM cases\nJOIN counted USING (case_ref)"),
        17,
        "it reads counted",
    ),
    "the store": (changed(GOOD, "FROM cases", "FROM store.cases"), 16, "it reads store.cases"),
    "a file": (changed(GOOD, "FROM cases", "FROM cases, read_csv('x.csv')"), 16, "it reads read_csv"),
    "a column too many": (changed(GOOD, "TRUE AS met", "TRUE AS met,\n    site"), 12, "a column site"),
    "a column too few": (changed(GOOD, ",\n    TRUE AS met", ""), 12, "no column met"),
    "a wrong type": (changed(GOOD, "TRUE AS met", "1 AS met"), 15, "met is INTEGER"),
    "a repeated grain": (changed(GOOD, "FROM cases", "FROM cases, range(2)"), 12, "case_ref an earlier row has"),
    "a case that is not in cases": (
        changed(GOOD, "    case_ref,", "    case_ref || 'x' AS case_ref,"),
        12,
        "not those of one",
    ),
    "a request that is none": (changed(REQUESTS, "FROM requests", "FROM requests, range(2)"), 12, "an earlier row has"),
    "a division of another case": (
        changed(DIVISIONS, "    case_ref,\n", "    'B' AS case_ref,\n"),
        12,
        "rows whose case_ref and division_id are not those of one division",
    ),
    "no index date": (changed(GOOD, "first_contact_date AS", "closed_date AS"), 12, "2 rows without an index_date"),
    "days below 0": (changed(DAYS, "age_days AS", "-age_days AS"), 12, "2 rows whose days are below 0"),
    "no days": (changed(DAYS, "age_days AS", "CAST(NULL AS INTEGER) AS"), 12, "2 rows without days"),
    "a column that the rest of the SELECT reads": (
        changed(GOOD, ",\n    TRUE AS met", "").replace("FROM cases", "FROM cases\nWHERE met"),
        12,
        "no column met",
    ),
    "a wait without words": (changed(EVENTS, "asked; helped;", "asked;"), 11, "in_a_sentence: asked; ended"),
    "a wait with an empty word": (changed(EVENTS, "asked; helped;", "asked; ;"), 11, "in_a_sentence: asked; ;"),
    "words of a wait that is none": (changed(GOOD, "-- source", "-- in_a_sentence: a; b; c; d\n-- source"), 11, "a; b"),
    "a word for those not known is missing": (
        changed(GOOD, "-- source", "-- heard: asked\n-- source"),
        11,
        "heard: asked",
    ),
    "a level of no breakdown": (changed(GOOD, "-- source", "-- never: ages 28+\n-- source"), 11, "never: ages 28+"),
    "those known of days": (changed(DAYS, "-- source", "-- heard: asked; not\n-- source"), 11, "heard: asked; not"),
    "an event there is not": (changed(EVENTS, "1 AS event", "3 AS event"), 13, "event is none of 0, 1, 2"),
    "an event on no day": (changed(EVENTS, "7 AS days", "CAST(NULL AS INTEGER) AS days"), 13, "an event without days"),
}


@pytest.mark.parametrize("name", WRONG)
def test_a_wrong_file_is_refused_by_file_and_line(work: Callable[[str], None], name: str):
    text, line, words = WRONG[name]
    with pytest.raises(Refused) as refused:
        work(text)
    (fault,) = refused.value.faults
    assert fault.where == f"measures/mine.sql, line {line}"
    assert words in fault.found
    assert fault.allowed
    assert fault.mend


def test_all_faults_of_all_files_are_told_at_once(work: Callable[[str], None], tmp_path: Path):
    (tmp_path / "measures").mkdir()
    (tmp_path / "measures" / "other.sql").write_text(changed(GOOD, "kind: proportion", "kind: rate"), encoding="utf-8")
    with pytest.raises(Refused) as refused:
        work(changed(GOOD, "grain: case", "grain: family").replace("horizon: 0", "horizon: x"))
    assert [fault.where for fault in refused.value.faults] == [
        "measures/mine.sql, line 9",
        "measures/mine.sql, line 10",
        "measures/other.sql, line 4",
    ]


def test_no_case_is_named_in_an_error(work: Callable[[str], None]):
    with pytest.raises(Refused) as refused:
        work(changed(GOOD, "    case_ref,", "    'SECRET' AS case_ref,"))
    assert "SECRET" not in str(refused.value)


def test_every_measure_says_where_its_definition_comes_from():
    measures = measure_files.measures()
    assert measures
    assert all(measure.source for measure in measures)


def read_one(folder: Path, text: str) -> measure_files.Measure:
    (folder / "mine.sql").write_text(text, encoding="utf-8")
    (measure,) = measure_files.measures(folder)
    return measure


def test_what_a_measure_may_say_of_itself(tmp_path: Path):
    plain = read_one(tmp_path, GOOD)
    assert (plain.changed, plain.all_due, plain.horizon) == (None, False, 0)
    keys = "-- changed: 2026-11-28 Counts the others too.\n-- all_due: yes\n-- source"
    measure = read_one(tmp_path, changed(GOOD, "-- source", keys))
    assert measure.changed == (date(2026, 11, 28), "Counts the others too.")
    assert measure.all_due


def test_the_numbers_of_the_service_and_of_a_wait_stand_in_the_texts(tmp_path: Path):
    text = changed(GOOD, "horizon: 0", "horizon: {seen_promptly_days}")
    text = changed(text, "title: First contacts", "title: First contacts within {reported_day} days")
    text = changed(text, "met: Always", "met: Within {seen_promptly_days} days, or {reported_day}")
    measure = read_one(tmp_path, text)
    assert measure.title == "First contacts within 28 days"
    assert measure.horizon is None  # nothing to go by until the settings have been read
    said = measure_files.worded(measure, 9)
    assert (said.horizon, said.met) == (9, "Within 9 days, or 28")
    assert measure_files.worded(read_one(tmp_path, GOOD), 9).horizon == 0
