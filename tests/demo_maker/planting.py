"""Plants the declared faults in sound rows.

Comes in: the sound rows of every table. Goes out: the same rows as lines-to-be, each fault on its own case, with
the rows that go with a case set aside marked too. Refuses: a fault that no row suits, and two faults on one case.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from tests.demo_maker.episode import DAYS, Rows
from tests.demo_maker.family_faults import FAMILY_FAULTS
from tests.demo_maker.fault import ROW, Case, Fault, Values
from tests.demo_maker.faults import FAULTS


@dataclass(frozen=True)
class Row:
    """One line-to-be, with the fault it carries, if any."""

    values: Values
    fault: Fault | None = None
    number: int = 0  # of the fault; 0: a sound row
    wrong: str = ""
    becomes: str = ""


Sheets = dict[str, list[Row]]


def planted(tables: Mapping[str, Rows], faults: Sequence[Fault] = (*FAULTS, *FAMILY_FAULTS)) -> Sheets:
    """All rows, the faults among them."""
    cases = cases_of(tables)
    sheets = {table: [Row(values) for values in rows] for table, rows in tables.items()}
    taken: set[str] = set()
    for number, fault in enumerate(faults, 1):
        plant(sheets, cases, taken, fault, number)
    mark_rows_of_lost_cases(sheets)
    return sheets


def cases_of(tables: Mapping[str, Rows]) -> dict[str, Case]:
    """The rows of each case, and of each request that led to none, by table."""
    cases: dict[str, dict[str, list[Values]]] = {
        row["case_ref"]: {table: [] for table in DAYS} for row in (*tables["cases"], *tables["requests"])
    }
    for table, rows in tables.items():
        for row in rows:
            cases[row["case_ref"]][table].append(row)
    return dict(cases)


def plant(sheets: Sheets, cases: Mapping[str, Case], taken: set[str], fault: Fault, number: int) -> None:
    """Put one fault on the first row it suits."""
    rows = sheets[fault.table]
    start = int(fault.at * len(rows))
    for place in (*range(start, len(rows)), *range(start)):
        values = rows[place].values
        case_ref = values["case_ref"]
        if case_ref in taken or case_ref not in cases or not fault.fits(values, cases[case_ref]):
            continue
        taken.add(case_ref)
        spoilt = Row(fault.change(values, cases[case_ref]), fault, number, fault.wrong, fault.becomes)
        if not fault.into:
            rows[place] = spoilt
            return
        if fault.both:
            rows[place] = replace(rows[place], number=number, wrong=fault.wrong, becomes=fault.becomes)
        into = sheets[fault.into]
        into.insert(place_of(into, fault, spoilt, place), spoilt)
        return
    raise ValueError(f"no row of {fault.table} suits fault {number}: {fault.wrong}")


def place_of(into: Sequence[Row], fault: Fault, spoilt: Row, place: int) -> int:
    """Right after the row found; in another file where its day belongs; or last."""
    if fault.last:
        return len(into)
    if fault.into == fault.table:
        return place + 1
    day = DAYS[fault.into]
    return next((place for place, row in enumerate(into) if row.values[day] > spoilt.values[day]), len(into))


def mark_rows_of_lost_cases(sheets: Sheets) -> None:
    """The other rows of a case that is set aside go with it."""
    lost = {row.values["case_ref"]: row.number for row in sheets["cases"] if row.becomes == ROW}
    for table, rows in sheets.items():
        for place, row in enumerate(rows):
            number = lost.get(row.values["case_ref"])
            if table != "cases" and number is not None and row.number == 0:
                rows[place] = replace(row, number=number, wrong="row of a case that was set aside", becomes=ROW)
