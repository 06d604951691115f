"""Which column of a sheet gives which layout column, and how sure that is.

Comes in: sheets as they were seen. Goes out: for each, its table and its groups of choices (the parts of one [[rows]]).
Refuses to take a column that the identifier screen found, a name that does not fit its values, and one column twice.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import replace
from operator import itemgetter

from pipeline.contracts import layout
from pipeline.intake.identify.column_texts import RECORD_NUMBER
from pipeline.intake.suggest.choose import visits
from pipeline.intake.suggest.choose.choices import FITS, PARTLY, Choice, Chosen, Complication, Group, choice_of
from pipeline.intake.suggest.choose.kept_appointments import OF_ACTS, kept_of, without
from pipeline.intake.suggest.choose.one_check import join_checks
from pipeline.intake.suggest.choose.repeated_groups import together
from pipeline.intake.suggest.look.sheet_seen import SeenColumn, SeenSheet
from pipeline.intake.suggest.look.trade_words import (
    DOUBTFUL,
    FULL,
    VAGUE,
    Match,
    complication_of,
    matches,
    meaning,
    table_of_sheet,
    words_of,
)
from pipeline.intake.suggest.values import code_meanings
from pipeline.intake.suggest.values.code_meanings import ASKS, LIKELY, SURE
from pipeline.intake.suggest.values.fit import Fit, fit_of

_DISLIKED_NAME = f"the column's name says {RECORD_NUMBER}"  # as the screen says it
_RANK = {SURE: 0, LIKELY: 1, ASKS: 2}
_UNITS = frozenset(
    (
        *("g", "gr", "gm", "gms", "gram", "grams", "kg", "kgs", "kilo", "kilos", "kilogram", "kilograms"),
        *("lb", "lbs", "pound", "pounds", "oz", "ounce", "ounces"),
    )
)


def choose(sheets: Sequence[SeenSheet]) -> tuple[Chosen, ...]:
    """The choices of every sheet, in their order."""
    tables = [_table_of(sheet, alone=len(sheets) == 1) for sheet in sheets]
    if sheets and "cases" not in tables and "" in tables:
        tables[tables.index("")] = "cases"  # one sheet must be of the cases; that it is this one is asked by its lines
    return tuple(_choose(sheet, table) for sheet, table in zip(sheets, tables, strict=True))


def _table_of(sheet: SeenSheet, alone: bool) -> str:
    full = {table.name: 0 for table in layout.tables()}
    tell = set()
    for column in sheet.plain_columns:
        for match in matches(column.header, "cases"):
            if match.strength == FULL and match.column != "case_ref" and not match.label:
                full[match.table] += 1
                tell.add(match.column)
    if alone or {"first_contact_date", "age_days"} <= tell:
        return "cases"
    if named := table_of_sheet(sheet.name):
        return named
    if "first_contact_date" in tell or "age_days" in tell:
        return "cases"
    most = max(full.values())
    best = [table for table, count in full.items() if count == most and _case_ref(sheet, table)]
    return best[0] if most and len(best) == 1 else ""


def _choose(sheet: SeenSheet, table: str) -> Chosen:
    if not table:
        return Chosen(sheet, table, None, {}, ())
    case_ref = _case_ref(sheet, table)
    appointments = kept_of(sheet) if table in OF_ACTS else None
    left = [
        column for column in without(sheet.plain_columns, appointments) if not case_ref or column is not case_ref.column
    ]
    complications = tuple(_complications(left))
    apart = Chosen(sheet, table, None, {}, complications).used
    left = [column for column in left if column.header not in apart]
    repeats = _repeats(left) if table == "cases" else {}
    choices = [
        choice
        for column in left
        for match in (*matches(column.header, table), *repeats.get(column.header, ()))
        if match.column != "case_ref" and (match.table != "cases" or table == "cases")
        if (choice := choice_of(column, match))
    ]
    choices = [_with_units_beside(sheet, choice) for choice in choices]
    order = {column.header: at for at, column in enumerate(sheet.columns)}

    def rank(choice: Choice) -> tuple[bool, int, float, int, str]:
        match = choice.match
        return match.strength == DOUBTFUL, _RANK[choice.mark], -match.score, order[choice.column.header], match.column

    groups: dict[Group, dict[str, Choice]] = {}
    taken: set[str] = set()
    for choice in sorted(choices, key=rank):
        group = groups.setdefault((choice.match.table, choice.match.label), {})
        if choice.match.column in group or choice.column.header in taken:
            continue
        group[choice.match.column] = choice
        if choice.match.strength != DOUBTFUL:  # a doubtful name is asked about wherever it may belong
            taken.add(choice.column.header)
    if table == "cases":
        visits.place_first_contact(sheet, groups)
        visits.make_first_visit(sheet, groups)
        join_checks(groups)
    visits.doubt(sheet, table, groups)
    kept = together(sheet, {key: group for key, group in groups.items() if group})
    return Chosen(sheet, table, case_ref, kept, complications, appointments)


def _with_units_beside(sheet: SeenSheet, choice: Choice) -> Choice:
    """A weight is read with the units that another column of the sheet holds: not all of it need be of one."""
    if choice.match.column not in ("birth_weight_g", "weight_g"):
        return choice
    for other in sheet.plain_columns:
        if other.counts and _UNITS.issuperset(text.casefold().rstrip(".") for text in other.counts):
            fit = replace(choice.fit, ways=((("as", "weight"), ("unit", other.header)),))
            if _UNITS & set(re.split(r"[^a-z]+", choice.column.header.casefold())):
                why = f'its name says a unit, and the column "{other.header}" holds units: which is right?'
                return replace(choice, mark=ASKS, why=why, fit=fit)
            return replace(choice, mark=LIKELY, why=f'the column "{other.header}" holds units', fit=fit)
    return choice


def _case_ref(sheet: SeenSheet, table: str) -> Choice | None:
    wanted = layout.table("cases").column("case_ref")
    rated: list[tuple[float, int, Choice]] = []
    for at, column in enumerate(sheet.plain_columns):
        for match in matches(column.header, "cases"):
            if match.column != "case_ref":
                continue
            its_fit = fit_of(column.header, column.counts, wanted, table == "cases")
            if match.strength == VAGUE and its_fit.share < FITS:
                continue
            whole = match.strength == FULL and its_fit.share >= FITS and its_fit.sure
            mark = SURE if whole else LIKELY if its_fit.share >= PARTLY else ASKS
            why = f"{'the name' if match.strength == FULL else 'a part of the name'}; {its_fit.said}"
            rated.append((-match.score * its_fit.share, at, Choice(column, match, its_fit, mark, why)))
    if not rated:
        rated = [(0.0, at, choice) for at, choice in enumerate(_called_a_record_number(sheet))]
    if rated or table != "cases":
        return min(rated, key=itemgetter(0, 1))[2] if rated else None
    numbered = [column for column in sheet.plain_columns if _numbers_each_line(sheet, column)]
    if len(numbered) != 1:
        return None
    why = f"the only number, and another in each of {len(sheet.lines)} lines"
    match = Match("cases", "case_ref", VAGUE, PARTLY)
    return Choice(numbered[0], match, fit_of(numbered[0].header, numbered[0].counts, wanted, True), LIKELY, why)


def _called_a_record_number(sheet: SeenSheet) -> Iterator[Choice]:
    """Columns called as a pseudonym is, of which the screen dislikes the name only: their values are not looked at."""
    for column in sheet.columns:
        named = [match for match in matches(column.header, "cases") if match.column == "case_ref"]
        if column.header_is_safe and column.identifier == _DISLIKED_NAME and named and named[0].strength == FULL:
            why = "the name; no load takes it until [not_identifiers] says why it names nobody"
            yield Choice(column, named[0], Fit(1.0, ""), LIKELY, why)


def _numbers_each_line(sheet: SeenSheet, column: SeenColumn) -> bool:
    """“Book no”: its name ends as a number's does, and no two lines have the same; dates have other names."""
    ends_so = words_of(column.header)[-1:] in (("number",), ("no",), ("id",), ("reference",))
    each_its_own = len(column.counts) == sum(column.counts.values()) == len(sheet.lines)
    return ends_so and each_its_own and max(map(len, column.counts), default=99) <= 64


def _complications(columns: Sequence[SeenColumn]) -> Iterator[Complication]:
    """The yes/no columns of single complications."""
    yes_no = layout.table("procedures").column("consent_recorded")
    noted = layout.table("complications").column("noted_date")
    for column in columns:
        kind, is_date = complication_of(column.header)
        says = code_meanings.yes_values(column.counts, yes_no)
        if not kind or is_date or says.share < PARTLY:
            continue
        date = None
        for other in columns:
            if complication_of(other.header) == (kind, True):
                date = choice_of(other, Match("complications", noted.name, FULL, 1.0, kind))
        yield Complication(kind, column, says, date)


def _repeats(columns: Sequence[SeenColumn]) -> dict[str, list[Match]]:
    """“Date”, “By”, “Date (2)”, “By (2)” side by side: likely contacts, where a date is among them."""
    headers = [column.header for column in columns]
    again = {header: parts for header in headers if (parts := re.fullmatch(r"(.+) \((\d{1,2})\)", header))}
    bases = {parts[1] for parts in again.values() if parts[1] in headers}
    if not any(meaning(base) == {"date"} for base in bases):
        return {}
    possible: dict[str, list[Match]] = {}
    for header in headers:
        base, label = (again[header][1], again[header][2]) if header in again else (header, "1")
        if base not in bases:
            continue
        for match in matches(base, "contacts"):
            if match.table == "contacts" and match.column != "case_ref":
                possible.setdefault(header, []).append(Match("contacts", match.column, VAGUE, 0.7 * match.score, label))
    return possible
