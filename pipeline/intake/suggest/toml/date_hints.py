"""What the export itself says about dates that read two ways. A hint for the person who decides, never a decision.

Comes in: a choice whose dates ask, and its sheet. Goes out: a few words, or none.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from itertools import cycle

from pipeline.intake.suggest.choose.choices import Choice, Chosen
from pipeline.intake.suggest.toml.toml_lines import quoted
from pipeline.intake.suggest.values.date_order import Dated, pairs
from pipeline.intake.suggest.values.date_styles import ORDERS, parsed


def hint(choice: Choice, chosen: Chosen, latest_day: date | None) -> str:
    """What speaks for one reading: days after the cut-off, the order of events, columns that are decided."""
    styles = choice.fit.dates
    if styles is None or len(styles.ways) != 2:
        return ""
    said = [*_late(choice, latest_day), *_in_order(choice, chosen)]
    decided = [
        f"{quoted(other.column.header)} is written {other.fit.dates.orders[0]}"
        for other in chosen.choices
        if other.fit.dates and len(other.fit.dates.ways) == 1 and other.fit.dates.orders
    ]
    return "; hint: " + "; ".join([*said, *decided[:1]]) if said or decided else ""


def _late(choice: Choice, latest_day: date | None) -> list[str]:
    assert choice.fit.dates is not None
    if latest_day is None:
        return []
    late = [
        sum(n for text, n in choice.column.counts.items() if (day := parsed(text, way)) and day > latest_day)
        for way in choice.fit.dates.ways
    ]
    if late[0] == late[1]:
        return []
    return [f"after {latest_day.isoformat()} are {late[0]} {ORDERS[0]} and {late[1]} {ORDERS[1]}"]


def _in_order(choice: Choice, chosen: Chosen) -> list[str]:
    """How many lines hold the events in order, either way."""
    other, later = _compared(choice, chosen)
    if other is None or other.fit.dates is None or choice.fit.dates is None:
        return []
    counts, both = [], 0
    for way, other_way in zip(choice.fit.dates.ways, cycle(other.fit.dates.ways), strict=False):
        known = pairs(chosen.sheet, Dated(choice.column, way), Dated(other.column, other_way))
        both = max(both, len(known))
        counts.append(sum(this >= that if later else this <= that for this, that in known))
    if not both or counts[0] == counts[1]:
        return []
    where = "on or after" if later else "on or before"
    return [f"{where} {quoted(other.column.header)} are {counts[0]} of {both} {ORDERS[0]} and {counts[1]} {ORDERS[1]}"]


def _compared(choice: Choice, chosen: Chosen) -> tuple[Choice | None, bool]:
    """The column to compare with, and whether the choice's day should be the later one."""
    cases: Mapping[str, Choice] = chosen.groups.get(("cases", ""), {})
    first, help_requested = cases.get("first_contact_date"), cases.get("help_requested_date")
    if choice.match.column == "first_contact_date":
        if help_requested and help_requested.fit.dates:
            return help_requested, True
        dated = [other for other in chosen.choices if other.fit.dates and other.column.header != choice.column.header]
        return (dated[0] if dated else None), False
    return first, choice.match.column != "help_requested_date"
