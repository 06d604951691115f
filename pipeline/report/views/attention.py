"""What of a report needs the lead's attention, in a few lines.

Comes in: the content of an edition. Goes out: sentences without their full stops. Refuses nothing; it judges nothing
the page does not.
"""

from __future__ import annotations

from collections.abc import Sequence

from pipeline.outcomes.look_again import Reason
from pipeline.report.content.edition import EditionContent
from pipeline.report.views import summary
from pipeline.report.words import verdicts


def attention(content: EditionContent, again: Sequence[Reason] = ()) -> tuple[str, ...]:
    """What is said first on the page, standards not met, sites worth a look, a plan that cannot be read whole."""
    said = list(content.quality.warnings)
    named = {measure.name: measure for measure in content.measures}
    for name, share in content.settings.standards.items():
        verdict = verdicts.standard(named[name], content.lookup, content.quarter, share)
        if verdict.mark in (verdicts.MISSED, verdicts.OPEN):
            said.append(f"{named[name].title}: standard {verdict.text}")
    sites = summary.worth_a_look(content).found.found
    said += [f"{each.site}, {each.measure.title}: {each.text}, compared with a year before" for each in sites]
    said += content.commentary.warnings
    listed = {case.case_ref for reason in again for case in reason.cases}
    if listed:
        said.append(f"Cases to look at again: {len(listed)}, listed in a file of their own")
    return tuple(said)
