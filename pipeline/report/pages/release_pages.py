"""The files of a release.

Comes in: a public frame, and what the attack found. Goes out: each file's name and bytes, the same for the same frame.
"""

from __future__ import annotations

from collections.abc import Mapping

from pipeline.errors import Refused
from pipeline.privacy.publication.proving import Attacked
from pipeline.privacy.release.public_frame import PublicFrame
from pipeline.report.pages import pdf, published_page, safety_page
from pipeline.report.published.figures_package import FIGURES, PACKAGE, data_package, figures_csv

REPORT, SAFETY, DOCUMENT = "report.html", "safety.html", "report.pdf"


def files(frame: PublicFrame, attacked: Attacked) -> dict[str, bytes]:
    """Every file but the PDF."""
    narrowest = (attacked.lowest, attacked.highest) if attacked.targets else None
    figures = figures_csv(frame)
    return {
        REPORT: published_page.page(frame).encode("utf-8"),
        SAFETY: safety_page.page(frame, attacked.releases, narrowest, attacked.k).encode("utf-8"),
        FIGURES: figures,
        PACKAGE: data_package(frame, figures),
    }


def with_pdf(made: Mapping[str, bytes]) -> dict[str, bytes]:
    """With the report as a PDF too, where the extra part for it is there: it follows from the page alone."""
    try:
        pdf.see_that_it_can_be_made()
    except Refused:
        return dict(made)
    return {**made, DOCUMENT: pdf.document(made[REPORT].decode("utf-8"))}
