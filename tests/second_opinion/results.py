"""From rows to results.csv, by_practitioner.csv and waits.csv.

In: subjects and settings. Out: lists of dicts with the contract's columns. Statistics: Wilson, quartiles of type 7, and
the curve of waiting.py.
"""

import math
from datetime import date

from .facts import Case, plus
from .measures import DAYS, MEASURES, NOTED, WAIT, answer, rows_of
from .waiting import Z, curve, is_defined

RESULT_COLUMNS = (
    "measure",
    "kind",
    "period",
    "breakdown",
    "level",
    "eligible",
    "known",
    "met",
    "unknown",
    "value",
    "lower",
    "upper",
    "bound_low",
    "bound_high",
    "method",
    "complete",
)
WAIT_COLUMNS = (
    "measure",
    "period",
    "breakdown",
    "level",
    "day",
    "at_risk",
    "events",
    "competing",
    "censored",
    "incidence",
    "lower",
    "upper",
)
NOT_RECORDED = "not_recorded"


# ---------------------------------------------------------------- breakdowns


def plain(column):
    """A breakdown that is a column as it stands, of cases and of requests that have it."""
    return lambda row: row.subject.row[column] or NOT_RECORDED


def of_case(column):
    """A breakdown that is a column of cases; not recorded of a request."""
    return lambda row: (isinstance(row.subject, Case) and row.subject.row[column]) or NOT_RECORDED


def practitioner(row):
    if row.division:
        return row.division.operator
    return row.subject.lead if isinstance(row.subject, Case) else NOT_RECORDED


def tie_type(row):
    if row.division:
        return row.division.tie_type_then
    return row.subject.tie_type if isinstance(row.subject, Case) else NOT_RECORDED


def deprivation_fifth(row):
    decile = row.subject.row["deprivation_decile"]
    return str((decile + 1) // 2) if decile else NOT_RECORDED


def age_band(row):
    if not isinstance(row.subject, Case):
        return NOT_RECORDED
    age = row.subject.row["age_days"]
    return "0-6" if age <= 6 else "7-13" if age <= 13 else "14-27" if age <= 27 else "28+"


def gestation(row):
    weeks = row.subject.row["gestation_weeks"] if isinstance(row.subject, Case) else None
    return NOT_RECORDED if weeks is None else "under_37" if weeks < 37 else "37_or_more"


def divided_before(row):
    if not isinstance(row.subject, Case):
        return NOT_RECORDED
    return "yes" if row.subject.divided_before else "no"


def route(row):
    return row.subject.route if isinstance(row.subject, Case) else NOT_RECORDED


BREAKDOWNS = {
    "all": lambda row: "all",
    "site": plain("site"),
    "practitioner": practitioner,
    "tie_type": tie_type,
    "deprivation_fifth": deprivation_fifth,
    "ethnic_group": plain("ethnic_group"),
    "sex": of_case("sex"),
    "first_baby": of_case("first_baby"),
    "age_band": age_band,
    "gestation": gestation,
    "referral_source": plain("referral_source"),
    "interpreter_needed": plain("interpreter_needed"),
    "multiple_birth": of_case("multiple_birth"),
    "divided_before": divided_before,
    "feeding_at_first_contact": of_case("feeding_at_first_contact"),
    "route": route,
}


# ---------------------------------------------------------------- periods


def period_of(day, kind, settings):
    """The period of a day: its first day, which sorts and names it."""
    if kind == "quarters":
        return date(day.year, (day.month - 1) // 3 * 3 + 1, 1)
    return date(day.year - (day.month < settings.year_starts), settings.year_starts, 1)


def next_period(first, kind):
    months = first.month - 1 + (3 if kind == "quarters" else 12)
    return date(first.year + months // 12, months % 12 + 1, 1)


def period_name(first, kind):
    if kind == "quarters":
        return f"{first.year}Q{(first.month + 2) // 3}"
    return f"{first.year}-{(first.year + 1) % 100:02d}"


def periods_between(first, last, kind):
    periods = [first]
    while periods[-1] < last:
        periods.append(next_period(periods[-1], kind))
    return periods


# ---------------------------------------------------------------- figures


def wilson(count, size):
    """Wilson 95% limits, clamped; (None, None) of nobody."""
    if not size:
        return None, None
    share, square = count / size, Z * Z
    centre = (share + square / (2 * size)) / (1 + square / size)
    half = Z * math.sqrt(share * (1 - share) / size + square / (4 * size * size)) / (1 + square / size)
    return (0.0 if count == 0 else max(0.0, centre - half)), (1.0 if count == size else min(1.0, centre + half))


def quantile(ordered, share):
    """Linear interpolation, type 7."""
    place = (len(ordered) - 1) * share
    below = int(place)
    above = min(below + 1, len(ordered) - 1)
    return ordered[below] + (place - below) * (ordered[above] - ordered[below])


def share(count, size):
    return count / size if size else None


def figures(measure, rows):
    """The figures of one line of results, by the measure's kind."""
    eligible = len(rows)
    if measure.kind == DAYS:
        ordered = sorted(row.days for row in rows)
        quartiles = [quantile(ordered, part) for part in (0.5, 0.25, 0.75)] if ordered else [None] * 3
        return {
            "eligible": eligible,
            "known": eligible,
            "value": quartiles[0],
            "lower": quartiles[1],
            "upper": quartiles[2],
            "method": "quartiles_type_7",
        }
    answers = [answer(measure, row) for row in rows]
    met, unknown = answers.count("yes"), answers.count("unknown")
    line = {"eligible": eligible, "known": eligible - unknown, "met": met, "unknown": unknown}
    if measure.kind == WAIT:
        return {**line, **wait_figures(rows)}
    size = eligible if measure.kind == NOTED else eligible - unknown
    lower, upper = wilson(met, size)
    return {
        **line,
        "value": share(met, size),
        "lower": lower,
        "upper": upper,
        "bound_low": share(met, eligible),
        "bound_high": share(met + unknown, eligible),
        "method": "wilson",
    }


def wait_figures(rows):
    """The share with event 1 by day 28 and its limits; empty where it cannot be said."""
    line = curve(rows, 28)[28]
    if not is_defined(line):
        return {"method": "cumulative_incidence"}
    return {
        "value": line["incidence"],
        "lower": line["lower"],
        "upper": line["upper"],
        "method": "cumulative_incidence",
    }


# ---------------------------------------------------------------- the files


def all_rows(subjects, settings):
    """{measure name: its rows}."""
    return {measure.name: rows_of(measure, subjects, settings) for measure in MEASURES}


def group_rows(measure, rows, kind, settings, periods):
    """{(first day of period, breakdown, level): rows}; `all` has a group in every period."""
    groups = {(first, "all", "all"): [] for first in periods}
    for row in rows:
        first = period_of(row.index_date, kind, settings)
        if first > periods[-1]:
            continue
        for breakdown, level in BREAKDOWNS.items():
            asked = {"route": measure.by_route, "feeding_at_first_contact": measure.by_feeding}
            if asked.get(breakdown, True):
                groups.setdefault((first, breakdown, level(row)), []).append(row)
    return groups


def report_periods(rows, cutoff, kind, settings, reported=None):
    """First days of the periods from the first with an eligible row of any measure to the reported one."""
    last = reported or period_of(cutoff, kind, settings)
    starts = [period_of(row.index_date, kind, settings) for some in rows.values() for row in some]
    return periods_between(min(starts + [last]), last, kind)


def make_results(subjects, settings, kind="quarters", reported=None):
    """(results lines, by-practitioner lines, waits lines), each sorted as the contract says.

    reported: first day of the reported period; the period of the newest cut-off if not given.
    """
    rows = all_rows(subjects, settings)
    cutoff = max(subject.cutoff for subject in subjects)
    periods = report_periods(rows, cutoff, kind, settings, reported)
    results, by_practitioner, waits = [], [], []
    for measure in MEASURES:
        horizon = settings.seen_promptly_days if measure.horizon is None else measure.horizon
        groups = group_rows(measure, rows[measure.name], kind, settings, periods)
        for (first, breakdown, level), group in groups.items():
            ends = plus(next_period(first, kind), -1)
            key = {"measure": measure.name, "period": period_name(first, kind), "breakdown": breakdown, "level": level}
            line = {
                **key,
                "kind": measure.kind,
                **figures(measure, group),
                "complete": "yes" if plus(ends, horizon) <= cutoff else "no",
            }
            (by_practitioner if breakdown == "practitioner" else results).append(line)
            if measure.kind == WAIT and breakdown != "practitioner":
                waits += [{**key, **day} for day in curve(group) if day["at_risk"]]

    def order(line):
        return line["measure"], line["period"], line["breakdown"], line["level"], line.get("day", 0)

    return sorted(results, key=order), sorted(by_practitioner, key=order), sorted(waits, key=order)
