"""What is published of waits, and what libraries compute: the product limit (Kaplan and Meier 1958), and its quantiles.

The pipeline has neither: every wait of its can end otherwise, and is summed up on a day. Here both are read off its
curve, so that the published figures hold the curve and its limits. Limits of the survival are 1 - those of incidence.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from pipeline.statistics.waits import Curve, cumulative_incidence


def product_limit(day: ArrayLike, events: ArrayLike, censored: ArrayLike) -> Curve:
    """The curve of a wait without a competing event. All arguments: shape (k,), days rising."""
    return cumulative_incidence(day, events, np.zeros(np.shape(events), dtype=np.int64), censored)


def quantile(curve: Curve, p: float = 0.5) -> tuple[float, float, float]:
    """The day by which a share p had had the event, and its limits (Brookmeyer and Crowley 1982); NaN: not reached.

    The days on which the curve, its upper and its lower limit pass p; the midpoint where one is flat at p.
    """
    first, low, high = (_first_past(curve.day, height, p) for height in (curve.incidence, curve.upper, curve.lower))
    return first, low, high


def _first_past(days: Any, height: Any, p: float) -> float:
    rounding = 1e-9  # steps of a curve carry about 1e-16
    reached, past = np.flatnonzero(height >= p - rounding), np.flatnonzero(height > p + rounding)
    return float(days[reached[0]] + days[past[0]]) / 2 if past.size else math.nan
