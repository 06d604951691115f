"""A first mapping for an export, for a person who is no programmer to read, mend and use.

Comes in: the sheets of an export as they were seen. Goes out: the text of a mapping file, each line marked
sure, likely or asks. Refuses to decide what the export does not say, and to write down a value that is no code.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from pipeline.intake.suggest.choose.choices import Chosen
from pipeline.intake.suggest.choose.column_choice import choose
from pipeline.intake.suggest.look.alike_sheets import alike_together, nearly_alike
from pipeline.intake.suggest.look.header_lines import header_lines
from pipeline.intake.suggest.look.sheet_seen import SeenSheet
from pipeline.intake.suggest.toml.code_lists import code_lists
from pipeline.intake.suggest.toml.row_blocks import blocks
from pipeline.intake.suggest.toml.templates import templates
from pipeline.intake.suggest.toml.toml_lines import OPEN, REMARK, Line, listed, quoted, remarks
from pipeline.intake.suggest.values.code_meanings import ASKS, LIKELY, SURE
from pipeline.intake.suggest.values.nothing_words import without_nothing

_HEAD = """\
## A first mapping, made by looking at the names of the columns and at what is written in them. It is a start.
## Behind each line stands sure, likely and why, or asks. What asks does nothing until you answer it and take its
## first # out. "???" is no answer: write one over it, or the mapping is refused. Lines with ## are remarks: leave them.
## 1. Read every line. Answer what asks, or leave it. Where several lines begin alike, use one. Mend what is wrong.
## 2. A written code without an answer is set aside and counted, never guessed.
## 3. Every block from one [[rows]] to the next that is in effect needs all its must-columns; they are marked must.
##    A table that nobody can fill is left out: leave its block as remarks, or put a # before each of its lines.
## 4. Quotes must be straight ones ("). A word processor makes curly ones, which break the file: use a text editor.
## 5. Then check the export with this mapping, mend what is set aside, and load it when you are content.
"""


@dataclass(frozen=True)
class Suggestion:
    """The text of a mapping file, and how many of its lines are sure, likely, and ask."""

    text: str
    sure: int
    likely: int
    asks: int


def suggest(sheets: Sequence[SeenSheet], latest_day: date | None = None) -> Suggestion:
    """A first mapping. `latest_day` is the cut-off, if it is known: it serves hints about dates only."""
    seen, nothing = without_nothing(sheets)
    sheets = alike_together(seen)
    chosen = choose(sheets)
    lists = code_lists(chosen)
    made = [block for of_sheet in chosen for block in blocks(of_sheet, len(sheets) == 1, lists, latest_day)]
    in_effect = frozenset(name for block in made for name in block.lists)
    differ = [
        line for words in (*nearly_alike(sheets), *_odd_lines(seen)) for line in remarks(f"LOOK AT THIS: {words}.")
    ]
    first = (differ, (*_OF_THE_EXPORT, *_nothing(nothing)), *map(_reading, sheets), _identifiers(sheets))
    parts: list[tuple[Sequence[Line], bool]] = [(lines, False) for lines in first if lines]
    parts += [(codes.lines(name in in_effect), name not in in_effect) for name, codes in lists.items()]
    parts += [(block.lines, block.out_of_effect) for block in made]
    parts += [(form, True) for form in templates({block.table for block in made}, chosen)]
    # What is out of effect is not done, so nothing of it counts as sure or likely.
    counted = [line for lines, out in parts for line in lines if not out or line.mark == ASKS]
    text = "\n".join([_HEAD, *("\n".join(line.text(out) for line in lines) + "\n" for lines, out in parts)])
    text += _left_out(chosen)
    return Suggestion(text, *(sum(line.mark == mark for line in counted) for mark in (SURE, LIKELY, ASKS)))


_OF_THE_EXPORT = (
    Line(f"# source = {OPEN}", "", "a name for where the exports come from; without it, the name of this file"),
    Line(
        f"# cut_off = {OPEN}",
        "",
        "the day the export was drawn, without quotes, such as 2026-10-12; without it, --extracted-on with each load",
    ),
)


def _odd_lines(sheets: Sequence[SeenSheet]) -> list[str]:
    return [f"in {quoted(sheet.name)} {words}" for sheet in sheets for words in sheet.odd_lines]


def _nothing(words: Counter[str]) -> list[Line]:
    """The words for nothing, most frequent first."""
    told = sorted(words, key=lambda word: (-words[word], word))
    many = ", ".join(f"{quoted(word)} {words[word]} times" for word in told)
    why = f"{many} in columns of dates and numbers; a code of a column that is written the same comes before it"
    return [Line(f"nothing = {listed(told)}", LIKELY, why)] if told else []


def _reading(sheet: SeenSheet) -> list[Line]:
    """Where the names stand, if not in the first line that is not blank; and columns with cells merged downwards."""
    lines = []
    first = next((at for at, row in enumerate(sheet.rows, 1) if any(text.strip() for text in row)), 1)
    header = header_lines(sheet.rows)
    if header != (first,):
        value = str(header[0]) if len(header) == 1 else str(list(header))
        why = "a title stands above the names" if len(header) == 1 else "names that repeat stand under a line of groups"
        lines.append(Line(f"header = {value}", LIKELY, why))
    if sheet.merged:
        why = "cells are merged downwards there; look whether each empty cell under a filled one is to hold its value"
        lines.append(Line(f"fill_down = {listed(sheet.merged)}", LIKELY, why))
    heads = [Line(f"[sheets.{quoted(name)}]", "") for name in sheet.written_names] if lines else []
    return [line for head in heads for line in (head, *lines)]


def _identifiers(sheets: Sequence[SeenSheet]) -> list[Line]:
    """The columns in which the identifier screen found something; their values are not looked at."""
    lines = [Line("[not_identifiers]", "")]
    written: set[str] = set()
    for sheet in sheets:
        for at, column in enumerate(sheet.columns, 1):
            what = "Take the column out of the export, or say here why it is no identifier"
            if not column.header_is_safe:
                name = f"{REMARK} column {at} of {quoted(sheet.name)}:"
                why = f"found in the name of the column: {column.identifier}. Write another name over it"
                lines.append(Line(name, ASKS, why))
            elif column.identifier and column.header not in written:
                written.add(column.header)
                why = f"found: {column.identifier}. {what}"
                lines.append(Line(f"{quoted(column.header)} = {OPEN}", ASKS, why))
    return lines if len(lines) > 1 else []


def _left_out(chosen: Sequence[Chosen]) -> str:
    """The columns that no line uses."""
    lines = []
    for of_sheet in chosen:
        for column in of_sheet.sheet.plain_columns:
            if column.header in of_sheet.used:
                continue
            where = f" of {quoted(of_sheet.sheet.name)}" if len(chosen) > 1 else ""
            total = sum(column.counts.values())
            many = f"{len(column.counts)} different texts in {total}" if total else "nothing is written in it"
            lines.append(f"{REMARK} left out: {quoted(column.header)}{where} ({many})\n")
    return "\n## Columns that no line above uses:\n" + "".join(lines) if lines else ""
