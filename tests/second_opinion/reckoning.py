"""The whole way from a folder of exported files to who is counted, and what became of every line.

In: a folder of nine CSV files and a cut-off. Out: a `Reckoning`. `results.make_results` and `activity.make_activity` go
on from its subjects. Refuses: mapping files, other formats, more than one export, suppression.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from pathlib import Path

from .accepting import Export, Fate, read_export
from .facts import Case, Request, subjects_of


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
    subjects: list[Case | Request]
    accounts: dict[str, FileAccount]
    fates: dict[str, list[Fate]]


def reckon(folder: Path, cut_off: date) -> Reckoning:
    export = read_export(folder, cut_off)
    return Reckoning(subjects_of(export.accepted, cut_off), accounts_of(export), export.fates)


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
