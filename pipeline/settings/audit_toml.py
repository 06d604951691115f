"""The service's own settings: audit.toml in, a frozen Settings out; and a first audit.toml, every setting explained.

Refuses, all at once and with the line: a key it does not know, a value of the wrong kind, a measure that there is not.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from typing import Any

from pipeline.contracts.measure_files import NOTED
from pipeline.contracts.written_text import read_toml_text
from pipeline.errors import Fault, Refused
from pipeline.settings import confirmed
from pipeline.settings.known import SETTINGS, Setting

FILE_NAME = "audit.toml"
LEFT_OUT = ("sheets", "columns")


@dataclass(frozen=True)
class Gate:
    """From where on an export looks wrong as a whole, and is held back."""

    rows_fall: float  # the least rows of a table, as a share of those of the load before
    recorded_fall: float  # the least a column is recorded, as a share of how often it was in the load before
    code_share: float  # the share of a column's answers that one of them must not reach
    silent_days: int  # the most days from the latest date to the cut-off
    set_aside_share: float  # the most lines set aside, as a share of all that hold a row


@dataclass(frozen=True)
class Publish:
    """What a published report holds, and what it withholds."""

    about: str  # what the service does, in the lead's words; may be empty
    withheld_up_to: int  # K: counts of 1 to K are not shown
    least_cases: int  # a year with fewer is published as activity only
    quarterly: bool
    six_weeks_known: float  # below this share of answers known a six-week figure says so, or is withheld
    below_it: str  # say or withhold
    licence: str  # may be empty


@dataclass(frozen=True)
class Settings:
    """What the service chose. `text` is the file as it was read, for the provenance of a report."""

    service: str  # the service's name, as it stands on the page
    contact: str  # whom a reader asks; may be empty
    seen_promptly_days: int
    longest_wait_days: int  # from which on a request for help that is waiting is listed
    at_a_glance: tuple[str, ...]  # measures named as primary before looking
    standards: Mapping[str, float]  # measure -> the share the service set itself, 0 to 1
    year_starts: int  # the month in which a year begins: 1, 4, 7 or 10
    baseline: tuple[str, str] | None  # first and last month that charts over time take what is usual from
    traced_cases: int  # so many are listed behind each figure, at the most
    gate: Gate
    publish: Publish
    changed: Mapping[str, date] = field(default_factory=dict)  # measure -> since when its records mean something else
    not_identifiers: Mapping[str, str] = field(default_factory=dict)  # "table.column" -> why it names nobody
    confirmed: Mapping[str, tuple[str, ...]] = field(default_factory=dict)  # kind -> words that name nobody
    accepted_rates: Mapping[str, float] = field(default_factory=dict)  # of a harm that is noted -> the rate accepted
    known_enough: Mapping[str, float] = field(default_factory=dict)  # measure -> the share of answers that is enough
    steps: Mapping[str, tuple[str, str]] = field(default_factory=dict)  # measure -> month of a known change, and why
    left_out: Mapping[str, tuple[str, ...]] = field(default_factory=dict)  # sheets, columns: what nothing is to read
    text: str = ""


_OPEN = {  # sections whose keys are not settings
    "standards": "The standards the service set itself: a measure and a share from 0 to 1, such as seen_promptly =\n"
    "# 0.9 (for a measure where lower is better, the most it may be). A standard counts as met only if it holds\n"
    "# whatever the unknown answers are. There is none unless you set it.",
    "accepted_rates": "The rate of a harm that the service accepts, stated before looking:\n"
    "# complication_within_14_days = 0.05. A running sum warns where more are noted than that.\n"
    "# Never take it from a few events of your own.",
    "known_enough": "Of how many the answer must be known: seen_promptly = 0.9 (a share from 0 to 1). Pages say\n"
    "# whether it is. Figures at six weeks go by six_weeks_known of [publish], unless they stand here.",
    "changed": "Since when the records of a measure mean something else: seen_promptly = 2026-04-01 (a day, without\n"
    "# quotes). Nothing before that day is compared with what comes after it.",
    "steps": 'A change you made and dated: resolved_by_attachment_help = "2026-04: a second clinic". From that month\n'
    "# on the chart over time of the measure takes what is usual afresh, and says why.",
    "confirmed": 'What no load need ask about: site = ["North hub"], practitioner = ["P01"], destination = ["ENT"];\n'
    f'# and how the references look: case_ref = ["AA-9999"], {confirmed.PATTERN}.',
    "left_out": 'What of an export nothing is to read, on purpose: sheets = ["Notes *"], columns = ["Colour"].',
    "not_identifiers": 'Columns that look like identifiers and are none: "procedures.operator" = "the reason".',
}


def read_settings(path: Path, measures: Mapping[str, str]) -> Settings:
    """Read audit.toml. `measures` are the names there are, each with its kind. Raises Refused."""
    mend = "name the audit folder: --folder DIR; or make one: feeding-audit new FOLDER"
    text = read_toml_text(path, "an audit folder has one", mend)
    return parse_settings(text, path, measures)


def parse_settings(text: str, path: Path, measures: Mapping[str, str]) -> Settings:
    """The settings a text holds; `path` is where it stands, for what is to be mended. Raises Refused."""
    try:
        written = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        mend = "correct the line; texts stand in quotes"
        raise Refused(Fault(str(path), f"cannot be read: {error}", "TOML", mend)) from error
    faults = list(_faults(path, text, written, measures))
    if faults:
        raise Refused(faults)
    chosen = {
        (known.section, known.key): written.get(known.section, {}).get(known.key, known.start) for known in SETTINGS
    }
    return Settings(
        service=chosen["service", "name"],
        contact=chosen["service", "contact"],
        seen_promptly_days=chosen["measures", "seen_promptly_days"],
        longest_wait_days=chosen["requests", "longest_wait_days"],
        at_a_glance=tuple(chosen["measures", "at_a_glance"]),
        standards={name: float(share) for name, share in written.get("standards", {}).items()},
        year_starts=chosen["report", "year_starts"],
        baseline=_two_months(chosen["over_time", "baseline"]),
        traced_cases=chosen["report", "traced_cases"],
        gate=Gate(**{key: value for (section, key), value in chosen.items() if section == "gate"}),
        publish=Publish(**{key: value for (section, key), value in chosen.items() if section == "publish"}),
        changed=dict(written.get("changed", {})),
        not_identifiers=dict(written.get("not_identifiers", {})),
        confirmed={kind: tuple(words) for kind, words in written.get("confirmed", {}).items()},
        accepted_rates={name: float(rate) for name, rate in written.get("accepted_rates", {}).items()},
        known_enough={name: float(share) for name, share in written.get("known_enough", {}).items()},
        steps={name: (step[:7], step[8:].strip()) for name, step in written.get("steps", {}).items()},
        left_out={kind: tuple(names) for kind, names in written.get("left_out", {}).items()},
        text=text,
    )


def _two_months(baseline: str) -> tuple[str, str] | None:
    return (baseline[:7], baseline[-7:]) if baseline else None


def first_settings() -> str:
    """The audit.toml of a new folder."""
    lines = ["# The settings of this audit. Change what stands behind the = signs; the rest explains it."]
    section = ""
    for setting in SETTINGS:
        if setting.section != section:
            section = setting.section
            lines += ["", f"[{section}]"]
        lines += [f"# {setting.explained}", f"# Allowed: {setting.allowed}.", f"{setting.key} = {_toml(setting.start)}"]
    for section, explained in _OPEN.items():
        lines += ["", f"[{section}]", f"# {explained}"]
    return "\n".join([*lines, ""])


def _toml(value: Any) -> str:
    if isinstance(value, list):
        return "[\n" + "".join(f'    "{name}",\n' for name in value) + "]"
    if isinstance(value, bool):
        return str(value).lower()
    return f'"{value}"' if isinstance(value, str) else str(value)


def _faults(path: Path, text: str, written: Mapping[str, Any], measures: Mapping[str, str]) -> Iterator[Fault]:
    sections = {setting.section for setting in SETTINGS} | set(_OPEN)
    for section, content in written.items():
        if section not in sections or not isinstance(content, dict):
            allowed = "the sections " + ", ".join(sorted(sections))
            yield Fault(_where(path, text, section), f"{section} is no section", allowed, "correct or remove it")
            continue
        for key, value in content.items():
            where = _where(path, text, key)
            if section in _OPEN:
                yield from _open_faults(section, where, key, value, measures)
                continue
            setting = next((known for known in SETTINGS if (known.section, known.key) == (section, key)), None)
            if setting is None:
                keys = ", ".join(known.key for known in SETTINGS if known.section == section)
                yield Fault(where, f"{key} is no setting of [{section}]", keys, "correct or remove the line")
            elif not _is_allowed(setting, value, measures):
                yield Fault(where, f"{key} = {value!r}", setting.allowed, "write an allowed value")


def _open_faults(section: str, where: str, key: str, value: Any, measures: Mapping[str, str]) -> Iterator[Fault]:
    """Of the sections whose keys are not settings."""
    if section in ("standards", "known_enough"):
        if key not in measures:
            yield Fault(where, f"{key} is no measure", "a name that feeding-audit measures lists", "correct the name")
        if isinstance(value, bool) or not isinstance(value, int | float) or not 0 <= value <= 1:
            yield Fault(where, f"{key} = {value!r}", "a share from 0 to 1, such as 0.9", "write 0.9 for 90%")
    elif section == "accepted_rates":
        if key not in measures:
            yield Fault(where, f"{key} is no measure", "a name that feeding-audit measures lists", "correct the name")
        elif measures[key] != NOTED:  # nothing would watch it
            harms = ", ".join(sorted(name for name in measures if measures[name] == NOTED))
            yield Fault(where, f"{key} is no harm that is noted", harms, "correct the name, or remove the line")
        if not isinstance(value, float) or not 0.001 <= value <= 0.5:
            yield Fault(where, f"{key} = {value!r}", "a share from 0.001 to 0.5, such as 0.05", "write 0.05 for 5%")
    elif section == "changed":
        if key not in measures:
            yield Fault(where, f"{key} is no measure", "a name that feeding-audit measures lists", "correct the name")
        if type(value) is not date:
            shown = value if isinstance(value, date) else repr(value)  # a day with a time of day
            yield Fault(where, f"{key} = {shown}", "a day without quotes: 2026-04-01", "write the day")
    elif section == "steps":
        if key not in measures:
            yield Fault(where, f"{key} is no measure", "a name that feeding-audit measures lists", "correct the name")
        if not isinstance(value, str) or not re.fullmatch(r"\d{4}-(0[1-9]|1[0-2]): *\S.*", value):
            allowed = 'its first month and the reason, such as "2026-04: a second clinic"'
            yield Fault(where, f"{key} = {value!r}", allowed, "write both, in quotes")
    elif section == "confirmed":
        if allowed := confirmed.allowed_instead(key, value):
            yield Fault(where, f"{key} = {value!r}", allowed, "correct or remove the line")
    elif section == "left_out":
        if key not in LEFT_OUT or not isinstance(value, list) or not all(isinstance(name, str) for name in value):
            allowed = f'{" and ".join(LEFT_OUT)}, each with a list of names: columns = ["Colour"]'
            yield Fault(where, f"{key} = {value!r}", allowed, "correct or remove the line")
    elif not re.fullmatch(r"[a-z_]+\..+", key):
        yield Fault(where, f"{key} is no column of a table", 'such as "procedures.operator"', "write both, in quotes")
    elif not isinstance(value, str) or not value.strip():
        yield Fault(where, f"{key} = {value!r}", "the reason why it names nobody, in words", "write it in quotes")


def _is_allowed(setting: Setting, value: Any, measures: Mapping[str, str]) -> bool:
    if setting.key == "name":
        return isinstance(value, str) and bool(value.strip())
    if isinstance(setting.start, bool):
        return isinstance(value, bool)
    if setting.only:
        return not isinstance(value, bool) and value in setting.only
    if isinstance(setting.start, str):
        return isinstance(value, str) and re.fullmatch(setting.pattern, value, re.DOTALL) is not None
    if isinstance(setting.start, list):
        return isinstance(value, list) and all(
            isinstance(name, str) and value.count(name) == 1 and name in measures for name in value
        )
    kinds = int | float if isinstance(setting.start, float) else int
    return isinstance(value, kinds) and not isinstance(value, bool) and setting.lowest <= value <= setting.highest


def _where(path: Path, text: str, key: str) -> str:
    """The file, and the line on which the key or section first stands."""
    pattern = re.compile(rf'^\s*\[?"?{re.escape(key)}"?\s*(\]|=|\.)')
    number = next((number for number, line in enumerate(text.splitlines(), 1) if pattern.match(line)), 1)
    return f"{path.name}, line {number}"
