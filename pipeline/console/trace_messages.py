"""What is said of a figure that was traced.

Comes in: what the spine gave back. Goes out: lines on standard output, 100 columns at most where a name allows.
"""

from __future__ import annotations

from pipeline.console.terminal import say, say_wrapped
from pipeline.report.views.behind.traced import Traced
from pipeline.report.views.behind.traced_case import TracedCase
from pipeline.report.words.dates import long_label


def followed(traced: Traced) -> None:
    """The figure, its sum, and each case with its lines."""
    _say_filled(f"{traced.title}, {long_label(traced.figure.period)}", 0)
    _say_filled(traced.question, 2)
    _say_filled(f"{traced.sentence}.", 2)
    if traced.counted_on:
        _say_filled(f"Counted on {traced.counted_on}.", 2)
    _say_filled(f"{traced.adds_up}.", 0)
    for group in traced.groups:
        say(f"\n{group.title}: {group.number}")
        for case in group.cases:
            _say(case)
    say("\nWhich columns of which exports this rests on:")
    _say_filled(f"{traced.rests_on}.", 2)
    for load in traced.loads:
        _say_filled(f"{load}.", 2)


def _say(case: TracedCase) -> None:
    _say_filled("; ".join([f"{case.case_ref}  {case.counted_on}", *filter(None, [case.says]), *case.notes]), 2)
    if case.worked_out:
        _say_filled(f"worked out: {case.worked_out}", 6)
    for line in case.lines:
        which = " ".join(filter(None, [line.of, "(the one counted)" if line.own else ""]))
        _say_filled(": ".join(filter(None, [line.where, which, line.says])), 6)


def _say_filled(text: str, indent: int) -> None:
    say_wrapped(text, indent, hanging=4)
