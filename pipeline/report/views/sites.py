"""Between sites: each site beside all the others, as a chart and one table, in the order of their names.

Comes in: the edition's content and the wording. Goes out: a frozen view the template prints; None where there is one
site only. It judges nothing. Refuses: to rank; to call a site worse or better; to compare two sites' ratios.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from pipeline.contracts.measure_files import Measure
from pipeline.judgement import verdict as judged
from pipeline.judgement.judged import BETWEEN, Comparison
from pipeline.judgement.mix import BY_CELLS
from pipeline.judgement.verdict import LOOK
from pipeline.report.charts.looks import NARROW, WIDE
from pipeline.report.charts.site_panels import Panel, SiteDot, site_panels
from pipeline.report.content.edition import EditionContent
from pipeline.report.views.measure_views import Chart, chart
from pipeline.report.words import verdicts
from pipeline.report.words.labels import Wording
from pipeline.report.words.sentences import percent, rounded
from pipeline.report.words.table import Group, Row, Table

_SAYS = {
    judged.HIGHER: "further above than chance gives",
    judged.LOWER: "further below than chance gives",
    judged.TESTED: "within chance",
    judged.TOO_FEW: "too few to say",
    judged.NOWHERE: "too few to say",
    judged.TOO_MANY_UNKNOWN: "too many unknown",
    judged.FOLLOW_UP: "not as many heard from",
    judged.BEGUN: "cannot be said, the records had only begun",
    judged.DEFINITION: "records changed meaning",
    judged.NO_FIGURE: "no figure",
}

MOST_DRAWN = 12  # of more sites only those outside are drawn: rows of dots that nobody could tell apart say nothing


@dataclass(frozen=True)
class Between:
    """Every primary share at every site, beside all the others."""

    listed: tuple[tuple[str, Measure, str], ...]  # those outside: the site, the measure, in words
    made: int
    cannot: int
    expected: str  # how many chance alone would list
    mixed: bool  # whether the mix of families could be allowed for anywhere
    chart: Chart | None  # None of many sites none of which is outside
    table: Table


def between(content: EditionContent, wording: Wording) -> Between | None:
    """The whole section, or None."""
    judgement = content.judgement
    made = judgement.of(BETWEEN)
    if not made:
        return None
    measures = list(dict.fromkeys(one.measure.name for one in made))
    by_measure = [[one for one in made if one.measure.name == name] for name in measures]
    panels = [_panel(ones, wording) for ones in by_measure]
    many = any(len(panel.sites) > MOST_DRAWN for panel in panels)
    if many:
        only = [replace(panel, sites=tuple(site for site in panel.sites if site.outside)) for panel in panels]
        panels = [panel for panel in only if panel.sites]
    outside = judgement.marked(BETWEEN, LOOK)
    return Between(
        listed=tuple((wording.level(one.breakdown, one.level), one.measure, _outside(one)) for one in outside),
        made=judgement.made(BETWEEN),
        cannot=len([one for one in made if one.weighed.cannot]),
        expected=verdicts.number(judgement.expected(BETWEEN)),
        mixed=any(one.mix for one in made),
        chart=_chart(panels, outside, many, wording) if panels else None,
        table=_table(by_measure, wording),
    )


def _chart(panels: Sequence[Panel], outside: Sequence[Comparison], many: bool, wording: Wording) -> Chart:
    listed = [f"{wording.level(one.breakdown, one.level)}, {one.measure.title}" for one in outside]
    return chart(
        "sites",
        "Each site beside all the others",
        f"Further from the others than chance gives: {'; '.join(listed) or 'none'}. The table holds every figure.",
        "Dot: the site. Pale band: from where to where chance alone takes it about all the other sites."
        f"{' Orange diamond: further than that.' if outside else ''} Dotted line: all sites together."
        f"{' There are many sites: only those further than that are drawn.' if many else ''}",
        site_panels(panels, WIDE),
        site_panels(panels, NARROW),
    )


def _outside(one: Comparison) -> str:
    return f"{verdicts.change(one).text} ({verdicts.span(one.now)})"


def _panel(ones: Sequence[Comparison], wording: Wording) -> Panel:
    widest = max(ones, key=lambda one: one.weighed.first.of + one.weighed.second.of).weighed
    everyone = widest.first.of + widest.second.of
    dots = []
    for one in ones:
        of = one.weighed.first.of
        share = one.weighed.first.met / of if of else None
        allowed = None if one.allowed is None else (one.allowed[0] / of, one.allowed[1] / of)
        dots.append(SiteDot(wording.level(one.breakdown, one.level), share, allowed, one.verdict.mark == LOOK))
    together = (widest.first.met + widest.second.met) / everyone if everyone else None
    return Panel(ones[0].measure.title, tuple(dots), together)


def _table(by_measure: Sequence[Sequence[Comparison]], wording: Wording) -> Table:
    heads = ("Site", "Its own", "Not known", "All others", "Chance gives", "So it is", "Expected: ratio")
    return Table(
        "sites",
        "Of those known; a harm noted of all, and not known are those nobody heard from",
        heads,
        tuple(Group(_heading(ones), tuple(_row(one, wording) for one in ones)) for ones in by_measure),
    )


def _heading(ones: Sequence[Comparison]) -> str:
    """The measure, and the periods where all sites share them."""
    spans = {verdicts.span(one.now) for one in ones}
    return f"{ones[0].measure.title}, {spans.pop()}" if len(spans) == 1 else ones[0].measure.title


def _row(one: Comparison, wording: Wording) -> Row:
    first, second, mix = one.weighed.first, one.weighed.second, one.mix
    allowed = "" if one.allowed is None else f"{one.allowed[0]} to {one.allowed[1]}"
    adjusted = "too few for this"
    if mix is not None:
        odds, places = ("", 2) if mix.by == BY_CELLS else ("odds ", 1)
        exact = "" if mix.least is None else f" ({mix.least} to {mix.most})"
        ratio, lower, upper = (rounded(number, places) for number in (mix.ratio, mix.lower, mix.upper))
        adjusted = f"{_count(mix.expected)}{exact}: {odds}{ratio} ({lower} to {upper})"
    own, others = (_share(side.met, side.of) for side in (first, second))
    said = _SAYS[one.verdict.reason]
    cells = (own, str(first.unknown), others, allowed, said, adjusted)
    return Row(wording.level(one.breakdown, one.level), cells)


def _share(met: int, of: int) -> str:
    return f"{met} of {of} ({percent(met / of, of)})" if of else "none"


def _count(expected: float) -> str:
    return rounded(expected, 0 if expected >= 10 else 1)
