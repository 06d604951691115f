"""What a release may count and would like to print, once nothing stands in the way of its period.

Comes in: a session, the ledger. Goes out: the public measures, tables and breakdowns; frozen counts by quarter; what is
wanted of them. Refuses what privacy/publication/early.py refuses.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

from pipeline import store
from pipeline.contracts import layout, places
from pipeline.contracts.breakdown_file import Breakdown, breakdowns
from pipeline.contracts.measure_files import SHOWN, TIME_TO_EVENT, Measure
from pipeline.contracts.numbered_files import activity_files
from pipeline.contracts.sql_file import SqlFile
from pipeline.outcomes import periods
from pipeline.privacy.publication import early, ledger, release_record, wanted
from pipeline.privacy.publication.count_cells import Place
from pipeline.privacy.publication.count_system import CountSystem, system
from pipeline.privacy.publication.frozen_counts import (
    ACTIVITY,
    EVERYONE,
    MEASURE,
    Counts,
    Key,
    definitions,
    from_csv,
    frozen,
)
from pipeline.privacy.publication.ledger import Entry
from pipeline.privacy.publication.wanted import BLOCK_YEARS, Wanted
from pipeline.progress import Progress
from pipeline.report.words import labels
from pipeline.runs.publishing import release_counts
from pipeline.session import Session


@dataclass(frozen=True)
class Public:
    """What a release may count: the published measures, activity tables and breakdowns."""

    measures: tuple[Measure, ...]  # those of which only the number of eligible is published too
    files: tuple[SqlFile, ...]
    splits: tuple[Breakdown, ...]

    @property
    def shown(self) -> tuple[Measure, ...]:
        """The measures with figures of their own."""
        return tuple(measure for measure in self.measures if measure.published in SHOWN)

    @property
    def six_weeks(self) -> tuple[str, ...]:
        """The measures that say so where few are known."""
        return tuple(measure.name for measure in self.shown if measure.all_due)

    @property
    def waits(self) -> tuple[str, ...]:
        """The measures published as counts within so many days."""
        return tuple(measure.name for measure in self.shown if measure.kind == TIME_TO_EVENT)

    @property
    def population(self) -> str:
        """The measure whose eligible are the cases first seen."""
        return next(measure.name for measure in self.measures if measure.published == "eligible")

    @property
    def definitions(self) -> dict[str, str]:
        """A mark of each, that changes where what is counted changes."""
        return definitions(self.measures, self.files)


def public(session: Session, those: tuple[Entry, ...]) -> Public:
    """What is public. Raises Refused where the period may not be published at all."""
    period, choices, year_starts = session.basis.period, session.basis.settings.publish, _year_starts(session)
    year = periods.of(periods.first_day(period, year_starts), periods.YEAR, year_starts)
    is_quarter = periods.kind(period) == periods.QUARTER
    early.see_that_it_may_be(period, is_quarter, year, choices.quarterly, those)
    early.see_that_as_much_is_withheld(year, periods.quarters_of(year, year_starts), those, choices.withheld_up_to)
    early.see_that_it_is_of_the_store(those, store.fingerprints(session.con))
    return what_is_public(session.measures)


def what_is_public(measures: Sequence[Measure]) -> Public:
    """What the files mark as published."""
    return Public(
        tuple(measure for measure in measures if measure.published != "no"),
        tuple(file for file in activity_files() if file.keys.get("published") == "yes"),
        tuple(split for split in breakdowns() if split.published),
    )


def counts_of(session: Session, those: tuple[Entry, ...], what: Public, watch: Progress) -> dict[str, Counts]:
    """The counts of the period's quarters: as they were frozen, else as they are now."""
    period, con = session.basis.period, session.con
    quarters = session.quarters_within() or (period,)
    parts, acts = release_counts.by_quarter(con, what.measures, session.basis.settings, quarters[-1], watch)
    days = max(measure.horizon or 0 for measure in what.measures)
    last = periods.last_day(period, _year_starts(session))
    early.see_that_it_was_followed(period, last, days, release_counts.followed_until(con, period))
    now = {quarter: frozen(parts, acts, quarter, what.measures, what.files) for quarter in quarters}
    before = {quarter: frozen_before(session, those, quarter) for quarter in quarters}
    there = {quarter: counts for quarter, counts in before.items() if counts is not None}
    early.see_that_nothing_was_renamed(period, there, now, [split.name for split in what.splits])
    early.see_that_definitions_stand(period, quarters, those, what.definitions)
    return {**now, **there}


def wanted_of(session: Session, those: tuple[Entry, ...], what: Public, counts: Mapping[str, Counts]) -> Wanted:
    """What the release would like to print, and what hangs together with it."""
    period = session.basis.period
    if periods.kind(period) == periods.QUARTER:
        return wanted.of_quarter(period, counts[period], what.shown)
    out = {place[0] for place in release_record.released_before(those)}
    years = _block_before(session, those, what)
    return wanted.of_year(
        period,
        counts,
        out & set(counts),
        years,
        {year: out & set(years[year]) for year in years},
        what.measures,
        *rows_there_are(counts.values(), what),
        activity_only=few_cases(session, what, counts),
    )


def rows_there_are(quarters: Collection[Counts], what: Public) -> tuple[dict[str, list[str]], dict[str, list[str]]]:
    """The levels of each breakdown and the rows of each activity table: all that are declared, and any of the year.

    They are sorted, for what is withheld hangs on the order in which a release counts. What is declared nowhere, such
    as the sites, is no secret: it stands where anybody at all is in it.
    """
    wording = labels.read(places.REPORTS / "wording.toml")

    def declared(name: str) -> set[str]:
        columns = [column for table in layout.tables() for column in table.columns if column.name == name]
        return {*wording.listed(name), *(value for column in columns for value in column.values)} - {"not_known"}

    keys = {key for counts in quarters for key in counts}
    levels = {split.name: declared(split.name) for split in what.splits}
    rows: dict[str, set[str]] = {file.own_name: set() for file in what.files}
    for key in keys:
        if key.table == MEASURE and key.breakdown in levels:
            levels[key.breakdown].add(key.level)
        elif key.table == ACTIVITY and key.name in rows:
            before = key.level.rpartition(": ")[0]
            own = declared(before or key.name)
            rows[key.name] |= {key.level, *(f"{before}: {value}" if before else value for value in own)}
    of_levels, of_rows = ({name: sorted(own) for name, own in those.items()} for those in (levels, rows))
    return of_levels, of_rows


def few_cases(session: Session, what: Public, counts: Mapping[str, Counts]) -> bool:
    """Whether too few cases were first seen in a year for more than its activity."""
    key = Key(MEASURE, what.population, EVERYONE, EVERYONE, "eligible")
    first_seen = sum(one.get(key, 0) for one in counts.values())
    is_year = periods.kind(session.basis.period) == periods.YEAR
    return is_year and first_seen < session.basis.settings.publish.least_cases


def left_out(session: Session, want: Wanted, what: Public) -> frozenset[Place]:
    """Six-week figures that the service withholds, since fewer answers are known than it asks for."""
    choices, period = session.basis.settings.publish, session.basis.period
    places = set()
    for name in what.six_weeks if choices.below_it == "withhold" else ():
        counts = want.periods[period]
        known, eligible = (
            counts.get(Key(MEASURE, name, EVERYONE, EVERYONE, part), 0) for part in ("known", "eligible")
        )
        if known < choices.six_weeks_known * eligible:
            places |= {place for place in want.places if place[1].name == name and place[1].part == "met"}
    return frozenset(places)


def linked(want: Wanted, what: Public, those: tuple[Entry, ...], few: frozenset[Place]) -> CountSystem:
    """Every count that hangs together with one that may be printed."""
    return system(
        want.periods,
        what.measures,
        what.files,
        printable=[place for place in want.places if place not in few],
        sums_of_periods=want.sums,
        earlier=release_record.released_before(those),
    )


def frozen_before(session: Session, those: tuple[Entry, ...], quarter: str) -> Counts | None:
    """The counts of a quarter as a release before has frozen them; None where none has."""
    body = ledger.frozen_of(session.folder, those, quarter)
    return None if body is None else from_csv(body)


def _block_before(session: Session, those: tuple[Entry, ...], what: Public) -> dict[str, dict[str, Counts]]:
    """The years before this one of the block that ends with it, with their quarters; none where no block ends here.

    Blocks are counted from the first year ever published. A block with a year that was not published, in which a harm
    was defined otherwise or other numbers were withheld, is never made.
    """
    period, year_starts = session.basis.period, _year_starts(session)
    years = {entry.period: entry for entry in those if entry.is_publication and "Q" not in entry.period}
    first = next(iter(years), period)
    before = [periods.shifted(period, -back) for back in range(BLOCK_YEARS - 1, 0, -1)]
    if (int(period[:4]) - int(first[:4])) % BLOCK_YEARS != BLOCK_YEARS - 1 or not set(before) <= set(years):
        return {}
    k = session.basis.settings.publish.withheld_up_to
    now = what.definitions
    harms = [measure.name for measure in wanted.rare_harms(what.measures)]
    if any(int(years[year].said["k"]) != k for year in before):
        return {}  # what was promised less cannot be promised more of afterwards, nor what was promised more be kept
    if any(years[year].said["definitions"].get(name) != now[name] for year in before for name in harms):
        return {}
    frozen: dict[str, dict[str, Counts]] = {}
    for year in before:
        of_year = {
            quarter: frozen_before(session, those, quarter) for quarter in periods.quarters_of(year, year_starts)
        }
        frozen[year] = {quarter: counts for quarter, counts in of_year.items() if counts is not None}
    return frozen


def _year_starts(session: Session) -> int:
    return session.basis.settings.year_starts
