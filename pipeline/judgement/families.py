"""Every comparison a report makes, in the families in which chance is reckoned with.

Comes in: results up to a period, which measures were named as primary, since when there are records. Goes out: a
Judgement. Refuses: to judge a measure that was not named before looking; to compare with a time in which the records
had only begun, or across a change of definition; to rank anything.

- The service: each primary measure since the quarter before, since a year before, and the half year beside the four
  quarters before it (Holm, 0.05).
- The sites: each primary measure at each site, the quarter and the half year, beside the four quarters before it
  (Benjamini and Hochberg, 0.10).
- Equity: each group beside all others who are recorded, or the trend across groups in order (trends.py), four quarters
  together (the same).
- Between sites: each site beside all other sites, by counts (funnels.py); a description, and nobody is called worse.
- The missing: those heard from beside those not, by what is known of both (those_missing.py; the same).

Harm is rare, so it is judged on four quarters beside the eight before them; a small site on four beside four.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace

from pipeline.contracts.breakdown_file import Breakdown
from pipeline.contracts.measure_files import NOTED, TIME_TO_EVENT, Measure
from pipeline.judgement.comparing import (
    FIGURE,
    HEARD_FROM,
    by_chance,
    decide,
    has_stopped,
    weigh,
)
from pipeline.judgement.funnels import between_sites
from pipeline.judgement.judged import EQUITY, MISSING, SERVICE, SITES, Basis, Comparison, Group, Judgement
from pipeline.judgement.periods_fit import NOT_RECORDED, OTHERS, SITE, fit, is_small, unjudged
from pipeline.judgement.sides import POOLED, Side, pooled, span, together
from pipeline.judgement.those_missing import missing
from pipeline.judgement.trends import weigh_across
from pipeline.judgement.verdict import (
    BEGUN,
    BETTER,
    CANNOT,
    DEFINITION,
    DIFFERS,
    LOOK,
    NONE,
    NOT_PRIMARY,
    NOT_THERE,
    RARE,
    TOO_FEW,
    WORSE,
)
from pipeline.outcomes.lookup import ALL
from pipeline.outcomes.periods import QUARTER, first_day, kind, last_day, shifted, year_before
from pipeline.statistics.counts import Floats
from pipeline.statistics.many_looks import benjamini_hochberg, holm

OWN = "own"  # the family of one practitioner's figures
HALF = 2  # quarters: a lasting change shows in half a year where a quarter is too little

_ADJUSTED: Mapping[str, tuple[Callable[[Sequence[float]], Floats], float]] = {
    SERVICE: (holm, 0.05),
    SITES: (benjamini_hochberg, 0.10),
    EQUITY: (benjamini_hochberg, 0.10),
    MISSING: (benjamini_hochberg, 0.10),
    OWN: (benjamini_hochberg, 0.10),
}


def judge(basis: Basis) -> Judgement:
    """Make and judge every comparison of a report."""
    named = {measure.name: measure for measure in basis.measures}
    primary = [named[name] for name in basis.primary]
    made = [*_service(basis, primary), *_sites(basis, primary), *_equity(basis, primary), *missing(basis)]
    adjusted = [one for family in (SERVICE, SITES, EQUITY, MISSING) for one in _adjusted(family, made)]
    return Judgement((*adjusted, *between_sites(basis, primary)))


def shown(basis: Basis, measure: Measure, then: str) -> Comparison:
    """A measure of everyone now and in another period, to be shown and not judged."""
    there = (measure.name, then, ALL, ALL) in basis.lookup.results
    now, before = (pooled(basis.lookup, measure.name, (period,)) for period in (basis.period, then))
    weighed = weigh(measure, now, before)
    reason = NOT_THERE if not there else weighed.cannot
    if reason in ("", TOO_FEW):
        reason = RARE if measure.kind == NOTED and measure.name in basis.primary else NOT_PRIMARY
    return unjudged(
        SERVICE, measure, FIGURE, (ALL, ALL), (basis.period,), (then,), replace(weighed, cannot=reason, mark=NONE)
    )


def beside_the_rest(pairs: Sequence[tuple[Measure, Side, Side]]) -> tuple[Comparison, ...]:
    """Figures of a person, or of groups in print, each beside all others: apart or not, and nobody is called names."""
    made = [
        unjudged(OWN, measure, FIGURE, (OWN, OWN), (), OTHERS, weigh(measure, own, rest))
        for measure, own, rest in pairs
    ]
    marks = {WORSE: LOOK, BETTER: LOOK, DIFFERS: LOOK}
    return tuple(
        replace(one, verdict=replace(one.verdict, mark=marks.get(one.verdict.mark, one.verdict.mark)))
        for one in _adjusted(OWN, made)
    )


def _service(basis: Basis, primary: Sequence[Measure]) -> Iterator[Comparison]:
    period, group = basis.period, (ALL, ALL)
    times: list[tuple[tuple[str, ...], tuple[str, ...]]] = [((period,), (year_before(period),))]
    if kind(period) == QUARTER:
        half = span(period, HALF)
        times = [((period,), (shifted(period, -1),)), *times, (half, _before(half))]
    for measure in primary:
        if measure.kind == NOTED:
            yield from _harm(SERVICE, basis, measure, basis.everyone, group, small=False)
            continue
        for now, then in times:
            yield _in_time(SERVICE, basis, measure, FIGURE, basis.everyone, group, now, then)


def _sites(basis: Basis, primary: Sequence[Measure]) -> Iterator[Comparison]:
    period = basis.period
    for measure in primary:
        sites = sorted(basis.lookup.levels.get((measure.name, period, SITE), ()))
        for site in sites if len(sites) > 1 else ():  # of one site the service says it all
            records = basis.sites.get(site, basis.everyone)
            small = is_small(records, period)
            if measure.kind == NOTED:
                yield from _harm(SITES, basis, measure, records, (SITE, site), small=small)
                continue
            pooled_here = small and measure.kind != TIME_TO_EVENT
            for now in dict.fromkeys([span(period)] if pooled_here else [(period,), span(period, HALF)]):
                yield _in_time(SITES, basis, measure, FIGURE, records, (SITE, site), now, _before(now))


def _harm(
    family: str, basis: Basis, measure: Measure, records: Group, group: tuple[str, str], *, small: bool
) -> Iterator[Comparison]:
    """A harm on four quarters, and beside it how many were heard from, since silence is no news."""
    now = span(basis.period)
    yield _in_time(family, basis, measure, FIGURE, records, group, now, _before(now, 2 * POOLED))
    heard = now if small else (basis.period,)
    yield _in_time(family, basis, measure, HEARD_FROM, records, group, heard, _before(heard))


def _before(now: tuple[str, ...], count: int = POOLED) -> tuple[str, ...]:
    return span(shifted(now[0], -1), count)


def _in_time(
    family: str,
    basis: Basis,
    measure: Measure,
    about: str,
    records: Group,
    group: tuple[str, str],
    now: tuple[str, ...],
    then: tuple[str, ...],
) -> Comparison:
    """A group beside itself at another time, as far as the records go back."""
    there = [period for period in then if (measure.name, period, *group) in basis.lookup.results]
    fit_now, fit_then = (tuple(name for name in names if fit(basis, records, name)) for names in (now, there))
    first, second = (pooled(basis.lookup, measure.name, names, *group) for names in (fit_now or now, fit_then or then))
    weighed = weigh(measure, first, second, about)
    if not there:
        weighed = replace(weighed, p=math.nan, cannot=NOT_THERE, mark=NONE)
    elif not (fit_now and fit_then):
        weighed = replace(weighed, p=math.nan, cannot=BEGUN, mark=CANNOT)
    elif _definition_changed(basis, measure, fit_then[0], fit_now[-1]):
        weighed = replace(weighed, p=math.nan, cannot=DEFINITION, mark=CANNOT)
    elif measure.kind == TIME_TO_EVENT and measure.better == "shorter":
        weighed = replace(weighed, stopped=has_stopped(first, second))
    return unjudged(family, measure, about, group, fit_now or now, fit_then or then, weighed)


def _definition_changed(basis: Basis, measure: Measure, first: str, last: str) -> bool:
    day = basis.changed.get(measure.name)
    return day is not None and first_day(first, basis.year_starts) < day <= last_day(last, basis.year_starts)


def _equity(basis: Basis, primary: Sequence[Measure]) -> Iterator[Comparison]:
    now = span(basis.period)
    for measure in primary:
        for breakdown in basis.breakdowns:
            if breakdown.for_equity:
                yield from _groups(basis, measure, breakdown, now)


def _groups(basis: Basis, measure: Measure, breakdown: Breakdown, now: tuple[str, ...]) -> Iterator[Comparison]:
    """Each level beside all others that are recorded; of two, only the one that is worse off: the other mirrors it.

    Of three or more that are steps of one order the trend across them is judged, and no step by itself.
    """
    sides = {name: one for name, one in by_group(basis, measure, breakdown.name).items() if name != NOT_RECORDED}
    recorded = [name for name, one in sides.items() if one.eligible]
    for about in (FIGURE, HEARD_FROM) if measure.kind == NOTED else (FIGURE,):
        if breakdown.in_order and len(recorded) > 2:
            worst, across = weigh_across(measure, {name: sides[name] for name in recorded}, about)
            yield unjudged(EQUITY, measure, about, (breakdown.name, worst), now, OTHERS, across)
            continue
        weighed = [(name, weigh(measure, sides[name], others(sides, name), about)) for name in recorded]
        if len(recorded) == 2:
            weighed = [min(weighed, key=lambda one: (one[1].direction() == "better", one[0]))]
        for name, one in weighed if len(recorded) > 1 else ():
            yield unjudged(EQUITY, measure, about, (breakdown.name, name), now, OTHERS, one)


def by_group(basis: Basis, measure: Measure, breakdown: str) -> dict[str, Side]:
    """Every level of a breakdown, four quarters together, those not recorded as well."""
    now = span(basis.period)
    there = {name for period in now for name in basis.lookup.levels.get((measure.name, period, breakdown), ())}
    return {name: pooled(basis.lookup, measure.name, now, breakdown, name) for name in sorted(there)}


def others(sides: Mapping[str, Side], name: str) -> Side:
    """All levels but one."""
    return together(one for other, one in sides.items() if other != name)


def _adjusted(family: str, made: Sequence[Comparison]) -> Iterator[Comparison]:
    """Say of each comparison of a family what so many looks leave of it."""
    ours = [one for one in made if one.family == family]
    adjust, share = _ADJUSTED[family]
    p = [one.weighed.p for one in ours if not one.weighed.cannot]
    findings = int((adjust(p) <= share).sum())
    first = share / max(len(p), 1)
    limit = share / max(len(p) - findings, 1) if adjust is holm else first * max(findings, 1)
    for one in ours:
        if one.weighed.cannot and not one.weighed.stopped:
            yield replace(one, verdict=decide(one.weighed, limit))
        else:
            yield replace(one, verdict=decide(one.weighed, limit), limit=limit, by_chance=by_chance(one.weighed, first))
