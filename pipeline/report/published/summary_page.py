"""The first two pages: what happened, three findings, the measures at a glance, and what to ask next.

Comes in: the printed counts and the words. Goes out: sentences and one chart. Which figures become findings follows
from the order the service set before looking and from what is printed, never from how large a figure is.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from pipeline.privacy.release.public_frame import PublicFrame
from pipeline.report.published.groups import Unlike
from pipeline.report.published.plain_words import C, PublishedWords, count
from pipeline.report.published.printed_counts import ALL, Key, Printed
from pipeline.report.published.sections import HARM, Said, Section, drawn, say
from pipeline.report.views.measure_views import Chart

FINDINGS = 3
_MOST, _OF_GROUPS = 8, 4  # questions


@dataclass(frozen=True)
class Summary:
    """The first two pages."""

    came: tuple[tuple[str, str], ...]  # a number or its mark, and what it counts
    findings: tuple[Said, ...]
    glance: Chart | None
    others: tuple[Said, ...]  # the measures at a glance that are no findings
    questions: tuple[str, ...]


def summary(
    frame: PublicFrame,
    printed: Mapping[Key, Printed],
    activity: Mapping[str, Mapping[str, int | None]],
    words: PublishedWords,
    asked: Sequence[Section],
    unlike: Sequence[Unlike],
) -> Summary:
    """Word and draw them."""
    primary = [printed["", name, ALL, ALL] for name in frame.at_a_glance if ("", name, ALL, ALL) in printed]
    findings = _findings(primary)
    return Summary(
        came=tuple(
            (count(activity[section][level]), text)
            for section, level, text in words.came
            if level in activity.get(section, {})
        ),
        findings=tuple(say(one, frame, words) for one in findings),
        glance=drawn("glance", "The main figures on one scale", primary),
        others=tuple(say(one, frame, words) for one in primary if one not in findings),
        questions=_questions(primary, asked, unlike, frame),
    )


def _findings(primary: Sequence[Printed]) -> list[Printed]:
    """One of each section first, then the others; then those of which too few answers are known, which say so."""
    sure = [one for one in primary if one.shown and not one.few_known]
    first = {one.measure.section: one for one in reversed(sure)}
    ahead = [one for one in sure if one in first.values()]
    rest = [one for one in sure if one not in ahead]
    unsure = [one for one in primary if one.shown and one.few_known]
    return (ahead + rest + unsure)[:FINDINGS]


def _questions(
    primary: Sequence[Printed], asked: Sequence[Section], unlike: Sequence[Unlike], frame: PublicFrame
) -> tuple[str, ...]:
    """What a reader may ask next, from what is printed and what is not."""
    apart: dict[str, str] = {}  # each breakdown once, under the first measure
    for group in unlike:
        if group.recorded:
            apart.setdefault(group.breakdown, group.measure.title)
    out = [
        f"Under “{title}”, why do families differ by {split[:1].lower()}{split[1:]}, and what will change?"
        for split, title in apart.items()
    ][:_OF_GROUPS]
    few = [one.measure.title for one in primary if one.few_known]
    if few:
        out.append(f"What would help the service learn more of the answers under “{few[0]}”?")
    if any(section.words.name == HARM for section in asked):
        out.append(f"How does the service look at each harm, where the number is too small to print ({C})?")
    if frame.actions:
        out.append("What came of the actions below, and how does the service know?")
    out += ["What do families wait for most now?", "Which figure surprised the service, and what did it change?"]
    return tuple(out[:_MOST])
