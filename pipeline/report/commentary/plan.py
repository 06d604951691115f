"""The action plan of a commentary: its actions, and which are still open.

Comes in: the blocks of a commentary. Goes out: the actions in their order, the tables they stand in, and a warning with
its line for all that could not be read as meant. A row that cannot be read is a row all the same.

A table is the plan, or a part of it, if it has a column Action. An action is open unless its Done begins with a word
for yes, and no word after it takes some of that back; or is nothing but a date. Whatever else stands there is open, and
is said to be read so unless it begins with a word for no.
"""

from __future__ import annotations

import re
import textwrap
from collections.abc import Sequence
from dataclasses import dataclass

from markupsafe import Markup

from pipeline.report.commentary.markdown import Block, Cell, WrittenRow, WrittenTable

COLUMNS = ("Finding", "Action", "Owner", "By when", "Done")
PUBLISH = "Publish"  # a column that may be left out: nothing is published then
_YES = {"yes", "y", "done", "complete", "completed", "finished", "closed", "x", "✓", "✔", "☑", "✅"}
_NO = {"no", "n", "not", "open", "started", "ongoing", "waiting", "planned", "due", "from", "☐", "✗", "✘", "❌"}
_BUT = {"but", "except", "not", "no", "part", "partly", "half", "some", "mostly", "nearly", "almost", "still", "yet"}
_MONTH = r"(?:jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec)[a-z]*"
_DATE = re.compile(
    rf"(?:(?:on|in)\s+)?(?:\d{{4}}-\d\d?-\d\d?|\d\d?[/.]\d\d?[/.]\d{{2,4}}|(?:\d\d?(?:st|nd|rd|th)?\s+)?{_MONTH}\s+\d{{4}})"
)
_NOTHING = Cell("", Markup())
_HEADS = {name.casefold() for name in (*COLUMNS, PUBLISH)}
_LOOSE = (
    "this looks like a row of a table and belongs to none, so it is printed as it stands and no action is read from it "
    "(an empty line ends a table, and the line of dashes needs as many columns as the heads)"
)


@dataclass(frozen=True)
class Action:
    """One row of the plan."""

    line: int
    finding: Cell
    action: Cell
    owner: Cell
    by_when: Cell
    done: Cell
    publish: Cell
    others: tuple[tuple[str, Cell], ...]  # columns of the lead's own, by their heads
    open: bool

    @property
    def named(self) -> str:
        """What tells it from other actions: its text, whitespace aside."""
        return folded(self.action.written) or folded(self.finding.written)

    @property
    def marked(self) -> bool:
        """Whether the lead marked it for publication: Publish is yes and nothing else."""
        return folded(self.publish.written).casefold().strip(" .") in _YES


@dataclass(frozen=True)
class Plan:
    """All actions of a commentary; `lines` are those of the tables they stand in."""

    actions: tuple[Action, ...]
    lines: frozenset[int]
    warnings: tuple[str, ...]

    @property
    def open(self) -> tuple[Action, ...]:
        """The actions not done."""
        return tuple(action for action in self.actions if action.open)


def folded(text: str) -> str:
    """A text, whitespace aside."""
    return " ".join(text.split())


def read(blocks: Sequence[Block], where: str) -> Plan:
    """The plan in a commentary; `where` is what a warning calls the file."""
    actions: list[Action] = []
    lines: set[int] = set()
    said: list[tuple[int, str]] = []
    for block in blocks:
        if block.loose_row is not None:
            said.append((block.loose_row, _LOOSE))
        table = block.table
        if table is None:
            continue
        heads = [folded(cell.written).casefold() for cell in table.heads]
        said += [(row.line, _too_many(row, table)) for row in table.rows if row.over]
        if "action" in heads:
            lines.add(block.line)
            said += [(block.line, text) for text in _column_faults(table, heads)]
            for row in table.rows:
                if any(folded(cell.written) for cell in (*row.cells, *row.over)):  # else it is room to write in
                    actions.append(_action(row, table, heads))
                    said += [(row.line, text) for text in _row_faults(actions[-1])]
        elif _HEADS & set(heads):
            said.append((block.line, f"a table without a column Action {_as_it_stands(table)}"))
    strange = [(block.line, block.table) for block in blocks if block.table is not None]
    if strange and not lines and not said:
        said.append((strange[-1][0], f"no table has a column Action; this one {_as_it_stands(strange[-1][1])}"))
    said.sort(key=lambda warning: warning[0])
    return Plan(tuple(actions), frozenset(lines), tuple(f"{where}, line {line}: {text}" for line, text in said))


def is_done(written: str) -> bool | None:
    """Whether Done says so; None where it says neither yes nor no, and is read as not done."""
    text = folded(written).casefold().strip(" .,;!")
    words = re.findall(r"[^\W_]+|[✓✔☑✅☐✗✘❌]", text)
    if _DATE.fullmatch(text) or (words and words[0] in _YES and _BUT.isdisjoint(words[1:])):
        return True
    return False if not words or words[0] in _NO else None


def _action(row: WrittenRow, table: WrittenTable, heads: Sequence[str]) -> Action:
    # A cell that has no column is still somebody's words: the last one takes it in.
    last = (*row.cells[-1:], *row.over)
    whole = Cell(" | ".join(cell.written for cell in last), Markup(" | ").join(cell.shown for cell in last))
    cells = (*row.cells[:-1], whole)
    own = {name: cells[heads.index(name)] if name in heads else _NOTHING for name in _HEADS}
    taken = {heads.index(name) for name in _HEADS if name in heads}
    others = tuple((folded(table.heads[place].written), cell) for place, cell in enumerate(cells) if place not in taken)
    return Action(
        line=row.line,
        finding=own["finding"],
        action=own["action"],
        owner=own["owner"],
        by_when=own["by when"],
        done=own["done"],
        publish=own["publish"],
        others=others,
        open=bool(row.over) or not is_done(own["done"].written),  # shifted cells say nothing of Done
    )


def _column_faults(table: WrittenTable, heads: Sequence[str]) -> list[str]:
    missing = [name for name in COLUMNS if name.casefold() not in heads]
    if not missing:
        return []
    without = "; without Done every action counts as open" if "Done" in missing else ""
    some = "column" if len(missing) == 1 else "columns"
    return [f"the action plan lacks the {some} {_listed(missing)}; it has {_named(table)}{without}"]


def _row_faults(action: Action) -> list[str]:
    faults = []
    if not folded(action.action.written):
        faults.append("an action without a text under Action")
    if is_done(action.done.written) is None:
        faults.append(f"Done says “{_short(action.done.written)}”, which is read as not done; write yes, no or a date")
    publish = folded(action.publish.written)
    if publish and not action.marked and publish.casefold().strip(" .") not in _NO:
        faults.append(f"Publish says “{_short(publish)}”, which is read as no; write yes or no")
    return faults


def _too_many(row: WrittenRow, table: WrittenTable) -> str:
    cells = len(row.cells) + len(row.over)
    return f"a row of {cells} cells in a table of {len(table.heads)} columns; a | in a text is written \\|"


def _as_it_stands(table: WrittenTable) -> str:
    return f"is printed as it stands, and nothing in it is brought forward; it has {_named(table)}"


def _named(table: WrittenTable) -> str:
    return _listed([_short(cell.written) or "one without a name" for cell in table.heads])


def _listed(names: Sequence[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


def _short(text: str) -> str:
    return textwrap.shorten(text, 60, placeholder=" ...")
