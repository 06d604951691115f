"""What a chart over time says, in plain words: what is usual, what is further from it than chance, how sure that is.

Comes in: a measure and its months, judged. Goes out: sentences without their full stop. Refuses: to say why anything
changed, or to name a rule by a code.
"""

from __future__ import annotations

from datetime import date

from pipeline.contracts.measure_files import NOTED, Measure
from pipeline.judgement.months import ABOVE, BELOW, Lasting, Monthly
from pipeline.judgement.rare_harm import RareHarm, Watched
from pipeline.report.words.dates import month_label
from pipeline.report.words.sentences import counted, percent, share_set
from pipeline.statistics.proportions import clopper_pearson
from pipeline.statistics.run_rules import LEAST_POINTS

YEAR = 366  # days for which three close together are said
NAMED = 4  # months named one by one
_WAY = {ABOVE: "higher", BELOW: "lower"}


def over_time(measure: Measure, monthly: Monthly) -> tuple[str, ...]:
    """Everything said under a chart over time; one sentence where it is too early for more."""
    if monthly.baseline is None:
        return (too_early(monthly),)
    said = [_usual(measure, monthly, monthly.baseline), _step(monthly), *_outside(monthly), *_runs(monthly)]
    if monthly.lasting is not None:
        said.append(_lasting(measure, monthly.lasting))
    in_so_many = round(1 / max(monthly.by_chance, 0.001))
    if monthly.outside or _runs(monthly) or monthly.lasting is not None:
        said.append(f"By chance about 1 such chart in {in_so_many} says as much")
    elif monthly.by_chance:  # none, or all, so far: there are no limits, and nothing was judged
        said[0] += (
            f"; no month or run of months is further off than chance gives"
            f" (by chance about 1 such chart in {in_so_many} says otherwise)"
        )
    return tuple(sentence for sentence in said if sentence)


def too_early(monthly: Monthly) -> str:
    """How many months there are, and how many there must be."""
    months = counted(monthly.useful, "month")
    since = f" since {month_label(monthly.step[0])} ({monthly.step[1]})" if monthly.step else " whose answers are due"
    return (
        f"There are {months}{since}: too early to say month by month what is usual and what is not;"
        f" from {LEAST_POINTS} on the chart does"
    )


def _usual(measure: Measure, monthly: Monthly, baseline: tuple[str, str]) -> str:
    here = [at for at, month in enumerate(monthly.months) if baseline[0] <= month <= baseline[1]]
    met, of = int(monthly.met[here].sum()), int(monthly.of[here].sum())
    first, last = (month_label(month) for month in baseline)
    whose = "in all" if measure.kind == NOTED else "known"
    usual = f"Month by month, usual is {percent(met / of, of)} ({met} of {of} {whose}, {first} to {last})"
    if measure.kind == NOTED and not met:
        upper = float(clopper_pearson(met, of)[1])
        usual += f"; none of so many is compatible with up to {percent(upper, of)}"
    return usual


def _step(monthly: Monthly) -> str:
    if monthly.step is None:
        return ""
    return f"What is usual is taken afresh from {month_label(monthly.step[0])} on: {monthly.step[1].rstrip('.')}"


def _outside(monthly: Monthly) -> list[str]:
    said = []
    for way in (BELOW, ABOVE):
        places = [at for at, which in monthly.outside if which == way]
        if places:
            named = [f"{month_label(monthly.months[at])} ({_count(monthly, at)})" for at in places[-NAMED:]]
            more = f", and {counted(len(places) - NAMED, 'month')} before," if len(places) > NAMED else ""
            verb = "is" if len(places) == 1 else "are"
            said.append(f"{', '.join(named)}{more} {verb} {_WAY[way]} than chance would take a month")
    return said


def _count(monthly: Monthly, at: int) -> str:
    return f"{int(monthly.met[at])} of {int(monthly.of[at])}"


def _runs(monthly: Monthly) -> list[str]:
    runs = monthly.runs
    if runs is None or not runs.signal:
        return []
    if runs.longest > runs.longest_allowed:
        return [f"{runs.longest} months in a row lie on one side of the usual: more than chance gives"]
    return [f"The months cross the usual {counted(runs.crossings, 'time')}: more seldom than chance gives"]


def _lasting(measure: Measure, lasting: Lasting) -> str:
    # A shorter wait is a larger share within 28 days.
    good = {"higher": ABOVE, "shorter": ABOVE, "lower": BELOW}.get(measure.better)
    meaning = "" if good is None else f", which is {'better' if lasting.way == good else 'worse'}"
    since = month_label(lasting.since)
    return f"Since about {since} it has been {_WAY[lasting.way]} than usual for longer than chance gives{meaning}"


def rare_harm(harm: RareHarm, one: str, several: str, last: date) -> tuple[str, ...]:
    """What the order of the cases says of a harm; `one` and `several`: what a case is called."""
    if not harm.cases:
        return ()
    if harm.since_last is None:
        said = [f"None noted in all {harm.cases} {several if harm.cases > 1 else one}"]
    else:
        said = [f"Since the last that was noted: {harm.since_last or 'no'} {one if harm.since_last == 1 else several}"]
    if harm.third_close is not None and (last - harm.third_close).days < YEAR:
        month = month_label(f"{harm.third_close:%Y-%m}")
        said.append(f"Three were noted within nine {several} or fewer, the third in {month}: look at each of them")
    if harm.watched is not None:
        said.append(_watched(harm.watched))
    return tuple(said)


def _watched(watched: Watched) -> str:
    accepted = f"the accepted {share_set(watched.accepted)}"
    how = (
        f"(by chance alone it does so about once in {round(watched.false_alarm_months / 12)} years; doubled odds it"
        f" finds after about {max(round(watched.found_after_months), 1)} months)"
    )
    if watched.passed is None:
        return f"The running sum against {accepted} stands at {watched.now}, and warns from {watched.limit} on {how}"
    month = month_label(f"{watched.passed:%Y-%m}")
    return f"The running sum against {accepted} has warned since {month}: more are noted than are accepted {how}"
