"""Commands that make something to read, or to write in: new-quarter, report, due, practitioner, trace."""

from __future__ import annotations

import sys
import time
from datetime import date
from pathlib import Path

import click

from pipeline.console.options import FOLDER, day


@click.command(name="new-quarter")
@click.argument("period", required=False)
@FOLDER
def new_quarter(period: str | None, folder: Path) -> None:
    """Lay the file for the lead's own words on PERIOD: headings, figures to comment on, action plan.

    PERIOD is a quarter, such as 2026Q3, or a year, such as 2026-27. Without it it is the latest quarter that had ended
    by the cut-off. Actions still open in the files of earlier periods are carried in. A file that is there is
    never written over.

    \b
    Example:
      feeding-audit new-quarter 2026Q2 --folder my-audit
    """
    from pipeline import run
    from pipeline.console import page_messages
    from pipeline.progress import Progress

    with Progress(sys.stderr) as progress:
        laid = run.new_quarter(folder, period, progress)
    page_messages.laid(laid, folder)


@click.command()
@click.argument("period", required=False)
@click.option(
    "--as-loaded",
    type=click.IntRange(min=1),
    metavar="EVENT",
    help="As the store stood at that event, with the settings and commentary of then (feeding-audit loads lists them).",
)
@click.option("--pdf", "as_pdf", is_flag=True, help="The service edition as a PDF document too (needs an extra part).")
@click.option(
    "--by-practitioner",
    is_flag=True,
    help="Figures by practitioner too, in files of their own, for whoever answers for the service.",
)
@FOLDER
def report(period: str | None, as_loaded: int | None, as_pdf: bool, by_practitioner: bool, folder: Path) -> None:
    """Write the report of PERIOD: the service edition, what lies beside it, and the result files.

    PERIOD is a quarter, such as 2026Q3, or a year, such as 2026-27. Without it it is the latest quarter that had ended
    by the cut-off. With --as-loaded the report is made again as it was, in a folder of its own beside the current one.

    \b
    Examples:
      feeding-audit report --folder my-audit
      feeding-audit report 2026Q2 --folder my-audit
      feeding-audit report 2025-26 --folder my-audit
      feeding-audit report --pdf --folder my-audit
      feeding-audit report --by-practitioner --folder my-audit
      feeding-audit report 2026Q3 --as-loaded 1 --folder my-audit
    """
    from pipeline import run
    from pipeline.console import page_messages
    from pipeline.progress import Progress

    began = time.perf_counter()
    with Progress(sys.stderr) as progress:
        made = run.report(folder, period, as_loaded, as_pdf=as_pdf, practitioners=by_practitioner, progress=progress)
    page_messages.reported(made, time.perf_counter() - began)


@click.command()
@click.argument("period", required=False)
@click.option(
    "--as",
    "form",
    type=click.Choice(["svg", "png"]),
    default="svg",
    show_default=True,
    help="What the files are; png needs an extra part.",
)
@click.option("--chart", "chosen", metavar="NAME", multiple=True, help="This chart only; may be given several times.")
@click.option(
    "--out",
    type=click.Path(file_okay=False, path_type=Path),
    help="The folder to write them into. [default: charts, beside the edition]",
)
@FOLDER
def charts(period: str | None, form: str, chosen: tuple[str, ...], out: Path | None, folder: Path) -> None:
    """Write the charts of the service edition of PERIOD as files, one a chart, for slides.

    Each carries its title, its key, the day the data go up to, and that it stays inside the service. A file is named
    by the period and the measure; a name that is not there is answered with those that are. PERIOD is a quarter or a
    year; without it it is the latest quarter that had ended by the cut-off.

    \b
    Examples:
      feeding-audit charts --folder my-audit
      feeding-audit charts 2026Q3 --chart flow --chart seen_promptly --out slides --folder my-audit
      feeding-audit charts 2026Q3 --as png --folder my-audit
    """
    from pipeline import run
    from pipeline.console import page_messages
    from pipeline.progress import Progress

    with Progress(sys.stderr) as progress:
        made = run.charts(folder, period, form=form, chosen=chosen, place=out, progress=progress)
    page_messages.charts_written(made)


@click.command()
@click.option(
    "--days",
    type=click.IntRange(0, 84),
    default=14,
    show_default=True,
    metavar="N",
    help="How many days to look ahead.",
)
@click.option("--on", metavar="YYYY-MM-DD", help="The day to count from. [default: today]")
@FOLDER
def due(days: int, on: str | None, folder: Path) -> None:
    """List whose six-week question can be asked in the coming days, oldest first, as due/due.html and due/due.csv.

    Those breastfed at first contact and first seen younger than 28 days, without an answer from 35 to 56 days of age.
    Nobody known to have died or moved is listed, and whoever the store does not know well enough is held back. Check
    the record before you ring all the same: the list knows nothing that happened after the export was drawn.

    \b
    Examples:
      feeding-audit due --folder my-audit
      feeding-audit due --days 7 --folder my-audit
      feeding-audit due --on 2026-10-12 --folder my-audit
    """
    from pipeline.console import page_messages
    from pipeline.runs import run_due

    page_messages.due_listed(run_due.due(folder, day("--on", on) or date.today(), days))


@click.command()
@click.argument("code")
@click.argument("period", required=False)
@FOLDER
def practitioner(code: str, period: str | None, folder: Path) -> None:
    """Write the practitioner edition of CODE for PERIOD: the own caseload beside the rest of the service.

    For that practitioner and their supervisor only; it never shows another practitioner. It lists cases of the
    practitioner's own to look at again, so hand it over, do not e-mail it. PERIOD is a quarter or a year;
    without it it is the latest quarter that had ended by the cut-off.

    \b
    Examples:
      feeding-audit practitioner P01 --folder my-audit
      feeding-audit practitioner P01 2026Q2 --folder my-audit
    """
    from pipeline import run
    from pipeline.console import page_messages
    from pipeline.progress import Progress

    with Progress(sys.stderr) as progress:
        made = run.practitioner(folder, code, period, progress)
    page_messages.made_for_one(made)


@click.command()
@click.argument("figure", metavar="MEASURE")
@click.argument("period")
@click.option("--breakdown", metavar="NAME", help="Of one group only: what the figure is broken down by.")
@click.option("--level", metavar="NAME", help="Which level of the breakdown, as results.csv writes it.")
@FOLDER
def trace(figure: str, period: str, breakdown: str | None, level: str | None, folder: Path) -> None:
    """Follow a figure to the lines of the exports: its cases, their answers, the dates, file and line of every row.

    MEASURE is a measure, a group counted apart from one (the names of sql/apart), or everyone: the flow, whose
    breakdowns are route and six_weeks. What is printed holds case references: keep it to yourself.

    \b
    Examples:
      feeding-audit trace breastfed_at_6_weeks 2026Q3 --folder my-audit
      feeding-audit trace seen_promptly 2026Q3 --breakdown sex --level female --folder my-audit
      feeding-audit trace everyone 2026Q3 --breakdown route --level divided --folder my-audit
    """
    from pipeline import run
    from pipeline.console import trace_messages
    from pipeline.progress import Progress

    with Progress(sys.stderr) as progress:
        made = run.trace(folder, figure, period, breakdown, level, progress)
    trace_messages.followed(made)
