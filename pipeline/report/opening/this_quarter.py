"""What opens a report: what is worse, what is better, what the lead saw, what is to be done.

Comes in: the edition's content and the wording. Goes out: frozen views the template and the terminal print. It judges
nothing: the verdicts are those of the judgement. Refuses: to rank; the order is that of the families and the settings.
"""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from pipeline.contracts.measure_files import Measure
from pipeline.judgement import verdict
from pipeline.judgement.judged import EQUITY, SERVICE, SITES
from pipeline.judgement.verdict import Verdict
from pipeline.report.commentary import by_when
from pipeline.report.commentary.commentary_view import Part
from pipeline.report.commentary.headings import SAW
from pipeline.report.commentary.plan import Action, folded
from pipeline.report.content.edition import EditionContent
from pipeline.report.views.finding_lists import Listed, findings
from pipeline.report.words import sentences, verdicts
from pipeline.report.words.labels import Wording

FAMILIES = (SERVICE, SITES, EQUITY)
FEW = 3  # of a kind: what is worse, what is better, warnings, overdue actions
MOST = 1300  # signs of the lead's own words: more would push the measures off the second sheet of paper
LINES, A_LINE = 22, 105  # on paper, of so many signs: then the first sheet holds the chart of the flow too
LONGEST = 90  # signs of an action that is named
_UNDER = 3  # the level of the heading that they stand under


@dataclass(frozen=True)
class Told:
    """The first findings of a kind, and how many more there are of each family."""

    first: tuple[Listed, ...]
    more: tuple[tuple[str, int], ...]


@dataclass(frozen=True)
class Saw:
    """The lead's own words under What we saw: their beginning, and whether they go on; and all the other words."""

    parts: tuple[Part, ...]
    goes_on: bool
    rest: tuple[Part, ...]


@dataclass(frozen=True)
class Actions:
    """Open actions, and of them: overdue at the cut-off, the first of these named; with a day that cannot be read."""

    open: int
    overdue: int
    named: tuple[str, ...]
    day_unread: int


@dataclass(frozen=True)
class Opening:
    """What opens a report."""

    warnings: tuple[str, ...]
    more_warnings: int
    worse: Told
    better: Told
    by_chance: str  # how much chance alone would list; where nothing is worse, that too
    saw: Saw
    actions: Actions
    long: bool  # on paper it leaves no room for the chart of the glance


def opening(content: EditionContent, wording: Wording) -> Opening:
    """Everything that opens the report."""
    warnings, trouble = content.quality.warnings, told(worse(content, wording))
    good = told([one for family in FAMILIES for one in findings(content, wording, family).better])
    words, actions = saw(content.commentary.parts), _actions(content)
    listed = [one.whom + one.what + one.text for one in (*trouble.first, *good.first)]
    written = [*warnings[:FEW], *listed, *(str(part.words.striptags()) for part in words.parts), *actions.named]
    return Opening(
        warnings=warnings[:FEW],
        more_warnings=len(warnings[FEW:]),
        worse=trouble,
        better=good,
        by_chance=_by_chance(content, nothing_worse=not trouble.first),
        saw=words,
        actions=actions,
        long=sum(1 + len(text) // A_LINE for text in written) > LINES,
    )


def worse(content: EditionContent, wording: Wording) -> tuple[Listed, ...]:
    """The whole service, its own standards that are missed, the sites, the groups of families."""
    service, sites, equity = (findings(content, wording, family).worse for family in FAMILIES)
    return (*service, *_missed(content), *sites, *equity)


def standards(content: EditionContent) -> Iterator[tuple[Measure, float, Verdict]]:
    """Every standard of the service's own, judged."""
    return verdict.standards(content.measures, content.lookup, content.period, content.settings.standards)


def saw(parts: Sequence[Part]) -> Saw:
    """Whole blocks up to the first table, as many as there is room for."""
    at = next((place for place, part in enumerate(parts) if part.level and part.words.striptags() == SAW), None)
    if at is None:
        return Saw((), goes_on=False, rest=tuple(parts))
    head, *after = parts[at:]
    under = next((place for place, part in enumerate(after) if 0 < part.level <= head.level), len(after))
    taken, signs = 0, 0
    while taken < under and after[taken].table is None:
        signs += len(after[taken].words.striptags())
        if signs > MOST:
            break
        taken += 1
    while taken and after[taken - 1].level:
        taken -= 1  # a heading whose words stand elsewhere
    shift = head.level - _UNDER
    shown = tuple(replace(part, level=part.level - shift) if part.level else part for part in after[:taken])
    goes_on = taken < under
    return Saw(shown, goes_on, (*parts[:at], *([head] if goes_on else []), *after[taken:]))


def _missed(content: EditionContent) -> list[Listed]:
    """The standards of the service's own that are missed, each with its figure."""
    listed = []
    for measure, share, judged in standards(content):
        result = content.lookup.everyone(measure.name, content.period)
        if judged.mark == verdict.MISSED and result is not None:
            figure = f"{sentences.short(measure, result)}, {result.unknown} not known"
            said = f"{figure}; standard {verdicts.standard(measure, share, judged).text}"
            listed.append(Listed(SERVICE, "", measure, measure.title, said))
    return listed


def told(listed: Sequence[Listed]) -> Told:
    """The first few, and how many more of which family."""
    left = [one.family for one in listed[FEW:]]
    return Told(tuple(listed[:FEW]), tuple((family, left.count(family)) for family in dict.fromkeys(left)))


def _by_chance(content: EditionContent, *, nothing_worse: bool) -> str:
    made = sum(content.judgement.made(family) for family in FAMILIES)
    if not made and nothing_worse:
        why = (
            "too few are known, or the records had only begun"
            if content.settings.at_a_glance
            else "the settings name no measure at a glance"
        )
        return f"Nothing could be compared: {why}"
    expected = verdicts.number(sum(content.judgement.expected(family) for family in FAMILIES))
    several = "1 comparison" if made == 1 else f"{made} comparisons"
    about = "hardly any" if expected == "0" else f"about {expected}"
    cannot = sum(len(content.judgement.marked(family, verdict.CANNOT)) for family in FAMILIES)
    more = f"; of {cannot} more nothing can be said" if cannot else ""
    chance = f"of {several} judged, chance alone would list {about}{more}"
    if not nothing_worse:
        return chance.capitalize()
    marks = {one.mark for _, _, one in standards(content)}
    none_missed = ", and no standard is missed" if marks and verdict.CANNOT not in marks else ""
    return f"Nothing is worse by more than chance gives{none_missed}; {chance}"


def _actions(content: EditionContent) -> Actions:
    still_open = content.commentary.still_open
    days = [by_when.last_day(action.by_when.written) for action in still_open]
    late = [
        action
        for action, day in zip(still_open, days, strict=True)
        if day is not None and day < content.provenance.cut_off
    ]
    return Actions(len(still_open), len(late), tuple(map(_named, late[:FEW])), days.count(None))


def _named(action: Action) -> str:
    """What was to be done, by whom and by when: `Ring every family (hub team, end of June 2026)`."""
    cells = (action.owner, action.by_when)
    beside = ", ".join(folded(cell.shown.striptags()) for cell in cells if folded(cell.written))
    return (
        f"{textwrap.shorten(action.action.shown.striptags() or action.named, LONGEST, placeholder=' ...')} ({beside})"
    )
