"""The practitioner edition: one practitioner's own caseload beside the rest of the service taken together.

Comes in: a PractitionerContent and the folder to write into. Goes out: one HTML file that needs nothing else, named
after the code. Refuses: to show the rest where it is not fit to be shown, another practitioner's code (so no settings,
no file names, no remarks of the store), a rank, or a place among others.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from pipeline.contracts import places
from pipeline.contracts.measure_files import Measure
from pipeline.judgement.verdict import NONE
from pipeline.outcomes import lookup
from pipeline.outcomes.lookup import Lookup, Result
from pipeline.outcomes.own_and_rest import OWN, REST, WHOSE
from pipeline.report.charts import over_time
from pipeline.report.charts.looks import NARROW, WIDE
from pipeline.report.content.edition import PractitionerContent
from pipeline.report.pages import html_page
from pipeline.report.views import measure_tables, measure_views, reflection
from pipeline.report.views.measure_views import Chart
from pipeline.report.words import labels, sentences, verdicts
from pipeline.report.words.dates import day_label, long_label, run_up_to
from pipeline.report.words.labels import SectionWords, Wording
from pipeline.report.words.table import Table
from pipeline.report.words.verdicts import Said

NOT_SHOWN = "not shown: too few other practitioners"
_PLAIN = re.compile(r"[A-Z0-9][A-Z0-9-]{0,39}")
# Names that a file system keeps for devices, whatever follows the dot.
_DEVICES = re.compile(r"CON|PRN|AUX|NUL|COM[0-9]|LPT[0-9]")


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
    beside: Said | None  # None where there are not two figures
    chart: Chart
    quarters: Table
    definition: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class OwnSection:
    """One question and its measures."""

    words: SectionWords
    measures: tuple[OwnView, ...]


def write_practitioner_edition(content: PractitionerContent, folder: Path) -> Path:
    """Write the edition of one practitioner and quarter; the file."""
    path = folder / f"{file_name(content.counted.code)}.html"
    html_page.write(path, page(content))
    return path


def file_name(code: str) -> str:
    """A name for a code that any file system takes, and no other code has, whether or not it tells a from A.

    Capitals, digits and hyphens stand as they are. Any other code keeps what of it is plain, and gets a sign that no
    plain name has and a checksum of the whole.
    """
    if _PLAIN.fullmatch(code) and not _DEVICES.fullmatch(code):
        return code
    readable = re.sub(r"[^A-Za-z0-9-]+", "", code)[:24]
    return f"{readable}_{hashlib.sha256(code.encode('utf-8', 'surrogatepass')).hexdigest()[:20]}"


def page(content: PractitionerContent) -> str:
    """The whole page as text."""
    words = labels.read(places.REPORTS / "wording.toml")
    found = lookup.read(content.counted.results, content.counted.waits)
    sections = _sections(content, found, words)
    views = [view for section in sections for view in section.measures]
    there = {view.measure.name for view in views}
    compared = [view for view in views if view.beside is not None and view.beside.mark != NONE]
    return html_page.render(
        "practitioner.html",
        content=content,
        code=content.counted.code,
        quarter=long_label(content.quarter),
        cut_off=day_label(content.cut_off),
        first_seen=words.several("case", content.counted.first_seen),
        procedures=words.several("procedure", content.counted.procedures),
        sections=sections,
        without=[measure.title for measure in content.measures if measure.name not in there],
        compared=len(compared),
        expected=verdicts.by_chance(len(compared)),
        prompts=reflection.prompts(views, content.reasons, words),
        look=[(reason, reflection.table(reason)) for reason in content.reasons],
        day_label=day_label,
    )


def _sections(content: PractitionerContent, found: Lookup, words: Wording) -> tuple[OwnSection, ...]:
    """The sections in their order, each with the measures in which the practitioner has any row of late."""
    named = [section.name for section in words.sections]
    order = [*named, *sorted({measure.section for measure in content.measures} - set(named))]
    quarters = run_up_to(content.quarter, measure_views.QUARTERS_SHOWN, found.first)
    primary = content.settings.at_a_glance
    sections = []
    for name in order:
        there = [
            measure
            for measure in content.measures
            if measure.section == name and any(_of(found, measure, quarter, OWN) for quarter in quarters)
        ]
        there.sort(key=lambda each: primary.index(each.name) if each.name in primary else len(primary))
        if there:
            views = tuple(_view(measure, content, found, quarters, words) for measure in there)
            sections.append(OwnSection(words.section(name), views))
    return tuple(sections)


def _of(found: Lookup, measure: Measure, quarter: str, level: str) -> Result | None:
    return found.results.get((measure.name, quarter, WHOSE, level))


def _view(
    measure: Measure, content: PractitionerContent, found: Lookup, quarters: Sequence[str], words: Wording
) -> OwnView:
    shown = content.counted.rest_shown
    series = [
        (
            quarter,
            _of(found, measure, quarter, OWN),
            _of(found, measure, quarter, REST) if (measure.name, quarter) in shown else None,
        )
        for quarter in quarters
    ]
    _, own, rest = series[-1]
    own_series = [(quarter, result) for quarter, result, _ in series]
    nobody = words.grains[measure.grain][1]
    notes = (sentences.bounds(own), sentences.counts(measure, own), sentences.small(measure, own))
    return OwnView(
        measure=measure,
        own=sentences.figure(measure, own, nobody),
        result=own,
        so_far=own is not None and not own.complete,
        not_always_known=any(result is not None and result.unknown for _, result in own_series),
        notes=tuple(note for note in notes if note),
        rest=NOT_SHOWN if rest is None else sentences.figure(measure, rest, nobody),
        beside=None if own is None or rest is None else verdicts.beside(measure, own, rest),
        chart=measure_views.chart(
            measure.name,
            f"{measure.title}: own caseload, by quarter",
            measure_views.description(measure, own_series, words),
            f"Own caseload. {measure_views.CAPTIONS[measure.kind]}",
            over_time.over_quarters(measure, own_series, None, WIDE),
            over_time.over_quarters(measure, own_series, None, NARROW),
        ),
        quarters=measure_tables.beside(measure, series, NOT_SHOWN),
        # Without a direction: beside one person's figure it would read as praise or blame.
        definition=tuple(each for each in measure_views.definition(measure, own, words) if each[0] != "Direction"),
    )
