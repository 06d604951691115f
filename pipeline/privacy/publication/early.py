"""What stands in the way of a release before anything is chosen; each with what to do.

Comes in: the ledger, the period, the settings, what the store holds. Refuses: a period released already or whose year
is, a quarter where quarters are not published, follow-up that is not complete, a ledger of another store, a category or
definition or a K that changed since a quarter of the year was released, a release that nobody approved.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from datetime import date, timedelta

from pipeline.errors import Fault, Refused
from pipeline.privacy.publication.frozen_counts import Counts, missing_levels
from pipeline.privacy.publication.ledger import PRIVATE, Entry


def see_that_it_is_approved(approved_by: str) -> None:
    """Raise Refused where nobody is named."""
    if not approved_by.strip():
        mend = 'name who approved it, by role: --approved-by "head of infant feeding"'
        raise Refused(Fault("--approved-by", "nobody", "the role of whoever approves the release", mend))


def see_that_it_may_be(period: str, is_quarter: bool, year: str, quarterly: bool, those: Sequence[Entry]) -> None:
    """Of the ledger and the settings. Raises Refused."""
    faults = []
    done = {entry.period for entry in those if entry.is_publication}
    if period in done:
        found = f"{period} is published already, and a release is never made again: late records stay out of it"
        faults.append(Fault("PERIOD", found, "a period that was never published", "publish the next one"))
    if is_quarter and not quarterly:
        mend = "publish the year; or set quarterly = true in [publish] of audit.toml, once the service has decided it"
        faults.append(Fault("PERIOD", f"{period} is a quarter", "a year: quarters are not published", mend))
    if is_quarter and year in done:
        found = (
            f"the year {year} is published already; with a quarter beside it the rest of the year could be worked out"
        )
        faults.append(Fault("PERIOD", found, "a quarter of a year that is not out yet", "publish a later one"))
    if faults:
        raise Refused(faults)


def see_that_it_was_followed(period: str, last_day: date, days: int, until: date | None) -> None:
    """Raise Refused where not everyone of the period was followed for as long as the measures ask."""
    wanted = last_day + timedelta(days=days)
    if until is None:
        mend = "ask for a period of which there are records"
        raise Refused(Fault("PERIOD", f"{period}: no case is counted in it", "a period with cases", mend))
    if until < wanted:
        found = f"{period} is known up to {until}, and its follow-up ends {days} days after its last day, on {wanted}"
        mend = f"load an export of every source drawn on {wanted} or later, then publish"
        raise Refused(Fault("PERIOD", found, "a period whose follow-up is complete in every source", mend))


def see_that_it_is_of_the_store(those: Sequence[Entry], loads: Mapping[int, str]) -> None:
    """Raise Refused where a release rests on a load that the store does not have."""
    faults = []
    for entry in those:
        for load, fingerprint in entry.said.get("loads", {}).items():
            if loads.get(int(load)) != fingerprint:
                where, found = f"{PRIVATE}/{entry.number:04}.json", f"load {load} is not the one of this store"
                mend = "use the folder in which the release was made, whole: store.duckdb and releases belong together"
                faults.append(Fault(where, found, "the store that the releases were made from", mend))
    if faults:
        raise Refused(faults)


def see_that_nothing_was_renamed(
    year: str, frozen: Mapping[str, Counts], now: Mapping[str, Counts], breakdowns: Collection[str]
) -> None:
    """Raise Refused where a level of a frozen quarter has gone from the records and another has come."""
    faults = []
    for quarter in frozen:
        for breakdown, level, new in missing_levels(frozen[quarter], now[quarter], breakdowns):
            found = f"{level!r} was a {breakdown} when {quarter} was frozen and is none now"
            found += f"; new since: {', '.join(map(repr, new))}" if new else ""
            mend = f"read it as before (codes in the mapping) until {year} is published; a year keeps its categories"
            faults.append(Fault(breakdown, found, f"the categories of {quarter}", mend))
    if faults:
        raise Refused(faults)


def see_that_definitions_stand(
    year: str, quarters: Collection[str], those: Sequence[Entry], now: Mapping[str, str]
) -> None:
    """Raise Refused where a measure is defined otherwise than when a quarter of the year was frozen."""
    faults = []
    for entry in those:
        if entry.is_publication and entry.period in quarters:
            before = entry.said["definitions"]
            for name in sorted(now):
                if name in before and before[name] != now[name]:
                    found = f"its definition is not that of {entry.period}, which is published"
                    mend = f"publish {year} with the definitions of then, or wait for the next year"
                    faults.append(Fault(name, found, "one definition within a year", mend))
    if faults:
        raise Refused(faults)


def see_that_as_much_is_withheld(period: str, quarters: Collection[str], those: Sequence[Entry], k: int) -> None:
    """Raise Refused where a quarter of the year was released with another K: one of the two promises would not hold."""
    faults = [
        Fault(
            "audit.toml, [publish] withheld_up_to",
            f"it is {k}, and {entry.period} was published when it was {entry.said['k']}",
            f"one number for {period} and its quarters",
            f"set it to {entry.said['k']} until {period} is out; raise or lower it for the year after",
        )
        for entry in those
        if entry.is_publication and entry.period in quarters and entry.said["k"] != k
    ]
    if faults:
        raise Refused(faults)
