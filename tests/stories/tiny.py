"""A short way to write a case by hand: a baby, then its rows by day, counted from first contact (day 0).

First contact is 200 days before the cut-off at 10 days of age, and the baby is fed breast milk alone, unless said. What
is not said is not recorded.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Any

from pipeline.contracts import layout

CUT_OFF = date(2026, 9, 30)
NOT = "not in it"
Rows = dict[str, list[dict[str, str]]]


@dataclass(frozen=True)
class Situation:
    """One case, or request, and what the measure must say of it."""

    case_ref: str
    told: str
    expected: str


@dataclass
class Baby:
    """One case in the making: every method adds a row on a day."""

    rows: Rows
    case_ref: str
    seen: date

    def on(self, table: str, column: str, day: int, **values: Any) -> Baby:
        """A row of any table."""
        add(self.rows, table, case_ref=self.case_ref, **{column: self.seen + timedelta(days=day)}, **values)
        return self

    def contact(
        self, day: int, who: str = "P01", help: str = "no", status: str = "", pain: Any = "", weight: Any = "",
        mode: str = "",
    ) -> Baby:  # fmt: skip
        """A support contact."""
        told = {"attachment_help": help, "problem_status": status, "pain_score": pain, "weight_g": weight, "mode": mode}
        return self.on("contacts", "contact_date", day, practitioner=who, **told)

    def assess(self, day: int, tie: str = "", score: Any = "", who: str = "P01", **signs: str) -> Baby:
        """An assessment of the tongue."""
        told = {"tie_type": tie, "function_score": score, **signs}
        return self.on("assessments", "assessment_date", day, practitioner=who, **told)

    def refer(self, day: int, outcome: str = "", ended: int | None = None) -> Baby:
        """A referral for division."""
        ended_on = "" if ended is None else self.seen + timedelta(days=ended)
        return self.on("referrals", "referral_date", day, outcome=outcome, outcome_date=ended_on)

    def divide(
        self, day: int, who: str = "P02", provider: str = "own", tie: str = "", consent: str = "", history: str = "",
        vitamin_k: str = "", fed: Any = "", aftercare: str = "",
    ) -> Baby:  # fmt: skip
        """A row of procedures."""
        checks = {"consent_recorded": consent, "bleeding_history_asked": history, "vitamin_k": vitamin_k}
        after = {"minutes_to_first_feed": fed, "aftercare_advice": aftercare}
        return self.on(
            "procedures", "procedure_date", day, operator=who, provider=provider, tie_type=tie, **checks, **after
        )

    def harm(self, day: int, kind: str, severity: str = "") -> Baby:
        """A complication."""
        return self.on("complications", "noted_date", day, kind=kind, severity=severity)

    def check(self, day: int, feeding: str, at_breast: str = "", reason: str = "") -> Baby:
        """A feeding check."""
        told = {"feeding": feeding, "at_breast": at_breast, "reason_stopped": reason}
        return self.on("feeding_checks", "check_date", day, **told)

    def view(self, day: int, helped: str) -> Baby:
        """What a family said."""
        return self.on("family_views", "answered_date", day, helped=helped)


@dataclass
class Story:
    """The situations of one measure, or of a fact that measures rest on."""

    name: str
    situations: list[Situation] = field(default_factory=list)
    rows: Rows = field(default_factory=dict)

    def baby(
        self,
        told: str,
        expected: str,
        build: Callable[[Baby], Baby] = lambda case: case,
        age: int = 10,
        back: int = 200,
        **values: Any,
    ) -> None:
        """A situation of a case first seen `back` days before the cut-off; asked and closed are days from then."""
        seen = CUT_OFF - timedelta(days=back)
        for name, column in (("asked", "help_requested_date"), ("closed", "closed_date")):
            if name in values:
                values[column] = seen + timedelta(days=values.pop(name))
        shown = {"site": "Alder hub", "feeding_at_first_contact": "exclusive", **values}
        ref = self._next(told, expected)
        add(self.rows, "cases", case_ref=ref, first_contact_date=seen, age_days=age, **shown)
        build(Baby(self.rows, ref, seen))

    def asking(self, told: str, expected: str, outcome: str = "", ended: int | None = None, back: int = 200) -> None:
        """A situation of a request that is no case, made `back` days before the cut-off; `ended` days from then."""
        asked = CUT_OFF - timedelta(days=back)
        ended_on = "" if ended is None else asked + timedelta(days=ended)
        of_it = {"site": "Alder hub", "request_date": asked, "outcome": outcome, "outcome_date": ended_on}
        add(self.rows, "requests", case_ref=self._next(told, expected), **of_it)

    def _next(self, told: str, expected: str) -> str:
        ref = f"{self.name}/{len(self.situations) + 1:02}"
        self.situations.append(Situation(ref, told, expected))
        return ref


def add(rows: Rows, table: str, **values: Any) -> None:
    """A row with all columns of the table."""
    columns = [column.name for column in layout.table(table).columns]
    rows.setdefault(table, []).append({column: str(values.get(column, "")) for column in columns})


def helped(case: Baby) -> Baby:
    """Attachment help on the day of first contact."""
    return case.contact(0, help="yes")


def referred(case: Baby, outcome: str = "", ended: int | None = None) -> Baby:
    """A referral on the day of first contact."""
    return case.refer(0, outcome, ended)


def divided(case: Baby) -> Baby:
    """An own division on the day of first contact."""
    return case.divide(0)
