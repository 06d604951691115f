"""What each command about releases did, for the command line to say: frozen descriptions.

Apart from those of the other commands, which need not wait until the solver of a release is imported.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from pipeline.privacy.publication.ledger import Entry
from pipeline.privacy.publication.proving import Attacked
from pipeline.runs.publishing.facts import HowMuch


@dataclass(frozen=True)
class Published:
    """A release that was made; or would be, if `place` is None."""

    period: str
    how_much: HowMuch
    attacked: Attacked
    activity_only: bool
    place: Path | None = None
    files: tuple[str, ...] = ()


@dataclass(frozen=True)
class Verified:
    """Every release gone through again. `attacked` is None where nothing was published."""

    releases: tuple[Entry, ...]
    attacked: Attacked | None


@dataclass(frozen=True)
class Recorded:
    """Figures that went out another way, as the ledger has them now."""

    entry: Entry
    what: str
    counts: int
    not_known: int  # of periods that no release holds yet
    narrowed: tuple[str, ...]  # small counts that can now be worked out more closely than promised
