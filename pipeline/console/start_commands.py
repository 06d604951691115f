"""Commands to begin with, and to look things up: demo, new, measures, layout."""

from __future__ import annotations

import shlex
import sys
from pathlib import Path

import click

from pipeline.console.terminal import say


@click.command()
@click.option(
    "--out",
    type=click.Path(file_okay=False, path_type=Path),
    default=Path("feeding-audit-demo"),
    show_default=True,
    help="The audit folder to make.",
)
def demo(out: Path) -> None:
    """Make an audit folder for an invented service, load its export and write its report.

    \b
    Example:
      feeding-audit demo --out demo-audit
    """
    from pipeline import run
    from pipeline.console import export_messages, page_messages
    from pipeline.progress import Progress

    with Progress(sys.stderr) as progress:
        loads = run.demo(out, progress)
    for loaded in loads:
        export_messages.loaded(loaded)
        say()
    try:
        with Progress(sys.stderr) as progress:
            made = run.report(out, progress=progress)
    except Exception:
        again = f"feeding-audit report --folder {shlex.quote(str(out))}"
        say(f"The loads stand; only the report was not made. To make it: {again}", error=True)
        raise
    page_messages.reported(made, None)


@click.command()
@click.argument("folder", type=click.Path(file_okay=False, path_type=Path))
def new(folder: Path) -> None:
    """Make FOLDER an audit folder: settings to fill in, places for mappings and commentary.

    \b
    Example:
      feeding-audit new my-audit
    """
    from pipeline import run

    settings = run.new(folder)
    say(f"Made the audit folder {folder}.")
    say(f"1. Open {settings} and fill in the name of the service.")
    quoted = shlex.quote(str(folder))
    say(f"2. A spreadsheet of your own needs a mapping: feeding-audit suggest EXPORT --folder {quoted}")
    say(f"3. Load an export:                            feeding-audit load EXPORT --folder {quoted}")
    say(f"4. Write the report:                          feeding-audit report --folder {quoted}")


@click.command()
@click.argument("name", required=False)
def measures(name: str | None) -> None:
    """List the measures, or say how the measure NAME is defined.

    \b
    Examples:
      feeding-audit measures
      feeding-audit measures breastfed_at_6_weeks
    """
    from pipeline.console import reference_messages

    reference_messages.measures(name)


@click.command()
def layout() -> None:
    """Print the export layout: the tables, their columns, and what may stand in them.

    \b
    Example:
      feeding-audit layout
    """
    from pipeline.console import reference_messages

    reference_messages.layout()
