"""What was done so that no family can be worked out from a release, in plain words on one page.

Comes in: a PublicFrame, how many releases were attacked together, the narrowest that the attack could make any
protected count, and the smallest K of any release. Goes out: the page as text. Refuses: an attack that narrowed a
count; any number that does not follow from what is printed: how many counts are protected, and how many decoys there
are, hidden counts decide.
"""

from __future__ import annotations

from pipeline.privacy.release.public_frame import PublicFrame
from pipeline.report.pages import html_page
from pipeline.report.words.dates import both_names
from pipeline.report.words.table import Group, Row, Table


def page(frame: PublicFrame, releases: int, narrowest: tuple[int, int] | None, least_k: int) -> str:
    """The whole page; `narrowest` is the highest lower and the lowest upper bound found, None where none was sought."""
    if narrowest is not None and not (narrowest[0] <= 0 and narrowest[1] > least_k):
        raise ValueError(f"the attack narrowed a count to {narrowest}")
    withheld = int(frame.figures["value"].isna().sum())
    rows = (
        Row("Numbers in this release", (f"{len(frame.figures):,}",)),
        Row("of them printed", (f"{len(frame.figures) - withheld:,}",)),
        Row("of them hidden, and marked", (f"{withheld:,}",)),
        Row("Numbers we call small", (f"1 to {frame.k}",)),
        Row("What each small number that is hidden could still be", (f"0, up to {frame.k + 1} or more",)),
        Row("Releases attacked together, this one among them", (f"{releases:,}",)),
    )
    return html_page.render(
        "safety.html",
        frame=frame,
        least_k=least_k,
        period=both_names(frame.period, frame.year_starts),
        figures=Table("attack", "The attack in figures", ("", "This release"), (Group("", rows),)),
    )
