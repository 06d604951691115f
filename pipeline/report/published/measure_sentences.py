"""A measure in plain sentences: what the figure says, what is not known, and how far it can be trusted.

Comes in: the printed counts of one measure, and its plain words. Goes out: sentences. Refuses: to say anything of a
share of which a count is withheld but that it is.
"""

from __future__ import annotations

from collections.abc import Iterator

from pipeline.contracts.measure_files import NOTED, PROPORTION, REPORTED_DAY, TIME_TO_EVENT
from pipeline.report.published.plain_words import C, Plain, figure, in_words
from pipeline.report.published.printed_counts import Printed
from pipeline.report.words.sentences import percent


def sentence(printed: Printed, plain: Plain | None) -> str:
    """The figure in one sentence."""
    if plain is None:
        return f"{printed.measure.title}: {figure(printed.met, printed.of)}."
    if printed.of == 0:
        return f"There were no {plain.of} to count."
    if printed.met is None or not printed.of:
        why = "too few of the answers are known" if printed.left_out else C
        return f"We do not show how many {plain.of} {plain.did}: {why}."
    words = in_words(printed.met, printed.of)
    of = f"{printed.of:,}"
    if printed.measure.kind == PROPORTION and printed.count("unknown") != 0:
        of = f"the {of} we know about"
    share = percent(printed.met / printed.of)
    return f"{words.capitalize()} of the {plain.of} {plain.did}: {printed.met:,} of {of} ({share})."


def notes(printed: Printed, known_enough: float) -> tuple[str, ...]:
    """What a reader must know beside it."""
    beside = {PROPORTION: _not_known, NOTED: _heard_from, TIME_TO_EVENT: _other_ends}[printed.measure.kind]
    return (*beside(printed), *flag(printed, known_enough))


def flag(printed: Printed, known_enough: float) -> tuple[str, ...]:
    """The warning where too few answers are known."""
    if not printed.few_known:
        return ()
    known, eligible = printed.count("known"), printed.count("eligible")
    enough = percent(known_enough)
    if known is None or not eligible:
        return (f"Read this with care: we know fewer than {enough} of the answers.",)
    share = percent(known / eligible)
    return (
        f"Read this with care: we know {known:,} of {eligible:,} answers ({share}), and {enough} is what we ask for.",
    )


def _not_known(printed: Printed) -> Iterator[str]:
    met, unknown, eligible = (printed.count(name) for name in ("met", "unknown", "eligible"))
    if not unknown:
        return
    if printed.measure.all_due and met is not None and eligible:
        low, high = percent(met / eligible), percent((met + unknown) / eligible)
        yield f"Of all {eligible:,}, we know that {met:,} did ({low})."
        others = "the one" if unknown == 1 else f"all {unknown:,}"
        yield f"If {others} we do not know about did too, it would be {high}."
    else:
        yield f"For {unknown:,} more we do not know."


def _heard_from(printed: Printed) -> Iterator[str]:
    known, eligible = printed.count("known"), printed.count("eligible")
    if eligible:
        yield f"We heard afterwards from {figure(known, eligible)}. Of the rest we know nothing."


def _other_ends(printed: Printed) -> Iterator[str]:
    ended, waiting, unknown = (printed.count(name) for name in ("ended", "waiting", "unknown"))
    if ended:
        yield f"For {ended:,} the wait ended another way."
    if waiting:
        yield f"On day {REPORTED_DAY}, {waiting:,} were still waiting."
    if unknown:
        yield f"For {unknown:,} of them we do not know."
