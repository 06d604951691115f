"""What is said of a figure that was traced.

Comes in: what the spine gave back. Goes out: lines on standard output, 100 columns at most where a name allows.
Refuses nothing.
"""

from __future__ import annotations

import textwrap

import click

from pipeline.report.content.traced import Traced
from pipeline.report.content.traced_case import TracedCase
from pipeline.report.words.dates import long_label

_WIDTH = 100


def followed(traced: Traced) -> None:
    """The figure, its sum, and each case with its lines."""
    click.echo(_filled(f"{traced.title}, {long_label(traced.figure.quarter)}", 0))
    click.echo(_filled(traced.question, 2))
    click.echo(_filled(f"{traced.sentence}.", 2))
    if traced.counted_on:
        click.echo(_filled(f"Counted on {traced.counted_on}.", 2))
    click.echo(_filled(f"Rests on: {traced.rests_on}.", 2))
    for load in traced.loads:
        click.echo(_filled(f"{load}.", 2))
    click.echo(_filled(f"{traced.adds_up}.", 0))
    for group in traced.groups:
        click.echo(f"\n{group.title}: {group.number}")
        for case in group.cases:
            _say(case)


def _say(case: TracedCase) -> None:
    click.echo(_filled("; ".join([f"{case.case_ref}  {case.counted_on}", *filter(None, [case.says]), *case.notes]), 2))
    if case.worked_out:
        click.echo(_filled(f"worked out: {case.worked_out}", 6))
    for line in case.lines:
        which = " ".join(filter(None, [line.of, "(the one counted)" if line.own else ""]))
        click.echo(_filled(": ".join(filter(None, [line.where, which, line.says])), 6))


def _filled(text: str, indent: int) -> str:
    # What stands in a record may hold signs that move a terminal's cursor.
    shown = "".join(each if each.isprintable() else " " for each in text)
    return textwrap.fill(
        shown, _WIDTH, initial_indent=" " * indent, subsequent_indent=" " * (indent + 4), break_on_hyphens=False
    )
