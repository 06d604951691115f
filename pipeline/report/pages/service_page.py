"""The service edition, one HTML file that needs nothing else, and the technical page beside it.

Comes in: an EditionContent and where to write. Goes out: the files, the same bytes for the same content. Refuses:
content that does not add up (content.check); a template that asks for what is not there.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

from pipeline.contracts import places
from pipeline.judgement.judged import EQUITY, MISSING, SERVICE, SITES
from pipeline.outcomes.periods import kind
from pipeline.report.content import edition as contents
from pipeline.report.content.edition import EditionContent
from pipeline.report.opening import summary, this_quarter
from pipeline.report.pages import html_page
from pipeline.report.views import activity_tables, equity, measure_views, quality_tables, sites
from pipeline.report.views.finding_lists import findings
from pipeline.report.views.whom import missing
from pipeline.report.words import labels
from pipeline.report.words.dates import a_year_before, both_names, day_label, periods_beside, short_label
from pipeline.report.words.labels import Wording


def write_service_edition(content: EditionContent, path: Path) -> Path:
    """Write the edition of one quarter for the service lead."""
    return html_page.write(path, page(content))


def page(content: EditionContent) -> str:
    """The whole page as text."""
    contents.check(content)
    words = labels.read(places.REPORTS / "wording.toml")
    beside = [content.period, *periods_beside(content.period)]
    return html_page.render(
        "service.html",
        content=content,
        provenance=content.provenance,
        period=both_names(content.period, content.settings.year_starts),
        which=kind(content.period),
        a_year_before=a_year_before(content.period),
        cut_off=day_label(content.provenance.cut_off),
        day_label=day_label,
        **drawn(content, words),
        activity=activity_tables.activity(content.activity, beside, words),
        no_activity=[short_label(empty) for empty in activity_tables.nothing_in(content.activity, beside)],
        changed=findings(content, words, SERVICE),
        at_sites=findings(content, words, SITES),
        unlike=findings(content, words, EQUITY),
        unheard=findings(content, words, MISSING),
        lines=quality_tables.in_one_line(content.quality),
        why=quality_tables.why(content.quality, words),
        most_often=quality_tables.most_often(content.quality),
    )


def drawn(content: EditionContent, words: Wording) -> dict[str, Any]:
    """What of the page holds charts, in its order."""
    sections = measure_views.sections(content, words)
    return {
        "opening": this_quarter.opening(content, words),
        "everyone": summary.everyone(content, words),
        "glance": summary.glance(content, sections),
        "sections": sections,
        "between": sites.between(content, words),
        "missing": missing.missing(content, words),
        "equity": equity.equity(content, words),
    }


def write_technical_page(content: EditionContent, path: Path) -> Path:
    """Write what a board need not read: data quality, methods and provenance in full."""
    return html_page.write(path, technical(content))


def technical(content: EditionContent) -> str:
    """The technical page as text."""
    contents.check(content)
    words = labels.read(places.REPORTS / "wording.toml")
    return html_page.render(
        "technical.html",
        content=content,
        provenance=content.provenance,
        period=both_names(content.period, content.settings.year_starts),
        which=kind(content.period),
        cut_off=day_label(content.provenance.cut_off),
        day_label=day_label,
        lines=quality_tables.reconciliation(content.quality),
        reasons=quality_tables.reasons(content.quality, words),
        not_recorded=quality_tables.not_recorded(content.quality),
        by_site=quality_tables.not_recorded_by_site(content.quality),
    )
