"""Whatever a service exports in, an Export out: its sheets, read and screened, and which of them gives which rows.

An export in the layout (its sheets named after the tables) needs no mapping; any other is read through one mapping of
the audit folder. Refuses: what shapes, choosing, the identifier screen and the cut-off refuse. Says, without refusing:
a table or an optional column that is missing, a column, sheet or file that is left out, how a sheet was read.
"""

from __future__ import annotations

from datetime import date
from pathlib import Path

from pipeline.intake import screen
from pipeline.intake.choose_mapping import Known, choose, known_mappings
from pipeline.intake.map.cut_off import find_cut_off
from pipeline.intake.map.export import Export
from pipeline.intake.map.mapping import reading_of
from pipeline.intake.map.shapes.odd_lines import merged_cells, odd_lines
from pipeline.intake.map.sheet_tables import headings, sheet_tables
from pipeline.intake.map.sheet_tables import remarks as remarks_on_sheets
from pipeline.intake.read.contents import open_contents
from pipeline.intake.read.sheet import marks_said
from pipeline.progress import Progress
from pipeline.settings import Settings
from pipeline.store import Remark


def open_export(
    path: Path,
    extracted_on: date | None = None,
    settings: Settings | None = None,
    *,
    folder: Path | None = None,
    mapping: str | None = None,
    encoding: str | None = None,
    watch: Progress | None = None,
) -> Export:
    """Read an export of any shape, through a mapping of the audit folder if it takes one. Raises Refused.

    `mapping` is the name of the one to use, where more than one fits; the settings say why a column that looks like
    identifiers is none, and what nothing is to read.
    """
    watch = watch or Progress()
    watch.stage(f"reading {path.name}")
    known = Known() if folder is None else known_mappings(folder, mapping)
    contents = open_contents(path)
    chosen = choose(contents, known, encoding, watch, settings)
    given = sheet_tables(chosen.mapping, chosen.sheets)
    cut_off = find_cut_off(contents.name, contents.created, extracted_on, chosen.mapping, given)
    remarks = [Remark(f"{sheet.file}: {words}", serious=False) for sheet in chosen.sheets for words in sheet.said]
    giving = {gives.sheet_number: gives.sheet for gives in given if not chosen.in_layout}
    remarks += [Remark(f"{sheet.file}: {odd}", serious=False) for sheet in giving.values() for odd in odd_lines(sheet)]
    for sheet in {gives.sheet_number: gives.sheet for gives in given}.values():
        carried = reading_of(chosen.mapping, sheet.name).shape.fill_down
        remarks += [Remark(words, serious=False) for words in merged_cells(sheet, carried)]
    if marks := marks_said(chosen.sheets):
        remarks.append(Remark(marks, serious=False))
    if chosen.mapping.name:
        remarks.insert(0, Remark(f"read through the mapping {chosen.mapping.name}", serious=False))
    for name, reason in screen.reasons(chosen.sheets, chosen.mapping).items():
        remarks.append(Remark(f"column {name} let through the identifier screen: {reason}", serious=False))
    remarks += remarks_on_sheets(chosen.mapping, given, chosen.sheets, in_layout=chosen.in_layout)
    remarks += [Remark(words, serious=False) for words in chosen.not_read]
    said, every = tuple(dict.fromkeys(remarks)), tuple(headings(chosen.mapping, given, chosen.sheets))
    return Export(contents.name, cut_off, chosen.mapping, chosen.in_layout, given, said, every)
