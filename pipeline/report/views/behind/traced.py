"""A figure with everything behind it, in words: what the terminal prints and trace.html shows.

Comes in: figures, the tables the measures left, the outcome, the settings. Goes out: a Traced for each, all texts.
Refuses: what the steps refuse.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import duckdb

from pipeline.contracts.places import REPORTS
from pipeline.contracts.query_files import ROUTES, SIX_WEEKS
from pipeline.lineage import behind_figure, export_lines, rests_on
from pipeline.lineage.behind_figure import Entry
from pipeline.lineage.export_lines import Load
from pipeline.lineage.figure_asked import ALL, EVERYONE, Figure
from pipeline.lineage.rests_on import RestsOn
from pipeline.outcomes.lookup import Lookup
from pipeline.outcomes.outcome import Outcome
from pipeline.report.views.behind.traced_case import TracedCase, traced_case
from pipeline.report.words import labels, sentences
from pipeline.report.words.dates import day_label
from pipeline.report.words.labels import Wording
from pipeline.report.words.sentences import counted
from pipeline.settings import Settings

TITLE_OF_FLOW = "What happened to everyone"
QUESTION_OF_FLOW = "Where did each case stand by the last day of the data, and how was the baby fed at six weeks?"


@dataclass(frozen=True)
class Group:
    """The cases with one answer, or in one cell of the flow."""

    key: str
    title: str
    number: int
    cases: tuple[TracedCase, ...]  # those listed: all, or the first of them


@dataclass(frozen=True)
class Traced:
    """A figure and all behind it."""

    figure: Figure
    title: str
    question: str
    sentence: str  # the figure, as the edition words it
    counted_on: str  # what puts a case in the quarter
    adds_up: str  # the sum of its groups, and that it is the figure's own
    rests_on: str  # in which tables of the export
    listed: str  # how many of how many are listed, where that is not all
    groups: tuple[Group, ...]
    loads: tuple[str, ...]


def traced_of(
    con: duckdb.DuckDBPyConnection,
    outcome: Outcome,
    settings: Settings,
    figures: Sequence[Figure],
    most: int | None = None,
) -> tuple[Traced, ...]:
    """Trace every figure, `most` cases of each in the order of a review; the exports are read once for all of them."""
    words = labels.read(REPORTS / "wording.toml")
    entries = behind_figure.behind(con, figures, outcome)
    listed = [of_it[:most] for of_it in entries]
    lines = export_lines.read(con, {entry.case_ref for of_it in listed for entry in of_it})
    known = rests_on.ground(con)
    traced = []
    for figure, of_it, shown in zip(figures, entries, listed, strict=True):
        rests = rests_on.rests_on(known, [figure.sql], figure.split_by)
        own_loads = {lines.counts_as[entry.case_ref].load for entry in shown}
        loads = tuple(_load(load, rests) for load in lines.loads if load.number in own_loads)
        several, first = len(loads) > 1, {key: cases for key, _, cases in _grouped(figure, shown, words)}
        groups = tuple(
            Group(
                key,
                title,
                len(members),
                tuple(traced_case(figure, entry, rests, lines, several) for entry in first.get(key, ())),
            )
            for key, title, members in _grouped(figure, of_it, words)
        )
        total = words.several(figure.grain.name, len(of_it))
        traced.append(
            Traced(
                figure=figure,
                title=_title(figure, outcome, words),
                question=figure.measure.question if figure.measure else QUESTION_OF_FLOW,
                sentence=_sentence(figure, outcome.lookup, groups, words),
                counted_on=figure.measure.counted_on if figure.is_measure and figure.measure else "",
                adds_up=_adds_up(figure, groups, total),
                rests_on=_rests_on(rests, settings),
                listed=f"the first {len(shown)} of {total}" if len(shown) < len(of_it) else "",
                groups=groups,
                loads=loads,
            )
        )
    return tuple(traced)


def _title(figure: Figure, outcome: Outcome, words: Wording) -> str:
    whole = figure.apart.title if figure.apart else figure.measure.title if figure.measure else TITLE_OF_FLOW
    if figure.breakdown == ALL:
        return whole
    if figure.measure is None:
        named = {**words.routes, **words.six_weeks}
        return f"{whole}: {named[figure.level]}"
    split = next(breakdown.title for breakdown in outcome.breakdowns if breakdown.name == figure.breakdown)
    return f"{whole}. {split}: {words.level(figure.breakdown, figure.level)}"


def _sentence(figure: Figure, results: Lookup, groups: Sequence[Group], words: Wording) -> str:
    if figure.is_measure and figure.measure:
        result = results.results.get((figure.name, figure.period, figure.breakdown, figure.level))
        return sentences.figure(figure.measure, result, words.grains[figure.measure.grain][1])
    total = words.several(figure.grain.name, sum(group.number for group in groups))
    if figure.name != EVERYONE:
        return total
    by_route = [(route, sum(group.number for group in groups if group.key.startswith(f"{route}-"))) for route in ROUTES]
    parts = ", ".join(f"{number} {words.routes[route].lower()}" for route, number in by_route if number)
    return f"{total}{f': {parts}' if parts else ''}"


def _load(load: Load, rests: RestsOn) -> str:
    """The load, and what its sheet calls the columns where it is not in the layout."""
    source = f" ({load.source})" if load.source else ""
    called = [
        f"{table}.{column} is {' or '.join(told)}"
        for (table, column), told in load.said_as.items()
        # The reference is the same whatever the table.
        if (table, column) in rests.written and (table == "cases" or column != "case_ref")
    ]
    read = f", read through its mapping: {'; '.join(called)}" if called else ""
    return f"Load {load.number}: {load.export}{source}, drawn {day_label(load.extracted_on)}{read}"


def _rests_on(rests: RestsOn, settings: Settings) -> str:
    used = [f"{name} ({', '.join(columns)})" if columns else name for name, columns in rests.used().items()]
    chosen = sorted(name for table, name in rests.worked_out if table == "settings" and name)
    return "; ".join([*used, *(f"the setting {name} = {getattr(settings, name)}" for name in chosen)])


def _grouped(figure: Figure, entries: Sequence[Entry], words: Wording) -> Iterator[tuple[str, str, list[Entry]]]:
    """Key, title and members of each group that is not empty, in order."""
    if figure.name == EVERYONE:
        for cell in ((route, weeks) for route in ROUTES for weeks in SIX_WEEKS):
            members = [entry for entry in entries if entry.cell == cell]
            if members:
                yield "-".join(cell), f"{words.routes[cell[0]]}; {words.six_weeks[cell[1]].lower()}", members
        return
    for answer in behind_figure.order(figure):
        members = [entry for entry in entries if entry.answer == answer]
        if members:
            yield answer, words.answers[answer], members


def _adds_up(figure: Figure, groups: Sequence[Group], total: str) -> str:
    parts = " + ".join(f"{group.number} {group.title.lower()}" for group in groups)
    if figure.name == EVERYONE:
        return f"{total} in {counted(len(groups), 'cell')}, each as many as the flow says"
    if figure.apart is not None:
        return f"{total}, as many as the page says"
    if len(groups) < 2:
        return f"{total}{f', all {groups[0].title.lower()}' if groups else ''}, as in results.csv"
    return f"{total} = {parts}, as in results.csv"
