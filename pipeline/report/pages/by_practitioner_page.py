"""Figures by practitioner: a page and a CSV of their own, for whoever answers for the service.

Comes in: the content of the edition it stands beside, the figures, where to write. Goes out: by_practitioner.html and
by_practitioner.csv. Refuses: to put practitioners in the order of a figure.
"""

from __future__ import annotations

from pathlib import Path

import pandas as pd

from pipeline.contracts import places
from pipeline.contracts.breakdown_file import Breakdown
from pipeline.outcomes.lookup import Lookup
from pipeline.outcomes.periods import kind
from pipeline.outcomes.results import write_csv
from pipeline.report.content.edition import EditionContent
from pipeline.report.pages import html_page
from pipeline.report.views import measure_tables
from pipeline.report.words import labels
from pipeline.report.words.dates import both_names, day_label

NAME = "by_practitioner"


def write_by_practitioner(
    rows: pd.DataFrame, figures: Lookup, split: Breakdown, content: EditionContent, place: Path
) -> tuple[Path, ...]:
    """Write the page and the file; both files."""
    return (
        html_page.write(place / f"{NAME}.html", page(figures, split, content)),
        write_csv(rows, place / f"{NAME}.csv"),
    )


def page(figures: Lookup, split: Breakdown, content: EditionContent) -> str:
    """The whole page as text."""
    words = labels.read(places.REPORTS / "wording.toml")
    made = [
        (measure, measure_tables.by_code(measure, split, figures, content.lookup, content.period, words))
        for measure in content.measures
    ]
    return html_page.render(
        f"{NAME}.html",
        service=content.settings.service,
        period=both_names(content.period, content.settings.year_starts),
        which=kind(content.period),
        cut_off=day_label(content.provenance.cut_off),
        measures=[(measure, table) for measure, table in made if table is not None],
    )
