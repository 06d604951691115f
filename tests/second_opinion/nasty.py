"""Exports as hard to read as the layout allows, and a little harder: written as bytes, the same bytes for one seed.

In: a folder, a seed and a number of cases. Out: nine CSV files in the folder; the cut-off is returned. Refuses: to
hold anything that looks like an identifier, for a reader may rightly refuse the whole export for that.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from pathlib import Path
from random import Random

from .layout import TABLES
from .nasty_cases import Fields, calendar, one_case, request_row
from .nasty_faults import with_faults

EXTRA_NAMES = (
    "batch",
    "room",
    "tie_type",
    "Site",
)  # some are columns of other tables, or of this one but for a capital
EXTRA_VALUES = ("", "b1", "b1", "b2", "b1\nb2", "b1\r\nb2", "b1\rb2", "b1\u2028b2", "b1\x0cb2", 'b"1', "b1,b2")
SELDOM_GIVEN = ("gestation_weeks", "family_history", "wind", "mode", "reason_stopped", "destination", "referral_source")
GIVEN_BUT = ("at_breast", "function_score", "severity", "help_requested_date", "tie_type")
PADS = (" ", "  ", "\t", "\u00a0")
LONG_ENOUGH, TOO_LONG = 49, 50  # line ends in one quoted field: it covers 50 lines, which is allowed, or 51
DAMAGED = 0.01


def quoted(value: str) -> str:
    return '"' + value.replace('"', '""') + '"'


def written(rng: Random, value: str, style: str) -> str:
    """One field; a quote inside a field that does not begin with one may stand as it is."""
    if rng.random() < 0.02:
        value = rng.choice(PADS) + value + rng.choice(PADS)
    must = any(mark in value for mark in ",\n\r") or value.startswith('"')
    if must or style == "all" or (style == "some" and rng.random() < 0.15):
        return quoted(value)
    return quoted(value) if '"' in value and rng.random() < 0.5 else value


def with_open_quote(rng: Random, line: str) -> str:
    """A quote that opens in one of the fields and that nothing on this line closes."""
    fields = line.replace('"', "").split(",")
    at = rng.randrange(len(fields))
    fields[at] = '"' + fields[at]
    return ",".join(fields)


def with_broken_byte(rng: Random, line: bytes) -> bytes:
    at = rng.randint(0, len(line))
    return line[:at] + rng.choice((b"\0", b"\xff", b"\xc3", b"\xed\xa0\x80")) + line[at:]


def damaged(rng: Random, line: str) -> bytes:
    """A line that cannot be read as a row."""
    kind = rng.choice(("short", "long", "text", "text", "byte", "byte", "open"))
    if kind == "byte":
        return with_broken_byte(rng, line.encode())
    if kind == "open":
        return with_open_quote(rng, line).encode()
    if kind == "text":
        return ('"a"' + rng.choice(("b", " ", '"b"', 'b"')) + line).encode()
    return (line.rpartition(",")[0] if kind == "short" else line + ",").encode()


def columns_of(rng: Random, table: str) -> list[str]:
    """The columns in another order, with columns nobody asked for and sometimes without one that is not a must."""
    left_out = {name for name in SELDOM_GIVEN if rng.random() < 0.1} | {n for n in GIVEN_BUT if rng.random() < 0.02}
    names = [column.name for column in TABLES[table] if column.must or column.name not in left_out]
    known = {column.name for column in TABLES[table]}
    names += [name for name in EXTRA_NAMES if name not in known and rng.random() < 0.4]
    rng.shuffle(names)
    return names


def lines_of(rng: Random, table: str, rows: list[Fields]) -> list[bytes]:
    """Header and rows as lines without line ends, with damage and blank lines among them."""
    style = rng.choice(("plain", "plain", "some", "all"))
    names = columns_of(rng, table)
    known = {column.name for column in TABLES[table]}
    extra = [name for name in names if name not in known]
    header = ",".join(quoted(name) if style == "all" else name for name in names)

    def line_of(row: Fields) -> str:
        values = [row[name] if name in known else rng.choice(EXTRA_VALUES) for name in names]
        return ",".join(written(rng, value, style) for value in values)

    lines = [header.encode()]
    for row in rows:
        line = line_of(row)
        lines.append(damaged(rng, line) if rng.random() < DAMAGED else line.encode())
        if rng.random() < DAMAGED:
            lines.append(rng.choice((b"", b"", b"  ", b"\t", "\u00a0".encode())))
    if rows and extra:
        for count in (LONG_ENOUGH, TOO_LONG):
            row = rng.choice(rows)
            filler = rng.choice(("\n", "b1\n", "\r\n"))
            values = [count * filler if name == extra[0] else row.get(name, "") for name in names]
            lines.insert(
                rng.randint(1, len(lines)), ",".join(written(rng, value, "plain") for value in values).encode()
            )
    if rng.random() < 0.3:
        lines.insert(rng.randint(1, len(lines)), header.encode())
    if rng.random() < 0.3:
        lines.insert(rng.randint(1, len(lines)), b"," * (len(names) - 1))
    if rng.random() < 0.1:
        lines.insert(0, b"")
    if rng.random() < 0.2:
        lines.append(with_open_quote(rng, line_of(rng.choice(rows)) if rows else header).encode())
    return lines


def line_ender(rng: Random) -> Callable[[], bytes]:
    """One line end for the whole file, or a new one for every line."""
    choice = rng.choice((b"\n", b"\n", b"\r\n", b"\r\n", b"\r", b""))
    return lambda: choice or rng.choice((b"\n", b"\r\n", b"\r"))


def write_export(folder: Path, seed: int, cases: int) -> date:
    """Nine files (now and then eight: no complications) in the folder, made if need be. The cut-off is returned."""
    rng = Random(seed)
    made = calendar(rng)
    rows: dict[str, list[Fields]] = {table: [] for table in TABLES}
    for number in range(cases):
        ref = f"case_{number}" if number % 50 else f"case_{number}_".ljust(64, "x")  # 64 characters are allowed
        for table, found in one_case(rng, made, ref).items():
            rows[table] += found
        if number % 3 == 0:  # one in ten of them is a case already
            rows["requests"].append(request_row(rng, made, ref if number % 30 == 0 else f"asked_{number}"))
    folder.mkdir(parents=True, exist_ok=True)
    for table in TABLES:
        content = b"\xef\xbb\xbf" if rng.random() < 0.4 else b""
        end = line_ender(rng)
        lines = lines_of(rng, table, with_faults(rng, table, rows[table], made.cut_off))
        content += b"".join(line + end() for line in lines[:-1]) + lines[-1]
        content += end() if rng.random() < 0.7 else b""
        path = folder / f"{table}.csv"
        path.unlink(missing_ok=True)
        if table != "complications" or rng.random() < 0.95:
            path.write_bytes(content)
    return made.cut_off
