"""One practitioner's own figures, worded and drawn, with the rest of the service beside them where it may be shown.

Comes in: a practitioner's content and the wording. Goes out: frozen views the templates print. Refuses: to show the
rest where it is not fit to be shown.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from pipeline.contracts.measure_files import SHARES, Measure
from pipeline.judgement.families import beside_the_rest
from pipeline.judgement.judged import Comparison
from pipeline.judgement.sides import Side, side
from pipeline.outcomes import lookup
from pipeline.outcomes.lookup import Lookup, Result
from pipeline.outcomes.own_and_rest import OWN, REST, WHOSE
from pipeline.outcomes.periods import kind
from pipeline.report.charts import captions, over_time
from pipeline.report.charts.looks import NARROW, WIDE
from pipeline.report.content.edition import PractitionerContent
from pipeline.report.views import measure_tables, measure_views
from pipeline.report.views.definition import definition
from pipeline.report.views.measure_views import Chart
from pipeline.report.views.whom import drawn_in
from pipeline.report.words import sentences, verdicts
from pipeline.report.words.dates import run_up_to
from pipeline.report.words.labels import SectionWords, Wording
from pipeline.report.words.table import Table
from pipeline.report.words.verdicts import Said

NOT_SHOWN = "not shown: too few other practitioners"


@dataclass(frozen=True)
class OwnView:
    """One measure: the practitioner's own figure, and the rest beside it."""

    measure: Measure
    own: str
    result: Result | None  # of the quarter
    so_far: bool
    not_always_known: bool  # an earlier quarter shown had answers of the practitioner's own that were not known
    notes: tuple[str, ...]
    rest: str
    drawn_in: str  # the own figure allowing for few cases; empty where the rest is not shown, or there is no share
    beside: Said | None  # None where there are not two figures
    by_chance: float  # how often chance alone would call them apart
    chart: Chart
    periods: Table
    definition: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class OwnSection:
    """One question and its measures."""

    words: SectionWords
    measures: tuple[OwnView, ...]


def sections(content: PractitionerContent, words: Wording) -> tuple[OwnSection, ...]:
    """The sections in their order, each with the measures of which anything of the practitioner's is known of late."""
    results = lookup.read(content.counted.results, content.counted.waits)
    periods = run_up_to(content.period, measure_views.PERIODS_SHOWN, results.first)
    there = [
        measure
        for measure in content.measures
        if any(own is not None and own.known for own in _own(results, measure, periods))
    ]
    beside = _beside(content, results, there)
    return tuple(
        OwnSection(section, tuple(_view(measure, content, results, periods, words, beside) for measure in own))
        for section, own in measure_views.by_section(there, words, content.settings.at_a_glance)
    )


def nothing_known(content: PractitionerContent) -> tuple[str, ...]:
    """The titles of the measures in which the practitioner has rows of late, and nothing is known of any."""
    results = lookup.read(content.counted.results, content.counted.waits)
    periods = run_up_to(content.period, measure_views.PERIODS_SHOWN, results.first)
    rows = {measure.title: [own for own in _own(results, measure, periods) if own] for measure in content.measures}
    return tuple(title for title, own in rows.items() if own and not any(result.known for result in own))


def _own(results: Lookup, measure: Measure, periods: Sequence[str]) -> list[Result | None]:
    return [_of(results, measure, period, OWN) for period in periods]


def _of(results: Lookup, measure: Measure, period: str, level: str) -> Result | None:
    return results.results.get((measure.name, period, WHOSE, level))


def _beside(content: PractitionerContent, results: Lookup, measures: Sequence[Measure]) -> Mapping[str, Comparison]:
    """Each measure whose rest may be shown, compared with it: all at once, since chance is reckoned with over all."""
    both = []
    for measure in measures:
        own, rest = (_side(results, measure, content.period, whose) for whose in (OWN, REST))
        if own is not None and rest is not None and (measure.name, content.period) in content.counted.rest_shown:
            both.append((measure, own, rest))
    return {one.measure.name: one for one in beside_the_rest(both)}


def _side(results: Lookup, measure: Measure, period: str, level: str) -> Side | None:
    result = _of(results, measure, period, level)
    return None if result is None else side(result, results.curves.get((measure.name, period, WHOSE, level), ()))


def _view(
    measure: Measure,
    content: PractitionerContent,
    results: Lookup,
    periods: Sequence[str],
    words: Wording,
    beside: Mapping[str, Comparison],
) -> OwnView:
    shown = content.counted.rest_shown
    series = [
        (
            period,
            _of(results, measure, period, OWN),
            _of(results, measure, period, REST) if (measure.name, period) in shown else None,
        )
        for period in periods
    ]
    _, own, rest = series[-1]
    own_series = [(period, result) for period, result, _ in series]
    nobody = words.grains[measure.grain][1]
    notes = (sentences.bounds(own), sentences.small(measure, own))
    return OwnView(
        measure=measure,
        own=sentences.figure(measure, own, nobody),
        result=own,
        so_far=own is not None and not own.complete,
        not_always_known=any(result is not None and result.unknown for _, result in own_series),
        notes=tuple(note for note in notes if note),
        # How many waits ended another way is a count more than fit_to_show has looked at.
        rest=NOT_SHOWN if rest is None else sentences.figure(measure, replace(rest, ended=None), nobody),
        drawn_in=_drawn_in(content, measure, own, rest),
        beside=verdicts.beside(beside[measure.name]) if measure.name in beside else None,
        by_chance=beside[measure.name].by_chance if measure.name in beside else 0.0,
        chart=measure_views.chart(
            measure.name,
            f"{measure.title}: own caseload, by {kind(own_series[-1][0])}",
            measure_views.description(measure, own_series, words),
            f"Own caseload. {captions.of_results(measure, [result for _, result in own_series])}",
            over_time.over_periods(measure, own_series, None, WIDE),
            over_time.over_periods(measure, own_series, None, NARROW),
        ),
        periods=measure_tables.beside(measure, series, NOT_SHOWN),
        # Without a direction: beside one person's figure it would read as praise or blame.
        definition=tuple((term, meaning) for term, meaning in definition(measure, own, words) if term != "Direction"),
    )


def _drawn_in(content: PractitionerContent, measure: Measure, own: Result | None, rest: Result | None) -> str:
    """Drawn towards own and rest together, both of which stand on the page, so that the mean tells nothing more.

    The weight is a whole number, of all practitioners at once, and the same on every page.
    """
    if rest is None or own is None or measure.kind not in SHARES or not own.of or not rest.of:
        return ""
    as_measured = content.counted.alike[measure.name]
    mean = ((own.met or 0) + (rest.met or 0)) / (own.of + rest.of)
    like = replace(as_measured, mean=mean, weight=float(round(as_measured.weight)))
    return f"{drawn_in.drawn_in(own.met or 0, own.of, like)}: {drawn_in.how(like)}"
