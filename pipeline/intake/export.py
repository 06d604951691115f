"""A folder in, an Export out: which file is which table, its cut-off, its columns.

Refuses, all at once: a path that is no folder of CSV files, no cases file, a must-column that is missing, a column
twice, no cut-off or two that differ. Says, without refusing: a table or an optional column that is missing, a column
or a file that is left out.
"""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from pipeline import layout
from pipeline.errors import Fault, Refused
from pipeline.intake.lines import CsvFile, read_csv


@dataclass(frozen=True)
class TableFile:
    """One file of an export, read into records."""

    table: layout.Table
    name: str
    sha256: str
    csv: CsvFile


@dataclass(frozen=True)
class Remark:
    """Something the reader should know, though nothing was refused. A serious one stands at the head of the page."""

    text: str
    serious: bool


@dataclass(frozen=True)
class Export:
    """An export, read but not yet checked."""

    name: str
    cut_off: date
    files: tuple[TableFile, ...]  # in the order of the layout; a missing table has none
    remarks: tuple[Remark, ...]

    @property
    def fingerprint(self) -> str:
        """The same for the same files with the same cut-off, whatever the folder is called."""
        contents = "".join(f"{file.table.name}:{file.sha256};" for file in self.files)
        return hashlib.sha256(f"{self.cut_off}|{contents}".encode()).hexdigest()


def open_export(path: Path, extracted_on: date | None = None) -> Export:
    """Read an export folder. Raises Refused with every fault found."""
    paths, remarks = _find_files(path)
    files = tuple(
        TableFile(table, paths[table.name].name, _sha256(paths[table.name]), read_csv(paths[table.name]))
        for table in layout.tables()
        if table.name in paths
    )
    faults: list[Fault] = []
    for file in files:
        column_faults, column_remarks = _check_columns(file)
        faults += column_faults
        remarks += column_remarks
    cut_off = _cut_off(path, extracted_on, paths.values(), faults)
    if faults or cut_off is None:
        raise Refused(faults)
    return Export(path.resolve().name, cut_off, files, tuple(remarks))


def _sha256(path: Path) -> str:
    return hashlib.sha256(path.read_bytes()).hexdigest()


def _find_files(path: Path) -> tuple[dict[str, Path], list[Remark]]:
    wanted = "a folder with the CSV files " + ", ".join(f"{table.name}.csv" for table in layout.tables())
    if not path.is_dir():
        found = "it is a file" if path.exists() else "there is no such folder"
        raise Refused(Fault(str(path), found, wanted, "give the folder that holds the export's CSV files"))
    names = {table.name for table in layout.tables()}
    found_files: dict[str, Path] = {}
    remarks: list[Remark] = []
    for each in sorted(path.iterdir()):
        if each.suffix.lower() == ".csv" and each.stem.lower() in names and each.is_file():
            if each.stem.lower() in found_files:
                twice = f"two files for one table: {found_files[each.stem.lower()].name} and {each.name}"
                raise Refused(Fault(str(path), twice, "one file a table", "take one of them out"))
            found_files[each.stem.lower()] = each
        elif each.suffix.lower() in (".csv", ".tsv", ".xlsx", ".xls", ".parquet", ".zip", ".ods"):
            remarks.append(Remark(f"{each.name}: not a table of the layout, not read", serious=False))
    if "cases" not in found_files:
        there = ", ".join(sorted(each.name for each in path.iterdir())[:12]) or "nothing"
        raise Refused(
            Fault(str(path), f"no cases.csv; the folder holds {there}", wanted, "give the folder of the export")
        )
    for table in layout.tables():
        if table.name not in found_files:
            missing = f"{table.name}.csv: not in this export"
            follows = "what it would hold counts as not having happened, so do not rely on figures that rest on it"
            remarks.append(Remark(f"{missing}; {follows}", serious=True))
    return found_files, remarks


def _check_columns(file: TableFile) -> tuple[list[Fault], list[Remark]]:
    header = file.csv.header
    faults: list[Fault] = []
    remarks: list[Remark] = []
    known = {column.name: column for column in file.table.columns}
    for name in sorted({name for name in header if header.count(name) > 1 and name in known}):
        faults.append(Fault(file.name, f"the column {name} stands twice", "each column once", "take one of them out"))
    missing = [column for column in known.values() if column.name not in header]
    must = [column.name for column in missing if column.must]
    if must:
        told = (
            f"; the header is {','.join(header)[:200]}"
            if set(known) & set(header)
            else "; no column of the table is there"
        )
        found = f"no column {', '.join(must)}{told}"
        mend = "export these columns too" + (
            "; the header holds semicolons: save it again with commas between columns" if ";" in "".join(header) else ""
        )
        faults.append(Fault(file.name, found, "a first line with the column names, commas between them", mend))
    optional = [column.name for column in missing if not column.must]
    if optional:
        missed = f"{file.name}: no column {', '.join(optional)}; it counts as not recorded throughout"
        remarks.append(Remark(missed, serious=False))
    extra = [name or "(without a name)" for name in dict.fromkeys(header) if name not in known]
    if extra:
        remarks.append(Remark(f"{file.name}: extra column {', '.join(extra)}, left out", serious=False))
    return faults, remarks


def _cut_off(path: Path, extracted_on: date | None, paths: Iterable[Path], faults: list[Fault]) -> date | None:
    """The date part of the Data Package's `created`, else the one given; both only if they agree."""
    created = _created(path / "datapackage.json", faults)
    if created and extracted_on and created != extracted_on:
        found = f"datapackage.json says created {created}, --extracted-on says {extracted_on}"
        mend = "leave out --extracted-on, or correct datapackage.json"
        faults.append(Fault(path.name, found, "one cut-off, the day the export was drawn", mend))
    cut_off = created or extracted_on
    if cut_off is None and not faults:
        latest = _latest_date(paths)
        hint = f"; the latest date in it is {latest}" if latest else ""
        mend = "say the day the export was drawn, after which nothing is known: --extracted-on YYYY-MM-DD" + hint
        found = "no cut-off: no datapackage.json with a created date, and no --extracted-on"
        faults.append(Fault(path.name, found, "the day the export was drawn", mend))
    return cut_off


def _created(path: Path, faults: list[Fault]) -> date | None:
    if not path.exists():
        return None
    try:
        written = json.loads(path.read_text(encoding="utf-8-sig")).get("created")
        return date.fromisoformat(written[:10]) if written else None
    except (ValueError, AttributeError, TypeError) as error:
        allowed = 'JSON with "created": "2026-10-12" or "created": "2026-10-12T07:30:00Z"'
        faults.append(
            Fault(path.name, f"created cannot be read ({error})", allowed, "correct it, or use --extracted-on")
        )
        return None


def _latest_date(paths: Iterable[Path]) -> str | None:
    """A hint for the reader, by looking at what is shaped like a date; nothing rests on it."""
    found = (re.findall(rb"\b\d{4}-[01]\d-[0-3]\d\b", path.read_bytes()) for path in paths)
    return max((day.decode() for days in found for day in days), default=None)
