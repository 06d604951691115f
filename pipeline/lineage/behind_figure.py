"""Who is behind a figure: its cases or procedures with their answers, held to the count that the page shows.

Comes in: figures, the tables the measures left, the outcome. Goes out: for each figure its entries in the
order of a review, and on the connection the table `traced`, every case_ref once. Refuses: entries that do not add up to
the figure; that is a defect of the program, a ValueError.

Here the name of a breakdown, one of those there are, is joined into SQL, and the SQL of a group apart as it stands.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import duckdb

from pipeline.contracts.measure_files import DAYS, PROPORTION
from pipeline.lineage.figure_asked import ALL, Figure
from pipeline.outcomes.outcome import Outcome

MET, NOT_MET, OTHER_END, UNKNOWN, COUNTED = "met", "not_met", "other_end", "unknown", "counted"


@dataclass(frozen=True)
class Entry:
    """One case or procedure behind a figure."""

    case_ref: str
    procedure_id: int | None
    index_date: date
    answer: str  # met, not_met, other_end, unknown or counted
    days: int | None = None
    cell: tuple[str, str] | None = None  # of the flow: route and six_weeks


def behind(
    con: duckdb.DuckDBPyConnection, figures: Sequence[Figure], outcome: Outcome
) -> tuple[tuple[Entry, ...], ...]:
    """The entries of each figure."""
    found = []
    for figure in figures:
        entries = sorted(_entries(con, figure), key=lambda each: _place(figure, each))
        _see_that_they_add_up(figure, entries, outcome)
        found.append(tuple(entries))
    refs = sorted({entry.case_ref for entries in found for entry in entries})
    con.execute("CREATE OR REPLACE TEMP TABLE traced AS SELECT unnest($1) AS case_ref", [refs])
    return tuple(found)


def _entries(con: duckdb.DuckDBPyConnection, figure: Figure) -> list[Entry]:
    if figure.measure is None:
        level = "" if figure.breakdown == ALL else f' AND "{figure.breakdown}" = $level'
        values = {"quarter": figure.quarter} | ({} if figure.breakdown == ALL else {"level": figure.level})
        rows = con.execute(
            "SELECT case_ref, index_date, route, six_weeks FROM everyone "
            f"WHERE quarter_of(index_date) = $quarter{level}",
            values,
        ).fetchall()
        return [Entry(ref, None, day, COUNTED, cell=(route, weeks)) for ref, day, route, weeks in rows]
    if figure.apart is not None:
        frame = con.execute(f"SELECT * FROM ({figure.sql}) WHERE quarter_of(index_date) = $1", [figure.quarter])
        names = [each[0] for each in frame.description]
        records = [dict(zip(names, row, strict=True)) for row in frame.fetchall()]
        return [Entry(each["case_ref"], each.get("procedure_id"), each["index_date"], COUNTED) for each in records]
    rows = con.execute(
        "SELECT case_ref, procedure_id, index_date, met, days, event FROM broken_down "
        f'WHERE measure = $1 AND quarter = $2 AND "{figure.breakdown}" = $3',
        [figure.name, figure.quarter, figure.level],
    ).fetchall()
    return [
        Entry(ref, procedure, day, _answer(figure.measure.kind, met, event), days)
        for ref, procedure, day, met, days, event in rows
    ]


def _answer(kind: str, met: bool | None, event: int | None) -> str:
    if kind == PROPORTION:
        return UNKNOWN if met is None else MET if met else NOT_MET
    if kind == DAYS:
        return COUNTED
    return {0: UNKNOWN, 1: MET, 2: OTHER_END}[event or 0]


def order(figure: Figure) -> tuple[str, ...]:
    """The answers as a reviewer wants them: what should not have been first, what is well last."""
    if not figure.is_measure:
        return (COUNTED,)
    assert figure.measure is not None
    if figure.measure.better == "higher":
        return (NOT_MET, UNKNOWN, MET)
    if figure.measure.kind == PROPORTION:
        return (MET, UNKNOWN, NOT_MET)
    return (UNKNOWN, OTHER_END, MET, COUNTED)


def _place(figure: Figure, entry: Entry) -> tuple[int, date, str, int]:
    return order(figure).index(entry.answer), entry.index_date, entry.case_ref, entry.procedure_id or 0


def _see_that_they_add_up(figure: Figure, entries: Sequence[Entry], outcome: Outcome) -> None:
    tally = Counter(entry.answer for entry in entries)
    found: dict[str, int] = {"eligible": len(entries)}
    if figure.is_measure:
        known = tally[MET] + tally[NOT_MET] + tally[OTHER_END] + tally[COUNTED]
        found |= {"known": known, "met": tally[MET], "unknown": tally[UNKNOWN]}
        result = outcome.lookup.results[figure.name, figure.quarter, figure.breakdown, figure.level]
        said = {name: getattr(result, name) for name in found if getattr(result, name) is not None}
    elif figure.apart is not None:
        apart = outcome.apart
        titled = (apart["title"] == figure.apart.title) & (apart["measure"] == figure.apart.measure)
        said = {"eligible": int(apart.loc[titled & (apart["quarter"] == figure.quarter), "count"].sum())}
    else:
        flow = outcome.flow
        here = flow if figure.breakdown == ALL else flow[flow[figure.breakdown] == figure.level]
        cells = Counter(entry.cell for entry in entries)
        counted = {(row.route, row.six_weeks): int(row.cases) for row in here.itertuples()}
        if cells != counted:
            raise ValueError(f"trace: {figure.name}: cells {dict(cells)} found, the flow says {counted}")
        said = {"eligible": int(here["cases"].sum())}
    wrong = [f"{name} {found[name]} found, {number} counted" for name, number in said.items() if found[name] != number]
    if wrong:
        raise ValueError(f"trace: {figure.name}, {figure.quarter}, {figure.breakdown} {figure.level}: {wrong}")
