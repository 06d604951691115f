"""What a measure file declares about itself, read and held to a closed list.

Comes in: the files of sql/measures, sql/breakdowns.sql and sql/apart. Goes out: frozen descriptions with the SQL.
Refuses: a missing or unknown front-matter key, a value outside its list, a second statement; every refusal names
file and line.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Collection
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TypeVar

from pipeline.contracts.places import SQL
from pipeline.contracts.sql_file import read_sql_file
from pipeline.errors import Fault, Refused
from pipeline.settings import Settings

T = TypeVar("T")

BREAKDOWNS = SQL / "breakdowns.sql"
_ONLY_WHERE_ASKED, _FOR_EQUITY = "(only where asked)", "(for equity)"

PROPORTION, DAYS, TIME_TO_EVENT = "proportion", "days", "time_to_event"
REPORTED_DAY = 28  # a wait is summed up by the share with the event by this day
FOLLOWED_DAYS = 84  # how long a wait is followed (measures.md)

# The columns of results.csv and waits.csv, in their order.
GROUP = ("measure", "quarter", "breakdown", "level")
RESULT_COLUMNS = (
    *("measure", "kind", "quarter", "breakdown", "level", "eligible", "known", "met", "unknown"),
    *("value", "lower", "upper", "bound_low", "bound_high", "method", "complete"),
)
WAIT_COLUMNS = (*GROUP, "day", "at_risk", "events", "competing", "censored", "incidence", "lower", "upper")


@dataclass(frozen=True)
class Measure:
    """One measure: one file of sql/measures. The texts are for readers; `sql` is the file's one SELECT."""

    name: str
    title: str
    question: str
    section: str
    kind: str  # proportion, days or time_to_event
    eligible: str
    met: str  # for time_to_event: the event waited for; for days: what is measured
    unknown: str  # for time_to_event: also says what the competing event is
    better: str  # higher, lower, shorter or none
    grain: str  # case, referral or procedure
    source: str
    counted_on: str  # the index date in words: which day puts a row in its quarter
    horizon: int  # days after the index date that eligibility waits for
    also_by: tuple[str, ...]  # breakdowns that are not for every measure, here wanted (route)
    exact: bool  # the page shows the exact (Clopper-Pearson) interval too: rare events
    path: Path
    sql: str


@dataclass(frozen=True)
class Breakdown:
    """One way to split a measure: one column of sql/breakdowns.sql. `for_every_measure` is False for route."""

    name: str
    title: str
    for_every_measure: bool
    for_equity: bool = False  # the primary measures are shown by it side by side: who is served less well?


@dataclass(frozen=True)
class Apart:
    """A group counted beside a measure because it is not in it (or is a part worth showing): one file of sql/apart."""

    name: str
    title: str
    measure: str
    path: Path
    sql: str


_CHOICES = {
    "kind": (PROPORTION, DAYS, TIME_TO_EVENT),
    "better": ("higher", "lower", "shorter", "none"),
    "grain": ("case", "referral", "procedure"),
    "exact": ("yes", "no"),
}
MUST = ("title", "question", "section", "kind", "eligible", "met", "unknown", "better", "grain", "source")
MAY = ("horizon", "counted_on", "also_by", "exact")


def measures(folder: Path = SQL / "measures") -> tuple[Measure, ...]:
    """Every measure, by name. The folder is the list. Raises Refused with the faults of all files."""
    return _all(folder, _measure)


def aparts(folder: Path = SQL / "apart", known: Collection[str] | None = None) -> tuple[Apart, ...]:
    """Every group counted apart, by name; `known` are the measures there are."""
    names = {measure.name for measure in measures()} if known is None else set(known)
    return _all(folder, lambda path: _apart(path, names))


def breakdowns() -> tuple[Breakdown, ...]:
    """The columns of sql/breakdowns.sql, in the order in which they stand, by the comment behind each."""
    text = BREAKDOWNS.read_text(encoding="utf-8")
    found = re.findall(r'AS "?([a-z_]+)"?,? -- title: (.*)', text)
    return tuple(
        Breakdown(name, title.split(" (")[0].strip(), _ONLY_WHERE_ASKED not in title, _FOR_EQUITY in title)
        for name, title in found
    )


def worded(measure: Measure, settings: Settings) -> Measure:
    """The measure with the service's own numbers in its texts, where they say {seen_promptly_days}."""
    texts = {key: getattr(measure, key) for key in ("question", "eligible", "met", "unknown")}
    days = str(settings.seen_promptly_days)
    return replace(measure, **{key: text.replace("{seen_promptly_days}", days) for key, text in texts.items()})


def id_column(grain: str) -> str:
    """The column that tells the rows of a measure apart."""
    return {"case": "case_ref", "referral": "referral_id", "procedure": "procedure_id"}[grain]


def answer_columns(kind: str) -> tuple[str, ...]:
    """The columns in which a measure of that kind gives its answer."""
    return {PROPORTION: ("met",), DAYS: ("days",), TIME_TO_EVENT: ("days", "event")}[kind]


def _all(folder: Path, read: Callable[[Path], T]) -> tuple[T, ...]:
    found: list[T] = []
    faults: list[Fault] = []
    for path in sorted(folder.glob("*.sql")):
        try:
            found.append(read(path))
        except Refused as refused:
            faults += refused.faults
    if faults:
        raise Refused(faults)
    return tuple(found)


def _measure(path: Path) -> Measure:
    file = read_sql_file(path, MUST, MAY)
    keys = {"horizon": "0", "counted_on": "the measure's own date", "also_by": "", "exact": "no", **file.keys}
    faults = [
        Fault(file.at(key), f"{key}: {keys[key]}", "one of " + ", ".join(choices), "choose one of them")
        for key, choices in _CHOICES.items()
        if keys[key] not in choices
    ]
    if not keys["horizon"].isdigit():
        found = f"horizon: {keys['horizon']}"
        allowed = "the whole number of days after the index date that eligibility waits for"
        faults.append(Fault(file.at("horizon"), found, allowed, "write the number, 0 where it waits for nothing"))
    also_by = tuple(keys["also_by"].split())
    asked = {breakdown.name for breakdown in breakdowns() if not breakdown.for_every_measure}
    if not asked.issuperset(also_by):
        allowed = "breakdowns that are only where asked: " + ", ".join(sorted(asked))
        faults.append(
            Fault(file.at("also_by"), f"also_by: {keys['also_by']}", allowed, "correct or leave out the line")
        )
    if not re.fullmatch(r"[a-z][a-z0-9_]*", path.stem):
        mend = "rename the file"
        faults.append(Fault(file.at(), f"the name {path.stem}", "small letters, digits and underscores", mend))
    if faults:
        raise Refused(faults)
    texts = {key: keys[key] for key in ("title", "question", "section", "kind", "eligible", "met", "unknown", "better")}
    return Measure(
        name=path.stem, **texts, grain=keys["grain"], source=keys["source"],
        counted_on=keys["counted_on"], horizon=int(keys["horizon"]),
        also_by=also_by, exact=keys["exact"] == "yes", path=path, sql=file.sql,
    )  # fmt: skip


def _apart(path: Path, known: Collection[str]) -> Apart:
    file = read_sql_file(path, ("title", "measure"))
    if file.keys["measure"] not in known:
        raise Refused(
            Fault(
                file.at("measure"), file.keys["measure"], "the name of a measure", "name the measure it stands beside"
            )
        )
    return Apart(path.stem, file.keys["title"], file.keys["measure"], path, file.sql)
