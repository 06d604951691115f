"""The lines for a column that the layout must have and that no name of the sheet says.

Comes in: what was chosen of a sheet, and the layout column. Goes out: a line for each left-over column that may be it,
or a line with question marks, all of them comments. Refuses to answer.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace

from pipeline.contracts.layout import DATE, INTEGER, Column
from pipeline.intake.suggest.choose.choices import Chosen, Group
from pipeline.intake.suggest.look.sheet_seen import SeenColumn
from pipeline.intake.suggest.look.trade_words import FULL, days_old_of, matches, meaning
from pipeline.intake.suggest.toml.toml_lines import OPEN, Line, key, origin, quoted
from pipeline.intake.suggest.values import date_styles
from pipeline.intake.suggest.values.code_meanings import ASKS, meanings_of
from pipeline.intake.suggest.values.date_order import between, dated
from pipeline.intake.suggest.values.date_styles import DateStyles
from pipeline.intake.suggest.values.fit import Way, fit_of

Candidate = tuple[str, Way, str]  # column of the sheet, how it is read, what speaks for it
_MOST_DIFFERENT = 30
_NEAR = {
    "contacts": "first_contact_date",
    "assessments": "first_contact_date",
    "complications": "procedure_date",
    "family_views": "check_date",
}
_DAYS = {
    "first_contact_date": "the day of the first contact",
    "procedure_date": "the day of the division",
    "contact_date": "the day of one contact",
    "check_date": "the day on which feeding was asked about",
    "": "",
}
_HELP = "was every one of these contacts help with positioning and attachment? if so, write yes"


def asked(chosen: Chosen, group: Group, column: Column) -> list[Line]:
    """The lines of a column for which none was found by its name."""
    table, label = group
    if column.name == "attachment_help":
        return [Line(f"attachment_help = {{ constant = {OPEN} }}", ASKS, _HELP)]
    if column.name == "provider":
        return _provider(chosen, group, column)
    if table == "feeding_checks" and (days := days_old_of(label or "week6")) and chosen.table == "cases":
        why = (
            f"no column was found with the day of the answer; so written, the day the baby was {days} days old "
            "counts as that day (from first_contact_date and age_days of the same line)"
        )
        dated_after = [candidate for candidate in _candidates(chosen, table, column) if "on or" in candidate[2]]
        own = [Line(f"{column.name} = {{ days_old = {days} }}", ASKS, why, column.must)]
        if not dated_after:
            return own
        asked_on = _lines(column, dated_after, "no column was found by its name; it may be ")
        return [*asked_on, replace(own[0], why=f"or, only if nobody wrote the day down: {why}")]
    lines = _lines(column, list(_candidates(chosen, table, column)), "no column was found by its name; it may be ")
    if column.name == "site" and chosen.sheet.names:
        why = f"{'or ' if lines else ''}the name of the sheet that a row stands on, if these sheets are sites"
        lines.append(Line("site = { sheet_name = true }", ASKS, why, column.must))
    if column.name in ("site", "practitioner", "operator"):
        why = "or the same in every row: write it" if lines else "no column was found: write what it is in every row"
        lines.append(Line(f"{column.name} = {{ constant = {OPEN} }}", ASKS, why, column.must))
    if not lines:
        what = "completed days old on the day of first contact" if column.name == "age_days" else column.allowed
        lines = [Line(f"{column.name} = {OPEN}", ASKS, f"no column was found that could be it; {what}", column.must)]
    return lines


def _provider(chosen: Chosen, group: Group, column: Column) -> list[Line]:
    """Whether those were other services, where the column of who divided holds such words as elsewhere or private."""
    operator = chosen.groups.get(group, {}).get("operator")
    meanings = meanings_of(operator.column.counts, column).codes if operator else ()
    others = [code.written for code in meanings if code.meant in ("other_service", "private")]
    if operator is None or not others:
        return []
    codes = ", ".join(f"{key(code.written)} = {quoted(code.meant or 'own')}" for code in meanings)
    why = f"did another service divide where it says {' or '.join(map(quoted, others))}? harm is then theirs"
    return [Line(f"provider = {{ column = {quoted(operator.column.header)}, codes = {{ {codes} }} }}", ASKS, why)]


def _lines(column: Column, candidates: list[Candidate], why: str) -> list[Line]:
    return [
        Line(
            f"{column.name} = {origin(header, way)}",
            ASKS,
            (f"{why}this one" if at == 0 else "or this one") + (f" ({said})" if said else ""),
            column.must,
        )
        for at, (header, way, said) in enumerate(candidates)
    ]


def _candidates(chosen: Chosen, table: str, column: Column) -> Iterator[Candidate]:
    """Every left-over column of the fitting kind, and what is near where there is none of its own."""
    yield from _identifiers(chosen, table, column)
    left = [other for other in chosen.sheet.plain_columns if other.header not in chosen.in_effect and other.counts]
    if column.name == "case_ref":
        yield from ((other.header, (), "each is different") for other in left if _differ(other.counts))
    elif column.kind == DATE:
        yield from _dates(chosen, table, column, left)
    elif column.kind == INTEGER:
        yield from ((other.header, (), "") for other in left if fit_of("", other.counts, column, True).share >= 0.5)
    elif column.name in ("practitioner", "operator"):
        headers = [other.header for other in chosen.sheet.plain_columns]
        said = [header for header in headers if meaning(header) & {"practitioner", "operator", "assessor"}]
        act = {"procedures": "division", "assessments": "assessment", "contacts": "session"}[table]
        said.sort(key=lambda header: act not in meaning(header))
        headers = [other.header for other in _words(chosen, left)]
        yield from ((header, (), "") for header in dict.fromkeys([*said, *headers]))
    elif column.name == "site":
        yield from ((other.header, (), f"{len(other.counts)} different") for other in _words(chosen, left))


def _words(chosen: Chosen, left: list[SeenColumn]) -> list[SeenColumn]:
    return [other for other in left if _is_few_words(other) and not matches(other.header, chosen.table)]


def _identifiers(chosen: Chosen, table: str, column: Column) -> Iterator[Candidate]:
    """Columns of the right name that the identifier screen found: a number of the log may be the pseudonym."""
    wanted = "cases" if column.name == "case_ref" else table
    for other in chosen.sheet.columns:
        meant = [(match.table, match.column, match.strength) for match in matches(other.header, "cases")]
        if other.identifier and other.header_is_safe and (wanted, column.name, FULL) in meant:
            yield other.header, (), "its name says so, but it looks like an identifier: see [not_identifiers]"


def _dates(chosen: Chosen, table: str, column: Column, left: list[SeenColumn]) -> Iterator[Candidate]:
    loose = [
        (other.header, way, said)
        for other in left
        if (styles := date_styles.styles_of(other.counts)).share >= 0.5
        for way, said in _readings(styles, _order(chosen, column, other))
    ]
    wanted = _NEAR.get(table, "contact_date" if column.name == "first_contact_date" else "")
    known = [
        ((choice.column.stands_for or (choice.column.header,))[0], way, said)
        for choice in chosen.choices
        if choice.match.column == wanted and choice.fit.dates and not choice.again
        for way, said in _readings(choice.fit.dates, _DAYS[wanted])
    ]
    # What went wrong was mostly seen on the day itself. Else what the order of the dates speaks for comes first.
    loose.sort(key=lambda candidate: not candidate[2])
    yield from (*known, *loose) if table == "complications" else (*loose, *known)


def _readings(styles: DateStyles, said: str) -> Iterator[tuple[Way, str]]:
    """Each way to read the dates; where there are two, which is which, for that is never decided here."""
    orders = date_styles.ORDERS if len(styles.ways) == 2 else ("",)
    for forms, order in zip(styles.ways, orders, strict=True):
        yield (("date", forms),) if forms else (), ", ".join(filter(None, (said, order)))


def _order(chosen: Chosen, column: Column, candidate: SeenColumn) -> str:
    """What the order of the dates says for it: after the event that must have come before."""
    before = {"first_contact_date": "help_requested_date", "noted_date": "procedure_date"}.get(
        column.name, "first_contact_date"
    )
    other = next((group[before] for group in chosen.groups.values() if before in group), None)
    this, that = dated(candidate), dated(other.column) if other else None
    return between(chosen.sheet, this, [that], []) if this and that else ""


def _differ(counts: Mapping[str, int]) -> bool:
    return bool(counts) and len(counts) == sum(counts.values()) and max(map(len, counts)) <= 64


def _is_few_words(column: SeenColumn) -> bool:
    """Few different short texts, which are neither dates nor numbers."""
    total = sum(column.counts.values())
    if len(column.counts) > min(_MOST_DIFFERENT, max(2, total // 2)) or max(map(len, column.counts)) > 40:
        return False
    numbers = sum(n for text, n in column.counts.items() if text.replace(".", "").isdigit())
    return numbers < total / 2 and date_styles.styles_of(column.counts).share < 0.5
