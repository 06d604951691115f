"""Labels and headings: what a code is called on a page, and in which order codes stand.

Comes in: reports/wording.toml. Goes out: a frozen Wording. Refuses: a route, a state at six weeks, a grain or a
direction that has no words. A level without an entry is shown as it is, since sites and practitioners are codes of
the service's own.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path

from pipeline.contracts.layout import CODE, DATE, INTEGER, TEXT, YES_NO
from pipeline.contracts.query_files import ROUTES, SIX_WEEKS

NOT_RECORDED = "not_recorded"


@dataclass(frozen=True)
class SectionWords:
    """A section: its name in the measures, its title, the sentence under it."""

    name: str
    title: str
    lead: str


@dataclass(frozen=True)
class Wording:
    """The whole wording file."""

    sections: tuple[SectionWords, ...]
    routes: Mapping[str, str]
    six_weeks: Mapping[str, str]
    grains: Mapping[str, tuple[str, str]]  # one, several
    better: Mapping[str, str]
    set_aside: Mapping[str, str]
    why_set_aside: Mapping[str, str]  # kind of a column of the layout -> what was wrong, where no check says it
    answers: Mapping[str, str]  # of one case, where a figure is traced
    levels: Mapping[str, Mapping[str, str]]  # breakdown -> level -> label; `any` is for every breakdown

    def level(self, breakdown: str, level: str) -> str:
        """What a level is called."""
        own, every = self.levels.get(breakdown, {}), self.levels.get("any", {})
        return own.get(level, every.get(level, level))

    def listed(self, breakdown: str) -> tuple[str, ...]:
        """The levels the file lists for a breakdown."""
        return tuple(self.levels.get(breakdown, {}))

    def in_order(self, breakdown: str, levels: Iterable[str]) -> tuple[str, ...]:
        """The levels as the file orders them; those it does not list by name; what is not recorded last."""
        listed = list(self.levels.get(breakdown, {}))

        def place(level: str) -> tuple[bool, int, str]:
            return level == NOT_RECORDED, listed.index(level) if level in listed else len(listed), level

        return tuple(sorted(set(levels), key=place))

    def several(self, grain: str, count: int) -> str:
        """`1 case`, `12 divisions`."""
        one, more = self.grains[grain]
        return f"{count} {one if count == 1 else more}"

    def section(self, name: str) -> SectionWords:
        """The words of a section; its own name where the file has none."""
        unlisted = SectionWords(name, name.replace("_", " ").capitalize(), "")
        return next((section for section in self.sections if section.name == name), unlisted)


def read(path: Path) -> Wording:
    """Read the wording file."""
    stated = tomllib.loads(path.read_text(encoding="utf-8"))
    for table, needed in (
        ("routes", ROUTES),
        ("six_weeks", SIX_WEEKS),
        ("grains", ("case", "request", "referral", "division")),
        ("better", ("higher", "lower", "shorter", "none")),
        ("set_aside", ("row", "value")),
        ("why_set_aside", ("line", TEXT, CODE, INTEGER, DATE, YES_NO)),
        ("answers", ("met", "not_met", "other_end", "unknown", "counted")),
    ):
        missing = [name for name in needed if name not in stated[table]]
        if missing:
            raise ValueError(f"{path.name}: [{table}] has no words for {', '.join(missing)}")
    return Wording(
        sections=tuple(
            SectionWords(section["name"], section["title"], section["lead"]) for section in stated["sections"]
        ),
        routes=stated["routes"],
        six_weeks=stated["six_weeks"],
        grains={grain: (words[0], words[1]) for grain, words in stated["grains"].items()},
        better=stated["better"],
        set_aside=stated["set_aside"],
        why_set_aside=stated["why_set_aside"],
        answers=stated["answers"],
        levels=stated["levels"],
    )
