"""The records behind the headline figures: one page, for the owner only.

Comes in: the traced figures, the flow of everyone first, and the edition's content. Goes out: trace.html. Its sections
have ids that other pages link to: #MEASURE for each measure at a glance, #everyone, and #everyone-ROUTE-SIXWEEKS for
each cell of the flow.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from pipeline.outcomes.periods import kind
from pipeline.report.content.edition import EditionContent
from pipeline.report.content.traced import Traced
from pipeline.report.pages import html_page
from pipeline.report.words.dates import both_names, day_label


def write_trace(traced: Sequence[Traced], content: EditionContent, path: Path) -> Path:
    """Write the page of the quarter's headline figures."""
    page = html_page.render(
        "trace.html",
        service=content.settings.service,
        period=content.period,
        period_label=both_names(content.period, content.settings.year_starts),
        which=kind(content.period),
        cut_off=day_label(content.provenance.cut_off),
        figures=traced,
    )
    return html_page.write(path, page)
