"""Month by month: where a share stands, and whether it has changed, judged by one set of rules for every chart.

Comes in: counts by month, the months the service calls its baseline, a step it dated itself. Goes out: a Monthly, with
what may be said. Refuses: to judge fewer than twelve months with cases since the last step; by the run rules where one
side of the centre is the likelier; by a cumulative sum of what is only noted, whose accepted rate must be stated
and not be taken from a few events of one's own; to say why.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from pipeline.statistics.control_chart import ControlChart, chance_outside, p_chart, widened
from pipeline.statistics.counts import Floats, Integers
from pipeline.statistics.cumulative_sum import began, month_scheme, passed, path
from pipeline.statistics.run_rules import LEAST_POINTS, Runs, false_alarm, rules_hold, runs, sides

ABOVE, BELOW = "above", "below"
SHIFT = 0.15  # a lasting change of 15 points is what the cumulative sum is set to find
LEAST_RUN = 150  # months it shall run where nothing changes, each way
_LASTING = 2 * 3 / LEAST_RUN  # a sum passes so seldom by chance, each way, and then stays so for about three months
_BY_CHANCE = 0.0027  # of a point of a widened chart to lie outside


@dataclass(frozen=True)
class Lasting:
    """A change that has lasted: which way, since about when, and in which month the sum passed its limit."""

    way: str
    since: str
    passed: str


@dataclass(frozen=True, eq=False)
class Sums:
    """The cumulative sums for a rise and a fall, one entry a month since the last step, with their limits."""

    rise: Integers
    rise_limit: int | None  # None where the share cannot rise so far
    fall: Integers
    fall_limit: int | None


@dataclass(frozen=True, eq=False)
class Monthly:
    """One measure month by month. Arrays have an entry a month; limits are NaN where there are none."""

    months: tuple[str, ...]
    met: Integers
    of: Integers
    share: Floats
    centre: Floats
    lower: Floats
    upper: Floats
    step: tuple[str, str] | None  # its month, and the reason given, where the step is among the months
    begins: int  # the place of the first month after it, or 0
    baseline: tuple[str, str] | None = None  # first and last month the centre is taken from; None: too early for one
    outside: tuple[tuple[int, str], ...] = ()  # place and way
    runs: Runs | None = None  # None where the rules do not hold
    sums: Sums | None = None
    lasting: Lasting | None = None
    by_chance: float = 0.0  # about how many such charts say something where nothing changes

    @property
    def useful(self) -> int:
        """How many months since the last step have cases."""
        return int((self.of[self.begins :] > 0).sum())


def judge(
    months: Sequence[str],
    met: Integers,
    of: Integers,
    baseline: tuple[str, str] | None = None,
    step: tuple[str, str] | None = None,
    *,
    rare: bool = False,
) -> Monthly:
    """Judge a series; months rise, arrays of shape (k,), k = 0 allowed. rare: no cumulative sum.

    A baseline of fewer than twelve months with cases is not used: the centre is that of all the months since the step.
    """
    begins = next((at for at, month in enumerate(months) if step and month >= step[0]), 0)
    lines = np.full((3, len(months)), np.nan)  # centre, lower, upper
    if begins:
        earlier = judge(months[:begins], met[:begins], of[:begins], baseline, rare=rare)
        lines[:, :begins] = earlier.centre, earlier.lower, earlier.upper
    share = np.divide(met, of, out=np.full(len(months), np.nan), where=of > 0)
    here = step if begins else None
    unjudged = Monthly(tuple(months), met, of, share, lines[0], lines[1], lines[2], here, begins)
    if unjudged.useful < LEAST_POINTS:
        return unjudged
    named, x, n = months[begins:], met[begins:], of[begins:]
    stated = [at for at, month in enumerate(named) if baseline and not begins and baseline[0] <= month <= baseline[1]]
    own = int((n[stated] > 0).sum()) < LEAST_POINTS
    taken = list(range(len(named))) if own else stated
    centre = float(x[taken].sum() / n[taken].sum())
    chart = p_chart(x, n, centre, widened(x[taken], n[taken], centre))
    lines[:, begins:] = np.full(len(named), centre), chart.lower, chart.upper
    runs_seen = runs(chart.share, centre) if rules_hold(n, centre) else None
    sums = None if rare or not 0 < centre < 1 else Sums(*_sum(centre, x, n), *_sum(1 - centre, n - x, n))
    outside = [(begins + int(at), ABOVE) for at in np.flatnonzero(chart.above)]
    outside += [(begins + int(at), BELOW) for at in np.flatnonzero(chart.below)]
    return replace(
        unjudged,
        centre=lines[0],
        lower=lines[1],
        upper=lines[2],
        baseline=(named[taken[0]], named[taken[-1]]),
        outside=tuple(sorted(outside)),
        runs=runs_seen,
        sums=sums,
        lasting=None if sums is None else _lasting(sums, named),
        by_chance=1
        - _quiet(chart, n) * (1 - _run_alarm(runs_seen, n, centre, own=own)) * (1 - _LASTING * (sums is not None)),
    )


def _sum(accepted: float, counted: Integers, n: Integers) -> tuple[Integers, int | None]:
    """The sum for what the change makes more of, and its limit; None where there is no room for a change."""
    try:
        scheme = month_scheme(accepted, min(accepted + SHIFT, (1 + accepted) / 2), n[n > 0].tolist(), LEAST_RUN)
    except ValueError:  # the two shares are too near for whole steps
        return np.zeros(n.shape, dtype=np.int64), None
    return path(scheme, counted, n), scheme.limit


def _lasting(sums: Sums, months: Sequence[str]) -> Lasting | None:
    """The change that still lasts in the latest month; one that has gone again is none."""
    for way, so_far, limit in ((ABOVE, sums.rise, sums.rise_limit), (BELOW, sums.fall, sums.fall_limit)):
        at = None if limit is None or so_far[-1] < limit else passed(so_far, limit)
        if at is not None:
            return Lasting(way, months[began(so_far, at)], months[at])
    return None


def _quiet(chart: ControlChart, n: Integers) -> float:
    """The chance that no point of the chart lies outside, where nothing changes."""
    quiet = 1.0
    for cases, lower, upper in zip(n.tolist(), chart.lower.tolist(), chart.upper.tolist(), strict=True):
        if chart.sigma_z > 1:
            quiet *= 1 - _BY_CHANCE * (cases > 0)
        elif cases and lower == lower:  # not NaN
            low, high = int(np.ceil(lower * cases - 1e-9)) - 1, int(np.floor(upper * cases + 1e-9)) + 1
            quiet *= 1 - chance_outside(cases, chart.centre, low, high)
    return quiet


def _run_alarm(runs_seen: Runs | None, n: Integers, centre: float, *, own: bool) -> float:
    if runs_seen is None:
        return 0.0
    if own:
        return false_alarm(runs_seen.useful, of_them_above=runs_seen.above).either
    below, above = sides(n, centre)
    useful = np.flatnonzero(n > 0)[: runs_seen.useful]
    return false_alarm(runs_seen.useful, above[useful] / (above + below)[useful]).either
