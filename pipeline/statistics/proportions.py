"""Proportions: how sure a share is, and what the unknown answers could do to it.

Comes in: counts (met, known, eligible), each a number or an array; arrays are matched by numpy's broadcasting.
Goes out: arrays of fractions between 0 and 1, one for each group; a single number gives an array without
dimensions. NaN stands for "undefined", as in a group with nobody in it, which is normal and no error.
Refuses: counts that contradict each other (see counts.py); to fill in an unknown answer or to round.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike
from statsmodels.stats.proportion import proportion_confint

from pipeline.statistics.counts import Floats, Integers, confidence_level, part_of, whole

ODDS_RATIOS = (1 / 4, 1 / 2, 1.0, 2.0, 4.0)


def wilson(met: ArrayLike, known: ArrayLike, confidence: float = 0.95) -> tuple[Floats, Floats]:
    """Lower and upper limit of met / known by Wilson's score method, without continuity correction.

    Source: Wilson 1927; method 3 of Newcombe 1998, Statistics in Medicine 17:857-872.
    Known 0: NaN, NaN. Met 0: lower is exactly 0. Met equal to known: upper is exactly 1.
    """
    return _limits(met, known, confidence, "wilson")


def clopper_pearson(met: ArrayLike, known: ArrayLike, confidence: float = 0.95) -> tuple[Floats, Floats]:
    """Lower and upper limit of met / known by the exact binomial method, two-sided (each tail half).

    Source: Clopper and Pearson 1934, by quantiles of the beta distribution. With no events it is about 3.7 / n; the
    "rule of three" (3 / n) is the one-sided limit and is not given here.
    Known 0: NaN, NaN. Met 0: lower is exactly 0. Met equal to known: upper is exactly 1.
    """
    return _limits(met, known, confidence, "beta")


def bounds(met: ArrayLike, known: ArrayLike, eligible: ArrayLike) -> tuple[Floats, Floats]:
    """Give the share if every unknown answer were no, and if every one were yes: both as fractions of eligible.

    Source: arithmetic; no assumption about why an answer is unknown. They are not limits of confidence.
    Eligible 0: NaN, NaN. Known 0: 0 and 1. Nothing unknown: both are met / known.
    """
    met_n, known_n, eligible_n = _nested(met, known, eligible)
    unknown = eligible_n - known_n
    return _share(met_n, eligible_n), _share(met_n + unknown, eligible_n)


def sensitivity(
    met: ArrayLike, known: ArrayLike, eligible: ArrayLike, odds_ratios: Sequence[float] = ODDS_RATIOS
) -> Floats:
    """Give the share of eligible if the odds of yes among the unknown were these multiples of those among the known.

    Source: informative-missingness odds ratio, White, Higgins and Wood 2008 (odds in the unknown / odds in the known).
    The result has the shape of the counts and one last axis more, as long as odds_ratios and in its order.
    Eligible 0: NaN. Known 0: NaN, since there are no odds to multiply. Met 0: 0 at every ratio, and met equal to
    known: 1 at every ratio: a multiple of no odds says nothing, and the bounds are what to read then.
    """
    ratios: Floats = np.asarray(odds_ratios, dtype=np.float64)
    if not (np.isfinite(ratios) & (ratios > 0)).all():
        raise ValueError(f"odds_ratios: {list(odds_ratios)}; each a number above 0")
    met_n, known_n, eligible_n = (counts[..., np.newaxis] for counts in _nested(met, known, eligible))
    yes_odds = met_n * ratios
    among_unknown = _share(yes_odds, yes_odds + (known_n - met_n))
    shape = np.broadcast_shapes(eligible_n.shape, ratios.shape)
    return _share(met_n + (eligible_n - known_n) * among_unknown, np.broadcast_to(eligible_n, shape))


def _limits(met: ArrayLike, known: ArrayLike, confidence: float, method: str) -> tuple[Floats, Floats]:
    confidence_level(confidence)
    met_n, known_n = np.broadcast_arrays(whole("met", met), whole("known", known))
    part_of("met", met_n, "known", known_n)
    lower, upper = np.full(known_n.shape, np.nan), np.full(known_n.shape, np.nan)
    some = known_n > 0
    if some.any():
        low, high = proportion_confint(met_n[some], known_n[some], alpha=1 - confidence, method=method)
        lower[some], upper[some] = np.clip(low, 0, 1), np.clip(high, 0, 1)
    # The closed form leaves 3e-17 and 0.9999999999999999 where the answer is 0 and 1: a page would print "0.0 to".
    lower[some & (met_n == 0)] = 0.0
    upper[some & (met_n == known_n)] = 1.0
    return lower, upper


def _nested(met: ArrayLike, known: ArrayLike, eligible: ArrayLike) -> tuple[Integers, Integers, Integers]:
    met_n, known_n, eligible_n = np.broadcast_arrays(
        whole("met", met), whole("known", known), whole("eligible", eligible)
    )
    part_of("met", met_n, "known", known_n)
    part_of("known", known_n, "eligible", eligible_n)
    return met_n, known_n, eligible_n


def _share(part: Floats | Integers, all_of_it: Floats | Integers) -> Floats:
    """Divide part by all_of_it; NaN where all_of_it is 0."""
    out = np.full(all_of_it.shape, np.nan)
    np.divide(part, all_of_it, out=out, where=all_of_it > 0)
    return out
