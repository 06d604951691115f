"""Equity: the primary measures by who the families are, each group beside everyone else.

Comes in: the edition's content, the wording. Goes out: frozen views the templates print.
Refuses: to rank groups; to compare medians, which have no interval here, or a group with itself.
"""

from __future__ import annotations

from dataclasses import dataclass

from pipeline.contracts.measure_files import DAYS, PROPORTION, Breakdown, Measure
from pipeline.outcomes.lookup import Lookup, Result
from pipeline.report.charts import by_level
from pipeline.report.charts.looks import NARROW, WIDE
from pipeline.report.content.edition import EditionContent
from pipeline.report.views.measure_views import Chart, chart
from pipeline.report.words import sentences
from pipeline.report.words.dates import long_label
from pipeline.report.words.labels import Wording
from pipeline.report.words.verdicts import LOOK, NONE, mark
from pipeline.statistics.comparison import newcombe


@dataclass(frozen=True)
class ByGroup:
    """One primary measure by every breakdown that asks about equity."""

    measure: Measure
    figure: str
    chart: Chart


@dataclass(frozen=True)
class Apart:
    """A group whose figure differs from everyone else's by more than chance alone would usually give."""

    measure: Measure
    group: str
    text: str


@dataclass(frozen=True)
class Equity:
    """Every primary measure, and which groups stand apart, out of how many comparisons."""

    breakdowns: tuple[str, ...]  # their titles
    views: tuple[ByGroup, ...]
    apart: tuple[Apart, ...]
    comparisons: int
    expected: str


def equity(content: EditionContent, wording: Wording) -> Equity:
    """The primary measures that are shares, in the order of the settings."""
    breakdowns = tuple(each for each in content.breakdowns if each.for_equity)
    named = {measure.name: measure for measure in content.measures}
    measures = tuple(named[name] for name in content.settings.at_a_glance if named[name].kind != DAYS)
    views, apart, comparisons = [], [], 0
    for measure in measures if breakdowns else ():
        groups = [(each, _levels(measure, each, content.lookup, content.quarter, wording)) for each in breakdowns]
        everyone = content.lookup.everyone(measure.name, content.quarter)
        views.append(_view(measure, groups, everyone, content.quarter, wording))
        for breakdown, levels in groups:
            for level, result in levels:
                verdict, text = _beside_the_rest(measure, result, everyone)
                comparisons += verdict != NONE
                if verdict == LOOK:
                    label = f"{breakdown.title}, {wording.level(breakdown.name, level)}"
                    apart.append(Apart(measure, label, text))
    expected = sentences.rounded(comparisons * 0.05, 1).removesuffix(".0")
    return Equity(tuple(each.title for each in breakdowns), tuple(views), tuple(apart), comparisons, expected)


def _levels(
    measure: Measure, breakdown: Breakdown, lookup: Lookup, quarter: str, wording: Wording
) -> list[tuple[str, Result | None]]:
    there = lookup.levels.get((measure.name, quarter, breakdown.name), ())
    listed = wording.in_order(breakdown.name, {*there, *wording.listed(breakdown.name)})
    return [(level, lookup.results.get((measure.name, quarter, breakdown.name, level))) for level in listed]


def _view(
    measure: Measure,
    groups: list[tuple[Breakdown, list[tuple[str, Result | None]]]],
    everyone: Result | None,
    quarter: str,
    wording: Wording,
) -> ByGroup:
    figure = sentences.figure(measure, everyone, wording.grains[measure.grain][1])
    rows = [
        (each.title, [(wording.level(each.name, level), result) for level, result in levels]) for each, levels in groups
    ]
    drawn = chart(
        f"{measure.name}-equity",
        f"{measure.title}, by group, {long_label(quarter)}",
        f"Everyone: {figure}. Every figure of every group stands in the table of breakdowns.",
        "Dot: share of those known in the group, hollow where it is so far. Line: 95% interval. "
        "Pale band: what the unknown answers leave open. "
        "Upright line: everyone."
        if measure.kind == PROPORTION
        else "Dot: share within 28 days. Line: 95% interval. Upright line: everyone.",
        by_level.by_level(rows, everyone, WIDE),
        by_level.by_level(rows, everyone, NARROW),
    )
    return ByGroup(measure, figure, drawn)


def _beside_the_rest(measure: Measure, result: Result | None, everyone: Result | None) -> tuple[str, str]:
    """A group less all others of the quarter: shares only, since a wait's others would have to be counted again."""
    if measure.kind != PROPORTION or result is None or everyone is None or result.met is None or everyone.met is None:
        return NONE, ""
    others_met, others_known = everyone.met - result.met, everyone.known - result.known
    found = newcombe(result.met, result.known, others_met, others_known)
    verdict = mark(found)
    if verdict == NONE:
        return NONE, ""
    share = sentences.percent(others_met / others_known, others_known)
    return verdict, f"{sentences.short(measure, result)}; all others {others_met} of {others_known} ({share})"
