"""Numbers into sentences: every figure of an edition is worded here and nowhere else.

Comes in: a Result or a Change, and the measure it belongs to. Goes out: plain text. Refuses: to print a share without
the counts behind it, or to say why a figure is what it is.
"""

from __future__ import annotations

import functools
from collections.abc import Mapping
from datetime import date, timedelta
from decimal import ROUND_HALF_UP, Decimal

from pipeline.contracts.measure_files import (
    DAYS,
    NOTED,
    PROPORTION,
    REPORTED_DAY,
    SHARES,
    TIME_TO_EVENT,
    Measure,
)
from pipeline.outcomes.lookup import Result
from pipeline.report.words.dates import day_label
from pipeline.statistics.proportions import ODDS_RATIOS, clopper_pearson, sensitivity

SMALL = 10  # fewer known than this, and the page says in words that the number is small
PRECISE = 1000  # from so many known on, a tenth of a percentage point means something and is shown
NO_FIGURE = "no figure"


def counted(number: int, one: str) -> str:
    """`1 case`, `12 cases`, `no cases`."""
    return f"{number or 'no'} {one if number == 1 else one + 's'}"


def only_seen(requests_held: Mapping[str, bool]) -> str:
    """Said of requests where a source (its name; "" in the layout) tells of no family never seen; "" where all do."""
    without = [f" of {source}" if source else " in the layout" for source, held in requests_held.items() if not held]
    if not without:
        return ""
    which = " or".join(without) if any(requests_held.values()) else ""
    return f"No export{which} says who asked and was never seen: those families are not in this figure"


def or_not_recorded(written: str | None) -> str:
    """A text of the records, or that there is none."""
    return written or "not recorded"


def rounded(number: float, places: int = 0) -> str:
    """Half up, from the number's own shortest decimal form: binary halves would round 28.5% down."""
    step = Decimal(1).scaleb(-places)
    text = str(Decimal(str(number)).quantize(step, rounding=ROUND_HALF_UP))
    return "0" if float(text) == 0 else text


def points(share: float, known: int = 0) -> str:
    """A fraction in hundredths: `58`, or `44.1` where very many are known."""
    return _hundredths(share, 1 if known >= PRECISE else 0)


@functools.lru_cache(maxsize=1 << 15)  # the pages print the same few thousand shares again and again
def _hundredths(share: float, places: int) -> str:
    return rounded(float(Decimal(str(share)) * 100), places)


def percent(share: float, known: int = 0) -> str:
    """`58%`; what is above nought or below all never prints as 0% or 100%."""
    written = points(share, known)
    if float(written) == 0 and share > 0:
        return "under 0.1%" if known >= PRECISE else "under 1%"
    if float(written) == 100 and share < 1:
        return "over 99.9%" if known >= PRECISE else "over 99%"
    return f"{written}%"


def interval(lower: float, upper: float, known: int = 0) -> str:
    """`42 to 73%`; with a decimal where that would have no width, and one figure where it has none."""
    low, high = points(lower, known), points(upper, known)
    if low == high:
        low, high = (_hundredths(end, 1) for end in (lower, upper))
    return f"{low}%" if low == high else f"{low} to {high}%"


def share_set(share: float) -> str:
    """A share somebody chose, as chosen: `90%`, `92.5%`."""
    return _hundredths(share, 1).removesuffix(".0") + "%"


def days(number: float) -> str:
    """`15`, `15.5`: quartiles may fall between two days."""
    return rounded(number, 1).removesuffix(".0")


def days_long(number: float) -> str:
    """`1 day`, `15.5 days`."""
    return f"{days(number)} day" + ("" if number == 1 else "s")


def figure(measure: Measure, result: Result | None, nobody: str) -> str:
    """The figure in full. `nobody` is the word for several of the measure's grain, as in `no cases to count`."""
    if result is None or result.eligible == 0:
        return none_known(result, nobody)
    return {PROPORTION: _share, NOTED: _noted, DAYS: _median, TIME_TO_EVENT: _wait}[measure.kind](measure, result)


def none_known(result: Result | None, nobody: str) -> str:
    """The same where nothing is known of any; of harm too, for what nobody asked about was not noted after none."""
    if result is None or result.eligible == 0:
        return f"No {nobody} to count, so {NO_FIGURE}"
    return f"None of {result.eligible} known, so {NO_FIGURE}; {result.unknown} not known"


def _share(measure: Measure, result: Result) -> str:
    if result.value is None or result.lower is None or result.upper is None:
        return none_known(result, "")
    return (
        f"{result.met:,} of {result.known:,} whose answer we know ({percent(result.value, result.known)}, "
        f"{_intervals(measure, result)}); {result.unknown:,} not known"
    )


def _noted(measure: Measure, result: Result) -> str:
    return (
        f"Noted after {result.met:,} of {result.eligible:,} ({percent(result.value or 0, result.eligible)}, "
        f"{_intervals(measure, result)}); heard from {heard_from(result)}"
    )


def _intervals(measure: Measure, result: Result) -> str:
    exact = ""
    if measure.exact and result.met is not None:
        low, high = clopper_pearson(result.met, result.of)
        exact = f"; exact interval {interval(float(low), float(high), result.of)}"
    return f"95% interval {interval(result.lower or 0, result.upper or 0, result.of)}{exact}"


def heard_from(result: Result) -> str:
    """Of how many a no would be known too: `30 of 40 (75%)`."""
    return f"{result.known:,} of {result.eligible:,} ({percent(result.known / result.eligible, result.eligible)})"


def _median(_: Measure, result: Result) -> str:
    if result.value is None or result.lower is None or result.upper is None:
        return f"Of {result.eligible} there is {NO_FIGURE}"
    if result.eligible == 1:
        return f"Only one: {days_long(result.value)} old"
    return (
        f"Of {result.eligible}, at least half were {days_long(result.value)} old or younger; "
        f"the middle half {middle_half(result)}"
    )


def middle_half(result: Result) -> str:
    """`11 to 22 days`; `all 5 days` where it has no width; empty where there is none."""
    if result.lower is None or result.upper is None:
        return ""
    low, high = days(result.lower), days_long(result.upper)
    return f"all {high}" if low == days(result.upper) else f"{low} to {high}"


def _wait(measure: Measure, result: Result) -> str:
    """Where every wait stood on the reported day, in the measure's own words, and the share read off the curve."""
    who, had, ended, waiting = measure.in_a_sentence
    met, left = result.met or 0, result.known - (result.met or 0)
    rest = f"{left:,} not by then"
    if result.ended is not None:
        rest = f"{result.ended:,} {ended}, {left - result.ended:,} {waiting}"
    words = (
        f"Of {result.eligible:,} {who}, {met:,} {had} within {REPORTED_DAY} days, {rest}, "
        f"{result.unknown:,} not known: "
    )
    if result.value is None:
        return f"{words}too early for a share, since nobody was watched that long"
    limits = "no interval can be worked out"
    if result.lower is not None and result.upper is not None:
        limits = f"95% interval {interval(result.lower, result.upper)}"
    return f"{words}{percent(result.value)}, {limits}"


def of_all_due(measure: Measure, result: Result | None) -> str:
    """The share of all eligible, beside that of the known, where official figures are of either."""
    if not measure.all_due or result is None or not result.eligible or result.met is None:
        return ""
    share = percent(result.met / result.eligible, result.eligible)
    return f"Of all {result.eligible:,} due, {result.met:,} ({share}) are known to be so"


def changed_definition(measure: Measure, cut_off: date) -> str:
    """That the definition changed, for a year; empty elsewhere."""
    if measure.changed is None or cut_off >= measure.changed[0] + timedelta(days=365):
        return ""
    day, what = measure.changed
    if what.startswith("New"):
        return f"New on {day_label(day)}{what[3:].removesuffix('.')}"
    return f"Changed definition, {day_label(day)}: {what.removesuffix('.')}"


def bounds(result: Result | None) -> str:
    """Where the share must lie whatever the unknown answers are; empty where nothing is unknown."""
    if result is None or not result.unknown or result.bound_low is None or result.bound_high is None:
        return ""
    low, high = (percent(bound, result.known) for bound in (result.bound_low, result.bound_high))
    return f"Between {low} and {high} whatever the unknown answers are"


def small(measure: Measure, result: Result | None) -> str:
    """Say so where fewer than ten are known; empty elsewhere."""
    if result is None or not 0 < result.known < SMALL:
        return ""
    kept = {DAYS: "", NOTED: " heard from"}.get(measure.kind, " known")
    return f"Only {result.known}{kept}: a small number, so the figure can move a good deal by chance"


def if_unknown_differ(measure: Measure, result: Result | None) -> str:
    """The share if the odds of yes among the unknown were a quarter, half, twice, four times those among the known."""
    if measure.kind != PROPORTION or result is None or not result.unknown:
        return ""
    # A multiple of no odds says nothing (statistics.proportions.sensitivity), and the bounds are what to read then.
    if not result.met or result.met == result.known:
        return ""
    shares = [percent(float(share)) for share in sensitivity(result.met, result.known, result.eligible, ODDS_RATIOS)]
    return (
        f"If the unknown had a quarter of the odds of the known, the share of everyone would be {shares[0]}; with "
        f"half the odds {shares[1]}, with the same {shares[2]}, with twice {shares[3]}, with four times {shares[4]}."
    )


def short(measure: Measure, result: Result | None) -> str:
    """The figure for one cell of a table, with its count: `21 of 36 (58%)`."""
    if result is None or result.eligible == 0:
        return "none to count"
    if measure.kind in SHARES:
        share = "" if result.value is None else f" ({percent(result.value, result.of)})"
        return f"{result.met} of {result.of}{share}"
    if result.value is None:
        return "too early" if measure.kind == TIME_TO_EVENT else NO_FIGURE
    if measure.kind == DAYS:
        return f"{days_long(result.value)} (of {result.eligible})"
    return f"{percent(result.value)} (of {result.eligible})"


def with_interval(measure: Measure, result: Result | None) -> str:
    """The same with its 95% interval, of days with the middle half: `21 of 36 (58%, 42 to 73%)`."""
    written = short(measure, result)
    if result is None or result.lower is None or result.upper is None:
        return written
    if measure.kind == DAYS:
        return f"{written}, the middle half {days(result.lower)} to {days(result.upper)}"
    limits = interval(result.lower, result.upper, result.of)
    if measure.kind == TIME_TO_EVENT:
        return f"{written}, {limits}"
    return f"{written.removesuffix(')')}, {limits})"
