"""How often `suggest` is right: invented sheets whose truth was written down before suggest saw them.

`python -m tests.measuring_suggest first_dozen` prints the figures of tests/held_out/first_dozen.txt and what is wrong.

In those files "=== name" begins an export and "== name ! title" a sheet; then one line a column: its heading | what it
is | its values, repeated to 24 rows ("#ref B" B1, B2, ...; "#day format first" a date every third day; "_" is empty),
each with "=what it means" where it is a code ("=?": that cannot be told). What it is: a column of the layout, "@2" for
the second of its kind, then how it is read; "-" is none. "?" before it: heading and values do not tell: it is asked.
"""

from __future__ import annotations

import re
import sys
import tomllib
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date, timedelta
from pathlib import Path
from typing import Any

from pipeline.contracts import layout
from pipeline.intake.suggest.look.header_lines import header_lines
from pipeline.intake.suggest.look.sheet_seen import SeenColumn, SeenSheet
from pipeline.intake.suggest.suggestion import suggest

ROWS = 24
_SAID_OF_ALL = ("source", "cut_off")  # asked of every export alike


@dataclass
class Truth:
    """Of one export: (sheet, heading) to what it is; (heading, text) to what a code means; headings that are asked."""

    places: dict[tuple[str, str], list[str]] = field(default_factory=dict)
    reading: dict[str, dict[str, Any]] = field(default_factory=dict)
    codes: dict[tuple[str, str], str] = field(default_factory=dict)
    asked: set[str] = field(default_factory=set)
    header: dict[str, int] = field(default_factory=dict)


def exports(name: str) -> Iterator[tuple[str, list[SeenSheet], Truth]]:
    """The invented exports of a file, as suggest sees them, and their truth."""
    text = (Path(__file__).parent / "held_out" / f"{name}.txt").read_text(encoding="utf-8")
    for export in re.split(r"^=== ", text, flags=re.M)[1:]:
        title, *sheets = re.split(r"^== ", export, flags=re.M)
        truth = Truth()
        yield title.strip(), [_sheet(sheet, truth) for sheet in sheets], truth


def _sheet(written: str, truth: Truth) -> SeenSheet:
    first, *lines = written.strip().splitlines()
    name, _, title = first.partition(" ! ")
    columns = []
    for line in lines:
        heading, what, values, *more = line.split(" | ")
        says, *reading = what.lstrip("?").split()
        truth.places[name, heading] = says.split("|")
        truth.asked.update([heading] if what.startswith("?") else [])
        texts = _texts(values, truth, heading)
        style = re.match(r"#day (.+) \S+$", values)
        truth.reading[heading] = dict(part.split("=", 1) for part in reading)
        truth.reading[heading] |= {"date": style[1]} if style and style[1] != "%Y-%m-%d" else {}
        for text in more[0].split(" ~ ") if more else ():
            truth.codes[heading, text.partition("=")[0]] = text.partition("=")[2]
        columns.append((heading, texts))
    rows = [tuple(heading for heading, _ in columns), *zip(*(texts for _, texts in columns), strict=True)]
    above = [(title,), ()] if title else []
    truth.header[name] = len(above) + 1
    assert header_lines([*above, *rows]) == (len(above) + 1,), name
    seen = tuple(SeenColumn(heading, Counter(filter(None, texts))) for heading, texts in columns)
    return SeenSheet(name, f"{name}.csv", tuple([*above, *rows][:30]), seen, tuple(rows[1:]))


def _texts(values: str, truth: Truth, heading: str) -> list[str]:
    if values.startswith("#ref "):
        return [f"{values[5:]}{at}" for at in range(1, ROWS + 1)]
    if values.startswith("#day "):
        style, _, first = values[5:].rpartition(" ")
        return [(date.fromisoformat(first) + timedelta(3 * at)).strftime(style) for at in range(ROWS)]
    texts = []
    for value in values.split(" ~ "):
        text, is_code, meaning = value.rpartition("=")
        if is_code:
            truth.codes[heading, text] = meaning
        texts.append("" if value == "_" else text if is_code else value)
    return [texts[at % len(texts)] for at in range(ROWS)]


@dataclass
class Figures:
    """What came out; `wrong` are the lines that are sure or likely and wrong."""

    counts: Counter[str] = field(default_factory=Counter)
    wrong: list[str] = field(default_factory=list)
    needless: list[str] = field(default_factory=list)
    missed: list[str] = field(default_factory=list)


@dataclass
class _Block:
    """One [[rows]] or list of codes, as it stands in the text."""

    lines: list[tuple[str, str, dict[str, Any]]] = field(default_factory=list)  # mark, text, TOML
    section: str = ""


def measure(sheets: list[SeenSheet], truth: Truth) -> Figures:
    """The marks of one export's mapping, against its truth."""
    figures, used = Figures(), set()
    blocks = list(_blocks(suggest(sheets).text))
    lists = _headings_of_lists(blocks, truth)
    for block in blocks:
        asked = set()
        own = {key: value for _, _, content in block.lines for key, value in content.items()}
        names = own.get("sheet", sheets[0].name)
        for mark, line, content in block.lines:
            key, value = next(iter(content.items()))
            if key in _SAID_OF_ALL or mark not in ("sure", "likely", "asks"):
                continue
            judged = _judge(block, key, value, own, [names] if isinstance(names, str) else names, truth, lists)
            right, plain, headings = judged
            decides = {heading for (_, heading), places in truth.places.items() if ".when" in str(places)}
            used.update((headings - (set() if key == "when" else decides)) if mark != "asks" or right else ())
            if mark == "asks":
                if key not in asked:
                    figures.counts["needless" if plain else "needed"] += 1
                    figures.needless += [line] if plain else []
                asked.add(key)
                continue
            figures.counts[mark] += 1
            if not right or (mark == "sure" and headings & truth.asked):
                figures.counts[f"{mark} wrong"] += 1
                figures.wrong.append(line)
    figures.missed = [heading for (_, heading), what in truth.places.items() if what != ["-"] and heading not in used]
    figures.missed = list(dict.fromkeys(figures.missed))
    figures.counts["missed"] = len(figures.missed)
    return figures


def _blocks(text: str) -> Iterator[_Block]:
    for part in text.split("\n\n"):
        block = _Block()
        for line in part.splitlines() if "## NOT FOUND" not in part else ():
            toml = re.sub("^# ", "", line)
            if toml.startswith("[") and not toml.startswith("## "):
                block.section = re.sub(r"^(# )?\[+|\]+.*$", "", line)
            elif not toml.startswith("##"):
                mark = re.search(r"  # (sure|likely|asks|not in effect)(, must)?: ", line)
                block.lines.append((mark[1] if mark else "", line, tomllib.loads(toml)))
            elif mark := re.search(r"  asks: ", line):
                block.lines.append(("asks", line, {"##": line}))
        yield block


def _headings(value: Any) -> set[str]:
    column = value if isinstance(value, str) else value.get("column", "")
    return set(filter(None, [column] if isinstance(column, str) else column))


def _headings_of_lists(blocks: list[_Block], truth: Truth) -> dict[str, set[str]]:
    lists: dict[str, set[str]] = {}
    for block in blocks:
        for _, _, content in block.lines:
            for value in content.values():
                if isinstance(value, dict) and isinstance(name := value.get("codes"), str):
                    lists.setdefault(name, set()).update(_real(_headings(value), truth))
    return lists


def _real(headings: set[str], truth: Truth) -> set[str]:
    """The headings for which one with a sign in place of its number stands."""
    known = {heading for _, heading in truth.places}
    return {
        real
        for heading in headings
        for real in known
        if real == heading or re.fullmatch(re.escape(heading).replace(r"\*", "[0-9]+"), real)
    }


def _judge(
    block: _Block,
    key: str,
    value: Any,
    own: dict[str, Any],
    names: list[str],
    truth: Truth,
    lists: dict[str, set[str]],
) -> tuple[bool, bool, set[str]]:
    """Whether the line is right; whether its question, if it asks, was needless; the headings it uses."""
    if block.section.startswith("codes."):
        headings = lists.get(block.section[6:], set())
        meanings = {truth.codes[heading, key] for heading in headings if (heading, key) in truth.codes} or {"?"}
        return meanings == {value}, "?" not in meanings, set()
    if block.section.startswith("sheets."):
        return value == truth.header[block.section[7:].strip('"')], True, set()
    if key in ("sheet", "repeat", "nothing"):
        return True, True, set()
    table = own.get("table", "")
    headings = _real(_headings(value), truth)
    if key == "##":
        return True, not re.search("not in these lists|empty: ", value) or not _unclear(value, own, truth), set()
    if key == "when":
        wanted = [f"{table}.when", f"{table}.when={own.get('kind', {}).get('constant', '')}"]
        (heading,) = headings
        says = {truth.codes.get((heading, text)) for text in value.get("is", ()) if text != "???"} <= {"yes", "kept"}
        out = {truth.codes.get((heading, text)) for text in (*value.get("leave_out", ()), *value.get("is_not", ()))}
        right = bool(set(wanted) & _places(names, headings, truth)) and says and out <= {"no", "not", ""}
        return right, right, headings
    if isinstance(value, dict) and "constant" in value and key == "kind":
        when = _headings(own["when"])
        return f"complications.when={value['constant']}" in _places(names, when, truth), True, set()
    wanted_places = {"case_ref"} if key == "case_ref" else {f"{table}.{key}"}
    there = [
        heading
        for (sheet, heading), places in truth.places.items()
        if sheet in names and wanted_places & {place.partition("@")[0] for place in places}
    ]
    plain = any(heading not in truth.asked for heading in there)
    right = bool(headings) and all(heading in there for heading in headings)
    if right and isinstance(value, dict):
        reads = {name: str(value[name]) for name in value if name not in ("column", "codes")}
        right = all(reads == truth.reading[heading] for heading in headings)
    elif right:
        right = not any(truth.reading[heading] for heading in headings)
    kinds = {column.name: column.kind for column in layout.table(table).columns} if table else {}
    held = bool(there) or any(place.startswith(f"{table}.") for places in truth.places.values() for place in places)
    # What the export does not hold must be asked where it holds rows of that table at all.
    needless = plain if there else not held
    if right and headings and kinds.get(key) in ("code", "yes/no") and not plain:
        needless = False
    return right, needless, headings


def _places(names: list[str], headings: set[str], truth: Truth) -> set[str]:
    return {
        place
        for (sheet, heading), places in truth.places.items()
        if sheet in names and heading in headings
        for place in places
    }


def _unclear(line: str, own: dict[str, Any], truth: Truth) -> bool:
    heading = own["when"]["column"]
    texts = re.findall(r'"((?:[^"\\]|\\.)*)" \(', line)
    return not texts or any(truth.codes.get((heading, text), "?") == "?" for text in texts)


def main(name: str) -> None:
    """The figures of a file's exports, and their sum."""
    total: Counter[str] = Counter()
    for title, sheets, truth in exports(name):
        figures = measure(sheets, truth)
        total += figures.counts
        print(f"{title}: {_said(figures.counts)}")
        print(
            *(f"  wrong: {line}" for line in figures.wrong),
            *(f"  needless: {line}" for line in figures.needless),
            sep="\n",
        )
        print(*(f"  missed: {heading}" for heading in figures.missed), sep="\n")
    print(f"ALL: {_said(total)}")


def _said(counts: Counter[str]) -> str:
    touched = sum(counts[what] for what in ("sure wrong", "likely wrong", "needless", "needed", "missed"))
    wrong = ", ".join(f"{mark} {counts[mark]}, wrong {counts[f'{mark} wrong']}" for mark in ("sure", "likely"))
    asks = f"questions needless {counts['needless']}, needed {counts['needed']}, columns missed {counts['missed']}"
    return f"{wrong}; {asks}; a lead touches {touched}"


if __name__ == "__main__":
    main(sys.argv[1])
