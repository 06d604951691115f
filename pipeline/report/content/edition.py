"""What a service edition and a practitioner edition are made of.

Comes in: the results of one run as the stages before left them. Goes out: frozen descriptions the report package
reads and never changes. Refuses: a table without its columns, a flow that loses or repeats a case, lines that do not
add up. These are defects of the program, not of an export, so they are ValueErrors and keep their traceback.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from functools import cached_property

import pandas as pd

from pipeline.contracts import query_files
from pipeline.contracts.apart_files import APART_COLUMNS
from pipeline.contracts.breakdown_file import Breakdown
from pipeline.contracts.measure_files import Measure
from pipeline.contracts.query_files import ROUTES, SIX_WEEKS
from pipeline.judgement.families import judge
from pipeline.judgement.judged import Basis, Group, Judgement
from pipeline.judgement.mix import Cells
from pipeline.judgement.months import Monthly
from pipeline.judgement.rare_harm import RareHarm
from pipeline.outcomes.look_again import Reason
from pipeline.outcomes.lookup import Lookup
from pipeline.outcomes.own_and_rest import OwnAndRest
from pipeline.report.commentary.commentary_view import CommentaryView
from pipeline.settings import Settings
from pipeline.store import LINE_PARTS


@dataclass(frozen=True)
class LoadedFile:
    """One file of an export, by its checksum."""

    name: str
    sha256: str
    lines: int


@dataclass(frozen=True)
class Load:
    """One export as it was loaded."""

    number: int
    export: str
    extracted_on: date
    files: tuple[LoadedFile, ...]
    mapping_source: str = ""  # what the mapping calls the source; empty where the export was in the layout
    accepted_anyway: str = ""  # why, where the batch gate had held it back


@dataclass(frozen=True)
class Provenance:
    """What the edition rests on."""

    version: str  # of the program
    cut_off: date  # the newest one: nothing after it is known
    loads: tuple[Load, ...]
    settings_text: str  # audit.toml, as it was read


@dataclass(frozen=True)
class Quality:
    """How good the records are: what came in, what was set aside, what was not recorded."""

    lines: pd.DataFrame  # one row a file of a load
    reasons: pd.DataFrame  # one row a load, table, column and rule; kind = what it set aside, a row or a value
    not_recorded: pd.DataFrame  # one row a table, column and site
    warnings: tuple[str, ...]  # at the head of the page
    remarks: tuple[str, ...]  # under data quality


@dataclass(frozen=True)
class EditionContent:
    """Everything a service edition shows. Nothing is read from anywhere else but the templates."""

    settings: Settings
    period: str
    measures: tuple[Measure, ...]
    breakdowns: tuple[Breakdown, ...]
    lookup: Lookup
    apart: pd.DataFrame
    flow: pd.DataFrame
    activity: pd.DataFrame
    over_time: Mapping[str, Monthly]  # measure -> everyone month by month, judged; medians have none
    months: pd.DataFrame  # the same, counted: measure, month, eligible, known, met, of
    rare_harm: Mapping[str, RareHarm]  # measure -> what is only noted, case by case
    within: Lookup | None  # everyone by the quarters of a year; None where the report is of a quarter
    quality: Quality
    provenance: Provenance
    commentary: CommentaryView
    requests_held: Mapping[str, bool]  # of each source: whether it tells of families who asked and were never seen
    again: int  # how many cases stand on the lists to look at again; their references are for a file of its own
    began: pd.DataFrame  # site, period, cases, first_day: how many were first seen, and since when
    still_waiting: pd.DataFrame  # measure, site, how long: who was still waiting at the cut-off
    mix: Mapping[tuple[str, str, str], Cells] = field(default_factory=dict)  # measure, period, site -> its families

    @cached_property
    def basis(self) -> Basis:
        """What the report is judged from."""
        sites = {
            str(site): Group(min(rows["first_day"]), dict(zip(rows["period"], rows["cases"], strict=True)))
            for site, rows in self.began.groupby("site", sort=True)
        }
        return Basis(
            measures=self.measures,
            breakdowns=self.breakdowns,
            lookup=self.lookup,
            period=self.period,
            primary=self.settings.at_a_glance,
            year_starts=self.settings.year_starts,
            everyone=Group(min((site.begun for site in sites.values() if site.begun), default=None)),
            sites=sites,
            changed=self.settings.changed,
            mix=self.mix,
        )

    @cached_property
    def judgement(self) -> Judgement:
        """Every verdict of the report but those on its standards, judged once."""
        return judge(self.basis)


@dataclass(frozen=True)
class PractitionerContent:
    """Everything a practitioner edition shows. No text of the records but the practitioner's own code and cases."""

    settings: Settings
    period: str
    cut_off: date
    version: str
    loads: tuple[tuple[int, date], ...]  # number and day drawn; the names of files may hold anything
    warned: bool  # whether the service edition opens with warnings
    measures: tuple[Measure, ...]
    counted: OwnAndRest
    reasons: tuple[Reason, ...]  # each with cases of the practitioner's own only


def check(content: EditionContent) -> None:
    """Raise ValueError with every disagreement found, or return."""
    wrong = [
        f"{name}: column {column} is missing"
        for name, frame, columns in (
            ("apart", content.apart, APART_COLUMNS),
            ("flow", content.flow, query_files.COLUMNS["accounts/flow"]),
            ("began", content.began, query_files.COLUMNS["accounts/began"]),
            ("still_waiting", content.still_waiting, query_files.COLUMNS["accounts/still_waiting"]),
            ("lines", content.quality.lines, query_files.COLUMNS["accounts/lines"]),
            ("reasons", content.quality.reasons, query_files.COLUMNS["accounts/reasons"]),
            ("not_recorded", content.quality.not_recorded, query_files.COLUMNS["accounts/not_recorded"]),
        )
        for column in columns
        if column not in frame.columns
    ]
    if not wrong:
        wrong = _flow_faults(content.flow) + _line_faults(content.quality.lines) + _measure_faults(content)
    if wrong:
        raise ValueError("the edition cannot be written:\n" + "\n".join(wrong))


def _flow_faults(flow: pd.DataFrame) -> list[str]:
    faults = [f"flow: {route!r} is not a route" for route in sorted(set(flow["route"]) - set(ROUTES))]
    strange = sorted(set(flow["six_weeks"]) - set(SIX_WEEKS))
    faults += [f"flow: {state!r} is not a state at six weeks" for state in strange]
    twice = flow[flow.duplicated(["route", "six_weeks"])]
    faults += [f"flow: {row.route}, {row.six_weeks} stands twice" for row in twice.itertuples()]
    if (flow["cases"] < 0).any():
        faults.append("flow: a count below nought")
    return faults


def _line_faults(lines: pd.DataFrame) -> list[str]:
    parts = lines[list(LINE_PARTS)].sum(axis=1)
    off = lines[parts != lines["lines"]]
    return [
        f"lines: load {row.load}, {row.file}: {row.lines} lines received, but the parts add up to {parts[row.Index]}"
        for row in off.itertuples()
    ]


def _measure_faults(content: EditionContent) -> list[str]:
    named = {measure.name for measure in content.measures}
    missing = [name for name in (*content.settings.at_a_glance, *content.settings.standards) if name not in named]
    return [f"settings: there is no measure {name!r}" for name in dict.fromkeys(missing)]
