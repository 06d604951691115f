"""The curve of a wait: at risk, events, incidence of event 1 with a competing event, and its interval.

In: rows of a wait as (days, event). Out: one line a day. Formulae: statistics.md (variance of the cumulative incidence,
limits on log(-log(1-F)), exact limits at 0 and 1).
"""

import math
from collections import Counter

from .measures import CENSORED, COMPETING, EVENT, LONGEST, NEVER_AT_RISK

Z = 1.959963984540054
TINY = 1e-12


def day_lines(rows, last):
    """One dict a day 0 to the last: at_risk (time >= day), events, competing, censored. Never at risk: on no day."""
    watched = Counter((row.days, row.event) for row in rows if row.event != NEVER_AT_RISK)
    at_risk = watched.total()
    lines = []
    for day in range(last + 1):
        events, competing, censored = (watched[day, ended] for ended in (EVENT, COMPETING, CENSORED))
        lines.append({"day": day, "at_risk": at_risk, "events": events, "competing": competing, "censored": censored})
        at_risk -= events + competing + censored
    return lines


def add_incidence(lines):
    """Adds to every day the incidence of event 1, what is still waiting after it, and the interval."""
    waiting, incidence, ended = 1.0, 0.0, 0
    happened = []
    for line in lines:
        line["waiting_before"] = waiting
        line["ended_before"] = ended
        both = line["events"] + line["competing"]
        if line["at_risk"]:
            incidence += waiting * line["events"] / line["at_risk"]
            waiting *= 1 - both / line["at_risk"]
        ended += both
        line["incidence"], line["waiting"] = incidence, waiting
        line["lower"], line["upper"] = limits([*happened, line])
        happened += [line] if both else []
    return lines


def variance(lines):
    """Variance of the incidence at the last of the lines, summed over the days up to it (those with an event)."""
    final, total = lines[-1]["incidence"], 0.0
    for line in lines:
        at_risk, cause, both = line["at_risk"], line["events"], line["events"] + line["competing"]
        if not both:
            continue
        gap, before = final - line["incidence"], line["waiting_before"]
        if at_risk > both:
            total += gap * gap * both / (at_risk * (at_risk - both))
        total += before * before * (at_risk - cause) * cause / at_risk**3
        total -= 2 * gap * before * cause / at_risk**2
    return total


def limits(lines):
    """Lower and upper limit of the incidence at the last of the lines; (None, None) where it cannot be said."""
    last = lines[-1]
    share = last["incidence"]
    if share < TINY or share > 1 - TINY:
        weight = last["at_risk"] + last["ended_before"]
        if not weight:
            return None, None
        bound = 0.025 ** (1 / weight)
        return (0.0, 1 - bound) if share < TINY else (bound, 1.0)
    spread = Z * math.sqrt(max(variance(lines), 0.0)) / ((1 - share) * abs(math.log(1 - share)))
    centre = math.log(-math.log(1 - share))
    return 1 - math.exp(-math.exp(centre - spread)), 1 - math.exp(-math.exp(centre + spread))


def curve(rows, last=LONGEST):
    """Every day of the wait, 0 to 84 or to the last that is asked."""
    return add_incidence(day_lines(rows, last))


def is_defined(line):
    """A day's incidence can be said: somebody was at risk on it, or the curve had ended by events."""
    return line["at_risk"] > 0 or line["waiting"] < TINY
