"""The command line: parse, call the spine, print. Heavy imports wait inside the commands, so that --help is quick.

Refuses to show a traceback for what a person can mend: such an error is printed and the exit code is 1.
"""

from __future__ import annotations

import shlex
import sys
from datetime import date
from pathlib import Path

import click

from pipeline import __version__

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
    except Exception as error:
        said = _trouble_with_the_file(error)
        if said is None:
            raise
        click.echo(f"Not done: {said}", err=True)
        click.echo("  to do:   see that the disk has room; if the store is damaged, put back a copy", err=True)
        sys.exit(1)


def _trouble_with_the_file(error: Exception) -> str | None:
    """What DuckDB says of a disk or file that failed it; None for anything else, which is a defect of the program."""
    if not type(error).__module__.endswith("duckdb"):
        return None
    import duckdb

    file_or_disk = (
        duckdb.IOException,
        duckdb.FatalException,
        duckdb.SerializationException,
        duckdb.OutOfMemoryException,
    )
    return str(error).split("\n")[0] if isinstance(error, file_or_disk) else None


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
    from pipeline import run, saying
    from pipeline.progress import Progress

    with Progress(sys.stderr) as progress:
        loads, made = run.demo(out, progress)
    for each in loads:
        saying.loaded(each)
        click.echo()
    saying.reported(made)


@commands.command()
@click.argument("folder", type=click.Path(file_okay=False, path_type=Path))
def new(folder: Path) -> None:
    """Make FOLDER an audit folder: settings to fill in, places for mappings and commentary.

    \b
    Example:
      feeding-audit new my-audit
    """
    from pipeline import run

    settings = run.new(folder)
    click.echo(f"Made the audit folder {folder}.")
    click.echo(f"1. Open {settings} and fill in the name of the service.")
    quoted = shlex.quote(str(folder))
    click.echo(f"2. A spreadsheet of your own needs a mapping: feeding-audit suggest EXPORT --folder {quoted}")
    click.echo(f"3. Load an export:                            feeding-audit load EXPORT --folder {quoted}")
    click.echo(f"4. Write the report:                          feeding-audit report --folder {quoted}")


_EXTRACTED_ON = click.option(
    "--extracted-on",
    metavar="YYYY-MM-DD",
    help="The cut-off: the day the export was drawn, if its datapackage.json does not say.",
)
_MAPPING = click.option(
    "--mapping", metavar="NAME", help="The mapping to read it through, if several in mappings/ fit it."
)
_ENCODING = click.option(
    "--encoding", metavar="NAME", help="How its text is encoded, such as windows-1252, if it is not found out rightly."
)


@commands.command()
@click.argument("export", type=click.Path(path_type=Path))
@click.option("--as", "name", metavar="NAME", help="What to call the mapping. [default: the export's own name]")
@_ENCODING
@_FOLDER
def suggest(export: Path, name: str | None, encoding: str | None, folder: Path) -> None:
    """Write a first mapping for EXPORT, whose columns and codes are the service's own, into mappings/.

    Each line says whether it is sure, likely, or asks you to decide. Nothing of the export is stored.

    \b
    Example:
      feeding-audit suggest caseload.xlsx --folder my-audit
    """
    from pipeline import run, saying

    saying.suggested(run.suggest(folder, export, name, encoding), export, folder)


@commands.command()
@click.argument("export", type=click.Path(path_type=Path))
@_EXTRACTED_ON
@_MAPPING
@_ENCODING
@click.option(
    "--to-mend", type=click.Path(dir_okay=False, path_type=Path), help="Where to write a workbook to mend by."
)
@_FOLDER
def check(
    export: Path,
    extracted_on: str | None,
    mapping: str | None,
    encoding: str | None,
    to_mend: Path | None,
    folder: Path,
) -> None:
    """Say all that load would say of EXPORT, and store nothing.

    \b
    Example:
      feeding-audit check my-export --extracted-on 2026-10-12 --folder my-audit
    """
    from pipeline import run, saying
    from pipeline.progress import Progress

    with Progress(sys.stderr) as progress:
        judged = run.check(
            folder, export, _day(extracted_on), mapping=mapping, encoding=encoding, to_mend=to_mend, progress=progress
        )
    saying.checked(judged, to_mend)
    if judged.doubts:
        sys.exit(1)


@commands.command()
@click.argument("export", type=click.Path(path_type=Path))
@_EXTRACTED_ON
@_MAPPING
@_ENCODING
@click.option(
    "--accept-anyway", metavar="REASON", help="Load an export that looks wrong as a whole; the reason is kept with it."
)
@_FOLDER
def load(
    export: Path,
    extracted_on: str | None,
    mapping: str | None,
    encoding: str | None,
    accept_anyway: str | None,
    folder: Path,
) -> None:
    """Read and check EXPORT, and add it to the audit folder's store.

    EXPORT is a folder or zip of CSV or Parquet files, a workbook (.xlsx), or one file; in the export layout, or read
    through a mapping. Every line is accepted, set aside with a reason, or a repeat; the lists are written to loads/.

    \b
    Examples:
      feeding-audit load my-export --extracted-on 2026-10-12 --folder my-audit
      feeding-audit load my-export --accept-anyway "two clinics have closed" --folder my-audit
    """
    from pipeline import run, saying
    from pipeline.progress import Progress

    with Progress(sys.stderr) as progress:
        loaded = run.load(
            folder,
            export,
            _day(extracted_on),
            mapping=mapping,
            encoding=encoding,
            accept_anyway=accept_anyway or "",
            progress=progress,
        )
    saying.loaded(loaded)


@commands.command()
@click.argument("quarter", required=False)
@click.option(
    "--as-loaded",
    type=click.IntRange(min=1),
    metavar="EVENT",
    help="As the store stood at that event, with the settings and commentary of then (feeding-audit loads lists them).",
)
@_FOLDER
def report(quarter: str | None, as_loaded: int | None, folder: Path) -> None:
    """Write the report of QUARTER, such as 2026Q3: the service edition, results.csv and waits.csv.

    Without QUARTER it is the latest quarter that had ended by the cut-off. With --as-loaded the report is made again as
    it was, in a folder of its own beside the current one.

    \b
    Examples:
      feeding-audit report --folder my-audit
      feeding-audit report 2026Q2 --folder my-audit
      feeding-audit report 2026Q3 --as-loaded 1 --folder my-audit
    """
    from pipeline import run, saying
    from pipeline.progress import Progress

    with Progress(sys.stderr) as progress:
        made = run.report(folder, quarter, as_loaded, progress)
    saying.reported(made)


@commands.command()
@_FOLDER
def loads(folder: Path) -> None:
    """List everything that happened to the store: loads, withdrawals, erasures, and what became of each.

    \b
    Example:
      feeding-audit loads --folder my-audit
    """
    from pipeline import run, saying

    saying.happened(run.loads(folder))


@commands.command()
@click.argument("load", type=click.IntRange(min=1))
@click.option("--reason", default="", help="Why, in a few words; kept with the withdrawal.")
@_FOLDER
def withdraw(load: int, reason: str, folder: Path) -> None:
    """Let load number LOAD count no more; what it replaced counts again.

    Nothing is deleted. To undo it, load the same files again.

    \b
    Example:
      feeding-audit withdraw 1 --reason "the wrong clinic's export" --folder my-audit
    """
    from pipeline import run, saying

    saying.withdrawn(run.withdraw(folder, load, reason))


@commands.command()
@click.argument("case_ref", metavar="CASE")
@click.option("--yes", is_flag=True, help="Do not ask whether to go ahead.")
@_FOLDER
def erase(case_ref: str, yes: bool, folder: Path) -> None:
    """Erase the case with the case_ref CASE: from every load, the history, and the lists in loads/.

    It cannot be undone. What stays is an event that says that a case was erased, without its reference. Erase the
    record itself at its source too, or the next export brings it back.

    \b
    Example:
      feeding-audit erase knv8479n --yes --folder my-audit
    """
    from pipeline import run, saying

    if not yes:
        held = run.held_of(folder, case_ref)
        listed = ", ".join(map(str, held.loads))
        what = f"{held.rows} rows and {held.findings} findings of load {listed}"
        click.confirm(f"Erase case {case_ref}: {what}? It cannot be undone", abort=True)
    saying.erased(run.erase(folder, case_ref))


@commands.command()
@click.argument("name", required=False)
def measures(name: str | None) -> None:
    """List the measures, or say how the measure NAME is defined.

    \b
    Examples:
      feeding-audit measures
      feeding-audit measures breastfed_at_6_weeks
    """
    from pipeline import describing

    describing.measures(name)


@commands.command()
def layout() -> None:
    """Print the export layout: the tables, their columns, and what may stand in them.

    \b
    Example:
      feeding-audit layout
    """
    from pipeline import describing

    describing.layout()


def _day(written: str | None) -> date | None:
    from pipeline.errors import Fault, Refused

    if written is None:
        return None
    try:
        if len(written) != 10:
            raise ValueError
        return date.fromisoformat(written)
    except ValueError:
        mend = "write it so: 12 October 2026 is 2026-10-12"
        raise Refused(Fault("--extracted-on", written, "a day written like 2026-10-12", mend)) from None
