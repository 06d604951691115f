"""What is said of the pages that were made.

Comes in: what the spine gave back. Goes out: lines on standard output. Refuses nothing.
"""

from __future__ import annotations

import click

from pipeline.done import MadeForOne, Reported
from pipeline.report import lookup, sentences
from pipeline.report.dates import day_label, long_label
from pipeline.saying.lines import wrapped


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


def made_for_one(made: MadeForOne) -> None:
    """Whom a practitioner edition is for, and what is in it."""
    content = made.content
    counted = content.counted
    listed = len({case.case_ref for reason in content.reasons for case in reason.cases})
    click.echo(f"Practitioner edition for {content.quarter}, cut-off {content.cut_off}:")
    click.echo(
        wrapped(
            f"{counted.code}: cases first seen that they lead: {counted.first_seen}; procedures with them as operator: "
            f"{counted.procedures}; own cases to look at again: {listed}."
        )
    )
    click.echo(wrapped("For this practitioner and their supervisor only. It lists cases: do not e-mail it."))
    click.echo(f"Open this page: {made.page.resolve()}")
