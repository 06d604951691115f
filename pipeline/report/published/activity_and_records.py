"""Who came and what was done, and how good the records are, as tables.

Comes in: the printed counts. Goes out: frozen tables in the order of the frame.
"""

from __future__ import annotations

from collections.abc import Mapping

from pipeline.contracts.measure_files import SHARES
from pipeline.privacy.release.public_frame import PublicFrame
from pipeline.report.published.plain_words import LOW, count, figure
from pipeline.report.published.printed_counts import ALL, Key, Printed
from pipeline.report.words.labels import NOT_RECORDED, Wording
from pipeline.report.words.table import Group, Row, Table

_ANSWERS = {"yes": "Yes", "no": "No", NOT_RECORDED: "Not recorded"}


def activity_tables(
    frame: PublicFrame, activity: Mapping[str, Mapping[str, int | None]], wording: Wording
) -> tuple[Table, ...]:
    """A table a section; answers of yes and no stand side by side."""
    return tuple(
        _section(name, title, activity[name], wording, frame.breakdown_titles)
        for name, title in frame.activity_titles.items()
        if name in activity
    )


def _section(
    name: str, title: str, counts: Mapping[str, int | None], wording: Wording, titles: Mapping[str, str]
) -> Table:
    parts: dict[str, dict[str, int | None]] = {}
    for level, number in counts.items():
        if level != ALL:
            before, _, answer = level.rpartition(": ")
            parts.setdefault(before, {})[answer] = number
    if parts and all(before and set(own) <= set(_ANSWERS) for before, own in parts.items()):
        rows = [
            Row(_words(before), tuple(count(own[answer]) if answer in own else "" for answer in _ANSWERS))
            for before, own in parts.items()
        ]
        return Table(f"activity-{name}", title, ("", *_ANSWERS.values()), (Group("", tuple(rows)),))
    groups = []
    for before, own in parts.items():
        rows = [
            Row(_words(wording.level(before or name, answer)), (count(own[answer]),))
            for answer in wording.in_order(before or name, own)
        ]
        groups.append(Group(titles.get(before, _words(before)), tuple(rows)))
    total = Row("All", (count(counts[ALL]),)) if ALL in counts else None
    return Table(f"activity-{name}", title, ("", "How many"), tuple(groups), total)


def _words(code: str) -> str:
    text = code.replace("_", " ")
    return text[:1].upper() + text[1:]


def records(frame: PublicFrame, printed: Mapping[Key, Printed]) -> Table | None:
    """For how many of each question the answer is known; None where no measure is printed."""
    rows = []
    for measure in frame.measures:
        one = printed.get(("", measure.name, ALL, ALL))
        if one is not None and measure.kind in SHARES:
            known = figure(one.count("known"), one.count("eligible"))
            rows.append(Row(measure.title, (known + (f" {LOW}" if one.few_known else ""), count(one.count("unknown")))))
    heads = ("", "Answer known, of all asked about", "Not known")
    return Table("records", "How many answers we have", heads, (Group("", tuple(rows)),)) if rows else None
