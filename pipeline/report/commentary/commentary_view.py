"""The lead's words and the action plan, as the page prints them.

Comes in: the commentary of a period and those of earlier ones, as they were written. Goes out: a frozen view: words
that are safe to print, tables, and what could not be read as meant. What cannot be read is said.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from markupsafe import Markup

from pipeline.report.commentary import earlier, markdown, plan, to_publish
from pipeline.report.commentary.headings import HEADINGS, title
from pipeline.report.commentary.markdown import Block, WrittenTable
from pipeline.report.commentary.plan import COLUMNS, PUBLISH, Action
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
    still_open: tuple[Action, ...]  # of this plan, then brought forward
    of_before: str  # what is said of earlier plans where nothing is brought forward
    warnings: tuple[str, ...]


def view(own: str, before: str, period: str) -> CommentaryView:
    """The commentary of a period, and what no earlier plan says is done."""
    blocks = _without_title(markdown.read(own), period)
    planned = plan.read(blocks, _file(period))
    named = {action.named for action in planned.actions}
    still_open = earlier.still_open(before, period)
    forward = [(since, action) for since, action in still_open if action.named not in named]
    last = list(earlier.plans(before, period))[-1:]
    said_of_own = (*planned.warnings, *_not_to_publish(planned.actions, period))
    return CommentaryView(
        period=period,
        file=_file(period),
        there=bool(own.strip()),
        parts=_parts([block for block in blocks if block.line not in planned.lines]),
        plan=_table("commentary-plan", f"Actions of {long_label(period)}", planned.actions),
        brought_forward=_table(
            "commentary-before",
            "Brought forward: still open in an earlier plan, and not in this one",
            [action for _, action in forward],
            [long_label(since) for since, _ in forward],
        ),
        still_open=(*planned.open, *(action for _, action in forward)),
        of_before=_of_before(bool(last), bool(still_open)),
        warnings=sum((_few(said.warnings, name) for name, said in last), _few(said_of_own, period)),
    )


def _not_to_publish(actions: Sequence[Action], period: str) -> tuple[str, ...]:
    """Marked actions that could not be published as they are."""
    return tuple(
        f"{_file(period)}, line {action.line}: marked to publish, and holds “{number}” under {column}, which no "
        "published action may"
        for action in actions
        if action.marked
        for column, number in to_publish.numbers(action)
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


def _table(key: str, caption: str, actions: Sequence[Action], plans_of: Sequence[str] = ()) -> Table | None:
    """The actions; with `plans_of`, in which plan each was last written down."""
    if not actions:
        return None
    others = tuple(dict.fromkeys(head for action in actions for head, _ in action.others))
    marks = any(action.publish.written for action in actions)
    rows = []
    for place, action in enumerate(actions):
        own = (action.action, action.owner, action.by_when, action.done, *((action.publish,) if marks else ()))
        said = [
            Markup("; ").join(cell.shown for head, cell in action.others if head == other and cell.shown)
            for other in others
        ]
        rows.append(Row(action.finding.shown, (*(cell.shown for cell in own), *said, *plans_of[place : place + 1])))
    heads = (*COLUMNS, *((PUBLISH,) if marks else ()), *others, *(("Plan of",) if plans_of else ()))
    return Table(key, caption, heads, (Group("", tuple(rows)),), words=True)


def _of_before(any_earlier: bool, any_open: bool) -> str:
    if not any_earlier:
        return "No earlier commentary was written, so there was no action to bring forward."
    if any_open:
        return "Every action still open in an earlier plan is in this one."
    return "No action of an earlier plan is still open."
