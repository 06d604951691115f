"""The service edition: one HTML file that needs nothing else.

Comes in: an EditionContent and where to write. Goes out: the file, the same bytes for the same content. Refuses:
content that does not add up (content.check); a template that asks for what is not there.
"""

from __future__ import annotations

import base64
import hashlib
from pathlib import Path

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

from pipeline import places
from pipeline.report import content as contents
from pipeline.report import lookup as lookups
from pipeline.report import parts, summary, tables_quality, wording
from pipeline.report.content import EditionContent
from pipeline.report.dates import day_label, long_label


def write_service_edition(content: EditionContent, path: Path) -> None:
    """Write the edition of one quarter for the service lead."""
    path.write_text(page(content), encoding="utf-8", newline="\n")


def page(content: EditionContent) -> str:
    """The whole page as text."""
    contents.check(content)
    words = wording.read(places.REPORTS / "wording.toml")
    lookup = lookups.read(content.results, content.waits)
    sections = parts.sections(content, lookup, words)
    style = (places.REPORTS / "style.css").read_text(encoding="utf-8")
    return (
        _environment()
        .get_template("service.html")
        .render(
            content=content,
            provenance=content.provenance,
            quarter=long_label(content.quarter),
            cut_off=day_label(content.provenance.cut_off),
            day_label=day_label,
            sections=sections,
            everyone=summary.everyone(content, words),
            glance=summary.glance(content, lookup, sections),
            worth_a_look=summary.worth_a_look(content, lookup),
            lines=tables_quality.reconciliation(content.quality),
            reasons=tables_quality.reasons(content.quality, words),
            not_recorded=tables_quality.not_recorded(content.quality),
            style=Markup(style),
            style_hash=_hash(style),
        )
    )


def _environment() -> Environment:
    return Environment(
        loader=FileSystemLoader(places.REPORTS, encoding="utf-8"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )


def _hash(style: str) -> str:
    """Name the one style block, byte for byte as it stands between its tags, for the Content-Security-Policy."""
    return "sha256-" + base64.b64encode(hashlib.sha256(style.encode("utf-8")).digest()).decode("ascii")
