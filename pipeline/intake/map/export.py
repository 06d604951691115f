"""An export that has been read: its sheets, and which of them gives which rows through its mapping."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from datetime import date

from pipeline.intake.map.mapping import Mapping
from pipeline.intake.map.sheet_tables import Draw
from pipeline.intake.read.remark import Remark
from pipeline.intake.read.sheet import Sheet


@dataclass(frozen=True)
class Export:
    """An export, read and screened but not yet checked."""

    name: str
    cut_off: date
    mapping: Mapping  # with a name where one of the audit folder was used
    in_layout: bool  # as it stands: the mapping's rows are the layout's own
    draws: tuple[Draw, ...]
    remarks: tuple[Remark, ...]

    @property
    def sheets(self) -> tuple[Sheet, ...]:
        """The sheets that give rows, each once, in the order of the first table each gives."""
        return tuple({draw.sheet_number: draw.sheet for draw in self.draws}.values())

    @property
    def fingerprint(self) -> str:
        """The same for the same files read in the same way with the same cut-off, whatever the export is called."""
        contents = "".join(f"{draw.table.name}:{draw.sheet.name}:{draw.sheet.sha256};" for draw in self.draws)
        return hashlib.sha256(
            f"{self.cut_off}|{contents}|{self.mapping.source}|{self.mapping.text}".encode()
        ).hexdigest()
