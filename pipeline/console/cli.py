"""The command line: which commands there are, and what is said where one cannot be done.

Refuses to show a traceback for what a person can mend: such an error is printed and the exit code is 1. A traceback
goes through the cleaner too, and without the words of DuckDB that may quote a row.
"""

from __future__ import annotations

import io
import sys
import traceback

import click

from pipeline import __version__
from pipeline.console import export_commands, page_commands, release_commands, start_commands
from pipeline.console.terminal import say


def main() -> None:
    """The console command."""
    from pipeline.errors import Refused

    try:
        commands(standalone_mode=False)  # click's own words of an error would print what was typed as it is
    except click.ClickException as error:
        written = io.StringIO()
        error.show(written)
        say(written.getvalue().rstrip("\n"), error=True)
        sys.exit(error.exit_code)
    except click.Abort:
        say("Aborted!", error=True)
        sys.exit(1)
    except Refused as refused:
        count = len(refused.faults)
        say(f"Not done{f': {count} things to mend' if count > 1 else ''}.\n{refused}", error=True)
        sys.exit(1)
    except OSError as error:
        where = error.filename or "the system"
        say(f"Not done: {where}: {error.strerror or error}", error=True)
        say("  to do:   see that you may read and write there, and that the disk has room", error=True)
        sys.exit(1)
    except MemoryError:
        say("Not done: it takes more memory than this machine has free", error=True)
        say("  to do:   export a shorter period, close other programs, or use a larger machine", error=True)
        sys.exit(1)
    except Exception as error:
        said = _trouble_with_the_file(error)
        if said is None:
            say(_traceback(error), error=True)
            sys.exit(1)
        say(f"Not done: {said}", error=True)
        say("  to do:   see that the disk has room; if the store is damaged, put back a copy", error=True)
        sys.exit(1)


def _trouble_with_the_file(error: Exception) -> str | None:
    """What DuckDB says of a disk or file that failed it; None for anything else, which is a defect of the program."""
    if not type(error).__module__.endswith("duckdb"):
        return None
    import duckdb

    from pipeline.errors import why_not_written

    file_or_disk = (
        duckdb.IOException,
        duckdb.FatalException,
        duckdb.SerializationException,
        duckdb.OutOfMemoryException,
    )
    return why_not_written(error) if isinstance(error, file_or_disk) else None


def _traceback(error: BaseException) -> str:
    """The traceback of a defect of the program, without what may be a value of a row."""
    from pipeline.contracts.sql_file import without_values

    written = "".join(traceback.format_exception(error)).rstrip("\n")
    cause: BaseException | None = error
    while cause is not None:
        written = written.replace(str(cause), without_values(cause)) if str(cause) else written
        cause = cause.__cause__ or cause.__context__
    return written


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
      feeding-audit load my-export --confirm-new --folder my-audit
      feeding-audit report --folder my-audit
    """


for command in (
    start_commands.demo,
    start_commands.new,
    export_commands.anonymise,
    export_commands.suggest,
    export_commands.check,
    export_commands.load,
    page_commands.new_quarter,
    page_commands.report,
    page_commands.charts,
    page_commands.due,
    page_commands.practitioner,
    page_commands.trace,
    release_commands.publish,
    release_commands.published,
    release_commands.record_release,
    export_commands.loads,
    export_commands.withdraw,
    export_commands.erase,
    start_commands.measures,
    start_commands.layout,
):
    commands.add_command(command)
