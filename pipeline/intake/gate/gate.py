"""The batch gate: whether an export looks wrong as a whole, though each of its rows may be right.

Comes in: a profile of the export and of the source's load before it (one row a column of the layout), the counts of
its lines, its latest date and its cut-off. Goes out: the reasons to hold it back; none where it looks right. Refuses
to judge a share of fewer than 20, and to compare where there is no load before. It lets nothing through itself: who
takes an export in all the same says why, and that is recorded elsewhere.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

import duckdb
import pandas as pd

from pipeline.contracts import layout
from pipeline.errors import Fault
from pipeline.intake import statements
from pipeline.intake.check.column_rules import validate
from pipeline.intake.gate import profile
from pipeline.intake.map.export import Export
from pipeline.plain_text import times
from pipeline.settings import Gate
from pipeline.store import LineCounts

FEWEST = 20  # rows, answers or lines; a share of fewer says little
FEWEST_OF_A_SHEET = 100  # rows from which on a sheet is judged by itself
HANDFUL = 5  # values of a column that were all refused; fewer may be slips
MOSTLY = 0.5  # of the rows or answers of the load before

_Row = Mapping[str, Any]


def doubts(
    con: duckdb.DuckDBPyConnection, export: Export, lines: Sequence[LineCounts], before: int | None, limits: Gate
) -> tuple[Fault, ...]:
    """The reasons to hold back the export on the working connection. `before` is the source's last load, if any."""
    ((latest,),) = con.execute("SELECT max(day) FROM staged_dates WHERE day <= $1", [export.cut_off]).fetchall()
    was = None if before is None else profile.profile_of_load(con, before)
    return _shared_references(con, export) + judge(profile.profile(con), was, lines, latest, export.cut_off, limits)


def _shared_references(con: duckdb.DuckDBPyConnection, export: Export) -> tuple[Fault, ...]:
    """References that another source uses too: if they are not of the same babies, one would stand in for the other."""
    shared = statements.rows(con, "shared_references", {"source": export.mapping.source})
    prefixes = {gives.rows.columns["case_ref"].prefix for gives in export.sheet_tables} - {""}
    apart = 'give them a prefix of their own in the mapping: prefix = "X-"'
    apart += f", in place of {' and '.join(sorted(prefixes))}" if prefixes else ""
    same = 'if this is an export of the same records as those, say so in the mapping: source = "{}"; if not, '
    return tuple(
        Fault(
            "cases, case_ref",
            f"{count:,} references also stand in the loads of {source or 'the exports in the layout'}",
            "references of its own, or an export of the same source",
            f"{same.format(source) if source else ''}{apart}",
        )
        for source, count in shared
    )


def judge(
    now: pd.DataFrame,
    before: pd.DataFrame | None,
    lines: Sequence[LineCounts],
    latest_date: date | None,
    cut_off: date,
    limits: Gate,
) -> tuple[Fault, ...]:
    """The reasons to hold an export back. `before` is the profile of the source's last load, None if there is none."""
    compared = _compare(now, before)
    sheets = [sheet for sheet in lines if sheet.judged]
    silence = [] if latest_date is None else [(cut_off - latest_date).days]
    judged = {
        "cases": [max(row["rows"] for row in compared if row["table"] == "cases")],
        "rows_kept": [row["rows_kept"] for row in compared],
        "recorded_kept": [row["recorded_kept"] for row in compared],
        "top_share": [row["top_share"] for row in compared],
        "readable": [row["readable"] for row in compared],
        "silent_days": silence,
        "set_aside_share": [_share_set_aside(sheets, FEWEST)],
        # A sheet that is the whole export is told once.
        "sheet_set_aside_share": [_share_set_aside([sheet], FEWEST_OF_A_SHEET) for sheet in sheets if len(sheets) > 1],
    }
    rules = _rules(limits)
    if [rule["column"] for _, rule in rules] != list(judged):
        raise RuntimeError("not every share that was worked out has its rule")  # no rules at all would pass everything
    # What was not worked out breaks no rule, and a rule costs time even there.
    rules = [rule for rule in rules if any(share is not None for share in judged[rule[1]["column"]])]
    # As long as its longest column; what is missing at the end of the others, expectations skip.
    frame = pd.DataFrame({name: pd.Series(values, dtype=float) for name, values in judged.items()})
    broken = dict(validate(frame, rules))

    faults: list[Fault] = []
    if "cases" in broken:
        faults.append(_fault("cases", "no case was accepted", "at least one", "see that it is the right export"))
    faults += [_rows_fell(compared[at], limits) for at in broken.get("rows_kept", [])]
    faults += [_recorded_fell(compared[at], limits) for at in broken.get("recorded_kept", [])]
    faults += [_one_answer(compared[at], limits) for at in broken.get("top_share", [])]
    faults += [_unreadable(compared[at]) for at in broken.get("readable", [])]
    if "silent_days" in broken:
        faults.append(_silent(latest_date, cut_off, limits))
    if "set_aside_share" in broken:
        faults.append(_much_set_aside("the export", sheets, limits))
    faults += [_much_set_aside(sheets[at].file, [sheets[at]], limits) for at in broken.get("sheet_set_aside_share", [])]
    return tuple(faults)


def _rules(limits: Gate) -> list[tuple[str, dict[str, Any]]]:
    between: dict[str, dict[str, Any]] = {
        "cases": {"min_value": 1},
        "rows_kept": {"min_value": limits.rows_fall},
        "recorded_kept": {"min_value": limits.recorded_fall},
        "top_share": {"max_value": limits.code_share, "strict_max": True},
        "readable": {"min_value": 1},
        "silent_days": {"max_value": limits.silent_days},
        "set_aside_share": {"max_value": limits.set_aside_share},
        "sheet_set_aside_share": {"max_value": limits.set_aside_share},
    }
    return [("ExpectColumnValuesToBeBetween", {"column": name, **limit}) for name, limit in between.items()]


def _compare(now: pd.DataFrame, before: pd.DataFrame | None) -> list[dict[str, Any]]:
    """One row a column: what it is now and was before, and the shares the rules are about, None if not judged."""
    wanted = [(table.name, column.name) for table in layout.tables() for column in table.columns]
    for totals in (now,) if before is None else (now, before):
        if list(zip(totals["table"], totals["column"], strict=True)) != wanted:
            raise RuntimeError("a profile is not one row for each column of the layout")
    earlier = {} if before is None else {(row["table"], row["column"]): row for row in before.to_dict("records")}
    compared = []
    for row in now.to_dict("records"):
        was = earlier.get((row["table"], row["column"]))
        shares: dict[str, Any] = {
            "was": was,
            "rows_kept": None,
            "recorded_kept": None,
            "top": None,
            "top_share": None,
            "readable": None,
        }
        if was is not None and was["rows"] >= FEWEST:
            # Once a table. Requests become cases: that there are fewer is no sign of an export cut short.
            if row["column"] == "case_ref" and (row["table"] != "requests" or not row["rows"]):
                shares["rows_kept"] = row["rows"] / was["rows"]
            if row["rows"] >= FEWEST and was["recorded"] >= MOSTLY * was["rows"]:
                # One division of whole numbers: a share of shares would miss a limit it equals.
                shares["recorded_kept"] = row["recorded"] * was["rows"] / (row["rows"] * was["recorded"])
            if row["answers"] and row["recorded"] >= FEWEST and was["recorded"] >= FEWEST:
                top = max(row["answers"], key=lambda answer: (row["answers"][answer], answer))
                if was["answers"].get(top, 0) < MOSTLY * was["recorded"]:
                    shares |= {"top": top, "top_share": row["answers"][top] / row["recorded"]}
        must = layout.table(row["table"]).column(row["column"]).must
        if row["bad"] >= HANDFUL and not must and shares["recorded_kept"] is None:  # else it is told as fallen
            shares["readable"] = row["recorded"]
        compared.append({**row, **shares})
    return compared


def _share_set_aside(sheets: Sequence[LineCounts], fewest: int) -> float | None:
    rows = sum(sheet.judged for sheet in sheets)
    return sum(sheet.amiss for sheet in sheets) / rows if rows >= fewest else None


def _fault(where: str, found: str, allowed: str, do: str) -> Fault:
    return Fault(where, found, allowed, f'{do}; if it is right as it is, say why: --accept-anyway "REASON"')


def _setting(limits: Gate, name: str) -> str:
    return f"([gate] {name} = {getattr(limits, name)})"


def _rows_fell(row: _Row, limits: Gate) -> Fault:
    load = f"load {row['was']['load']}"
    found = f"{row['rows']:,} rows, {row['was']['rows']:,} in {load}"
    allowed = f"at least {_percent(limits.rows_fall)} of the rows of {load} {_setting(limits, 'rows_fall')}"
    return _fault(row["table"], found, allowed, "see that the export is whole")


def _recorded_fell(row: _Row, limits: Gate) -> Fault:
    was = row["was"]
    found = (
        f"recorded in {row['recorded']:,} of {row['rows']:,} rows, in {was['recorded']:,} of {was['rows']:,} in load "
        f"{was['load']}"
    )
    if row["bad"]:
        found += f"; {times(row['bad'])} something was set aside because of it"
    fall = _setting(limits, "recorded_fall")
    allowed = f"at least {_percent(limits.recorded_fall)} as often as in load {was['load']} {fall}"
    do = "see that the column is in the export, and written as before"
    return _fault(f"{row['table']}, {row['column']}", found, allowed, do)


def _unreadable(row: _Row) -> Fault:
    found = f"nothing in it could be used: {times(row['bad'])} something was set aside because of it"
    do = "say in the mapping how it is written, or mend the export"
    return _fault(f"{row['table']}, {row['column']}", found, "values that can be read, or a column left out", do)


def _one_answer(row: _Row, limits: Gate) -> Fault:
    was, top = row["was"], row["top"]
    count, before = row["answers"][top], was["answers"].get(top, 0)
    found = (
        f"{top} is {count:,} of {row['recorded']:,} answers ({_percent(row['top_share'])}), {before:,} of "
        f"{was['recorded']:,} in load {was['load']} ({_percent(before / was['recorded'])})"
    )
    share = f"less than {_percent(limits.code_share)}"
    allowed = f"{share} for an answer that was less than half before {_setting(limits, 'code_share')}"
    do = "see that the export writes each answer as it was recorded"
    return _fault(f"{row['table']}, {row['column']}", found, allowed, do)


def _silent(latest_date: date | None, cut_off: date, limits: Gate) -> Fault:
    assert latest_date is not None
    days = (cut_off - latest_date).days
    found = f"the latest date is {latest_date}, {days:,} days before the cut-off {cut_off}"
    allowed = f"at most {limits.silent_days:,} days {_setting(limits, 'silent_days')}"
    return _fault("the export", found, allowed, "see that the newest records are in it, and that the cut-off is right")


def _much_set_aside(where: str, sheets: Sequence[LineCounts], limits: Gate) -> Fault:
    set_aside, rows = sum(sheet.amiss for sheet in sheets), sum(sheet.judged for sheet in sheets)
    found = f"{set_aside:,} of {rows:,} lines were set aside ({_percent(set_aside / rows)})"
    allowed = f"at most {_percent(limits.set_aside_share)} {_setting(limits, 'set_aside_share')}"
    return _fault(
        where,
        found,
        allowed,
        "see what it is (feeding-audit check EXPORT --to-mend FILE.xlsx lists it), mend it, and export again",
    )


def _percent(share: float) -> str:
    """Three figures, so that what is just past a limit does not read as the limit."""
    return f"{100 * share:.3g}%"
