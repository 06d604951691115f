"""Those we did not hear from, beside those we did: what is known of both.

Comes in: the edition's content and the wording. Goes out: frozen views the templates print. Refuses: to say of anyone
who was not heard from how they are.
"""

from __future__ import annotations

from dataclasses import dataclass

from pipeline.contracts.measure_files import Measure
from pipeline.judgement.judged import MISSING, Comparison
from pipeline.judgement.periods_fit import NOT_RECORDED
from pipeline.judgement.sides import Side, pooled, span
from pipeline.judgement.those_missing import compared_by, heard_by
from pipeline.report.content.edition import EditionContent
from pipeline.report.views.whom.each_group import in_points
from pipeline.report.words import verdicts
from pipeline.report.words.labels import Wording
from pipeline.report.words.sentences import percent
from pipeline.report.words.table import Group, Row, Table
from pipeline.statistics.comparison import newcombe


@dataclass(frozen=True)
class NotHeardFrom:
    """One measure: how many of four quarters were heard from, and who they are; None where all, or none, were."""

    measure: Measure
    sentence: str
    table: Table | None


def missing(content: EditionContent, wording: Wording) -> tuple[NotHeardFrom, ...]:
    """Every measure that asks for it."""
    return tuple(_view(measure, content, wording) for measure in content.measures if measure.heard)


def _view(measure: Measure, content: EditionContent, wording: Wording) -> NotHeardFrom:
    now, (heard, silent) = span(content.period), measure.heard
    everyone = pooled(content.lookup, measure.name, now)
    sentence = f"Nobody was in question, {verdicts.span(now)}"
    if everyone.eligible:
        share = percent(everyone.known / everyone.eligible, everyone.eligible)
        sentence = (
            f"{everyone.known:,} of {everyone.eligible:,} ({share}) were {heard}, {everyone.unknown:,} {silent}, "
            f"{verdicts.span(now)}"
        )
    judged = {
        (one.breakdown, one.level): one for one in content.judgement.of(MISSING) if one.measure.name == measure.name
    }
    groups = [
        _group(measure, breakdown.name, breakdown.title, content, wording, judged)
        for breakdown in (compared_by(content.basis, measure) if everyone.known and everyone.unknown else ())
    ]
    rows = tuple(group for group in groups if group.rows)
    heads = ("", heard.capitalize(), silent.capitalize(), "Apart, points (95% interval)", "Verdict")
    caption = f"{measure.title}: those {heard} and those {silent}, {verdicts.span(now)}"
    return NotHeardFrom(measure, sentence, Table(f"{measure.name}-missing", caption, heads, rows) if rows else None)


def _group(
    measure: Measure,
    breakdown: str,
    title: str,
    content: EditionContent,
    wording: Wording,
    judged: dict[tuple[str, str], Comparison],
) -> Group:
    """A row a level, and one for those whose level is not recorded; the two of a pair are judged as one."""
    heard = heard_by(content.basis, measure, breakdown)
    rows = []
    for level in wording.in_order(breakdown, heard.levels):
        first, second = heard.levels[level]
        one = judged.get((breakdown, level)) or next((judged[key] for key in judged if key[0] == breakdown), None)
        said = "" if one is None else verdicts.in_short(one.verdict)
        rows.append(
            Row(
                wording.level(breakdown, level),
                (_share(first), _share(second), in_points(newcombe(first.met, first.of, second.met, second.of)), said),
            )
        )
    if rows and any(heard.not_recorded):
        rows.append(Row(wording.level(breakdown, NOT_RECORDED), (*map(str, heard.not_recorded), "", "")))
    return Group(title, tuple(rows))


def _share(one: Side) -> str:
    return f"{one.met} of {one.of}" + (f" ({percent(one.met / one.of, one.of)})" if one.of else "")
