"""Everything that is said of an export before it is stored: checked, accounted for, summed up, seen as a whole.

Comes in: an opened export, a working connection with the store attached. Goes out: an Examined, and the accepted rows
on the connection. Whether it may be stored, who loads decides by its `doubts` and what is `new`.
"""

from __future__ import annotations

from dataclasses import dataclass

import duckdb

from pipeline import store
from pipeline.errors import Fault
from pipeline.intake.account import findings, line_counts
from pipeline.intake.account.findings import Findings
from pipeline.intake.check import staging
from pipeline.intake.gate import gate, new_headings
from pipeline.intake.gate.changed_cases import Compared, compare
from pipeline.intake.gate.new_words import NewWords, new_words
from pipeline.intake.map.export import Export
from pipeline.progress import Progress
from pipeline.settings import Settings
from pipeline.store import ANYWAY, LineCounts, Remark


@dataclass(frozen=True)
class Examined:
    """What the checks say of an export: every line accounted for, and why it should be held back, if it should."""

    export: Export
    before: int | None  # the load that it was compared with
    compared: Compared | None  # its cases beside those of that load
    counts: tuple[LineCounts, ...]
    remarks: tuple[Remark, ...]
    findings: Findings
    doubts: tuple[Fault, ...]  # of the batch gate
    new: tuple[NewWords, ...]  # what nobody has confirmed yet

    @property
    def held_back(self) -> tuple[Fault, ...]:
        """Why a load that is told nothing more would not store it."""
        return (*self.doubts, *(words.question for words in self.new))

    def kept_remarks(self, reason: str) -> tuple[Remark, ...]:
        """What stays with the load: that it was held back and why it was accepted anyway stands at the page's head."""
        anyway = (f"{doubt.where}: {doubt.found}{ANYWAY}{reason}" for doubt in self.doubts)
        return (*(Remark(text, serious=True) for text in anyway), *self.remarks)


def examine(con: duckdb.DuckDBPyConnection, opened: Export, settings: Settings, watch: Progress) -> Examined:
    """Examine an export, beside the load of its source that came before it."""
    before = store.load_before(con, opened.mapping.source, opened.cut_off)
    later = store.later_load(con, opened.mapping.source, opened.cut_off)
    watch.expect(sum(sheet.records.num_rows for sheet in opened.sheets), "rows")
    left_out = staging.stage(con, opened, watch)
    counts = line_counts.account(con, opened, watch)
    watch.stage("judging the export as a whole")
    there = new_headings.headings_before(con, before)
    doubts = new_headings.new_headings(there, opened, before) + gate.doubts(con, opened, counts, before, settings.gate)
    remarks = (
        *opened.remarks,
        *new_headings.remarks(there, before),
        *left_out,
        *line_counts.remarks(counts, settings.gate.set_aside_share),
    )
    if not opened.in_layout:
        remarks = (*line_counts.empty_tables(con), *remarks)
    if later is not None:
        number, day = later
        words = f"load {number} of the same source was drawn later, on {day}: where both hold a case, that one counts"
        remarks = (Remark(words, serious=True), *remarks)
    new = tuple(new_words(con, opened, settings.confirmed))
    return Examined(opened, before, compare(con, before), counts, remarks, findings.sum_up(con), doubts, new)
