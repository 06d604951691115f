"""How an export is to be read: its contents and the audit folder's mappings in, a mapping and the sheets out.

The mapping that is named, if one is; else none, where the export is in the layout; else the one mapping that names only
sheets and columns the export has. Never a guess between two. Refuses: none that fits, several that fit, one named that
does not; beside what the identifier screen finds. No word of the export is printed that the screen has not passed.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from pipeline.contracts import layout
from pipeline.errors import Fault, Refused
from pipeline.intake import screen
from pipeline.intake.map import sheet_tables
from pipeline.intake.map.mapping import Mapping as ExportMapping
from pipeline.intake.map.mapping import pattern_of, reading_of
from pipeline.intake.map.mapping_file import ENDING, read_mapping
from pipeline.intake.map.mapping_text import single_spaced
from pipeline.intake.map.shapes.fits import fits
from pipeline.intake.map.shapes.sheet_lines import shaped
from pipeline.intake.read.contents import Contents
from pipeline.intake.read.sheet import Reading, Shape, Sheet
from pipeline.intake.read.sheet_reader import read_sheet
from pipeline.progress import Progress
from pipeline.settings import Settings
from pipeline.store.audit_folder import MAPPINGS


@dataclass(frozen=True)
class Chosen:
    """The mapping and the sheets as it reads them; what could not be read, and why."""

    mapping: ExportMapping
    sheets: tuple[Sheet, ...]
    not_read: tuple[str, ...]
    in_layout: bool


@dataclass(frozen=True)
class Known:
    """The mappings that may be used, whether one of them was named, and those of the folder that cannot be read."""

    mappings: tuple[ExportMapping, ...] = ()
    is_named: bool = False
    broken: tuple[Refused, ...] = ()


def known_mappings(folder: Path, name: str | None) -> Known:
    """The mappings of an audit folder, or the one of that name. Raises Refused where that one is not there or broken.

    One that is half written stands in nobody's way but its own.
    """
    paths = {path.stem: path for path in sorted((folder / MAPPINGS).glob(f"*{ENDING}"))}
    if name is not None:
        path = paths.get(name.removesuffix(ENDING))
        if path is None:
            there = ", ".join(paths) or "there is none yet"
            mend = "name one of those, or write one: feeding-audit suggest EXPORT"
            raise Refused(Fault("--mapping", name, f"a mapping of the audit folder ({MAPPINGS}/): {there}", mend))
        return Known((read_mapping(path),), is_named=True)
    read, broken = [], []
    for path in paths.values():
        try:
            read.append(read_mapping(path))
        except Refused as refused:
            broken.append(refused)
    return Known(tuple(read), broken=tuple(broken))


def choose(
    contents: Contents, known: Known, encoding: str | None, watch: Progress, settings: Settings | None
) -> Chosen:
    """Choose and screen. The settings answer what the mapping may too: why a column names nobody, what is left out.

    Raises Refused.
    """
    ways = _Ways(contents, encoding)
    is_one = known.is_named and bool(known.mappings[0].rows)
    fitting = _whole(ways, known.mappings) if is_one else _fitting(ways, known.mappings)
    chosen = fitting[0] if fitting else _nearest(ways, known)
    mapping = chosen.mapping if settings is None else _answered(chosen.mapping, settings)
    chosen = replace(chosen, mapping=mapping)
    watch.stage("looking for personal identifiers")
    screened = screen.look_through(chosen.sheets, chosen.mapping)
    faults: list[Fault] = []
    if len(fitting) > 1:
        found = "several mappings fit it: " + ", ".join(way.mapping.name for way in fitting)
        faults.append(Fault(contents.name, found, "one of them", "say which: --mapping NAME"))
    elif not fitting:
        faults += _why_none(contents.name, chosen, known, screened)
    # What is wrong with the mapping comes first: the screen asks less of an export that a mapping fits.
    faults += screened.faults
    if faults:
        raise Refused(faults)
    sheets = tuple(shaped(sheet, reading_of(mapping, sheet.name).shape) for sheet in chosen.sheets)
    return replace(chosen, sheets=sheets, not_read=(*chosen.not_read, *(_unused(refused) for refused in known.broken)))


def _answered(mapping: ExportMapping, settings: Settings) -> ExportMapping:
    out = {key: tuple(pattern_of(single_spaced(name)) for name in names) for key, names in settings.left_out.items()}
    return replace(
        mapping,
        not_identifiers={**settings.not_identifiers, **mapping.not_identifiers},
        left_out_sheets=(*mapping.left_out_sheets, *out.get("sheets", ())),
        left_out_columns=(*mapping.left_out_columns, *out.get("columns", ())),
    )


def _unused(broken: Refused) -> str:
    number = len(broken.faults)
    where = broken.faults[0].where.split(",")[0]
    return (
        f"the mapping {where} cannot be read yet ({number} thing{'s' if number > 1 else ''} to mend), so it is not used"
    )


def _fitting(ways: _Ways, options: Sequence[ExportMapping]) -> list[Chosen]:
    """The ways in which the export can be read whole: the layout, else every mapping whose columns are all there."""
    plain = ways.under(sheet_tables.LAYOUT)
    if sheet_tables.is_meant_for_the_layout(plain.sheets) and not list(sheet_tables.layout_faults(plain.sheets)):
        columns = {name for sheet in plain.sheets for name in sheet.header}
        allowing = [option for option in options if not option.rows and set(option.not_identifiers) <= columns]
        mapping = sheet_tables.of_the_layout(plain.sheets, allowing[0] if len(allowing) == 1 else sheet_tables.LAYOUT)
        return [replace(plain, mapping=mapping)]
    return _whole(ways, options)


def _whole(ways: _Ways, options: Sequence[ExportMapping]) -> list[Chosen]:
    """The export under every mapping of which all sheets and columns are there."""
    read = [ways.under(mapping) for mapping in options if mapping.rows]
    return [way for way in read if not fits(way.mapping, _headers(way.sheets))]


def _nearest(ways: _Ways, known: Known) -> Chosen:
    """An export that nothing fits, as it is most likely meant: what is wrong with it is said of this reading."""
    plain = ways.under(sheet_tables.LAYOUT)
    if sheet_tables.is_meant_for_the_layout(plain.sheets) and not known.is_named:
        return plain
    read = [ways.under(mapping) for mapping in known.mappings if mapping.rows]
    return min(read, key=lambda way: len(fits(way.mapping, _headers(way.sheets))), default=plain)


def _why_none(name: str, way: Chosen, known: Known, screened: screen.Screened) -> list[Fault]:
    """What to do with an export that nothing fits: mend it if it is meant for the layout, else the mapping, or one."""
    broken = [fault for refused in known.broken for fault in refused.faults]
    if way.mapping.rows:
        return [*fits(way.mapping, _headers(way.sheets), screened.unsaid), *broken]
    if not way.sheets or (sheet_tables.is_meant_for_the_layout(way.sheets) and not known.is_named):
        return [] if screened.unsaid else list(sheet_tables.layout_faults(way.sheets))
    if broken or screened.faults:
        return broken
    there = ", ".join(sheet.file for sheet in way.sheets[:12])
    found = f"it is not in the export layout, and there is no mapping for it; it holds {there}"
    mend = "write a first mapping: feeding-audit suggest EXPORT"
    allowed = "an export in the layout (feeding-audit layout), or one that a mapping fits"
    return [Fault(name, found, allowed, mend)]


def _headers(sheets: Sequence[Sheet]) -> Mapping[str, Sequence[str]]:
    return {sheet.name: sheet.header for sheet in sheets}


class _Ways:
    """The contents, read in each way that is asked for, each once."""

    def __init__(self, contents: Contents, encoding: str | None) -> None:
        self._contents, self._encoding = contents, encoding
        self._read: dict[tuple[int, Reading], Sheet | Refused] = {}

    def under(self, mapping: ExportMapping) -> Chosen:
        """The sheets as the mapping reads them. Raises Refused where one it needs cannot be read."""
        sheets: list[Sheet] = []
        faults: list[Fault] = []
        not_read = list(self._contents.not_read)
        for name, refused in self._contents.broken:
            if self._is_needed(name, mapping):
                faults += refused.faults
            else:
                not_read += [f"{fault.where}: {fault.found}; not read" for fault in refused.faults]
        for place, content in enumerate(self._contents.contents):
            sheet = self._sheet(place, reading_of(mapping, content.name))
            if isinstance(sheet, Sheet):
                sheets.append(sheet)
            elif self._is_needed(content.name, mapping):
                faults += sheet.faults
            else:
                not_read.append(f"{content.file}: {sheet.faults[0].found}; not read")
        if faults:
            raise Refused(faults)
        return Chosen(mapping, tuple(sheets), tuple(not_read), not mapping.rows)

    def _is_needed(self, name: str, mapping: ExportMapping) -> bool:
        if len(self._contents.contents) + len(self._contents.broken) == 1:
            return True
        if not mapping.rows:
            return name.lower() in {table.name for table in layout.tables()}
        return any(rows.is_of(name) for rows in mapping.rows)

    def _sheet(self, place: int, reading: Reading) -> Sheet | Refused:
        reading = replace(reading, shape=Shape(), encoding=self._encoding or reading.encoding)
        if (place, reading) not in self._read:
            try:
                self._read[place, reading] = read_sheet(self._contents.contents[place], reading)
            except Refused as refused:
                self._read[place, reading] = refused
        return self._read[place, reading]
