"""What a count and a list of days must be, before anything is worked out from them.

Comes in: whatever the caller holds: numbers, lists, numpy arrays, masked arrays. Goes out: checked numpy arrays.
Refuses: a count that is negative, broken, missing or above the count it is part of; days that are missing,
negative, repeated or out of order; lists of unequal length. Each refusal is a ValueError that shows the numbers,
because these are defects of the caller: the libraries below would carry them silently into a limit.
"""

from __future__ import annotations

# The standard library's module of that name, not this package.
from statistics import NormalDist
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

Days = NDArray[Any]  # whole days in the pipeline; published examples also come in hundredths of a month
Floats = NDArray[np.float64]
Integers = NDArray[np.int64]

SHOWN = 5  # numbers an error message shows at most


def whole(name: str, values: ArrayLike) -> Integers:
    """Return the values as whole numbers from 0 up, in their own shape. A missing value is refused, not read as 0."""
    numbers = _floats(values)
    bad = ~(np.isfinite(numbers) & (numbers >= 0) & (numbers == np.floor(numbers)))
    if bad.any():
        raise ValueError(f"{name}: {_shown(numbers[bad])}; a count is a whole number from 0 up")
    return numbers.astype(np.int64)


def part_of(part_name: str, part: Integers, all_name: str, all_of_it: Integers) -> None:
    """Refuse a part that is larger than what it is part of, naming both numbers."""
    above = part > all_of_it
    if above.any():
        pairs = [f"{some} of {every}" for some, every in zip(part[above], all_of_it[above], strict=True)]
        raise ValueError(f"{part_name} above {all_name}: {_joined(pairs)}")


def distinct_days(day: ArrayLike) -> Days:
    """Return the days as a flat array, each once and rising: int64 if all are whole days, else floats."""
    numbers = _floats(day)
    if numbers.ndim != 1:
        raise ValueError(f"day: {numbers.ndim} dimensions; days are one flat list")
    bad = ~(np.isfinite(numbers) & (numbers >= 0))
    if bad.any():
        raise ValueError(f"day: {_shown(numbers[bad])}; a day is a number from 0 up")
    steps = np.diff(numbers)
    if (steps <= 0).any():
        raise ValueError(f"day: {_shown(numbers[1:][steps <= 0])} repeated or out of order; each day once, rising")
    return numbers.astype(np.int64) if (numbers == np.floor(numbers)).all() else numbers


def a_count_a_day(days: Days, name: str, values: ArrayLike) -> Integers:
    """Return the counts that go with the days: whole, from 0 up, one a day."""
    counts = whole(name, values)
    if counts.shape != days.shape:
        raise ValueError(f"{name}: {counts.size} counts for {days.size} days")
    return counts


def confidence_level(confidence: float) -> float:
    """Return the level if it is between 0 and 1, such as 0.95; 95 is refused rather than guessed at."""
    if not 0 < confidence < 1:
        raise ValueError(f"confidence: {confidence}; between 0 and 1, such as 0.95")
    return confidence


def normal_point(confidence: float) -> float:
    """Return the point of the standard normal distribution that a two-sided interval uses: 1.96 for 0.95."""
    return NormalDist().inv_cdf(1 - (1 - confidence_level(confidence)) / 2)


def _floats(values: ArrayLike) -> Floats:
    """The values in their own shape, NaN for what is missing."""
    # A database hands over NULLs as a masked array, and numpy.asarray would drop the mask and keep the filling.
    if isinstance(values, np.ma.MaskedArray):
        return np.asarray(np.ma.filled(values.astype(np.float64), np.nan), dtype=np.float64)
    return np.asarray(values, dtype=np.float64)


def _shown(numbers: NDArray[Any]) -> str:
    return _joined([f"{number:g}" for number in numbers.ravel()])


def _joined(texts: list[str]) -> str:
    more = f" and {len(texts) - SHOWN} more" if len(texts) > SHOWN else ""
    return ", ".join(texts[:SHOWN]) + more
