"""Rare harm, case by case: how long since the last, whether some are close together or more than is accepted.

Comes in: yes or no for every case in order, those nobody heard from as no; the rate the service accepts, if it stated
one. Goes out: a RareHarm. Refuses: to take the accepted rate from the service's own few events (a limit from five of a
hundred keeps its promise only by luck); to say why.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

import numpy as np
import pandas as pd

from pipeline.judgement.months import LEAST_RUN
from pipeline.statistics.cumulative_sum import case_steps, mean_run, passed, path, plain_rule, rare_scheme, shifted

ODDS_RATIO = 2  # the sum is set to find doubled odds
_MONTH = 365.25 / 12  # days


@dataclass(frozen=True)
class Watched:
    """The cumulative sum against the accepted rate: where it stands, its limit, and its run lengths in months."""

    accepted: float
    now: int
    limit: int
    passed: date | None  # the case with which it reached its limit since it last stood at 0
    false_alarm_months: float  # on average, where the rate stays at the accepted one
    found_after_months: float  # on average, where the odds have doubled


@dataclass(frozen=True)
class RareHarm:
    """What the order of the cases says. since_last: cases after the latest with it; None where there is none."""

    cases: int
    events: int
    since_last: int | None
    third_close: date | None  # the day of the latest that is the third within nine cases
    watched: Watched | None


def all_watched(in_order: pd.DataFrame, accepted: Mapping[str, float]) -> dict[str, RareHarm]:
    """Each measure that is only noted, by name; in_order: measure, index_date, met, in order of time."""
    return {
        str(name): watch(rows["index_date"].tolist(), rows["met"].tolist(), accepted.get(str(name)))
        for name, rows in in_order.groupby("measure", sort=True)
    }


def watch(days: list[date], noted: list[bool], accepted: float | None) -> RareHarm:
    """Watch the cases, in order of their days. No cases: nothing is said of them."""
    places = np.flatnonzero(noted)
    third = plain_rule(noted)
    return RareHarm(
        len(noted),
        int(places.size),
        len(noted) - 1 - int(places[-1]) if places.size else None,
        days[third[-1]] if third else None,
        _against(accepted, days, noted) if accepted and days else None,
    )


def _against(accepted: float, days: list[date], noted: list[bool]) -> Watched:
    a_month = len(days) / max((days[-1] - days[0]).days / _MONTH, 1)
    scheme = rare_scheme(accepted, ODDS_RATIO, LEAST_RUN * a_month)
    sums = path(scheme, np.array(noted, dtype=np.int64), np.ones(len(noted), dtype=np.int64))
    at = passed(sums, scheme.limit)
    quiet, doubled = (
        mean_run(case_steps(rate, scheme.up), scheme.limit) / a_month
        for rate in (accepted, shifted(accepted, ODDS_RATIO))
    )
    return Watched(accepted, int(sums[-1]), scheme.limit, None if at is None else days[at], quiet, doubled)
