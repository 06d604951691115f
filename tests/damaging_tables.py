"""Damage to what stands in the tables of a drawn export, whatever shape it is written in.

Each function takes a source of chance and the export, changes the export, and says in a few words what it did. The
list at the end holds them all. Damage that finds nothing to damage says so.
"""

from __future__ import annotations

import random
from collections.abc import Callable

from tests.small_exports import IN_LAYOUT, PARQUET, Drawn

NOTHING = "nothing to damage"
Damage = Callable[[random.Random, Drawn], str]
Line = list[str]

IDENTIFIERS = {
    "Patient name": ("Emma Brown-Whitfield", "Olivia Hargreaves", "Mrs Patel"),
    "NHS number": ("999 000 0018", "9990000026", "999-000-0034"),
    "Contact e-mail": ("emma.whitfield@example.org", "o_hargreaves@example.net", "mum3@example.com"),
    "Phone": ("07700 900123", "+44 7700 900 456", "(01632) 960 789"),
    "Postcode": ("AB99 9XZ", "L99 9ZZ", "GY99 9QQ"),
}
ODD_TEXTS = (
    # What a spreadsheet would run
    "=HYPERLINK(\"http://example.org\";\"x\")", "@SUM(1+1)", "+1", "-1", "=1+1", "=cmd|' /C calc'!A0", "'=1", "\t=1",
    # What is not seen, or moves what is seen
    "\u202etxet", "\u2066a\u2069", "\u200bzero", "\ufeffmark", "a\u0301", "\U0001f476", "\u2028", "\x85", "\x0b",
    "\x0c", "\x1b[2J", "\x07", "\x01", "\x1f", "\x7f", "_x000D_", "_x0041_", "a\rb", "a\n\nb", " ", "\u00a0", "\u3000",
    # What has a meaning to some program
    '"', '""', "'", "\\", "\\N", "NULL", "nan", "NaN", "None", "null", "N/A", "#N/A", "#REF!", "TRUE", "inf", "-inf",
    "%s", "{0}", "$1", "'; DROP TABLE store.cases; --", "..\\..\\x", "../../x", "<script>", "&amp;",
    # Numbers, days and codes in other ways of writing
    "1e5", "1.0", "0x10", "١٢", "１２", "1_0", "1 000", "1,5", "007", "-0", "99999999999999999999", "0001-01-01",
    "9999-12-31", "2026-02-30", "2026-6-1", "20260601", "46204", "31/05/26", "2026-05-31T10:15:00Z", "2026-05-31 10:15",
    "31 May 2026", "yes", "Yes", "not_known", "not known",
)  # fmt: skip


def _table(chance: random.Random, drawn: Drawn) -> str:
    return chance.choice(list(drawn.tables)) if drawn.tables else ""


def _place(chance: random.Random, lines: list[Line]) -> tuple[int, int] | None:
    """The line and the column of one cell below the names."""
    filled = [at for at, line in enumerate(lines) if line]
    at = chance.choice(filled) if filled else None
    return None if at is None else (at, chance.randrange(len(lines[at])))


def drop_column(chance: random.Random, drawn: Drawn) -> str:
    name = _table(chance, drawn)
    if not name or not drawn.above[name]:
        return NOTHING
    width = max(len(line) for line in drawn.above[name])
    at = chance.randrange(width) if width else 0
    for line in [*drawn.above[name], *drawn.tables[name]]:
        del line[at : at + 1]
    return f"column {at + 1} of {name} dropped"


def swap_columns(chance: random.Random, drawn: Drawn) -> str:
    """The values change places, the names stay; or the names change places with them, which is no fault."""
    name = _table(chance, drawn)
    if not name or not drawn.above[name] or len(drawn.above[name][-1]) < 2:
        return NOTHING
    first, second = chance.sample(range(len(drawn.above[name][-1])), 2)
    with_names = chance.random() < 0.3
    for line in [*(drawn.above[name] if with_names else []), *drawn.tables[name]]:
        if max(first, second) < len(line):
            line[first], line[second] = line[second], line[first]
    return f"columns {first + 1} and {second + 1} of {name} swapped, {'with' if with_names else 'without'} their names"


def change_name(chance: random.Random, drawn: Drawn) -> str:
    name = _table(chance, drawn)
    if not name or not drawn.above[name] or not drawn.above[name][-1]:
        return NOTHING
    names = drawn.above[name][-1]
    at = chance.randrange(len(names))
    new = chance.choice([names[at].upper(), f" {names[at]} ", names[at] + "\n", "", names[0], *ODD_TEXTS])
    names[at] = new
    return f"column {at + 1} of {name} called {new!r}"


def double_column(chance: random.Random, drawn: Drawn) -> str:
    name = _table(chance, drawn)
    if not name or not drawn.above[name] or not drawn.above[name][-1]:
        return NOTHING
    at = chance.randrange(len(drawn.above[name][-1]))
    for line in [drawn.above[name][-1], *drawn.tables[name]]:
        line += line[at : at + 1]
    return f"column {at + 1} of {name} stands twice"


def many_columns(chance: random.Random, drawn: Drawn) -> str:
    name = _table(chance, drawn)
    if not name or not drawn.above[name]:
        return NOTHING
    number = chance.choice((200, 200, 200, 1_500))  # each costs some milliseconds to screen
    text = chance.choice(("", "x"))
    drawn.above[name][-1] += [f"more {at}" for at in range(number)]
    for line in drawn.tables[name]:
        line += [text] * number
    return f"{number} columns more in {name}"


def double_lines(chance: random.Random, drawn: Drawn) -> str:
    name = _table(chance, drawn)
    lines = drawn.tables.get(name, [])
    if not lines:
        return NOTHING
    for line in chance.choices(lines, k=chance.randint(1, 4)):
        lines.insert(chance.randrange(len(lines) + 1), list(line))
    return f"lines of {name} doubled"


def shuffle_lines(chance: random.Random, drawn: Drawn) -> str:
    name = _table(chance, drawn)
    chance.shuffle(drawn.tables.get(name, []))
    return f"lines of {name} shuffled"


def other_dates(chance: random.Random, drawn: Drawn) -> str:
    name = _table(chance, drawn)
    share = chance.choice((0.2, 1.0))
    form = chance.choice(
        ("{2}/{1}/{0}", "{1}/{2}/{0}", "{0}{1}{2}", "{0}-{1}-{2}T00:00:00", "{2}.{1}.{0}", "{0}-{2}-{1}")
    )
    for line in drawn.tables.get(name, []):
        for at, text in enumerate(line):
            parts = text.split("-") if text.count("-") == 2 else text.split("/")[::-1]
            if len(parts) == 3 and chance.random() < share:
                line[at] = form.format(*parts)
    return f"dates of {name} written {form}"


def odd_values(chance: random.Random, drawn: Drawn) -> str:
    name, new = _table(chance, drawn), []
    for _ in range(chance.randint(1, 8)):
        place = _place(chance, drawn.tables.get(name, []))
        if place is not None:
            text = chance.choice(ODD_TEXTS)
            line = drawn.tables[name][place[0]]
            line[place[1]] = text if chance.random() < 0.7 else text + line[place[1]]
            new.append(text)
    return f"in {name} odd values {new!r}"


def huge_field(chance: random.Random, drawn: Drawn) -> str:
    name = _table(chance, drawn)
    place = _place(chance, drawn.tables.get(name, []))
    if place is None:
        return NOTHING
    # At most the last is told to be free text: "1 1 1" has no words.
    text = chance.choice(("9", "x", "é", "1 ", "\n", "words "))
    drawn.tables[name][place[0]][place[1]] = text * (1_000_000 // len(text))
    return f"1 MB of {text!r} in {name}, line {place[0] + 1} below the names, column {place[1] + 1}"


def no_rows(chance: random.Random, drawn: Drawn) -> str:
    name = _table(chance, drawn)
    if not name:
        return NOTHING
    drawn.tables[name].clear()
    if chance.random() < 0.5:
        return f"{name} of the names only"
    text = chance.choice(("", " ", "\x0c", "\u3000", "x", '"'))
    drawn.above[name] = [[text]] if text else []
    return f"{name} of {text!r} only"


def move_names(chance: random.Random, drawn: Drawn) -> str:
    """The line of names lost, doubled, repeated in the middle, or below another one."""
    name = _table(chance, drawn)
    if not name or not drawn.above[name]:
        return NOTHING
    names = list(drawn.above[name][-1])
    how = chance.choice(("lost", "doubled", "repeated below", "below a title", "below a blank line"))
    if how == "lost":
        del drawn.above[name][-1]
    elif how == "doubled":
        drawn.above[name].append(names)
    elif how == "repeated below":
        drawn.tables[name].insert(chance.randrange(len(drawn.tables[name]) + 1), names)
    else:
        drawn.above[name].insert(0, ["Service of the north"] if how == "below a title" else [])
    return f"line of names of {name} {how}"


def blank_lines(chance: random.Random, drawn: Drawn) -> str:
    name = _table(chance, drawn)
    lines = drawn.tables.get(name, [])
    width = max((len(line) for line in lines), default=0)
    for _ in range(chance.randint(1, 5)):
        blank = chance.choice(([], [""] * width, [" "], ["\u00a0"] * width))
        lines.insert(chance.randrange(len(lines) + 1), list(blank))
    return f"blank lines in {name}"


def ragged_lines(chance: random.Random, drawn: Drawn) -> str:
    name = _table(chance, drawn)
    for line in chance.sample(drawn.tables.get(name, []), k=min(3, len(drawn.tables.get(name, [])))):
        if chance.random() < 0.5:
            line += [chance.choice(("", "x"))] * chance.randint(1, 3)
        else:
            del line[chance.randrange(len(line) + 1) :]
    return f"lines of {name} too long or too short"


def contradict(chance: random.Random, drawn: Drawn) -> str:
    """A case twice and different, a case that is not there, a reference that is none, a day that cannot be."""
    name = _table(chance, drawn)
    lines = drawn.tables.get(name, [])
    place = _place(chance, lines)
    if place is None:
        return NOTHING
    line = list(lines[place[0]])
    how = chance.choice(("case twice", "unknown case", "no reference", "long reference", "after the cut-off", "older"))
    if how == "case twice":
        line[chance.randrange(len(line))] += "1"
    elif how in ("after the cut-off", "older"):
        day = "2030-01-01" if how == "after the cut-off" else "2019-03-04"
        line = [day if text.count("-") == 2 else text for text in line]
    else:
        line[0] = {"unknown case": "nobody7", "no reference": " ", "long reference": "x" * 65}[how]
    lines.append(line)
    return f"in {name} a line more: {how}"


def lose_table(chance: random.Random, drawn: Drawn) -> str:
    name = _table(chance, drawn)
    if len(drawn.tables) < 2:
        return NOTHING
    how = chance.choice(("is missing", "has another name", "has its name in capitals", "stands twice"))
    if how == "stands twice" and drawn.shape not in IN_LAYOUT:
        return NOTHING
    lines, above = drawn.tables[name], drawn.above[name]
    if how != "stands twice":
        del drawn.tables[name], drawn.above[name]
    new = {"has another name": f"{name}_old", "has its name in capitals": name.upper(), "stands twice": f"{name} (2)"}
    if how in new:
        drawn.tables[new[how]], drawn.above[new[how]] = lines, above
    return f"{name} {how}"


def plant_identifiers(chance: random.Random, drawn: Drawn) -> str:
    """In a column of their own, in one that is there, or where the names stand."""
    name, kind = _table(chance, drawn), chance.choice(list(IDENTIFIERS))
    lines = drawn.tables.get(name, [])
    if not lines or not drawn.above[name]:
        return NOTHING
    values = IDENTIFIERS[kind]
    how = chance.choice(("a column of its own", "a column without a name", "a value or two", "among the names"))
    drawn.identifiers += values
    if how == "a value or two":
        for value in values[:2]:
            line = chance.choice(lines)
            if line:
                line[chance.randrange(len(line))] = value
    elif how == "among the names":
        drawn.above[name][-1].append(values[0])
    else:
        drawn.above[name][-1].append(kind if how == "a column of its own" else "")
        for at, line in enumerate(lines):
            line.append(values[at % len(values)])
    return f"{kind} in {name}: {how}"


def change_types(chance: random.Random, drawn: Drawn) -> str:
    drawn.typed = not drawn.typed
    return "numbers and days as texts" if not drawn.typed else "numbers and days as such"


DAMAGES: tuple[Damage, ...] = (
    drop_column, swap_columns, change_name, double_column, many_columns, double_lines, shuffle_lines, other_dates,
    odd_values, odd_values, odd_values, huge_field, no_rows, move_names, blank_lines, ragged_lines, contradict,
    lose_table, plant_identifiers, plant_identifiers, plant_identifiers, change_types,
)  # fmt: skip
# A Parquet file has one line of names, and all its lines are of one width.
NOT_OF = {PARQUET: (ragged_lines, move_names)}
