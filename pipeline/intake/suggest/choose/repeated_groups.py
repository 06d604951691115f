"""Groups of columns that differ in a number only, taken together: "Visit 1 / Date" and so on are "Visit * / Date".

Comes in: the choices of a sheet, by table and label. Goes out: the same, those of several numbers as one group whose
label is the sign that stands for the number. Refuses where a number has other columns, is read otherwise or is doubted.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import replace

from pipeline.intake.suggest.choose.choices import Choice, Group, choice_of
from pipeline.intake.suggest.look.sheet_seen import SeenColumn, SeenSheet
from pipeline.intake.suggest.values.code_meanings import ASKS

SIGNS = ("*", "#")
_Choices = Mapping[str, Choice]


def together(sheet: SeenSheet, groups: Mapping[Group, _Choices]) -> dict[Group, _Choices]:
    """The groups, with those that one block can say put into one."""
    headers = [column.header for column in sheet.columns]
    sign = next((sign for sign in SIGNS if not any(sign in header for header in headers)), "")
    alike: dict[tuple[str, frozenset[tuple[str, str]]], list[Group]] = {}
    for (table, label), group in groups.items():
        signed = {name: _signed(choice.column.header, label, sign) for name, choice in group.items()}
        if sign and label.isdigit() and all(signed.values()) and not any(choice.again for choice in group.values()):
            shape = frozenset(signed.items())
            alike.setdefault((table, shape), []).append((table, label))
    taken: dict[Group, _Choices] = {}
    for (table, shape), those in alike.items():
        patterns = [re.escape(name).replace(re.escape(sign), "([0-9]+)") for _, name in shape]
        numbers = {match[1] for pattern in patterns for header in headers if (match := re.fullmatch(pattern, header))}
        whole = _whole([groups[group] for group in those], dict(shape))
        # Another number that one of the names has would be read too.
        if len(those) > 1 and whole and numbers == {label for _, label in those} and (table, sign) not in taken:
            taken[table, sign] = whole
            groups = {group: choices for group, choices in groups.items() if group not in those}
    return {**groups, **taken}


def _signed(header: str, label: str, sign: str) -> str:
    """The name with the sign for its number; nothing where that does not stand in it just once."""
    there = [match for match in re.finditer("[0-9]+", header) if match[0] == label]
    return header[: there[0].start()] + sign + header[there[0].end() :] if len(there) == 1 else ""


def _whole(groups: Sequence[_Choices], signed: Mapping[str, str]) -> dict[str, Choice]:
    """A choice for each column of all groups; nothing where their values together say less than each alone."""
    whole: dict[str, Choice] = {}
    for name, first in groups[0].items():
        choices = [group[name] for group in groups]
        if any(key == "unit" for way in first.fit.ways for key, _ in way):
            return {}  # each has a unit of its own beside it
        counts: Counter[str] = Counter()
        for choice in choices:
            counts.update(choice.column.counts)
        headers = tuple(choice.column.header for choice in choices)
        merged = choice_of(SeenColumn(signed[name], counts, stands_for=headers), first.match)
        asking = [choice.mark == ASKS for choice in choices]
        # Dates that read two ways in one column may be settled by another; all else asks as it did, or stays apart.
        settled = merged is not None and merged.mark != ASKS and bool(merged.fit.dates)
        if (
            merged is None
            or (any(asking) and not all(asking) and not settled)
            or (merged.mark == ASKS and not any(asking))
        ):
            return {}
        if any(asking) and not settled:
            merged = replace(merged, mark=ASKS, why=first.why)
        whole[name] = merged
    return whole
