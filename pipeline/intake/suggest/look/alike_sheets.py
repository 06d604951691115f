"""Sheets with the same headings, such as a sheet a month, taken together: one set of blocks reads them.

Comes in: the sheets of an export as they were seen. Goes out: the same, alike ones as one, whose names are a pattern
that no other sheet matches, or all their names; and in words how a sheet that is nearly alike differs. Refuses to take
together sheets of which a heading must not be written, or whose names say different tables.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import replace
from fnmatch import fnmatchcase
from itertools import takewhile

from pipeline.intake.map.mapping import pattern_of
from pipeline.intake.suggest.look.header_lines import header_lines
from pipeline.intake.suggest.look.sheet_seen import MOST_LINES, SeenColumn, SeenSheet
from pipeline.intake.suggest.look.trade_words import table_of_sheet

_NEARLY = 0.6  # of all headings of two sheets


def alike_together(sheets: Sequence[SeenSheet]) -> tuple[SeenSheet, ...]:
    """The sheets, those with the same headings as one, where the first of them stands."""
    groups: dict[object, list[SeenSheet]] = {}
    for place, sheet in enumerate(sheets):
        safe = all(column.header_is_safe for column in sheet.columns)
        key = (_headings(sheet), header_lines(sheet.rows), table_of_sheet(sheet.name)) if safe else place
        groups.setdefault(key, []).append(sheet)
    return tuple(_one(group, [sheet.name for sheet in sheets]) for group in groups.values())


def nearly_alike(sheets: Sequence[SeenSheet]) -> Iterator[str]:
    """In words, how a sheet differs from an earlier one with most of its headings."""
    for at, sheet in enumerate(sheets):
        for other in sheets[:at]:
            here, there = _headings(sheet), _headings(other)
            if here != there and len(here & there) >= _NEARLY * len(here | there) and _is_safe(sheet, other):
                has = ", ".join(f'"{name}"' for name in sorted(here - there)) or "nothing more"
                lacks = ", ".join(f'"{name}"' for name in sorted(there - here)) or "nothing"
                yield f'"{sheet.name}" has most headings of "{other.name}"; it has {has} and lacks {lacks}'
                break


def _is_safe(*sheets: SeenSheet) -> bool:
    return all(column.header_is_safe for sheet in sheets for column in sheet.columns)


def _headings(sheet: SeenSheet) -> frozenset[str]:
    return frozenset(column.header for column in sheet.columns)


def _one(alike: Sequence[SeenSheet], every_name: Sequence[str]) -> SeenSheet:
    first = alike[0]
    if len(alike) == 1:
        return first
    names = _names([sheet.name for sheet in alike], every_name)
    columns: list[SeenColumn] = []
    lines: list[tuple[str, ...]] = []
    for column in first.columns:
        those = [next(other for other in sheet.columns if other.header == column.header) for sheet in alike]
        identifier = next((other.identifier for other in those if other.identifier), "")
        counts: Counter[str] = Counter()
        for other in () if identifier else those:
            counts.update(other.counts)
        columns.append(SeenColumn(column.header, counts, identifier))
    for sheet in alike:
        places = [[other.header for other in sheet.columns].index(column.header) for column in first.columns]
        lines += [tuple(line[place] for place in places) for line in sheet.lines[: MOST_LINES - len(lines)]]
    # The lines of a column that is an identifier on one sheet hold nothing on any.
    shown = [not column.identifier for column in columns]
    kept = tuple(tuple(text if is_shown else "" for text, is_shown in zip(line, shown, strict=True)) for line in lines)
    merged = tuple(dict.fromkeys(name for sheet in alike for name in sheet.merged))
    return replace(first, name=", ".join(names), columns=tuple(columns), lines=kept, names=names, merged=merged)


def _names(names: Sequence[str], every_name: Sequence[str]) -> tuple[str, ...]:
    """One pattern that these match and no other sheet, cut where words end; else the names."""
    if len(names) == len(every_name):
        return ("*",)
    before, behind = _shared(names), _shared([name[::-1] for name in names])[::-1]
    before, behind = re.sub(r"[^\W_]+$", "", before), re.sub(r"^[^\W_]+", "", behind)
    pattern = f"{before}*{behind}"
    others = [name for name in every_name if name not in names]
    fits = re.search(r"[^\W_]{3}", before + behind) and not any(
        fnmatchcase(name, pattern_of(pattern)) for name in others
    )
    matching = all(fnmatchcase(name, pattern_of(pattern)) for name in names)
    return (pattern,) if fits and matching and "*" not in before + behind else tuple(names)


def _shared(names: Sequence[str]) -> str:
    """What all names begin with."""
    pairs = takewhile(lambda letters: len(set(letters)) == 1, zip(*names, strict=False))
    return "".join(letters[0] for letters in pairs)
