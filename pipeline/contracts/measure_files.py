"""What a measure file declares about itself, read and held to a closed list.

Comes in: the files of sql/measures. Goes out: frozen descriptions with the SQL, and the contract of that.
Refuses: a missing or unknown front-matter key, a value outside its list, a second statement; every refusal names
file and line.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

from pipeline.contracts.breakdown_file import breakdowns
from pipeline.contracts.count_relations import Relation, faults_between, relations
from pipeline.contracts.grains import GRAINS, WITHIN_A_CASE
from pipeline.contracts.places import SQL
from pipeline.contracts.sql_contract import DAY, TEXT, YES_NO, Contract
from pipeline.contracts.sql_file import SqlFile, name_faults, read_folder, read_sql_file
from pipeline.errors import Fault, Refused

PROPORTION, NOTED, DAYS, TIME_TO_EVENT = "proportion", "noted", "days", "time_to_event"
SHARES = (
    PROPORTION,
    NOTED,
)  # kinds that answer yes or no: of those known, or noted of all, beside the share heard from
REPORTED_DAY = 28  # a wait is summed up by the share with the event by this day
FOLLOWED_DAYS = 84  # how long a wait is followed; the SQL of the waits calls it followed_days()

# The columns of results.csv and waits.csv, in their order.
GROUP = ("measure", "period", "breakdown", "level")
RESULT_COLUMNS = (
    *("measure", "kind", "period", "breakdown", "level", "eligible", "known", "met", "unknown"),
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
    kind: str  # proportion, noted, days or time_to_event
    eligible: str
    met: str  # for time_to_event: the event waited for; for days: what is measured
    unknown: str  # for time_to_event: also says what the competing event is
    better: str  # higher, lower, shorter or none
    grain: str  # case, request, referral or division
    source: str
    counted_on: str  # the index date in words: which day puts a row in its quarter
    horizon: int | None  # days after the index date that eligibility waits for; None until the setting says it
    also_by: tuple[str, ...]  # breakdowns that are not for every measure, here wanted (route)
    exact: bool  # the page shows the exact (Clopper-Pearson) interval too: rare events
    all_due: bool  # the page shows the share of all eligible too, as some official figures have it
    own_file: bool  # it stands on the page that a practitioner keeps
    changed: tuple[date, str] | None  # when its definition last changed, and how
    file: SqlFile
    in_a_sentence: tuple[str, ...] = ()  # of a wait: who waits, had the event, ended another way, waits on
    heard: tuple[str, ...] = ()  # who is known and who is not: `asked`, `not asked`; those are compared with each other
    published: str = "no"  # yes, with breakdowns; everyone: without; eligible: only how many there are; no
    inside: tuple[Relation, ...] = ()  # how its counts lie in those of others, for a release
    never: tuple[tuple[str, ...], ...] = ()  # breakdown and level in which, as it is defined, nobody can be


_REPORTED_DAY = "{reported_day}"  # in the texts of a wait
SEEN_PROMPTLY_DAYS = "{seen_promptly_days}"  # in the texts, or as the horizon: what the settings say

SHOWN = ("yes", "everyone")  # of `published`: those with figures of their own

_CHOICES = {
    "kind": (PROPORTION, NOTED, DAYS, TIME_TO_EVENT),
    "better": ("higher", "lower", "shorter", "none"),
    "grain": tuple(GRAINS),
    "exact": ("yes", "no"),
    "all_due": ("yes", "no"),
    "own_file": ("yes", "no"),
    "published": ("yes", "everyone", "eligible", "no"),
}
MUST = ("title", "question", "section", "kind", "eligible", "met", "unknown", "better", "grain", "source")
MAY = (
    "heard",
    "in_a_sentence",
    "horizon",
    "counted_on",
    "also_by",
    "exact",
    "all_due",
    "own_file",
    "changed",
    "published",
    "inside",
    "never",
)


def measures(folder: Path = SQL / "measures") -> tuple[Measure, ...]:
    """Every measure, by name. The folder is the list. Raises Refused with the faults of all files."""
    asked = {breakdown.name for breakdown in breakdowns() if not breakdown.for_every_measure}
    read = read_folder(folder, lambda path: _measure(path, asked))
    released = {measure.name for measure in read if measure.published != "no"}
    faults = [fault for measure in read for fault in faults_between(measure.file, measure.inside, released)]
    if faults:
        raise Refused(faults)
    return read


def worded(measure: Measure, seen_promptly_days: int) -> Measure:
    """The measure with the service's own numbers in its texts, where they say {seen_promptly_days}."""
    texts = {key: getattr(measure, key) for key in ("question", "eligible", "met", "unknown")}
    horizon = seen_promptly_days if measure.horizon is None else measure.horizon
    worded_texts = {key: text.replace(SEEN_PROMPTLY_DAYS, str(seen_promptly_days)) for key, text in texts.items()}
    inside = tuple(relation.worded(seen_promptly_days) for relation in measure.inside)
    return replace(measure, horizon=horizon, inside=inside, **worded_texts)


def answer_columns(kind: str) -> tuple[str, ...]:
    """The columns in which a measure of that kind gives its answer."""
    return ("met",) if kind in SHARES else {DAYS: ("days",), TIME_TO_EVENT: ("days", "event")}[kind]


def contract(measure: Measure, case_tables: frozenset[str]) -> Contract:
    """What the SELECT of a measure gives and may read: never another measure, the store or a file."""
    answers = {"met": YES_NO, "days": ("INTEGER", "BIGINT"), "event": ("INTEGER",)}
    return Contract(
        columns={
            "case_ref": TEXT, **grain_columns(measure.grain), "index_date": DAY,
            **{name: answers[name] for name in answer_columns(measure.kind)},
        },
        tables=case_tables | {"settings"},
        in_order=False,
        because=f"for kind {measure.kind} and grain {measure.grain} ",
        mend="correct the columns, or kind or grain at the head of the file",
    )  # fmt: skip


def grain_columns(grain: str) -> dict[str, tuple[str, ...]]:
    """The column beside case_ref that rows of the grain have, if any, with its type."""
    return {GRAINS[grain].id_column: ("BIGINT",)} if GRAINS[grain] in WITHIN_A_CASE else {}


def _measure(path: Path, asked: Collection[str]) -> Measure:
    file = read_sql_file(path, MUST, MAY)
    keys = {
        "horizon": "0",
        "heard": "",
        "in_a_sentence": "",
        "counted_on": "the measure's own date",
        "also_by": "",
        "exact": "no",
        "all_due": "no",
        "own_file": "no",
        "changed": "",
        "published": "no",
        "never": "",
        **file.keys,
    }
    faults = [
        Fault(file.at(key), f"{key}: {keys[key]}", "one of " + ", ".join(choices), "choose one of them")
        for key, choices in _CHOICES.items()
        if keys[key] not in choices
    ]
    if not keys["horizon"].isdecimal() and keys["horizon"] != SEEN_PROMPTLY_DAYS:
        allowed = f"the whole number of days after the index date that eligibility waits for, or {SEEN_PROMPTLY_DAYS}"
        mend = "write the number, 0 where it waits for nothing"
        faults.append(Fault(file.at("horizon"), f"horizon: {keys['horizon']}", allowed, mend))
    also_by = tuple(keys["also_by"].split())
    if not set(asked).issuperset(also_by):
        allowed, mend = (
            f"breakdowns that are only where asked: {', '.join(sorted(asked))}",
            "correct or leave out the line",
        )
        faults.append(Fault(file.at("also_by"), f"also_by: {keys['also_by']}", allowed, mend))
    changed = _changed(keys["changed"])
    if keys["changed"] and changed is None:
        allowed, mend = "a day and what changed: 2026-11-28 Counts ...", "write the day, a space and a sentence"
        faults.append(Fault(file.at("changed"), f"changed: {keys['changed']}", allowed, mend))
    sentence = tuple(part.strip() for part in keys["in_a_sentence"].split(";")) if keys["in_a_sentence"] else ()
    if len([part for part in sentence if part]) != (4 if keys["kind"] == TIME_TO_EVENT else 0):
        allowed = "of a wait, and of nothing else: referred; divided; ended another way; still waiting then"
        mend = "write who waits, who had the event, whose wait ended another way, who waits on, parted by ;"
        faults.append(Fault(file.at("in_a_sentence"), f"in_a_sentence: {keys['in_a_sentence']}", allowed, mend))
    heard = tuple(part.strip() for part in keys["heard"].split(";")) if keys["heard"] else ()
    if heard and (keys["kind"] not in SHARES or len([part for part in heard if part]) != 2):
        allowed = "of a measure of yes or no: asked; not asked"
        mend = "write what those are called whose answer is known, and those whose is not, parted by ;"
        faults.append(Fault(file.at("heard"), f"heard: {keys['heard']}", allowed, mend))
    never = tuple(tuple(one.split()) for one in keys["never"].split(";") if one.strip())
    if any(len(one) != 2 or one[0] not in {split.name for split in breakdowns()} for one in never):
        allowed = "a breakdown and a level of it, and more of them parted by ;: age_band 28+"
        faults.append(Fault(file.at("never"), f"never: {keys['never']}", allowed, "correct or leave out the line"))
    inside, wrong = relations(file)
    faults += wrong + name_faults(file)
    if faults:
        raise Refused(faults)
    texts = {
        key: keys[key].replace(_REPORTED_DAY, str(REPORTED_DAY))
        for key in ("title", "question", "section", "kind", "eligible", "met", "unknown", "better")
    }
    return Measure(
        name=path.stem, **texts, grain=keys["grain"], source=keys["source"],
        counted_on=keys["counted_on"], horizon=int(keys["horizon"]) if keys["horizon"].isdecimal() else None,
        also_by=also_by, exact=keys["exact"] == "yes", all_due=keys["all_due"] == "yes",
        own_file=keys["own_file"] == "yes", in_a_sentence=sentence, heard=heard,
        changed=changed, published=keys["published"], inside=inside, never=never, file=file,
    )  # fmt: skip


def _changed(written: str) -> tuple[date, str] | None:
    day, _, what = written.partition(" ")
    try:
        return (date.fromisoformat(day), what) if what.strip() else None
    except ValueError:
        return None
