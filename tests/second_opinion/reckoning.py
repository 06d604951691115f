"""The whole way from a folder of exported files to the results, in one function.

In: a folder of seven CSV files, a cut-off, the reported quarter and the days that count as promptly.
Out: a `Reckoning`: results by (measure, quarter, breakdown, level), and what became of every line.
Refuses: mapping files, other formats, more than one export, suppression.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from pathlib import Path

from .accepting import Export, Fate, read_export
from .answers import Answer
from .cases import Case, cases_of
from .counting import Result, levels, period_of, periods, result
from .measures import measures_of

Key = tuple[str, str, str, str]


@dataclass(frozen=True)
class FileAccount:
    """Physical lines of one file; lines is counted on the bytes, the others add up to it."""

    lines: int
    header: int
    blank: int
    accepted: int
    set_aside: int
    repeats: int


@dataclass(frozen=True)
class Reckoning:
    results: dict[Key, Result]
    accounts: dict[str, FileAccount]
    fates: dict[str, list[Fate]]
    cases: tuple[Case, ...]


def reckon(folder: Path, cut_off: date, reported_period: str, seen_promptly_days: int = 5) -> Reckoning:
    export = read_export(folder, cut_off)
    cases = cases_of(export, cut_off)
    results = results_of(cases, cut_off, reported_period, seen_promptly_days)
    return Reckoning(results, accounts_of(export), export.fates, tuple(cases))


def results_of(cases: list[Case], cut_off: date, reported_period: str, seen_promptly_days: int) -> dict[Key, Result]:
    """Every quarter from that of the earliest first contact to the reported one; none where no case was accepted."""
    if not cases:
        return {}
    all_periods = periods(period_of(min(case.first_contact for case in cases)), reported_period)
    results: dict[Key, Result] = {}
    for measure in measures_of(seen_promptly_days):
        answers = [answer for case in cases for answer in measure.answers(case)]
        for period in all_periods:
            groups: dict[tuple[str, str], list[Answer]] = {("all", "all"): []}
            for answer in answers:
                if period_of(answer.index_date) == period:
                    for breakdown, level in levels(measure, answer).items():
                        groups.setdefault((breakdown, level), []).append(answer)
            for (breakdown, level), members in sorted(groups.items()):
                results[measure.name, period, breakdown, level] = result(measure, period, cut_off, members)
    return results


def accounts_of(export: Export) -> dict[str, FileAccount]:
    accounts = {}
    for table, read in export.reads.items():
        header = 0 if read.header is None else read.header.last - read.header.first + 1
        counted = {"accepted": 0, "set aside": 0, "repeat": 0}
        for fate in export.fates[table]:
            counted[fate.fate] += fate.last - fate.first + 1
        account = FileAccount(
            read.lines, header, read.blank, counted["accepted"], counted["set aside"], counted["repeat"]
        )
        if account.lines != header + read.blank + sum(counted.values()):
            raise ValueError(f"{table}: the fates of the lines do not add up to the {account.lines} lines of the file")
        accounts[table] = account
    return accounts
