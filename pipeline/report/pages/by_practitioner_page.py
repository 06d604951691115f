"""Figures by practitioner: a page and a CSV of their own, for whoever answers for the service.

Comes in: the counted rows, the content of the edition it stands beside, where to write. Goes out: both files.
Refuses: to put practitioners in the order of a figure.
"""

from __future__ import annotations

from pathlib import Path

import duckdb

from pipeline.contracts import places
from pipeline.contracts.breakdown_file import Breakdown, breakdowns
from pipeline.outcomes.by_practitioner import by_practitioner
from pipeline.outcomes.lookup import Lookup
from pipeline.outcomes.outcome import Outcome
from pipeline.outcomes.periods import kind
from pipeline.outcomes.results import write_csv
from pipeline.report.content.edition import EditionContent
from pipeline.report.pages import html_page
from pipeline.report.views import measure_tables
from pipeline.report.words import labels
from pipeline.report.words.dates import both_names, day_label

NAME = "by_practitioner"


def write_by_practitioner(
    con: duckdb.DuckDBPyConnection, outcome: Outcome, content: EditionContent, place: Path
) -> list[Path]:
    """Write the page and the file of each breakdown that has files of its own."""
    files = []
    for split in breakdowns():
        if split.in_own_file:
            rows, figures = by_practitioner(con, outcome, split, content.settings.year_starts)
            files.append(html_page.write(place / f"{NAME}.html", page(figures, split, content)))
            files.append(write_csv(rows, place / f"{NAME}.csv"))
    return files


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
        measures=[(measure, table, how) for measure, (table, how) in made if table is not None],
    )
