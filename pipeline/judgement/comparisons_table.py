"""Every comparison a report made, as the frame of comparisons.csv.

Comes in: a Judgement. Goes out: one row a comparison, in the order of families, measures and groups; NaN where
undefined.
"""

from __future__ import annotations

from typing import Any

import pandas as pd

from pipeline.judgement.judged import MISSING, Comparison, Judgement

COLUMNS = (
    *("family", "measure", "about", "breakdown", "level", "now", "then"),
    *("eligible", "known", "met", "of", "then_eligible", "then_known", "then_met", "then_of"),
    *("difference", "lower", "upper", "p", "limit", "by_chance", "verdict", "reason"),
    *("allowed_least", "allowed_most", "mix_by", "mix_expected", "mix_ratio", "mix_lower", "mix_upper"),
)
OTHERS, NOT_HEARD_FROM, OTHER_END = "all others", "not heard from", "the other end"


def comparisons(judgement: Judgement) -> pd.DataFrame:
    """The frame of comparisons.csv."""
    frame = pd.DataFrame([_row(one) for one in judgement.comparisons], columns=list(COLUMNS))
    counts = [name for name in COLUMNS if name.endswith(("eligible", "known", "met")) or name in ("of", "then_of")]
    counts += ["allowed_least", "allowed_most"]
    frame[counts] = frame[counts].astype("Int64")
    return frame


def _row(one: Comparison) -> tuple[Any, ...]:
    first, second, apart = one.weighed.first, one.weighed.second, one.weighed.difference()
    mix = one.mix
    return (
        *(one.family, one.measure.name, one.about, one.breakdown, one.level, _span(one.now), _then(one)),
        *(first.eligible, first.known, first.met, first.of),
        *(second.eligible, second.known, second.met, second.of),
        *(apart.difference, apart.lower, apart.upper),
        *(one.weighed.p, one.limit, one.by_chance, one.verdict.mark, one.verdict.reason),
        *(one.allowed or (None, None)),
        *(("", *[None] * 4) if mix is None else (mix.by, mix.expected, mix.ratio, mix.lower, mix.upper)),
    )


def _then(one: Comparison) -> str:
    if one.family == MISSING:
        return NOT_HEARD_FROM
    if one.weighed.across:
        return OTHER_END
    return _span(one.then) if one.then else OTHERS


def _span(periods: tuple[str, ...]) -> str:
    """`2026Q3`, `2025Q4 to 2026Q3`."""
    return periods[0] if len(periods) == 1 else " to ".join(periods[:1] + periods[-1:])
