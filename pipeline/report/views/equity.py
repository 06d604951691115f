"""Equity: the primary measures by who the families are, each group beside everyone else.

Comes in: the edition's content, the wording. Goes out: frozen views the templates print.
Refuses: to rank groups.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from pipeline.contracts.breakdown_file import Breakdown
from pipeline.contracts.measure_files import DAYS, Measure
from pipeline.outcomes.lookup import Lookup, Result
from pipeline.report.charts import by_level, captions
from pipeline.report.charts.looks import NARROW, WIDE
from pipeline.report.content.edition import EditionContent
from pipeline.report.views.measure_views import Chart, chart
from pipeline.report.views.whom.each_group import by_groups
from pipeline.report.words import sentences
from pipeline.report.words.dates import long_label
from pipeline.report.words.labels import Wording
from pipeline.report.words.table import Table

_LEAST = 2 * sentences.SMALL  # two groups that are not small


@dataclass(frozen=True)
class ByGroup:
    """One primary measure by every breakdown that asks about equity."""

    measure: Measure
    figure: str
    counted: bool  # whether there is anyone to count
    chart: Chart | None  # None of too few, whose groups are of one or two
    groups: Table | None  # four quarters together: each beside all others, and the trend where they are in order


@dataclass(frozen=True)
class Equity:
    """Every primary measure by group."""

    breakdowns: tuple[str, ...]  # their titles
    key: str  # what the marks of the charts mean
    least: int  # a chart is drawn of so many
    views: tuple[ByGroup, ...]


def equity(content: EditionContent, wording: Wording) -> Equity:
    """The primary measures that are shares, in the order of the settings."""
    breakdowns = tuple(breakdown for breakdown in content.breakdowns if breakdown.for_equity)
    named = {measure.name: measure for measure in content.measures}
    measures = tuple(named[name] for name in content.settings.at_a_glance if named[name].kind != DAYS)
    views = []
    for measure in measures if breakdowns else ():
        groups = [
            (breakdown, _levels(measure, breakdown, content.lookup, content.period, wording))
            for breakdown in breakdowns
        ]
        everyone = content.lookup.everyone(measure.name, content.period)
        view = _view(measure, groups, everyone, content.period, wording)
        views.append(replace(view, groups=by_groups(measure, content, wording)))
    key = captions.once(view.chart.caption for view in views if view.chart)
    return Equity(tuple(breakdown.title for breakdown in breakdowns), key, _LEAST, tuple(views))


def _levels(
    measure: Measure, breakdown: Breakdown, lookup: Lookup, period: str, wording: Wording
) -> list[tuple[str, Result | None]]:
    there = lookup.levels.get((measure.name, period, breakdown.name), ())
    listed = wording.in_order(breakdown.name, {*there, *wording.listed(breakdown.name)})
    return [(level, lookup.results.get((measure.name, period, breakdown.name, level))) for level in listed]


def _view(
    measure: Measure,
    groups: list[tuple[Breakdown, list[tuple[str, Result | None]]]],
    everyone: Result | None,
    period: str,
    wording: Wording,
) -> ByGroup:
    figure = sentences.figure(measure, everyone, wording.grains[measure.grain][1])
    counted = everyone is not None and everyone.eligible > 0
    if everyone is None or everyone.of < _LEAST:
        return ByGroup(measure, figure, counted, None, None)
    rows = [
        (breakdown.title, [(wording.level(breakdown.name, level), result) for level, result in levels])
        for breakdown, levels in groups
    ]
    drawn = chart(
        f"{measure.name}-equity",
        f"{measure.title}, by group, {long_label(period)}",
        f"Everyone: {figure}. Every figure of every group stands in the table of breakdowns.",
        f"{captions.of_results(measure, [own for _, levels in rows for _, own in levels])} Upright line: everyone.",
        by_level.by_level(rows, everyone, WIDE),
        by_level.by_level(rows, everyone, NARROW),
    )
    return ByGroup(measure, figure, counted, drawn, None)
