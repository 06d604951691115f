"""What is said of a workbook that is made into an export: column by column before, and what came of it after.

Comes in: what the spine gave back. Goes out: lines on standard output. Says no value of any column.
"""

from __future__ import annotations

from pipeline.console.terminal import say, say_wrapped
from pipeline.runs.run_results import Anonymised, Planned


def planned(plan: Planned) -> None:
    """What would become of each column."""
    for of_sheet in plan.sheets:
        if of_sheet.record_number is None:
            say(f"{of_sheet.sheet.file}: left out, for it has no column with the record number.")
            continue
        say(f"{of_sheet.sheet.file}, {_lines(of_sheet.sheet.records.num_rows)}:")
        for column in of_sheet.columns:
            say_wrapped(f"{column.shown}: {column.becomes}{f' ({column.why})' if column.why else ''}")
        if of_sheet.sheet.damaged:
            say_wrapped(f"cannot be read, and left out: {_lines(len(of_sheet.sheet.damaged))}")
    for words in plan.not_read:
        say_wrapped(f"not read: {words}")


def anonymised(done: Anonymised) -> None:
    """What was written, what is missing in it, and what the key is."""
    say(f"Wrote {done.path}; the workbook it was made from is as it was.")
    for one in done.sheets:
        if one.without_number:
            say_wrapped(f"{one.sheet.file}: no record number: {_lines(one.without_number)}; a load sets them aside")
        if one.without_age:
            say_wrapped(
                f"{one.sheet.file}: no age: {_lines(one.without_age)}, for a date is missing, cannot be read, or "
                "the baby was not from 0 to 364 days old at first contact; a load sets them aside"
            )
    if done.key_is_new:
        say(f"LOOK AT THIS: the pseudonyms rest on a new key, {done.key}.")
        say_wrapped(
            "Keep a copy of it in a safe place, apart from the exports. Whoever has it and a record number can tell "
            "whose a pseudonym is; if it is lost, every baby is a new one from the next export on."
        )
    say("Look the new workbook through yourself: what is not found is not taken out. It is personal data all the same:")
    say("pseudonyms and dates remain. Keep it inside the service.")
    say("Then suggest, check and load it, as any export.")


def _lines(number: int) -> str:
    return "1 line" if number == 1 else f"{number} lines"
