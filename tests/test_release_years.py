"""Three years, one after the other, with a block of rare harm and quarters: all releases attacked together.

The rows are those of random exports, a year each; the attack (bounds by linear programming) gets only what is printed.
Each test has two of the breakdowns, others in each; FEEDING_AUDIT_BREAKDOWNS=6 gives all of them to all.
"""

from __future__ import annotations

import os
from collections.abc import Mapping, Sequence
from dataclasses import replace

import pytest

from pipeline.privacy.publication import ledger, proving, release_record, wanted
from pipeline.privacy.publication.count_system import system
from pipeline.privacy.publication.frozen_counts import EVERYONE, Counts, Key
from pipeline.privacy.publication.ledger import PUBLICATION, Entry
from pipeline.privacy.publication.release_record import Recorded, recorded, released_before
from pipeline.privacy.publication.wanted import Wanted
from tests.release_rows import Drawn, only, three_drawn

YEARS = ("2023-24", "2024-25", "2025-26")
BREAKDOWNS = int(os.environ.get("FEEDING_AUDIT_BREAKDOWNS", "2"))


@pytest.fixture(scope="module")
def three(tmp_path_factory: pytest.TempPathFactory) -> list[Drawn]:
    return three_drawn(tmp_path_factory)


class Releases:
    """A ledger in memory."""

    def __init__(self, drew: Drawn, k: int) -> None:
        self.drew, self.k = drew, k
        self.entries: tuple[Entry, ...] = ()
        self.kept: dict[int, Recorded] = {}

    def release(self, period: str, want: Wanted) -> None:
        """Choose, pass the gate, attack everything; then it is out."""
        linked = system(
            want.periods,
            self.drew.what.measures,
            self.drew.what.files,
            printable=want.places,
            sums_of_periods=want.sums,
            earlier=released_before(self.entries),
        )
        chosen = proving.chosen(linked.linked, self.k)
        said = {"kind": PUBLICATION, "period": period, "k": self.k}
        said |= release_record.cells_said(linked, chosen, want.places)
        new = ledger.next_entry(self.entries, said)
        self.kept[new.number] = recorded(new, release_record.proof_file(linked, chosen))
        self.entries += (new,)
        assert proving.faults_of(new.number, self.kept[new.number], self.k) == []
        proving.attacked(self.entries, self.kept)

    def year(self, year: str, quarters: Mapping[str, Counts], before: Mapping[str, Mapping[str, Counts]]) -> None:
        out = {place[0] for place in released_before(self.entries)}
        splits: dict[str, set[str]] = {split.name: set() for split in self.drew.what.splits}
        outs = {one: out & set(before[one]) for one in before}
        what = self.drew.what
        want = wanted.of_year(
            year, quarters, out & set(quarters), before, outs, what.measures, splits, {}, activity_only=False
        )
        self.release(year, want)


def some(those: Sequence[Drawn], first: int) -> list[Drawn]:
    """The same by so many breakdowns, from that one on."""
    names = sorted({key.breakdown for key in those[0].counts} - {"", EVERYONE})
    assert len(names) == 6
    taken = [names[(first + place) % 6] for place in range(BREAKDOWNS)]
    return [only(drew, taken) for drew in those]


def printed(those: Sequence[Entry]) -> dict[tuple[str, Key], int]:
    return {place: value for place, value in released_before(those).items() if value is not None}


@pytest.mark.parametrize(("k", "quarterly", "first"), [(4, False, 0), (7, True, 2)])
def test_nothing_is_narrowed_by_three_years_their_block_and_their_quarters(
    three: list[Drawn], k: int, quarterly: bool, first: int
):
    those = some(three, first)
    releases = Releases(those[0], k)
    done: dict[str, dict[str, Counts]] = {}
    for year, drew in zip(YEARS, those, strict=True):
        quarters = {f"{year[:4]}Q2": drew.counts, f"{year[:4]}Q3": those[0].counts}
        if quarterly:
            quarter = next(iter(quarters))
            releases.release(quarter, wanted.of_quarter(quarter, quarters[quarter], drew.what.shown))
        releases.year(year, quarters, done if year == YEARS[-1] else {})
        done[year] = quarters
    out = printed(releases.entries)
    block = f"{YEARS[0]} to {YEARS[-1]}"
    harms = {measure.name for measure in wanted.rare_harms(those[0].what.measures)}
    assert len(harms) == 5
    assert {key.name for period, key in out if period == block} == harms
    assert any(period == "2023Q2" for period, _ in out) == quarterly
    small = [place for place, value in out.items() if 1 <= value <= k and place[1].part != "unknown"]
    assert small == []


def test_a_count_printed_after_all_is_told_by_the_attack(three: list[Drawn]):
    """What the attack is for: with the gate out of the way, one withheld count printed narrows it or another."""
    (drew,) = some(three[:1], 4)
    releases = Releases(drew, 4)
    releases.year(YEARS[0], {"2023Q2": drew.counts}, {})
    kept = releases.kept[1]
    hidden = [cell for cell in range(len(kept.linked.true)) if kept.protected[cell] and kept.linked.printable[cell]]
    assert hidden
    shown = kept.printed.copy()
    shown[hidden[0]] = True
    _, names = proving.narrowed_by_all(releases.entries, {1: replace(kept, printed=shown)})
    assert names
