"""The parts of a workbook in (XML), what a reader of cells does not tell out: where it ends, and its error cells.

calamine hands an error cell over as nothing, and a formula whose result was never saved as well; taken as blank they
would vanish. It also makes room for every cell up to the last one, so a stray cell far out must be known before.
Refuses XML that is broken, and a cell that is longer than is read.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from xml.parsers import expat

from pipeline.intake.read.limits import LONGEST_LINE

NOT_CALCULATED = "(a formula without a saved result)"
_AREA = re.compile(r"([A-Z]+)([0-9]+):[A-Z]+([0-9]+)")
_YES = ("1", "true")
_BLACK_OR_AUTOMATIC = ({"auto": "1"}, {"theme": "1"}, {"indexed": "8"}, {"indexed": "64"}, {"rgb": "FF000000"})
_PLACE = re.compile(r"([A-Z]+)([0-9]+)")


class BrokenXml(Exception):
    """A part of the workbook that cannot be read."""


class LongCell(Exception):
    """A cell with a longer text than is read, and how long it is."""


@dataclass(frozen=True)
class Survey:
    """One worksheet, as its own XML tells it. Rows and columns are counted from 1."""

    last_row: int  # that holds more than white space
    rightmost: Mapping[int, int]  # of each such row, the last column that does
    far_row: int  # where cells end, those that hold nothing included
    far_column: int
    overlooked: Mapping[tuple[int, int], str]  # (row, column): what calamine would take for nothing
    coloured_row: int  # the last one with a coloured cell; 0 is none
    struck: int  # cells with text that is struck through
    hidden_rows: int  # of those that hold anything
    hidden_columns: int  # of those in use
    filtered: bool
    merged: tuple[tuple[int, int, int], ...]  # column, first and last row of merged cells

    @property
    def not_calculated(self) -> int:
        """Formulas whose results were never saved."""
        return sum(text == NOT_CALCULATED for text in self.overlooked.values())


@dataclass(frozen=True)
class Looks:
    """The numbers of the cell styles that colour a cell or its text, and of those that strike it through."""

    coloured: frozenset[str] = frozenset()
    struck: frozenset[str] = frozenset()


class _Cells:
    """What the parser has met so far; it calls back, so the place must be remembered between calls."""

    def __init__(self, blank_strings: frozenset[int], looks: Looks) -> None:
        self.blank_strings, self.looks = blank_strings, looks
        self.style: str | None = None
        self.coloured_row = self.struck = 0
        self.hidden_rows: set[int] = set()
        self.hidden_columns: list[tuple[int, int]] = []
        self.filtered = False
        self.merged: list[tuple[int, int, int]] = []
        self.row = self.column = self.far_row = self.far_column = 0
        self.rightmost: dict[int, int] = {}
        self.overlooked: dict[tuple[int, int], str] = {}
        self.kind = ""
        self.formula = self.reading = self.phonetic = False
        self.value: list[str] = []

    def start(self, name: str, attributes: dict[str, str]) -> None:
        name = name.rpartition(":")[2]
        if name == "c":
            place = _PLACE.fullmatch(attributes.get("r", ""))
            self.column = _number(place[1]) if place else self.column + 1
            self.row = int(place[2]) if place else self.row
            self.kind, self.formula, self.value = attributes.get("t", "n"), False, []
            self.style = attributes.get("s")
        elif name == "row":
            self.row, self.column = int(attributes.get("r", self.row + 1)), 0
            if attributes.get("hidden") in _YES:
                self.hidden_rows.add(self.row)
        elif name in ("v", "t"):
            self.reading = not self.phonetic
        elif name == "rPh":
            self.phonetic = True
        elif name == "f":
            self.formula = True
        elif name == "col" and attributes.get("hidden") in _YES:
            self.hidden_columns.append((int(attributes.get("min", 1)), int(attributes.get("max", 1))))
        elif name == "autoFilter":
            self.filtered = True
        elif name == "mergeCell" and (place := _AREA.fullmatch(attributes.get("ref", ""))):
            self.merged.append((_number(place[1]), int(place[2]), int(place[3])))

    def text(self, text: str) -> None:
        if self.reading:
            self.value.append(text)

    def end(self, name: str) -> None:
        name = name.rpartition(":")[2]
        if name in ("v", "t"):
            self.reading = False
        elif name == "rPh":
            self.phonetic = False
        elif name == "c":
            self._cell("".join(self.value).strip())

    def _cell(self, value: str) -> None:
        if len(value) > LONGEST_LINE:
            raise LongCell(len(value))
        if value or self.formula or self.kind != "n":
            self.far_row, self.far_column = max(self.far_row, self.row), max(self.far_column, self.column)
        if self.kind == "e":
            self.overlooked[self.row, self.column] = value = value or "#ERROR"
        elif self.formula and not value and self.kind not in ("str", "s", "inlineStr"):
            self.overlooked[self.row, self.column] = value = NOT_CALCULATED
        elif self.kind == "s" and value and int(value) in self.blank_strings:
            value = ""
        if self.style in self.looks.coloured:
            self.coloured_row = self.row
        if value:
            self.struck += self.style in self.looks.struck
            self.rightmost[self.row] = max(self.rightmost.get(self.row, 0), self.column)


def survey(part: bytes, blank_strings: frozenset[int], looks: Looks) -> Survey:
    """Go through one worksheet. Raises BrokenXml and LongCell."""
    cells = _Cells(blank_strings, looks)
    _parse(part, cells.start, cells.end, cells.text)
    return Survey(
        last_row=max(cells.rightmost, default=0),
        rightmost=cells.rightmost,
        far_row=cells.far_row,
        far_column=cells.far_column,
        overlooked=cells.overlooked,
        coloured_row=cells.coloured_row,
        struck=cells.struck,
        hidden_rows=len(cells.hidden_rows & cells.rightmost.keys()),
        hidden_columns=sum(max(min(last, cells.far_column) - first + 1, 0) for first, last in cells.hidden_columns),
        filtered=cells.filtered,
        merged=tuple(cells.merged),
    )


def looks(part: bytes) -> Looks:
    """What the styles of a workbook make of its cells. Raises BrokenXml."""
    section, fonts, fills, styles = "", [], [], []
    for name, attributes in elements(part):
        if name in ("fonts", "fills", "borders", "cellStyleXfs", "cellXfs", "cellStyles", "dxfs", "colors"):
            section = name
        elif (section, name) == ("fonts", "font"):
            fonts.append({"struck": False, "coloured": False})
        elif (section, name) == ("fonts", "strike") and fonts:
            fonts[-1]["struck"] = attributes.get("val", "1") in _YES
        elif (section, name) == ("fonts", "color") and fonts:
            fonts[-1]["coloured"] = attributes not in _BLACK_OR_AUTOMATIC
        elif (section, name) == ("fills", "fill"):
            fills.append(False)
        elif (section, name) in (("fills", "patternFill"), ("fills", "gradientFill")) and fills:
            fills[-1] = attributes.get("patternType", "none" if name == "patternFill" else name) != "none"
        elif (section, name) == ("cellXfs", "xf"):
            styles.append((attributes.get("fontId", "0"), attributes.get("fillId", "0")))
    coloured_fonts = {str(number) for number, font in enumerate(fonts) if font["coloured"]}
    struck_fonts = {str(number) for number, font in enumerate(fonts) if font["struck"]}
    # The first two fills are reserved: none, and a grey that no cell has.
    filled = {str(number) for number, fill in enumerate(fills) if fill and number > 1}
    return Looks(
        frozenset(str(at) for at, (font, fill) in enumerate(styles) if font in coloured_fonts or fill in filled),
        frozenset(str(at) for at, (font, _) in enumerate(styles) if font in struck_fonts),
    )


def blank_strings(part: bytes) -> frozenset[int]:
    """The numbers of the shared texts that hold nothing but white space."""
    blank: set[int] = set()
    number, inside, phonetic, text = -1, False, False, ""

    def start(name: str, _: dict[str, str]) -> None:
        nonlocal number, inside, phonetic, text
        name = name.rpartition(":")[2]
        if name == "si":
            number, text = number + 1, ""
        inside = name == "t" and not phonetic
        phonetic = phonetic or name == "rPh"

    def end(name: str) -> None:
        nonlocal inside, phonetic
        name = name.rpartition(":")[2]
        inside = False
        phonetic = phonetic and name != "rPh"
        if name == "si" and len(text) > LONGEST_LINE:
            raise LongCell(len(text))
        if name == "si" and not text.strip():
            blank.add(number)

    def read(written: str) -> None:
        nonlocal text
        text += written if inside else ""

    _parse(part, start, end, read)
    return frozenset(blank)


def elements(part: bytes) -> list[tuple[str, dict[str, str]]]:
    """Every element of a small part, in order: its name and its attributes, both without the prefix."""
    in_order: list[tuple[str, dict[str, str]]] = []

    def start(name: str, attributes: dict[str, str]) -> None:
        plain = {key.rpartition(":")[2]: value for key, value in attributes.items()}
        in_order.append((name.rpartition(":")[2], plain))

    _parse(part, start, lambda _: None, lambda _: None)
    return in_order


def _parse(
    part: bytes, start: Callable[[str, dict[str, str]], None], end: Callable[[str], None], text: Callable[[str], None]
) -> None:
    parser = expat.ParserCreate()
    parser.buffer_text = True
    parser.StartElementHandler = start
    parser.EndElementHandler = end
    parser.CharacterDataHandler = text
    try:
        parser.Parse(part, True)
    except (expat.ExpatError, ValueError) as error:
        raise BrokenXml from error


def _number(letters: str) -> int:
    number = 0
    for letter in letters:
        number = number * 26 + ord(letter) - 64
    return number
