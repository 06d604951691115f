"""Which dates of a sheet are which visit, where their names say little.

Comes in: the groups of choices of a sheet. Changes them: a vague date becomes the first contact where the order of the
dates says so, and what rests on a vague date alone, or is a visit that stands there already, asks. Refuses to be sure.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from pipeline.intake.suggest.choose.choices import Choice, Group, choice_of
from pipeline.intake.suggest.look.sheet_seen import SeenSheet
from pipeline.intake.suggest.look.trade_words import FULL, VAGUE, Match, matches, meaning
from pipeline.intake.suggest.values import date_order
from pipeline.intake.suggest.values.code_meanings import ASKS, LIKELY


def place_first_contact(sheet: SeenSheet, groups: dict[Group, dict[str, Choice]]) -> None:
    """A vague date that lies where the first contact must lie likely is that, and no further contact."""
    cases = groups.setdefault(("cases", ""), {})
    named = cases.get("first_contact_date")
    if named and named.match.strength == FULL:
        return
    alone = groups.get(("contacts", ""), {})
    vague = [alone["contact_date"]] if "contact_date" in alone and _may_be_first(alone) else []
    vague += [named] if named else []
    later = [group["contact_date"] for (table, label), group in groups.items() if label and "contact_date" in group]
    later += [group["procedure_date"] for group in groups.values() if "procedure_date" in group]
    earlier = [cases["help_requested_date"]] if "help_requested_date" in cases else []
    first = date_order.first_contact(sheet, _dated(vague), _dated(earlier), _dated(later))
    if first is None:
        return
    column, said = first
    choice = choice_of(column, Match("cases", "first_contact_date", VAGUE, 0.5))
    if choice and choice.mark != ASKS:
        cases["first_contact_date"] = replace(
            choice, mark=LIKELY, why=f"the order of the dates: {said}; {choice.fit.said}"
        )
        if "contact_date" in alone and column is alone["contact_date"].column:
            del alone["contact_date"]
            if not alone:
                del groups["contacts", ""]


def _may_be_first(contact: Mapping[str, Choice]) -> bool:
    """A lone date, or one called so that it may be the first: “Date seen”."""
    header = contact["contact_date"].column.header
    named = any(match.column == "first_contact_date" for match in matches(header, "cases"))
    return len(contact) == 1 or named


def make_first_visit(sheet: SeenSheet, groups: dict[Group, dict[str, Choice]]) -> None:
    """“Seen by” in a sheet of babies, with the first contact's day nearest before it, is who was there on that day."""
    first = groups.get(("cases", ""), {}).get("first_contact_date")
    visit = groups.get(("contacts", ""), {})
    if first is None or first.mark == ASKS or ("contacts", "1") in groups:
        return
    match = Match("contacts", "contact_date", VAGUE, 0.5)
    why = f"the first contact, and who was there stands behind it; {first.fit.said}"
    day = replace(first, match=match, mark=LIKELY, why=why)
    if "practitioner" in visit:
        if "contact_date" not in visit and visit["practitioner"].mark != ASKS:
            visit["contact_date"] = day
        return
    choices = {choice.column.header: choice for group in groups.values() for choice in group.values()}
    nearest = None
    for column in sheet.plain_columns:
        choice = choices.get(column.header)
        nearest = choice if choice and choice.fit.dates else nearest
        if meaning(column.header) != {"practitioner"} or choice or nearest is None:
            continue
        by = choice_of(column, Match("contacts", "practitioner", VAGUE, 0.5))
        if by and nearest.column is first.column:
            groups["contacts", ""] = {**visit, "contact_date": day, "practitioner": by}
            return


def _dated(choices: Sequence[Choice]) -> list[date_order.Dated]:
    return [dates for choice in choices if choice.mark != ASKS and (dates := date_order.dated(choice.column))]


def doubt(sheet: SeenSheet, table_of_sheet: str, groups: dict[Group, dict[str, Choice]]) -> None:
    """What rests on one vague name alone asks, and so does a contact that is likely another one over again."""
    for (table, _), group in groups.items():
        lone = next(iter(group.values())) if len(group) == 1 else None
        first_is_missing = table == "contacts" and "first_contact_date" not in groups.get(("cases", ""), {})
        if lone and table not in ("cases", table_of_sheet) and lone.mark != ASKS:
            vague = lone.match.strength == VAGUE and (table == "contacts" or not lone.match.label)
            repeated = table_of_sheet not in ("", "cases")  # a line for each of something else: its day may stand twice
            if lone.fit.dates and repeated:
                why = f"this sheet is of {table_of_sheet}; does it say of all {table}, and each once? {lone.fit.said}"
                group[lone.match.column] = replace(lone, mark=ASKS, why=why, again=True)
            elif lone.fit.dates and (vague or (first_is_missing and not lone.match.label)):
                why = f"a date whose name says little, and nothing beside it: is it of {table}? {lone.fit.said}"
                group[lone.match.column] = replace(lone, mark=ASKS, why=why, again=True)
        if (table, table_of_sheet) == ("contacts", "cases") and "contact_date" not in group:
            for name, choice in group.items():
                why = choice.why if choice.mark == ASKS else f"no day of that contact was found; {choice.why}"
                group[name] = replace(choice, mark=ASKS, why=why)
    contacts = {label: group for (table, label), group in groups.items() if table == "contacts" and _dated(_of(group))}
    by_weight = sorted(contacts, key=lambda label: (-len(contacts[label]), not label))
    same = date_order.same_visits(sheet, {label: _dated(_of(contacts[label]))[0] for label in by_weight})
    for label, why in same.items():
        for name, choice in contacts[label].items():
            contacts[label][name] = replace(choice, mark=ASKS, why=f"likely the same visit: {why}", again=True)


def _of(group: Mapping[str, Choice]) -> list[Choice]:
    return [group["contact_date"]] if "contact_date" in group else []
