"""What is chosen of a sheet: which column gives which layout column, how sure that is, and why.

Comes in: a column, and what its name may mean. Goes out: the choice with its mark. Refuses a column that the identifier
screen found, and a name that is not whole and does not fit its values.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from pipeline.contracts import layout
from pipeline.contracts.layout import CODE, INTEGER, YES_NO
from pipeline.intake.suggest.choose.kept_appointments import Kept
from pipeline.intake.suggest.look.sheet_seen import SeenColumn, SeenSheet
from pipeline.intake.suggest.look.trade_words import DOUBTFUL, FULL, VAGUE, Match
from pipeline.intake.suggest.values.code_meanings import ASKS, LIKELY, SURE, YesSays
from pipeline.intake.suggest.values.fit import Fit, fit_of

Group = tuple[str, str]  # table and label
FITS, PARTLY = 0.95, 0.5  # shares of what is written that fit a layout column


@dataclass(frozen=True)
class Choice:
    """A column of the sheet for a layout column."""

    column: SeenColumn
    match: Match
    fit: Fit
    mark: str
    why: str
    again: bool = False  # it asks because its visit likely stands in the mapping already, or its name says little


@dataclass(frozen=True)
class Complication:
    """A yes/no column that says one kind of complication, and the column with its date, if there is one."""

    kind: str
    column: SeenColumn
    says: YesSays
    date: Choice | None


@dataclass(frozen=True)
class Chosen:
    """What was chosen of one sheet; `table` is "" where nothing tells what the sheet is."""

    sheet: SeenSheet
    table: str
    case_ref: Choice | None
    groups: Mapping[Group, Mapping[str, Choice]]
    complications: tuple[Complication, ...]
    kept: Kept | None = None

    @property
    def choices(self) -> list[Choice]:
        """Those of all groups."""
        return [choice for group in self.groups.values() for choice in group.values()]

    @property
    def used(self) -> frozenset[str]:
        """The names of the columns that stand in the mapping."""
        choices = [*self.choices, self.case_ref, *(complication.date for complication in self.complications)]
        columns = [choice.column for choice in choices if choice] + [kind.column for kind in self.complications]
        columns += [self.kept.column] if self.kept else []
        units = {
            str(value) for choice in choices if choice for way in choice.fit.ways for key, value in way if key == "unit"
        }
        return frozenset(name for column in columns for name in (column.stands_for or (column.header,))) | units

    @property
    def in_effect(self) -> frozenset[str]:
        """The names of the columns that a line in effect uses, or one that asks about nothing but how to read it."""
        groups = {
            key: {
                name: choice
                for name, choice in group.items()
                if choice.mark != ASKS or (choice.match.strength == FULL and not choice.again)
            }
            for key, group in self.groups.items()
        }
        return replace(self, groups=groups).used


def choice_of(column: SeenColumn, match: Match) -> Choice | None:
    """The choice, with its mark and why; nothing where the values speak against a name that is not whole."""
    wanted = layout.table(match.table).column(match.column)
    its_fit = fit_of(column.header, column.counts, wanted, match.table == "cases")
    empty = not column.counts
    # A list of codes may be half plain: the rest of it is asked about, code by code.
    needed = PARTLY if wanted.kind in (CODE, YES_NO) else FITS
    if match.strength == VAGUE and (empty or its_fit.share < needed):
        return None
    if match.strength == DOUBTFUL:
        if its_fit.share < PARTLY or empty:
            return None
        which = "help requested of the service, or referral for division?"
        return Choice(column, match, its_fit, ASKS, f"{which} {its_fit.asks}".strip())
    enough = 0.25 if wanted.kind in (CODE, YES_NO) else PARTLY
    if its_fit.asks and (its_fit.share >= enough or wanted.kind in (CODE, YES_NO, INTEGER)):
        return Choice(column, match, its_fit, ASKS, its_fit.asks)
    if its_fit.share < enough:
        return Choice(column, match, its_fit, ASKS, f"the name fits, the values do not: {its_fit.said}")
    name = "the name" if match.strength == FULL else "a part of the name"
    if match.strength == FULL and its_fit.share >= FITS and its_fit.sure:
        return Choice(column, match, its_fit, SURE, f"{name}; {its_fit.said}")
    return Choice(column, match, its_fit, LIKELY, f"{name}; {its_fit.said}")
