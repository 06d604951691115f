"""What of a report needs the lead's attention, in a few lines.

Comes in: the content of an edition. Goes out: sentences without their full stops. It judges nothing
the page does not.
"""

from __future__ import annotations

from collections.abc import Sequence

from pipeline.contracts import places
from pipeline.judgement import verdict
from pipeline.judgement.judged import EQUITY, SERVICE, SITES
from pipeline.outcomes.look_again import Reason
from pipeline.report.content.edition import EditionContent
from pipeline.report.views.found import found
from pipeline.report.words import labels, verdicts


def attention(content: EditionContent, again: Sequence[Reason] = ()) -> tuple[str, ...]:
    """What is said first on the page, standards not met, what is worse, a plan that cannot be read whole."""
    said = list(content.quality.warnings)
    for measure, share, judged in verdict.standards(
        content.measures, content.lookup, content.period, content.settings.standards
    ):
        if judged.mark in verdict.TO_LOOK_AT_FIRST:
            said.append(f"{measure.title}: standard {verdicts.standard(measure, share, judged).text}")
    words = labels.read(places.REPORTS / "wording.toml")
    for family in (SERVICE, SITES, EQUITY):
        for one in found(content, words, family).worse:
            whom = f"{one.whom}, " if one.whom else ""
            said.append(f"{whom}{one.what}: worse, by more than chance gives: {one.text}")
    said += content.commentary.warnings
    listed = {case.case_ref for reason in again for case in reason.cases}
    if listed:
        said.append(f"Cases to look at again: {len(listed)}, listed in a file of their own")
    return tuple(said)
