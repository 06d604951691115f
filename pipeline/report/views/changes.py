"""A measure beside other times: what is judged of it, and what is only shown.

Comes in: a measure and the edition's content. Goes out: which time, and what is said. It judges nothing: the verdicts
are those of the judgement.
"""

from __future__ import annotations

from pipeline.contracts.measure_files import Measure
from pipeline.judgement.comparing import FIGURE, HEARD_FROM
from pipeline.judgement.families import HALF, shown
from pipeline.outcomes.periods import QUARTER, kind, year_before
from pipeline.report.content.edition import EditionContent
from pipeline.report.words.dates import before
from pipeline.report.words.verdicts import Said, change


def changes(measure: Measure, content: EditionContent) -> tuple[tuple[str, Said], ...]:
    """The measure beside the quarter before and the year before, and over longer times where those are judged."""
    made = content.judgement.of_measure(measure.name)
    by_quarter = kind(content.period) == QUARTER
    times = [("A year before", year_before(content.period))]
    if by_quarter:
        times.insert(0, ("Last quarter", before(content.period, 1)))
    said = []
    for label, then in times:
        judged = [one for one in made if (one.now, one.then, one.about) == ((content.period,), (then,), FIGURE)]
        said.append((label, change(judged[0] if judged else shown(content.basis, measure, then))))
    for one in made if by_quarter else ():
        if one.about == HEARD_FROM:
            said.append(("Heard from", change(one)))
        elif len(one.now) > 1:
            said.append(("Half a year" if len(one.now) == HALF else "Four quarters", change(one)))
    alike: dict[Said, list[str]] = {}  # what is the same of several times is said once
    for label, words in said:
        alike.setdefault(words, []).append(label)
    return tuple((", ".join(labels).capitalize(), words) for words, labels in alike.items())
