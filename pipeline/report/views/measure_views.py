"""What stands under one measure on the page, worded and drawn.

Comes in: the edition's content and the wording. Goes out: frozen views the templates print.
Refuses: to treat any measure by its name; what differs comes from its kind and its own texts.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from markupsafe import Markup

from pipeline.contracts.measure_files import FOLLOWED_DAYS, Measure
from pipeline.judgement import verdict
from pipeline.judgement.months import Monthly
from pipeline.outcomes.lookup import ALL, CurveDay, Lookup, Result
from pipeline.outcomes.periods import kind, last_day, year_before
from pipeline.report.charts import captions, month_chart, over_time
from pipeline.report.charts.drawing import Words, draw
from pipeline.report.charts.looks import NARROW, WIDE
from pipeline.report.charts.plotly_lists import Figure
from pipeline.report.content.edition import EditionContent
from pipeline.report.views import measure_tables
from pipeline.report.views.changes import changes
from pipeline.report.views.definition import definition
from pipeline.report.views.whom import waiting
from pipeline.report.words import monthly_words, sentences, verdicts
from pipeline.report.words.dates import a_year_before, long_label, run_up_to, short_label
from pipeline.report.words.labels import SectionWords, Wording
from pipeline.report.words.table import Table
from pipeline.report.words.verdicts import Said, standard

PERIODS_SHOWN = 9
CAPTIONS = captions.EVERYTHING
FEWEST_FIGURES, FEWEST_KNOWN = 3, 20  # in the periods shown: below either a chart shows nothing that its table does not


@dataclass(frozen=True)
class Chart:
    """A figure drawn in both sizes, with its caption."""

    wide: Markup
    narrow: Markup
    caption: str


@dataclass(frozen=True)
class MeasureView:
    """Everything under one measure."""

    measure: Measure
    figure: str
    so_far: bool
    notes: tuple[str, ...]  # bounds, where the cases of a wait stood, the warning of a small number
    beside: tuple[str, ...]  # those of them that the summary has too: the share of all due, and that warning
    chart: Chart | None  # none where there is too little for one
    over_time: tuple[str, ...]  # what the chart says month by month, or that it is too early for one
    curve_chart: Chart | None
    curve: Table | None
    still_waiting: Table | None  # by site, at the cut-off; of a wait of which that is counted
    periods: Table | None  # none where the reported period is the only one with anybody
    within: Table | None  # the quarters of a year
    breakdowns: Table | None
    apart: tuple[tuple[str, int], ...]
    standard: Said | None
    changes: tuple[tuple[str, Said], ...]  # beside which time, and what is said of it
    definition: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class SectionView:
    """One question and its measures; one of which nothing is known in any period has a line, not a part of the page."""

    words: SectionWords
    key: str  # what the marks of its charts mean
    measures: tuple[MeasureView, ...]
    nothing_known: tuple[MeasureView, ...]


def chart(key: str, title: str, description: str, caption: str, wide: Figure, narrow: Figure) -> Chart:
    """The same figure in both sizes; only one shows at a time, so both may say the same words."""
    large = draw(wide, Words(f"{key}-wide", title, description, WIDE.name))
    # The description stands in the page once: it is read out from the drawing that does not show, too.
    small = draw(narrow, Words(f"{key}-narrow", title, "", NARROW.name, described_by=f"{key}-wide-desc"))
    return Chart(Markup(large), Markup(small), caption)


def sections(content: EditionContent, wording: Wording) -> tuple[SectionView, ...]:
    """Every measure under its question."""
    made = []
    for words, own in by_section(content.measures, wording, content.settings.at_a_glance):
        known = [measure for measure in own if content.lookup.ever_known(measure.name)]
        parts = tuple(measure_view(measure, content, wording) for measure in known)
        lines = tuple(_line(measure, content, wording) for measure in own if measure not in known)
        key = captions.once(view.chart.caption for view in parts if view.chart)
        made.append(SectionView(words, key, parts, lines))
    return tuple(made)


def _line(measure: Measure, content: EditionContent, wording: Wording) -> MeasureView:
    result = content.lookup.everyone(measure.name, content.period)
    figure = sentences.none_known(result, wording.grains[measure.grain][1])
    return replace(measure_view(measure, content, wording), figure=figure)


def by_section(
    measures: Sequence[Measure], wording: Wording, primary: Sequence[str] = ()
) -> Iterator[tuple[SectionWords, list[Measure]]]:
    """The listed sections in their order, then any a measure names and the wording does not; empty ones left out."""
    listed = (section.name for section in wording.sections)
    for name in dict.fromkeys((*listed, *sorted({measure.section for measure in measures}))):
        own = [measure for measure in measures if measure.section == name]
        own.sort(key=lambda measure: primary.index(measure.name) if measure.name in primary else len(primary))
        if own:
            yield wording.section(name), own


def measure_view(measure: Measure, content: EditionContent, wording: Wording) -> MeasureView:
    """Word, draw and tabulate one measure."""
    period, lookup = content.period, content.lookup
    series = up_to_now(measure, content)
    now = lookup.everyone(measure.name, period)
    share = content.settings.standards.get(measure.name)
    curve_chart, curve_table = _curve(measure, lookup, period)
    shown = [
        breakdown
        for breakdown in content.breakdowns
        if breakdown.for_every_measure or breakdown.name in measure.also_by
    ]
    apart = content.apart[(content.apart["measure"] == measure.name) & (content.apart["period"] == period)]
    small = sentences.small(measure, now)
    only_seen = sentences.only_seen(content.requests_held) if measure.grain == "request" else ""
    known_enough = verdicts.known_enough(measure, now, content.settings)
    notes = (
        only_seen,
        sentences.of_all_due(measure, now),
        known_enough,
        sentences.bounds(now),
        small,
        sentences.changed_definition(measure, content.provenance.cut_off),
    )
    return MeasureView(
        measure=measure,
        figure=sentences.figure(measure, now, wording.grains[measure.grain][1]),
        so_far=now is not None and not now.complete,
        notes=tuple(note for note in notes if note),
        beside=tuple(note for note in (only_seen, sentences.of_all_due(measure, now), known_enough, small) if note),
        chart=_chart(measure, content, series, wording),
        over_time=_over_time(measure, content, wording),
        curve_chart=curve_chart,
        curve=curve_table,
        still_waiting=waiting.still_waiting(measure, content.still_waiting, content.provenance.cut_off, wording),
        periods=measure_tables.periods(measure, series) if any(_anybody(one) for _, one in series[:-1]) else None,
        within=None if content.within is None else measure_tables.within(measure, content.within, period),
        breakdowns=measure_tables.breakdowns(measure, shown, lookup, period, wording),
        apart=tuple((str(title), int(count)) for title, count in zip(apart["title"], apart["count"], strict=True)),
        standard=None if share is None else standard(measure, share, verdict.standard(measure, lookup, period, share)),
        changes=changes(measure, content),
        definition=definition(measure, now, wording),
    )


def _over_time(measure: Measure, content: EditionContent, wording: Wording) -> tuple[str, ...]:
    """What is said month by month, and of a harm case by case."""
    monthly, harm = content.over_time.get(measure.name), content.rare_harm.get(measure.name)
    drawn = _months(measure, content) or (monthly if _says_enough(up_to_now(measure, content)) else None)
    said = () if drawn is None else monthly_words.over_time(measure, drawn)
    if harm is None:
        return said
    last = last_day(content.period, content.settings.year_starts)
    return said + monthly_words.rare_harm(harm, *wording.grains[measure.grain], last)


def _months(measure: Measure, content: EditionContent) -> Monthly | None:
    """Its months, where there are enough to say what is usual."""
    monthly = content.over_time.get(measure.name)
    return monthly if monthly is not None and monthly.baseline is not None else None


def _anybody(result: Result | None) -> bool:
    return result is not None and result.eligible > 0


def _says_enough(series: Sequence[tuple[str, Result | None]]) -> bool:
    of = [result.of for _, result in series if result is not None and result.value is not None]
    return len(of) >= FEWEST_FIGURES and sum(of) >= FEWEST_KNOWN


def _chart(
    measure: Measure, content: EditionContent, series: Sequence[tuple[str, Result | None]], wording: Wording
) -> Chart | None:
    """Month by month where there are months enough to say what is usual, else a dot a period where those say enough."""
    share = content.settings.standards.get(measure.name)
    monthly = _months(measure, content)
    if monthly is not None:
        said = ". ".join(monthly_words.over_time(measure, monthly))
        wide, narrow = (month_chart.by_month(monthly, share, frame) for frame in (WIDE, NARROW))
        return chart(
            measure.name,
            f"{measure.title}, by month",
            f"{said}. Every month stands in over_time.csv.",
            captions.by_month(wide),
            wide,
            narrow,
        )
    if not _says_enough(series):
        return None
    return chart(
        measure.name,
        f"{measure.title}, by {kind(content.period)}",
        description(measure, series, wording),
        captions.of_results(measure, [result for _, result in series]),
        *(over_time.over_periods(measure, series, share, frame) for frame in (WIDE, NARROW)),
    )


def up_to_now(measure: Measure, content: EditionContent) -> list[tuple[str, Result | None]]:
    """The results of everyone in the quarters shown, the reported one last."""
    periods = run_up_to(content.period, PERIODS_SHOWN, content.lookup.first)
    return [(period, content.lookup.everyone(measure.name, period)) for period in periods]


def description(measure: Measure, series: Sequence[tuple[str, Result | None]], wording: Wording) -> str:
    """What a chart over quarters shows, for who does not see it."""
    known = [(result.value, result) for _, result in series if result is not None and result.value is not None]
    last = sentences.figure(measure, series[-1][1], wording.grains[measure.grain][1])
    text = f"{len(series)} {kind(series[-1][0])}s, the last {long_label(series[-1][0])}: {last}."
    if len(known) > 1:
        low, high = (sentences.short(measure, pick(known, key=lambda point: point[0])[1]) for pick in (min, max))
        text += f" Lowest {low}, highest {high}."
    return text + " Every figure stands in the table that follows."


def _curve(measure: Measure, lookup: Lookup, period: str) -> tuple[Chart | None, Table | None]:
    curves: list[tuple[str, tuple[CurveDay, ...]]] = []
    for name in (period, year_before(period)):
        steps = lookup.curves.get((measure.name, name, ALL, ALL), ())
        if steps:
            curves.append((name, steps))
    if not curves:
        return None, None
    names = " and ".join(short_label(name) for name, _ in curves)
    steps = curves[0][1]
    ended, at_risk = waiting.ended_steps(steps), waiting.at_risk(steps)
    drawn = chart(
        f"{measure.name}-curve",
        f"{measure.title}: how the share grew, day by day",
        f"From day 0 to day {FOLLOWED_DAYS}, {names}. Shares by day stand in the table that follows.",
        "How the share grew, day by day. "
        + (f"Dashed: {a_year_before(period)}. " if len(curves) > 1 else "")
        + (f"Dotted: {measure.in_a_sentence[2]}. " if ended else "")
        + "Under each day: how many were waiting and watched as it began.",
        *(over_time.wait_curve(curves, frame, ended, at_risk) for frame in (WIDE, NARROW)),
    )
    return drawn, waiting.curve(measure, curves)
