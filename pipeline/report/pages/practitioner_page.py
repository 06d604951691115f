"""The practitioner edition: one practitioner's own caseload beside the rest of the service taken together.

Comes in: a PractitionerContent and the folder to write into. Goes out: one HTML file that needs nothing else, named
after the code. Refuses: to show another practitioner's code (so no settings, no file names, no remarks of the store), a
rank, or a place among others.
"""

from __future__ import annotations

import hashlib
import re
from pathlib import Path

from pipeline.contracts import places
from pipeline.judgement.verdict import NONE
from pipeline.outcomes.periods import kind
from pipeline.report.content.edition import PractitionerContent
from pipeline.report.pages import html_page
from pipeline.report.views import own_file, own_views, reflection
from pipeline.report.words import labels, verdicts
from pipeline.report.words.dates import both_names, day_label

_PLAIN = re.compile(r"[A-Z0-9][A-Z0-9-]{0,39}")
# Names that a file system keeps for devices, whatever follows the dot.
_DEVICES = re.compile(r"CON|PRN|AUX|NUL|COM[0-9]|LPT[0-9]")


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
    sections = own_views.sections(content, words)
    views = [view for section in sections for view in section.measures]
    there = {view.measure.title for view in views}
    nothing_known = own_views.nothing_known(content)
    compared = [view for view in views if view.beside is not None and view.beside.mark != NONE]
    return html_page.render(
        "practitioner.html",
        content=content,
        code=content.counted.code,
        period=both_names(content.period, content.settings.year_starts),
        which=kind(content.period),
        cut_off=day_label(content.cut_off),
        first_seen=words.several("case", content.counted.first_seen),
        divisions=words.several("division", content.counted.divisions),
        own_file=own_file.own_file(content),
        sections=sections,
        without=[measure.title for measure in content.measures if measure.title not in {*there, *nothing_known}],
        nothing_known=nothing_known,
        compared=len(compared),
        expected=verdicts.number(sum(view.by_chance for view in views)),
        prompts=reflection.prompts(views, content.reasons, words),
        look=[(reason, reflection.table(reason)) for reason in content.reasons],
        day_label=day_label,
    )
