"""The figures of a service edition as sheets: one a section of the page, every number as a number.

Comes in: the edition's content and the wording. Goes out: frozen sheets. Refuses: to work anything out; each number is
one of the results that the page prints. A share never stands without its denominator and its unknowns.
"""

from __future__ import annotations

import math
import re
import textwrap
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import compress

from pipeline.contracts.measure_files import DAYS, NOTED, PROPORTION, REPORTED_DAY, TIME_TO_EVENT, Measure
from pipeline.contracts.query_files import ROUTES, SIX_WEEKS
from pipeline.judgement import verdict
from pipeline.judgement.periods_fit import SITE
from pipeline.outcomes.lookup import ALL, Result
from pipeline.outcomes.periods import year_before
from pipeline.report.content.edition import EditionContent
from pipeline.report.take_away.columns import COUNT, NUMBER, SHARE, TEXT, Cell, Column, Sheet
from pipeline.report.take_away.other_sheets import FAMILIES, compared, other_sheets
from pipeline.report.views.changes import changes
from pipeline.report.views.finding_lists import Listed, findings
from pipeline.report.views.measure_views import by_section, up_to_now
from pipeline.report.words.dates import short_label, short_month
from pipeline.report.words.labels import Wording
from pipeline.report.words.verdicts import standard

_SHARE_OF = {
    PROPORTION: "share of those known",
    NOTED: "noted, of all eligible",
    TIME_TO_EVENT: f"wait: share within {REPORTED_DAY} days",
    DAYS: "days: the middle one",
}
_WHOM = (Column("Measure", TEXT, 40), Column("Period", TEXT, 12), Column("By", TEXT, 20), Column("Group", TEXT, 24))
FIGURE = (
    Column("What the figure is", TEXT, 24, "how the share is made; of a wait, running waits count as long as watched"),
    Column("Share", SHARE, 9, "met of those it is of; of a wait the share within the days, which is no such division"),
    Column("95% from", SHARE, 9, "lower end of the 95% interval of the share: what chance alone could do"),
    Column("95% to", SHARE, 9, "its upper end"),
    Column("Met", COUNT, 8, "for how many it is known to be so; of a wait, how many had it by then"),
    Column(
        "Of", COUNT, 8, "how many the share is of: those known or, of what is only noted and of waits, all eligible"
    ),
    Column("Eligible", COUNT, 9, "how many the measure is about"),
    Column("Known", COUNT, 8, "of how many of these the answer is known; of harm, how many were heard from"),
    Column("Not known", COUNT, 8, "of how many it is not"),
    Column("If none of these", SHARE, 10, "the share of all eligible if every answer that is not known were no"),
    Column("If all of these", SHARE, 10, "the share of all eligible if every answer that is not known were yes"),
    Column("Middle, days", NUMBER, 9, "of days: half have fewer and half have more"),
    Column("Half from, days", NUMBER, 9, "of days: a quarter have fewer"),
    Column("Half to, days", NUMBER, 9, "of days: a quarter have more"),
    Column("So far", TEXT, 8, "yes: not everyone has had their time by the day the data go up to"),
)


_MONTHLY = (
    *(Column("Measure", TEXT, 40), Column("Month", TEXT, 12), *FIGURE[1:2], *FIGURE[4:7], FIGURE[8]),
    Column(
        "Usual",
        SHARE,
        9,
        "the share of the months that the chart over time takes as usual; blank where it is too early",
    ),
    Column("Usual from", SHARE, 9, "as low as chance takes a month of so many"),
    Column("Usual to", SHARE, 9, "as high as chance takes it"),
    Column("Further", TEXT, 9, "above or below: a month further from what is usual than chance takes it"),
)


@dataclass(frozen=True)
class _Line:
    """Of what a row of figures is."""

    measure: Measure
    period: str
    by: str
    group: str
    result: Result | None


def sheets(content: EditionContent, wording: Wording) -> tuple[Sheet, ...]:
    """Every sheet of the workbook but the first, in the order of the page; those of which there is nothing left out."""
    made = [_found(content, wording), _everyone(content, wording), _glance(content)]
    for words, own in by_section(content.measures, wording, content.settings.at_a_glance):
        lines = [line for measure in own for line in _of_measure(measure, content, wording)]
        made.append(_figures(words.title, f"{words.title} Everyone by period, and the groups of this one.", lines))
    primary = [measure for name in content.settings.at_a_glance for measure in content.measures if measure.name == name]
    periods = [period for period, _ in up_to_now(primary[0], content)] if primary else []
    sites = [line for measure in primary for line in _levels(measure, SITE, periods, content, wording)]
    made.append(_figures("Between sites", "The measures at a glance by site, in the order of their names.", sites))
    equity = [
        line
        for measure in primary
        for breakdown in content.breakdowns
        if breakdown.for_equity
        for line in _levels(measure, breakdown.name, [content.period], content, wording)
    ]
    made.append(_figures("Served less well", "The measures at a glance by group of families.", equity))
    made += [_by_month(content, wording), compared(content, wording), *other_sheets(content, wording)]
    return tuple(sheet for sheet in made if sheet.rows)


def sheet_name(title: str) -> str:
    """As a workbook takes it: no more than 31 signs, and none of those it keeps for itself."""
    return textwrap.shorten(re.sub(r"[\[\]:*?/\\']", "", title), 31, placeholder="")


def _figures(title: str, what: str, lines: Sequence[_Line]) -> Sheet:
    """Lines of figures; the columns of days only where there are days."""
    shown = _shown([line.measure for line in lines])
    rows = tuple(
        (
            *(line.measure.title, short_label(line.period), line.by, line.group),
            *compress(_cells(line.measure, line.result), shown),
        )
        for line in lines
    )
    return Sheet(sheet_name(title), what, (*_WHOM, *compress(FIGURE, shown)), rows, frozen=2)


def _shown(measures: Sequence[Measure]) -> list[bool]:
    in_days = any(measure.kind == DAYS for measure in measures)
    return [in_days or "days" not in column.head for column in FIGURE]


def _cells(measure: Measure, result: Result | None) -> tuple[Cell, ...]:
    if result is None or result.eligible == 0:
        nothing: tuple[Cell, ...] = (None,) * (len(FIGURE) - 7)
        return (_SHARE_OF[measure.kind], None, None, None, None, None, 0, *nothing)
    figure = (result.value, result.lower, result.upper)
    of = result.eligible if measure.kind == TIME_TO_EVENT else result.of
    nothing = (None, None, None)
    days, share = (figure, nothing) if measure.kind == DAYS else (nothing, figure)
    counts = (result.met, None if measure.kind == DAYS else of, result.eligible, result.known, result.unknown)
    so_far = "" if result.complete else "yes"
    return (_SHARE_OF[measure.kind], *share, *counts, result.bound_low, result.bound_high, *days, so_far)


def _of_measure(measure: Measure, content: EditionContent, wording: Wording) -> Iterator[_Line]:
    """Everyone in the periods shown, the quarters of a year, and every group of the period."""
    for period, result in up_to_now(measure, content):
        yield _Line(measure, period, "", "Everyone", result)
    if content.within is not None:
        for name, period, *_ in sorted(content.within.results):
            if name == measure.name:
                yield _Line(measure, period, "", "Everyone", content.within.everyone(name, period))
    for breakdown in content.breakdowns:
        if breakdown.name != ALL and (breakdown.for_every_measure or breakdown.name in measure.also_by):
            yield from _levels(measure, breakdown.name, [content.period], content, wording)


def _levels(
    measure: Measure, breakdown: str, periods: Sequence[str], content: EditionContent, wording: Wording
) -> Iterator[_Line]:
    lookup, titles = content.lookup, {one.name: one.title for one in content.breakdowns}
    there = {level for period in periods for level in lookup.levels.get((measure.name, period, breakdown), ())}
    for level in wording.in_order(breakdown, there):
        for period in periods:
            result = lookup.results.get((measure.name, period, breakdown, level))
            yield _Line(measure, period, titles[breakdown], wording.level(breakdown, level), result)


def _by_month(content: EditionContent, wording: Wording) -> Sheet:
    """What the charts over time show: each month that had all its time, what is usual, how far chance takes it."""
    counts = {str(name): rows.set_index("month") for name, rows in content.months.groupby("measure")}
    rows: list[tuple[Cell, ...]] = []
    for _, own in by_section(content.measures, wording, content.settings.at_a_glance):
        for measure in (one for one in own if one.name in content.over_time):
            monthly, counted = content.over_time[measure.name], counts[measure.name]
            further = dict(monthly.outside)
            for at, month in enumerate(monthly.months):
                eligible, known = (int(counted.at[month, column]) for column in ("eligible", "known"))
                lines = (float(line[at]) for line in (monthly.share, monthly.centre, monthly.lower, monthly.upper))
                share, usual, low, high = (None if math.isnan(value) else value for value in lines)
                named = (measure.title, f"{short_month(month)} {month[:4]}")
                figure = (share, int(monthly.met[at]), int(monthly.of[at]), eligible, eligible - known)
                rows.append((*named, *figure, usual, low, high, further.get(at, "")))
    return Sheet(
        "Month by month", "What the charts over time show: everyone, month by month.", _MONTHLY, tuple(rows), 2
    )


def _everyone(content: EditionContent, wording: Wording) -> Sheet:
    """The flow, with both totals."""
    cells = {(str(row.route), str(row.six_weeks)): int(row.cases) for row in content.flow.itertuples(index=False)}
    counted = {route: [cells.get((route, state), 0) for state in SIX_WEEKS] for route in ROUTES}
    down = [sum(column) for column in zip(*counted.values(), strict=True)]
    rows: list[tuple[Cell, ...]] = [(wording.routes[route], *across, sum(across)) for route, across in counted.items()]
    columns = [Column(wording.six_weeks[state], COUNT, 14) for state in SIX_WEEKS]
    what = "Cases first seen in the period: by route, and by feeding at six weeks. Every case stands in one cell."
    heads = (
        Column("Route", TEXT, 26, "where each case stood by the last day of the data"),
        *columns,
        Column("All", COUNT, 10),
    )
    return Sheet("Everyone", what, heads, (*rows, ("All", *down, sum(down))) if cells else ())


def _glance(content: EditionContent) -> Sheet:
    """The primary measures: this period and that of a year before, the standard, and what is said of each change."""
    named = {measure.name: measure for measure in content.measures}
    said = {name: dict(changes(named[name], content)) for name in content.settings.at_a_glance}
    times = dict.fromkeys(label for of_measure in said.values() for label in of_measure)
    shown = _shown([named[name] for name in content.settings.at_a_glance])
    rows: list[tuple[Cell, ...]] = []
    for name in content.settings.at_a_glance:
        measure, share = named[name], content.settings.standards.get(name)
        judged = verdict.standard(measure, content.lookup, content.period, share) if share is not None else None
        words = "" if share is None or judged is None else standard(measure, share, judged).text
        now, then = content.period, year_before(content.period)
        figures = {
            period: compress(_cells(measure, content.lookup.everyone(name, period)), shown) for period in (now, then)
        }
        changed = (said[name][label].text if label in said[name] else "" for label in times)
        rows.append((measure.title, short_label(now), *figures[now], share, words, *changed))
        rows.append((measure.title, short_label(then), *figures[then], None, "", *[""] * len(times)))
    columns = (*_WHOM[:2], *compress(FIGURE, shown), Column("Standard", SHARE, 9), Column("Of the standard", TEXT, 32))
    what = "The measures at a glance, this period and a year before, and what is said of each."
    return Sheet("At a glance", what, (*columns, *(Column(label, TEXT, 44) for label in times)), tuple(rows), frozen=2)


def _found(content: EditionContent, wording: Wording) -> Sheet:
    """What is worse, better or different by more than chance gives, as the page lists it."""
    rows: list[tuple[Cell, ...]] = []
    for family, title in FAMILIES.items():
        of_family = findings(content, wording, family)
        lists: tuple[tuple[str, tuple[Listed, ...]], ...] = (
            ("worse", of_family.worse),
            ("better", of_family.better),
            ("different", of_family.differs),
        )
        for mark, listed in lists:
            rows += [(title, mark, one.whom or "Everyone", one.what, one.text) for one in listed]
    if not rows:
        rows.append(("Everywhere", "nothing", "", "", "Nothing is further apart than chance gives."))
    heads = (("Where", 20), ("Verdict", 11), ("Of whom", 28), ("Measure", 40), ("The figures", 100))
    what = "What is worse, better or different by more than chance gives. A reason to ask, never an answer."
    return Sheet("Worse and better", what, tuple(Column(head, TEXT, width) for head, width in heads), tuple(rows))
