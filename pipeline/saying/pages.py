"""What is said of the pages that were made.

Comes in: what the spine gave back. Goes out: lines on standard output. Refuses nothing.
"""

from __future__ import annotations

import click

from pipeline.done import MadeForOne, Reported
from pipeline.report import lookup, sentences
from pipeline.saying.lines import wrapped


def reported(made: Reported) -> None:
    """What a report made."""
    outcome = made.outcome
    found = lookup.read(outcome.results, outcome.waits)
    everyone = [(measure, found.everyone(measure.name, outcome.quarter)) for measure in outcome.measures]
    click.echo(f"Report for {outcome.quarter}, cut-off {outcome.cut_off}:")
    for text in made.said:
        click.echo(wrapped(f"LOOK AT THIS: {text}."))
    for name in made.settings.at_a_glance[:3]:
        measure, result = next(each for each in everyone if each[0].name == name)
        click.echo(wrapped(f"{measure.title}: {sentences.figure(measure, result, 'cases')}."))
    complete = [measure.title for measure, result in everyone if result and result.complete]
    so_far = [measure.title for measure, result in everyone if result and not result.complete]
    click.echo(wrapped(f"Complete: {'; '.join(complete) or 'none'}."))
    if so_far:
        click.echo(wrapped(f"So far (the days they watch had not passed for everyone): {'; '.join(so_far)}."))
    click.echo(f"The figures: {made.page.parent / 'results.csv'} and {made.page.parent / 'waits.csv'}")
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
