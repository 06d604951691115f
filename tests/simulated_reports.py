"""Whole reports of an invented service, made up from counts: no export, no store.

Four equal sites; families of four breakdowns, which make no difference. The shares and sizes are those of a service
that refers a quarter of its families; a Change says what is different, and where, from a quarter on.
"""

from __future__ import annotations

import sys
from dataclasses import dataclass, replace
from datetime import date

import numpy as np

from pipeline.contracts.breakdown_file import Breakdown
from pipeline.contracts.measure_files import NOTED, PROPORTION, TIME_TO_EVENT, Measure
from pipeline.judgement.families import judge
from pipeline.judgement.judged import BETWEEN, EQUITY, SERVICE, Basis, Group, Judgement
from pipeline.judgement.judged import SITES as SITES_OF
from pipeline.outcomes.lookup import CurveDay, Lookup, Result
from pipeline.outcomes.periods import shifted
from tests.report_measures import MEASURES

SITES = ("east", "north", "south", "west")
BREAKDOWNS = {
    "deprivation_fifth": ("1", "2", "3", "4", "5"),
    "ethnic_group": ("asian", "black", "mixed", "other", "white"),
    "first_baby": ("no", "yes"),
    "interpreter_needed": ("no", "yes"),
}
WEIGHTS = {
    "deprivation_fifth": (0.2, 0.2, 0.2, 0.2, 0.2),
    "ethnic_group": (0.12, 0.06, 0.06, 0.04, 0.72),
    "first_baby": (0.45, 0.55),
    "interpreter_needed": (0.9, 0.1),
}
FIRST = "2022Q1"
WAIT, SETTLED, HARM = (
    "days_from_referral_to_procedure",
    "resolved_by_attachment_help",
    "complication_needing_care_within_14_days",
)
FOLLOWED = 84


@dataclass(frozen=True)
class Sketch:
    """One primary measure: eligible of a hundred cases, the share met, and of how many it is known."""

    name: str
    kind: str
    better: str
    eligible: float
    share: float
    known: float


SKETCHES = (
    Sketch("seen_promptly", PROPORTION, "higher", 1.0, 0.80, 1.0),
    Sketch(SETTLED, PROPORTION, "higher", 0.55, 0.55, 0.88),
    Sketch(WAIT, TIME_TO_EVENT, "shorter", 0.30, 0.0, 1.0),
    Sketch(HARM, NOTED, "lower", 0.25, 0.03, 0.90),
    Sketch("reattached_within_84_days", NOTED, "lower", 0.22, 0.06, 0.75),
    Sketch("breastfed_at_6_weeks", PROPORTION, "higher", 0.75, 0.70, 0.84),
    Sketch("asked_at_6_weeks", PROPORTION, "higher", 0.75, 0.84, 1.0),
)


@dataclass(frozen=True)
class Change:
    """What is different from the changed quarter on, at one site or at all."""

    site: str = ""  # all, where empty
    measure: str = ""
    by: float = 0.0  # added to the share
    times: float = 1.0  # the share; of a wait its length
    stops: bool = False
    known: float = 0.0  # the share heard from, if it changes


def measures() -> tuple[Measure, ...]:
    """The primary measures, as the report's tests have them but for what is said of them here."""
    one = MEASURES[0]
    return tuple(
        replace(one, name=sketch.name, title=sketch.name, kind=sketch.kind, better=sketch.better) for sketch in SKETCHES
    )


def report(source: np.random.Generator, cases: int, change: Change = Change(), after: int = 0) -> Judgement:
    """One report of the quarter `after` quarters after the first one of the change, or of none."""
    return reports(source, cases, change, (after,))[0]


def reports(
    source: np.random.Generator, cases: int, change: Change = Change(), after: tuple[int, ...] = (0,)
) -> tuple[Judgement, ...]:
    """Reports of the quarters so many after the first changed one, of one and the same service."""
    changed = shifted(FIRST, 9)
    last = shifted(changed, max(after))
    counts = _Counts(source, cases, change, changed)
    period = FIRST
    while period <= last:
        counts.add(period)
        period = shifted(period, 1)
    groups = tuple(
        Breakdown(name, name, for_every_measure=True, for_equity=True, in_order=name == "deprivation_fifth")
        for name in BREAKDOWNS
    )
    seen = {site: Group(date(2021, 1, 1), counts.seen[site]) for site in SITES}
    return tuple(
        judge(
            Basis(
                measures(), groups, counts.lookup(), shifted(changed, ahead), [sketch.name for sketch in SKETCHES],
                everyone=Group(date(2021, 1, 1)), sites=seen,
            )
        )
        for ahead in after
    )  # fmt: skip


class _Counts:
    """The counts as they grow, quarter by quarter."""

    def __init__(self, source: np.random.Generator, cases: int, change: Change, changed: str) -> None:
        self.source, self.cases, self.change, self.changed = source, cases, change, changed
        self.results: dict[tuple[str, str, str, str], Result] = {}
        self.curves: dict[tuple[str, str, str, str], tuple[CurveDay, ...]] = {}
        self.levels: dict[tuple[str, str, str], tuple[str, ...]] = {}
        self.seen: dict[str, dict[str, int]] = {site: {} for site in SITES}

    def lookup(self) -> Lookup:
        return Lookup(self.results, self.curves, self.levels, FIRST)

    def add(self, period: str) -> None:
        for site in SITES:
            self.seen[site][period] = int(self.source.poisson(self.cases / 4))
        for sketch in SKETCHES:
            by_site = np.array([self._site(sketch, period, site) for site in SITES])
            everyone = by_site.sum(axis=0)
            self._put(sketch, period, "all", ("all",), everyone[np.newaxis])
            self._put(sketch, period, "site", SITES, by_site)
            for name, levels in BREAKDOWNS.items():
                flat = self.source.multinomial(everyone.ravel(), WEIGHTS[name])
                self._put(sketch, period, name, levels, np.moveaxis(flat, -1, 0).reshape(-1, *everyone.shape))

    def _site(self, sketch: Sketch, period: str, site: str) -> np.ndarray:
        """Met, not met and unknown; of a wait a row a day: the event, the competing event, censored."""
        eligible = self.source.binomial(self.seen[site][period], sketch.eligible)
        here = period >= self.changed and self.change.site in ("", site)
        here = here and self.change.measure in ("", sketch.name)
        if sketch.kind == TIME_TO_EVENT:
            return self._wait(eligible, self.change if here else Change())
        share, known = sketch.share, sketch.known
        if here and self.change.known and sketch.kind == NOTED:
            known = self.change.known
        elif here:
            share = share * self.change.times + self.change.by
        if sketch.kind == NOTED:  # a harm is noted where the family is heard from
            noted = self.source.binomial(eligible, share * known)
            heard = self.source.binomial(eligible - noted, known)
            return np.array([noted, heard, eligible - noted - heard])
        unknown = eligible - self.source.binomial(eligible, known)
        met = self.source.binomial(eligible - unknown, share)
        return np.array([met, eligible - unknown - met, unknown])

    def _wait(self, eligible: int, change: Change) -> np.ndarray:
        """Nine in ten are divided, after 14 days in the middle; one in ten waits for nothing; few are lost sight of."""
        event = np.where(self.source.random(eligible) < 0.1, 2, 1)
        if change.stops:
            event[event == 1] = 0
        day = np.ceil(self.source.gamma(2.0, 8.0 * (change.times if change.measure else 1.0), eligible)).astype(int)
        watched = np.where(self.source.random(eligible) < 0.05, self.source.integers(1, FOLLOWED, eligible), FOLLOWED)
        event = np.where((event == 0) | (day > watched), 0, event)
        day = np.where(event == 0, watched, day)
        counts = np.zeros((FOLLOWED + 1, 3), dtype=np.int64)
        np.add.at(counts, (day, np.array([2, 0, 1])[event]), 1)
        return counts

    def _put(self, sketch: Sketch, period: str, breakdown: str, levels: tuple[str, ...], counts: np.ndarray) -> None:
        self.levels[sketch.name, period, breakdown] = levels
        for level, here in zip(levels, counts, strict=True):
            key = (sketch.name, period, breakdown, level)
            if sketch.kind == TIME_TO_EVENT:
                self._put_wait(key, here)
                continue
            met, not_met, unknown = (int(number) for number in here)
            known, eligible = met + not_met, met + not_met + unknown
            of = eligible if sketch.kind == NOTED else known
            self.results[key] = Result(
                eligible, known, met, unknown, None, None, None, None, None, complete=True, of=of
            )

    def _put_wait(self, key: tuple[str, str, str, str], counts: np.ndarray) -> None:
        eligible, lost, met = int(counts.sum()), int(counts[:28, 2].sum()), int(counts[:29, 0].sum())
        known = eligible - lost
        self.results[key] = Result(eligible, known, met, lost, None, None, None, None, None, complete=True, of=known)
        at_risk = np.cumsum(counts.sum(axis=1)[::-1])[::-1]
        self.curves[key] = tuple(
            CurveDay(day, int(at_risk[day]), *(int(number) for number in counts[day]), None, None, None)
            for day in np.flatnonzero(counts.sum(axis=1))
        )


def _main(replicates: int) -> None:
    """Print, for services of three sizes, what chance alone lists and how soon what changed is listed."""
    families = (SERVICE, SITES_OF, EQUITY, BETWEEN)
    for cases in (80, 300, 1000):
        source = np.random.default_rng(1)
        made = [reports(source, cases)[0] for _ in range(replicates)]
        worse = np.mean([any(one.verdict.mark == "worse" for one in judgement.comparisons) for judgement in made])
        print(f"{cases} cases a quarter, nothing changed: {worse:.3f} of reports list anything as worse")
        for family in families:
            listed = np.mean(
                [len(judgement.marked(family, "worse", "better", "differs", "look")) for judgement in made]
            )
            expected = np.mean([judgement.expected(family) for judgement in made])
            print(f"  {family}: {listed:.3f} listed, {expected:.3f} printed as expected")
        for said, change, after, family, about in (
            ("waits of a site doubled", Change("north", WAIT, times=2), 2, SITES_OF, "figure"),
            ("divisions of a site stopped", Change("north", WAIT, stops=True), 1, SITES_OF, "figure"),
            ("settled 15 points down, all sites", Change("", SETTLED, by=-0.15), 3, SERVICE, "figure"),
            ("settled 15 points down, one site", Change("north", SETTLED, by=-0.15), 3, SITES_OF, "figure"),
            ("complications tripled, all sites", Change("", HARM, times=3), 4, SERVICE, "figure"),
            ("heard from 90% to 30%: said", Change("", HARM, known=0.3), 1, SERVICE, "heard from"),
            ("heard from 90% to 30%: a verdict on harm", Change("", HARM, known=0.3), 4, SERVICE, "figure"),
        ):
            source, hits = np.random.default_rng(2), np.zeros(after)
            for _ in range(max(replicates // 4, 1)):
                listed_in = [
                    any(
                        (one.measure.name, one.about) == (change.measure, about) and one.level in ("all", "north")
                        for one in judgement.marked(family, "worse", "better")
                    )
                    for judgement in reports(source, cases, change, tuple(range(after)))
                ]
                hits += np.logical_or.accumulate(listed_in)
            shares = ", ".join(f"{share:.2f}" for share in hits / max(replicates // 4, 1))
            print(f"  {said}, by report 1 to {after}: {shares}", flush=True)


if __name__ == "__main__":
    _main(int(sys.argv[1]))
