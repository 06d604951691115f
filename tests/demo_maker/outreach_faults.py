"""What is wrong in single cells of the outreach team's sheet, declared one by one.

Comes in: nothing. Goes out: the cell each fault is in, what it does to it and what should become of it. Refuses: a
fault that is not declared here; what is wrong with whole lines is in outreach_lines.py.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time

from tests.demo_maker.fault import ACCEPTED, ROW, VALUE
from tests.demo_maker.outreach_sheet import Cell, Cells, Formula

NOT_FOUND = Formula("=NA()", "#N/A")
WEIGHT, TT, KIND = "Baby / Birth wt\n(kg)", "Tongue / TT type ", "Division / Complications"
UNPLAIN = "is in no list: it does not say which type"
NOTHING_TO_TELL = ("none", "-")


@dataclass(frozen=True)
class SheetFault:
    """One thing wrong in one cell, on as many lines as it is planted."""

    at: float  # how far down the sheet the looking begins
    cell: str
    fits: Callable[[Cells], bool]
    change: Callable[[Cell], Cell]
    wrong: str
    becomes: str
    part: str  # of the line's meaning that it touches
    column: str = ""  # the layout's, where a value is set aside


def filled(*columns: str) -> Callable[[Cells], bool]:
    """Whether these columns hold anything."""
    return lambda cells: all(column in cells for column in columns)


def true_date(column: str, last_day: int = 31) -> Callable[[Cells], bool]:
    """Whether the cell is a true date up to that day of the month."""

    def fits(cells: Cells) -> bool:
        cell = cells.get(column)
        return isinstance(cell, date) and cell.day <= last_day

    return fits


def late(column: str) -> Callable[[Cells], bool]:
    """Whether the cell is a true date that cannot be a month when it stands first."""
    return lambda cells: true_date(column)(cells) and not true_date(column, 12)(cells)


def as_date(cell: Cell) -> date:
    """The true date that `fits` has made sure of."""
    if not isinstance(cell, date):
        raise TypeError(f"no date: {cell!r}")
    return cell


def month_first(cell: Cell) -> Cell:
    """The day as in 3/31/2026."""
    day = as_date(cell)
    return f"{day.month}/{day.day}/{day.year}"


def no_such_day(cell: Cell) -> Cell:
    """A day that no month has."""
    day = as_date(cell)
    return f"32/{day.month:02}/{day.year}"


def with_a_time(cell: Cell) -> Cell:
    """The day with a time of day behind it."""
    return datetime.combine(as_date(cell), time(14, 30))


def day_number(cell: Cell) -> Cell:
    """The number that a spreadsheet keeps for the day, its style as a date lost."""
    return (as_date(cell) - date(1899, 12, 30)).days


def in_grams(cell: Cell) -> Cell:
    """A weight in kg as grams."""
    if not isinstance(cell, float):
        raise TypeError(f"no weight: {cell!r}")
    return round(cell * 1000)


def plain_tie(cells: Cells) -> bool:
    """A tongue looked at, of a case not divided: little hangs on it."""
    return filled("Tongue / Looked at", TT)(cells) and "Division / Date" not in cells and cells[TT] != "none"


FAULTS: Sequence[SheetFault] = (
    SheetFault(0.05, TT, plain_tie, lambda c: "mild", f"TT type mild {UNPLAIN}", VALUE, "tongue", "tie_type"),
    SheetFault(0.30, TT, plain_tie, lambda c: "TT", f"TT type TT {UNPLAIN}", VALUE, "tongue", "tie_type"),
    SheetFault(0.55, TT, plain_tie, lambda c: "mild", f"TT type mild {UNPLAIN}", VALUE, "tongue", "tie_type"),
    SheetFault(
        0.10, "Baby / Decile", filled("Baby / Decile"), lambda c: NOT_FOUND,
        "Decile is an error cell, #N/A", VALUE, "case", "deprivation_decile",
    ),
    SheetFault(
        0.60, "Baby / Decile", filled("Baby / Decile"), lambda c: NOT_FOUND,
        "Decile is an error cell, #N/A", VALUE, "case", "deprivation_decile",
    ),
    SheetFault(
        0.40, WEIGHT, filled(WEIGHT), lambda c: NOT_FOUND,
        "Birth wt (kg) is an error cell, #N/A", VALUE, "case", "birth_weight_g",
    ),
    SheetFault(
        0.50, WEIGHT, filled(WEIGHT), in_grams,
        "Birth wt (kg) is in grams: times 1000 it is far more than 6500", VALUE, "case", "birth_weight_g",
    ),
    SheetFault(
        0.20, "Baby / Weeks", filled("Baby / Weeks"), lambda c: f"{c}+4",
        "Weeks has days behind it, as in 39+4", VALUE, "case", "gestation_weeks",
    ),
    SheetFault(
        0.35, "Trouble / Sore", filled("Trouble / Sore"), lambda c: "a bit",
        "Sore is a bit: in no list", VALUE, "case", "nipple_pain",
    ),
    SheetFault(
        0.45, "Help session 1 / Pain", filled("Help session 1 / Pain"), lambda c: "6-7",
        "Pain is 6-7, which is no whole number", VALUE, "session 1", "pain_score",
    ),
    SheetFault(
        0.15, "Baby / Asked for help", late("Baby / Asked for help"), month_first,
        "Asked for help has the month first, as in 3/31/2026", VALUE, "case", "help_requested_date",
    ),
    SheetFault(
        0.25, "Closed / On", true_date("Closed / On"), day_number,
        "Closed on has lost its style as a date: the number of a day is left", VALUE, "case", "closed_date",
    ),
    SheetFault(
        0.65, "Help session 2 / Date", true_date("Help session 2 / Date"), no_such_day,
        "the date of help session 2 is the 32nd of a month", f"{ROW}: contacts", "session 2",
    ),
    SheetFault(
        0.28, "Fed at 6/52 / Date", filled("Fed at 6/52 / Date"), lambda c: "",
        "feeding at six weeks was asked about, and no date was written down", f"{ROW}: feeding_checks", "six weeks",
    ),
    SheetFault(
        0.00, KIND, lambda cells: cells.get(KIND) in NOTHING_TO_TELL, lambda c: "oozed",
        "Complications is oozed: in no list, and every complication must have a kind",
        f"{ROW}: complications", "complications",
    ),
    SheetFault(
        0.70, "Baby / 1st seen", true_date("Baby / 1st seen"), with_a_time,
        "1st seen has a time of day behind the date", ACCEPTED, "case",
    ),
    SheetFault(
        0.38, "Baby / Twin or more", filled("Baby / Twin or more"), lambda c: "twin 2",
        "Twin or more is twin 2: in no list", VALUE, "case", "multiple_birth",
    ),
    SheetFault(
        0.18, "Did we help? / Answer", filled("Did we help? / Answer"), lambda c: "lovely",
        "Did we help? is lovely: in no list", VALUE, "view", "helped",
    ),
    SheetFault(
        0.48, "Did we help? / Date", filled("Did we help? / Date"), lambda c: "",
        "an answer to Did we help? without its date", f"{ROW}: family_views", "view",
    ),
)  # fmt: skip
