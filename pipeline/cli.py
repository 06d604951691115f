"""The command line: parse, call the spine, print. Heavy imports wait inside the commands, so that --help is quick.

Refuses to show a traceback for what a person can mend: such an error is printed and the exit code is 1.
"""

from __future__ import annotations

import shlex
import sys
import textwrap
from pathlib import Path
from typing import TYPE_CHECKING

import click

from pipeline import __version__

if TYPE_CHECKING:
    from pipeline.run import Loaded, Reported

_FOLDER = click.option(
    "--folder",
    type=click.Path(file_okay=False, path_type=Path),
    default=Path(),
    help="The audit folder. [default: the folder you are in]",
)


def main() -> None:
    """The console command."""
    from pipeline.errors import Refused

    try:
        commands()
    except Refused as refused:
        count = len(refused.faults)
        click.echo(f"Not done: {count} thing{'s' if count > 1 else ''} to mend.\n{refused}", err=True)
        sys.exit(1)
    except OSError as error:
        where = error.filename or "the system"
        click.echo(f"Not done: {where}: {error.strerror or error}", err=True)
        click.echo("  to do:   see that you may read and write there, and that the disk has room", err=True)
        sys.exit(1)


@click.group(context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(__version__, prog_name="feeding-audit")
def commands() -> None:
    """From exports of an infant-feeding and tongue-tie service to a report of what happened to everyone.

    \b
    Try it on an invented service:
      feeding-audit demo
    \b
    On your own exports:
      feeding-audit new my-audit
      feeding-audit load my-export --folder my-audit
      feeding-audit report --folder my-audit
    """


@commands.command()
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

    loaded, reported = run.demo(out)
    _say_loaded(loaded)
    click.echo()
    _say_reported(reported)


@commands.command()
@click.argument("folder", type=click.Path(file_okay=False, path_type=Path))
def new(folder: Path) -> None:
    """Make FOLDER an audit folder: settings to fill in, and a place for commentary.

    \b
    Example:
      feeding-audit new my-audit
    """
    from pipeline import run

    settings = run.new(folder)
    click.echo(f"Made the audit folder {folder}.")
    click.echo(f"1. Open {settings} and fill in the name of the service.")
    quoted = shlex.quote(str(folder))
    click.echo(f"2. Load an export:   feeding-audit load EXPORT --folder {quoted}")
    click.echo(f"3. Write the report: feeding-audit report --folder {quoted}")


@commands.command()
@click.argument("export", type=click.Path(path_type=Path))
@click.option(
    "--extracted-on",
    type=click.DateTime(["%Y-%m-%d"]),
    metavar="YYYY-MM-DD",
    help="The cut-off: the day the export was drawn, if its datapackage.json does not say.",
)
@_FOLDER
def load(export: Path, extracted_on: object, folder: Path) -> None:
    """Read and check EXPORT, a folder of CSV files, and add it to the audit folder's store.

    Every line of every file is accepted, set aside with a reason, or a repeat; the lists are written to loads/.

    \b
    Example:
      feeding-audit load my-export --extracted-on 2026-10-12 --folder my-audit
    """
    from datetime import datetime

    from pipeline import run

    cut_off = extracted_on.date() if isinstance(extracted_on, datetime) else None
    _say_loaded(run.load(folder, export, cut_off))


@commands.command()
@click.argument("quarter", required=False)
@_FOLDER
def report(quarter: str | None, folder: Path) -> None:
    """Write the report of QUARTER, such as 2026Q3: the service edition, results.csv and waits.csv.

    Without QUARTER it is the latest quarter that had ended by the cut-off.

    \b
    Examples:
      feeding-audit report --folder my-audit
      feeding-audit report 2026Q2 --folder my-audit
    """
    from pipeline import run

    _say_reported(run.report(folder, quarter))


@commands.command()
@click.argument("name", required=False)
def measures(name: str | None) -> None:
    """List the measures, or say how the measure NAME is defined.

    \b
    Examples:
      feeding-audit measures
      feeding-audit measures breastfed_at_6_weeks
    """
    from pipeline.errors import Fault, Refused
    from pipeline.outcomes import contract
    from pipeline.places import REPORTS
    from pipeline.report import wording

    known = contract.measures()
    if name is None:
        words = wording.read(REPORTS / "wording.toml")
        order = {section.name: place for place, section in enumerate(words.sections)}
        sections = sorted({measure.section for measure in known}, key=lambda name: (order.get(name, len(order)), name))
        for section in sections:
            click.echo(words.section(section).title)
            for measure in (each for each in known if each.section == section):
                click.echo(f"  {measure.name:<36}{measure.title}")
        return
    chosen = next((measure for measure in known if measure.name == name), None)
    if chosen is None:
        names = ", ".join(measure.name for measure in known)
        raise Refused(Fault("NAME", name, names, "ask for one of those"))
    click.echo(f"{chosen.name}: {chosen.title}\n{_as_set(chosen.question)}\n")
    for label, text in (
        ("kind", chosen.kind.replace("_", " ")),
        ("eligible", chosen.eligible),
        ("met", chosen.met),
        ("unknown", chosen.unknown),
        ("counted", f"in the quarter of {chosen.counted_on}"),
        ("better", chosen.better),
        ("complete", f"{chosen.horizon} days after the quarter" if chosen.horizon else "at the end of the quarter"),
        ("source", chosen.source),
        ("file", f"sql/measures/{chosen.path.name}"),
    ):
        click.echo(textwrap.fill(_as_set(text), 96, initial_indent=f"{label:<10}", subsequent_indent=" " * 10))


@commands.command()
def layout() -> None:
    """Print the export layout: the tables, their columns, and what may stand in them.

    \b
    Example:
      feeding-audit layout
    """
    from pipeline.layout import tables

    click.echo(
        "An export is a folder of CSV files (UTF-8, commas), one a table. Nothing, or not_known, means not recorded."
    )
    for table in tables():
        click.echo(f"\n{table.name}.csv: {table.description}")
        for column in table.columns:
            mark = "*" if column.must else " "
            says = column.allowed.removesuffix("; it must be there").removesuffix(", or nothing")
            text = says if not column.description else f"{says} ({column.description})"
            click.echo(
                textwrap.fill(text, 108, initial_indent=f" {mark} {column.name:<26}", subsequent_indent=" " * 30)
            )
    click.echo("\n* must be there in every row")


def _as_set(text: str) -> str:
    """A measure's text where no audit folder says what its settings are."""
    from pipeline.settings import SETTINGS

    start = next(each.start for each in SETTINGS if each.key == "seen_promptly_days")
    return text.replace("{seen_promptly_days}", f"{start} (seen_promptly_days of audit.toml)")


def _say_loaded(loaded: Loaded) -> None:
    if not loaded.is_new:
        click.echo(f"These files are in the store already, as load {loaded.number}; nothing changed.")
        return
    click.echo(f"Load {loaded.number}, cut-off {loaded.cut_off}:")
    click.echo(
        f"  {'file':<22}{'lines':>8} = {'header':>6} + {'blank':>6} + {'accepted':>9} + {'set aside':>9} + "
        f"{'repeats':>7}"
    )
    for each in loaded.counts:
        click.echo(
            f"  {each.file:<22}{each.lines:>8} = {each.header:>6} + {each.blank:>6} + {each.accepted:>9} + "
            f"{each.set_aside:>9} + {each.repeats:>7}"
        )
    for remark in sorted(loaded.remarks, key=lambda each: not each.serious):
        click.echo(_wrapped(f"{'LOOK AT THIS: ' if remark.serious else ''}{remark.text}"))
    lines = sum(each.set_aside for each in loaded.counts)
    if lines or loaded.values_set_aside:
        click.echo(f"Set aside: {lines} lines, and {loaded.values_set_aside} single values of rows that were kept.")
        click.echo(f"Which, why, and how to mend them: {loaded.lists}/set_aside.csv")
    else:
        click.echo("Nothing was set aside.")


def _say_reported(reported: Reported) -> None:
    from pipeline.report import lookup, sentences

    outcome = reported.outcome
    found = lookup.read(outcome.results, outcome.waits)
    everyone = [(measure, found.everyone(measure.name, outcome.quarter)) for measure in outcome.measures]
    click.echo(f"Report for {outcome.quarter}, cut-off {outcome.cut_off}:")
    for name in reported.settings.at_a_glance[:3]:
        measure, result = next(each for each in everyone if each[0].name == name)
        click.echo(_wrapped(f"{measure.title}: {sentences.figure(measure, result, 'cases')}."))
    complete = [measure.title for measure, result in everyone if result and result.complete]
    so_far = [measure.title for measure, result in everyone if result and not result.complete]
    click.echo(_wrapped(f"Complete: {'; '.join(complete) or 'none'}."))
    if so_far:
        click.echo(_wrapped(f"So far (the days they watch had not passed for everyone): {'; '.join(so_far)}."))
    click.echo(f"The figures: {reported.page.parent / 'results.csv'} and {reported.page.parent / 'waits.csv'}")
    click.echo(f"Open this page: {reported.page.resolve()}")


def _wrapped(text: str) -> str:
    return textwrap.fill(text, 100, initial_indent="  ", subsequent_indent="    ")
