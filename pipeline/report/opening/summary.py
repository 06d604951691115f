"""The first two pages: what happened to everyone and the primary measures at a glance.

Comes in: the edition's content and the measures' views. Goes out: frozen views the templates print. Refuses: to
name a measure; which ones are primary stands in the settings.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from pipeline.contracts.measure_files import DAYS
from pipeline.judgement.verdict import CANNOT, NONE
from pipeline.outcomes.lookup import Result
from pipeline.outcomes.periods import QUARTER, kind, year_before
from pipeline.report.charts import summary_charts
from pipeline.report.charts.looks import NARROW, WIDE
from pipeline.report.content.edition import EditionContent
from pipeline.report.views import measure_tables
from pipeline.report.views.measure_views import Chart, MeasureView, SectionView, chart
from pipeline.report.words import sentences
from pipeline.report.words.dates import a_year_before, long_label
from pipeline.report.words.labels import Wording
from pipeline.report.words.table import Table
from pipeline.report.words.verdicts import Said


@dataclass(frozen=True)
class Everyone:
    """The flow of every case first seen."""

    first_seen: int
    sentence: str
    chart: Chart | None
    table: Table


@dataclass(frozen=True)
class Line:
    """One primary measure in the table: its figure, how many of how many are not known, how it changed since when."""

    view: MeasureView
    figure: str
    not_known: str
    changes: tuple[tuple[Said, tuple[str, ...]], ...]


@dataclass(frozen=True)
class Glance:
    """The primary measures."""

    lines: tuple[Line, ...]
    chart: Chart | None
    said_once: str  # why nothing can be said of any change, where it is the same of all


def everyone(content: EditionContent, wording: Wording) -> Everyone:
    """Word, draw and tabulate the flow."""
    cells = {(str(row.route), str(row.six_weeks)): int(row.cases) for row in content.flow.itertuples(index=False)}
    total = sum(cells.values())
    table = measure_tables.flow(cells, wording)
    if total == 0:
        return Everyone(0, f"No case was first seen in this {kind(content.period)}.", None, table)
    routes: dict[str, int] = {}
    for (route, _), cases in cells.items():
        routes[route] = routes.get(route, 0) + cases
    parts = [f"{routes[route]} {name.lower()}" for route, name in wording.routes.items() if routes.get(route)]
    when = "from" if kind(content.period) == QUARTER else "in"
    sentence = f"{wording.several('case', total)} first seen {when} {long_label(content.period)}"
    drawn = chart(
        "flow",
        "What happened to everyone: from first contact to six weeks",
        f"{total} first seen: {', '.join(parts)}. The table that follows holds every cell.",
        "Each band is as thick as the number of cases in it; its colour is where it ends.",
        summary_charts.flow(cells, wording, WIDE),
        summary_charts.flow(cells, wording, NARROW),
    )
    return Everyone(total, f"{sentence}: {_listed(parts)}.", drawn, table)


def _listed(parts: Sequence[str]) -> str:
    return parts[0] if len(parts) == 1 else f"{', '.join(parts[:-1])} and {parts[-1]}"


def glance(content: EditionContent, sections: Sequence[SectionView]) -> Glance:
    """Put the primary measures side by side on one scale."""
    by_name = {view.measure.name: view for section in sections for view in (*section.measures, *section.nothing_known)}
    views = tuple(by_name[name] for name in content.settings.at_a_glance)
    lines = tuple(_line(view, content) for view in views)
    rows = [
        summary_charts.GlanceRow(
            view.measure,
            content.lookup.everyone(view.measure.name, content.period),
            content.lookup.everyone(view.measure.name, year_before(content.period)),
            content.settings.standards.get(view.measure.name),
        )
        for view in views
        if view.measure.kind != DAYS  # a median has no place on a scale of shares
    ]
    why = {said.why for line in lines for said, _ in line.changes}
    marks = {said.mark for line in lines for said, _ in line.changes}
    said_once = why.pop() if len(lines) > 1 and len(why) == 1 and marks <= {NONE, CANNOT} else ""
    # What has no figure now or then stands in the table; one dot alone is no comparison.
    rows = [row for row in rows if any(_drawn(result) for result in (row.now, row.year_before))]
    if not any(_drawn(row.year_before) for row in rows) and len(rows) < 2:
        return Glance(lines, None, said_once)
    drawn = chart(
        "glance",
        "The measures at a glance on one scale",
        " ".join(f"{view.measure.title}: {view.figure}." for view in views),
        _key(rows, content.period),
        summary_charts.glance(rows, WIDE),
        summary_charts.glance(rows, NARROW),
    )
    return Glance(lines, drawn, said_once)


def _drawn(result: Result | None) -> bool:
    return result is not None and result.value is not None


def _key(rows: Sequence[summary_charts.GlanceRow], period: str) -> str:
    """What the marks that are drawn mean."""
    now = [row.now for row in rows if row.now is not None and row.now.value is not None]
    key = f"Dot: this {kind(period)}, with its 95% interval"
    key += "; hollow where it is so far." if any(not result.complete for result in now) else "."
    key += f" Diamond: {a_year_before(period)}." if any(_drawn(row.year_before) for row in rows) else ""
    key += " Upright stroke: the standard." if any(row.standard is not None for row in rows) else ""
    unknown = any(result.unknown and result.bound_low is not None for result in now)
    return key + (" Pale band: what the unknown answers leave open." if unknown else "")


def _line(view: MeasureView, content: EditionContent) -> Line:
    result = content.lookup.everyone(view.measure.name, content.period)
    figure = sentences.with_interval(view.measure, result)
    since: dict[str, list[tuple[str, Said]]] = {}
    judged = [pair for pair in view.changes if pair[1].mark != NONE]  # what is not stands under the measure
    for label, said in judged or view.changes:
        since.setdefault(said.why, []).append((label, said))
    changes = tuple((alike[0][1], tuple(label for label, _ in alike)) for alike in since.values())
    if result is None or not result.eligible or view.measure.kind == DAYS:
        return Line(view, figure, "", changes)
    return Line(view, figure, f"{result.unknown} of {result.eligible}", changes)
