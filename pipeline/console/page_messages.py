"""What is said of the pages that were made.

Comes in: what the spine gave back. Goes out: lines on standard output.
"""

from __future__ import annotations

import shlex
from collections.abc import Sequence
from pathlib import Path

from pipeline.console.terminal import say, say_wrapped
from pipeline.report.pages import due_page
from pipeline.report.pages.commentary_to_write import Laid
from pipeline.report.words import sentences, verdicts
from pipeline.report.words.dates import day_label, long_label
from pipeline.runs.run_results import DueListed, MadeForOne, Reported

ATTENTION = 5  # lines under that heading


def laid(made: Laid, folder: Path) -> None:
    """What was laid to write in, and how to go on."""
    say(f"Laid the file for the lead's words on {long_label(made.period)}: {made.path}")
    if made.carried:
        actions = "action" if made.carried == 1 else "actions"
        say(f"In its plan: {made.carried} {actions} still open in earlier plans.")
    say("1. Open it in a text editor, write under the lines that hold the figures, and save it.")
    say(f"2. Write the report: feeding-audit report {made.period} --folder {shlex.quote(str(folder))}")


def reported(made: Reported, seconds: float | None) -> None:
    """What a report made, the headline figures, what makes them doubtful, what needs the lead's attention."""
    outcome = made.outcome
    everyone = [(measure, outcome.lookup.everyone(measure.name, outcome.period)) for measure in outcome.measures]
    took = "" if seconds is None else f", made in {seconds:.1f} seconds"
    say(f"Report for {long_label(outcome.period)}, as known on {day_label(outcome.cut_off)}{took}:")
    for name in made.settings.at_a_glance[:3]:
        measure, result = next(pair for pair in everyone if pair[0].name == name)
        enough = verdicts.known_enough(measure, result, made.settings)
        say_wrapped(
            ". ".join(filter(None, [f"{measure.title}: {sentences.figure(measure, result, 'cases')}", enough])) + "."
        )
    if made.doubts:
        say("Before you rely on the figures (technical.html says more):")
        for text in made.doubts:
            say_wrapped(f"- {text}.")
    if made.attention:
        say("Needs your attention:")
        for text in made.attention[:ATTENTION]:
            say_wrapped(f"- {text}.")
        if len(made.attention) > ATTENTION:
            say_wrapped(f"and {len(made.attention) - ATTENTION} more: read on in {made.page.name}.")
    so_far = [measure.title for measure, result in everyone if result and not result.complete]
    if so_far:
        say_wrapped(f"So far (the days they watch had not passed for everyone): {'; '.join(so_far)}.")
    say_wrapped(f"Written to {made.page.parent}: {', '.join(path.name for path in made.files)}.")
    say(f"Open this page: {made.page.resolve()}")


def charts_written(files: Sequence[Path]) -> None:
    """Which charts were written, and where."""
    counted = "1 chart" if len(files) == 1 else f"{len(files)} charts"
    say_wrapped(f"Written to {files[0].parent}: {counted}: {', '.join(path.name for path in files)}.")
    say("They stay inside the service: numbers are small.")


def due_listed(made: DueListed) -> None:
    """How many may be asked, and what has to be known before anyone is rung."""
    due = made.due
    say(f"Six-week questions due from {day_label(due.on)}, looking {due.days} days ahead:")
    for text in due_page.warnings(due):
        say_wrapped(f"LOOK AT THIS: {text}.")
    say_wrapped(f"{due_page.nobody(due) or due_page.how_many(due)}.")
    if due.held_back:
        say_wrapped(f"{len(due.held_back)} to look at in the record first, and not to contact from the list.")
    say_wrapped(f"In the 28 days before, {due.closed_unanswered} closed without an answer on record here.")
    say("Check the record before you ring: a death since the export was drawn is not known here.")
    say_wrapped(f"Written to {made.files[0].parent}: {', '.join(path.name for path in made.files)}.")
    say(f"Open this page: {made.files[0].resolve()}")


def made_for_one(made: MadeForOne) -> None:
    """Whom a practitioner edition is for, and what is in it."""
    content = made.content
    counted = content.counted
    listed = len({case.case_ref for reason in content.reasons for case in reason.cases})
    say(f"Practitioner edition for {long_label(content.period)}, as known on {day_label(content.cut_off)}:")
    say_wrapped(
        f"{counted.code}: cases first seen that they lead: {counted.first_seen}; divisions with them as operator: "
        f"{counted.divisions}; own cases to look at again: {listed}."
    )
    say_wrapped("For this practitioner and their supervisor only. It lists cases: do not e-mail it.")
    say(f"Open this page: {made.page.resolve()}")
