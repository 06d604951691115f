"""Who is behind a figure: the rows of its grain with their answers, held to the count that the page shows.

Comes in: figures, the tables the measures left, the outcome. Goes out: for each figure its entries in the
order of a review. Refuses: entries that do not add up to the figure; that is a defect of the program, a ValueError.

Here the names of a breakdown and of an id, of those there are, are joined into SQL, and the SQL of a group apart as it
stands.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from operator import attrgetter

import duckdb

from pipeline.contracts.grains import WITHIN_A_CASE
from pipeline.contracts.measure_files import DAYS, SHARES, Measure
from pipeline.lineage.figure_asked import ALL, Figure, of_measure
from pipeline.outcomes.outcome import Outcome

MET, NOT_MET, OTHER_END, UNKNOWN, COUNTED = "met", "not_met", "other_end", "unknown", "counted"


@dataclass(frozen=True)
class Entry:
    """One case, request, referral or division behind a figure."""

    case_ref: str
    own_id: int | None  # of the referral or division; None where it is a case or a request
    index_date: date
    answer: str  # met, not_met, other_end, unknown or counted
    days: int | None = None
    cell: tuple[str, str] | None = None  # of the flow: route and six_weeks


def behind(
    con: duckdb.DuckDBPyConnection, figures: Sequence[Figure], outcome: Outcome
) -> tuple[tuple[Entry, ...], ...]:
    """The entries of each figure."""
    behind_each = []
    for figure in figures:
        entries = sorted(_entries(con, figure), key=_place_in(figure))
        _see_that_they_add_up(figure, entries, outcome)
        behind_each.append(tuple(entries))
    return tuple(behind_each)


def behind_each_level(
    con: duckdb.DuckDBPyConnection, measure: Measure, outcome: Outcome
) -> Mapping[str, tuple[tuple[Figure, tuple[Entry, ...]], ...]]:
    """Each breakdown with its levels and the entries of each, everyone too; read once for all of them."""
    levels_of = {
        split.name: outcome.lookup.levels.get((measure.name, outcome.period, split.name), ())
        for split in outcome.breakdowns
    }
    whole = of_measure(measure, outcome.period)
    own_id = whole.grain.id_column if whole.grain in WITHIN_A_CASE else "NULL"
    listed = ", ".join(f'"{split}"' for split in levels_of)
    rows = con.execute(
        f"SELECT case_ref, {own_id}, index_date, met, days, event, {listed} FROM broken_down "
        "WHERE measure = $1 AND period = $2",
        [measure.name, outcome.period],
    ).fetchall()
    entries = [(_entry(measure.kind, *row[:6]), row[6:]) for row in rows]
    place_of = _place_in(whole)
    entries.sort(key=lambda pair: place_of(pair[0]))
    behind_each: dict[str, tuple[tuple[Figure, tuple[Entry, ...]], ...]] = {}
    for place, (split, levels) in enumerate(levels_of.items()):
        members: defaultdict[str, list[Entry]] = defaultdict(list)
        for entry, at in entries:
            members[at[place]].append(entry)
        figures = {level: replace(whole, breakdown=split, level=level) for level in levels}
        for level, figure in figures.items():
            _see_that_they_add_up(figure, members[level], outcome)
        behind_each[split] = tuple((figure, tuple(members[level])) for level, figure in figures.items())
    return behind_each


def _entries(con: duckdb.DuckDBPyConnection, figure: Figure) -> list[Entry]:
    if figure.measure is None:
        level = "" if figure.breakdown == ALL else f' AND "{figure.breakdown}" = $level'
        values = {"period": figure.period} | ({} if figure.breakdown == ALL else {"level": figure.level})
        rows = con.execute(
            f"SELECT case_ref, index_date, route, six_weeks FROM everyone WHERE period_of(index_date) = $period{level}",
            values,
        ).fetchall()
        return [Entry(ref, None, day, COUNTED, cell=(route, weeks)) for ref, day, route, weeks in rows]
    own_id = figure.grain.id_column if figure.grain in WITHIN_A_CASE else "NULL"
    if figure.apart is not None:
        rows = con.execute(
            f"SELECT case_ref, {own_id}, index_date FROM ({figure.sql}) WHERE period_of(index_date) = $1",
            [figure.period],
        ).fetchall()
        return [Entry(ref, number, day, COUNTED) for ref, number, day in rows]
    rows = con.execute(
        f"SELECT case_ref, {own_id}, index_date, met, days, event FROM broken_down "
        f'WHERE measure = $1 AND period = $2 AND "{figure.breakdown}" = $3',
        [figure.name, figure.period, figure.level],
    ).fetchall()
    return [_entry(figure.measure.kind, *row) for row in rows]


def _entry(
    kind: str, ref: str, number: int | None, day: date, met: bool | None, days: int | None, event: int | None
) -> Entry:
    return Entry(ref, number, day, _answer(kind, met, event), days)


def _answer(kind: str, met: bool | None, event: int | None) -> str:
    if kind == DAYS:
        return COUNTED
    if met is None or met:
        return UNKNOWN if met is None else MET
    return OTHER_END if event == 2 else NOT_MET


def order(figure: Figure) -> tuple[str, ...]:
    """The answers as a reviewer wants them: what should not have been first, what is well last."""
    if not figure.is_measure:
        return (COUNTED,)
    assert figure.measure is not None
    if figure.measure.better == "higher":
        return (NOT_MET, UNKNOWN, MET)
    if figure.measure.kind in SHARES:
        return (MET, UNKNOWN, NOT_MET)
    return (UNKNOWN, NOT_MET, OTHER_END, MET, COUNTED)


def _place_in(figure: Figure) -> Callable[[Entry], tuple[int, date, str, int]]:
    """Where an entry stands in the order of a review."""
    rank = {answer: place for place, answer in enumerate(order(figure))}
    return lambda entry: (rank[entry.answer], entry.index_date, entry.case_ref, entry.own_id or 0)


def by_answer(entries: Sequence[Entry]) -> Counter[str]:
    """How many have each answer."""
    return Counter(map(attrgetter("answer"), entries))


def _see_that_they_add_up(figure: Figure, entries: Sequence[Entry], outcome: Outcome) -> None:
    answers = by_answer(entries)
    tally = {"eligible": len(entries)}
    if figure.is_measure:
        known = len(entries) - answers[UNKNOWN]
        tally |= {"known": known, "met": answers[MET], "unknown": answers[UNKNOWN]}
        result = outcome.lookup.results[figure.name, figure.period, figure.breakdown, figure.level]
        said = {name: getattr(result, name) for name in tally if getattr(result, name) is not None}
    elif figure.apart is not None:
        apart = outcome.apart
        titled = (apart["title"] == figure.apart.title) & (apart["measure"] == figure.apart.measure)
        said = {"eligible": int(apart.loc[titled & (apart["period"] == figure.period), "count"].sum())}
    else:
        flow = outcome.flow
        here = flow if figure.breakdown == ALL else flow[flow[figure.breakdown] == figure.level]
        cells = Counter(entry.cell for entry in entries)
        counted = {(row.route, row.six_weeks): int(row.cases) for row in here.itertuples()}
        if cells != counted:
            raise ValueError(f"trace: {figure.name}: cells {dict(cells)} found, the flow says {counted}")
        said = {"eligible": int(here["cases"].sum())}
    wrong = [f"{name} {tally[name]} found, {said[name]} counted" for name in said if tally[name] != said[name]]
    if wrong:
        raise ValueError(f"trace: {figure.name}, {figure.period}, {figure.breakdown} {figure.level}: {wrong}")
