"""The mix of families at a unit: how many met would be expected of it, were each of its families as those elsewhere.

Comes in: met and cases of a unit and of all others, by kind of tie and age band. Goes out: an Adjusted, or None where
there are too few. Refuses: to compare two units' ratios with one another, since each is held against its own mix; to
judge (of twenty such intervals one misses 1 by chance).
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass

import numpy as np
import pandas as pd

from pipeline.statistics.case_mix import (
    LEAST_CASES,
    LEAST_EVENTS,
    cell_rates,
    mantel_haenszel,
    observed_expected,
    ratio_by_cells,
)
from pipeline.statistics.counts import Integers

Cells = Mapping[tuple[str, str], tuple[int, int]]  # kind of tie, age band -> met, of how many

FEWEST = 10  # met, and as many not met, of a unit and the others together
BY_CELLS, BY_STRATA = "cells", "two strata"
YOUNG = ("0-6", "7-13")  # the age bands of the first stratum; the others make the second, and no age a third


@dataclass(frozen=True)
class Adjusted:
    """What would be expected, and how far what was observed is from it: a ratio of counts, or of odds within strata.

    least, most: what 95% of such families would give, exact; by cells only.
    """

    by: str
    expected: float
    ratio: float
    lower: float
    upper: float
    least: int | None = None
    most: int | None = None


def cells(mix: pd.DataFrame, noted: Collection[str]) -> dict[tuple[str, str, str], Cells]:
    """The counted mix by measure, period and site; of what is only noted met is of all, else of those known."""
    by_site: dict[tuple[str, str, str], Cells] = {}
    for key, rows in mix.groupby(["measure", "period", "site"]):
        of = rows["eligible"] if key[0] in noted else rows["known"]
        counts = zip(rows["met"].tolist(), of.tolist(), strict=True)
        by_site[key] = dict(zip(zip(rows["tie_type"], rows["age_band"], strict=True), counts, strict=True))
    return by_site


def adjusted(unit: Cells, others: Cells) -> Adjusted | None:
    """Held against the families of the others, by cells where there are cases enough, else by two strata."""
    met, cases = (sum(counts[at] for cells in (unit, others) for counts in cells.values()) for at in (0, 1))
    few = cases < LEAST_CASES or min(met, cases - met) < LEAST_EVENTS
    here, there = (_strata(cells) if few else cells for cells in (unit, others))
    names = sorted({*here, *there})
    (x, u), (reference, n) = _counts(here, names), _counts(there, names)
    if min(met, cases - met) < FEWEST or not u.any() or not n.any():
        return None
    observed = int(x.sum())
    if not few:
        by_cells = ratio_by_cells(observed, u, reference, n)
        if math.isnan(by_cells.ratio):
            return None
        exact = observed_expected(observed, np.repeat(cell_rates(reference, n), u))
        return Adjusted(
            BY_CELLS, by_cells.expected, by_cells.ratio, by_cells.lower, by_cells.upper, exact.least, exact.most
        )
    odds = mantel_haenszel(x, u, reference, n)
    if math.isnan(odds.lower) or (u[n == 0] > 0).any():  # no limits, or families of whom there are none elsewhere
        return None
    expected = float((u * np.divide(reference, n, out=np.zeros(n.shape), where=n > 0)).sum())
    return Adjusted(BY_STRATA, expected, odds.odds_ratio, odds.lower, odds.upper)


def together(several: Iterable[Cells]) -> dict[tuple[str, str], tuple[int, int]]:
    """The cells of several periods or units as one."""
    summed: dict[tuple[str, str], tuple[int, int]] = {}
    for cells in several:
        for name, (met, of) in cells.items():
            before = summed.get(name, (0, 0))
            summed[name] = (before[0] + met, before[1] + of)
    return summed


def _strata(cells: Cells) -> Cells:
    return together({("", _stratum(band)): counts} for (_, band), counts in cells.items())


def _stratum(band: str) -> str:
    return "young" if band in YOUNG else "older" if band[:1].isdigit() else band


def _counts(cells: Cells, names: list[tuple[str, str]]) -> tuple[Integers, Integers]:
    counts = np.array([cells.get(name, (0, 0)) for name in names], dtype=np.int64).reshape(len(names), 2)
    return counts[:, 0], counts[:, 1]
