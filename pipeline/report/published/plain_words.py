"""The plain words of the published report: reports/published.toml, and shares as one says them aloud.

Comes in: the file; two counts. Goes out: frozen words. Refuses: to say a share of which either count is missing.
"""

from __future__ import annotations

import functools
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from pipeline.contracts.measure_files import REPORTED_DAY
from pipeline.report.words.labels import SectionWords
from pipeline.report.words.sentences import interval, percent
from pipeline.statistics.proportions import wilson

C, LOW = "[c]", "[low]"  # how the two marks stand on the page
_NEAR = 0.02  # a share so near to a fraction is about that fraction
_FRACTIONS = (
    *((1 / 20, "one in twenty"), (1 / 10, "one in ten"), (1 / 5, "one in five"), (1 / 4, "one in four")),
    *((3 / 10, "three in ten"), (1 / 3, "one in three"), (2 / 5, "two in five"), (1 / 2, "half")),
    *((3 / 5, "three in five"), (2 / 3, "two in three"), (7 / 10, "seven in ten"), (3 / 4, "three in four")),
    *((4 / 5, "four in five"), (9 / 10, "nine in ten"), (19 / 20, "nineteen in twenty")),
)


@dataclass(frozen=True)
class Plain:
    """How a measure is said: about four in five of the `of` `did`."""

    of: str
    did: str


@dataclass(frozen=True)
class PublishedWords:
    """The whole file."""

    came: tuple[tuple[str, str, str], ...]  # section and row of activity, and the words behind its number
    sections: tuple[SectionWords, ...]
    measures: Mapping[str, Plain]
    placed: Mapping[str, str]  # measures that stand in another section than their own
    national: tuple[Mapping[str, str], ...]


def read(path: Path, seen_promptly_days: int) -> PublishedWords:
    """Read the file, with the service's own number in its texts."""
    stated = tomllib.loads(path.read_text(encoding="utf-8"))

    def worded(text: str) -> str:
        return text.replace("{seen_promptly_days}", str(seen_promptly_days)).replace("{within}", str(REPORTED_DAY))

    return PublishedWords(
        came=tuple((row["section"], row["level"], row["words"]) for row in stated["came"]),
        sections=tuple(SectionWords(row["name"], row["title"], row["lead"]) for row in stated["sections"]),
        measures={name: Plain(said["of"], worded(said["did"])) for name, said in stated["measures"].items()},
        placed={name: said["section"] for name, said in stated["measures"].items() if "section" in said},
        national=tuple(stated["national"]),
    )


def in_words(met: int, of: int) -> str:
    """A share of at least one as one says it: `four in five`, `about half`, `more than nine in ten`."""
    share = met / of
    if met in (0, of):
        return "all" if met else "none"
    below = [(fraction, words) for fraction, words in _FRACTIONS if fraction <= share]
    above = [(fraction, words) for fraction, words in _FRACTIONS if fraction > share]
    if below and below[-1][0] * of == met:
        return below[-1][1]
    near = [pair for pair in (*below[-1:], *above[:1]) if abs(pair[0] - share) <= _NEAR]
    if near:
        return "about " + min(near, key=lambda pair: abs(pair[0] - share))[1]
    return f"more than {below[-1][1]}" if below else f"fewer than {above[0][1]}"


def count(number: int | None) -> str:
    """A count, or the mark in its place."""
    return C if number is None else f"{number:,}"


def figure(met: int | None, of: int | None) -> str:
    """`160 of 200 (80%)`; a percentage only where both stand there."""
    if of == 0:
        return "none to count"
    if met is None or of is None:
        return C if met is None and of is None else f"{count(met)} of {count(of)}"
    return f"{met:,} of {of:,} ({percent(met / of)})"


@functools.cache
def chance(met: int | None, of: int | None) -> str:
    """What chance alone leaves open, by Wilson's interval; empty where a count is missing."""
    if met is None or not of:
        return ""
    lower, upper = wilson(met, of)
    return interval(float(lower), float(upper))
