"""The service edition: one HTML file that needs nothing else.

Comes in: an EditionContent and where to write. Goes out: the file, the same bytes for the same content. Refuses:
content that does not add up (content.check); a template that asks for what is not there.
"""

from __future__ import annotations

from pathlib import Path

from pipeline import places
from pipeline.report import content as contents
from pipeline.report import equity, pages, parts, summary, tables_quality, wording
from pipeline.report import lookup as lookups
from pipeline.report.content import EditionContent
from pipeline.report.dates import day_label, long_label


def write_service_edition(content: EditionContent, path: Path) -> Path:
    """Write the edition of one quarter for the service lead."""
    return pages.write(path, page(content))


def page(content: EditionContent) -> str:
    """The whole page as text."""
    contents.check(content)
    words = wording.read(places.REPORTS / "wording.toml")
    lookup = lookups.read(content.results, content.waits)
    sections = parts.sections(content, lookup, words)
    return pages.render(
        "service.html",
        content=content,
        provenance=content.provenance,
        quarter=long_label(content.quarter),
        cut_off=day_label(content.provenance.cut_off),
        day_label=day_label,
        sections=sections,
        everyone=summary.everyone(content, words),
        equity=equity.equity(content, lookup, words),
        glance=summary.glance(content, lookup, sections),
        worth_a_look=summary.worth_a_look(content, lookup),
        lines=tables_quality.reconciliation(content.quality),
        reasons=tables_quality.reasons(content.quality, words),
        not_recorded=tables_quality.not_recorded(content.quality),
    )
