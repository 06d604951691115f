"""Equity: the primary measures by who the families are, each group beside everyone else.

Comes in: the edition's content, the wording. Goes out: frozen views the templates print.
Refuses: to rank groups.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from markupsafe import Markup

from pipeline.contracts.breakdown_file import Breakdown
from pipeline.contracts.measure_files import DAYS, Measure
from pipeline.outcomes.lookup import Lookup, Result
from pipeline.report.charts import captions
from pipeline.report.charts.by_level import Groups, by_level
from pipeline.report.charts.drawing import Words, draw
from pipeline.report.charts.group_matrix import Column, group_matrix, rows_of_measures
from pipeline.report.charts.looks import NARROW, WIDE
from pipeline.report.content.edition import EditionContent
from pipeline.report.views.measure_views import Chart
from pipeline.report.views.whom.each_group import by_groups
from pipeline.report.words import sentences
from pipeline.report.words.dates import long_label
from pipeline.report.words.labels import Wording
from pipeline.report.words.table import Table

_LEAST = 2 * sentences.SMALL  # two groups that are not small
_TABLES = "Every figure of every group stands in the table of breakdowns."


@dataclass(frozen=True)
class ByGroup:
    """One primary measure by every breakdown that asks about equity."""

    measure: Measure
    figure: str
    counted: bool  # whether there is anyone to count, and so a table of breakdowns
    # For a phone: where there is room one chart has all measures. None of too few, whose groups are of one or two.
    chart: Markup | None
    groups: Table | None  # four quarters together: each beside all others, and the trend where they are in order


@dataclass(frozen=True)
class Equity:
    """Every primary measure by group."""

    breakdowns: tuple[str, ...]  # their titles
    key: str  # what the marks of the charts mean
    least: int  # a chart is drawn of so many
    charts: tuple[Chart, ...]  # the groups down the side, measures across, a few in each
    views: tuple[ByGroup, ...]


def equity(content: EditionContent, wording: Wording) -> Equity:
    """The primary measures that are shares, in the order of the settings."""
    breakdowns = tuple(breakdown for breakdown in content.breakdowns if breakdown.for_equity)
    named = {measure.name: measure for measure in content.measures}
    primary = [named[name] for name in content.settings.at_a_glance if named[name].kind != DAYS]
    whole = [(measure, content.lookup.everyone(measure.name, content.period)) for measure in primary if breakdowns]
    many = [measure for measure, result in whole if result is not None and result.of >= _LEAST]
    made = _groups(many, breakdowns, content.lookup, content.period, wording)
    drawn = {measure.name: groups for measure, groups in zip(many, made, strict=True)}
    views, keys, columns = [], [], []
    for measure, everyone in whole:
        figure = sentences.figure(measure, everyone, wording.grains[measure.grain][1])
        counted = everyone is not None and everyone.eligible > 0 and content.lookup.ever_known(measure.name)
        small = None
        if (own := drawn.get(measure.name)) is not None:
            title = f"{measure.title}, by group, {long_label(content.period)}"
            words = Words(f"{measure.name}-equity", title, f"Everyone: {figure}. {_TABLES}", NARROW.name)
            small = Markup(draw(by_level(own, everyone), words))
            keys.append(captions.of_results(measure, [result for _, levels in own for _, result in levels]))
            columns.append(Column(measure.title, own, everyone))
        views.append(ByGroup(measure, figure, counted, small, by_groups(measure, content, wording)))
    key = captions.once([*keys, "Dotted upright line: everyone."] if keys else ())
    titles = tuple(breakdown.title for breakdown in breakdowns)
    return Equity(titles, key, _LEAST, _charts(columns, content.period, key), tuple(views))


def _groups(
    measures: Sequence[Measure], breakdowns: Sequence[Breakdown], lookup: Lookup, period: str, wording: Wording
) -> list[Groups]:
    """The same levels for every measure, also where it has nobody, so that a group's row goes across."""
    made: list[list[tuple[str, list[tuple[str, Result | None]]]]] = [[] for _ in measures]
    for breakdown in breakdowns:
        there = {
            level for measure in measures for level in lookup.levels.get((measure.name, period, breakdown.name), ())
        }
        listed = wording.in_order(breakdown.name, {*there, *wording.listed(breakdown.name)})
        for measure, own in zip(measures, made, strict=True):
            levels = [
                (
                    wording.level(breakdown.name, level),
                    lookup.results.get((measure.name, period, breakdown.name, level)),
                )
                for level in listed
            ]
            own.append((breakdown.title, levels))
    return list(made)


def _charts(columns: Sequence[Column], period: str, key: str) -> tuple[Chart, ...]:
    """Drawn wide only: on a phone each measure has a chart of its own."""
    made = []
    for number, abreast in enumerate(rows_of_measures(columns), 1):
        names = "; ".join(column.title for column in abreast)
        words = Words(f"equity-{number}-wide", f"By group, {long_label(period)}: {names}", _TABLES, WIDE.name)
        made.append(Chart(Markup(draw(group_matrix(abreast), words)), Markup(""), key))
    return tuple(made)
