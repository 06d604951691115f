"""The interval formulas, written out.

In: counts, or waiting times with their events. Out: numbers, None where undefined. Refuses: statsmodels and every
other library that the pipeline rests on; waits are reckoned in exact fractions, rounded once at the end.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from math import exp, floor, log, sqrt
from statistics import NormalDist

Z = NormalDist().inv_cdf(0.975)


def wilson(met: int, known: int) -> tuple[float | None, float | None]:
    """Score interval (Wilson 1927); none of n has the lower limit 0 and all of n the upper limit 1, exactly."""
    if known == 0:
        return None, None
    share = met / known
    middle = (share + Z * Z / (2 * known)) / (1 + Z * Z / known)
    half = Z * sqrt(share * (1 - share) / known + Z * Z / (4 * known * known)) / (1 + Z * Z / known)
    return (0.0 if met == 0 else middle - half), (1.0 if met == known else middle + half)


def quantile(numbers: Sequence[int], part: Fraction) -> float | None:
    """Linear interpolation between order statistics: type 7 of Hyndman and Fan 1996."""
    if not numbers:
        return None
    ordered = sorted(numbers)
    place = part * (len(ordered) - 1)
    below = floor(place)
    above = min(below + 1, len(ordered) - 1)
    return float(ordered[below] + (place - below) * (ordered[above] - ordered[below]))


def incidence(waits: Sequence[tuple[float, int]], cause: int, by: float) -> tuple[Fraction, Fraction] | None:
    """Cumulative incidence of one cause by a day with its variance (the formula of the statistics document).

    waits: (time, event), event 0 for censored. None where nobody was at risk on that day and events had not ended the
    curve before it. A time below 0 is at risk on no day.
    """
    days = sorted({time for time, event in waits if event and 0 <= time <= by})
    surviving = Fraction(1)
    reached = Fraction(0)
    steps: list[tuple[int, int, int, Fraction, Fraction]] = []  # at risk, all events, of the cause, S before, F after
    for day in days:
        at_risk = sum(1 for time, _ in waits if time >= day)
        events = sum(1 for time, event in waits if event and time == day)
        of_cause = sum(1 for time, event in waits if event == cause and time == day)
        reached += surviving * Fraction(of_cause, at_risk)
        steps.append((at_risk, events, of_cause, surviving, reached))
        surviving *= Fraction(at_risk - events, at_risk)
    if not any(time >= by for time, _ in waits) and surviving != 0:
        return None
    variance = Fraction(0)
    for n, all_events, d, before, so_far in steps:
        left = reached - so_far
        if n != all_events:
            variance += left**2 * Fraction(all_events, n * (n - all_events))
        variance += before**2 * Fraction((n - d) * d, n**3)
        variance -= 2 * left * before * Fraction(d, n**2)
    return reached, variance


def incidence_limits(reached: Fraction, variance: Fraction) -> tuple[float | None, float | None]:
    """Limits on the scale log(-log(1 - F)); none where F is 0 or 1, which that scale does not hold."""
    if reached in (0, 1):
        return None, None
    remaining = float(1 - reached)
    spread = Z * sqrt(float(variance)) / (remaining * -log(remaining))
    return 1 - remaining ** exp(-spread), 1 - remaining ** exp(spread)
