"""Many looks at once: what each p-value comes to where several were asked, so that chance is not listed as news.

Comes in: the p-values of a family, in any order. Goes out: the adjusted ones, in the same order. Refuses: what is no
p-value. No p-values: none.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from pipeline.statistics.counts import Floats, Integers


def holm(p: Sequence[float]) -> Floats:
    """Adjusted: at most so large a share of families finds anything where there is nothing. Source: Holm 1979."""
    values, order, rank = _ranked(p)
    adjusted = np.maximum.accumulate(values[order] * (values.size - rank))
    return _back(adjusted, order)


def benjamini_hochberg(p: Sequence[float]) -> Floats:
    """Adjusted: at most so large a share of what is found is nothing. Source: Benjamini and Hochberg 1995."""
    values, order, rank = _ranked(p)
    steps = values[order] * values.size / (rank + 1)
    return _back(np.minimum.accumulate(steps[::-1])[::-1], order)


def _ranked(p: Sequence[float]) -> tuple[Floats, Integers, Integers]:
    values = np.asarray(p, dtype=np.float64)
    if not ((values >= 0) & (values <= 1)).all():
        raise ValueError(f"p: {list(p)}; each from 0 to 1")
    return values, np.argsort(values, kind="stable"), np.arange(values.size)


def _back(adjusted: Floats, order: Integers) -> Floats:
    there = np.empty_like(adjusted)
    there[order] = np.minimum(adjusted, 1.0)
    return there
