"""Markdown into blocks that are safe to print.

Comes in: the text of a commentary. Goes out: its blocks in order: headings, tables with every cell, and everything else
as HTML made by the library from a closed list of tokens. Whatever anybody writes is taken: what is not allowed
(raw HTML, pictures, links elsewhere than to the web, mail or this page, tables in lists) is shown as text, so that no
word is lost. A token that is not in the list is a defect of the program, a ValueError.

markdown-it-py: it follows CommonMark and keeps the line of every block, which a warning must name.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from markdown_it import MarkdownIt
from markdown_it.renderer import RendererHTML
from markdown_it.rules_block import StateBlock, blockquote, list_block, table
from markdown_it.token import Token
from markupsafe import Markup

from pipeline.plain_text import without_unseen_signs

DEEPEST = 12  # lists and quotations within each other; what is deeper stays text
_LINK = re.compile(r"(?:https?://|mailto:|#)[^\s]*", re.IGNORECASE)
# A line that is one comment: a note to the writer, not printed. The form that new-quarter lays.
_NOTE = re.compile(r"<!--(?:(?!-->).)*-->\s*")
_KNOWN = {
    *("paragraph_open", "paragraph_close", "heading_open", "heading_close", "inline", "text", "softbreak", "hardbreak"),
    *("bullet_list_open", "bullet_list_close", "ordered_list_open", "ordered_list_close", "blockquote_open"),
    *("blockquote_close", "list_item_open", "list_item_close", "em_open", "em_close", "strong_open", "strong_close"),
    *("code_inline", "code_block", "fence", "hr", "link_open", "link_close", "image"),
}

_HTML = RendererHTML()

Rule = Callable[[StateBlock, int, int, bool], bool]


@dataclass(frozen=True)
class Cell:
    """A cell of a table: as it was written, and as it is shown."""

    written: str
    shown: Markup


@dataclass(frozen=True)
class WrittenRow:
    """A row of a table; `over` are the cells that have no column."""

    line: int
    cells: tuple[Cell, ...]
    over: tuple[Cell, ...]


@dataclass(frozen=True)
class WrittenTable:
    """A table as somebody wrote it."""

    heads: tuple[Cell, ...]
    rows: tuple[WrittenRow, ...]


@dataclass(frozen=True)
class Block:
    """One heading, one table, or one piece of anything else."""

    line: int
    shown: Markup  # of a heading the words alone; of a table nothing
    level: int = 0  # of a heading, as it was written; else 0
    table: WrittenTable | None = None
    loose_row: int | None = None  # the line of a text that looks like a table's row and belongs to none


def read(text: str) -> tuple[Block, ...]:
    """The blocks of a text, in order; lines count from 1."""
    text = without_unseen_signs(text)
    markdown, env = _markdown(), dict[str, Any]()
    tokens = markdown.parse(text, env)
    lines = text.split("\n")
    return tuple(_block(group, markdown, env, lines) for group in _groups(tokens))


def _markdown() -> MarkdownIt:
    markdown = MarkdownIt("commonmark", {"html": False, "xhtmlOut": False, "maxNesting": 6 * DEEPEST})
    markdown.enable("table")
    # What the library does not take as a link it shows with its brackets; here the words are kept and the rest is said.
    markdown.validateLink = lambda url: True  # type: ignore[method-assign]
    ruler = markdown.block.ruler
    ends = ["paragraph", "reference", "blockquote", "list"]
    ruler.before("html_block", "note", _note, {"alt": ends[:3]})
    # The library leaves out what is nested too deep. Without the rule it stays text.
    ruler.at("table", _down_to(1, table), {"alt": ends[:2]})
    ruler.at("blockquote", _down_to(2 * DEEPEST, blockquote), {"alt": ends})
    ruler.at("list", _down_to(2 * DEEPEST, list_block), {"alt": ends[:3]})
    return markdown


def _down_to(level: int, rule: Rule) -> Rule:
    return lambda state, first, last, silent: state.level < level and rule(state, first, last, silent)


def _note(state: StateBlock, first: int, last: int, silent: bool) -> bool:
    if state.is_code_block(first):
        return False
    line = state.src[state.bMarks[first] + state.tShift[first] : state.eMarks[first]]
    if not _NOTE.fullmatch(line):
        return False
    if not silent:
        state.line = first + 1
    return True


def _groups(tokens: Sequence[Token]) -> Iterator[list[Token]]:
    """The tokens of each block that stands in no other."""
    group: list[Token] = []
    for token in tokens:
        group.append(token)
        if token.level == 0 and token.nesting <= 0 and token.type != "inline":
            yield group
            group = []


def _block(group: list[Token], markdown: MarkdownIt, env: dict[str, Any], lines: list[str]) -> Block:
    first = group[0]
    line = (first.map or [0])[0] + 1
    if first.type == "heading_open":
        return Block(line, _cell(group[1], markdown, env).shown, int(first.tag[1]))
    if first.type == "table_open":
        return Block(line, Markup(), table=_table(group, markdown, env, lines))
    shown = Markup(_HTML.render(_safe(group), markdown.options, env))
    return Block(line, shown, loose_row=_loose_row(group))


def _loose_row(group: Sequence[Token]) -> int | None:
    """The line of the first text that looks like a row, such as one after an empty line in the middle of a table."""
    for token in group:
        if token.type == "inline" and token.map:
            for place, line in enumerate(token.content.split("\n")):
                if line.startswith("|") or line.count("|") > 2:
                    return token.map[0] + place + 1
    return None


def _table(group: Sequence[Token], markdown: MarkdownIt, env: dict[str, Any], lines: list[str]) -> WrittenTable:
    rows: list[WrittenRow] = []
    cells: list[Cell] = []
    for token in group:
        if token.type == "tr_open":
            cells = []
        elif token.type == "inline":
            cells.append(_cell(token, markdown, env))
        elif token.type == "tr_close":
            rows.append(WrittenRow(0, tuple(cells), ()))
    wide = len(rows[0].cells)
    starts = [token.map[0] for token in group if token.type == "tr_open" and token.map]
    rows = [
        WrittenRow(start + 1, row.cells, _over(lines[start], wide, markdown, env))
        for start, row in zip(starts, rows, strict=True)
    ]
    return WrittenTable(rows[0].cells, tuple(rows[1:]))


def _over(line: str, wide: int, markdown: MarkdownIt, env: dict[str, Any]) -> tuple[Cell, ...]:
    """What a row holds beyond the table's columns, which the library leaves out: read under more columns."""
    columns = line.count("|") + 1
    if columns <= wide:
        return ()
    wider = markdown.parse(f"{'| a ' * columns}|\n{'| - ' * columns}|\n{line}", env)
    cells = [_cell(token, markdown, env) for token in wider if token.type == "inline"][columns + wide :]
    while cells and not cells[-1].written:
        cells.pop()
    return tuple(cells)


def _cell(token: Token, markdown: MarkdownIt, env: dict[str, Any]) -> Cell:
    shown = _HTML.renderInline(_safe(token.children or []), markdown.options, env)
    return Cell(token.content, Markup(shown))


def _safe(tokens: Sequence[Token]) -> list[Token]:
    """The tokens with what is not allowed turned into text. Refuses a token that is not in the list."""
    safe: list[Token] = []
    refused: str | None = None  # the address of a link that is none here
    for token in tokens:
        if token.type not in _KNOWN:
            raise ValueError(f"the commentary cannot be printed: {token.type} is not in the list")
        if token.children is not None and token.type != "image":
            token.children = _safe(token.children)
        if token.type in ("text", "code_inline", "code_block", "fence"):
            token.content, token.info = without_unseen_signs(token.content), ""  # an entity can name any sign
            safe.append(token)
        elif token.type == "image":
            words = "".join(child.content for child in token.children or [] if child.type in ("text", "code_inline"))
            safe.append(_text(without_unseen_signs(words) or "(a picture)"))
        elif token.type == "link_open":
            address = str(token.attrs.get("href", ""))
            refused = None if _LINK.fullmatch(address) else address
            if refused is None:
                safe.append(token)
        elif token.type == "link_close" and refused is not None:
            said = safe[-1].content if safe and safe[-1].type == "text" else ""
            if refused not in ("", said):
                safe.append(_text(f" ({without_unseen_signs(refused)})"))
            refused = None
        elif token.type in ("heading_open", "heading_close"):
            # In a list or a quotation: a heading there would break the order of the page's own.
            token.tag = "p"
            safe.append(token)
        else:
            safe.append(token)
    return safe


def _text(words: str) -> Token:
    return Token("text", "", 0, content=words)
