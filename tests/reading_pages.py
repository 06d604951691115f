"""A page read back: its tags, headings, tables and texts, as a parser of HTML sees them."""

from __future__ import annotations

import re
import unicodedata
from html.parser import HTMLParser

INLINE = ("a", "b", "bdi", "i", "span")  # what is in them is of the cell they stand in


class Reader(HTMLParser):
    """Start tags with their attributes, headings in order, and tables as rows of text by their caption's id."""

    def __init__(self):
        super().__init__()
        self.tags, self.headings, self.tables, self.texts = [], [], {}, []
        self._rows, self._cell, self._caption = None, False, ""

    def handle_starttag(self, tag, attrs):
        named = dict(attrs)
        self.tags.append((tag, named))
        if re.fullmatch(r"h[1-6]", tag):
            self.headings.append(int(tag[1]))
        if tag == "table":
            self._rows = []
        elif tag == "caption":
            self._caption = named["id"]
        elif tag == "tr":
            self._rows.append([])
        if tag in ("td", "th"):
            self._cell = True
            self._rows[-1].append("")
        elif tag not in INLINE:
            self._cell = False

    def handle_endtag(self, tag):
        if tag == "table":
            self.tables[self._caption] = self._rows
        self._cell = self._cell and tag in INLINE

    def handle_data(self, data):
        self.texts.append(data)
        if self._cell:
            self._rows[-1][-1] += data.strip()

    def values(self, name):
        return [named[name] for _, named in self.tags if name in named]


def read(text):
    reader = Reader()
    reader.feed(text)
    return reader


def together(text: str) -> str:
    """A text without its spaces and ligatures: a PDF breaks lines where it likes, and may write ff as one sign."""
    return re.sub(r"\s+", "", unicodedata.normalize("NFKC", text))


def broken_rows(page: str, sheets: list[str]) -> list[str]:
    """Cells of a page that are whole on none of its sheets of paper: cut off, folded away, or broken across two."""
    text = "\n".join(map(together, sheets))
    cells = {together(cell) for table in read(page).tables.values() for row in table for cell in row}
    return sorted(cell for cell in cells if cell not in text)
