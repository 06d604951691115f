"""The questions of the published report, each with its measures in sentences, a chart and tables.

Comes in: the printed counts and the words. Goes out: frozen sections in the order of the words; one without a figure
is left out. Refuses: to order anything by its figure.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from pipeline.contracts.measure_files import NOTED, REPORTED_DAY, TIME_TO_EVENT, Measure
from pipeline.privacy.release.public_frame import PublicFrame
from pipeline.report.charts.looks import NARROW, WIDE
from pipeline.report.charts.share_rows import ShareRow, share_rows
from pipeline.report.published import measure_sentences
from pipeline.report.published.plain_words import LOW, PublishedWords, chance, count, figure
from pipeline.report.published.printed_counts import ALL, Key, Printed
from pipeline.report.views.measure_views import Chart, chart
from pipeline.report.words.dates import long_label
from pipeline.report.words.labels import SectionWords
from pipeline.report.words.sentences import points
from pipeline.report.words.table import Group, Row, Table

HARM = "harm"
_DAYS = (7, 14, REPORTED_DAY)


@dataclass(frozen=True)
class Said:
    """One measure in sentences."""

    measure: Measure
    sentence: str
    notes: tuple[str, ...]


@dataclass(frozen=True)
class Section:
    """One question."""

    words: SectionWords
    said: tuple[Said, ...]
    chart: Chart | None
    tables: tuple[Table, ...]


def sections(frame: PublicFrame, printed: Mapping[Key, Printed], words: PublishedWords) -> tuple[Section, ...]:
    """Every question of which anything is printed."""
    everyone = {name: own for (block, name, breakdown, _), own in printed.items() if not block and breakdown == ALL}
    blocks = tuple(dict.fromkeys(block for block, *_ in printed if block))
    in_block = {name for block, name, *_ in printed if block}
    placed: dict[str, list[Printed]] = {}
    for measure in frame.measures:
        if measure.name in everyone:
            own = words.placed.get(measure.name, measure.section)
            place = HARM if measure.kind == NOTED or measure.name in in_block else own
            placed.setdefault(place, []).append(everyone[measure.name])
    listed = {section.name: section for section in words.sections}
    order = dict.fromkeys((*listed, *sorted(placed)))
    out = []
    for name in (name for name in order if name in placed):
        head = listed.get(name, SectionWords(name, name.replace("_", " ").capitalize(), ""))
        out.append(_section(head, placed[name], frame, words, printed, blocks if name == HARM else ()))
    return tuple(out)


def _section(
    head: SectionWords,
    own: Sequence[Printed],
    frame: PublicFrame,
    words: PublishedWords,
    printed: Mapping[Key, Printed],
    blocks: Sequence[str],
) -> Section:
    shares = [one for one in own if one.measure.kind != TIME_TO_EVENT]
    waits = [one for one in own if one.measure.kind == TIME_TO_EVENT]
    tables = [_waits(head.name, waits, words)] if waits else []
    if shares and head.name == HARM:
        tables.append(_harm(shares, printed, blocks, long_label(frame.period)))
    elif shares:
        tables.append(_shares(head.name, head.title, shares))
    said = [say(one, frame, words) for one in own]
    return Section(head, tuple(said), drawn(f"section-{head.name}", head.title, own), tuple(tables))


def say(printed: Printed, frame: PublicFrame, words: PublishedWords) -> Said:
    """One measure in sentences."""
    plain = words.measures.get(printed.measure.name)
    return Said(
        printed.measure,
        measure_sentences.sentence(printed, plain),
        measure_sentences.notes(printed, frame.known_enough),
    )


def drawn(key: str, title: str, own: Sequence[Printed]) -> Chart | None:
    """The shares on one scale; None where none of them is printed."""
    if not any(one.shown for one in own):
        return None
    rows = [ShareRow(one.measure.title, one.met, one.of, cell(one), one.measure.kind != TIME_TO_EVENT) for one in own]
    described = " ".join(f"{row.label}: {row.text}." for row in rows)
    caption = "Dot: the share. Line: what chance alone leaves open. No dot: not shown."
    return chart(key, title, described, caption, share_rows(rows, WIDE), share_rows(rows, NARROW))


def cell(printed: Printed) -> str:
    """The figure with its mark."""
    return figure(printed.met, printed.of) + (f" {LOW}" if printed.few_known else "")


def _shares(name: str, title: str, own: Sequence[Printed]) -> Table:
    rows = [
        Row(
            one.measure.title,
            (cell(one), chance(one.met, one.of), count(one.count("unknown")), _bounds(one)),
        )
        for one in own
    ]
    heads = ("", "Yes, of those known", "Chance leaves open", "Not known", "If all not known were no, or yes")
    return Table(f"{name}-shares", f"{title} The figures", heads, (Group("", tuple(rows)),))


def _bounds(printed: Printed) -> str:
    met, unknown, eligible = (printed.count(name) for name in ("met", "unknown", "eligible"))
    if met is None or not unknown or not eligible:
        return ""
    return f"{points(met / eligible)} or {points((met + unknown) / eligible)}%"


def _harm(own: Sequence[Printed], printed: Mapping[Key, Printed], blocks: Sequence[str], period: str) -> Table:
    """The year beside the blocks of years, which never overlap."""
    heads = ["", period, "Heard from"]
    for block in blocks:
        heads += [" to ".join(long_label(year) for year in block.split(" to ")), "Heard from"]
    rows = []
    for one in own:
        cells = [cell(one), figure(one.count("known"), one.count("eligible"))]
        for block in blocks:
            there = printed.get((block, one.measure.name, ALL, ALL))
            cells += ["", ""] if there is None else [cell(there), figure(there.count("known"), there.count("eligible"))]
        rows.append(Row(one.measure.title, tuple(cells)))
    caption = "Problems noted, of all divisions, and how many were heard from"
    return Table("harm-shares", caption, tuple(heads), (Group("", tuple(rows)),))


def _waits(name: str, own: Sequence[Printed], words: PublishedWords) -> Table:
    groups = []
    for one in own:
        rows = [Row(f"Within {day} days", (figure(one.count(f"by_{day}"), one.of),)) for day in _DAYS]
        rows += [
            Row(f"Ended another way by day {REPORTED_DAY}", (figure(one.count("ended"), one.of),)),
            Row(f"Still waiting on day {REPORTED_DAY}", (figure(one.count("waiting"), one.of),)),
            Row("Not known", (figure(one.count("unknown"), one.of),)),
        ]
        groups.append(Group(_waited_for(one, words), tuple(rows)))
    return Table(f"{name}-waits", "Waits by day 7, day 14 and day 28", ("", "How many, of all"), tuple(groups))


def _waited_for(printed: Printed, words: PublishedWords) -> str:
    """`Families who asked for help: were first seen`; the days stand in the rows."""
    plain = words.measures.get(printed.measure.name)
    if plain is None:
        return printed.measure.question
    return f"{plain.of[:1].upper()}{plain.of[1:]}: {plain.did.partition(' within ')[0]}"
