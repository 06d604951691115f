"""The tables of an edition, as rows of ready text.

Comes in: results, one measure at a time. Goes out: frozen tables the templates print as they are.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from pipeline.contracts.breakdown_file import Breakdown
from pipeline.contracts.measure_files import (
    DAYS,
    NOTED,
    PROPORTION,
    REPORTED_DAY,
    SHARES,
    TIME_TO_EVENT,
    Measure,
)
from pipeline.contracts.query_files import ROUTES, SIX_WEEKS
from pipeline.outcomes.lookup import ALL, Lookup, Result
from pipeline.outcomes.periods import kind
from pipeline.report.views.whom.drawn_in import all_drawn_in, how
from pipeline.report.words.dates import long_label, periods_beside, short_label
from pipeline.report.words.labels import Wording
from pipeline.report.words.sentences import days, heard_from, interval, middle_half, percent, short
from pipeline.report.words.table import Group, Row, Table

_WHOLE = {
    PROPORTION: "met of known (share, 95% interval); not known, and what that leaves open",
    NOTED: "noted of all (share, 95% interval); how many of them were heard from",
    DAYS: "the middle one, and the middle half",
    TIME_TO_EVENT: f"share within {REPORTED_DAY} days, 95% interval; how many of those known by then; not known",
}


def _heads(measure: Measure) -> tuple[str, ...]:
    if measure.kind == PROPORTION:
        return "Of those known", "95% interval", "Not known"
    if measure.kind == NOTED:
        return "Noted of all", "95% interval", "Heard from"
    if measure.kind == DAYS:
        return "How many", "Middle one, days", "Middle half"
    return f"Within {REPORTED_DAY} days", "95% interval", f"By day {REPORTED_DAY}, of known", "Not known"


def _cells(measure: Measure, result: Result | None) -> tuple[str, ...]:
    if result is None or result.eligible == 0:
        return ("none to count", *[""] * (len(_heads(measure)) - 1))
    value = result.value
    limits = "" if result.lower is None or result.upper is None else interval(result.lower, result.upper, result.known)
    if measure.kind == PROPORTION:
        return short(measure, result), limits, f"{result.unknown}"
    if measure.kind == NOTED:
        return short(measure, result), limits, heard_from(result)
    if measure.kind == DAYS:
        half = "only one" if result.eligible == 1 else middle_half(result)
        return f"{result.eligible}", "" if value is None else days(value), half
    share = "too early" if value is None else f"{percent(value)} of {result.eligible}"
    return share, limits, f"{result.met} of {result.known}", f"{result.unknown}"


def columns(measure: Measure) -> tuple[str, ...]:
    """The heads of a figure that is told in columns, with what the unknown leave open."""
    return *_heads(measure), *(("Left open",) if measure.kind in SHARES else ())


def cells(measure: Measure, result: Result | None) -> tuple[str, ...]:
    """The figure in those columns."""
    return *_cells(measure, result), *((_left_open(result),) if measure.kind in SHARES else ())


def periods(measure: Measure, series: Sequence[tuple[str, Result | None]]) -> Table:
    """The figures of the periods up to now, newest last; several with nobody to count share a line."""
    empty = [short_label(period) for period, result in series[:-1] if result is None or not result.eligible]
    folded = empty if len(empty) > 1 else []
    rows = [
        Row(short_label(period) + _so_far(result), cells(measure, result))
        for period, result in series
        if short_label(period) not in folded
    ]
    note = f"None to count: {', '.join(folded)}" if folded else ""
    which = kind(series[-1][0])
    heads = (which.capitalize(), *columns(measure))
    key = f"{measure.name}-quarters"
    return Table(key, f"{measure.title}: {which} by {which}", heads, (Group("", tuple(rows), note),))


def within(measure: Measure, quarters: Lookup, year: str) -> Table:
    """The quarters of a year, in their order."""
    names = sorted({period for name, period, *_ in quarters.results if name == measure.name})
    results = [(name, quarters.everyone(measure.name, name)) for name in names]
    rows = [Row(short_label(name) + _so_far(result), _cells(measure, result)) for name, result in results]
    caption = f"{measure.title}: the quarters within {long_label(year)}"
    return Table(f"{measure.name}-within", caption, ("Quarter", *_heads(measure)), (Group("", tuple(rows)),))


def _left_open(result: Result | None) -> str:
    if result is None or not result.unknown or result.bound_low is None or result.bound_high is None:
        return ""
    return interval(result.bound_low, result.bound_high, result.known)


def _so_far(result: Result | None) -> str:
    return " so far" if result is not None and not result.complete else ""


def breakdowns(
    measure: Measure, breakdowns_shown: Sequence[Breakdown], lookup: Lookup, period: str, wording: Wording
) -> Table | None:
    """Every breakdown that tells groups of the period apart; the others in a line. None where nobody is eligible."""
    whole = lookup.everyone(measure.name, period)
    if whole is None or not whole.eligible:
        return None
    groups, in_one = [], []
    for breakdown in breakdowns_shown:
        if breakdown.name == ALL:
            continue
        near = (period, *periods_beside(period))
        levels = {level for name in near for level in lookup.levels.get((measure.name, name, breakdown.name), ())}
        rows, empty = [], []
        for level in wording.in_order(breakdown.name, levels):
            label = wording.level(breakdown.name, level)
            result = lookup.results.get((measure.name, period, breakdown.name, level))
            if result is None or not result.eligible:
                empty.append(label)
            else:
                rows.append(Row(label, _cells_of_group(measure, result)))
        if len(rows) > 1:
            note = f"None to count: {', '.join(empty)}" if empty else ""
            groups.append(Group(breakdown.title, tuple(rows), note))
        elif rows:
            in_one.append(f"{breakdown.title}: {rows[0].head}")
    if in_one:
        groups.append(Group("", (), f"All in one group: {'; '.join(in_one)}"))
    caption = f"{measure.title}: breakdowns, {long_label(period)}{_so_far(whole)}"
    everyone = Row("Everyone", _cells_of_group(measure, whole))
    return Table(f"{measure.name}-breakdowns", caption, ("Group", *_heads(measure)), tuple(groups), everyone)


def _cells_of_group(measure: Measure, result: Result) -> tuple[str, ...]:
    """As short as may be, for they are many: of how many were heard from stands two cells before already."""
    cells = _cells(measure, result)
    return (*cells[:-1], f"{result.known}") if measure.kind == NOTED else cells


def by_code(
    measure: Measure, split: Breakdown, figures: Lookup, lookup: Lookup, period: str, wording: Wording
) -> tuple[Table | None, str]:
    """The figure of every level, in the order of their names, and of everyone; None where nobody has a row.

    Of shares also each allowing for few cases, and how far it was drawn; empty of the others.
    """
    there = sorted(figures.levels.get((measure.name, period, split.name), ()))
    if not there:
        return None, ""
    own = {level: figures.results[measure.name, period, split.name, level] for level in there}
    like, drawn = all_drawn_in(own) if measure.kind in SHARES else (None, {})
    more = [] if like is None else ["Allowing for few cases"]
    rows = [
        Row(wording.level(split.name, level), (*_cells(measure, own[level]), *([drawn.get(level, "")] * len(more))))
        for level in there
    ]
    whole = Row("Everyone", (*_cells(measure, lookup.everyone(measure.name, period)), *([""] * len(more))))
    caption = f"{measure.title}, {long_label(period)}{_so_far(lookup.everyone(measure.name, period))}"
    heads = (split.title, *_heads(measure), *more)
    table = Table(f"{measure.name}-figures", caption, heads, (Group("", tuple(rows)),), whole)
    return table, how(like) if like and drawn else ""


def flow(cells: Mapping[tuple[str, str], int], wording: Wording) -> Table:
    """Rows routes, columns six weeks; every case stands in one cell, so both totals are the number first seen."""
    rows, nobody = [], []
    for route in ROUTES:
        counted = [cells.get((route, state), 0) for state in SIX_WEEKS]
        if not any(counted):
            nobody.append(wording.routes[route])
            continue
        # What trace.html calls the cell: the records of its cases stand there.
        links = [
            f"trace.html#everyone-{route}-{state}" if cases else ""
            for state, cases in zip(SIX_WEEKS, counted, strict=True)
        ]
        rows.append(Row(wording.routes[route], (*map(str, counted), str(sum(counted))), (*links, "")))
    down = [sum(cells.get((route, state), 0) for route in ROUTES) for state in SIX_WEEKS]
    heads = ("Route", *(wording.six_weeks[state] for state in SIX_WEEKS), "All")
    total = Row("All", (*map(str, down), str(sum(down))))
    group = Group("", tuple(rows), f"None: {', '.join(nobody)}" if nobody else "")
    return Table("flow", "Cases by route and by feeding at six weeks", heads, (group,), total)


def beside(
    measure: Measure, series: Sequence[tuple[str, Result | None, Result | None]], rest_not_shown: str = ""
) -> Table:
    """A practitioner's own figures by quarter, the rest of the service beside them; None where it is not shown."""
    with_rest = any(rest is not None for _, _, rest in series)
    rows = []
    for period, own, rest in series:
        cells = (whole(measure, own), *((whole(measure, rest) if rest else "not shown",) if with_rest else ()))
        rows.append(Row(short_label(period) + _so_far(own), cells))
    heads = (kind(series[-1][0]).capitalize(), "Own caseload", *(("Rest of the service",) if with_rest else ()))
    reason = "" if all(rest is not None for _, _, rest in series) else f"; rest of the service {rest_not_shown}"
    caption = f"{measure.title}: {_WHOLE[measure.kind]}{reason}"
    return Table(f"{measure.name}-quarters", caption, heads, (Group("", tuple(rows)),), words=True)


def whole(measure: Measure, result: Result | None) -> str:
    """The whole figure in one cell: counts, interval, what is not known and what that leaves open."""
    if result is None or result.eligible == 0:
        return "none to count"
    limits = "" if result.lower is None or result.upper is None else interval(result.lower, result.upper, result.known)
    if measure.kind == DAYS:
        half = middle_half(result) if result.eligible > 1 else ""
        return ", ".join(filter(None, (short(measure, result), half)))
    unknown = f"; {result.unknown} not known"
    if measure.kind == NOTED:
        noted = short(measure, result).removesuffix(")") + (f", {limits})" if limits else "")
        return f"{noted}; heard from {heard_from(result)}"
    if measure.kind == PROPORTION:
        known = short(measure, result).removesuffix(")") + (f", {limits})" if limits else "")
        left = _left_open(result)
        return f"{known}{unknown}" + (f": {left} of all {result.eligible}" if left else "")
    return f"{short(measure, result)}{', ' + limits if limits else ''}; {result.met} of {result.known} known{unknown}"
