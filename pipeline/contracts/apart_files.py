"""The groups counted beside a measure, because they are not in it or are a part worth showing: sql/apart.

Comes in: the measures there are. Goes out: frozen descriptions with the SQL, and the contract of that. Refuses, with
file and line: a missing or unknown key, a measure that there is not, two groups of a measure with one title.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from pathlib import Path

from pipeline.contracts.grains import GRAINS
from pipeline.contracts.measure_files import Measure, grain_columns
from pipeline.contracts.places import SQL
from pipeline.contracts.sql_contract import DAY, TEXT, Contract
from pipeline.contracts.sql_file import SqlFile, name_faults, read_folder, read_sql_file
from pipeline.errors import Fault, Refused

MUST, MAY = ("title", "measure"), ("grain",)
APART_COLUMNS = ("measure", "title", "period", "count")  # of the frame of their numbers


@dataclass(frozen=True)
class Apart:
    """One group: one file of sql/apart. Its rows are what its measure's are, unless it says another grain."""

    name: str
    title: str
    measure: str
    grain: str
    file: SqlFile


def aparts(measures: Collection[Measure], folder: Path = SQL / "apart") -> tuple[Apart, ...]:
    """Every group counted apart, by name. Raises Refused with the faults of all files."""
    grains = {measure.name: measure.grain for measure in measures}
    groups = read_folder(folder, lambda path: _apart(path, grains))
    told = [(group.measure, group.title) for group in groups]
    allowed = "each title once beside a measure"
    twice = [
        Fault(group.file.at("title"), f"{group.title}, a second time", allowed, "give one of them another title")
        for place, group in enumerate(groups)
        if told[place] in told[:place]
    ]
    if twice:
        raise Refused(twice)
    return groups


def contract(group: Apart, case_tables: frozenset[str]) -> Contract:
    """What the SELECT of a group gives, and what it may read."""
    return Contract(
        {"case_ref": TEXT, **grain_columns(group.grain), "index_date": DAY},
        case_tables | {"settings"},
        in_order=False,
        because=f"beside a measure of grain {group.grain} ",
        mend="correct the columns, or measure at the head of the file",
    )


def _apart(path: Path, grains: dict[str, str]) -> Apart:
    file = read_sql_file(path, MUST, MAY)
    measure, faults = file.keys["measure"], name_faults(file)
    grain = file.keys.get("grain", grains.get(measure, ""))
    if "grain" in file.keys and grain not in GRAINS:
        allowed = "one of " + ", ".join(GRAINS)
        faults.append(Fault(file.at("grain"), f"grain: {grain}", allowed, "choose one of them, or leave out the line"))
    if measure not in grains:
        mend = "name the measure it stands beside"
        faults.append(Fault(file.at("measure"), measure, "the name of a measure", mend))
    if file.name in grains:
        faults.append(Fault(file.at(), f"the name {file.name}", "a name that no measure has", "rename the file"))
    if faults:
        raise Refused(faults)
    return Apart(file.name, file.keys["title"], measure, grain, file)
