"""What the rows of published measures have in common, and whether the files say it.

A reader who knows the definitions knows which counts lie in one another. A release that does not could print two of
which the difference is one family. So whatever holds in thousands of rows of random exports has to follow from what the
files say (an inequality between counts follows if no counts that add up break it: linear programming, scipy's HiGHS).
"""

from __future__ import annotations

import itertools
import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.optimize import linprog

from pipeline.contracts.grains import GRAINS
from pipeline.contracts.measure_files import Measure
from pipeline.privacy.publication.count_system import CountSystem, system
from pipeline.privacy.publication.frozen_counts import EVERYONE, MEASURE, Key
from tests.release_rows import Drawn, three_drawn, together

ENOUGH = 12  # rows of a part, for what is asked of it to mean anything
NO_ACCIDENT = 1e-6  # how likely chance alone may at most make what holds in all rows


@pytest.fixture(scope="module")
def rows(tmp_path_factory: pytest.TempPathFactory) -> list[Drawn]:
    return three_drawn(tmp_path_factory)


class Follows:
    """Whether one count is never above another, by all that the files say."""

    def __init__(self, linked: CountSystem) -> None:
        self.at = {key: number for (_, key), number in linked.at.items()}
        size = len(linked.linked.names)
        adds_up = np.zeros((len(linked.linked.identities), size))
        for row, (whole, parts) in enumerate(linked.linked.identities):
            adds_up[row, whole] = 1
            adds_up[row, list(parts)] -= 1
        self.rows = np.vstack([adds_up, np.ones(size)])
        self.right = np.append(np.zeros(len(adds_up)), 1.0)

    def __call__(self, larger: Key, *smaller: Key) -> bool:
        """Whether `larger` is never below the sum of the `smaller`."""
        cost = np.zeros(self.rows.shape[1])
        cost[self.at[larger]] += 1
        for key in smaller:
            cost[self.at[key]] -= 1
        return bool(linprog(cost, A_eq=self.rows, b_eq=self.right, bounds=(0, None)).fun > -1e-9)


def everyone(name: str, part: str) -> Key:
    return Key(MEASURE, name, EVERYONE, EVERYONE, part)


def not_said(those: list[Drawn]) -> list[str]:
    """What holds in all rows, and does not follow from the files."""
    parts = together(those)
    days = {(one[0], number, one[1]): one[2] for number, drew in enumerate(those) for one in drew.rows}
    measures = {measure.name: measure for measure in those[0].what.measures}
    follows = Follows(_system(those))
    known = [key for key in parts if everyone(*key) in follows.at and len(parts[key]) >= ENOUGH]
    assert len(known) > 90
    found = []
    for one, other in itertools.permutations(known, 2):
        (mine, theirs), (name, _), (named, _) = (parts[one], parts[other]), one, other
        if name == named or GRAINS[measures[name].grain] != GRAINS[measures[named].grain]:
            continue
        same_day = all(days[name, *unit] == days.get((named, *unit)) for unit in mine & theirs)
        both = parts[name, "eligible"] & parts[named, "eligible"]
        # Of a share of theirs, chance would put all of mine there so often; who is eligible at all is no chance.
        chance = 0.0 if other[1] == "eligible" else (len(theirs & both) / max(len(both), 1)) ** len(mine)
        lies = mine <= theirs and same_day and chance < NO_ACCIDENT
        if lies and not follows(everyone(*other), everyone(*one)):
            found.append(f"{'.'.join(one)} lies in {'.'.join(other)}")
        wider = max((name, named), key=lambda it: len(parts[it, "eligible"]))
        apart = not mine & theirs and len(mine & both) * len(theirs & both) > -math.log(NO_ACCIDENT) * len(both)
        inside = parts[name, "eligible"] <= parts[wider, "eligible"] >= parts[named, "eligible"]
        same_day = all(days[name, *unit] == days[named, *unit] for unit in both)
        asked = one < other and both and apart and inside and same_day
        if asked and not follows(everyone(wider, "eligible"), everyone(*one), everyone(*other)):
            found.append(f"{'.'.join(one)} and {'.'.join(other)} have nobody in common")
    return found


def _system(those: list[Drawn]) -> CountSystem:
    counts: dict[Key, int] = {}
    for one in those:
        for key, count in one.counts.items():
            if key.breakdown == EVERYONE:
                counts[key] = counts.get(key, 0) + count
    return system({"all": counts}, those[0].what.measures, (), printable=(), sums_of_periods=(), earlier={})


def test_whatever_holds_between_published_counts_is_said_by_the_files(rows: list[Drawn]):
    assert not_said(rows) == []


def test_a_relation_that_is_left_out_is_found(rows: list[Drawn]):
    without = tuple(
        measure if measure.name != "exclusively_breastfed_at_6_weeks" else _without(measure, "met")
        for measure in rows[0].what.measures
    )
    changed = [replace(one, what=replace(one.what, measures=without)) for one in rows]
    assert "exclusively_breastfed_at_6_weeks.met lies in breastfed_at_6_weeks.met" in not_said(changed)


def _without(measure: Measure, mine: str) -> Measure:
    return replace(measure, inside=tuple(one for one in measure.inside if one.mine != mine))


def test_what_files_say_holds_at_every_level_of_every_breakdown(rows: list[Drawn]):
    """system() refuses counts that do not lie as a file says."""
    for one in rows:
        linked = system({"all": one.counts}, one.what.measures, (), printable=(), sums_of_periods=(), earlier={})
        assert len(linked.linked.identities) > 500


def test_where_a_file_says_that_nobody_can_be_nobody_is(rows: list[Drawn]):
    never = {(measure.name, *level) for measure in rows[0].what.measures for level in measure.never}
    assert len(never) > 8
    for one in rows:
        there = {(key.name, key.breakdown, key.level) for key, count in one.counts.items() if count}
        assert not there & never


def test_every_published_measure_has_relations_only_to_its_own_grain(rows: list[Drawn]):
    """A case and a division of it have other days, sites and levels: their counts do not lie in each other by level."""
    grains = {measure.name: measure.grain for measure in rows[0].what.measures}
    said = [(grains[measure.name], grains[one.measure]) for measure in rows[0].what.measures for one in measure.inside]
    assert said
    assert all(mine == theirs for mine, theirs in said)
