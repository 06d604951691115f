"""What a measure says about one case or one procedure.

In: nothing. Out: `Answer`. Refuses: to exist for a case that is not eligible.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from .cases import Case, Procedure


@dataclass(frozen=True)
class Answer:
    """One eligible case or procedure.

    result: True met, False not met, None unknown (proportions). days: an age or a wait; event 1 or 2, or 0 for censored
    (waits). procedure: the one whose operator and tie type the breakdowns take, in measures of procedures.
    """

    case: Case
    index_date: date
    result: bool | None = None
    days: int = 0
    event: int = 0
    procedure: Procedure | None = None
