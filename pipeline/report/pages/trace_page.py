"""The cases behind the figures of a period: one page, for the owner only.

Comes in: the traced figures, the flow of everyone first, the other figures with their references, and the edition's
content. Goes out: trace.html. It has ids that other pages link to: #MEASURE for each measure, #everyone,
#everyone-ROUTE-SIXWEEKS for each cell of the flow, #MEASURE-BREAKDOWN-LEVEL for each group. Each stands within what is
folded, for a link to it unfolds that.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from pipeline.outcomes.periods import kind
from pipeline.report.content.edition import EditionContent
from pipeline.report.pages import html_page
from pipeline.report.views.behind.traced import Traced
from pipeline.report.views.behind.traced_levels import TracedMeasure
from pipeline.report.words.dates import both_names, day_label


def write_trace(traced: Sequence[Traced], others: Sequence[TracedMeasure], content: EditionContent, path: Path) -> Path:
    """Write the page of the quarter's figures: those at a glance with their lines, the others by reference."""
    page = html_page.render(
        "trace.html",
        service=content.settings.service,
        period=content.period,
        period_label=both_names(content.period, content.settings.year_starts),
        which=kind(content.period),
        cut_off=day_label(content.provenance.cut_off),
        figures=traced,
        others=others,
    )
    return html_page.write(path, page)
