"""Commands that make something to read, or to write in: new-quarter, report."""

from __future__ import annotations

import sys
import time
from pathlib import Path

import click

from pipeline.commands.options import FOLDER


@click.command(name="new-quarter")
@click.argument("quarter", required=False)
@FOLDER
def new_quarter(quarter: str | None, folder: Path) -> None:
    """Lay the file for the lead's own words on QUARTER, such as 2026Q3: headings, figures to comment on, action plan.

    Without QUARTER it is the latest quarter that had ended by the cut-off. Actions still open in the file of the
    quarter before are carried in. A file that is there is never written over.

    \b
    Example:
      feeding-audit new-quarter 2026Q2 --folder my-audit
    """
    from pipeline import run
    from pipeline.progress import Progress
    from pipeline.saying import pages

    with Progress(sys.stderr) as progress:
        laid = run.new_quarter(folder, quarter, progress)
    pages.laid(laid, folder)


@click.command()
@click.argument("quarter", required=False)
@click.option(
    "--as-loaded",
    type=click.IntRange(min=1),
    metavar="EVENT",
    help="As the store stood at that event, with the settings and commentary of then (feeding-audit loads lists them).",
)
@click.option("--pdf", "as_pdf", is_flag=True, help="The service edition as a PDF document too (needs an extra part).")
@FOLDER
def report(quarter: str | None, as_loaded: int | None, as_pdf: bool, folder: Path) -> None:
    """Write the report of QUARTER, such as 2026Q3: the service edition, what lies beside it, and the result files.

    Without QUARTER it is the latest quarter that had ended by the cut-off. With --as-loaded the report is made again as
    it was, in a folder of its own beside the current one.

    \b
    Examples:
      feeding-audit report --folder my-audit
      feeding-audit report 2026Q2 --folder my-audit
      feeding-audit report --pdf --folder my-audit
      feeding-audit report 2026Q3 --as-loaded 1 --folder my-audit
    """
    from pipeline import run
    from pipeline.progress import Progress
    from pipeline.saying import pages

    began = time.perf_counter()
    with Progress(sys.stderr) as progress:
        made = run.report(folder, quarter, as_loaded, as_pdf=as_pdf, progress=progress)
    pages.reported(made, time.perf_counter() - began)
