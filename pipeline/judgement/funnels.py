"""Each site beside all other sites at the same time: which lies further from them than chance gives, by counts.

Comes in: results up to a period, which measures are primary, the mix of families. Goes out: Comparisons of a family of
their own. Refuses: to call a site worse or better (its families may differ: this describes, and is no finding of the
other lists); to put sites into an order of their figures; to compare two of them with one another.

A site is outside where so few or so many come about in one of a thousand each way: by the exact tails of its count
about the share of the others, and by the exact test that knows the others for counts too. As everywhere it must hold at
both bounds of the unknown. Four quarters together for a harm and for a site that sees few.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace

from pipeline.contracts.measure_files import NOTED, PROPORTION, Measure
from pipeline.judgement.comparing import FIGURE, Weighed, about_others, by_chance, decide, weigh_about_others
from pipeline.judgement.judged import BETWEEN, Basis, Comparison
from pipeline.judgement.mix import adjusted
from pipeline.judgement.mix import together as mixed
from pipeline.judgement.periods_fit import NOT_RECORDED, OTHERS, SITE, fit, is_small, unjudged
from pipeline.judgement.sides import Side, pooled, span, together
from pipeline.judgement.verdict import BEGUN, CANNOT, DEFINITION, HIGHER, LOOK, LOWER, TESTED, Verdict
from pipeline.outcomes.periods import first_day
from pipeline.statistics.units import TAIL

LIMIT = 2 * TAIL  # of a p that looks both ways


def between_sites(basis: Basis, primary: Sequence[Measure]) -> Iterator[Comparison]:
    """Each primary share at each site, in the order of their names; nothing where there is one site only."""
    for measure in primary:
        if measure.kind in (PROPORTION, NOTED):
            there = {
                site for name in span(basis.period) for site in basis.lookup.levels.get((measure.name, name, SITE), ())
            }
            sites = sorted(there - {NOT_RECORDED})
            for site in sites if len(sites) > 1 else ():
                yield _about_the_others(basis, measure, site, [other for other in sites if other != site])


def _about_the_others(basis: Basis, measure: Measure, site: str, others: Sequence[str]) -> Comparison:
    records = basis.sites.get(site, basis.everyone)
    long = measure.kind == NOTED or is_small(records, basis.period)
    asked = span(basis.period) if long else (basis.period,)
    now = _fit(basis, measure, site, asked)
    periods = {site: now, **{other: _fit(basis, measure, other, now) for other in others}}
    sides = {name: pooled(basis.lookup, measure.name, fitting, SITE, name) for name, fitting in periods.items()}
    first, second = sides.pop(site), together(sides.values())
    weighed = weigh_about_others(measure, first, second, LIMIT)
    if not now:
        why = DEFINITION if any(fit(basis, records, name) for name in asked) else BEGUN
        weighed = replace(weighed, p=math.nan, cannot=why, mark=CANNOT)
    made = unjudged(BETWEEN, measure, FIGURE, (SITE, site), now or asked, OTHERS, weighed)
    here, there = (
        mixed(basis.mix.get((measure.name, period, name), {}) for name in names for period in periods[name])
        for names in ((site,), others)
    )
    made = replace(made, verdict=_said(weighed), mix=adjusted(here, there))
    if weighed.cannot:
        return made
    return replace(made, limit=LIMIT, by_chance=by_chance(weighed, LIMIT), allowed=_allowed(first.of, second))


def _fit(basis: Basis, measure: Measure, site: str, periods: Sequence[str]) -> tuple[str, ...]:
    """Of these periods those in which the records of the site had begun, and mean what they mean now."""
    records, changed = basis.sites.get(site, basis.everyone), basis.changed.get(measure.name)
    return tuple(
        name
        for name in periods
        if fit(basis, records, name) and (changed is None or first_day(name, basis.year_starts) >= changed)
    )


def _said(weighed: Weighed) -> Verdict:
    verdict = decide(weighed, LIMIT)
    if verdict.reason != TESTED or verdict.mark not in ("worse", "better", "differs"):
        return verdict
    higher = weighed.first.met * weighed.second.of > weighed.second.met * weighed.first.of
    return Verdict(LOOK, HIGHER if higher else LOWER)


def _allowed(of: int, others: Side) -> tuple[int, int]:
    """The least and the most of so many that are not outside about the others as they stand."""
    centre = min(round(of * others.met / others.of), of)
    return _last(centre, 0, of, others), _last(centre, of, of, others)


def _last(inside: int, end: int, of: int, others: Side) -> int:
    """The last count from the centre towards an end that is within chance, found by halving."""
    if about_others(end, of, others) > LIMIT:
        return end
    outside = end
    while abs(outside - inside) > 1:
        middle = (inside + outside) // 2
        inside, outside = (inside, middle) if about_others(middle, of, others) <= LIMIT else (middle, outside)
    return inside
