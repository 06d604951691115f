"""What happened to the store, and what may still happen to a load or a case in it.

    store -> every event, in order; withdrawal -> one more event; erasure -> the store without a case

Comes in: an audit folder, a load or a case. Goes out: what happened, what was done.
"""

from __future__ import annotations

from pathlib import Path

from pipeline import store
from pipeline.intake.account import load_lists
from pipeline.outcomes import cases
from pipeline.runs.run_results import Withdrawn
from pipeline.session import held


def loads(folder: Path) -> tuple[store.Event, ...]:
    """Everything that happened to the folder's store, in order."""
    with held(folder, to_change=False) as con:
        cases.build(con, through="counting_cases")
        return store.events(con)


def withdraw(folder: Path, load: int, reason: str = "") -> Withdrawn:
    """Let a load count no more; what it replaced counts again."""
    with held(folder, to_change=True) as con:
        cases.build(con, through="counting_cases")
        before = cases.counted(con)
        event = store.withdraw(con, load, reason)
        from_it = cases.from_load(con, load)
        cases.build(con, through="counting_cases")
        return Withdrawn(event, load, from_it, from_it - before + cases.counted(con))


def held_of(folder: Path, case_ref: str) -> store.HeldOf:
    """What there is to erase of a case."""
    with held(folder, to_change=False) as con:
        return store.held_of(con, case_ref)


def erase(folder: Path, case_ref: str) -> store.Erased:
    """Erase a case from the store, its history and the lists of its loads."""
    with held(folder, to_change=True) as con:
        return store.erase(con, folder, case_ref, load_lists.write)
