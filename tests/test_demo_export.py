"""The demo export: made again byte for byte, plausible as a service's records, and faulty exactly where FAULTS.md says.

The ranges say what the records of such a service are meant to look like; none was read off the generator's output. The
reading here is a plain one of its own: it shares nothing with the loader or the generator.
"""

from __future__ import annotations

import csv
import json
import os
import re
import shutil
import statistics
import subprocess
import sys
from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path

import pytest
from scipy.stats import fisher_exact

from pipeline import run
from pipeline.contracts.places import DEMO_EXPORT, LAYOUT

ROOT = Path(__file__).resolve().parents[1]
BY_HAND = {
    "audit.toml",
    "commentary/2025-26.md",
    "commentary/2026Q2.md",
    "commentary/2026Q3.md",
    "mappings/outreach.toml",
}
CUT_OFF = date(2026, 10, 12)
SLOW_SITE, SLOW_PERIODS = "Ottermoss hub", ("2026Q2", "2026Q3")
TABLES = (
    "cases",
    "contacts",
    "assessments",
    "referrals",
    "procedures",
    "complications",
    "feeding_checks",
    "requests",
    "family_views",
)
NOT_GOING_AHEAD = ("not_indicated", "declined_by_parent", "not_brought", "withdrawn", "divided_elsewhere")
ELSEWHERE = ("private", "other_service")

Row = dict[str, str]


# ---- reading FAULTS.md and the files, plainly


@dataclass(frozen=True)
class Listed:
    """One entry of FAULTS.md: a fault in one place. `line` is 0 where it is in the file as a whole."""

    number: int
    file: str
    line: int
    last_line: int
    becomes: str


def listed_faults() -> list[Listed]:
    found = []
    for text in (DEMO_EXPORT / "FAULTS.md").read_text(encoding="utf-8").splitlines():
        cells = [cell.strip() for cell in text.strip("|").split("|")]
        if not text.startswith("|") or not cells[0].isdigit():
            continue
        number, file, lines, _, becomes = cells
        for where in lines.split(", "):
            first, _, last = where.partition("-")
            line = 0 if where == "all" else int(first)
            found.append(Listed(int(number), file, line, int(last) if last else line, becomes))
    return found


def places(becomes: str) -> set[tuple[str, int]]:
    return {(fault.file, fault.line) for fault in listed_faults() if fault.becomes == becomes}


def physical_lines(file: str) -> list[str]:
    content = (DEMO_EXPORT / file).read_bytes().decode("utf-8-sig")
    return re.split(r"\r\n|\n", content.removesuffix("\n").removesuffix("\r"))


def sound_rows(table: str) -> list[Row]:
    """The rows that FAULTS.md does not take away; the test of FAULTS.md itself stands further down."""
    gone = {
        line
        for becomes in ("row set aside", "repeat", "blank")
        for file, line in places(becomes)
        if file == f"{table}.csv"
    }
    lines = [text + "\n" for number, text in enumerate(physical_lines(f"{table}.csv"), 1) if number not in gone]
    return list(csv.DictReader(lines))


def day(text: str) -> date | None:
    return date.fromisoformat(text) if re.fullmatch(r"\d{4}-\d{2}-\d{2}", text) else None


def sure_day(text: str) -> date:
    return date.fromisoformat(text)


def period_of(text: str) -> str:
    return f"{text[:4]}Q{(int(text[5:7]) + 2) // 3}"


@dataclass(frozen=True)
class Records:
    cases: Mapping[str, Row]
    by_case: Mapping[str, Mapping[str, Sequence[Row]]]  # table, case_ref
    rows: Mapping[str, Sequence[Row]]

    def of(self, table: str, case_ref: str) -> Sequence[Row]:
        return self.by_case[table].get(case_ref, [])

    def born(self, case_ref: str) -> date:
        case = self.cases[case_ref]
        return sure_day(case["first_contact_date"]) - timedelta(days=int(case["age_days"]))

    def tie(self, case_ref: str) -> str:
        """What the last assessment says that says anything; nothing where none does."""
        kinds = [row["tie_type"] for row in self.of("assessments", case_ref) if row["tie_type"] != "not_recorded"]
        return kinds[-1] if kinds else ""

    def referral(self, case_ref: str) -> str:
        return min((row["referral_date"] for row in self.of("referrals", case_ref)), default="")

    def divisions(self) -> list[Row]:
        """Our own of this episode, of two who divided together the first."""
        ours: dict[tuple[str, str], Row] = {}
        for row in self.rows["procedures"]:
            if self.in_the_episode(row) and row["provider"] not in ELSEWHERE:
                ours.setdefault((row["case_ref"], row["procedure_date"]), row)
        return list(ours.values())

    def in_the_episode(self, procedure: Row) -> bool:
        """What was divided before first contact belongs to no episode of this service."""
        return procedure["procedure_date"] >= self.cases[procedure["case_ref"]]["first_contact_date"]

    def waits(self) -> list[tuple[str, str, int]]:
        """site, quarter of the referral and days from referral to the first division, of every divided case."""
        first: dict[str, str] = {}
        for row in sorted(self.divisions(), key=lambda row: row["procedure_date"]):
            first.setdefault(row["case_ref"], row["procedure_date"])
        return [
            (
                self.cases[ref]["site"],
                period_of(self.referral(ref)),
                (sure_day(divided) - sure_day(self.referral(ref))).days,
            )
            for ref, divided in first.items()
        ]


@pytest.fixture(scope="module")
def records() -> Records:
    rows = {table: sound_rows(table) for table in TABLES}
    by_case: dict[str, dict[str, list[Row]]] = {table: {} for table in TABLES}
    for table, found in rows.items():
        for row in found:
            by_case[table].setdefault(row["case_ref"], []).append(row)
    return Records({row["case_ref"]: row for row in rows["cases"]}, by_case, rows)


# ---- made again


def test_the_generator_writes_the_same_bytes_again(tmp_path: Path) -> None:
    elsewhere = {**os.environ, "PYTHONHASHSEED": "1", "TZ": "Pacific/Auckland", "LC_ALL": "C"}
    subprocess.run([sys.executable, "-m", "tests.demo_maker", str(tmp_path)], cwd=ROOT, env=elsewhere, check=True)
    made = {path.relative_to(tmp_path).as_posix(): path.read_bytes() for path in tmp_path.rglob("*") if path.is_file()}
    kept = {
        path.relative_to(DEMO_EXPORT).as_posix(): path.read_bytes() for path in DEMO_EXPORT.rglob("*") if path.is_file()
    }
    assert set(kept) == set(made) | BY_HAND
    assert [name for name in sorted(made) if made[name] != kept[name]] == []


def test_the_generator_takes_one_folder_and_no_options(tmp_path: Path) -> None:
    for arguments in (["--help-me"], [str(tmp_path), str(tmp_path)]):
        done = subprocess.run(
            [sys.executable, "-m", "tests.demo_maker", *arguments],
            cwd=ROOT,
            capture_output=True,
            text=True,
            check=False,
        )
        assert done.returncode == 2
        assert "usage: python -m tests.demo_maker [FOLDER]" in done.stderr
    assert list(tmp_path.iterdir()) == []


def test_the_descriptor_carries_the_layout_and_the_cut_off() -> None:
    descriptor = json.loads((DEMO_EXPORT / "datapackage.json").read_text(encoding="utf-8"))
    layout = json.loads(LAYOUT.read_text(encoding="utf-8"))
    assert descriptor["resources"] == layout["resources"]
    assert descriptor["created"] == "2026-10-12T07:30:00+01:00"
    for resource in descriptor["resources"]:
        header = physical_lines(resource["path"])[0].split(",")
        extra = ["notes_flag"] if resource["name"] == "contacts" else []
        assert header == [field["name"] for field in resource["schema"]["fields"]] + extra


# ---- plausible: each figure, and the range it was asked to lie in


def share(yes: Sequence[object]) -> float:
    return sum(bool(answer) for answer in yes) / len(yes)


def settled(records: Records) -> float:
    """Cases with time enough to settle that did, with no referral."""
    old = [ref for ref, case in records.cases.items() if case["first_contact_date"] < "2026-08-01"]

    def has_settled(ref: str) -> bool:
        found = [row["problem_status"] for row in records.of("contacts", ref)]
        return "resolved" in found or records.cases[ref]["closed_reason"] == "settled"

    return share([has_settled(ref) and not records.referral(ref) for ref in old])


def helped_before_referral(records: Records) -> float:
    return share(
        [
            any(
                row["attachment_help"] == "yes" and row["contact_date"] < records.referral(ref)
                for row in records.of("contacts", ref)
            )
            for ref in records.by_case["referrals"]
        ]
    )


def steady_waits(records: Records) -> float:
    waits = [wait for site, period, wait in records.waits() if site != SLOW_SITE or period not in SLOW_PERIODS]
    return share([7 <= wait <= 28 for wait in waits])


def complication_share(*kinds: tuple[str, str]) -> Callable[[Records], float]:
    """(kind, severity) of a complication, either of which may be left open with an empty text."""

    def of_divisions(records: Records) -> float:
        noted = [
            row
            for row in records.rows["complications"]
            if any(kind in ("", row["kind"]) and severity in ("", row["severity"]) for kind, severity in kinds)
        ]
        return len(noted) / len(records.divisions())

    return of_divisions


def divided_again(records: Records) -> float:
    counted = Counter(row["case_ref"] for row in records.divisions())
    return share([number > 1 for number in counted.values()])


def divided_before(records: Records) -> float:
    return sum(not records.in_the_episode(row) for row in records.rows["procedures"])


def divided_elsewhere(records: Records) -> float:
    """Of all divisions of this episode, the share that somebody else did."""
    theirs = [row for row in records.rows["procedures"] if records.in_the_episode(row) and row["provider"] in ELSEWHERE]
    return len(theirs) / (len(theirs) + len(records.divisions()))


def divided_by_two(records: Records) -> float:
    """Days on which two operators of ours divided one tongue."""
    ours = {
        (row["case_ref"], row["procedure_date"], row["operator"])
        for row in records.rows["procedures"]
        if records.in_the_episode(row) and row["provider"] not in ELSEWHERE
    }
    return len(ours) - len(records.divisions())


def heard_from(days: Callable[[list[int]], bool]) -> Callable[[Records], float]:
    """Of divisions four weeks old: the share whose days heard from, 1 to 28, are such."""

    def of_divisions(records: Records) -> float:
        old = [row for row in records.divisions() if sure_day(row["procedure_date"]) <= CUT_OFF - timedelta(days=28)]
        found = []
        for row in old:
            asked = [seen["contact_date"] for seen in records.of("contacts", row["case_ref"])]
            asked += [
                check["check_date"]
                for check in records.of("feeding_checks", row["case_ref"])
                if check["feeding"] not in ("", "not_known")
            ]
            later = [(sure_day(text) - sure_day(row["procedure_date"])).days for text in asked]
            found.append(days([after for after in later if 1 <= after <= 28]))
        return share(found)

    return of_divisions


def asked_six_weeks_after(records: Records) -> float:
    """The share of divisions eight weeks old with an answer about feeding four to eight weeks after."""
    old = [row for row in records.divisions() if sure_day(row["procedure_date"]) <= CUT_OFF - timedelta(days=56)]
    return share(
        [
            any(
                28 <= (sure_day(check["check_date"]) - sure_day(row["procedure_date"])).days <= 56
                for check in records.of("feeding_checks", row["case_ref"])
                if check["feeding"] not in ("", "not_known")
            )
            for row in old
        ]
    )


def weights_far_below_birth(records: Records) -> float:
    """Babies more than a tenth below their birth weight at some contact."""
    return len(
        {
            row["case_ref"]
            for row in records.rows["contacts"]
            if row["weight_g"] and (birth := records.cases[row["case_ref"]]["birth_weight_g"]).isdigit()
            if int(row["weight_g"]) < 0.9 * int(birth)
        }
    )


def twins_seen_together(records: Records) -> float:
    """Pairs of twins of which both are cases: first seen on one day, at one site and one age."""
    pairs = Counter(
        (case["site"], case["first_contact_date"], case["age_days"])
        for case in records.cases.values()
        if case["multiple_birth"] == "yes"
    )
    return sum(number == 2 for number in pairs.values())


def followed_up(records: Records) -> float:
    old = [row for row in records.divisions() if sure_day(row["procedure_date"]) <= CUT_OFF - timedelta(days=14)]

    def was_seen(division: Row) -> bool:
        ref = division["case_ref"]
        days = [row["contact_date"] for row in records.of("contacts", ref)]
        days += [row["check_date"] for row in records.of("feeding_checks", ref)]
        return any(1 <= (sure_day(text) - sure_day(division["procedure_date"])).days <= 14 for text in days)

    return share([was_seen(division) for division in old])


def six_week_unknown(site: str = "", other_than: str = "") -> Callable[[Records], float]:
    def of_due(records: Records) -> float:
        unknown = []
        for ref, case in records.cases.items():
            born = records.born(ref)
            asked_about = case["feeding_at_first_contact"] in ("exclusive", "partial") and int(case["age_days"]) < 28
            here = site in ("", case["site"]) and case["site"] != other_than
            if asked_about and here and born + timedelta(days=56) <= CUT_OFF:
                checks = [row for row in records.of("feeding_checks", ref) if row["feeding"] not in ("", "not_known")]
                unknown.append(not any(35 <= (sure_day(row["check_date"]) - born).days <= 56 for row in checks))
        return share(unknown)

    return of_due


def tie_gap_between_sexes(records: Records) -> float:
    """How much oftener a tie was found in boys than in girls, of those assessed."""

    def found(sex: str) -> float:
        ties = [records.tie(ref) for ref, case in records.cases.items() if case["sex"] == sex]
        return share([tie != "none" for tie in ties if tie])

    return found("male") - found("female")


def exclusive_gap(records: Records) -> float:
    """How much oftener feeding is exclusive at first contact in the least deprived four tenths than in the most."""

    def exclusive(deciles: range) -> float:
        fed = [
            case["feeding_at_first_contact"]
            for case in records.cases.values()
            if case["deprivation_decile"] and int(case["deprivation_decile"]) in deciles
        ]
        return share([feeding == "exclusive" for feeding in fed if feeding != "not_known"])

    return exclusive(range(7, 11)) - exclusive(range(1, 5))


def family_history_gap(records: Records) -> float:
    def has_history(*ties: str) -> float:
        told = [case["family_history"] for ref, case in records.cases.items() if records.tie(ref) in ties]
        return share([answer == "yes" for answer in told if answer])

    return has_history("anterior", "posterior", "submucosal") - has_history("none")


def pain_fall(records: Records) -> float:
    """By how many points the last score of a case lies below its first, on average."""
    falls = []
    for contacts in records.by_case["contacts"].values():
        scores = [
            int(row["pain_score"]) for row in sorted(contacts, key=lambda row: row["contact_date"]) if row["pain_score"]
        ]
        if len(scores) > 1:
            falls.append(scores[0] - scores[-1])
    return statistics.mean(falls)


def contacts_per_case(referred: bool, pick: Callable[[list[int]], float]) -> Callable[[Records], float]:
    def counted(records: Records) -> float:
        return pick(
            [len(records.of("contacts", ref)) for ref in records.cases if bool(records.referral(ref)) == referred]
        )

    return counted


def recorded(table: str, column: str) -> Callable[[Records], float]:
    return lambda records: share([row[column] not in ("", "not_known") for row in records.rows[table]])


def recorded_of_divisions(column: str) -> Callable[[Records], float]:
    return lambda records: share([row[column] not in ("", "not_known") for row in records.divisions()])


def invisible_tie(records: Records) -> float:
    kinds = [row["tie_type"] for row in records.divisions()]
    return share([kind in ("none", "submucosal") for kind in kinds if kind not in ("", "not_recorded")])


def ages(records: Records) -> list[int]:
    return [int(case["age_days"]) for case in records.cases.values()]


def grams(table: str, column: str, pick: Callable[[list[int]], int]) -> Callable[[Records], float]:
    return lambda records: pick([int(row[column]) for row in records.rows[table] if row[column].isdigit()])


def answered(site: str = "", other_than: str = "") -> Callable[[Records], float]:
    """Families first seen twelve weeks ago or longer that said whether they felt helped."""

    def of_families(records: Records) -> float:
        return share(
            [
                bool(records.of("family_views", ref))
                for ref, case in records.cases.items()
                if sure_day(case["first_contact_date"]) + timedelta(days=84) <= CUT_OFF
                and site in ("", case["site"])
                and case["site"] != other_than
            ]
        )

    return of_families


def weeks_to_the_answer(pick: Callable[[list[float]], float]) -> Callable[[Records], float]:
    return lambda records: pick(
        [
            (sure_day(row["answered_date"]) - sure_day(records.cases[row["case_ref"]]["first_contact_date"])).days / 7
            for row in records.rows["family_views"]
        ]
    )


def said(column: str, code: str, table: str) -> Callable[[Records], float]:
    """The share of a code among what was recorded."""
    return lambda records: share(
        [row[column] == code for row in records.rows[table] if row[column] not in ("", "not_known")]
    )


def never_seen(records: Records) -> float:
    return len(records.rows["requests"]) / (len(records.rows["requests"]) + len(records.cases))


def undated_ends(records: Records) -> float:
    return share([not row["outcome_date"] for row in records.rows["requests"] if row["outcome"] != "waiting"])


def volume(period: str) -> Callable[[Records], float]:
    return lambda records: sum(period_of(case["first_contact_date"]) == period for case in records.cases.values())


def own_operators(records: Records) -> int:
    practitioners = {row["practitioner"] for row in records.rows["contacts"]}
    operators = {row["operator"] for row in records.divisions()}
    assert operators <= practitioners, f"{operators - practitioners} divide but see no families"
    return len(operators)


RANGES: dict[str, tuple[Callable[[Records], float], float, float]] = {
    "cases": (lambda r: len(r.cases), 680, 720),
    "sites": (lambda r: len({case["site"] for case in r.cases.values()}), 3, 3),
    "quarters": (lambda r: len({period_of(case["first_contact_date"]) for case in r.cases.values()}), 9, 9),
    "practitioners": (lambda r: len({row["practitioner"] for row in r.rows["contacts"]}), 7, 7),
    "operators": (own_operators, 2, 2),
    "first quarter": (volume("2024Q3"), 60, 80),
    "last quarter": (volume("2026Q3"), 75, 95),
    "settled with help alone": (settled, 0.60, 0.72),
    "help on a day before referral": (helped_before_referral, 0.75, 0.95),
    "waits of one to four weeks": (steady_waits, 0.95, 1),
    "divided elsewhere before": (divided_before, 2, 15),
    "divided elsewhere": (divided_elsewhere, 0.04, 0.15),
    "two divided together": (divided_by_two, 1, 5),
    "minor bleeding": (complication_share(("bleeding", "minor")), 0.02, 0.08),
    "bleeding needing care": (complication_share(("bleeding", "treated"), ("bleeding", "hospital")), 0, 0.0099),
    "infection": (complication_share(("infection", "")), 0.003, 0.025),
    "reattachment": (complication_share(("reattachment", "")), 0.02, 0.06),
    "divided again": (divided_again, 0.015, 0.045),
    "followed up after division": (followed_up, 0.85, 0.99),
    "six-week answer missing": (six_week_unknown(), 0.15, 0.25),
    "six-week answer missing at one site": (six_week_unknown(site="Wrenstow clinic"), 0.24, 0.45),
    "six-week answer missing at the others": (six_week_unknown(other_than="Wrenstow clinic"), 0.08, 0.2),
    "divided with no visible tie": (invisible_tie, 0.005, 0.06),
    "ties oftener in boys": (tie_gap_between_sexes, 0.03, 0.3),
    "exclusive feeding by deprivation": (exclusive_gap, 0.1, 0.4),
    "family history with a tie": (family_history_gap, 0.1, 0.4),
    "pain falls": (pain_fall, 1, 5),
    "help_requested_date recorded": (recorded("cases", "help_requested_date"), 0.86, 0.94),
    "vitamin_k recorded": (recorded_of_divisions("vitamin_k"), 0.9, 0.995),
    "consent recorded": (recorded_of_divisions("consent_recorded"), 0.93, 0.999),
    "severity recorded": (recorded("complications", "severity"), 0.3, 0.9),
    "first seen at 2 to 30 days": (lambda r: share([2 <= age <= 30 for age in ages(r)]), 0.85, 0.97),
    "youngest": (lambda r: min(ages(r)), 0, 5),
    "oldest": (lambda r: max(ages(r)), 60, 200),
    "lightest at birth": (grams("cases", "birth_weight_g", min), 1500, 2800),
    "heaviest at birth": (grams("cases", "birth_weight_g", max), 4300, 5500),
    "lightest at a contact": (grams("contacts", "weight_g", min), 1500, 2800),
    "heaviest at a contact": (grams("contacts", "weight_g", max), 5500, 9500),
    "never seen, of all who asked": (never_seen, 0.06, 0.1),
    "ended with no day": (undated_ends, 0.05, 0.3),
    "answered": (answered(), 0.42, 0.58),
    "answered at one site": (answered(site="Wrenstow clinic"), 0.2, 0.45),
    "answered at the others": (answered(other_than="Wrenstow clinic"), 0.46, 0.65),
    "soonest answer, in weeks": (weeks_to_the_answer(min), 2, 6),
    "latest answer, in weeks": (weeks_to_the_answer(max), 8, 12),
    "felt helped": (said("helped", "yes", "family_views"), 0.65, 0.9),
    "felt helped in part": (said("helped", "partly", "family_views"), 0.05, 0.25),
    "needs an interpreter": (said("interpreter_needed", "yes", "cases"), 0.03, 0.15),
    "twins": (said("multiple_birth", "yes", "cases"), 0.01, 0.05),
    "helped elsewhere before": (said("helped_elsewhere_before", "yes", "cases"), 0.1, 0.3),
    "a limited or absent lift": (lambda r: 1 - said("elevation", "full", "assessments")(r), 0.25, 0.7),
    "heard from a week or more after": (heard_from(lambda days: max(days, default=0) >= 5), 0.6, 0.95),
    "heard from on day 1 only": (heard_from(lambda days: days == [1]), 0.005, 0.08),
    "never heard from": (heard_from(lambda days: not days), 0.01, 0.12),
    "asked six weeks after division": (asked_six_weeks_after, 0.5, 0.85),
    "weight a tenth below birth": (weights_far_below_birth, 2, 20),
    "twins, both seen": (twins_seen_together, 3, 15),
    "vitamin K not given": (said("vitamin_k", "not_given", "procedures"), 0.005, 0.06),
    "breathing trouble": (complication_share(("respiratory", "")), 0.001, 0.02),
    "missed diagnosis": (complication_share(("missed_diagnosis", "")), 0.001, 0.02),
    "fewest contacts": (contacts_per_case(False, min), 1, 1),
    "most contacts, not referred": (contacts_per_case(False, max), 4, 5),
    "contacts, not referred": (contacts_per_case(False, statistics.mean), 2, 2.9),
    "contacts, referred": (contacts_per_case(True, statistics.mean), 3, 4.5),
}


@pytest.mark.parametrize("figure", RANGES)
def test_the_figures_are_plausible(records: Records, figure: str) -> None:
    reckon, lowest, highest = RANGES[figure]
    assert lowest <= reckon(records) <= highest


def test_every_way_a_referral_can_end_is_there(records: Records) -> None:
    outcomes = Counter(row["outcome"] for row in records.rows["referrals"])
    assert [outcome for outcome in (*NOT_GOING_AHEAD, "accepted", "waiting") if not outcomes[outcome]] == []
    assert outcomes["accepted"] > sum(outcomes[outcome] for outcome in NOT_GOING_AHEAD)


def test_one_was_divided_elsewhere_before_our_division_and_one_after_it(records: Records) -> None:
    ours = {row["case_ref"]: row["procedure_date"] for row in records.divisions()}
    theirs = [row for row in records.rows["procedures"] if records.in_the_episode(row) and row["provider"] in ELSEWHERE]
    beside = [row["procedure_date"] < ours[row["case_ref"]] for row in theirs if row["case_ref"] in ours]
    assert set(beside) == {True, False}
    instead = [row for row in theirs if row["case_ref"] not in ours]
    assert {bool(records.referral(row["case_ref"])) for row in instead} == {True, False}
    assert {row["provider"] for row in theirs} == set(ELSEWHERE)


def test_one_site_uses_an_assessment_with_higher_totals(records: Records) -> None:
    scores: dict[str, list[int]] = {}
    for row in records.rows["assessments"]:
        if row["function_score"]:
            scores.setdefault(records.cases[row["case_ref"]]["site"], []).append(int(row["function_score"]))
    highest = {site: max(found) for site, found in scores.items()}
    assert 12 <= highest.pop("Wrenstow clinic") <= 14
    assert set(highest.values()) <= {7, 8}


def test_a_tongue_was_found_grown_together_about_three_weeks_after_division(records: Records) -> None:
    days = [
        (sure_day(row["noted_date"]) - sure_day(division["procedure_date"])).days
        for row in records.rows["complications"]
        for division in records.divisions()
        if row["kind"] == "reattachment" and division["case_ref"] == row["case_ref"]
    ]
    assert [after for after in days if 18 <= after <= 24]


def test_requests_that_led_to_no_case_end_in_every_way_and_come_from_everywhere(records: Records) -> None:
    requests = records.rows["requests"]
    outcomes = Counter(row["outcome"] for row in requests)
    assert set(outcomes) == {"waiting", "declined", "no_reply", "seen_elsewhere", "moved", "not_suitable", "died"}
    assert 2 <= outcomes["waiting"] <= 10 and outcomes["died"] <= 2
    assert [row for row in requests if row["outcome"] == "waiting" and row["outcome_date"]] == []
    assert {row["site"] for row in requests} == {case["site"] for case in records.cases.values()}
    by_period = Counter(period_of(row["request_date"]) for row in requests)
    assert len(by_period) == 9 and 3 <= min(by_period.values()) <= max(by_period.values()) <= 12
    assert {row["case_ref"] for row in requests} & set(records.cases) == set()


def test_families_answer_in_every_way(records: Records) -> None:
    assert {row["helped"] for row in records.rows["family_views"]} - {"very much"} == {
        "yes",
        "partly",
        "no",
        "not_known",
    }


def test_case_refs_follow_one_pattern_that_says_nothing(records: Records) -> None:
    assert [
        ref
        for ref in (*records.cases, *(row["case_ref"] for row in records.rows["requests"]))
        if not re.fullmatch(r"[b-df-hj-np-tv-xz]{3}[0-9]{4}[b-df-hj-np-tv-xz]", ref)
    ] == []
    in_order_of_day = [ref for ref, _ in sorted(records.cases.items(), key=lambda item: item[1]["first_contact_date"])]
    assert in_order_of_day != sorted(in_order_of_day), "the order of the pseudonyms gives the order of the families"


def test_recent_cases_are_still_open(records: Records) -> None:
    def still_open(first: str, last: str) -> float:
        return share(
            [not case["closed_date"] for case in records.cases.values() if first <= case["first_contact_date"] <= last]
        )

    assert still_open("2026-09-01", "2026-09-30") > 0.5 > still_open("2024-07-01", "2025-12-31")


# ---- the one story


def within_four_weeks(waits: Sequence[int]) -> tuple[int, int]:
    return sum(wait <= 28 for wait in waits), sum(wait > 28 for wait in waits)


def before_and_after(records: Records, here: Callable[[str], bool]) -> tuple[list[int], list[int]]:
    waits = [(period, wait) for site, period, wait in records.waits() if here(site)]
    return (
        [wait for period, wait in waits if period < SLOW_PERIODS[0]],
        [wait for period, wait in waits if period in SLOW_PERIODS],
    )


def test_waits_at_one_site_lengthened_beyond_chance_in_each_of_the_last_two_periods(records: Records) -> None:
    before, _ = before_and_after(records, lambda site: site == SLOW_SITE)
    assert 7 <= statistics.median(before) <= 28
    for period in SLOW_PERIODS:
        waits = [wait for site, when, wait in records.waits() if (site, when) == (SLOW_SITE, period)]
        assert 28 <= statistics.median(waits) <= 49
        assert fisher_exact([within_four_weeks(before), within_four_weeks(waits)]).pvalue < 0.001


def test_waits_at_the_other_sites_stayed_as_they_were(records: Records) -> None:
    others = {case["site"] for case in records.cases.values()} - {SLOW_SITE}
    for name in sorted(others):
        before, after = before_and_after(records, lambda site, name=name: site == name)  # type: ignore[misc]
        assert abs(statistics.median(after) - statistics.median(before)) <= 5
        assert max(after) <= 30


# ---- FAULTS.md against what loading finds


@dataclass(frozen=True)
class Found:
    loaded: run.Loaded
    set_aside: list[Row]
    lines: dict[str, Row]
    repeats: list[Row]


@pytest.fixture(scope="module")
def found(tmp_path_factory: pytest.TempPathFactory) -> Found:
    folder = tmp_path_factory.mktemp("audit")
    shutil.copyfile(DEMO_EXPORT / "audit.toml", folder / "audit.toml")
    loaded = run.load(folder, DEMO_EXPORT)

    def rows(name: str) -> list[Row]:
        with (folder / "loads" / "0001" / name).open(encoding="utf-8", newline="") as file:
            return list(csv.DictReader(file))

    return Found(loaded, rows("set_aside.csv"), {row["file"]: row for row in rows("lines.csv")}, rows("repeats.csv"))


def test_the_list_is_numbered_without_a_gap_and_says_what_becomes_of_each() -> None:
    listed = listed_faults()
    assert sorted({fault.number for fault in listed}) == list(range(1, max(fault.number for fault in listed) + 1))
    kinds = {fault.becomes.partition(":")[0] for fault in listed}
    assert kinds == {
        "row set aside",
        "value set aside",
        "repeat",
        "blank",
        "accepted as it stands",
        "extra column, reported and left out",
    }


def test_rows_set_aside_are_the_listed_ones_and_no_other(found: Found) -> None:
    rows = {(row["file"], int(row["line"])) for row in found.set_aside if row["kind"] == "row"}
    assert rows == places("row set aside")
    assert [row for row in found.set_aside if row["line"] != row["last_line"]] == []


def test_values_set_aside_are_the_listed_ones_and_no_other(found: Found) -> None:
    values = {(row["file"], int(row["line"]), row["column"]) for row in found.set_aside if row["kind"] == "value"}
    listed = {
        (fault.file, fault.line, fault.becomes.removeprefix("value set aside: "))
        for fault in listed_faults()
        if fault.becomes.startswith("value set aside: ")
    }
    assert values == listed


def test_repeats_are_the_listed_ones_and_no_other(found: Found) -> None:
    assert {(row["file"], int(row["line"])) for row in found.repeats} == places("repeat")


def test_blank_lines_are_the_listed_ones_and_no_other(found: Found) -> None:
    blank = {
        (f"{table}.csv", number)
        for table in TABLES
        for number, text in enumerate(physical_lines(f"{table}.csv"), 1)
        if not text.strip()
    }
    assert blank == places("blank")
    assert {file: int(row["blank"]) for file, row in found.lines.items() if row["blank"] != "0"} == Counter(
        file for file, _ in blank
    )


def test_every_line_is_accounted_for(found: Found) -> None:
    assert set(found.lines) == {f"{table}.csv" for table in TABLES}
    set_aside = Counter(file for file, _ in places("row set aside"))
    repeats = Counter(file for file, _ in places("repeat"))
    for file, row in found.lines.items():
        counts = {name: int(row[name]) for name in row if name != "file"}
        assert counts["lines"] == len(physical_lines(file))
        assert counts["lines"] == sum(counts.values()) - counts["lines"]
        assert (counts["header"], counts["set_aside"], counts["repeats"]) == (1, set_aside[file], repeats[file])


def test_the_extra_column_is_reported(found: Found) -> None:
    texts = [remark.text for remark in found.loaded.examined.remarks]
    assert [text for text in texts if "notes_flag" in text and "contacts.csv" in text]
    flags = Counter(row["notes_flag"] for row in sound_rows("contacts"))
    assert set(flags) == {"y", "n"}


def test_faults_of_whole_files_are_in_the_bytes() -> None:
    content = {table: (DEMO_EXPORT / f"{table}.csv").read_bytes() for table in TABLES}
    assert [table for table in TABLES if content[table].startswith(b"\xef\xbb\xbf")] == ["cases"]
    ends = {table: (text.count(b"\r\n"), text.count(b"\n") - text.count(b"\r\n")) for table, text in content.items()}
    assert [table for table, (carriage, _) in ends.items() if carriage] == ["procedures", "feeding_checks"]
    assert ends["procedures"][1] == 0
    assert min(ends["feeding_checks"]) > 100
    assert [table for table in TABLES if not content[table].endswith(b"\n")] == ["referrals"]
    assert [table for table in TABLES if b"\0" in content[table]] == ["feeding_checks"]


def test_the_field_over_two_lines_is_one_accepted_row() -> None:
    (spread,) = [fault for fault in listed_faults() if fault.last_line > fault.line]
    first, second = physical_lines(spread.file)[spread.line - 1 : spread.last_line]
    assert (first.count('"'), second.count('"')) == (1, 1)
    assert (spread.becomes, spread.file) == ("accepted as it stands", "referrals.csv")
    assert (spread.file, spread.line) not in places("row set aside")
