"""What is said of the pages that were made.

Comes in: what the spine gave back. Goes out: lines on standard output. Refuses nothing.
"""

from __future__ import annotations

import shlex
from pathlib import Path

import click

from pipeline.commentary.laying import Laid
from pipeline.done import Reported
from pipeline.report import lookup, sentences
from pipeline.report.dates import day_label, long_label
from pipeline.saying.lines import wrapped


def laid(made: Laid, folder: Path) -> None:
    """What was laid to write in, and how to go on."""
    click.echo(f"Laid the file for the lead's words on {long_label(made.quarter)}: {made.path}")
    if made.carried:
        actions = "action was" if made.carried == 1 else "actions were"
        click.echo(f"In its plan: {made.carried} {actions} still open a quarter before.")
    click.echo("1. Open it in a text editor, write under the lines that hold the figures, and save it.")
    click.echo(f"2. Write the report: feeding-audit report {made.quarter} --folder {shlex.quote(str(folder))}")


def reported(made: Reported, seconds: float | None) -> None:
    """What a report made, the headline figures, what needs the lead's attention."""
    outcome = made.outcome
    found = lookup.read(outcome.results, outcome.waits)
    everyone = [(measure, found.everyone(measure.name, outcome.quarter)) for measure in outcome.measures]
    took = "" if seconds is None else f", made in {seconds:.1f} seconds"
    click.echo(f"Report for {long_label(outcome.quarter)}, as known on {day_label(outcome.cut_off)}{took}:")
    for name in made.settings.at_a_glance[:3]:
        measure, result = next(each for each in everyone if each[0].name == name)
        click.echo(wrapped(f"{measure.title}: {sentences.figure(measure, result, 'cases')}."))
    if made.attention:
        click.echo("Needs your attention:")
        for text in made.attention:
            click.echo(wrapped(f"- {text}."))
    so_far = [measure.title for measure, result in everyone if result and not result.complete]
    if so_far:
        click.echo(wrapped(f"So far (the days they watch had not passed for everyone): {'; '.join(so_far)}."))
    click.echo(wrapped(f"Written to {made.page.parent}: {', '.join(path.name for path in made.files)}."))
    click.echo(f"Open this page: {made.page.resolve()}")
