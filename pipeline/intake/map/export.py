"""An export that has been read: its sheets, and which of them gives which rows through its mapping."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from pipeline.intake.map.mapping import Mapping as ExportMapping
from pipeline.intake.map.sheet_tables import Heading, SheetTable
from pipeline.intake.read.sheet import Sheet
from pipeline.store import Remark


@dataclass(frozen=True)
class Export:
    """An export, read and screened but not yet checked."""

    name: str
    cut_off: date
    mapping: ExportMapping  # with a name where one of the audit folder was used
    in_layout: bool  # as it stands: the mapping's rows are the layout's own
    sheet_tables: tuple[SheetTable, ...]
    remarks: tuple[Remark, ...]
    headings: tuple[Heading, ...] = ()  # of all its sheets

    @property
    def sheets(self) -> tuple[Sheet, ...]:
        """The sheets that give rows, each once, in the order of the first table each gives."""
        return tuple(self.numbered_sheets.values())

    @property
    def numbered_sheets(self) -> Mapping[int, Sheet]:
        """The same, by their place among all sheets of the export."""
        return {sheet_table.sheet_number: sheet_table.sheet for sheet_table in self.sheet_tables}

    @property
    def given(self) -> frozenset[tuple[str, str]]:
        """The tables and columns of the layout that something of the export gives."""
        return frozenset((gives.table.name, name) for gives in self.sheet_tables for name in gives.rows.columns)

    @property
    def fingerprint(self) -> str:
        """The same for the same files read in the same way with the same cut-off, whatever the export is called."""
        contents = "".join(
            f"{gives.table.name}:{gives.sheet.name}:{gives.sheet.sha256};" for gives in self.sheet_tables
        )
        return hashlib.sha256(
            f"{self.cut_off}|{contents}|{self.mapping.source}|{self.mapping.text}".encode()
        ).hexdigest()
