"""The file for the lead's words on a period, laid ready to write in.

Comes in: the content of the period's edition, and the commentaries on earlier ones. Goes out: the file, with the
headings, the figures to comment on, and the actions still open. Refuses: a file that is there already.

The figures stand in lines of the form <!-- ... -->, which the report does not print: one writes under them.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from pipeline.contracts import places
from pipeline.contracts.measure_files import SHARES
from pipeline.errors import Fault, Refused
from pipeline.judgement import verdict
from pipeline.judgement.judged import EQUITY, SERVICE, SITES
from pipeline.outcomes.periods import kind
from pipeline.report.commentary import commentary_file, earlier
from pipeline.report.commentary.headings import SAW, UNSURE, WILL_DO, title
from pipeline.report.commentary.plan import COLUMNS, PUBLISH, Action, folded
from pipeline.report.content.edition import EditionContent
from pipeline.report.views.finding_lists import findings
from pipeline.report.words import labels, sentences, verdicts
from pipeline.report.words.dates import long_label
from pipeline.store.whole_files import write_new

UNKNOWNS = 3  # so many of the largest are named
_FROM = re.compile(r"\(from (\w+ to \w+ \d{4}|\d{4}(/\d\d)?)\)$")
_HOW = (
    "Lines like this one are notes to you: the report does not print them. Write under them; they may stay.",
    "All else is printed as you write it (Markdown; HTML is shown as text). Name no family and no colleague.",
)
_PLAN = (
    "One line an action. Owner is a role, never a name. A | in a text is written \\|.",
    "An action is open until Done begins with yes or done, or is a date such as 12 October 2026 or 2026-10-12. What is "
    "open is carried into the next.",
    "Under Publish write yes for an action that the published report may print. It may hold no number but a date.",
)


@dataclass(frozen=True)
class Laid:
    """What was laid."""

    path: Path
    period: str
    carried: int  # actions of earlier plans


def lay(folder: Path, content: EditionContent, before: str) -> Laid:
    """Write the file of the content's period."""
    path = commentary_file.place(folder, content.period)
    still_open = earlier.still_open(before, content.period)
    path.parent.mkdir(parents=True, exist_ok=True)
    try:
        write_new(path, text(content, still_open).encode())
    except FileExistsError:
        mend = "write in it; or move it away, and a new one is laid"
        raise Refused(Fault(str(path), "it is there already", f"a {kind(content.period)} without one", mend)) from None
    return Laid(path, content.period, len(still_open))


def text(content: EditionContent, still_open: Sequence[tuple[str, Action]]) -> str:
    """The file as text."""
    saw = [*_primary(content), *_standards(content), *_found(content), *_unknowns(content)]
    carried = [f"Still open in earlier plans, carried in: {len(still_open)}."] if still_open else []
    rows = [_row(_carried(action, long_label(since))) for since, action in still_open]
    lines = [f"# {title(content.period)}", "", *map(_note, _HOW), "", f"## {SAW}", ""]
    lines += [line for note in saw for line in (_note(note), "", "")]
    lines += [f"## {UNSURE}", "", "", f"## {WILL_DO}", "", *map(_note, (*_PLAN, *carried)), ""]
    heads = (*COLUMNS, PUBLISH)
    lines += [_row(heads), _row(["---"] * len(heads)), *rows, _row([""] * len(heads)), ""]
    return "\n".join(lines)


def _primary(content: EditionContent) -> list[str]:
    named = {measure.name: measure for measure in content.measures}
    figures = []
    for name in content.settings.at_a_glance:
        result = content.lookup.everyone(name, content.period)
        so_far = " (so far)" if result is not None and not result.complete else ""
        figures.append(f"{named[name].title}: {sentences.figure(named[name], result, 'cases')}{so_far}.")
    return figures


def _standards(content: EditionContent) -> list[str]:
    judged = verdict.standards(content.measures, content.lookup, content.period, content.settings.standards)
    return [
        f"Our own standard: {measure.title}, {verdicts.standard(measure, share, missed).text}."
        for measure, share, missed in judged
        if missed.mark == verdict.MISSED
    ]


def _found(content: EditionContent) -> list[str]:
    words = labels.read(places.REPORTS / "wording.toml")
    lists = [findings(content, words, family) for family in (SERVICE, SITES, EQUITY)]
    worse, better = ([one for family in lists for one in getattr(family, mark)] for mark in ("worse", "better"))
    return [
        f"{said}: {one.whom + ', ' if one.whom else ''}{one.what}: {one.text}."
        for said, listed in (("Worse", worse), ("Better", better))
        for one in listed
    ]


def _unknowns(content: EditionContent) -> list[str]:
    """The measures of which the largest part is not known; a wait that still runs is no gap in the records."""
    parts = []
    for measure in content.measures:
        result = content.lookup.everyone(measure.name, content.period)
        if measure.kind in SHARES and result is not None and result.unknown:
            parts.append((-result.unknown / result.eligible, measure.name, measure.title, result))
    return [
        f"Much is not known: {heading}, {result.unknown} of {result.eligible} ({sentences.percent(-part)}) not known."
        for part, _, heading, result in sorted(parts, key=lambda gap: gap[:2])[:UNKNOWNS]
    ]


def _carried(action: Action, since: str) -> tuple[str, ...]:
    """The cells of an action in the next plan, marked with the period it was first carried from."""
    finding = "; ".join(
        filter(None, [action.finding.written, *(f"{head}: {cell.written}" for head, cell in action.others)])
    )
    if not _FROM.search(finding):
        finding = f"{finding} (from {since})".strip()
    own = (action.action.written, action.owner.written, action.by_when.written)
    return finding, *own, action.done.written or "no", action.publish.written or "no"


def _row(cells: Sequence[str]) -> str:
    return "| " + " | ".join(folded(cell).replace("|", "\\|") for cell in cells) + " |"


def _note(words: str) -> str:
    """A line that the report does not print; names from the records must not end it early."""
    seen = "".join(sign if sign.isprintable() else " " for sign in words)
    return f"<!-- {folded(re.sub('-{2,}', '–', seen))} -->"
