"""What a practitioner may want to think over: her own cases to look at again, and questions drawn from her figures.

Comes in: the views of her measures and the reasons with her cases. Goes out: tables and questions as plain text.
Refuses: to say what a figure means; every question is open, and asks about the work, never about the person.
"""

from __future__ import annotations

from collections.abc import Sequence

from pipeline.contracts.measure_files import DAYS, Measure
from pipeline.judgement.verdict import LOOK
from pipeline.outcomes.look_again import Reason
from pipeline.report.views.own_views import OwnView
from pipeline.report.words.dates import day_label
from pipeline.report.words.labels import Wording
from pipeline.report.words.table import Group, Row, Table

_MOST = 3  # questions about what is not known: a page of them would not be answered
_LEAST = 2  # one answer that is not known is no reason to ask


def prompts(views: Sequence[OwnView], reasons: Sequence[Reason], words: Wording) -> tuple[str, ...]:
    """Questions about what is not known, about figures apart by more than chance, and about the cases listed."""
    return (*_all_known(views, words), *_unknown(views, words), *_apart(views), *_cases(reasons, words))


def _all_known(views: Sequence[OwnView], words: Wording) -> list[str]:
    """The largest group with every answer on record, of a measure whose answer has not always been."""
    whole = [
        (view.measure, view.result.eligible)
        for view in views
        if view.not_always_known and view.result is not None and view.result.eligible >= _LEAST
        if view.result.unknown == 0
    ]
    if not whole:
        return []
    measure, eligible = max(whole, key=lambda own: own[1])
    return [
        f"{measure.title}: the answer is known for all {words.several(measure.grain, eligible)} of yours, which it was "
        "not always. What made that possible?"
    ]


def _unknown(views: Sequence[OwnView], words: Wording) -> list[str]:
    """The measures with the most not known, once where several rest on the same missing answers."""
    missing: dict[tuple[str, int, int], tuple[Measure, int]] = {}
    for view in views:
        result = view.result
        if result is not None and (result.unknown or 0) >= _LEAST and view.measure.kind != DAYS:
            key = (view.measure.section, result.eligible, result.unknown or 0)
            missing.setdefault(key, (view.measure, result.unknown or 0))
    most = sorted(missing.items(), key=lambda gap: (-gap[1][1], gap[1][0].name))[:_MOST]
    return [
        f"{measure.title}: the answer is not known for {unknown} of your "
        f"{words.several(measure.grain, eligible)}. What would make asking, or writing it down, easier?"
        for (_, eligible, _), (measure, unknown) in most
    ]


def _apart(views: Sequence[OwnView]) -> list[str]:
    return [
        f"{view.measure.title}: your own figure and that of the rest are further apart than chance alone would usually "
        "give. What might be different about the families you see, where and when you see them, or how it is recorded?"
        for view in views
        if view.beside is not None and view.beside.mark == LOOK
    ]


def _cases(reasons: Sequence[Reason], words: Wording) -> list[str]:
    listed = len({case.case_ref for reason in reasons for case in reason.cases})
    if not listed:
        return []
    under = "is listed to look at again. Would you" if listed == 1 else "are listed to look at again. Which would you"
    return [f"{words.several('case', listed)} of your own {under} want to talk through with somebody?"]


def table(reason: Reason) -> Table:
    """The cases of one reason."""
    rows = tuple(Row(case.case_ref, (day_label(case.day), case.detail)) for case in reason.cases)
    heads = ("Case", "Day", "What is on record")
    return Table(f"look-{reason.name}", reason.title, heads, (Group("", rows),), words=True)
