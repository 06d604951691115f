"""The sheets beside the measures: every comparison, how the waits went, who came, how good the records are.

Comes in: the edition's content and the wording. Goes out: frozen sheets. Refuses: to judge; the verdicts are those of
the judgement.
"""

from __future__ import annotations

from collections.abc import Iterator

import pandas as pd

from pipeline.contracts.measure_files import TIME_TO_EVENT
from pipeline.contracts.numbered_files import activity_files
from pipeline.judgement.judged import BETWEEN, EQUITY, MISSING, SERVICE, SITES, Comparison
from pipeline.judgement.sides import Side, within_reported_days
from pipeline.outcomes.lookup import ALL
from pipeline.outcomes.periods import year_before
from pipeline.report.content.edition import EditionContent
from pipeline.report.take_away.columns import COUNT, POINTS, SHARE, TEXT, Cell, Column, Sheet
from pipeline.report.words import verdicts
from pipeline.report.words.dates import periods_beside, short_label
from pipeline.report.words.labels import Wording

FAMILIES = {
    SERVICE: "The whole service",
    SITES: "Sites, with time",
    EQUITY: "Groups of families",
    MISSING: "Those not heard from",
}
WHERE = {**FAMILIES, BETWEEN: "Between sites"}  # which finds nothing worse or better
_SIDE = (("Share", SHARE, 9), ("Met", COUNT, 8), ("Of", COUNT, 8), ("Eligible", COUNT, 9), ("Not known", COUNT, 8))


def compared(content: EditionContent, wording: Wording) -> Sheet:
    """Every comparison that was made, with the counts of both sides."""
    heads = (("Where", 20), ("Measure", 40), ("What", 11), ("By", 18), ("Group", 24), ("Period", 20), ("Beside", 20))
    columns = (
        *(Column(head, TEXT, width) for head, width in heads),
        *(Column(head, form, width) for head, form, width in _SIDE),
        *(Column(f"Beside: {head[:1].lower()}{head[1:]}", form, width) for head, form, width in _SIDE),
        Column("Difference, percentage points", POINTS, 12, "the first share less the one beside it"),
        Column("Difference from", POINTS, 10, "lower end of its 95% interval"),
        Column("Difference to", POINTS, 10, "its upper end"),
        Column("Verdict", TEXT, 60),
    )
    titles = {breakdown.name: breakdown.title for breakdown in content.breakdowns}
    rows = tuple(_comparison(one, titles, wording) for one in content.judgement.comparisons)
    return Sheet("Compared", "Every comparison the report judges: both sides, and what is said.", columns, rows, 2)


def _comparison(one: Comparison, titles: dict[str, str], wording: Wording) -> tuple[Cell, ...]:
    by, group = (
        ("", "Everyone")
        if one.breakdown == ALL
        else (
            titles[one.breakdown],
            wording.level(one.breakdown, one.level),
        )
    )
    weighed, apart = one.weighed, one.weighed.difference()
    return (
        *(WHERE[one.family], one.measure.title, one.about, by, group),
        *(verdicts.span(one.now), _beside(one)),
        *_side(weighed.first, wait=weighed.is_wait),
        *_side(weighed.second, wait=weighed.is_wait),
        *(_number(100 * end) for end in (apart.difference, apart.lower, apart.upper)),
        verdicts.why(one.verdict),
    )


def _beside(one: Comparison) -> str:
    if one.weighed.across:
        return "the other end"
    if one.family == MISSING:
        return one.measure.heard[1]
    return verdicts.span(one.then) if one.then else "all others"


def _side(side: Side, *, wait: bool) -> tuple[Cell, ...]:
    if wait:
        share = _number(within_reported_days(side)[0]) if side.days else None
        return share, side.met, side.eligible, side.eligible, side.unknown
    return side.met / side.of if side.of else None, side.met, side.of, side.eligible, side.unknown


def _number(value: float) -> float | None:
    return None if pd.isna(value) else float(value)


def other_sheets(content: EditionContent, wording: Wording) -> Iterator[Sheet]:
    """What follows the measures on the page."""
    yield _waits(content)
    yield _activity(content)
    yield from _records(content, wording)


def _waits(content: EditionContent) -> Sheet:
    heads = (
        Column("Measure", TEXT, 40),
        Column("Period", TEXT, 12),
        Column("Day", COUNT, 8),
        Column("Share by then", SHARE, 9),
        Column("95% from", SHARE, 9),
        Column("95% to", SHARE, 9),
        Column("Watched that day", COUNT, 10),
        Column("Had it that day", COUNT, 10),
        Column("Ended another way", COUNT, 10),
        Column("Watched no longer", COUNT, 10),
    )
    rows = tuple(
        (
            *(measure.title, short_label(period), step.day, step.incidence, step.lower, step.upper),
            *(step.at_risk, step.events, step.competing, step.censored),
        )
        for measure in content.measures
        if measure.kind == TIME_TO_EVENT
        for period in (content.period, year_before(content.period))
        for step in content.lookup.curves.get((measure.name, period, ALL, ALL), ())
    )
    return Sheet(
        "Waits day by day", "Each wait: the share that had it by each day, and who was watched.", heads, rows, 2
    )


def _activity(content: EditionContent) -> Sheet:
    frame, periods = content.activity, (content.period, *periods_beside(content.period))
    counts = {(row.section, row.row, row.period): int(row.count) for row in frame.itertuples(index=False, name="Line")}
    titles = {file.own_name: file.keys["title"] for file in activity_files()}
    lines = dict.fromkeys(
        (section, row) for name in titles for section, row, period in counts if section == name and period in periods
    )
    rows = tuple(
        (titles[section], row.replace("_", " "), *(counts.get((section, row, period), 0) for period in periods))
        for section, row in lines
    )
    columns = (Column("What is counted", TEXT, 40), Column("Of these", TEXT, 40))
    of_periods = (Column(short_label(period), COUNT, 12) for period in periods)
    return Sheet("Who came", "Who came and what was done: counts, each on its own day.", (*columns, *of_periods), rows)


def _records(content: EditionContent, wording: Wording) -> Iterator[Sheet]:
    """How good the records are: what came in, what was set aside, what was not recorded."""
    quality = content.quality
    parts = ("lines", "accepted", "set_aside", "repeats", "left_out", "header", "blank")
    heads = [Column(part.replace("_", " ").capitalize(), COUNT, 11) for part in parts]
    lines = quality.lines.sort_values(["load", "file"]).itertuples(index=False)
    yield Sheet(
        "Lines received",
        "Every line of every file: lines = accepted + set aside + repeats + left out + header + blank.",
        (Column("Load", COUNT, 7), Column("File", TEXT, 44), *heads),
        tuple((int(line.load), str(line.file), *(int(getattr(line, part)) for part in parts)) for line in lines),
    )
    reasons = quality.reasons.sort_values(["load", "table", "column", "kind", "allowed"]).itertuples(index=False)
    words = (("Table", 24), ("Column", 26), ("Set aside", 16), ("What is allowed", 70))
    yield Sheet(
        "Set aside",
        "Rows and values set aside, with the reason.",
        (Column("Load", COUNT, 7), *(Column(head, TEXT, width) for head, width in words), Column("Count", COUNT, 8)),
        tuple(
            (
                *(int(reason.load), _text(reason.table), _text(reason.column)),
                *(wording.set_aside[reason.kind], _text(reason.allowed), int(reason[-1])),
            )
            for reason in reasons
        ),
    )
    missing = quality.not_recorded.itertuples(index=False)
    yield Sheet(
        "Not recorded",
        "Of the rows of the export, how many have nothing recorded in a column, by site.",
        (
            *(Column(head, TEXT, width) for head, width in (("Table", 24), ("Column", 30), ("Site", 30))),
            *(Column("Share not recorded", SHARE, 11), Column("Not recorded", COUNT, 10), Column("Rows", COUNT, 9)),
        ),
        tuple(
            (
                *(str(row.table), str(row.column), str(row.site)),
                *(row.not_recorded / row.rows if row.rows else None, int(row.not_recorded), int(row.rows)),
            )
            for row in missing
        ),
        frozen=2,
    )


def _text(value: object) -> str:
    return "" if pd.isna(value) else str(value)
