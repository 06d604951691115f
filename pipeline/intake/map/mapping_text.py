"""What the parts of a mapping file's reading share: the file with its faults so far, its lists of codes, its words.

Comes in: values as the TOML parser gives them, and where they stand. Goes out: values of the right kind, and faults
with file and line, which are gathered, so that all are told at once.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from collections.abc import Mapping as Map
from dataclasses import dataclass, field
from typing import Any

from pipeline.contracts.layout import Column
from pipeline.errors import Fault, nearest
from pipeline.intake.map.mapping import Place, line_of
from pipeline.intake.map.translation import folded

UNDECIDED = "???"  # what `suggest` writes where a person has to decide


@dataclass(frozen=True)
class Noted:
    """A fault and its line. Those of one cause are told once, with the lines of all."""

    line: int
    fault: Fault
    cause: str


@dataclass(frozen=True)
class Written:
    """A mapping file while it is read. `faults` grows."""

    name: str
    lines: Map[Place, int]
    faults: list[Noted]

    def fault(self, place: Place, found: str, allowed: str, mend: str, cause: str = "") -> None:
        """Note a fault at a place of the file; `cause` is what other faults may have in common with it."""
        line = line_of(self.lines, place)
        self.faults.append(Noted(line, Fault(f"{self.name}, line {line}", found, allowed, mend), cause))

    def told(self) -> list[Fault]:
        """The faults in the order of the lines, one for each cause."""
        told: list[Fault] = []
        in_order = sorted(self.faults, key=lambda noted: noted.line)
        seen: set[str] = set()
        for noted in in_order:
            if noted.cause in seen:
                continue
            also = [str(other.line) for other in in_order if noted.cause and other.cause == noted.cause][1:]
            fault = noted.fault
            if also:
                seen.add(noted.cause)
                more = f"; the same in line{'s' if len(also) > 1 else ''} {', '.join(also)}"
                fault = Fault(fault.where, fault.found + more, fault.allowed, fault.mend)
            told.append(fault)
        return told

    def undecided(self, place: Place, what: str, allowed: str) -> None:
        """Note that a person has still to decide."""
        mend = "write it instead of the question marks, or put the # before the line again"
        self.fault(place, f'{what} = "{UNDECIDED}" is still to be decided', allowed, mend)

    def know(self, place: Place, content: Iterable[str], keys: Iterable[str], what: str) -> None:
        """Note every key of a table that the format does not know."""
        for key in content:
            if key not in keys:
                allowed = f"{', '.join(keys)}{nearest(key, keys)}"
                self.fault((*place, key), f"{key} is nothing {what} can say", allowed, "correct or remove it")

    def table(self, place: Place, content: Any) -> Iterator[tuple[str, Any]]:
        """What stands in a table; a fault where it is none."""
        if isinstance(content, dict):
            yield from content.items()
        else:
            found = f"{place[-1]} = {shown(content)}"
            allowed = "names, each with what it stands for"
            self.fault(place, found, allowed, f"write it as [{place[-1]}], or in braces: {place[-1]} = {{ ... }}")

    def codes(self, place: Place, content: Any) -> dict[str, str]:
        """A list of codes: written code -> layout code, as far as both are texts."""
        codes: dict[str, str] = {}
        for raw, meant in self.table(place, content):
            written = raw.strip()
            if not written:
                self.fault((*place, raw), "a code that is empty", "what is written in the sheet", "remove it")
            elif written in codes:
                self.fault((*place, raw), f"{shown(written)} for the second time", "each code once", "remove one")
            elif not isinstance(meant, str):
                found, allowed = f"{shown(raw)} = {shown(meant)}", 'a code of the layout in quotes, or "" for nothing'
                self.fault((*place, raw), found, allowed, "put it in quotes")
            else:
                codes[written] = meant.strip()
        if content == {}:
            self.fault(place, "a list without a code", "one code at least", "write the codes, or remove the list")
        return codes


@dataclass(frozen=True)
class Lists:
    """The mapping's own lists of codes. `used` grows, and so does `unfit`: list and code -> columns it is wrong in."""

    own: Map[str, Map[str, str]]
    nothing: frozenset[str] = frozenset()  # the texts that are nothing in every column, folded
    used: set[str] = field(default_factory=set)
    unfit: dict[tuple[str, str], list[Column]] = field(default_factory=dict)

    def like(self, name: str) -> str:
        """The names of lists most like a name; a list that was likely meant is not unused as well."""
        hint = nearest(name, self.own)
        self.used.update(known for known in self.own if known in hint.partition(": ")[2].split(", "))
        return hint

    def count_as_used(self, columns: Any) -> None:
        """What a faulty part names is not unused as well: one mistake, one fault."""
        for origin in columns.values() if isinstance(columns, dict) else ():
            if isinstance(origin, dict) and isinstance(origin.get("codes"), str):
                self.used.add(origin["codes"])


def read_nothing(file: Written, written: Any) -> frozenset[str]:
    """The texts that are nothing in every column of the mapping."""
    if isinstance(written, list) and all(is_text(text) for text in written):
        return frozenset(map(folded, written))
    if written == UNDECIDED:
        file.undecided(("nothing",), "nothing", 'the texts that stand for nothing recorded, such as ["-", "n/a"]')
    else:
        allowed = 'a list of texts that are not empty, such as ["-", "n/a", "nil"]'
        file.fault(("nothing",), f"nothing = {shown(written)}", allowed, "correct it, or leave it out")
    return frozenset()


def is_text(value: Any) -> bool:
    """A text that holds something."""
    return isinstance(value, str) and bool(value.strip())


def column_names(written: Any) -> tuple[str, ...]:
    """The names of a column, of which a sheet has one: a text, or a list of texts that differ; () where it is none."""
    names = written if isinstance(written, list) else [written]
    spaced = tuple(single_spaced(name) for name in names if is_text(name))
    return spaced if len(set(spaced)) == len(names) else ()


def single_spaced(name: str) -> str:
    """A column's name as reading makes it: white space single, none around it."""
    return " ".join(name.split())


def shown(value: Any) -> str:
    """A value of the file as it could be written there."""
    if isinstance(value, str):
        return f'"{value}"'
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, list):
        return f"[{', '.join(shown(part) for part in value)}]"
    if isinstance(value, dict):
        return "{" + ", ".join(f"{key} = {shown(part)}" for key, part in value.items()) + "}"
    return str(value)
