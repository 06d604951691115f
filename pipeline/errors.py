"""One exception for everything a person can act on.

Comes in: what went wrong, in words. Goes out: a message that says where, what was found, what is allowed and
what to do next. Refuses: to wrap a defect of the program; those keep their traceback.
"""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass


@dataclass(frozen=True)
class Fault:
    """One thing to mend: where it is, what was found there, what is allowed, what to do next."""

    where: str
    found: str
    allowed: str
    mend: str

    def __str__(self) -> str:
        return f"{self.where}: {self.found}\n  allowed: {self.allowed}\n  to do:   {self.mend}"


class Refused(Exception):
    """The work cannot go on, and the reader can do something about it. Holds every fault of the stage at once.

    `beside` are lines for whoever looks for the cause.
    """

    def __init__(self, faults: Sequence[Fault] | Fault, beside: Sequence[str] = ()) -> None:
        self.faults: tuple[Fault, ...] = (faults,) if isinstance(faults, Fault) else tuple(faults)
        super().__init__("\n".join((*(str(fault) for fault in self.faults), *beside)))


def nearest(name: str, names: Iterable[str]) -> str:
    """The names most like a name, as the end of a sentence about what is allowed; nothing where none is like it."""
    folded = {known.casefold(): known for known in names}
    close = [folded[known] for known in difflib.get_close_matches(name.casefold(), folded, n=2)]
    return f"; most like it: {', '.join(close)}" if close else ""


def why_not_written(error: Exception) -> str:
    """Why a file could not be written: the first line of what the database says, or that the disk is full."""
    said = str(error)
    return "the disk is full" if "No space left" in said or "Disk quota" in said else said.split("\n")[0]
