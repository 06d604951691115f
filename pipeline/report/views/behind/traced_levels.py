"""The cases behind every other figure of a period, by reference: each measure, everyone and each group of it.

Comes in: the tables the measures left, the outcome, the settings. Goes out:
a TracedMeasure for each measure, all texts, with the ids that links to them end in. The lines of these cases are not
read: `feeding-audit trace` prints those of one figure.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from urllib.parse import quote

import duckdb

from pipeline.contracts.places import REPORTS
from pipeline.lineage import behind_figure
from pipeline.lineage.behind_figure import Entry
from pipeline.lineage.figure_asked import ALL, Figure
from pipeline.outcomes.outcome import Outcome
from pipeline.report.words import labels, sentences
from pipeline.report.words.labels import Wording
from pipeline.settings import Settings

_LEFT_BY_SCRIPTS = "!'()*~"  # encodeURIComponent of the explorer leaves these as they are


@dataclass(frozen=True)
class Answered:
    """The references with one answer."""

    title: str
    number: int
    references: tuple[str, ...]  # those listed: all, or the first of them; of a wait with its days


@dataclass(frozen=True)
class TracedLevel:
    """One figure with the references behind it."""

    key: str  # the id of its place
    label: str
    sentence: str
    listed: str  # how many of how many are listed, where that is not all
    answers: tuple[Answered, ...]


@dataclass(frozen=True)
class TracedMeasure:
    """One measure: its breakdowns with their levels, everyone first."""

    name: str
    title: str
    splits: tuple[tuple[str, tuple[TracedLevel, ...]], ...]


def level_key(measure: str, breakdown: str, level: str) -> str:
    """What trace.html calls the place of a figure; the explorer makes the same of it (reports/explore/points.js)."""
    return measure if breakdown == ALL else f"{measure}-{breakdown}-{quote(level, safe=_LEFT_BY_SCRIPTS)}"


def traced_levels(con: duckdb.DuckDBPyConnection, outcome: Outcome, settings: Settings) -> tuple[TracedMeasure, ...]:
    """Every measure that counts anybody; everyone of those at a glance is left out: it stands in full on the page."""
    words = labels.read(REPORTS / "wording.toml")
    sections = [section.name for section in words.sections] + sorted({one.section for one in outcome.measures})
    traced = []
    for measure in sorted(outcome.measures, key=lambda measure: sections.index(measure.section)):
        splits = []
        behind = behind_figure.behind_each_level(con, measure, outcome)
        for split in outcome.breakdowns:
            by_level = {figure.level: (figure, entries) for figure, entries in behind[split.name] if entries}
            levels = [
                _level(*by_level[level], outcome, words, settings.traced_cases)
                for level in words.in_order(split.name, by_level)
            ]
            if levels and (split.name != ALL or measure.name not in settings.at_a_glance):
                splits.append((split.title, tuple(levels)))
        if splits:
            traced.append(TracedMeasure(measure.name, measure.title, tuple(splits)))
    return tuple(traced)


def _level(figure: Figure, entries: Sequence[Entry], outcome: Outcome, words: Wording, most: int) -> TracedLevel:
    assert figure.measure is not None
    measure, breakdown = figure.measure, figure.breakdown
    shown, many = entries[:most], behind_figure.by_answer(entries)
    result = outcome.lookup.results[figure.name, figure.period, breakdown, figure.level]
    answers = [
        Answered(
            words.answers[answer],
            many[answer],
            tuple(_reference(entry) for entry in shown if entry.answer == answer),
        )
        for answer in behind_figure.order(figure)
    ]
    total = words.several(figure.grain.name, len(entries))
    return TracedLevel(
        level_key(figure.name, breakdown, figure.level),
        "Everyone" if breakdown == ALL else words.level(breakdown, figure.level),
        sentences.figure(measure, result, words.grains[measure.grain][1]),
        f"the first {len(shown)} of {total}" if len(shown) < len(entries) else "",
        tuple(answered for answered in answers if answered.number),
    )


def _reference(entry: Entry) -> str:
    return entry.case_ref if entry.days is None else f"{entry.case_ref} ({sentences.days_long(entry.days)})"
