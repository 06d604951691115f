"""What of a report needs the lead's attention, in a few lines.

Comes in: the content of an edition. Goes out: sentences without their full stops. It judges nothing
the page does not.
"""

from __future__ import annotations

from collections.abc import Sequence

from pipeline.judgement import verdict
from pipeline.outcomes.look_again import Reason
from pipeline.report.content.edition import EditionContent
from pipeline.report.views import summary
from pipeline.report.words import verdicts


def attention(content: EditionContent, again: Sequence[Reason] = ()) -> tuple[str, ...]:
    """What is said first on the page, standards not met, sites worth a look, a plan that cannot be read whole."""
    said = list(content.quality.warnings)
    for measure, share, judged in verdict.standards(
        content.measures, content.lookup, content.period, content.settings.standards
    ):
        if judged.mark in verdict.TO_LOOK_AT_FIRST:
            said.append(f"{measure.title}: standard {verdicts.standard(share, judged).text}")
    for change, text in summary.worth_a_look(content).changes:
        said.append(f"{change.site}, {change.measure.title}: {text}, compared with a year before")
    said += content.commentary.warnings
    listed = {case.case_ref for reason in again for case in reason.cases}
    if listed:
        said.append(f"Cases to look at again: {len(listed)}, listed in a file of their own")
    return tuple(said)
