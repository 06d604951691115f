"""What of a report needs the lead's attention, in a few lines.

Comes in: the content of an edition. Goes out: sentences without their full stops, what is worse first, as on the page.
What makes the figures doubtful is not among them: it is said first, and all of it. It judges nothing the page does not.
"""

from __future__ import annotations

from pipeline.contracts import places
from pipeline.judgement import verdict
from pipeline.report.content.edition import EditionContent
from pipeline.report.opening.this_quarter import standards, worse
from pipeline.report.words import labels, verdicts


def attention(content: EditionContent) -> tuple[str, ...]:
    """What is worse, standards of which nothing can be said, cases to look at, a plan that needs mending."""
    words = labels.read(places.REPORTS / "wording.toml")
    said = [f"Worse: {one.whom}{', ' if one.whom else ''}{one.what}: {one.text}" for one in worse(content, words)]
    for measure, share, judged in standards(content):
        if judged.mark == verdict.CANNOT:
            said.append(f"{measure.title}: standard {verdicts.standard(measure, share, judged).text}")
    if content.again:
        said.append(f"Cases to look at again: {content.again}, listed in a file of their own")
    return (*said, *content.commentary.warnings)
