"""The column of a list of appointments that says which were kept: one that was not is no visit.

Comes in: the columns of a sheet. Goes out: that column and what its texts say, and the columns without those texts.
Refuses to call a text kept, or not kept, that is in no list of such words: a person must say.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace

from pipeline.contracts import layout
from pipeline.intake.suggest.look.sheet_seen import SeenColumn, SeenSheet
from pipeline.intake.suggest.look.trade_words import known, meaning, tidy
from pipeline.intake.suggest.values.code_meanings import MOST_CODES, may_be_shown, yes_values

OF_ACTS = ("contacts", "assessments", "procedures")  # tables whose rows are things that took place


@dataclass(frozen=True)
class Kept:
    """Where `kept` is empty, the column says only what was not kept, and anything else in it is a visit."""

    column: SeenColumn
    kept: tuple[str, ...]
    not_kept: tuple[str, ...]
    unclear: tuple[str, ...] = ()
    hidden: int = 0  # further different texts, not shown
    blanks: int = 0


def kept_of(sheet: SeenSheet) -> Kept | None:
    """The column with the most that was not kept, if there is one."""
    possible = [kept for column in sheet.plain_columns if (kept := _kept(sheet, column))]
    return max(possible, key=lambda kept: sum(kept.column.counts[text] for text in kept.not_kept), default=None)


def without(columns: Sequence[SeenColumn], kept: Kept | None) -> list[SeenColumn]:
    """The columns that are left to be chosen from: what was not kept is no code of any of them."""
    if kept is None:
        return list(columns)
    rest = {text: count for text, count in kept.column.counts.items() if text not in kept.not_kept}
    others = [column for column in columns if column.header != kept.column.header]
    return others if kept.kept or not rest else [*others, replace(kept.column, counts=rest)]


def _kept(sheet: SeenSheet, column: SeenColumn) -> Kept | None:
    words = known()["kept"]
    says_kept, says_not = (meaning(column.header) in map(meaning, words[name]) for name in ("column", "not_column"))
    blanks = sum(not line[sheet.columns.index(column)] for line in sheet.lines)
    if says_kept or says_not:
        said = yes_values(column.counts, layout.table("procedures").column("consent_recorded"))
        if says_not and said.no:
            return Kept(column, said.no, said.yes, (*said.nothing, *said.unclear), said.hidden, blanks)
        if says_not and said.yes:
            return Kept(column, (), (*said.yes, *said.unclear))  # any tick
        if said.no and says_kept:
            return Kept(column, said.yes, said.no, (*said.nothing, *said.unclear), said.hidden, blanks)
    if len(column.counts) > MOST_CODES:
        return None
    not_kept = tuple(text for text in column.counts if _begins(text, words["not_kept"]))
    kept = tuple(text for text in column.counts if tidy(text) in words["kept"])
    if not not_kept:
        return None
    if 2 * sum(column.counts[text] for text in (*kept, *not_kept)) < sum(column.counts.values()) or not kept:
        return Kept(column, (), not_kept)
    rest = [text for text in column.counts if text not in (*kept, *not_kept)]
    unclear = tuple(filter(may_be_shown, rest))
    return Kept(column, kept, not_kept, unclear, len(rest) - len(unclear), blanks)


def _begins(text: str, phrases: Sequence[str]) -> bool:
    """“DNA – no reply” begins so; “Cancelled, then attended” says two things."""
    words = tidy(text)
    if (
        any(re.search(rf"\b{re.escape(word)}\b", words) for word in ("attended", "seen", "came"))
        and words not in phrases
    ):
        return False
    return any(re.match(rf"{re.escape(phrase)}(?:$|\s*[^\w\s]|\s+by\b)", words) for phrase in phrases)
