"""What the program says of itself on the terminal: its measures, and the export layout.

Comes in: the name of a measure, or none. Goes out: lines on standard output. Refuses: a name that no measure has.
"""

from __future__ import annotations

import textwrap

from pipeline.console.terminal import say
from pipeline.contracts import measure_files
from pipeline.contracts.layout import tables
from pipeline.contracts.places import REPORTS
from pipeline.errors import Fault, Refused
from pipeline.report.words import labels
from pipeline.settings import SETTINGS


def measures(name: str | None) -> None:
    """List the measures by section, or say how the one of that name is defined."""
    known = measure_files.measures()
    if name is None:
        words = labels.read(REPORTS / "wording.toml")
        order = {section.name: place for place, section in enumerate(words.sections)}
        sections = sorted({measure.section for measure in known}, key=lambda name: (order.get(name, len(order)), name))
        for section in sections:
            say(words.section(section).title)
            for measure in known:
                if measure.section == section:
                    say(f"  {measure.name:<36}{measure.title}")
        return
    chosen = next((measure for measure in known if measure.name == name), None)
    if chosen is None:
        names = ", ".join(measure.name for measure in known)
        raise Refused(Fault("NAME", name, names, "ask for one of those"))
    horizon = measure_files.SEEN_PROMPTLY_DAYS if chosen.horizon is None else chosen.horizon
    say(f"{chosen.name}: {chosen.title}\n{_as_set(chosen.question)}\n")
    for label, text in (
        ("kind", chosen.kind.replace("_", " ")),
        ("eligible", chosen.eligible),
        ("met", chosen.met),
        ("unknown", chosen.unknown),
        ("counted", f"in the period of {chosen.counted_on}"),
        ("better", chosen.better),
        ("complete", "at the end of the period" if chosen.horizon == 0 else f"{horizon} days after the period"),
        ("source", chosen.source),
        ("file", f"sql/measures/{chosen.file.path.name}"),
    ):
        say(textwrap.fill(_as_set(text), 96, initial_indent=f"{label:<10}", subsequent_indent=" " * 10))


def layout() -> None:
    """Every table and column of the export layout, and what may stand in it."""
    say("An export in the layout has a file (CSV, Parquet) or a sheet of a workbook for each table, named after it.")
    say(
        "Nothing, or not_known, means not recorded. Any other export is read through a mapping (feeding-audit suggest)."
    )
    for table in tables():
        say(f"\n{table.name}: {table.description}")
        for column in table.columns:
            mark = "*" if column.must else " "
            says = column.allowed.removesuffix("; it must be there").removesuffix(", or nothing")
            text = says if not column.description else f"{says} ({column.description})"
            say(textwrap.fill(text, 108, initial_indent=f" {mark} {column.name:<26}", subsequent_indent=" " * 30))
    say("\n* must be there in every row")


def _as_set(text: str) -> str:
    """A measure's text where no audit folder says what its settings are."""
    start = next(setting.start for setting in SETTINGS if setting.key == "seen_promptly_days")
    return text.replace("{seen_promptly_days}", f"{start} (seen_promptly_days of audit.toml)")
