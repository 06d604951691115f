"""The lists of codes of a suggested mapping: one for all columns that hold the same thing.

Comes in: the choices of all sheets. Goes out: the lists, a line for each written code, and the list of a column.
Refuses to give a code a meaning that is not plain: its line stays a comment.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from pipeline.contracts import layout
from pipeline.contracts.layout import YES_NO, Column
from pipeline.intake.suggest.choose.choices import Choice, Chosen
from pipeline.intake.suggest.toml.toml_lines import OPEN, REMARK, Line, key, quoted, remarks
from pipeline.intake.suggest.values.code_meanings import ASKS, LISTS, SURE, Code, CodeMeanings, merged

_YES_NO = "yes_no_marks"
# What is written in many yes/no columns and means the same in each: answered once.
_MARKS = {
    *("y", "yes", "true", "n", "no", "false", "?", "-"),
    *("n/k", "n/a", "na", "nk", "unknown", "not known", "not recorded"),
}

_OUT = (
    "OUT OF EFFECT, this whole list, because no line in effect uses it. To use it, take the first # out of every line "
    "of it, answer what asks, and do the same with the line that names the list."
)


@dataclass(frozen=True)
class CodeList:
    """A list: its name, its codes, and the layout column that says what is allowed."""

    name: str
    codes: tuple[Code, ...]
    hidden: int
    column: Column

    @property
    def has_plain(self) -> bool:
        """Whether any code of it gives something; a list that gives nothing is no list yet."""
        return any(code.meant for code in self.codes)

    def lines(self, in_effect: bool = True) -> list[Line]:
        """The list as TOML lines, in the order in which the codes are first written."""
        lines = [] if in_effect else remarks(_OUT)
        lines += [Line(f"[codes.{self.name}]", "")]
        for code in self.codes:
            times = "once" if code.count == 1 else f"{code.count} times"
            if code.meant is None:
                why = f'{times}; one of {", ".join(self._allowed())}, or "" for nothing recorded'
                lines.append(Line(f"{quoted(code.written)} = {OPEN}", ASKS, why))
            else:
                plain = "it says so" if code.mark == SURE else "it nearly always means that"
                lines.append(Line(f"{key(code.written)} = {quoted(code.meant)}", code.mark, f"{times}; {plain}"))
        if self.hidden:
            many = "1 more text is" if self.hidden == 1 else f"{self.hidden} more texts are"
            lines.append(Line(f"{REMARK} {many} not shown: long, or like an identifier.", ASKS, "look in the export"))
        return lines

    def _allowed(self) -> tuple[str, ...]:
        """What a code of it may mean; what is not known may be said to be so wherever nothing is allowed."""
        values = self.column.values
        said = self.column.must or {"not_known", "not_recorded"} & set(values)
        return values if said else (*values, "not_known")


def list_name(choice: Choice) -> str:
    """The list a choice uses, or nothing."""
    meanings = choice.fit.codes
    if meanings is None or not meanings.codes:
        return ""
    name = choice.match.column
    if layout.table(choice.match.table).column(name).kind != YES_NO:
        return LISTS.get(name, name)
    marks = not meanings.hidden and all(code.written.casefold() in _MARKS for code in meanings.codes)
    return _YES_NO if marks else name


def code_lists(chosen: Sequence[Chosen]) -> Mapping[str, CodeList]:
    """Every list, by name, in the order of first use."""
    meanings: dict[str, list[CodeMeanings]] = {}
    columns: dict[str, Column] = {}
    for choice in (choice for of_sheet in chosen for choice in of_sheet.choices):
        if (name := list_name(choice)) and choice.fit.codes is not None:
            meanings.setdefault(name, []).append(choice.fit.codes)
            columns.setdefault(name, layout.table(choice.match.table).column(choice.match.column))
    return {
        name: CodeList(name, merged(of_columns), max(codes.hidden for codes in of_columns), columns[name])
        for name, of_columns in meanings.items()
    }
