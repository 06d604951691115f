"""Writes the demo's files: a CSV file a table, the Data Package descriptor, the outreach team's workbook, the faults.

Comes in: the planted sheets, the export layout, the workbook's lines. Goes out: the bytes of each file, by name.
Refuses: nothing; it never reads what it wrote, so that a test can.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from pipeline.contracts.places import LAYOUT
from tests.demo_maker.episode import every_case
from tests.demo_maker.fault import ACCEPTED, EXTRA
from tests.demo_maker.outreach_book import FILE, fault_table, workbook
from tests.demo_maker.outreach_lines import sheet_lines
from tests.demo_maker.outreach_list import list_lines
from tests.demo_maker.planting import Row, Sheets, planted
from tests.demo_maker.service import CREATED, NAME

EXTRA_COLUMNS = {"contacts": ("notes_flag",)}
MARKED, CARRIAGE, MIXED, UNENDED = "cases", "procedures", "feeding_checks", "referrals"
QUOTE, MUST_QUOTE = '"', set('",\r\n')
PASTED = 0.5  # how far down the mixed file the other line ends begin

# Faults of whole files: they are in how the bytes are written, not in any row.
FILE_FAULTS = (
    (MARKED, "all", "the file begins with a byte-order mark", ACCEPTED),
    (CARRIAGE, "all", "the lines end in carriage return and line feed", ACCEPTED),
    (MIXED, "all", "the first half of the lines end in line feed, the rest in carriage return and line feed", ACCEPTED),
    (UNENDED, "all", "the last line has no line end", ACCEPTED),
    ("contacts", "all", "a column notes_flag that is not in the layout, holding y or n", EXTRA),
)

HEADING = f"""# Faults planted in the demo export

{NAME} does not exist; `python -m tests.demo_maker` makes its export. No real export
is quite clean, so these faults were planted on purpose. Each line of the table says what is wrong and what
should become of it; a test loads the export and compares the two, line by line. Lines count from 1, and the header is
line 1. Rows of a case that was set aside go with it and carry its number.

| number | file | lines | what is wrong | what becomes of it |
| ---: | --- | --- | --- | --- |
"""


def demo_files() -> dict[str, bytes]:
    """The content of every generated file, by name."""
    layout = json.loads(LAYOUT.read_text(encoding="utf-8"))
    sheets = planted(every_case())
    files = {}
    places = []
    for resource in layout["resources"]:
        table = resource["name"]
        columns = [field["name"] for field in resource["schema"]["fields"]]
        lines = csv_lines(sheets[table], [*columns, *EXTRA_COLUMNS.get(table, ())])
        files[f"{table}.csv"] = joined(table, lines)
        places += faulty_places(table, sheets[table], lines)
    files["datapackage.json"] = descriptor(layout)
    outreach = sheet_lines()
    not_yet = list_lines(outreach)
    files[FILE] = workbook(outreach, not_yet)
    files["FAULTS.md"] = fault_list(places, sheets) + fault_table(outreach, not_yet).encode("utf-8")
    return files


def csv_lines(rows: Sequence[Row], columns: Sequence[str]) -> list[str]:
    """The header and one text for each row, without line ends; a text may hold a line end inside quotes."""
    return [as_line(columns)] + [row_line(row, columns) for row in rows]


def row_line(row: Row, columns: Sequence[str]) -> str:
    """A row's line, spoilt where its fault spoils the line itself."""
    line = as_line([row.values[column] for column in columns])
    return row.fault.spoil(line) if row.fault is not None and row.fault.spoil is not None else line


def as_line(values: Sequence[str]) -> str:
    """Quoted only where it must be.

    csv.writer is not asked: whether it quotes a line feed that is not its own line end differs between Python versions.
    """
    return ",".join(f'"{value.replace(QUOTE, QUOTE * 2)}"' if MUST_QUOTE & set(value) else value for value in values)


def joined(table: str, lines: Sequence[str]) -> bytes:
    """The bytes of a file, with the line ends and the mark that are its own."""
    text = ""
    for place, line in enumerate(lines):
        carriage = table == CARRIAGE or (table == MIXED and place >= PASTED * len(lines))
        text += line + ("\r\n" if carriage else "\n")
    if table == UNENDED:
        text = text[:-1]
    return text.encode("utf-8-sig" if table == MARKED else "utf-8")


def faulty_places(table: str, rows: Sequence[Row], lines: Sequence[str]) -> list[tuple[int, str, str, str, str]]:
    """(number, file, line or lines, what is wrong, what becomes of it) of each row that carries a fault."""
    places = []
    at = 2
    for row, line in zip(rows, lines[1:], strict=True):
        further = line.count("\n")
        if row.number:
            where = f"{at}-{at + further}" if further else str(at)
            places.append((row.number, f"{table}.csv", where, row.wrong, row.becomes))
        at += 1 + further
    return places


def fault_list(places: Sequence[tuple[int, str, str, str, str]], sheets: Sheets) -> bytes:
    """FAULTS.md: one line for each fault and file, in the order of the numbers."""
    order = {f"{table}.csv": place for place, table in enumerate(sheets)}
    together: dict[tuple[int, str, str, str], list[str]] = {}
    for number, file, where, wrong, becomes in sorted(places, key=lambda place: (place[0], order[place[1]])):
        together.setdefault((number, file, wrong, becomes), []).append(where)
    text = HEADING
    for (number, file, wrong, becomes), where_all in together.items():
        text += f"| {number} | {file} | {', '.join(where_all)} | {wrong} | {becomes} |\n"
    highest = max(number for number, *_ in together)
    for number, (table, where, wrong, becomes) in enumerate(FILE_FAULTS, highest + 1):
        text += f"| {number} | {table}.csv | {where} | {wrong} | {becomes} |\n"
    return text.encode("utf-8")


def descriptor(layout: dict[str, Any]) -> bytes:
    """The layout's own table schemas, with a name, a title and the moment of the export: its date is the cut-off."""
    described = {
        "name": "tellowdale-infant-feeding-export",
        "title": f"{NAME}: export of October 2026",
        "description": "An invented service. No family, practitioner or place in this export exists.",
        "created": CREATED,
        "resources": layout["resources"],
    }
    return (json.dumps(described, indent=1, ensure_ascii=False) + "\n").encode("utf-8")


def write_demo(folder: Path) -> None:
    """Writes the generated files; audit.toml, the commentary and the mapping are written by hand and left alone."""
    for name, content in demo_files().items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_bytes(content)
