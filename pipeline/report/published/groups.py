"""Is anyone served less well? Groups beside all others, in words and in one-way tables.

Comes in: the printed counts. Goes out: frozen tables, groups by their names, and which groups stand apart. Refuses: to
compare a group of which a count is withheld; to rank; two breakdowns at once.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from pipeline.contracts.measure_files import SHARES, Measure
from pipeline.judgement.families import OWN, beside_the_rest
from pipeline.judgement.judged import Judgement
from pipeline.judgement.sides import Side, side
from pipeline.judgement.verdict import LOOK
from pipeline.outcomes.lookup import Result
from pipeline.privacy.release.public_frame import PublicFrame
from pipeline.report.published.plain_words import chance, count, figure
from pipeline.report.published.printed_counts import ALL, Key, Printed
from pipeline.report.published.sections import cell
from pipeline.report.words import verdicts
from pipeline.report.words.labels import NOT_RECORDED, Wording
from pipeline.report.words.table import Group, Row, Table


@dataclass(frozen=True)
class Unlike:
    """A group whose share differs from that of all others by more than chance alone would usually give."""

    measure: Measure
    breakdown: str  # its title
    level: str  # its label
    recorded: bool  # whether it is a group, not those of whom nothing is recorded
    text: str


@dataclass(frozen=True)
class Groups:
    """The measures at a glance by every breakdown; `whole` holds all measures."""

    tables: tuple[Table, ...]
    whole: tuple[Table, ...]
    unlike: tuple[Unlike, ...]
    comparisons: int
    not_compared: int  # groups of which a count is withheld
    expected: str


def groups(frame: PublicFrame, printed: Mapping[Key, Printed], wording: Wording) -> Groups:
    """Every breakdown of which anything is printed."""
    own = {key: one for key, one in printed.items() if not key[0] and key[2] != ALL}
    breakdowns = [name for name in frame.breakdown_titles if any(key[2] == name for key in own)]
    named = {measure.name: measure for measure in frame.measures}
    primary = [named[name] for name in frame.at_a_glance if any(key[1] == name for key in own)]
    pairs: list[tuple[Measure, Side, Side]] = []
    names: list[tuple[str, str, bool]] = []
    not_compared = 0
    for measure in (measure for measure in primary if measure.kind in SHARES):
        everyone = printed.get(("", measure.name, ALL, ALL))
        for breakdown in breakdowns:
            for level in _levels(own, breakdown, wording, [measure]):
                group = own["", measure.name, breakdown, level]
                result, of_all = _result(group), _result(everyone)
                not_compared += not group.shown and group.of != 0
                if result is not None and of_all is not None:
                    pairs.append((measure, side(result), side(of_all).less(side(result))))
                    names.append(
                        (frame.breakdown_titles[breakdown], wording.level(breakdown, level), level != NOT_RECORDED)
                    )
    judged = Judgement(beside_the_rest(pairs))
    unlike = [
        Unlike(one.measure, *name, f"{_figure(one.weighed.first)}; all others {_figure(one.weighed.second)}")
        for name, one in zip(names, judged.comparisons, strict=True)
        if one.verdict.mark == LOOK
    ]
    titles = {name: frame.breakdown_titles[name] for name in breakdowns}
    return Groups(
        tables=tuple(_matrix(name, title, primary, own, wording) for name, title in titles.items()),
        whole=tuple(_whole(name, title, frame.measures, own, wording) for name, title in titles.items()),
        unlike=tuple(unlike),
        comparisons=judged.made(OWN),
        not_compared=not_compared,
        expected=_by_chance(judged.expected(OWN)),
    )


def _by_chance(expected: float) -> str:
    """How many chance alone would list, as one says it."""
    return "fewer than one" if expected < 1 else f"about {verdicts.number(expected)}"


def _figure(one: Side) -> str:
    """A share in full; of all others it is one printed count taken from another."""
    return figure(one.met, one.of)


def _levels(
    own: Mapping[Key, Printed], breakdown: str, wording: Wording, measures: Sequence[Measure]
) -> tuple[str, ...]:
    names = {measure.name for measure in measures}
    return wording.in_order(breakdown, (key[3] for key in own if key[2] == breakdown and key[1] in names))


def _result(printed: Printed | None) -> Result | None:
    """What is compared: a part and its whole, both printed."""
    if printed is None or not printed.shown:
        return None
    met, of = printed.met or 0, printed.of or 0
    return Result(of, of, met, 0, met / of, None, None, None, None, complete=True, of=of)


def _matrix(
    breakdown: str, title: str, measures: Sequence[Measure], own: Mapping[Key, Printed], wording: Wording
) -> Table:
    """The measures at a glance side by side."""
    rows = []
    for level in _levels(own, breakdown, wording, measures):
        there = [own.get(("", measure.name, breakdown, level)) for measure in measures]
        rows.append(Row(wording.level(breakdown, level), tuple("" if one is None else cell(one) for one in there)))
    heads = (title, *(measure.title for measure in measures))
    return Table(f"by-{breakdown}", f"By {title[:1].lower()}{title[1:]}", heads, (Group("", tuple(rows)),))


def _whole(
    breakdown: str, title: str, measures: Sequence[Measure], own: Mapping[Key, Printed], wording: Wording
) -> Table:
    """Every measure, one under the other."""
    parts = []
    for measure in measures:
        rows = []
        for level in _levels(own, breakdown, wording, [measure]):
            one = own["", measure.name, breakdown, level]
            interval = chance(one.met, one.of) if measure.kind in SHARES else ""
            cells = (cell(one), interval, count(one.count("unknown")), count(one.count("eligible")))
            rows.append(Row(wording.level(breakdown, level), cells))
        if rows:
            parts.append(Group(measure.title, tuple(rows)))
    heads = (title, "Figure", "Chance leaves open", "Not known", "All asked about")
    return Table(f"all-by-{breakdown}", f"Every measure, by {title[:1].lower()}{title[1:]}", heads, tuple(parts))
