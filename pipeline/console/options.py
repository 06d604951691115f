"""What several commands are told the same way: the audit folder, how an export is read, a day.

Comes in: what was typed. Goes out: click options, a day. Refuses: a day that is not written like 2026-10-12.
"""

from __future__ import annotations

from datetime import date
from pathlib import Path

import click

FOLDER = click.option(
    "--folder",
    type=click.Path(file_okay=False, path_type=Path),
    default=Path(),
    help="The audit folder. [default: the folder you are in]",
)
EXTRACTED_ON = click.option(
    "--extracted-on",
    metavar="YYYY-MM-DD",
    help="The cut-off: the day the export was drawn, if its datapackage.json does not say.",
)
MAPPING = click.option(
    "--mapping", metavar="NAME", help="The mapping to read it through, if several in mappings/ fit it."
)
ENCODING = click.option(
    "--encoding", metavar="NAME", help="How its text is encoded, such as windows-1252, if it is not found out rightly."
)


def day(option: str, written: str | None) -> date | None:
    """The day that an option names; None where it was not given."""
    from pipeline.errors import Fault, Refused

    if written is None:
        return None
    try:
        if len(written) != 10:
            raise ValueError
        return date.fromisoformat(written)
    except ValueError:
        mend = "write it so: 12 October 2026 is 2026-10-12"
        raise Refused(Fault(option, written, "a day written like 2026-10-12", mend)) from None
