"""The page to explore: every figure of the report, for whoever wants to choose what to look at.

Comes in: the content of an edition. Goes out: one page that holds its data, its script and Plotly's own. Refuses: to
word a figure or describe a chart anew: the cells and labels are those of the edition, and so are the charts.
"""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

from markupsafe import Markup
from plotly.offline import get_plotlyjs

from pipeline.contracts import places
from pipeline.contracts.measure_files import DAYS, TIME_TO_EVENT, Measure
from pipeline.outcomes.lookup import ALL
from pipeline.outcomes.periods import kind, year_before
from pipeline.plain_text import without_unseen_signs
from pipeline.report.charts import over_time
from pipeline.report.charts.looks import LINES, NARROW, PAPER, WIDE
from pipeline.report.charts.plotly_lists import Figure
from pipeline.report.content.edition import EditionContent
from pipeline.report.pages import html_page
from pipeline.report.views import measure_tables
from pipeline.report.views.measure_views import CAPTIONS, PERIODS_SHOWN, by_section, up_to_now
from pipeline.report.views.whom import waiting
from pipeline.report.words import labels, sentences
from pipeline.report.words.dates import both_names, day_label, long_label, short_label
from pipeline.report.words.labels import Wording
from pipeline.statistics.waits import readings

# Read in this order: what is chosen, drawn, opened and saved, and the page that asks for all of it.
SCRIPTS = ("choice", "charts", "points", "save", "page")
LONG = 12  # a list of more has a field that shortens it
INSIDE = "Stays inside the service: numbers are small."


def write_explorer(content: EditionContent, path: Path) -> Path:
    """Write the page beside the service edition."""
    return html_page.write(path, page(content))


def page(content: EditionContent) -> str:
    """The whole page as text."""
    words = labels.read(places.REPORTS / "wording.toml")
    plotly = get_plotlyjs()
    own = ((places.REPORTS / "explore" / f"{name}.js").read_text(encoding="utf-8") for name in SCRIPTS)
    held = _chosen_from(content, words)
    return html_page.render(
        "explore.html",
        scripts=(plotly, *own),
        styled_already=re.findall(r'getElementById\("([0-9a-f]{64})"\)', plotly)[:1],
        # Plotly lays an empty style element into the page and fills it by script, which no policy forbids.
        styles=("",),
        images="data: blob:",  # a chart that is saved as a picture
        content=content,
        period=both_names(content.period, content.settings.year_starts),
        which=kind(content.period),
        cut_off=day_label(content.provenance.cut_off),
        several=len(held["periods"]),
        long=LONG,
        small=sentences.SMALL,
        figures_as_json=_as_json(held),
    )


def _as_json(value: Any) -> Markup:
    """JSON that no HTML parser takes for anything else: a `<` is written as its number."""
    written = json.dumps(value, ensure_ascii=True, allow_nan=False, separators=(",", ":"))
    return Markup(written.replace("<", "\\u003c").replace(">", "\\u003e").replace("&", "\\u0026"))


def _chosen_from(content: EditionContent, words: Wording) -> dict[str, Any]:
    """Everything the script may show: labels, descriptions of the charts, and a row for each result."""
    last = content.period
    periods = sorted({key[1] for key in content.lookup.results if key[1] <= last})
    there: dict[str, set[str]] = {}
    for (_, _, split), levels in content.lookup.levels.items():
        there.setdefault(split, set()).update(levels)
    breakdowns = [
        {
            "name": breakdown.name,
            "title": breakdown.title,
            "levels": [
                [level, breakdown.title if level == ALL else without_unseen_signs(words.level(breakdown.name, level))]
                for level in words.in_order(breakdown.name, there.get(breakdown.name, ()))
            ],
        }
        for breakdown in content.breakdowns
    ]
    of = {measure.name: measure for measure in content.measures}
    rows: dict[str, dict[str, dict[str, list[Any]]]] = {}
    for (measure, period, breakdown, level), result in content.lookup.results.items():
        if period <= last:
            row = [
                periods.index(period),
                *map(_short, (result.value, result.lower, result.upper)),
                *map(_short, (result.bound_low, result.bound_high) if result.unknown else (None, None)),
                int(result.complete),
                over_time.end_label(of[measure], result),
                int(bool(sentences.small(of[measure], result))),
                measure_tables.cells(of[measure], result),
                [result.eligible, result.known, result.met, result.unknown],
            ]
            rows.setdefault(measure, {}).setdefault(breakdown, {}).setdefault(level, []).append(row)
    curves: dict[str, dict[str, dict[str, dict[str, Any]]]] = {}
    for (measure, period, breakdown, level), days in content.lookup.curves.items():
        if period <= last:
            read = readings(waiting.read_curve(days))
            curves.setdefault(measure, {}).setdefault(breakdown, {}).setdefault(level, {})[period] = {
                "steps": [
                    [step.day, _short(step.incidence), sentences.percent(step.incidence)]
                    for step in days
                    if step.incidence is not None
                ],
                "by_day": waiting.by_days(read),
                "watched": [one.at_risk for one in read],
            }
    sections = {own.name: section.title for section, of_it in by_section(content.measures, words) for own in of_it}
    earlier = {name: year_before(name) for name in periods}
    return {
        "service": without_unseen_signs(content.settings.service),
        "cut_off": day_label(content.provenance.cut_off),
        "inside": INSIDE,
        "period": last,
        "periods": [
            [name, short_label(name), long_label(name), periods.index(then) if then in periods else None]
            for name, then in earlier.items()
        ],
        "shown": PERIODS_SHOWN,
        "paper": PAPER,
        "colours": LINES,
        "curve_days": [f"By day {day}" for day in waiting.CURVE_DAYS],
        "first": [*content.settings.at_a_glance, content.measures[0].name][0],
        "breakdowns": breakdowns,
        "measures": [{"section": sections[measure.name], **_measure(measure, content)} for measure in content.measures],
        "rows": rows,
        "curves": curves,
    }


def _short(number: float | None) -> float | None:
    """As exact as a drawing or a spreadsheet wants it: the page holds tens of thousands of them."""
    return None if number is None else round(number, 6)


def _measure(measure: Measure, content: EditionContent) -> dict[str, Any]:
    series = up_to_now(measure, content)
    standard = content.settings.standards.get(measure.name)
    curve = content.lookup.curves.get((measure.name, content.period, ALL, ALL), ())
    every = [result for key, result in content.lookup.results.items() if key[0] == measure.name]
    axes = dict(over_time.value_axis(measure, [result], standard) for result in (None, *every))
    return {
        "name": measure.name,
        "title": measure.title,
        "question": measure.question,
        "days": measure.kind == DAYS,
        "heads": measure_tables.columns(measure),
        "nobody": measure_tables.cells(measure, None),
        "caption": CAPTIONS[measure.kind],
        "standard": None if standard is None else over_time.standard_label(standard),
        "charts": {
            frame.name: _stated(over_time.over_periods(measure, series, standard, frame)) for frame in (WIDE, NARROW)
        },
        "curve_charts": {
            frame.name: _stated(over_time.wait_curve([(content.period, curve)], frame)) for frame in (WIDE, NARROW)
        }
        if measure.kind == TIME_TO_EVENT
        else None,
        # Of all there are, from low to high: what is shown takes the first that holds all of it.
        "axes": [
            {"range": [0.0, top], "tickvals": [at for at, _ in ticks], "ticktext": [text for _, text in ticks]}
            for top, ticks in sorted(axes.items())
        ],
    }


def _stated(figure: Figure) -> dict[str, Any]:
    """A figure as the static drawing reads it."""
    return {"data": figure.data, "layout": figure.layout}
