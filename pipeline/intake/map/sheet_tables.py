"""Which sheet gives which rows: the sheets of an export and a mapping in, one SheetTable for each pair out.

An export in the layout is read through a mapping too, which is made here: each sheet named after a table gives that
table's rows, column by column under its own name. So there is one road from sheets to rows.
Refuses, all at once, of an export in the layout: two sheets for one table, no cases, a must-column that is missing, a
column twice.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from fnmatch import fnmatchcase

from pipeline.contracts import layout
from pipeline.contracts.layout import INTEGER
from pipeline.errors import Fault
from pipeline.intake.map.mapping import Mapping as ExportMapping
from pipeline.intake.map.mapping import Origin, Rows, reading_of
from pipeline.intake.map.shapes.repeated_columns import rows_on
from pipeline.intake.read.column_names import repeated
from pipeline.intake.read.sheet import Shape, Sheet
from pipeline.store import Remark

LAYOUT = ExportMapping(name="", source="", rows=())
# What an export does not tell for want of a table; of the others nothing has happened, then.
WITHOUT = {
    "requests": "families who asked and were never seen are not in it",
    "family_views": "nothing is known of what families felt",
}


@dataclass(frozen=True)
class SheetTable:
    """The rows of one table that one sheet gives: at most one a line, or one for each part of a cell that is split."""

    number: int
    table: layout.Table
    sheet: Sheet
    sheet_number: int  # its place among the sheets of the export, from 0
    rows: Rows

    @property
    def headers(self) -> Mapping[str, str]:
        """Layout column -> what the sheet calls it, where it is a column of the sheet."""
        return {name: origin.column for name, origin in self.rows.columns.items() if origin.column is not None}

    @property
    def split_header(self) -> str:
        """The sheet's column of which each part of a cell gives a row, if there is one."""
        return next((origin.column for origin in self.rows.columns.values() if origin.column and origin.split), "")

    def place(self, header: str) -> int:
        """The place of the sheet's column of that name among the fields, from 1 as SQL counts."""
        return self.sheet.header.index(header) + 1

    @property
    def shown_as(self) -> Mapping[str, str]:
        """Layout column -> how a person is told of it who knows the sheet and not the layout."""
        unsaid = ((name, origin.unsaid) for name, origin in self.rows.columns.items())
        return {**self.headers, **{name: f"{name} ({words})" for name, words in unsaid if words}}


@dataclass(frozen=True)
class Heading:
    """A column of a sheet, or with "" the sheet itself."""

    sheet: str
    column: str
    is_known: bool  # something reads it, or the mapping says that nothing is to


def sheet_tables(mapping: ExportMapping, sheets: Sequence[Sheet]) -> tuple[SheetTable, ...]:
    """Which sheet gives which rows, in the order of the layout's tables, then of the mapping, then of the sheets."""
    pairs = [
        (layout.table(rows.table), sheet, place, _as_on(sheet, on_it, reading_of(mapping, sheet.name).shape))
        for table in layout.tables()
        for rows in mapping.rows
        if rows.table == table.name
        for place, sheet in enumerate(sheets)
        if rows.is_of(sheet.name)
        for on_it in rows_on(rows, sheet.header)
    ]
    return tuple(SheetTable(number, *pair) for number, pair in enumerate(pairs))


def _as_on(sheet: Sheet, rows: Rows, shape: Shape) -> Rows:
    """The rows with each column by the one of its names that the sheet has, and numbers with the sheet's marks."""
    table = layout.table(rows.table)

    def name(column: str, others: Sequence[str]) -> str:
        return next((other for other in others if other in sheet.header), column)

    columns = {
        of: origin if origin.column is None else replace(origin, column=name(origin.column, origin.or_column))
        for of, origin in rows.columns.items()
    }
    for of, origin in columns.items():
        if origin.sheet_name:
            columns[of] = Origin(constant=(origin.codes or {}).get(sheet.name, sheet.name))
        if table.column(of).kind == INTEGER and origin.column is not None and not (origin.decimal or origin.thousands):
            columns[of] = replace(origin, decimal=shape.decimal, thousands=shape.thousands)
    when = tuple(replace(one, column=name(one.column, one.or_column)) for one in rows.when)
    return replace(rows, columns=columns, when=when)


def is_meant_for_the_layout(sheets: Sequence[Sheet]) -> bool:
    """Whether a sheet is named after a table and holds one of its columns at least."""
    return any({column.name for column in table.columns} & set(sheet.header) for table, sheet in _named(sheets))


def of_the_layout(sheets: Sequence[Sheet], allowing: ExportMapping = LAYOUT) -> ExportMapping:
    """The mapping that reads an export in the layout, with what `allowing` lets through the identifier screen."""
    rows = tuple(
        Rows(
            table.name,
            (sheet.name,),
            {column.name: Origin(column=column.name) for column in table.columns if column.name in sheet.header},
        )
        for table, sheet in _named(sheets)
    )
    return replace(allowing, rows=rows)


def layout_faults(sheets: Sequence[Sheet]) -> Iterator[Fault]:
    """What keeps the sheets from being an export in the layout."""
    named: dict[str, list[Sheet]] = {}
    for table, sheet in _named(sheets):
        named.setdefault(table.name, []).append(sheet)
    for name, those in named.items():
        if len(those) > 1:
            twice = f"two sheets for the table {name}: {' and '.join(sheet.file for sheet in those)}"
            yield Fault(those[0].file, twice, "one file or sheet a table", "take one of them out")
        for sheet in those:
            yield from _column_faults(layout.table(name), sheet)
    if "cases" not in named:
        there = ", ".join(sheet.file for sheet in sheets[:12]) or "nothing that can be read"
        wanted = "files or sheets named " + ", ".join(table.name for table in layout.tables())
        yield Fault("the export", f"no cases; it holds {there}", wanted, "give the whole export, or a mapping")


def _named(sheets: Sequence[Sheet]) -> Iterator[tuple[layout.Table, Sheet]]:
    names = {table.name: table for table in layout.tables()}
    return ((names[sheet.name.lower()], sheet) for sheet in sheets if sheet.name.lower() in names)


def _column_faults(table: layout.Table, sheet: Sheet) -> Iterator[Fault]:
    known = [column.name for column in table.columns]
    for name in repeated(sheet.header):
        if name in known:
            yield Fault(sheet.file, f"the column {name} stands twice", "each column once", "take one of them out")
    must = [column.name for column in table.columns if column.must and column.name not in sheet.header]
    if must:
        told = "; no column of the table is there"
        if set(known) & set(sheet.header):
            told = f"; the header is {','.join(sheet.header)[:200]}"
        allowed = "a first line with the column names of the layout (feeding-audit layout), or a mapping"
        mend = "export these columns too, or let feeding-audit suggest write a mapping"
        yield Fault(sheet.file, f"no column {', '.join(must)}{told}", allowed, mend)


def remarks(
    mapping: ExportMapping, given: Sequence[SheetTable], sheets: Sequence[Sheet], *, in_layout: bool
) -> Iterator[Remark]:
    """What they leave out: tables without rows, columns that nothing gives, columns and sheets not used.

    What an export in the layout holds beyond it is serious, unless it is left out on purpose: nobody reads it.
    """
    lacking = _lacks_the_second_version(given)
    if lacking is not None:
        yield lacking
    for table in layout.tables():
        if lacking is not None and table.since > 1:
            continue
        of_table = [sheet_table for sheet_table in given if sheet_table.table == table]
        if not of_table and table.name in WITHOUT:
            yield Remark(f"{table.name}: not in this export; {WITHOUT[table.name]}", serious=False)
            continue
        if not of_table:
            follows = "what it would hold counts as not having happened, so do not rely on figures that rest on it"
            yield Remark(f"{table.name}: not in this export; {follows}", serious=True)
            continue
        filled = {name for sheet_table in of_table for name in sheet_table.rows.columns}
        new = 1 if lacking is not None else layout.VERSION
        optional = [
            column.name
            for column in table.columns
            if not column.must and column.name not in filled and column.since <= new
        ]
        if optional:
            where = of_table[0].sheet.file if in_layout else table.name
            yield Remark(
                f"{where}: no column {', '.join(optional)}; it counts as not recorded throughout", serious=False
            )
        for sheet_table in of_table:
            for name, origin in sheet_table.rows.columns.items():
                if origin.days_old is not None:
                    day = f"the day the baby was {origin.days_old} days old"
                    text = f"{table.name}: {name} is no recorded date but {day}, as the mapping says"
                    yield Remark(text, serious=False)
    unknown = {
        (head.sheet, head.column) for head in headings(mapping, given, sheets) if in_layout and not head.is_known
    }
    for place, sheet in enumerate(sheets):
        of_sheet = [sheet_table for sheet_table in given if sheet_table.sheet_number == place]
        if not of_sheet:
            words = f"{sheet.file}: not a table of the layout and in no mapping, left out"
            yield Remark(words, serious=(sheet.name, "") in unknown)
            continue
        extra = [name for name in sheet.header if name not in _read(of_sheet)]
        for serious in (True, False):
            names = [name for name in extra if ((sheet.name, name) in unknown) == serious]
            if names:
                why = ": the layout has none of that name" if serious else ""
                yield Remark(f"{sheet.file}: extra column {', '.join(names)}, left out{why}", serious=serious)


def _read(of_sheet: Sequence[SheetTable]) -> set[str]:
    """The columns of a sheet that something reads."""
    deciding = {when.column for sheet_table in of_sheet for when in sheet_table.rows.when}
    units = {origin.unit for sheet_table in of_sheet for origin in sheet_table.rows.columns.values()}
    return deciding | units | {name for sheet_table in of_sheet for name in sheet_table.headers.values()}


def headings(mapping: ExportMapping, given: Sequence[SheetTable], sheets: Sequence[Sheet]) -> Iterator[Heading]:
    """Every column of every sheet, and each sheet itself, with the column ""."""
    for place, sheet in enumerate(sheets):
        of_sheet = [sheet_table for sheet_table in given if sheet_table.sheet_number == place]
        is_named = _matches(sheet.name, mapping.left_out_sheets)
        yield Heading(sheet.name, "", bool(of_sheet) or is_named)
        known = {*mapping.not_identifiers, *_read(of_sheet)}
        for name in filter(None, dict.fromkeys(sheet.header)):
            is_answered = name in known or f"{sheet.name.lower()}.{name}" in known
            is_known = is_named or is_answered or _matches(name, mapping.left_out_columns)
            yield Heading(sheet.name, name, is_known)


def _matches(name: str, patterns: Sequence[str]) -> bool:
    return any(fnmatchcase(name, pattern) for pattern in patterns)


def _lacks_the_second_version(given: Sequence[SheetTable]) -> Remark | None:
    """That an export is one of the layout's first version, said once, where it holds nothing that came since."""
    tables = {sheet_table.table.name: sheet_table.table for sheet_table in given}
    filled = {(sheet_table.table.name, name) for sheet_table in given for name in sheet_table.rows.columns}
    since = [(table.name, column.name) for table in tables.values() for column in table.columns if column.since > 1]
    if filled.intersection(since) or any(table.since > 1 for table in tables.values()):
        return None
    columns = ", ".join(dict.fromkeys(name for _, name in since))
    lacks = "; ".join([*WITHOUT.values(), f"{columns} count as not recorded throughout"])
    return Remark(f"an export of the first version of the layout: {lacks}", serious=False)
