"""What each command did, for the command line to say: frozen descriptions, which the spine fills in."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from pathlib import Path

from pipeline.intake.anonymise.column_plan import PlannedSheet
from pipeline.intake.anonymise.without_names import Made
from pipeline.intake.examination import Examined
from pipeline.outcomes.accounts import Settled
from pipeline.outcomes.due import Due
from pipeline.outcomes.outcome import Outcome
from pipeline.report.content.edition import PractitionerContent
from pipeline.settings import Settings


@dataclass(frozen=True)
class Planned:
    """What becomes of each column of a workbook, and what of it could not be read."""

    sheets: tuple[PlannedSheet, ...]
    not_read: tuple[str, ...]


@dataclass(frozen=True)
class Anonymised:
    """The workbook without names, and the key that its pseudonyms rest on."""

    path: Path
    sheets: tuple[Made, ...]
    key: Path
    key_is_new: bool


@dataclass(frozen=True)
class Loaded:
    """What a load did. `examined` is None where these very files were in the store already."""

    number: int
    cut_off: date
    examined: Examined | None
    lists: Path
    settled: Settled | None = None  # what became of what this source's load before had set aside
    no_longer_there: tuple[str, ...] = ()  # what counts though it seems to be deleted at source, in words


@dataclass(frozen=True)
class Reported:
    """What a report made: every file, the page to open first."""

    files: tuple[Path, ...]
    settings: Settings
    outcome: Outcome
    doubts: tuple[str, ...] = ()  # what makes the figures, or the record of the report, doubtful
    attention: tuple[str, ...] = ()  # what the lead is told to look at

    @property
    def page(self) -> Path:
        """The page to open."""
        return self.files[0]


@dataclass(frozen=True)
class DueListed:
    """What a list of six-week questions holds, and where it is: the page, the CSV."""

    due: Due
    files: tuple[Path, ...]


@dataclass(frozen=True)
class MadeForOne:
    """What a practitioner edition is of, and where it is."""

    page: Path
    content: PractitionerContent


@dataclass(frozen=True)
class Withdrawn:
    """What a withdrawal did."""

    event: int
    load: int
    counted_from_it: int  # cases whose version that counted came from the load
    counting_again: int  # of these, the ones that an older load in force holds
