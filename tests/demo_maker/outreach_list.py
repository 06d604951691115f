"""The outreach team's second sheet: the babies it was asked to see and has not seen, line by line.

Comes in: the demo's own requests, under the seed and the cut-off of this team, and the lines of its caseload. Goes out:
the lines below the names, with what each means and what should become of it. Refuses: a fault on more than one line.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from random import Random

from tests.demo_maker.chance import stream
from tests.demo_maker.fault import REPEAT, ROW, VALUE
from tests.demo_maker.never_seen import request
from tests.demo_maker.outreach import DRAWN, PREFIX, SEED, TEAM, VOLUMES, Row
from tests.demo_maker.outreach_lines import Line, fate
from tests.demo_maker.outreach_sheet import KEPT, Cells, Meant, dated, number, spelled
from tests.demo_maker.outreach_words import CAME_OF_IT, CAME_VIA, ETHNIC, MARKS

FIRST_ON_THE_LIST = 901  # so far from the numbers of the caseload that the two never meet


def list_lines(caseload: Sequence[Line]) -> tuple[Line, ...]:
    """One line for each request, one of a baby seen since, and one written twice."""
    rows = []
    for quarter in VOLUMES:
        draw = stream(SEED, f"outreach/{quarter}/request")
        rows.append(request(draw, f"{PREFIX}{FIRST_ON_THE_LIST + len(rows)}", TEAM.name, quarter, DRAWN))
    lines = [listed(stream(SEED, f"list/{row['case_ref']}"), row) for row in rows]
    lines[1] = unplain(lines[1])
    again = replace(lines[3].rows[0], becomes=REPEAT)
    lines.append(replace(lines[3], rows=(again,), wrong=(("an earlier line once more", REPEAT),)))
    lines.append(seen_since(next(line for line in reversed(caseload) if "Baby / Asked for help" in line.cells)))
    return tuple(replace(line, becomes=fate(line)) for line in lines)


def listed(draw: Random, row: Row) -> Line:
    """A request as the team writes it down; for one who waits the last two columns are mostly empty."""
    cells: Cells = {
        "Ref": int(row["case_ref"].removeprefix(PREFIX)),
        "Asked on": dated(draw, row["request_date"]),
        "Came via": spelled(draw, CAME_VIA, row["referral_source"]),
        "Ethnic": spelled(draw, ETHNIC, row["ethnic_group"]),
        "Decile": number(row["deprivation_decile"]),
        "Interpreter": spelled(draw, MARKS, row["interpreter_needed"]),
        "What came of it": spelled(draw, CAME_OF_IT, row["outcome"]),
        "On": dated(draw, row["outcome_date"]),
    }
    return Line(
        {column: cell for column, cell in cells.items() if cell != ""}, (Meant("request", "requests", row, KEPT),)
    )


def unplain(line: Line) -> Line:
    """What came of it is a word that no list has."""
    (row,) = line.rows
    meant = replace(row, values={**row.values, "outcome": ""}, set_aside=("outcome",))
    told = (("What came of it is sorted?: in no list", f"{VALUE}: outcome"),)
    return replace(line, cells={**line.cells, "What came of it": "sorted?"}, rows=(meant,), wrong=told)


def seen_since(line: Line) -> Line:
    """A baby of the caseload that nobody has struck off the list."""
    case = line.rows[0].values
    row = {"case_ref": case["case_ref"], "site": TEAM.name, "request_date": case["help_requested_date"]}
    return Line(
        {"Ref": line.cells["Baby / Ref"], "Asked on": line.cells["Baby / Asked for help"]},
        (Meant("request", "requests", row, ROW),),
        wrong=(("a baby that has been seen, and is on the sheet Caseload", ROW),),
    )
