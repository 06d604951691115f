"""A practitioner's share allowing for few cases: drawn towards that of the whole service, (x + m M) / (n + M).

Comes in: counts, and what practitioners here are like (statistics/units.py). Goes out: words. Refuses: a share of
nobody's cases; to say that anyone is better.
"""

from __future__ import annotations

from collections.abc import Mapping

from pipeline.outcomes.by_practitioner import NOBODY
from pipeline.outcomes.lookup import Result
from pipeline.report.words.sentences import interval, percent, rounded
from pipeline.statistics.units import Prior, prior, shrunken


def all_drawn_in(by_code: Mapping[str, Result]) -> tuple[Prior, dict[str, str]]:
    """What practitioners here are like, and the share of each, for one cell; those who stand for nobody have none."""
    units = {code: one for code, one in by_code.items() if code not in NOBODY and one.of}
    like = prior([one.met or 0 for one in units.values()], [one.of for one in units.values()])
    return like, {code: drawn_in(one.met or 0, one.of, like) for code, one in units.items()}


def drawn_in(met: int, of: int, like: Prior) -> str:
    """`62% (55 to 70%)`; without an interval where none, or all, have it everywhere, or where there is no spread.

    Without spread its width would be that of the largest weight looked for, which nobody measured.
    """
    share, lower, upper = (float(numbers[0]) for numbers in shrunken([met], [of], like))
    return percent(share) + (f" ({interval(lower, upper)})" if lower == lower and like.spread is not False else "")


def how(like: Prior) -> str:
    """How far it is drawn, and from what that is known."""
    if like.spread is False:
        return "practitioners here differ by no more than chance gives, so each is drawn nearly to the share of all"
    cases = rounded(like.weight)
    words = f"as if {cases} cases like those of the whole service stood beside the practitioner’s own"
    known = "set beforehand, since practitioners with cases are too few to tell how far they differ"
    if like.measured:
        known = "read off how far practitioners here differ by more than chance"
    return f"{words}; {cases} is {known}"
