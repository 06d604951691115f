"""The lead's words and the action plan, as the page prints them.

Comes in: the commentary of a quarter and of the quarter before, as they were written. Goes out: a frozen view: words
that are safe to print, tables, and what could not be read as meant. What cannot be read is said.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from markupsafe import Markup

from pipeline.outcomes.periods import shifted
from pipeline.report.commentary import markdown, plan
from pipeline.report.commentary.headings import HEADINGS, title
from pipeline.report.commentary.markdown import Block, WrittenTable
from pipeline.report.commentary.plan import COLUMNS, Action
from pipeline.report.words.dates import long_label
from pipeline.report.words.table import Group, Row, Table
from pipeline.store.audit_folder import COMMENTARY

_HIGHEST, _LOWEST = 3, 6  # headings of the page that the lead's own may become
_MANY = 8  # warnings of one file; a file with more of them is not mended line by line


@dataclass(frozen=True)
class Part:
    """A heading, a table or words; the table is None for the others, the level 0 for all but headings."""

    words: Markup
    level: int = 0
    table: Table | None = None


@dataclass(frozen=True)
class CommentaryView:
    """The part of the page that holds the lead's own words."""

    period: str  # 2026Q3
    file: str  # where it is written
    there: bool  # whether there is a file with anything in it
    parts: tuple[Part, ...]  # empty where nothing was written yet
    plan: Table | None
    brought_forward: Table | None
    of_before: str  # what is said of the quarter before where nothing is brought forward
    warnings: tuple[str, ...]


def view(own: str, before: str, period: str) -> CommentaryView:
    """The commentary of a quarter, and what was open at the end of the quarter before."""
    earlier = shifted(period, -1)
    blocks, blocks_before = _without_title(markdown.read(own), period), markdown.read(before)
    planned = plan.read(blocks, _file(period))
    planned_before = plan.read(blocks_before, _file(earlier))
    named = {action.named for action in planned.actions}
    forward = tuple(action for action in planned_before.open if action.named not in named)
    return CommentaryView(
        period=period,
        file=_file(period),
        there=bool(own.strip()),
        parts=_parts([block for block in blocks if block.line not in planned.lines]),
        plan=_table("commentary-plan", f"Actions of {long_label(period)}", planned.actions),
        brought_forward=_table(
            "commentary-before",
            f"Brought forward: open at the end of {long_label(earlier)} and not in this plan",
            forward,
        ),
        of_before=_of_before(before, bool(planned_before.open), earlier),
        warnings=_few(planned.warnings, period) + _few(planned_before.warnings, earlier),
    )


def _file(period: str) -> str:
    return f"{COMMENTARY}/{period}.md"


def _few(warnings: tuple[str, ...], period: str) -> tuple[str, ...]:
    if len(warnings) <= _MANY:
        return warnings
    return (*warnings[:_MANY], f"{_file(period)}: {len(warnings) - _MANY} further lines like these")


def _without_title(blocks: Sequence[Block], period: str) -> tuple[Block, ...]:
    """Without the title that new-quarter laid, which says what the page's own headings say. Any other stays."""
    laid = bool(blocks) and blocks[0].level == 1 and str(blocks[0].shown) == title(period)
    return tuple(blocks[1:] if laid else blocks)


def _parts(blocks: Sequence[Block]) -> tuple[Part, ...]:
    parts: list[Part] = []
    above: list[int] = []  # the levels, as written, of the headings that this one stands under
    tables = 0
    under = Markup("The commentary")
    for block in _without_bare_headings(blocks):
        if block.level:
            above = [level for level in above if level < block.level]
            # Never a level left out, whatever the writer left out.
            parts.append(Part(block.shown, min(_HIGHEST + len(above), _LOWEST)))
            above.append(block.level)
            under = block.shown
        elif block.table is not None:
            tables += 1
            parts.append(Part(Markup(), table=_as_written(block.table, tables, under)))
        else:
            parts.append(Part(block.shown))
    return tuple(parts)


def _without_bare_headings(blocks: Sequence[Block]) -> list[Block]:
    """Without empty headings, and those laid under which nothing stands; the plan, taken from there, has its place."""
    kept: list[Block] = []
    for block in reversed(blocks):
        bare = not kept or 0 < kept[-1].level <= block.level
        if not (block.level and (not block.shown or (bare and str(block.shown) in HEADINGS))):
            kept.append(block)
    return kept[::-1]


def _as_written(table: WrittenTable, number: int, under: Markup) -> Table:
    rows = []
    for row in table.rows:
        cells = [cell.shown for cell in (*row.cells, *row.over)]
        rows.append(Row(cells[0], tuple(cells[1:])))
    caption = under + Markup(f": table {number}")
    heads = tuple(cell.shown for cell in table.heads)
    return Table(f"commentary-table-{number}", caption, heads, (Group("", tuple(rows)),), words=True)


def _table(key: str, caption: str, actions: Sequence[Action]) -> Table | None:
    if not actions:
        return None
    others = tuple(dict.fromkeys(head for action in actions for head, _ in action.others))
    rows = []
    for action in actions:
        own = (action.action, action.owner, action.by_when, action.done)
        said = [
            Markup("; ").join(cell.shown for head, cell in action.others if head == other and cell.shown)
            for other in others
        ]
        rows.append(Row(action.finding.shown, (*(cell.shown for cell in own), *said)))
    return Table(key, caption, (*COLUMNS, *others), (Group("", tuple(rows)),), words=True)


def _of_before(before: str, any_open: bool, earlier: str) -> str:
    label = long_label(earlier)
    if not before.strip():
        return f"No commentary was written for {label}, so there was no action to bring forward."
    if any_open:
        return f"Every action that was open at the end of {label} is in this plan."
    return f"No action was open at the end of {label}."
