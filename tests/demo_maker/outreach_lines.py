"""The outreach team's sheet line by line: what stands in each, what it means and what should become of it.

Comes in: the team's cases, and the faults declared for single cells. Goes out: the lines from the first case to the
total, the truth that a load is held to. Refuses: a fault that no line suits, and two faults on one case.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date

from tests.demo_maker.fault import ACCEPTED, BLANK, REPEAT, ROW, VALUE
from tests.demo_maker.outreach import LAST_QUARTER, PREFIX, outreach_cases
from tests.demo_maker.outreach_faults import FAULTS, WEIGHT, SheetFault
from tests.demo_maker.outreach_sheet import KEPT, Cells, Formula, Meant, cells_of, meant_by, stroked
from tests.demo_maker.outreach_words import UNIT

NO_ROW = "no row is made of it"
HEADER = "header"
ABOVE = (HEADER, BLANK, HEADER, HEADER)  # a title, an empty line, the groups, the names
HEADER_LINES = (3, 4)
EMPTY_AFTER = "2025Q4"


@dataclass(frozen=True)
class Line:
    """One line of the sheet."""

    cells: Cells
    rows: tuple[Meant, ...] = ()
    becomes: str = ""  # of the line as a whole: header, blank, accepted, row set aside, repeat
    wrong: tuple[tuple[str, str], ...] = ()  # what is wrong, what becomes of it
    quarter: str = ""


def sheet_lines() -> tuple[Line, ...]:
    """Every line of the sheet, from the title to the total."""
    lines = []
    for case in outreach_cases():
        lines.append(Line(cells_of(case), meant_by(case), quarter=case.quarter))
    taken: set[int] = set()
    for fault in FAULTS:
        place, line = planted(lines, fault, taken)
        taken.add(place)
        lines[place] = line
    lines = [booked(line) for line in lines]
    lines += pasted_again(lines)
    empty_at = 1 + max(place for place, line in enumerate(lines) if line.quarter == EMPTY_AFTER)
    lines.insert(empty_at, Line({}, becomes=BLANK, wrong=(("an empty line in the middle", BLANK),)))
    lines.append(total_line(lines))
    return tuple(replace(line, becomes=line.becomes or fate(line)) for line in lines)


def planted(lines: Sequence[Line], fault: SheetFault, taken: set[int]) -> tuple[int, Line]:
    """The first line from there on that the fault suits, and that line with it."""
    start = int(fault.at * len(lines))
    for place in (*range(start, len(lines)), *range(start)):
        line = lines[place]
        # What is pasted again below is kept sound: one fault would stand in two places.
        if place not in taken and line.quarter != LAST_QUARTER and fault.fits(line.cells):
            return place, with_fault(line, fault)
    raise ValueError(f"no line suits the fault: {fault.wrong}")


def with_fault(line: Line, fault: SheetFault) -> Line:
    """The line with the fault in its cell, and with what that does to its meaning."""
    cells = {**line.cells, fault.cell: fault.change(line.cells[fault.cell])}
    becomes = f"{VALUE}: {fault.column}" if fault.becomes == VALUE else fault.becomes
    rows = line.rows
    if fault.part == "complications":
        # The word stands where there was nothing to tell, so the row that fails is one more.
        values = {"case_ref": rows[0].values["case_ref"], "noted_date": "", "kind": "", "severity": ""}
        rows = (*rows, Meant(fault.part, "complications", values, ROW))
    rows = tuple(touched(row, fault) if row.part == fault.part else row for row in rows)
    held = {column: cell for column, cell in cells.items() if cell != ""}
    return replace(line, cells=held, rows=rows, wrong=((fault.wrong, becomes),))


def touched(row: Meant, fault: SheetFault) -> Meant:
    """A row that the fault touches."""
    if fault.becomes == VALUE:
        return replace(row, values={**row.values, fault.column: ""}, set_aside=(fault.column,))
    return replace(row, becomes=KEPT if fault.becomes == ACCEPTED else ROW)


def booked(line: Line) -> Line:
    """Who is to divide stands there before there is a day: that is no division yet."""
    if "Division / Op" not in line.cells or "Division / Date" in line.cells:
        return line
    told = ("Op is written in, and the division has no date: it has not taken place", NO_ROW)
    return replace(line, wrong=(*line.wrong, told))


def pasted_again(lines: list[Line]) -> list[Line]:
    """The last quarter's lines once more, pasted from a message: dates as text, no Unit no, and one weight corrected.

    The line of the corrected case further up is changed in place: nobody can tell which of the two is right.
    """
    places = [place for place, line in enumerate(lines) if line.quarter == LAST_QUARTER]
    corrected = next(place for place in places[len(places) // 2 :] if WEIGHT in lines[place].cells)
    pasted = []
    for place in places:
        line = lines[place]
        cells: Cells = {
            column: stroked(cell) if isinstance(cell, date) else cell
            for column, cell in line.cells.items()
            if column != UNIT
        }
        if place != corrected:
            rows = tuple(replace(row, becomes=REPEAT) for row in line.rows)
            again = ("the last quarter's lines, pasted again", REPEAT)
            pasted.append(replace(line, cells=cells, rows=rows, wrong=(*line.wrong, again)))
            continue
        told = (("two lines of one case that differ in Birth wt (kg)", ROW),)
        rows = tuple(replace(row, becomes=ROW) for row in line.rows)
        weight = int(rows[0].values["birth_weight_g"]) + 270
        other = replace(rows[0], values={**rows[0].values, "birth_weight_g": str(weight)})
        lines[place] = replace(line, rows=rows, wrong=told)
        pasted.append(replace(line, cells={**cells, WEIGHT: weight / 1000}, rows=(other, *rows[1:]), wrong=told))
    return pasted


def total_line(lines: Sequence[Line]) -> Line:
    """The last line: a total, which counts what was pasted twice."""
    first = HEADER_LINES[-1] + 1
    refs = Formula(f"=COUNT(A{first}:A{first + len(lines) - 1})", sum("Baby / Ref" in line.cells for line in lines))
    # Of the whole line only the word and the count are there, so no day of a first contact and no age.
    meant = Meant("case", "cases", {"case_ref": f"{PREFIX}Total"}, ROW)
    return Line({"Baby / Ref": "Total", "Baby / 1st seen": refs}, (meant,), wrong=(("a total, which is no case", ROW),))


def fate(line: Line) -> str:
    """A line is accepted if anything of it is, else a repeat if anything of it is one, else set aside."""
    fates = {row.becomes for row in line.rows}
    return next(fate for fate in (KEPT, REPEAT, ROW) if fate in fates)
