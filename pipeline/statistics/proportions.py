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
from scipy.special import betainccinv, betaincinv, ndtri

from pipeline.statistics.counts import Floats, Integers, confidence_level, part_of, whole

ODDS_RATIOS = (1 / 4, 1 / 2, 1.0, 2.0, 4.0)


def wilson(met: ArrayLike, known: ArrayLike, confidence: float = 0.95) -> tuple[Floats, Floats]:
    """Lower and upper limit of met / known by Wilson's score method, without continuity correction.

    Source: Wilson 1927; method 3 of Newcombe 1998, Statistics in Medicine 17:857-872.
    Known 0: NaN, NaN. Met 0: lower is exactly 0. Met equal to known: upper is exactly 1.
    """
    tail = (1 - confidence_level(confidence)) / 2
    met_n, n = _met_of_known(met, known)
    z, share = -ndtri(tail), met_n / n  # not counts.normal_point, whose last digit differs: results keep every digit
    middle = (share + z**2 / (2 * n)) / (1 + z**2 / n)
    reach = z * np.sqrt(share * (1 - share) / n + z**2 / (4 * n**2)) / (1 + z**2 / n)
    return _with_exact_ends(middle - reach, middle + reach, met_n, n)


def clopper_pearson(met: ArrayLike, known: ArrayLike, confidence: float = 0.95) -> tuple[Floats, Floats]:
    """Lower and upper limit of met / known by the exact binomial method, two-sided (each tail half).

    Source: Clopper and Pearson 1934, by quantiles of the beta distribution. With no events it is about 3.7 / n; the
    "rule of three" (3 / n) is the one-sided limit and is not given here.
    Known 0: NaN, NaN. Met 0: lower is exactly 0. Met equal to known: upper is exactly 1.
    """
    tail = (1 - confidence_level(confidence)) / 2
    met_n, n = _met_of_known(met, known)
    lower, upper = betaincinv(met_n, n - met_n + 1, tail), betainccinv(met_n + 1, n - met_n, tail)
    return _with_exact_ends(lower, upper, met_n, n)


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


def _met_of_known(met: ArrayLike, known: ArrayLike) -> tuple[Integers, Floats]:
    """Give the counts in one shape, known as what can be divided by: NaN where nobody is."""
    met_n, known_n = np.broadcast_arrays(whole("met", met), whole("known", known))
    part_of("met", met_n, "known", known_n)
    return met_n, np.where(known_n > 0, known_n, np.nan)


def _with_exact_ends(lower: Floats, upper: Floats, met: Integers, n: Floats) -> tuple[Floats, Floats]:
    """Put exactly 0 where none of n met it, and exactly 1 where all did.

    There the closed form leaves 3e-17 and 0.9999999999999999, which a page would print as "0.0 to"; the beta has no
    quantile.
    """
    return np.where((met == 0) & (n > 0), 0.0, lower), np.where(met == n, 1.0, upper)


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
