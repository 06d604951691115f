"""What an export lacks for a mapping: the sheets and columns that the mapping names and the export has not.

Comes in: a mapping, and the names of the sheets and of their columns. Goes out: faults with the line of the mapping.
Refuses to print a name that the identifier screen has not passed.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence
from collections.abc import Mapping as Map
from fnmatch import fnmatchcase

from pipeline.contracts import layout
from pipeline.errors import Fault, nearest
from pipeline.intake.map.mapping import Mapping, Place, Rows, line_of, lines_of, pattern_of, reading_of
from pipeline.intake.map.shapes.repeated_columns import repeated_names, rows_on


def fits(mapping: Mapping, sheets_by_name: Map[str, Sequence[str]], unsaid: Collection[str] = ()) -> tuple[Fault, ...]:
    """What an export, given as the header of each sheet, lacks for the mapping.

    A fault may hold names of sheets and columns, but none of `unsaid`.
    """
    lines = lines_of(mapping.text)
    faults: dict[tuple[str, str], Fault] = {}
    said = [sheet for sheet in sheets_by_name if sheet not in unsaid]

    def add(place: Place, sheet: str, column: str, found: str, allowed: str) -> None:
        where = f"{mapping.name}.toml, line {line_of(lines, place)}"
        mend = "correct the name in the mapping, or give the export that the mapping is for"
        faults.setdefault((sheet, column), Fault(where, found, allowed, mend))

    for name, reading in mapping.readings.items():
        # A mapping for exports in the layout may speak of a table that happens to be empty this time.
        may_be_missing = not mapping.rows and any(name.lower() == table.name for table in layout.tables())
        if not may_be_missing and not any(fnmatchcase(sheet, pattern_of(name)) for sheet in sheets_by_name):
            add(("sheets", name), name, "", *_no_sheet(name, said))
        for sheet, header in sheets_by_name.items():
            filled = reading.shape.fill_down if reading_of(mapping, sheet) is reading else ()
            for column in (column for column in filled if column not in header):
                like = nearest(column, [name for name in header if name not in unsaid])
                found = f"{f'the sheet {sheet}' if sheet in said else 'a sheet'} has no column {column}"
                add(("sheets", name, "fill_down"), sheet, column, found, f"a column of that sheet{like}")
    for number, rows in enumerate(mapping.rows):
        for pattern in rows.sheets:
            if not any(fnmatchcase(sheet, pattern) for sheet in sheets_by_name):
                written = pattern.replace("[[]", "[").replace("[?]", "?")
                add(("rows", number, "sheet"), written, "", *_no_sheet(written, said))
        for sheet in filter(rows.is_of, sheets_by_name):
            which = f"the sheet {sheet}" if sheet in said else "a sheet"
            sayable = [name for name in sheets_by_name[sheet] if name not in unsaid]
            of_sheet = rows_on(rows, sheets_by_name[sheet])
            if not of_sheet:
                names = repeated_names(rows)
                found = f"{which} has no column {' or '.join(names)}, {rows.repeat} being a number"
                like = nearest(names[0].replace(rows.repeat, "1"), sayable)
                add(("rows", number, "repeat"), sheet, names[0], found, f"one of them at least{like}")
            for place, names in [column for on_it in of_sheet for column in _columns_of(on_it)]:
                there = [name for name in names if name in sheets_by_name[sheet]]
                if not there:
                    like = nearest(names[0], sayable) or nearest(names[-1], sayable)
                    found = f"{which} has no column {' or '.join(names)}"
                    add(("rows", number, *place), sheet, names[0], found, f"a column of that sheet{like}")
                if len(there) > 1:
                    told = " and ".join(name for name in there if name in sayable) or "more than one of its names"
                    found = f"{which} has several of the columns {' or '.join(names)}: {told}"
                    add(("rows", number, *place), sheet, names[0], found, "exactly one of them on a sheet: say which")
    return tuple(faults.values())


def _no_sheet(name: str, sheets: Iterable[str]) -> tuple[str, str]:
    return f"the export has no sheet {name}", f"one of its sheets, * standing for any text{nearest(name, sheets)}"


def _columns_of(rows: Rows) -> Iterator[tuple[Place, tuple[str, ...]]]:
    for name, origin in rows.columns.items():
        if origin.column is not None:
            yield ("columns", name), (origin.column, *origin.or_column)
        if origin.unit:
            yield ("columns", name, "unit"), (origin.unit,)
    for when in rows.when:
        yield ("when",), (when.column, *when.or_column)
