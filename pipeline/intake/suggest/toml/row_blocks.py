"""The [[rows]] of a suggested mapping: one for each group of columns that makes rows of one table.

Comes in: the choices of one sheet. Goes out: the lines of its [[rows]], in the order of the layout. Refuses to fill a
must-column that has no column: it asks, with what the answer could be.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from pipeline.contracts import layout
from pipeline.contracts.layout import Table
from pipeline.intake.suggest.choose.choices import Choice, Chosen, Complication, Group
from pipeline.intake.suggest.choose.kept_appointments import Kept
from pipeline.intake.suggest.choose.repeated_groups import SIGNS
from pipeline.intake.suggest.look.trade_words import FULL
from pipeline.intake.suggest.toml.code_lists import CodeList, list_name
from pipeline.intake.suggest.toml.date_hints import hint
from pipeline.intake.suggest.toml.questions import asked
from pipeline.intake.suggest.toml.toml_lines import OPEN, REMARK, Line, listed, origin, quoted, remarks
from pipeline.intake.suggest.values.code_meanings import ASKS, LIKELY, SURE
from pipeline.intake.suggest.values.date_styles import ORDERS
from pipeline.intake.suggest.values.fit import NO_PLAIN_CODE

_OUT = (
    "OUT OF EFFECT, this whole block, because nothing in it is decided. To use it, take the first # out of every line "
    "of it, answer what asks, and choose one where a line says or. If nobody can fill it in, leave it as it is."
)
_ASKED_ANYWAY = (("contacts", "attachment_help"), ("procedures", "provider"))
_NO = (
    "LOOK AT THIS: {counts}, and a no cannot be counted: the layout holds what went wrong, and takes a family to "
    "have been seen afterwards only by a contact or a feeding check 1 to 14 days after the division. If nothing of "
    "that kind is recorded for those who said no, they count as not known, and THE SHARE OF COMPLICATIONS COMES OUT "
    "TOO HIGH."
)


@dataclass(frozen=True)
class Block:
    """The lines of one [[rows]]; out of effect where nothing in it is decided."""

    table: str
    lines: tuple[Line, ...]
    out_of_effect: bool
    lists: frozenset[str]  # the lists of codes that stand in effect in it


def blocks(chosen: Chosen, alone: bool, lists: Mapping[str, CodeList], latest_day: date | None) -> list[Block]:
    """The [[rows]] of one sheet. `alone`: the export has no other sheet."""
    if not chosen.table:
        return []
    groups = {**({("cases", ""): {}} if chosen.table == "cases" else {}), **chosen.groups}
    made: list[Block] = []
    for table in layout.tables():
        labels = sorted((label for name, label in groups if name == table.name), key=_label_order)
        for label in labels:
            first = not made
            made.append(_block(chosen, (table.name, label), groups[table.name, label], alone, first, lists, latest_day))
        if table.name == "complications":
            made += [_complication(chosen, answers, alone, latest_day) for answers in chosen.complications]
    return made


def _only_kept(kept: Kept) -> list[Line]:
    """The condition that leaves out what was not kept; what is not plain is asked, and set aside until then."""
    decides = f"is = {listed(kept.kept)}, leave_out" if kept.kept else "is_not"
    why = (
        f"what was not kept is no row ({_times(sum(kept.column.counts[text] for text in kept.not_kept))}); is that so?"
    )
    column = quoted(kept.column.header)
    lines = [Line(f"when = {{ column = {column}, {decides} = {listed(kept.not_kept)} }}", LIKELY, why)]
    texts = [f"{quoted(text)} ({kept.column.counts[text]})" for text in kept.unclear]
    texts += [f"{kept.hidden} more, not shown: long, or like an identifier"] if kept.hidden else []
    if kept.kept and texts:
        asks = "was it kept? write each into is or into leave_out; until then its row is set aside"
        lines.append(Line(f"{REMARK} not in these lists: {', '.join(texts)}", ASKS, asks))
    if kept.kept and kept.blanks:
        asks = f"were they kept? they make no row so; if they were, write is_not = {listed(kept.not_kept)} instead"
        lines.append(Line(f"{REMARK} empty: {kept.blanks}", ASKS, asks))
    return lines


def _label_order(label: str) -> tuple[str, int]:
    letters = label.rstrip("0123456789")
    return letters, int(label[len(letters) :] or 0)


def _block(
    chosen: Chosen,
    group: Group,
    choices: Mapping[str, Choice],
    alone: bool,
    first: bool,
    lists: Mapping[str, CodeList],
    latest_day: date | None,
) -> Block:
    table = layout.table(group[0])
    lines = _opening(chosen, table, alone)
    if group[1] in SIGNS:
        why = f"{group[1]} stands for a number; rows for each number that the sheet has, a later one too"
        lines.insert(-1, Line(f"repeat = {quoted(group[1])}", LIKELY, why))
    if group == (chosen.table, "") and chosen.kept:
        lines[-1:-1] = _only_kept(chosen.kept)
    live = group[0] == "cases"
    used: set[str] = set()
    for column in table.columns:
        if column.name == "case_ref":
            lines += _case_ref(chosen, first)
        elif column.name in choices:
            made = _chosen_lines(chosen, choices[column.name], lists, latest_day)
            live = live or made[0].mark != ASKS
            if made[0].mark != ASKS and (name := list_name(choices[column.name])):
                used.add(name)
            lines += made
        elif column.must or (group[0], column.name) in _ASKED_ANYWAY:
            lines += asked(chosen, group, column)
    before = [] if live else remarks(_OUT)
    if "kind" in choices:
        before += _nothing_happened(choices["kind"])
    return Block(table.name, (*before, *lines), not live, frozenset(used) if live else frozenset())


def _nothing_happened(kind: Choice) -> list[Line]:
    """A word about the answers that say that nothing went wrong."""
    said = {code.written: code.count for code in kind.fit.codes.codes if code.meant == ""} if kind.fit.codes else {}
    return remarks(_NO.format(counts=f"{_times(sum(said.values()))} {_either(said)}")) if said else []


def _times(count: int) -> str:
    return "once" if count == 1 else f"{count} times"


def _either(texts: Mapping[str, int]) -> str:
    return " or ".join(quoted(text) for text in texts)


def _opening(chosen: Chosen, table: Table, alone: bool) -> list[Line]:
    lines = [Line("[[rows]]", ""), Line(f"table = {quoted(table.name)}", "", table.description.split(".")[0].lower())]
    if not alone:
        names = chosen.sheet.written_names
        why = "add a new one here" if len(names) > 1 else "a new one of such a name is read too"
        alike = (LIKELY, f"sheets with the same headings; {why}") if chosen.sheet.names else ("", "")
        lines.append(Line(f"sheet = {quoted(names[0]) if len(names) == 1 else listed(names)}", *alike))
    return [*lines, Line("[rows.columns]", "")]


def _case_ref(chosen: Chosen, first: bool) -> list[Line]:
    """The pseudonym; what speaks for it is said once."""
    if choice := chosen.case_ref:
        toml = f"case_ref = {quoted(choice.column.header)}"
        as_above = not first and choice.mark != ASKS
        return [Line(toml, "" if as_above else choice.mark, "must, as above" if as_above else choice.why, True)]
    if first:
        return asked(chosen, ("cases", ""), layout.table("cases").column("case_ref"))
    return [Line(f"case_ref = {OPEN}", ASKS, "as in the first block", True)]


def _chosen_lines(chosen: Chosen, choice: Choice, lists: Mapping[str, CodeList], latest_day: date | None) -> list[Line]:
    name, its_fit = choice.match.column, choice.fit
    mark, why = choice.mark, choice.why
    ways = its_fit.ways
    must = layout.table(choice.match.table).column(name).must
    if listing := list_name(choice):
        ways = ((*(part for part in ways[0] if part[0] == "split"), ("codes", listing)),)
        if not lists[listing].has_plain:
            mark, why = ASKS, NO_PLAIN_CODE
        elif mark == ASKS and its_fit.asks == NO_PLAIN_CODE and choice.match.strength == FULL:
            mark, why = LIKELY, "the name; the list answers for other columns"
    elif its_fit.codes and its_fit.codes.too_many:
        ways = ((),)
    if len(ways) > 1:
        why += hint(choice, chosen, latest_day)
    return [
        Line(
            f"{name} = {origin(choice.column.header, way)}",
            mark,
            why if at == 0 else f"or so ({ORDERS[at] if its_fit.dates else 'a comma between thousands'})",
            must,
        )
        for at, way in enumerate(ways)
    ]


def _complication(chosen: Chosen, answers: Complication, alone: bool, latest_day: date | None) -> Block:
    """A yes/no column of one kind of complication."""
    opening = _opening(chosen, layout.table("complications"), alone)
    says, counts, header = answers.says, answers.column.counts, quoted(answers.column.header)
    why = "a row where it says yes, none where it says no or nothing" if says.yes else "nothing says yes; what would?"
    no_row = (*says.no, *says.nothing)
    decides = f"is = {listed(says.yes) if says.yes else f'[{OPEN}]'}"
    decides += f", leave_out = {listed(no_row)}" if no_row else ""
    when = [Line(f"when = {{ column = {header}, {decides} }}", SURE if says.yes else ASKS, why)]
    if says.unclear or says.hidden:
        texts = [f"{quoted(text)} ({counts[text]})" for text in says.unclear]
        texts += [f"{says.hidden} more, not shown: long, or like an identifier"] if says.hidden else []
        asks = "write each into is (it happened) or into leave_out; until then its row is set aside"
        when.append(Line(f"{REMARK} not in these lists: {', '.join(texts)}", ASKS, asks))
    before = [] if says.yes else remarks(_OUT)
    if says.no:
        times = _times(sum(counts[text] for text in says.no))
        before += remarks(_NO.format(counts=f"{header} says {times} no"))
    lines = [*before, *opening[:-1], *when, opening[-1], *_case_ref(chosen, first=False)]
    if answers.date:
        lines += _chosen_lines(chosen, answers.date, {}, latest_day)
    else:
        lines += asked(chosen, ("complications", ""), layout.table("complications").column("noted_date"))
    lines.append(Line(f"kind = {{ constant = {quoted(answers.kind)} }}", SURE, "the name says it", True))
    return Block("complications", tuple(lines), not says.yes, frozenset())
