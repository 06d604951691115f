"""Who came, and what was done: the tables of sql/activity, the period beside those before.

Comes in: the frame of activity.csv. Goes out: one or two frozen tables to stand side by side, their groups in the order
of the files. What was answered with yes or no is one line: yes/no/not recorded.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import pandas as pd

from pipeline.contracts.numbered_files import activity_files
from pipeline.report.words.dates import short_label
from pipeline.report.words.labels import NOT_RECORDED, Wording
from pipeline.report.words.table import Group, Row, Table

_ANSWERS = ("yes", "no", NOT_RECORDED)
_THREE = "yes/no/not recorded"


def activity(frame: pd.DataFrame, periods: Sequence[str], wording: Wording) -> tuple[Table, ...]:
    """Counts of the periods, the reported one first; nothing where nothing happened in any of them.

    An earlier one of which nothing at all is on record has no column: the page says so.
    """
    there = frame[frame["period"].isin(periods)]
    empty = nothing_in(frame, periods)
    periods = [period for period in periods if period not in empty]
    counts = {(row.section, row.row, row.period): int(row.count) for row in there.itertuples(index=False, name="Line")}
    groups = []
    for file in activity_files():
        own = {(row, period): number for (section, row, period), number in counts.items() if section == file.own_name}
        if own:
            groups.append(_group(file.own_name, file.keys["title"], own, periods, wording))
    heads = ("", *(short_label(period) for period in periods))
    sizes = [len(group.rows) + 2 for group in groups]  # a heading takes the room of two rows
    first = next((at for at in range(len(groups)) if sum(sizes[: at + 1]) * 2 >= sum(sizes)), 0) + 1
    halves = (("activity", "Counts of each", groups[:first]), ("activity-more", "Counts, continued", groups[first:]))
    return tuple(Table(key, caption, heads, tuple(half)) for key, caption, half in halves if half)


def nothing_in(frame: pd.DataFrame, periods: Sequence[str]) -> list[str]:
    """The periods before the reported one, which is the first, of which nothing is on record."""
    return [period for period in periods[1:] if not frame["period"].eq(period).any()]


def _group(
    section: str, title: str, own: Mapping[tuple[str, str], int], periods: Sequence[str], wording: Wording
) -> Group:
    answered: dict[str, set[str]] = {}  # what was asked -> the answers there are
    for row, _ in own:
        asked, _, answer = row.rpartition(": ")
        answered.setdefault(asked, set()).add(answer)
    yes_no = {asked for asked, answers in answered.items() if answers <= set(_ANSWERS) and answers != {NOT_RECORDED}}
    all_yes_no = bool(yes_no) and all(answers <= set(_ANSWERS) for answers in answered.values())
    rows = []
    for asked in sorted(answered):
        before = f"{asked}: " if asked else ""
        if all_yes_no or asked in yes_no:
            head = (asked or "all of them") if all_yes_no else f"{before}{_THREE}"
            cells = ["/".join(str(own.get((before + answer, period), 0)) for answer in _ANSWERS) for period in periods]
            rows.append(Row(head.replace("_", " "), tuple(cells)))
            continue
        for answer in sorted(answered[asked], key=lambda level: (level == NOT_RECORDED, level)):
            cells = [str(own.get((before + answer, period), 0)) for period in periods]
            head = f"{before}{wording.level(section, answer)}".replace("_", " ")
            rows.append(Row(head, tuple(cells)))
    return Group(f"{title}: {_THREE}" if all_yes_no else title, tuple(rows))
