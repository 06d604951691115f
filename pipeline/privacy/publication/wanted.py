"""What a release would like to print, and which releases its counts hang together with.

Comes in: the ledger, frozen counts by quarter, the settings' choices. Goes out: the periods of the count system, their
sums, the places to print in the order of the published file.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

from pipeline.contracts.measure_files import SHOWN, TIME_TO_EVENT, Measure
from pipeline.privacy.publication.count_cells import Place
from pipeline.privacy.publication.frozen_counts import (
    ACTIVITY,
    COUNT,
    EVERYONE,
    MEASURE,
    PARTS,
    WAIT_PARTS,
    Counts,
    Key,
    added,
)

PRINTED_PARTS: tuple[str, ...] = ("eligible", "known", "unknown", "met")  # of every share; not_met is never printed
PRINTED_OF_WAITS = ("eligible", "unknown", "by_7", "by_14", "met", "ended", "waiting")  # met: by day 28
PRINTED_OF_WAITS_BY_LEVEL = ("eligible", "unknown", "met")
BLOCK_YEARS = 3  # rare harms are counted in blocks of so many years that never overlap
REST = "rest of"  # the quarters of a year that are out only as a part of it, together


@dataclass(frozen=True)
class Wanted:
    """The system of a release before it is put together."""

    periods: Mapping[str, Counts]
    sums: tuple[tuple[str, tuple[str, ...]], ...]
    places: tuple[Place, ...]  # to print, in order
    block: str = ""  # the three years that end with this one, if they are a block


def rare_harms(measures: Sequence[Measure]) -> tuple[Measure, ...]:
    """The harms that a year alone says too little of: those with exact limits on the pages."""
    return tuple(measure for measure in measures if measure.exact and measure.published in SHOWN)


def of_quarter(quarter: str, counts: Counts, measures: Sequence[Measure]) -> Wanted:
    """The headlines of a quarter: everyone only, no activity."""
    headline = _of_everyone(_with_empty_rows(counts, measures, {}, {}))
    return Wanted({quarter: headline}, (), tuple(_places(quarter, headline, measures, (), ())))


def of_year(
    year: str,
    quarters: Mapping[str, Counts],
    out_already: Collection[str],
    earlier_years: Mapping[str, Mapping[str, Counts]],
    out_of_earlier: Mapping[str, Collection[str]],
    measures: Sequence[Measure],
    breakdowns: Mapping[str, Sequence[str]],
    sections: Mapping[str, Sequence[str]],
    *,
    activity_only: bool,
) -> Wanted:
    """A year, with its quarters that are out already; and a block, where this is its last year.

    quarters: the frozen counts of the four. breakdowns, sections: in their order, each with the levels or rows that it
    has whether or not anybody is in them. earlier_years: the same of the years of the block before this one, none
    where no block ends here; out_of_earlier: which of their quarters are out by themselves.
    """
    periods: dict[str, Counts] = {}
    sums: list[tuple[str, tuple[str, ...]]] = []
    for one, of_it, out in (
        *((before, earlier_years[before], out_of_earlier[before]) for before in earlier_years),
        (year, quarters, out_already),
    ):
        of_it = {quarter: _with_empty_rows(counts, measures, breakdowns, sections) for quarter, counts in of_it.items()}
        periods[one] = added(of_it.values())
        if out:
            parts = {quarter: _of_everyone(of_it[quarter]) for quarter in sorted(out)}
            rest = [of_it[quarter] for quarter in of_it if quarter not in out]
            if rest:
                parts[f"{REST} {one}"] = _of_everyone(added(rest))
            periods |= parts
            sums.append((one, tuple(parts)))
    shown = () if activity_only else measures
    places = list(_places(year, periods[year], shown, tuple(breakdowns), tuple(sections)))
    block = ""
    if earlier_years:
        years = (*earlier_years, year)
        block = f"{years[0]} to {years[-1]}"
        harms = {measure.name for measure in rare_harms(measures)}
        of_block = added(periods[one] for one in years)
        of_block = {key: count for key, count in _of_everyone(of_block).items() if key.name in harms}
        periods[block] = of_block
        sums.append((block, years))
        places += _places(block, of_block, rare_harms(measures), (), ())
    return Wanted(periods, tuple(sums), tuple(places), block)


def _with_empty_rows(
    counts: Counts,
    measures: Sequence[Measure],
    breakdowns: Mapping[str, Sequence[str]],
    sections: Mapping[str, Sequence[str]],
) -> dict[Key, int]:
    """With noughts for whatever nobody is in: a row that stood only where somebody is would tell that somebody is."""
    full = dict(counts)
    for measure in measures:
        rows = [(EVERYONE, EVERYONE)]
        if measure.published != "everyone":
            rows += [(split, level) for split, levels in breakdowns.items() for level in levels]
        parts = PARTS if measure.published in SHOWN else PARTS[:1]
        for breakdown, level in rows:
            of_wait = WAIT_PARTS if measure.kind == TIME_TO_EVENT and breakdown == EVERYONE and len(parts) > 1 else ()
            for part in (*parts, *of_wait) if (breakdown, level) not in measure.never else ():
                full.setdefault(Key(MEASURE, measure.name, breakdown, level, part), 0)
    for section, lines in sections.items():
        for line in lines:
            full.setdefault(Key(ACTIVITY, section, "", line, COUNT), 0)
    return full


def _of_everyone(counts: Counts) -> dict[Key, int]:
    return {key: count for key, count in counts.items() if key.table == MEASURE and key.breakdown == EVERYONE}


def _places(
    period: str, counts: Counts, measures: Sequence[Measure], breakdowns: Sequence[str], sections: Sequence[str]
) -> list[Place]:
    """Activity, then measures; never in the order of a value."""
    places: list[Place] = []
    for section in sections:
        rows = sorted(key.level for key in counts if (key.table, key.name) == (ACTIVITY, section))
        places += [(period, Key(ACTIVITY, section, "", level, COUNT)) for level in (EVERYONE, *rows) if rows]
    by_row: dict[tuple[str, str], set[str]] = {}
    for key in counts:
        if key.table == MEASURE:
            by_row.setdefault((key.name, key.breakdown), set()).add(key.level)
    for measure in measures:
        for breakdown in (EVERYONE, *breakdowns):
            for level in sorted(by_row.get((measure.name, breakdown), ())):
                parts = PRINTED_PARTS
                if measure.kind == TIME_TO_EVENT:
                    parts = PRINTED_OF_WAITS if breakdown == EVERYONE else PRINTED_OF_WAITS_BY_LEVEL
                keys = (Key(MEASURE, measure.name, breakdown, level, part) for part in parts)
                places += [(period, key) for key in keys if key in counts]
    return places
