"""Commands about exports and the store: anonymise, suggest, check, load, loads, withdraw, erase."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from pipeline.console.options import ENCODING, EXTRACTED_ON, FOLDER, MAPPING, day
from pipeline.console.terminal import ask
from pipeline.plain_text import number_of


@click.command()
@click.argument("workbook", type=click.Path(path_type=Path))
@click.option("--out", type=click.Path(dir_okay=False, path_type=Path), required=True, help="The workbook to write.")
@click.option("--record-number", metavar="COLUMN", multiple=True, help="The column that tells the babies apart.")
@click.option("--birth-date", metavar="COLUMN", help="The column with the birth date; it becomes the age in days.")
@click.option("--first-contact", metavar="COLUMN", help="The column with the day of first contact; it stays.")
@click.option("--code", metavar="COLUMN", multiple=True, help="A column whose names become codes, such as staff.")
@click.option("--leave-out", metavar="COLUMN", multiple=True, help="A column to leave out besides.")
@click.option("--keep", metavar="COLUMN", multiple=True, help="A column that looks like identifiers and is none.")
@click.option("--day-first/--month-first", default=None, help="How dates like 3/4/2026 are meant, if asked.")
@click.option("--yes", is_flag=True, help="Do not ask whether to go ahead.")
@ENCODING
@FOLDER
def anonymise(
    workbook: Path,
    out: Path,
    record_number: tuple[str, ...],
    birth_date: str | None,
    first_contact: str | None,
    code: tuple[str, ...],
    leave_out: tuple[str, ...],
    keep: tuple[str, ...],
    day_first: bool | None,
    yes: bool,
    encoding: str | None,
    folder: Path,
) -> None:
    """Make an export of WORKBOOK, the service's own with names in it: without what names anyone.

    It says what becomes of every column, and asks. Record numbers become pseudonyms by a key that lies in the audit
    folder, so that a baby keeps its own from quarter to quarter. Nothing is written but the new workbook and that key.

    \b
    Example:
      feeding-audit anonymise own.xlsx --out anonymised.xlsx --record-number "Hospital no" --folder my-audit
    """
    from pipeline.console import anonymise_messages as saying
    from pipeline.intake.anonymise.column_plan import Asked
    from pipeline.runs import run_anonymise

    asked = Asked(record_number, birth_date, first_contact, code, leave_out, keep, day_first)
    plan = run_anonymise.planned(folder, workbook, asked, encoding)
    saying.planned(plan)
    if not yes:
        ask("Write the workbook so")
    saying.anonymised(run_anonymise.anonymise(folder, plan, out))


@click.command()
@click.argument("export", type=click.Path(path_type=Path))
@click.option("--as", "name", metavar="NAME", help="What to call the mapping. [default: the export's own name]")
@ENCODING
@FOLDER
def suggest(export: Path, name: str | None, encoding: str | None, folder: Path) -> None:
    """Write a first mapping for EXPORT, whose columns and codes are the service's own, into mappings/.

    Each line says whether it is sure, likely, or asks you to decide. Nothing of the export is stored.

    \b
    Example:
      feeding-audit suggest caseload.xlsx --folder my-audit
    """
    from pipeline import run
    from pipeline.console import export_messages as saying

    saying.suggested(run.suggest(folder, export, name, encoding), export, folder)


@click.command()
@click.argument("export", type=click.Path(path_type=Path))
@EXTRACTED_ON
@MAPPING
@ENCODING
@click.option(
    "--to-mend", type=click.Path(dir_okay=False, path_type=Path), help="Where to write a workbook to mend by."
)
@FOLDER
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
    from pipeline import run
    from pipeline.console import export_messages as saying
    from pipeline.progress import Progress

    with Progress(sys.stderr) as progress:
        examined = run.check(
            folder,
            export,
            day("--extracted-on", extracted_on),
            mapping=mapping,
            encoding=encoding,
            to_mend=to_mend,
            progress=progress,
        )
    saying.checked(examined, to_mend)
    if examined.held_back:
        sys.exit(1)


@click.command()
@click.argument("export", type=click.Path(path_type=Path))
@EXTRACTED_ON
@MAPPING
@ENCODING
@click.option(
    "--accept-anyway", metavar="REASON", help="Load an export that looks wrong as a whole; the reason is kept with it."
)
@click.option("--confirm-new", is_flag=True, help="What the load before showed as new names nobody.")
@FOLDER
def load(
    export: Path,
    extracted_on: str | None,
    mapping: str | None,
    encoding: str | None,
    accept_anyway: str | None,
    confirm_new: bool,
    folder: Path,
) -> None:
    """Read and check EXPORT, and add it to the audit folder's store.

    EXPORT is a folder or zip of CSV or Parquet files, a workbook (.xlsx), or one file; in the export layout, or read
    through a mapping. Every line is accepted, set aside with a reason, or a repeat; the lists are written to loads/.
    New sites, practitioners, destinations and patterns of references are shown first; --confirm-new takes them.

    \b
    Examples:
      feeding-audit load my-export --extracted-on 2026-10-12 --folder my-audit
      feeding-audit load my-export --extracted-on 2026-10-12 --folder my-audit --confirm-new
      feeding-audit load my-export --accept-anyway "two clinics have closed" --folder my-audit
    """
    from pipeline import run
    from pipeline.console import export_messages as saying
    from pipeline.progress import Progress

    with Progress(sys.stderr) as progress:
        loaded = run.load(
            folder,
            export,
            day("--extracted-on", extracted_on),
            mapping=mapping,
            encoding=encoding,
            accept_anyway=accept_anyway or "",
            confirm_new=confirm_new,
            progress=progress,
        )
    saying.loaded(loaded)


@click.command()
@FOLDER
def loads(folder: Path) -> None:
    """List everything that happened to the store: loads, withdrawals, erasures, and what became of each.

    \b
    Example:
      feeding-audit loads --folder my-audit
    """
    from pipeline.console import export_messages as saying
    from pipeline.runs import run_store

    saying.happened(run_store.loads(folder))


@click.command()
@click.argument("load", type=click.IntRange(min=1))
@click.option("--reason", default="", help="Why, in a few words; kept with the withdrawal.")
@FOLDER
def withdraw(load: int, reason: str, folder: Path) -> None:
    """Let load number LOAD count no more; what it replaced counts again.

    Nothing is deleted. To undo it, load the same files again.

    \b
    Example:
      feeding-audit withdraw 1 --reason "the wrong clinic's export" --folder my-audit
    """
    from pipeline.console import export_messages as saying
    from pipeline.runs import run_store

    saying.withdrawn(run_store.withdraw(folder, load, reason))


@click.command()
@click.argument("case_ref", metavar="CASE")
@click.option("--yes", is_flag=True, help="Do not ask whether to go ahead.")
@FOLDER
def erase(case_ref: str, yes: bool, folder: Path) -> None:
    """Erase the case with the case_ref CASE: from every load, the history, and the lists in loads/.

    It cannot be undone. What stays is an event that says that a case was erased, without its reference. Erase the
    record itself at its source too, or the next export brings it back.

    \b
    Example:
      feeding-audit erase knv8479n --yes --folder my-audit
    """
    from pipeline.console import export_messages as saying
    from pipeline.runs import run_store

    if not yes:
        held = run_store.held_of(folder, case_ref)
        listed = ", ".join(map(str, held.loads))
        what = f"{number_of(held.rows, 'row')} and {number_of(held.findings, 'finding')} of load {listed}"
        ask(f"Erase case {case_ref}: {what}? It cannot be undone")
    saying.erased(run_store.erase(folder, case_ref))
