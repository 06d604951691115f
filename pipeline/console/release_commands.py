"""Commands about what leaves the service: publish, published, record-release."""

from __future__ import annotations

import sys
import time
from pathlib import Path

import click

from pipeline.console.options import FOLDER


@click.command()
@click.argument("period")
@click.option("--approved-by", default="", metavar="ROLE", help="Who approved it, by role. Needed to publish; printed.")
@click.option("--dry-run", is_flag=True, help="Say what would be withheld and what that costs; write nothing.")
@FOLDER
def publish(period: str, approved_by: str, dry_run: bool, folder: Path) -> None:
    """Publish the report of PERIOD, a year such as 2025-26, for commissioners and the public: published/PERIOD.

    Small numbers are withheld, and whatever would give one away, by this report or together with any before it. What
    is shown is proved safe before anything is written. A release is never made again: what is printed stays as it is,
    and what is recorded later of its days is in no release. A quarter can be published only where audit.toml says so.

    \b
    Examples:
      feeding-audit publish 2025-26 --dry-run --folder my-audit
      feeding-audit publish 2025-26 --approved-by "head of infant feeding" --folder my-audit
    """
    from pipeline.console import release_messages
    from pipeline.progress import Progress
    from pipeline.runs import run_publish

    began = time.perf_counter()
    with Progress(sys.stderr) as progress:
        made = run_publish.publish(folder, period, approved_by, dry_run=dry_run, progress=progress)
    release_messages.published(made, time.perf_counter() - began)


@click.command()
@click.option("--verify", is_flag=True, help="Go through every release again: chain, files, decoys, and the attack.")
@FOLDER
def published(verify: bool, folder: Path) -> None:
    """List every release, and what else went out. With --verify each is checked again from what the ledger keeps.

    \b
    Examples:
      feeding-audit published --folder my-audit
      feeding-audit published --verify --folder my-audit
    """
    from pipeline.console import release_messages
    from pipeline.runs import run_publish

    if verify:
        release_messages.verified(run_publish.verify(folder))
    else:
        release_messages.listed(run_publish.published(folder))


@click.command(name="record-release")
@click.argument("file", type=click.Path(dir_okay=False, path_type=Path))
@click.option("--what", required=True, metavar="TEXT", help="How they went out: an answer to a request, slides.")
@click.option("--approved-by", default="", metavar="ROLE", help="Who gave them out, by role.")
@FOLDER
def record_release(file: Path, what: str, approved_by: str, folder: Path) -> None:
    """Enter figures that went out another way, so that later releases respect them. It cannot be undone.

    FILE is a CSV with the columns of figures.csv that say what is counted, and the value: period, table, name,
    breakdown, level, count, value. Enter every number that somebody outside was given. If a neighbour's figure and a
    total of both went out, enter the difference: it is yours.

    \b
    Example:
      feeding-audit record-release given-out.csv --what "answer to a request" --folder my-audit
    """
    from pipeline.console import release_messages
    from pipeline.runs import run_publish

    release_messages.recorded(run_publish.record(folder, file, what, approved_by))
